#pragma once
#include <functional>
#include <span>
#include <string>
#include <vector>

#include <shotassay/records/budget_file.hpp>

namespace shotassay::cli {

/// Everything that is wrong with a formula of these names: numbers, + - * / ^, parentheses, pi, and the functions sqrt,
/// exp, log (natural), sin, cos and tan (of radians) are all there is. Every name must be used.
std::vector<FormulaProblem> formula_problems(const std::string& formula, const std::vector<std::string>& names);

/// A formula without problems as a function of its names' values, in their order. Copies may run side by side.
std::function<double(std::span<const double>)> formula_function(const std::string& formula,
                                                                const std::vector<std::string>& names);

}  // namespace shotassay::cli
