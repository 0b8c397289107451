#pragma once
#include <array>
#include <cstdint>

namespace shotassay::numerics {

/// What a stream of random words is for; streams of different purposes never share a block.
enum class RandomPurpose : std::uint32_t { bootstrap_from = 1, bootstrap_to = 2, simulated_shots = 3, grid_phase = 4, permutation = 5 };

/// One block of Philox4x32-10: four random 32-bit words that depend on key and counter alone.
///
/// Source  Salmon et al. (2011) [salmon2011], as the Random123 library computes it.
std::array<std::uint32_t, 4> philox_block(std::array<std::uint32_t, 4> counter, std::array<std::uint32_t, 2> key);

/// The random words of one replicate: key = seed, counter = (replicate low, replicate high, block, purpose).
///
/// A replicate reads its own blocks only, so results do not depend on threads or on their order.
class ReplicateStream {
 public:
  ReplicateStream(std::uint64_t seed, std::uint64_t replicate, RandomPurpose purpose);

  std::uint32_t word();

  /// Whole number in 0 … n − 1, each equally likely: high half of word × n, rejecting the uneven low part.
  /// Requires  n ≥ 1.
  std::uint32_t below(std::uint32_t n);

  /// Uniform on (0, 1), never 0 or 1: (k + ½) / 2^52 from two words.
  double uniform();

  /// Standard normal by inversion of one uniform (own arithmetic, so the same on every platform).
  double normal();

 private:
  std::array<std::uint32_t, 4> block_{};
  std::array<std::uint32_t, 4> counter_;
  std::array<std::uint32_t, 2> key_;
  unsigned next_ = 4;
};

}  // namespace shotassay::numerics
