#include <shotassay/numerics/random.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <set>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/normal.hpp>

#include "support/close.hpp"

using namespace shotassay;
using namespace shotassay::numerics;

namespace {

constexpr std::uint64_t two_to_32 = std::uint64_t{1} << 32;

/// The definition of a bounded draw in 64-bit arithmetic, without the short cut of the code.
std::uint32_t bounded_by_definition(ReplicateStream& words, std::uint64_t n) {
  for (;;) {
    const std::uint64_t product = words.word() * n;
    if (product % two_to_32 >= two_to_32 % n) return static_cast<std::uint32_t>(product / two_to_32);
  }
}

}  // namespace

TEST_CASE("random: Philox4x32-10 gives the known answers") {
  // Counter and key 0, all ones, and digits of π: computed from the definition of the rounds in Salmon et al. (2011)
  // with Python integers, c = [hi(p1)^c1^k0, lo(p1), hi(p0)^c3^k1, lo(p0)], p0 = 0xD2511F53*c0, p1 = 0xCD9E8D57*c2, k
  // += [0x9E3779B9, 0xBB67AE85] after each of ten rounds.
  using Block = std::array<std::uint32_t, 4>;
  CHECK(philox_block({0, 0, 0, 0}, {0, 0}) == Block{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8});
  CHECK(philox_block({0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff}, {0xffffffff, 0xffffffff}) ==
        Block{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd});
  CHECK(philox_block({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}) ==
        Block{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1});
}

TEST_CASE("random: a stream is the blocks of its seed, replicate and purpose, in order") {
  ReplicateStream stream{0x123456789abcdef0, (std::uint64_t{7} << 32) + 5, RandomPurpose::simulated_shots};
  // The Python of the known answers, counter (5, 7, block, 3), key (0x9abcdef0, 0x12345678), blocks 0 and 1
  for (const std::uint32_t word : {0x18c34c52U, 0xd6ec3448U, 0xc34b9140U, 0xf130362cU, 0xfb32b026U, 0x2048b3c8U})
    CHECK(stream.word() == word);

  ReplicateStream again{1, 2, RandomPurpose::permutation};
  for (std::uint32_t block = 0; block < 300; ++block)
    for (const std::uint32_t word : philox_block({2, 0, block, 5}, {1, 0})) CHECK(again.word() == word);
}

TEST_CASE("random: seed, replicate and purpose each change the stream, in their upper halves too") {
  std::set<std::uint32_t> first_words;
  int streams = 0;
  for (const std::uint64_t seed : {std::uint64_t{0}, std::uint64_t{1}, two_to_32})
    for (const std::uint64_t replicate : {std::uint64_t{0}, std::uint64_t{1}, two_to_32})
      for (const RandomPurpose purpose :
           {RandomPurpose::bootstrap_from, RandomPurpose::bootstrap_to, RandomPurpose::simulated_shots,
            RandomPurpose::grid_phase, RandomPurpose::permutation, RandomPurpose::firing_order}) {
        first_words.insert(ReplicateStream{seed, replicate, purpose}.word());
        ++streams;
      }
  CHECK(first_words.size() == static_cast<std::size_t>(streams));
}

TEST_CASE("random: a bounded draw follows the definition, rejections included") {
  for (const std::uint32_t n : {1U, 2U, 3U, 7U, 10U, 1000U, 0x80000000U, 0x80000001U, 0xc0000000U, 0xffffffffU}) {
    CAPTURE(n);
    ReplicateStream drawn{2024, 5, RandomPurpose::bootstrap_to};
    ReplicateStream defined{2024, 5, RandomPurpose::bootstrap_to};
    for (int i = 0; i < 2000; ++i) {
      const std::uint32_t value = drawn.below(n);
      CHECK(value < n);
      CHECK(value == bounded_by_definition(defined, n));
    }
    CHECK(drawn.word() == defined.word());  // the same number of words was used
  }
}

TEST_CASE("random: the definition of a bounded draw gives every value equally many words") {
  // Words w with j·2³² + uneven ≤ w·n < (j+1)·2³² give j: counted without listing them.
  for (const std::uint64_t n : {1U, 2U, 3U, 5U, 6U, 7U, 12U, 30U, 255U, 1000U}) {
    CAPTURE(n);
    const std::uint64_t uneven = two_to_32 % n;
    for (std::uint64_t j = 0; j < n; ++j) {
      const std::uint64_t first = (j * two_to_32 + uneven + n - 1) / n;
      const std::uint64_t past = ((j + 1) * two_to_32 + n - 1) / n;
      CHECK(past - first == two_to_32 / n);
    }
  }
}

TEST_CASE("random: bounded draws are spread evenly over their values") {
  constexpr int draws = 600'000;
  std::array<int, 6> count{};
  ReplicateStream stream{7, 0, RandomPurpose::bootstrap_from};
  for (int i = 0; i < draws; ++i) ++count[stream.below(6)];
  // Binomial with p = 1/6: five standard deviations, √(600000·5/36) = 289 each
  for (const int c : count) CHECK(std::abs(c - draws / 6) < 5 * 289);
}

TEST_CASE("random: a uniform is (k + ½)/2⁵², k from the first word and the upper 20 bits of the second") {
  ReplicateStream uniforms{3, 1, RandomPurpose::grid_phase};
  ReplicateStream words{3, 1, RandomPurpose::grid_phase};
  for (int i = 0; i < 1000; ++i) {
    const double upper = words.word();
    const double lower = std::floor(words.word() / 4096.0);
    const double u = uniforms.uniform();
    CHECK(u == (upper * 1048576 + lower + 0.5) / 4503599627370496.0);
    CHECK(u > 0);
    CHECK(u < 1);
  }
}

TEST_CASE("random: normals have the same bits everywhere") {
  // Python's doubles, doing the same +, -, *, / and sqrt on the coefficients of the source, from its own Philox words
  ReplicateStream stream{2024, 11, RandomPurpose::bootstrap_from};
  for (const double z : {-0x1.7adc4755d6258p-2, -0x1.cfddfe8bfb006p-1, -0x1.63971427a2928p-1, -0x1.cf37a2cab2d78p-3,
                         0x1.635bb6651df12p-1})
    CHECK(stream.normal() == z);
}

TEST_CASE("random: uniforms and normals of many replicates are those of their streams, bit by bit") {
  const std::uint64_t seed = 0x123456789abcdef0, first = two_to_32 - 500;  // the upper half changes on the way
  std::array<double, 1000> even{}, odd{}, third{}, fourth{};
  uniform_pairs(seed, first, RandomPurpose::propagation, 0, even, odd);
  uniform_pairs(seed, first, RandomPurpose::propagation, 1, third, fourth);
  auto normals = odd;
  to_normals(normals);
  bool far = false;
  for (std::size_t i = 0; i < even.size(); ++i) {
    ReplicateStream uniforms{seed, first + i, RandomPurpose::propagation}, words = uniforms;
    for (const double* u : {&even[i], &odd[i], &third[i], &fourth[i]}) CHECK(*u == uniforms.uniform());
    words.uniform();
    CHECK(normals[i] == words.normal());
    far = far || std::abs(odd[i] - 0.5) > 0.49;
  }
  CHECK(far);  // tails on the way: 20 of 1000 are expected beyond
}

TEST_CASE("random: the first normals of many replicates are those of their streams, bit by bit") {
  const std::uint64_t seed = 77, first = 123'456;
  for (const std::size_t count : {std::size_t{1}, std::size_t{2}, std::size_t{63}, std::size_t{64}, std::size_t{300}}) {
    std::vector<double> normals(6 * count);
    first_normals(seed, first, RandomPurpose::simulated_shots, count, normals);
    for (std::size_t i = 0; i < count; ++i) {
      ReplicateStream stream{seed, first + i, RandomPurpose::simulated_shots};
      for (std::size_t k = 0; k < 6; ++k) CHECK(normals[k * count + i] == stream.normal());
    }
  }
  std::vector<double> odd(9);
  CHECK_THROWS_AS(first_normals(1, 0, RandomPurpose::simulated_shots, 3, odd), DomainError);
  CHECK_THROWS_AS(first_normals(1, 0, RandomPurpose::simulated_shots, 0, odd), DomainError);
}

TEST_CASE("random: a stream from a later block on is the rest of it") {
  ReplicateStream whole{5, 6, RandomPurpose::bootstrap_to}, rest{5, 6, RandomPurpose::bootstrap_to, 3};
  for (int i = 0; i < 12; ++i) whole.word();
  for (int i = 0; i < 20; ++i) CHECK(rest.word() == whole.word());
}

TEST_CASE("random: a normal is the exact quantile of the uniform it stands for, to 14 digits") {
  ReplicateStream normals{99, 3, RandomPurpose::simulated_shots};
  ReplicateStream uniforms{99, 3, RandomPurpose::simulated_shots};
  double greatest = 0;
  for (int i = 0; i < 200'000; ++i) {
    const double z = normals.normal();
    greatest = std::max(greatest, std::abs(z));
    const double u = uniforms.uniform();
    if (!(z == digits(normal_quantile(u), 15))) {
      CAPTURE(u);
      CHECK(z == digits(normal_quantile(u), 15));
    }
  }
  CHECK(greatest > 4);  // the tail formula has been used far out: 12 of 200 000 are expected beyond 4
}

TEST_CASE("random: normals have the moments of the normal law") {
  constexpr int draws = 400'000;
  std::array<double, 5> sum{};
  ReplicateStream stream{1, 0, RandomPurpose::simulated_shots};
  for (int i = 0; i < draws; ++i) {
    const double z = stream.normal();
    double power = 1;
    for (double& s : sum) {
      s += power;
      power *= z;
    }
  }
  // Five standard errors: variances of z, z², z³, z⁴ are 1, 2, 15, 96.
  const double unit = 5 / std::sqrt(static_cast<double>(draws));
  CHECK(sum[1] / draws == within(0, unit));
  CHECK(sum[2] / draws == within(1, unit * std::sqrt(2.0)));
  CHECK(sum[3] / draws == within(0, unit * std::sqrt(15.0)));
  CHECK(sum[4] / draws == within(3, unit * std::sqrt(96.0)));
}

TEST_CASE("random: neighbouring replicates and purposes are uncorrelated") {
  constexpr int replicates = 100'000;
  double next = 0;
  double other = 0;
  double last = 0;
  for (std::uint64_t r = 0; r < replicates; ++r) {
    const double a = ReplicateStream{5, r, RandomPurpose::bootstrap_from}.normal();
    const double b = ReplicateStream{5, r, RandomPurpose::bootstrap_to}.normal();
    other += a * b;
    next += a * last;
    last = a;
  }
  // A product of two independent standard normals has variance 1.
  CHECK(other / replicates == within(0, 5 / std::sqrt(replicates)));
  CHECK(next / replicates == within(0, 5 / std::sqrt(replicates)));
}

TEST_CASE("random: a draw from no values is refused") {
  ReplicateStream stream{1, 1, RandomPurpose::permutation};
  CHECK_THROWS_WITH_AS(stream.below(0), "random: below(n) needs n of 1 or more, got 0", DomainError);
}
