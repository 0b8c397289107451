#pragma once
#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <span>

namespace shotassay::numerics {

/// What a stream of random words is for; streams of different purposes never share a block.
enum class RandomPurpose : std::uint32_t {
  bootstrap_from = 1,
  bootstrap_to = 2,
  simulated_shots = 3,
  grid_phase = 4,
  permutation = 5,
  firing_order = 6,
  propagation = 7,
  clinic = 8,  ///< the tests of a class
  clinic_series = 9,
  clinic_sizes = 10,
  clinic_displays = 11,
  clinic_leaving_out = 12,
  clinic_fooling = 13
};

/// One block of Philox4x32-10: four random 32-bit words that depend on key and counter alone.
///
/// Source  Salmon et al. (2011) [salmon2011], as the Random123 library computes it.
std::array<std::uint32_t, 4> philox_block(std::array<std::uint32_t, 4> counter, std::array<std::uint32_t, 2> key);

/// The double of a whole number below 2⁵²: its bits are the number's and those of 2⁵², which is then taken away. A loop
/// of these becomes vector instructions where a conversion does not.
constexpr double whole(std::uint64_t below_2_to_52) {
  constexpr double base = 0x1p52;
  return std::bit_cast<double>(below_2_to_52 | std::bit_cast<std::uint64_t>(base)) - base;
}

/// Uniform on (0, 1), never 0 or 1: (k + ½) / 2⁵², k the upper word and the upper 20 bits of the lower.
constexpr double uniform_of(std::uint32_t upper, std::uint32_t lower) {
  return (whole(std::uint64_t{upper} << 20 | lower >> 12) + 0.5) * 0x1p-52;
}

/// The random words of one replicate: key = seed, counter = (replicate low, replicate high, block, purpose).
///
/// A replicate reads its own blocks only, so results do not depend on threads or on their order.
/// It holds 2³² blocks of four words, then repeats.
class ReplicateStream {
 public:
  /// From the given block on.
  ReplicateStream(std::uint64_t seed, std::uint64_t replicate, RandomPurpose purpose, std::uint32_t block = 0);

  std::uint32_t word() {
    if (next_ == block_.size()) next_block();
    return block_[next_++];
  }

  /// Whole number in 0 … n − 1, each equally likely: high half of word × n, rejecting the uneven low part
  /// (low half below 2³² mod n).
  ///
  /// Requires  n ≥ 1; else DomainError.
  std::uint32_t below(std::uint32_t n) {
    std::uint64_t product = std::uint64_t{word()} * n;
    // 2³² mod n is below n, so the division is needed once in 2³²/n words.
    if (static_cast<std::uint32_t>(product) < n) [[unlikely]] {
      const std::uint32_t uneven = (0U - n) % n;
      while (static_cast<std::uint32_t>(product) < uneven) product = std::uint64_t{word()} * n;
    } else if (n == 0) {
      refuse_empty_range();
    }
    return static_cast<std::uint32_t>(product >> 32);
  }

  /// Uniform on (0, 1) of the next two words.
  double uniform() {
    const std::uint32_t upper = word();
    return uniform_of(upper, word());
  }

  /// Standard normal by inversion of one uniform (own arithmetic, so the same on every platform).
  ///
  /// Accuracy  relative error below 2e-15 against the exact quantile of that uniform; |z| < 8.3.
  double normal();

 private:
  void next_block();
  [[noreturn]] static void refuse_empty_range();

  std::array<std::uint32_t, 4> block_{};
  std::array<std::uint32_t, 4> counter_;
  std::array<std::uint32_t, 2> key_;
  unsigned next_ = 4;
};

/// Words number 4b … 4b + 3 of the replicates first, first + 1, …, as their streams give them: many replicates that
/// read few words each are drawn faster side by side.
///
/// Shapes  words[k][i] is word 4·block + k of replicate first + i; four spans of one size.
void word_blocks(std::uint64_t seed, std::uint64_t first, RandomPurpose purpose, std::uint32_t block,
                 const std::array<std::span<std::uint32_t>, 4>& words);

/// The uniforms number 2b and 2b + 1 of the replicates first, first + 1, …, as their streams give them.
///
/// Shapes  even and odd of one size.
void uniform_pairs(std::uint64_t seed, std::uint64_t first, RandomPurpose purpose, std::uint32_t block,
                   std::span<double> even, std::span<double> odd);

/// Puts in place of each uniform the standard normal that ReplicateStream::normal makes of it, bit by bit.
void to_normals(std::span<double> uniforms);

/// The first standard normals of the replicates first, first + 1, …, as their streams give them.
///
/// Shapes    normals has an even number of rows, `count` long: normals[k·count + i] is normal k of replicate first + i.
/// Requires  the size to be a multiple of 2·count; else DomainError.
void first_normals(std::uint64_t seed, std::uint64_t first, RandomPurpose purpose, std::size_t count,
                   std::span<double> normals);

}  // namespace shotassay::numerics
