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

constexpr std::size_t side_by_side = 64;  ///< replicates whose random words are drawn at once

/// The random words of some replicates. The first of each are drawn at once, which is faster, and the others, where one
/// needs more, from its stream: they are the words of the streams either way.
class WordTable {
 public:
  WordTable(std::uint64_t seed, numerics::RandomPurpose purpose, std::size_t words_wanted)
      : seed_{seed}, purpose_{purpose}, blocks_{std::min<std::uint32_t>(most_blocks, blocks_for(words_wanted))} {
    rows_.resize(std::size_t{4} * blocks_ * side_by_side);
  }

  void draw(std::uint64_t first, std::size_t count) {
    first_ = first;
    for (std::uint32_t block = 0; block < blocks_; ++block) {
      const auto row = [&](std::size_t k) {
        return std::span{rows_}.subspan((std::size_t{4} * block + k) * side_by_side, count);
      };
      numerics::word_blocks(seed_, first, purpose_, block, {row(0), row(1), row(2), row(3)});
    }
  }

  /// Reads the words of the i-th of them, in order.
  class Reader {
   public:
    Reader(const WordTable& table, std::size_t i) : table_{table}, i_{i} {}
    std::uint32_t word() {
      if (next_ < std::size_t{4} * table_.blocks_) return table_.rows_[next_++ * side_by_side + i_];
      if (!beyond_) beyond_.emplace(table_.seed_, table_.first_ + i_, table_.purpose_, table_.blocks_);
      return beyond_->word();
    }

   private:
    const WordTable& table_;
    std::size_t i_, next_ = 0;
    std::optional<numerics::ReplicateStream> beyond_;
  };

 private:
  static constexpr std::uint32_t most_blocks = 32;
  /// With some to spare, for one word in sixteen may be rejected.
  static std::uint32_t blocks_for(std::size_t words) { return static_cast<std::uint32_t>((words + words / 8 + 3) / 4); }

  std::uint64_t seed_, first_ = 0;
  numerics::RandomPurpose purpose_;
  std::uint32_t blocks_;
  std::vector<std::uint32_t> rows_;  ///< row k: word k of each
};

/// Draws with replacement from n readings, several to a random word.
///
/// One word w is a number below n^k, taken apart into k draws by multiplication: the high half of w·n is a draw, the
/// low half the word for the next. So the high half of w·n^d is d draws at once, the digits of a number to base n; what
/// they add up to stands in a table. A word is rejected when the low half of w·n^k is below 2^32 mod n^k, which leaves
/// all n^k outcomes equally likely.
class Urn {
 public:
  explicit Urn(std::size_t readings) : powers_{1} {
    const std::uint64_t n = readings;
    // n^k up to 2^28: at most one word in 16 is rejected.
    do powers_.push_back(powers_.back() * n);
    while (powers_.back() * n <= (std::uint64_t{1} << 28));
    rejected_below_ = static_cast<std::uint32_t>((std::uint64_t{1} << 32) % powers_.back());
    while (at_once_ < draws_to_a_word() && powers_[at_once_ + 1] <= most_entries) ++at_once_;
  }

  /// Words that so many draws take if none is rejected.
  std::size_t words_for(std::size_t draws) const { return (draws + draws_to_a_word() - 1) / draws_to_a_word(); }

  /// What each outcome of 1, 2, … draws adds up to, by the value of one draw: outcome o of d draws at [d][o].
  template <class Value>
  std::vector<std::vector<Value>> totals(const std::vector<Value>& of_one) const {
    std::vector<std::vector<Value>> all{{Value{0}}};
    for (std::size_t d = 1; d <= at_once_; ++d) {
      std::vector<Value> next;
      next.reserve(all.back().size() * of_one.size());
      for (const Value& before : all.back())
        for (const Value& one : of_one) next.push_back(before + one);
      all.push_back(std::move(next));
    }
    return all;
  }

  /// Calls take(d, outcome) for d draws at once until there are `count`.
  template <class Take>
  void draw(WordTable::Reader words, std::size_t count, Take take) const {
    while (count > 0) {
      std::uint32_t word = words.word();
      if (static_cast<std::uint32_t>(word * powers_.back()) < rejected_below_) continue;
      std::size_t left = std::min(count, draws_to_a_word());
      count -= left;
      while (left > 0) {
        const std::size_t d = std::min(left, at_once_);
        const std::uint64_t product = word * powers_[d];
        take(d, static_cast<std::size_t>(product >> 32));
        word = static_cast<std::uint32_t>(product);
        left -= d;
      }
    }
  }

 private:
  static constexpr std::uint64_t most_entries = 4096;  ///< of a table: it shall stay in a processor's first cache
  std::size_t draws_to_a_word() const { return powers_.size() - 1; }

  std::vector<std::uint64_t> powers_;  ///< n^0 … n^k
  std::uint32_t rejected_below_ = 0;
  std::size_t at_once_ = 1;
};

/// One group's resamples: each sum S, and n·Q − S² when asked for.
class Group {
 public:
  explicit Group(const Sample& x, numerics::RandomPurpose purpose) : size_{x.size()}, urn_{size_}, purpose_{purpose} {
    std::vector<std::int64_t> above;
    std::vector<WideInteger> squares;
    for (const std::int64_t reading : x.steps()) {
      above.push_back(reading - x.low());
      squares.push_back(WideInteger{above.back()} * above.back());
    }
    sums_ = urn_.totals(above);
    squares_ = urn_.totals(squares);
  }

  WordTable words(std::uint64_t seed) const { return {seed, purpose_, urn_.words_for(size_)}; }

  std::int64_t sum(WordTable::Reader words) const {
    std::int64_t sum = 0;
    urn_.draw(words, size_, [&](std::size_t d, std::size_t outcome) { sum += sums_[d][outcome]; });
    return sum;
  }

  struct SumAndScatter {
    std::int64_t sum;
    double scatter;
  };

  SumAndScatter sum_and_scatter(WordTable::Reader words) const {
    std::int64_t sum = 0;
    WideInteger squares = 0;
    urn_.draw(words, size_, [&](std::size_t d, std::size_t outcome) {
      sum += sums_[d][outcome];
      squares += squares_[d][outcome];
    });
    const WideInteger n = static_cast<std::int64_t>(size_);
    return {sum, static_cast<double>(n * squares - WideInteger{sum} * sum)};
  }

 private:
  std::size_t size_;
  Urn urn_;
  numerics::RandomPurpose purpose_;
  std::vector<std::vector<std::int64_t>> sums_;    ///< of readings above the lowest, in steps
  std::vector<std::vector<WideInteger>> squares_;  ///< of the same
};

/// values[r] = value(words of `to`, words of `from`) for every replicate, in slices, one a thread.
template <class Value, class Function>
std::vector<Value> replicate(const Resampling& how, const Group* from, const Group& to, Function value) {
  std::vector<Value> values(static_cast<std::size_t>(how.resamples));
  const std::uint64_t threads = std::min<std::uint64_t>(how.threads, how.resamples);
  detail::in_threads(threads, [&](std::uint64_t slice) {
    const std::uint64_t first = how.resamples * slice / threads, last = how.resamples * (slice + 1) / threads;
    WordTable to_words = to.words(how.seed), from_words = (from ? *from : to).words(how.seed);
    for (std::uint64_t r = first; r < last; r += side_by_side) {
      const auto count = static_cast<std::size_t>(std::min<std::uint64_t>(side_by_side, last - r));
      to_words.draw(r, count);
      if (from) from_words.draw(r, count);
      for (std::size_t i = 0; i < count; ++i)
        values[static_cast<std::size_t>(r) + i] =
            value(WordTable::Reader{to_words, i}, WordTable::Reader{from_words, i});
    }
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
  return replicate<std::int64_t>(how, from ? &*from : nullptr, to, [&](auto to_words, auto from_words) {
    return u * to.sum(to_words) - (from ? v * from->sum(from_words) : 0);
  });
}

std::vector<double> drawn_t(const std::string& method, const ResampledStatistic& statistic, const Studentiser& by,
                            const Sample* a, const Sample& b, Resampling how) {
  require_sound(method, how);
  const std::optional<Group> from = group_or_none(a, numerics::RandomPurpose::bootstrap_from);
  const Group to{b, numerics::RandomPurpose::bootstrap_to};
  const std::int64_t u = statistic.factor_b(), v = statistic.factor_a();
  return replicate<double>(how, from ? &*from : nullptr, to, [&](auto to_words, auto from_words) {
    const Group::SumAndScatter q = to.sum_and_scatter(to_words);
    const Group::SumAndScatter p = from ? from->sum_and_scatter(from_words) : Group::SumAndScatter{0, 0.0};
    const std::int64_t numerator = u * q.sum - v * p.sum - statistic.observed();
    return by.t(static_cast<double>(numerator), by.weight_a * p.scatter + by.weight_b * q.scatter);
  });
}

}  // namespace shotassay::detail
