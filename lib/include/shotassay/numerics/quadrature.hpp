#pragma once
#include <span>

namespace shotassay::numerics {

/// Nodes on (−1, 1), ascending, with weights that sum to 2.
struct QuadratureRule {
  std::span<const double> nodes;
  std::span<const double> weights;
};

/// Gauss–Legendre rule with n nodes; computed once for each n and kept.
///
/// Requires  1 ≤ n ≤ 512; else DomainError.
/// Accuracy  nodes to 2e-16 absolute, weights to 5e-15 relative. The spans stay valid; threads may ask together.
QuadratureRule gauss_legendre(int n);

}  // namespace shotassay::numerics
