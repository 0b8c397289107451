#include <shotassay/numerics/random.hpp>

#include <bit>
#include <cmath>

#include <shotassay/core/errors.hpp>

#if defined(__GNUC__)
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wconversion"
#pragma GCC diagnostic ignored "-Wsign-conversion"
#pragma GCC diagnostic ignored "-Wpedantic"
#endif
#include <Random123/philox.h>
#if defined(__GNUC__)
#pragma GCC diagnostic pop
#endif

namespace shotassay::numerics {
namespace {

template <std::size_t N>
double polynomial(const std::array<double, N>& coefficients, double x) {
  double value = coefficients[N - 1];
  for (std::size_t i = N - 1; i-- > 0;) value = value * x + coefficients[i];
  return value;
}

/// ln p for normal p > 0, in +, −, ×, ÷ alone: std::log differs in the last bit between C libraries.
/// p = 2^e·m with m in [√½, √2); ln m = 2·artanh(s), s = (m − 1)/(m + 1), |s| < 0.172.
double portable_log(double p) {
  constexpr double ln2_upper = 0x1.62e42fefa38p-1;  // 41 bits: e·ln2_upper is exact
  constexpr double ln2_lower = 0x1.ef35793c7673p-45;
  const auto bits = std::bit_cast<std::uint64_t>(p);
  int e = static_cast<int>(bits >> 52) - 1023;
  double m = std::bit_cast<double>((bits & 0xfffffffffffffU) | 0x3ff0000000000000U);
  if (m > 1.4142135623730951) {
    m *= 0.5;
    ++e;
  }
  const double s = (m - 1) / (m + 1);
  const double s2 = s * s;
  double series = 0;
  for (int odd = 23; odd >= 3; odd -= 2) series = (series + 1.0 / odd) * s2;
  const double ln_m = 2 * s + 2 * s * series;
  return e * ln2_upper + (ln_m + e * ln2_lower);
}

/// Standard normal quantile by two rational functions, fitted for this library (minimax in relative error,
/// 60-digit arithmetic): z = q·C(q²) for q = u − ½ in the middle, |z| = T(√(−2 ln p)) for a tail area p down to 2⁻⁵⁴.
double portable_normal_quantile(double u) {
  constexpr std::array<double, 8> c_numerator{2.5066282746310006873, -39.021079869495654364, 243.62643944846266906,
                                              -775.0358910541775568, 1313.5167768256173944,  -1118.406102231440498,
                                              388.99088807553328952, -26.655858187991636099};
  constexpr std::array<double, 8> c_denominator{1.0,
                                                -16.614356138059529802,
                                                112.28849268852275046,
                                                -394.77196341254975932,
                                                763.91457549698081305,
                                                -786.89388457664219814,
                                                375.5724761398717767,
                                                -55.533597248889575053};
  constexpr std::array<double, 8> t_numerator{-3.3231144538554452467, -12.756924623965571422, -7.6067585264892620072,
                                              -1.9492914920780809989, 7.9110617392799264038,  6.1467290821387858264,
                                              1.0619078897667495409,  0.041086209998901805812};
  constexpr std::array<double, 8> t_denominator{1.0,
                                                7.2712903529657202988,
                                                11.522152891576296047,
                                                11.502224579103852996,
                                                6.3567769566390511472,
                                                1.0626773900540843289,
                                                0.041079494505459927248,
                                                4.3380041372028881727e-8};
  const double q = u - 0.5;  // exact, as 1 − u is
  if (std::abs(q) <= 0.425) return q * polynomial(c_numerator, q * q) / polynomial(c_denominator, q * q);
  const double r = std::sqrt(-2 * portable_log(q < 0 ? u : 1 - u));  // IEEE 754 fixes every bit of a square root
  const double z = polynomial(t_numerator, r) / polynomial(t_denominator, r);
  return q < 0 ? -z : z;
}

}  // namespace

std::array<std::uint32_t, 4> philox_block(std::array<std::uint32_t, 4> counter, std::array<std::uint32_t, 2> key) {
  const philox4x32_ctr_t in{{counter[0], counter[1], counter[2], counter[3]}};
  const philox4x32_key_t with{{key[0], key[1]}};
  const philox4x32_ctr_t out = philox4x32_R(10, in, with);
  return {out.v[0], out.v[1], out.v[2], out.v[3]};
}

ReplicateStream::ReplicateStream(std::uint64_t seed, std::uint64_t replicate, RandomPurpose purpose)
    : counter_{static_cast<std::uint32_t>(replicate), static_cast<std::uint32_t>(replicate >> 32), 0,
               static_cast<std::uint32_t>(purpose)},
      key_{static_cast<std::uint32_t>(seed), static_cast<std::uint32_t>(seed >> 32)} {}

void ReplicateStream::next_block() {
  block_ = philox_block(counter_, key_);
  ++counter_[2];
  next_ = 0;
}

void ReplicateStream::refuse_empty_range() { throw DomainError{"random: below(n) needs n of 1 or more, got 0"}; }

double ReplicateStream::normal() { return portable_normal_quantile(uniform()); }

}  // namespace shotassay::numerics
