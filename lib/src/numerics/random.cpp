#include <shotassay/numerics/random.hpp>

#include <algorithm>
#include <bit>
#include <cmath>
#include <string>

#include <shotassay/core/errors.hpp>

#include "vectorised.hpp"

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
[[gnu::always_inline]] inline double polynomial(const std::array<double, N>& coefficients, double x) {
  double value = coefficients[N - 1];
  for (std::size_t i = N - 1; i-- > 0;) value = value * x + coefficients[i];
  return value;
}

/// ln p for normal p > 0, in +, −, ×, ÷ alone: std::log differs in the last bit between C libraries.
/// p = 2^e·m with m in [√½, √2); ln m = 2·artanh(s), s = (m − 1)/(m + 1), |s| < 0.172.
[[gnu::always_inline]] inline double portable_log(double p) {
  constexpr double ln2_upper = 0x1.62e42fefa38p-1;  // 41 bits: e·ln2_upper is exact
  constexpr double ln2_lower = 0x1.ef35793c7673p-45;
  constexpr auto one = std::bit_cast<std::uint64_t>(1.0);
  constexpr std::uint64_t to_carry = 0x95f619980c432;  // from the fraction above that of √2 to the next power of two
  constexpr std::uint64_t exponent = std::uint64_t{0xfff} << 52;
  const auto bits = std::bit_cast<std::uint64_t>(p);
  const double e = whole((bits + to_carry) >> 52) - 1023;
  const auto m = std::bit_cast<double>(bits - ((bits + to_carry) & exponent) + one);
  const double s = (m - 1) / (m + 1);
  const double s2 = s * s;
  double series = 0;
  for (int odd = 23; odd >= 3; odd -= 2) series = (series + 1.0 / odd) * s2;
  const double ln_m = 2 * s + 2 * s * series;
  return e * ln2_upper + (ln_m + e * ln2_lower);
}

/// Standard normal quantile by two rational functions of the form of Wichura (1988) [wichura1988], with coefficients
/// fitted for this library (least greatest relative error, 60-digit arithmetic; all positive, so that nothing cancels):
///   z = q·C(0.425² − q²) for q = u − ½ in the middle, |z| = T(√(−2 ln p) − 2) for a tail area p down to 2⁻⁵⁴.
/// q is exact, as 1 − u is.
constexpr double middle = 0.425;

[[gnu::always_inline]] inline double middle_quantile(double q) {
  constexpr std::array<double, 8> numerator{3.3871328727963664894, 133.12359502062543188, 1971.0018859293870881,
                                            13724.889707747197186, 45888.301044516782738, 67197.356812083048998,
                                            33385.36716296232416,  2504.7161819257851695};
  constexpr std::array<double, 8> denominator{1.0,
                                              42.307994958411104674,
                                              686.99705982019306123,
                                              5391.7340799262945643,
                                              21199.538489629937745,
                                              39271.390680432510337,
                                              28693.748683261085009,
                                              5218.2603551931278549};
  const double x = 0.180625 - q * q;
  return q * polynomial(numerator, x) / polynomial(denominator, x);
}

[[gnu::always_inline]] inline double tail_quantile(double q) {
  constexpr std::array<double, 8> numerator{1.1015196285016801701,    3.0833903196329834136,    3.2329592160372479076,
                                            1.7102698743374695233,    0.49413086958085073361,   0.076299151612418958921,
                                            0.0055889372236909125567, 0.00014024711089766759445};
  constexpr std::array<double, 8> denominator{1.0,
                                              1.66938439948572901,
                                              1.1218222640533608627,
                                              0.3808663027649924892,
                                              0.06642418929148611374,
                                              0.0053108073961926170871,
                                              0.00014022625080678475636,
                                              1.482110942791896581e-10};
  // IEEE 754 fixes every bit of a square root.
  const double x = std::sqrt(-2 * portable_log(0.5 - std::abs(q))) - 2;
  return std::copysign(polynomial(numerator, x) / polynomial(denominator, x), q);
}

[[gnu::always_inline]] inline void make_normals(std::span<double> uniforms) {
  // The middle for all, then the few of the tails, gathered: straight lines that a compiler turns into vector
  // instructions.
  constexpr std::size_t at_once = 64;
  std::array<double, at_once> q{}, far{};
  std::array<std::size_t, at_once> where{};
  for (std::size_t from = 0; from < uniforms.size(); from += at_once) {
    const std::size_t count = std::min(at_once, uniforms.size() - from);
    const std::span some = uniforms.subspan(from, count);
    for (std::size_t i = 0; i < count; ++i) q[i] = some[i] - 0.5;
    for (std::size_t i = 0; i < count; ++i) some[i] = middle_quantile(q[i]);
    std::size_t tails = 0;
    for (std::size_t i = 0; i < count; ++i) {
      far[tails] = q[i];
      where[tails] = i;
      tails += std::abs(q[i]) > middle ? 1U : 0U;
    }
    for (std::size_t i = 0; i < tails; ++i) far[i] = tail_quantile(far[i]);
    for (std::size_t i = 0; i < tails; ++i) some[where[i]] = far[i];
  }
}

}  // namespace

std::array<std::uint32_t, 4> philox_block(std::array<std::uint32_t, 4> counter, std::array<std::uint32_t, 2> key) {
  const philox4x32_ctr_t in{{counter[0], counter[1], counter[2], counter[3]}};
  const philox4x32_key_t with{{key[0], key[1]}};
  const philox4x32_ctr_t out = philox4x32_R(10, in, with);
  return {out.v[0], out.v[1], out.v[2], out.v[3]};
}

ReplicateStream::ReplicateStream(std::uint64_t seed, std::uint64_t replicate, RandomPurpose purpose,
                                 std::uint32_t block)
    : counter_{static_cast<std::uint32_t>(replicate), static_cast<std::uint32_t>(replicate >> 32), block,
               static_cast<std::uint32_t>(purpose)},
      key_{static_cast<std::uint32_t>(seed), static_cast<std::uint32_t>(seed >> 32)} {}

void ReplicateStream::next_block() {
  block_ = philox_block(counter_, key_);
  ++counter_[2];
  next_ = 0;
}

void ReplicateStream::refuse_empty_range() { throw DomainError{"random: below(n) needs n of 1 or more, got 0"}; }

double ReplicateStream::normal() {
  const double q = uniform() - 0.5;
  return std::abs(q) <= middle ? middle_quantile(q) : tail_quantile(q);
}

void word_blocks(std::uint64_t seed, std::uint64_t first, RandomPurpose purpose, std::uint32_t block,
                 const std::array<std::span<std::uint32_t>, 4>& words) {
  const philox4x32_key_t key{{static_cast<std::uint32_t>(seed), static_cast<std::uint32_t>(seed >> 32)}};
  const auto [a, b, c, d] = words;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const std::uint64_t replicate = first + i;
    const philox4x32_ctr_t counter{{static_cast<std::uint32_t>(replicate), static_cast<std::uint32_t>(replicate >> 32),
                                    block, static_cast<std::uint32_t>(purpose)}};
    const philox4x32_ctr_t out = philox4x32_R(10, counter, key);
    a[i] = out.v[0];
    b[i] = out.v[1];
    c[i] = out.v[2];
    d[i] = out.v[3];
  }
}

void uniform_pairs(std::uint64_t seed, std::uint64_t first, RandomPurpose purpose, std::uint32_t block,
                   std::span<double> even, std::span<double> odd) {
  constexpr std::size_t at_once = 64;
  std::array<std::array<std::uint32_t, at_once>, 4> words{};
  for (std::size_t from = 0; from < even.size(); from += at_once) {
    const std::size_t count = std::min(at_once, even.size() - from);
    const auto row = [&](std::size_t k) { return std::span{words[k]}.first(count); };
    word_blocks(seed, first + from, purpose, block, {row(0), row(1), row(2), row(3)});
    for (std::size_t i = 0; i < count; ++i) even[from + i] = uniform_of(words[0][i], words[1][i]);
    for (std::size_t i = 0; i < count; ++i) odd[from + i] = uniform_of(words[2][i], words[3][i]);
  }
}

void to_normals(std::span<double> uniforms) {
  vectorised([=]() __attribute__((always_inline)) { make_normals(uniforms); });
}

void first_normals(std::uint64_t seed, std::uint64_t first, RandomPurpose purpose, std::size_t count,
                   std::span<double> normals) {
  if (count == 0 || normals.size() % (2 * count) != 0)
    throw DomainError{"random: normals of " + std::to_string(count) + " replicates need rows in pairs, got room for " +
                      std::to_string(normals.size())};
  for (std::size_t k = 0; k * count < normals.size(); k += 2)
    uniform_pairs(seed, first, purpose, static_cast<std::uint32_t>(k / 2), normals.subspan(k * count, count),
                  normals.subspan((k + 1) * count, count));
  to_normals(normals);
}

}  // namespace shotassay::numerics
