#pragma once
#include <algorithm>
#include <numeric>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>

namespace shotassay {

/// Holm's step-down p-values: each pair's own p, raised so that one error rate holds for all of them together.
///
///   p(1) ≤ … ≤ p(m) sorted:  adjusted p(i) = min(1, max_{j ≤ i} (m − j + 1)·p(j))
///
/// Shapes    as many out as in, in the order given.
/// Requires  every p within [0, 1]; else DomainError.
/// Source    Holm (1979) [holm1979].
inline std::vector<double> holm(std::span<const double> p) {
  for (const double x : p)
    if (!(x >= 0.0 && x <= 1.0)) throw DomainError{"holm: p must lie within 0 and 1, got " + std::to_string(x)};
  std::vector<std::size_t> order(p.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t i, std::size_t j) { return p[i] < p[j]; });
  std::vector<double> adjusted(p.size());
  double running = 0.0;
  for (std::size_t rank = 0; rank < order.size(); ++rank) {
    running = std::max(running, static_cast<double>(p.size() - rank) * p[order[rank]]);
    adjusted[order[rank]] = std::min(1.0, running);
  }
  return adjusted;
}

}  // namespace shotassay
