#include <shotassay/methods/bootstrap_monte_carlo.hpp>

#include <optional>

#include <shotassay/numerics/random.hpp>

#include "in_threads.hpp"

namespace shotassay::detail {
namespace {

void require_sound(const std::string& method, const Resampling& how) {
  if (how.resamples < 1'000 || how.resamples > 100'000'000)
    throw DomainError{method + ": resamples must be 1000 to 100000000, got " + std::to_string(how.resamples)};
  if (how.threads < 1) throw DomainError{method + ": threads must be 1 or more, got 0"};
}

/// Draws with replacement from n readings, several to a random word.
///
/// One word is a number below n^k, taken apart into k draws by multiplication: the high half of word·n is a draw, the
/// low half the word for the next. A word is rejected when the last low half is below 2^32 mod n^k, which leaves all
/// n^k outcomes equally likely.
class Urn {
 public:
  explicit Urn(std::size_t readings) : readings_{static_cast<std::uint32_t>(readings)} {
    std::uint64_t outcomes = readings_;
    draws_to_a_word_ = 1;
    // n^k up to 2^28: at most one word in 16 is rejected.
    while (outcomes * readings_ <= (std::uint64_t{1} << 28)) {
      outcomes *= readings_;
      ++draws_to_a_word_;
    }
    rejected_below_ = static_cast<std::uint32_t>((std::uint64_t{1} << 32) % outcomes);
  }

  /// Calls take(index) for each of `count` draws.
  template <class Take>
  void draw(numerics::ReplicateStream& words, std::size_t count, Take take) const {
    std::uint32_t index[32];
    while (count > 0) {
      std::uint32_t word = words.word();
      for (std::size_t k = 0; k < draws_to_a_word_; ++k) {
        const std::uint64_t product = std::uint64_t{word} * readings_;
        index[k] = static_cast<std::uint32_t>(product >> 32);
        word = static_cast<std::uint32_t>(product);
      }
      if (word < rejected_below_) continue;
      const std::size_t used = std::min(count, draws_to_a_word_);
      for (std::size_t k = 0; k < used; ++k) take(index[k]);
      count -= used;
    }
  }

 private:
  std::uint32_t readings_;
  std::uint32_t rejected_below_;
  std::size_t draws_to_a_word_;
};

/// One group's resamples: each sum S, and n·Q − S² when asked for.
class Group {
 public:
  explicit Group(const Sample& x, numerics::RandomPurpose purpose) : urn_{x.size()}, purpose_{purpose} {
    above_.reserve(x.size());
    for (const std::int64_t reading : x.steps()) above_.push_back(reading - x.low());
  }

  std::int64_t sum(std::uint64_t seed, std::uint64_t replicate) const {
    numerics::ReplicateStream words{seed, replicate, purpose_};
    std::int64_t sum = 0;
    urn_.draw(words, above_.size(), [&](std::uint32_t i) { sum += above_[i]; });
    return sum;
  }

  struct SumAndScatter {
    std::int64_t sum;
    double scatter;
  };

  SumAndScatter sum_and_scatter(std::uint64_t seed, std::uint64_t replicate) const {
    numerics::ReplicateStream words{seed, replicate, purpose_};
    std::int64_t sum = 0;
    WideInteger squares = 0;
    urn_.draw(words, above_.size(), [&](std::uint32_t i) {
      sum += above_[i];
      squares += WideInteger{above_[i]} * above_[i];
    });
    const WideInteger n = static_cast<std::int64_t>(above_.size());
    return {sum, static_cast<double>(n * squares - WideInteger{sum} * sum)};
  }

 private:
  std::vector<std::int64_t> above_;  ///< readings above the lowest, in steps
  Urn urn_;
  numerics::RandomPurpose purpose_;
};

/// values[r] = value(r) for every replicate, in slices, one a thread.
template <class Value, class Function>
std::vector<Value> replicate(const Resampling& how, Function value) {
  std::vector<Value> values(static_cast<std::size_t>(how.resamples));
  const std::uint64_t threads = std::min<std::uint64_t>(how.threads, how.resamples);
  detail::in_threads(threads, [&](std::uint64_t slice) {
    const std::uint64_t first = how.resamples * slice / threads, last = how.resamples * (slice + 1) / threads;
    for (std::uint64_t r = first; r < last; ++r) values[static_cast<std::size_t>(r)] = value(r);
  });
  return values;
}

std::optional<Group> group_or_none(const Sample* x, numerics::RandomPurpose purpose) {
  return x ? std::optional<Group>{Group{*x, purpose}} : std::nullopt;
}

}  // namespace

std::vector<std::int64_t> drawn_keys(const std::string& method, const ResampledStatistic& statistic, const Sample* a,
                                     const Sample& b, Resampling how) {
  require_sound(method, how);
  const std::optional<Group> from = group_or_none(a, numerics::RandomPurpose::bootstrap_from);
  const Group to{b, numerics::RandomPurpose::bootstrap_to};
  const std::int64_t u = statistic.factor_b(), v = statistic.factor_a();
  return replicate<std::int64_t>(
      how, [&](std::uint64_t r) { return u * to.sum(how.seed, r) - (from ? v * from->sum(how.seed, r) : 0); });
}

std::vector<double> drawn_t(const std::string& method, const ResampledStatistic& statistic, const Studentiser& by,
                            const Sample* a, const Sample& b, Resampling how) {
  require_sound(method, how);
  const std::optional<Group> from = group_or_none(a, numerics::RandomPurpose::bootstrap_from);
  const Group to{b, numerics::RandomPurpose::bootstrap_to};
  const std::int64_t u = statistic.factor_b(), v = statistic.factor_a();
  return replicate<double>(how, [&](std::uint64_t r) {
    const Group::SumAndScatter q = to.sum_and_scatter(how.seed, r);
    const Group::SumAndScatter p = from ? from->sum_and_scatter(how.seed, r) : Group::SumAndScatter{0, 0.0};
    const std::int64_t numerator = u * q.sum - v * p.sum - statistic.observed();
    return by.t(static_cast<double>(numerator), by.weight_a * p.scatter + by.weight_b * q.scatter);
  });
}

}  // namespace shotassay::detail
