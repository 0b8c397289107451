#pragma once
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/document/document.hpp>
#include <shotassay/studies/method.hpp>

namespace shotassay::narrative {

/// What a page says of a method it used: what it does, for a reader who knows no statistics, and where it comes from.
struct MethodWords {
  std::string name;
  std::string text;
  std::vector<std::string_view> sources;  ///< keys of docs/bibliography.md
};

/// A method of a comparison. In a family of three or more set-ups its interval holds for all pairs at once.
MethodWords words_of(Method method, bool family);

/// What a budget rests on, and the trials beside it where there are some.
std::vector<MethodWords> budget_methods(bool trials);

/// The methods, each with its sources by author and year, and under them the sources in full, each once.
void show_sources(const std::vector<MethodWords>& methods, document::Document& out);

}  // namespace shotassay::narrative
