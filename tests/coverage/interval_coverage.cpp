// How often each interval of the library holds the truth: rounded shots, normal, skewed and heavy-tailed.
//
//   interval_coverage TABLE [TESTS [SEED [THREADS]]]      one table of docs/coverage.md, in Markdown
//
// TESTS simulated for each figure of the cheap methods, 25000 if not said; the dear ones get a stated part of them.
// Gaps of few shots with little scatter are summed over every outcome instead (support/exact_coverage.hpp), for the
// methods that look at no more than averages and squared deviations; how far the simulation is from these sums goes to
// the standard error. Every figure has its own random streams: the same bytes for any number of threads.
// tests/coverage/tables.sh makes all tables. Not an everyday test.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <limits>
#include <map>
#include <mutex>
#include <numbers>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include <shotassay/shotassay.hpp>

#include "support/coverage_study.hpp"
#include "support/exact_coverage.hpp"
#include "support/samples.hpp"

using namespace shotassay;
using coverage::Fate;
using coverage::Shape;
using coverage::Share;
using numerics::ReplicateStream;
using Readings = std::vector<std::int64_t>;

namespace {

// ---- tables ----

struct Settings {
  std::uint64_t tests, seed;
  unsigned threads;
};

struct Row {
  std::string labels;  ///< cells before the figures, with their bars between
  std::function<std::vector<Share>(std::uint64_t row)> shares;
};

struct Table {
  std::string label_heads;
  std::vector<std::string> heads;
  std::vector<Row> rows;
  double level = 95;    ///< per cent that is promised; a worst figure more than two points below it is printed bold
  bool missed = false;  ///< print how often it does not hold
};

std::string printed(const char* form, double x) {
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), form, x);
  return text.data();
}

std::string cell(const Share& share, const Table& table) {
  if (!share.tried) return "not run";
  if (!share.ever) return "–";
  const auto percent = [&](double x) { return printed("%.1f", 100.0 * (table.missed ? 1.0 - x : x)); };
  // Short of the level, and not by its standard error.
  const auto short_of_it = [&](double x, double error) { return 100.0 * (x + 2.0 * error) < table.level - 2.0; };
  std::string text = percent(share.average);
  if (share.worst) text += " / " + percent(*share.worst);
  if (share.exact) text = "_" + text + "_";
  if (short_of_it(share.average, share.average_error) || short_of_it(share.worst.value_or(1.0), share.worst_error))
    text = "**" + text + "**";
  return text;
}

void print(const Table& table, std::uint64_t number, const Settings& settings) {
  std::vector<std::function<std::vector<Share>()>> tasks;
  for (std::size_t i = 0; i < table.rows.size(); ++i)
    tasks.emplace_back([&table, i, number] { return table.rows[i].shares(number << 10 | i); });
  const auto results = coverage::in_threads(tasks, settings.threads);
  std::string rule = "|";
  for (const char c : table.label_heads) rule += c == '|' ? "---|" : "";
  std::printf("| %s |", table.label_heads.c_str());
  rule += "---|";
  for (const auto& head : table.heads) {
    std::printf(" %s |", head.c_str());
    rule += "---|";
  }
  std::printf("\n%s\n", rule.c_str());
  std::vector<double> largest(table.heads.size(), 0.0);
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    std::printf("| %s |", table.rows[i].labels.c_str());
    for (std::size_t m = 0; m < table.heads.size(); ++m) {
      const Share& share = results[i][m];
      std::printf(" %s |", cell(share, table).c_str());
      if (share.ever && !share.exact) largest[m] = std::max({largest[m], share.average_error, share.worst_error});
    }
    std::printf("\n");
  }
  if (std::all_of(results.begin(), results.end(), [](const auto& shares) { return shares.front().exact; }) &&
      std::all_of(largest.begin(), largest.end(), [](double error) { return error == 0; }))
    return;  // all summed
  std::printf("\nLargest standard error in each column, in points:");
  for (std::size_t m = 0; m < table.heads.size(); ++m)
    std::printf("%s %s %.2f", m == 0 ? "" : ",", table.heads[m].c_str(), 100.0 * largest[m]);
  std::printf(".\n");
}

const char* word(Shape shape) {
  switch (shape) {
    case Shape::skewed:
      return "skewed";
    case Shape::heavy_tailed:
      return "heavy-tailed";
    case Shape::normal:
      break;
  }
  return "normal";
}

std::string number(double x) { return printed("%g", x); }

std::string pair_of(double a, double b) { return a == b ? number(a) : number(a) + ", " + number(b); }

Fate fate_of(const std::optional<Interval>& interval, double truth) {
  if (!interval) return Fate::no_interval;
  // A limit exactly on the truth holds it; lattice sums differ by far more than 1e-9.
  return interval->lower - 1e-9 <= truth && truth <= interval->upper + 1e-9 ? Fate::held : Fate::missed;
}

/// Absent where the method has no answer with these readings.
template <class Answer>
std::optional<Interval> answer(const Answer& ask) {
  try {
    return ask();
  } catch (const NoAnswer&) {
    return std::nullopt;
  }
}

void shoot(ReplicateStream& random, Shape shape, double mean, double sd, Readings& readings) {
  for (auto& y : readings) y = coverage::reading(mean + sd * coverage::draw(random, shape));
}

/// Readings sorted and counted from their lowest: intervals move with the readings and do not know their order.
std::int64_t settle(Readings& readings) {
  std::sort(readings.begin(), readings.end());
  const std::int64_t low = readings.front();
  for (auto& y : readings) y -= low;
  return low;
}

double mean_of(const Readings& readings) {
  std::int64_t sum = 0;
  for (const auto y : readings) sum += y;
  return static_cast<double>(sum) / static_cast<double>(readings.size());
}

/// What was worked out for readings that came up before.
template <class Value>
class Known {
 public:
  Value& at(const Readings& a, const Readings& b) {
    key_.clear();
    for (const auto* readings : {&a, &b})
      for (const auto y : *readings) {
        key_.push_back(static_cast<char>(y & 0xff));
        key_.push_back(static_cast<char>(y >> 8 & 0xff));
      }
    if (values_.size() > 50'000) values_.clear();
    return values_[key_];
  }

 private:
  std::string key_;
  std::unordered_map<std::string, Value> values_;
};

// ---- a gap of two set-ups, or one mean ----

struct Setups {
  int n_a, n_b;  ///< n_b 0: one set-up
  double sd_a, sd_b;
  Shape shape = Shape::normal;
  bool one() const { return n_b == 0; }
};

struct Method {
  std::string name;
  double part;  ///< of the tests
  std::function<std::optional<Interval>(const Sample& a, const Sample& b)> interval;
  bool summable = false;  ///< sees averages and squared deviations only, and is symmetric
};

/// One set-up's mean, or the gap, by several methods on the same readings.
class SetupTrial {
 public:
  SetupTrial(const Setups& setups, const std::vector<Method>& methods) : setups_{setups}, methods_{methods} {
    a_.resize(static_cast<std::size_t>(setups.n_a));
    b_.resize(static_cast<std::size_t>(std::max(setups.n_b, 1)));
  }

  void operator()(ReplicateStream& random, std::span<const double> places, std::uint32_t wanted,
                  std::span<Fate> fates) {
    shoot(random, setups_.shape, places[0], setups_.sd_a, a_);
    b_.assign(b_.size(), 0);
    if (!setups_.one()) shoot(random, setups_.shape, places[1], setups_.sd_b, b_);
    const std::int64_t low_a = settle(a_), low_b = settle(b_);
    const double truth = setups_.one() ? places[0] - static_cast<double>(low_a)
                                       : places[1] - places[0] - static_cast<double>(low_b - low_a);
    auto& known = known_.at(a_, b_);
    known.resize(methods_.size());
    for (std::size_t m = 0; m < methods_.size(); ++m) {
      if ((wanted >> m & 1U) == 0) continue;
      if (!known[m].done) known[m] = {true, answer([&] { return methods_[m].interval(sample(a_), sample(b_)); })};
      fates[m] = fate_of(known[m].interval, truth);
    }
  }

 private:
  struct Worked {
    bool done = false;
    std::optional<Interval> interval;
  };

  Setups setups_;
  std::vector<Method> methods_;
  Readings a_, b_;
  Known<std::vector<Worked>> known_;
};

/// The number of outcomes that a sum over all readings goes through for one place of each average.
double outcomes_to_sum(int n, double sd) {
  // Readings within 7 SD, as many as k values: (k + n − 1 choose n) unordered sets of n.
  const double values = std::ceil(14 * sd) + 2;
  double sets = 1;
  for (int i = 1; i <= n; ++i) sets *= (values + i - 1) / i;
  return sets;
}

std::mutex reporting;

std::vector<Share> gap_shares(const Setups& setups, const std::vector<Method>& methods, const Settings& settings,
                              std::uint64_t row) {
  // Sums over as many places as can be afforded; fewer are enough with more scatter, where shares change slowly. A
  // prime number of them: else the true gap falls on the lattice of the gaps of averages, and a limit there counts as
  // holding.
  const double least_sd = std::min(setups.sd_a, setups.sd_b);
  std::optional<ExactCoverage> law;
  if (!setups.one() && setups.shape == Shape::normal &&
      std::max(outcomes_to_sum(setups.n_a, setups.sd_a), outcomes_to_sum(setups.n_b, setups.sd_b)) < 2e4)
    for (const int places : {97, 41, 29, 13}) {
      if (places < (least_sd < 0.3 ? 41 : least_sd < 0.75 ? 29 : 13)) break;
      law.emplace(setups.n_a, setups.sd_a, setups.n_b, setups.sd_b, places);
      if (law->terms() <= 6e8) break;
      law.reset();
    }
  std::vector<std::uint64_t> tests;
  std::uint32_t summed = 0;
  for (std::size_t m = 0; m < methods.size(); ++m) {
    tests.push_back(static_cast<std::uint64_t>(std::ceil(methods[m].part * static_cast<double>(settings.tests))));
    if (law && methods[m].summable) summed |= 1U << m;
  }
  std::vector<double> scatter{setups.sd_a};
  if (!setups.one()) scatter.push_back(setups.sd_b);
  auto shares = coverage::study({scatter, tests, SetupTrial{setups, methods}}, settings.seed, row, summed);
  for (std::size_t m = 0; m < methods.size(); ++m) {
    if ((summed >> m & 1U) == 0) continue;
    const auto sums = law->of([&](const Sample& a, const Sample& b) -> std::optional<double> {
      const auto interval = answer([&] { return methods[m].interval(a, b); });
      if (!interval) return std::nullopt;
      return interval->half_width();
    });
    const double error = std::sqrt(sums.average * (1 - sums.average) / static_cast<double>(tests[m]));
    const std::lock_guard lock{reporting};
    std::fprintf(stderr, "%d + %d shots, SD %g and %g, %s: summed %.3f, simulated %.3f, %+.1f standard errors\n",
                 setups.n_a, setups.n_b, setups.sd_a, setups.sd_b, methods[m].name.c_str(), 100 * sums.average,
                 100 * shares[m].average, error > 0 ? (shares[m].average - sums.average) / error : 0.0);
    shares[m] = {.average = sums.average, .worst = sums.worst, .tried = true, .ever = shares[m].ever, .exact = true};
  }
  return shares;
}

std::vector<Method> gap_methods(int most_shots, double sd = 1) {
  // The law of the studentised gap grows steeply: ten shots each with an SD of 5 take a fifth of a second.
  const double studentised = most_shots < 4   ? 0.4
                             : most_shots < 6 ? 0.1
                             : most_shots < 9 ? 0.08
                             : sd < 2         ? 0.04
                             : sd < 5         ? 0.02
                                              : 0;
  return {{"rounding_aware", 1, [](auto& a, auto& b) { return rounding_aware(a, b).interval; }, true},
          {"welch", 1, [](auto& a, auto& b) { return welch(a, b).interval; }, true},
          {"pooled", 1, [](auto& a, auto& b) { return pooled(a, b).interval; }, true},
          {"permutation", 1, [](auto& a, auto& b) { return permutation(a, b).interval; }},
          {"percentile", 1, [](auto& a, auto& b) { return bootstrap_percentile(a, b).interval; }},
          {"basic", 1, [](auto& a, auto& b) { return bootstrap_basic(a, b).interval; }},
          {"BCa", 1, [](auto& a, auto& b) { return bootstrap_bca(a, b).interval; }},
          {"studentised", studentised, [](auto& a, auto& b) { return bootstrap_t(a, b).interval; }}};
}

std::vector<std::string> heads(const std::vector<Method>& methods) {
  std::vector<std::string> names;
  for (const auto& m : methods) names.push_back(m.name);
  return names;
}

const std::vector<double> all_sds{0.1, 0.25, 0.5, 1, 2, 5};

Table gaps(const Settings& settings) {
  Table t{"shots each | SD", heads(gap_methods(2)), {}};
  for (const int n : {2, 3, 4, 5, 7, 10})
    for (const double sd : all_sds)
      t.rows.push_back({number(n) + " | " + number(sd), [=](std::uint64_t row) {
                          return gap_shares({n, n, sd, sd}, gap_methods(n, sd), settings, row);
                        }});
  return t;
}

Table unequal_gaps(const Settings& settings) {
  Table t{"shots | SDs", heads(gap_methods(2)), {}};
  const std::vector<std::array<int, 2>> numbers{{3, 3}, {5, 5}, {3, 4}, {3, 10}, {2, 6}, {4, 12}};
  const std::vector<std::array<double, 2>> sds{{1, 1}, {0.1, 1}, {1, 0.1}, {1, 3}, {3, 1}};
  for (const auto& n : numbers)
    for (const auto& sd : sds) {
      if (n[0] == n[1] && sd[0] >= sd[1]) continue;
      t.rows.push_back({number(n[0]) + " + " + number(n[1]) + " | " + pair_of(sd[0], sd[1]), [=](std::uint64_t row) {
                          return gap_shares({n[0], n[1], sd[0], sd[1]},
                                            gap_methods(std::max(n[0], n[1]), std::max(sd[0], sd[1])), settings, row);
                        }});
    }
  return t;
}

Table gap_shapes(const Settings& settings) {
  Table t{"shots are | shots | SDs", heads(gap_methods(2)), {}};
  struct Case {
    int n_a, n_b;
    double sd_a, sd_b;
  };
  for (const Shape shape : {Shape::skewed, Shape::heavy_tailed})
    for (const auto& [n_a, n_b, sd_a, sd_b] :
         {Case{3, 3, 0.5, 0.5}, Case{3, 3, 1, 1}, Case{3, 3, 5, 5}, Case{5, 5, 0.5, 0.5}, Case{5, 5, 1, 1},
          Case{5, 5, 5, 5}, Case{10, 10, 1, 1}, Case{10, 10, 5, 5}, Case{3, 3, 1, 3}, Case{5, 5, 1, 3},
          Case{3, 10, 1, 1}, Case{3, 10, 3, 1}, Case{2, 6, 1, 1}, Case{4, 12, 1, 1}, Case{4, 12, 3, 1}}) {
      const Setups setups{n_a, n_b, sd_a, sd_b, shape};
      t.rows.push_back(
          {std::string{word(shape)} + " | " + number(n_a) + " + " + number(n_b) + " | " + pair_of(sd_a, sd_b),
           [=](std::uint64_t row) {
             return gap_shares(setups,
                               gap_methods(std::max(setups.n_a, setups.n_b), std::max(setups.sd_a, setups.sd_b)),
                               settings, row);
           }});
    }
  return t;
}

/// A history of ten degrees of freedom whose SD is a multiple of that of the shots; 40 earlier shots' worth of it.
Method moderated_with(const std::string& name, double sd, double multiple) {
  const ScatterPrior prior{.variance = multiple * multiple * sd * sd + 1.0 / 12.0,
                           .degrees_of_freedom = 10,
                           .degrees_of_freedom_of_strings = 40};
  return {name, 1, [prior](auto& a, auto& b) { return moderated(a, b, prior).interval; }, true};
}

Table histories(const Settings& settings) {
  const auto methods = [](double sd) {
    return std::vector<Method>{moderated_with("history right", sd, 1),
                               moderated_with("history of half the SD", sd, 0.5),
                               moderated_with("history of twice the SD", sd, 2)};
  };
  Table t{"shots are | shots each | SD", heads(methods(1)), {}};
  for (const Shape shape : {Shape::normal, Shape::skewed, Shape::heavy_tailed})
    for (const int n : {2, 3, 5, 10})
      for (const double sd : all_sds) {
        if (shape != Shape::normal && (n == 10 || sd < 0.5 || sd == 2)) continue;
        t.rows.push_back({std::string{word(shape)} + " | " + number(n) + " | " + number(sd), [=](std::uint64_t row) {
                            return gap_shares({n, n, sd, sd, shape}, methods(sd), settings, row);
                          }});
      }
  return t;
}

Table means(const Settings& settings) {
  const auto methods = [](int n, double sd) {
    const double studentised = n < 6 ? 0.4 : n < 9 ? 0.1 : sd < 3 ? 0.02 : 0.008;
    return std::vector<Method>{
        {"rounding_aware_mean", 1, [](auto& a, auto&) { return rounding_aware_mean(a).interval; }},
        {"mean_interval", 1, [](auto& a, auto&) { return mean_interval(a).interval; }},
        {"percentile", 1, [](auto& a, auto&) { return bootstrap_percentile(a).interval; }},
        {"basic", 1, [](auto& a, auto&) { return bootstrap_basic(a).interval; }},
        {"BCa", 1, [](auto& a, auto&) { return bootstrap_bca(a).interval; }},
        {"studentised", studentised, [](auto& a, auto&) { return bootstrap_t(a).interval; }}};
  };
  Table t{"shots are | shots | SD", heads(methods(2, 1)), {}};
  for (const Shape shape : {Shape::normal, Shape::skewed, Shape::heavy_tailed})
    for (const int n : {2, 3, 4, 5, 7, 10})
      for (const double sd : all_sds) {
        if (shape != Shape::normal && (n == 2 || n == 4 || n == 7 || sd < 0.5 || sd == 2)) continue;
        t.rows.push_back({std::string{word(shape)} + " | " + number(n) + " | " + number(sd), [=](std::uint64_t row) {
                            return gap_shares({n, 0, sd, sd, shape}, methods(n, sd), settings, row);
                          }});
      }
  return t;
}

/// One set-up that hardly scatters: met only where its true average lies at the edge between two readings. Summed, at
/// many places.
Table still_setups(const Settings&) {
  Table t{"shots | SDs", {"rounding_aware", "welch"}, {}};
  struct Case {
    int n;
    double sd, other;
    int places;
  };
  for (const auto& c : {Case{3, 0.6, 0.02, 200}, Case{3, 0.4, 0.02, 200}, Case{3, 0.4, 0.01, 200},
                        Case{3, 0.35, 0.005, 200}, Case{5, 0.35, 0.005, 201}, Case{10, 0.7, 0.01, 67}})
    t.rows.push_back(
        {number(c.n) + " + " + number(c.n) + " | " + pair_of(c.sd, c.other), [=](std::uint64_t) {
           const ExactCoverage law{c.n, c.sd, c.n, c.other, c.places};
           std::vector<Share> shares;
           for (std::size_t m = 0; m < 2; ++m) {
             const auto sums = law.of([&](const Sample& a, const Sample& b) -> std::optional<double> {
               const auto interval =
                   answer([&] { return m == 0 ? rounding_aware(a, b).interval : welch(a, b).interval; });
               if (!interval) return std::nullopt;
               return interval->half_width();
             });
             shares.push_back(
                 {.average = sums.average, .worst = sums.worst, .tried = true, .ever = true, .exact = true});
           }
           return shares;
         }});
  return t;
}

// ---- the same within a margin ----

/// Set-up b faster by exactly the margin, `apart` steps and the difference of the places: may not be called the same.
class SameTrial {
 public:
  SameTrial(const Setups& setups, std::vector<std::int64_t> apart)
      : setups_{setups},
        apart_{std::move(apart)},
        a_(static_cast<std::size_t>(setups.n_a)),
        b_(static_cast<std::size_t>(setups.n_b)) {}

  void operator()(ReplicateStream& random, std::span<const double> places, std::uint32_t, std::span<Fate> fates) {
    shoot(random, setups_.shape, places[0], setups_.sd_a, a_);
    shoot(random, setups_.shape, places[1], setups_.sd_b, b_);
    const std::int64_t low_a = settle(a_), low_b = settle(b_);
    auto& half_width = known_.at(a_, b_);
    if (!half_width) half_width = rounding_aware(sample(a_), sample(b_)).half_width;
    const double gap = mean_of(b_) - mean_of(a_) + static_cast<double>(low_b - low_a);
    for (std::size_t m = 0; m < apart_.size(); ++m) {
      const auto steps = static_cast<double>(apart_[m]);
      const bool same =
          margin_position(centred(gap + steps, *half_width), steps + places[1] - places[0]) == MarginPosition::inside;
      fates[m] = same ? Fate::missed : Fate::held;
    }
  }

 private:
  Setups setups_;
  std::vector<std::int64_t> apart_;
  Readings a_, b_;
  Known<std::optional<double>> known_;
};

Table same(const Settings& settings) {
  const std::vector<std::int64_t> apart{2, 5, 1000};
  Table t{"shots are | shots | SDs", {"margin about 2 steps", "about 5 steps", "any margin, at most"}, {}, 97, true};
  struct Case {
    Shape shape;
    int n_a, n_b;
    double sd_a, sd_b;
  };
  std::vector<Case> cases;
  for (const int n : {2, 3, 5, 10})
    for (const double sd : all_sds) cases.push_back({Shape::normal, n, n, sd, sd});
  for (const Shape shape : {Shape::normal, Shape::skewed, Shape::heavy_tailed}) {
    if (shape != Shape::normal)
      for (const int n : {3, 5, 10})
        for (const double sd : {0.5, 1.0, 5.0}) cases.push_back({shape, n, n, sd, sd});
    cases.push_back({shape, 3, 10, 1, 1});
    cases.push_back({shape, 3, 10, 3, 1});
    cases.push_back({shape, 5, 5, 0.1, 1});
  }
  for (const auto& c : cases) {
    const Setups setups{c.n_a, c.n_b, c.sd_a, c.sd_b, c.shape};
    t.rows.push_back(
        {std::string{word(c.shape)} + " | " + number(c.n_a) + " + " + number(c.n_b) + " | " + pair_of(c.sd_a, c.sd_b),
         [=](std::uint64_t row) {
           return coverage::study({{setups.sd_a, setups.sd_b},
                                   std::vector<std::uint64_t>(apart.size(), settings.tests),
                                   SameTrial{setups, apart}},
                                  settings.seed, row);
         }});
  }
  return t;
}

// ---- three or more set-ups ----

class FamilyTrial {
 public:
  FamilyTrial(std::vector<int> shots, std::vector<double> sds, Shape shape)
      : sds_{std::move(sds)}, shape_{shape}, family_{static_cast<int>(shots.size())} {
    for (const int n : shots) setups_.emplace_back(static_cast<std::size_t>(n));
  }

  void operator()(ReplicateStream& random, std::span<const double> places, std::uint32_t wanted,
                  std::span<Fate> fates) {
    std::vector<std::int64_t> low(setups_.size());
    for (std::size_t g = 0; g < setups_.size(); ++g) {
      shoot(random, shape_, places[g], sds_[g], setups_[g]);
      low[g] = settle(setups_[g]);
    }
    const double pooled_width = pooled_factor();
    std::fill(fates.begin(), fates.end(), Fate::held);
    for (std::size_t i = 0; i < setups_.size(); ++i)
      for (std::size_t j = i + 1; j < setups_.size(); ++j) {
        const Readings &a = setups_[i], &b = setups_[j];
        const double miss =
            std::abs(mean_of(b) - mean_of(a) + static_cast<double>(low[j] - low[i]) - (places[j] - places[i])) - 1e-9;
        Widths& w = known_.at(a, b);
        if (!w.done) w = widths(a, b);
        const double root = std::sqrt(1.0 / static_cast<double>(a.size()) + 1.0 / static_cast<double>(b.size()));
        const std::array<double, 3> half_widths{w.rounding_aware, w.welch, pooled_width * root};
        for (std::size_t m = 0; m < half_widths.size(); ++m)
          if ((wanted >> m & 1U) != 0 && !(miss <= half_widths[m])) fates[m] = Fate::missed;
      }
  }

 private:
  struct Widths {
    bool done = false;
    double rounding_aware = 0, welch = 0;
  };

  Widths widths(const Readings& a, const Readings& b) const {
    const Sample x = sample(a), y = sample(b);
    // The half-width as rounding_aware has it, without its p, which costs ten times as much in a family.
    const shotassay::detail::RoundingAwareGap gap{rounded_group(x), rounded_group(y), family_};
    const auto plain = answer([&] { return welch(x, y, ConfidenceLevel{0.95}, family_).interval; });
    return {true, gap.terms(0.05).largest(), plain ? plain->half_width() : -1.0};
  }

  /// Half-width over √(1/n_a + 1/n_b); below 0 where no set-up scatters.
  double pooled_factor() {
    double squares = 0;
    std::size_t shots = 0;
    for (const Readings& readings : setups_) {
      const double mean = mean_of(readings);
      for (const auto y : readings) squares += (static_cast<double>(y) - mean) * (static_cast<double>(y) - mean);
      shots += readings.size();
    }
    if (squares < 1e-9) return -1.0;
    const auto nu = static_cast<double>(shots - setups_.size());
    if (range_factor_ == 0) range_factor_ = family_.factor(0.05, nu);
    return range_factor_ * std::sqrt(squares / nu);
  }

  std::vector<double> sds_;
  Shape shape_;
  Family family_;
  std::vector<Readings> setups_;
  double range_factor_ = 0;
  Known<Widths> known_;
};

Table families(const Settings& settings) {
  Table t{"shots are | shots | SDs", {"rounding_aware", "welch (Games and Howell)", "pooled (Tukey and Kramer)"}, {}};
  struct Case {
    Shape shape;
    std::vector<int> shots;
    std::vector<double> sds;
  };
  std::vector<Case> cases;
  for (const int n : {2, 3, 5})
    for (const double sd : {0.1, 0.5, 1.0, 3.0}) cases.push_back({Shape::normal, {n, n, n}, {sd, sd, sd}});
  for (const double sd : {0.5, 3.0}) cases.push_back({Shape::normal, {3, 3, 3, 3}, {sd, sd, sd, sd}});
  for (const double sd : {0.5, 3.0}) cases.push_back({Shape::normal, {3, 3, 3, 3, 3, 3}, {sd, sd, sd, sd, sd, sd}});
  for (const Shape shape : {Shape::skewed, Shape::heavy_tailed}) {
    for (const double sd : {0.5, 3.0}) cases.push_back({shape, {3, 3, 3}, {sd, sd, sd}});
    cases.push_back({shape, {5, 5, 5}, {3, 3, 3}});
    cases.push_back({shape, {3, 3, 10}, {1, 1, 1}});
    cases.push_back({shape, {3, 3, 3}, {3, 3, 0.1}});
  }
  for (const auto& c : cases) {
    std::string shots, sds;
    const bool alike = std::all_of(c.sds.begin(), c.sds.end(), [&](double sd) { return sd == c.sds[0]; });
    for (std::size_t g = 0; g < c.shots.size(); ++g) {
      shots += (g == 0 ? "" : " + ") + number(c.shots[g]);
      if (g == 0 || !alike) sds += (g == 0 ? "" : ", ") + number(c.sds[g]);
    }
    t.rows.push_back({std::string{word(c.shape)} + " | " + shots + " | " + sds, [=](std::uint64_t row) {
                        return coverage::study({c.sds, std::vector<std::uint64_t>(3, settings.tests / 5),
                                                FamilyTrial{c.shots, c.sds, c.shape}},
                                               settings.seed, row);
                      }});
  }
  return t;
}

// ---- kinds of bow ----

struct Bows {
  int bows, shots;
  double bow_sd, shot_sd;
  Shape shape;
};

Table kinds(const Settings& settings) {
  Table t{"bows and shots are | bows of each kind | shots with each | SD of bows | SD of shots",
          {"bow_means", "bow_means_welch", "mixed", "mixed, leaping", "SD of bows", "SD of shots"},
          {}};
  std::vector<Bows> designs;
  for (const Shape shape : {Shape::normal, Shape::skewed, Shape::heavy_tailed})
    for (const int bows : {2, 3, 5})
      for (const double bow_sd : {0.0, 1.0, 3.0})
        for (const double shot_sd : {0.1, 1.0}) {
          if (shape != Shape::normal && (bow_sd == 0.0 || shot_sd < 1)) continue;
          designs.push_back({bows, 3, bow_sd, shot_sd, shape});
        }
  for (const auto& d : designs) {
    const auto trial = [d](ReplicateStream& random, std::span<const double> places, std::uint32_t wanted,
                           std::span<Fate> fates) {
      std::array<std::vector<Sample>, 2> kind;
      Readings readings(static_cast<std::size_t>(d.shots));
      for (std::size_t g = 0; g < 2; ++g)
        for (int i = 0; i < d.bows; ++i) {
          const double bow = places[g] + d.bow_sd * coverage::draw(random, d.shape);
          shoot(random, d.shape, bow, d.shot_sd, readings);
          kind[g].push_back(sample(readings));
        }
      const auto& [a, b] = kind;
      const double gap = places[1] - places[0];
      if ((wanted & 1U) != 0) fates[0] = fate_of(bow_means(a, b).interval, gap);
      if ((wanted & 2U) != 0) fates[1] = fate_of(bow_means_welch(a, b).interval, gap);
      if ((wanted & 60U) == 0) return;
      std::fill(fates.begin() + 2, fates.end(), Fate::no_interval);
      try {
        const MixedResult m = mixed(a, b);
        fates[2] = fate_of(m.interval, gap);
        fates[3] =
            fate_of(centred(m.difference, numerics::t_two_sided_factor(0.05, m.satterthwaite) * m.standard_error), gap);
        fates[4] = fate_of(m.bow_sd_interval, d.bow_sd);
        fates[5] = fate_of(m.shot_sd_interval, d.shot_sd);
      } catch (const NoAnswer&) {
      }
    };
    t.rows.push_back(
        {std::string{word(d.shape)} + " | " + number(d.bows) + " | " + number(d.shots) + " | " + number(d.bow_sd) +
             " | " + number(d.shot_sd),
         [=](std::uint64_t row) {
           // What blurs a place is the scatter of bows and shots together.
           const double blur = std::hypot(d.bow_sd, d.shot_sd);
           const std::uint64_t some = settings.tests / 5;
           return coverage::study({{blur, blur}, std::vector<std::uint64_t>(6, some), trial}, settings.seed, row);
         }});
  }
  return t;
}

// ---- rounds and sessions ----

struct Rounds {
  Shape shape;
  int rounds, shots;
  double sd_a, sd_b;
  double apart = 0;  ///< SD by which the gap itself changes from one to the next
  double level = 0;  ///< SD by which both move together
  double creep = 0;  ///< steps by which both move on each time
};

std::vector<Share> round_shares(const Rounds& d, bool sessions, const Settings& settings, std::uint64_t row) {
  const auto trial = [d, sessions](ReplicateStream& random, std::span<const double> places, std::uint32_t,
                                   std::span<Fate> fates) {
    std::vector<Round> rounds;
    std::vector<Session> days;
    std::vector<double> gaps;
    Readings a(static_cast<std::size_t>(d.shots)), b(a.size());
    for (int r = 0; r < d.rounds; ++r) {
      const double level = d.level * random.normal() + d.creep * r, apart = d.apart * random.normal();
      shoot(random, d.shape, places[0] + level, d.sd_a, a);
      shoot(random, d.shape, places[1] + level + apart, d.sd_b, b);
      gaps.push_back(mean_of(b) - mean_of(a));
      if (sessions)
        days.push_back({sample(a), sample(b)});
      else
        rounds.push_back({sample(a), sample(b)});
    }
    const double truth = places[1] - places[0];
    fates[0] = fate_of(sessions ? session_gaps(days).interval : round_paired(rounds).interval, truth);
    // Student's t on the differences, as it stands.
    const auto k = static_cast<double>(gaps.size());
    double mean = 0, squares = 0;
    for (const double gap : gaps) mean += gap / k;
    for (const double gap : gaps) squares += (gap - mean) * (gap - mean);
    std::optional<Interval> plain;
    if (squares > 1e-12)
      plain = centred(mean, numerics::t_two_sided_factor(0.05, k - 1) * std::sqrt(squares / (k - 1) / k));
    fates[1] = fate_of(plain, truth);
  };
  const double moves = std::max(d.level, d.apart);
  return coverage::study({{std::hypot(d.sd_a, moves), std::hypot(d.sd_b, moves)},
                          std::vector<std::uint64_t>(2, settings.tests * 2 / 5),
                          trial},
                         settings.seed, row);
}

Table rounds(const Settings& settings) {
  Table t{"shots are | rounds | shots | SDs | rounds move by", {"round_paired", "Student's t of the differences"}, {}};
  std::vector<Rounds> designs;
  for (const int k : {2, 3, 5, 10})
    for (const double sd : {0.1, 0.5, 1.0, 3.0}) designs.push_back({Shape::normal, k, 1, sd, sd});
  for (const int k : {3, 5}) designs.push_back({Shape::normal, k, 2, 0.5, 0.5});
  for (const int k : {3, 5}) designs.push_back({Shape::normal, k, 1, 1, 3});
  for (const int k : {3, 5}) designs.push_back({Shape::normal, k, 1, 1, 1, 0, 3});
  for (const int k : {6, 10}) designs.push_back({Shape::normal, k, 1, 0.02, 0.6, 0, 0, 1});
  for (const Shape shape : {Shape::skewed, Shape::heavy_tailed})
    for (const int k : {3, 5, 10})
      for (const double sd : {0.5, 3.0}) designs.push_back({shape, k, 1, sd, sd});
  for (const auto& d : designs)
    t.rows.push_back({std::string{word(d.shape)} + " | " + number(d.rounds) + " | " + number(d.shots) + " | " +
                          pair_of(d.sd_a, d.sd_b) + " | " +
                          (d.creep > 0   ? number(d.creep) + " each time"
                           : d.level > 0 ? "SD " + number(d.level)
                                         : "0"),
                      [=](std::uint64_t row) { return round_shares(d, false, settings, row); }});
  return t;
}

Table sessions(const Settings& settings) {
  Table t{"shots are | sessions | shots | SD | SD between sessions", {"session_gaps", "Student's t of the gaps"}, {}};
  std::vector<Rounds> designs;
  for (const int k : {2, 3, 5})
    for (const double sd : {0.1, 1.0})
      for (const double apart : {0.0, 1.0, 3.0}) designs.push_back({Shape::normal, k, 3, sd, sd, apart});
  for (const Shape shape : {Shape::skewed, Shape::heavy_tailed})
    for (const int k : {3, 5})
      for (const double apart : {0.0, 3.0}) designs.push_back({shape, k, 3, 1, 1, apart});
  for (const auto& d : designs)
    t.rows.push_back({std::string{word(d.shape)} + " | " + number(d.rounds) + " | " + number(d.shots) + " | " +
                          number(d.sd_a) + " | " + number(d.apart),
                      [=](std::uint64_t row) { return round_shares(d, true, settings, row); }});
  return t;
}

// ---- drift ----

Table drifts(const Settings& settings) {
  Table t{"shots are | shots each | SD", {"no drift", "0.1 steps a shot", "1 step a shot"}, {}};
  const std::array<double, 3> slopes{0, 0.1, 1};
  for (const Shape shape : {Shape::normal, Shape::skewed, Shape::heavy_tailed})
    for (const int n : {2, 3, 5, 10})
      for (const double sd : all_sds) {
        if (shape != Shape::normal && (n == 2 || n == 10 || sd < 0.5 || sd == 2)) continue;
        const auto trial = [=](ReplicateStream& random, std::span<const double> places, std::uint32_t,
                               std::span<Fate> fates) {
          std::array<std::array<Readings, 2>, slopes.size()> readings;
          std::array<Readings, 2> order;
          // A-B-B-A-A-B-B-A …; the same shots with each drift.
          for (std::int64_t i = 0; i < 2 * n; ++i) {
            const std::size_t setup = i % 4 == 1 || i % 4 == 2 ? 1 : 0;
            const double shot = places[setup] + sd * coverage::draw(random, shape);
            order[setup].push_back(i + 1);
            for (std::size_t s = 0; s < slopes.size(); ++s)
              readings[s][setup].push_back(coverage::reading(shot + slopes[s] * static_cast<double>(i)));
          }
          for (std::size_t s = 0; s < slopes.size(); ++s)
            fates[s] = fate_of(
                answer([&] {
                  return drift({{sample(readings[s][0]), order[0]}, {sample(readings[s][1]), order[1]}}).interval;
                }),
                slopes[s]);
        };
        t.rows.push_back({std::string{word(shape)} + " | " + number(n) + " | " + number(sd), [=](std::uint64_t row) {
                            return coverage::study(
                                {{sd, sd}, std::vector<std::uint64_t>(3, settings.tests * 2 / 5), trial}, settings.seed,
                                row);
                          }});
      }
  return t;
}

// ---- the SD of shots, and the average behind a best reading ----

Table sds(const Settings& settings) {
  Table t{"shots are | shots | SD", {"upper limit, 80 %", "upper limit, 95 %"}, {}, 80};
  for (const Shape shape : {Shape::normal, Shape::skewed, Shape::heavy_tailed})
    for (const int n : {2, 3, 5, 10})
      for (const double sd : all_sds) {
        if (shape != Shape::normal && (n == 2 || n == 10 || sd < 0.5 || sd == 2)) continue;
        // Summing the law of ten readings takes long; by chi-square it would be another method.
        if (n == 10 && sd > 0.5) continue;
        if (n == 5 && sd == 5) continue;
        std::map<std::int64_t, std::array<double, 2>> known;
        const auto trial = [=](ReplicateStream& random, std::span<const double> places, std::uint32_t,
                               std::span<Fate> fates) mutable {
          Readings readings(static_cast<std::size_t>(n));
          shoot(random, shape, places[0], sd, readings);
          const Sample shots = sample(readings);
          const auto deviations = static_cast<std::int64_t>(moments(shots).scaled_deviations());
          auto found = known.find(deviations);
          if (found == known.end())
            found = known
                        .emplace(deviations, std::array{sd_upper_limit({shots}, ConfidenceLevel{0.8}).upper,
                                                        sd_upper_limit({shots}, ConfidenceLevel{0.95}).upper})
                        .first;
          for (std::size_t m = 0; m < 2; ++m) fates[m] = sd <= found->second[m] ? Fate::held : Fate::missed;
        };
        t.rows.push_back({std::string{word(shape)} + " | " + number(n) + " | " + number(sd), [=](std::uint64_t row) {
                            return coverage::study({{sd}, std::vector<std::uint64_t>(2, settings.tests * 2 / 5), trial},
                                                   settings.seed, row);
                          }});
      }
  return t;
}

Table bests(const Settings& settings) {
  Table t{"shots | SD", {"normal shots", "skewed", "heavy-tailed"}, {}};
  const std::array<Shape, 3> shapes{Shape::normal, Shape::skewed, Shape::heavy_tailed};
  for (const int n : {1, 3, 10})
    for (const double sd : all_sds) {
      const auto trial = [=](ReplicateStream& random, std::span<const double> places, std::uint32_t,
                             std::span<Fate> fates) {
        Readings readings(static_cast<std::size_t>(n));
        for (std::size_t m = 0; m < shapes.size(); ++m) {
          shoot(random, shapes[m], places[0], sd, readings);
          const auto best = static_cast<double>(*std::max_element(readings.begin(), readings.end()));
          fates[m] = fate_of(
              mean_behind_best(best, {.shots = n, .sd = sd, .step = DisplayStep{Decimal{1, 0}}}).interval, places[0]);
        }
      };
      t.rows.push_back(
          {number(n) + " | " + number(sd), [=](std::uint64_t row) {
             return coverage::study({{sd}, std::vector<std::uint64_t>(3, settings.tests), trial}, settings.seed, row);
           }});
    }
  return t;
}

// ---- stated uncertainty ----

Table widened(const Settings& settings) {
  const std::array<double, 3> stated{0.25, 1, 3};
  Table t{"shots are | shots each | SD", {"w = 0.25 steps", "w = 1 step", "w = 3 steps"}, {}};
  for (const Shape shape : {Shape::normal, Shape::skewed, Shape::heavy_tailed})
    for (const int n : {2, 3, 5, 10})
      for (const double sd : {0.1, 0.5, 1.0, 5.0}) {
        if (shape != Shape::normal && (n == 2 || n == 10 || sd < 0.5)) continue;
        const auto trial = [=](ReplicateStream& random, std::span<const double> places, std::uint32_t,
                               std::span<Fate> fates) {
          Readings a(static_cast<std::size_t>(n)), b(a.size());
          shoot(random, shape, places[0], sd, a);
          shoot(random, shape, places[1], sd, b);
          const auto gap = rounding_aware(sample(a), sample(b));
          const double z = random.normal();
          for (std::size_t m = 0; m < stated.size(); ++m)
            // The condition that is stated, not measured, has moved the gap by w·z.
            fates[m] = fate_of(widened_gap({.gap = gap.difference,
                                            .standard_error = gap.standard_error,
                                            .degrees_of_freedom = gap.degrees_of_freedom,
                                            .half_width = gap.half_width},
                                           stated[m])
                                   .interval,
                               places[1] - places[0] - stated[m] * z);
        };
        t.rows.push_back({std::string{word(shape)} + " | " + number(n) + " | " + number(sd), [=](std::uint64_t row) {
                            return coverage::study(
                                {{sd, sd}, std::vector<std::uint64_t>(3, settings.tests * 2 / 5), trial}, settings.seed,
                                row);
                          }});
      }
  return t;
}

/// The energy m·v²/2 of an arrow: v the average of readings near 190 steps, m weighed to u = 1 in 350. Inputs as a
/// budget names them: the average with s/√n and n − 1 degrees of freedom, what the display hides, the scales.
Table budgets(const Settings& settings) {
  Table t{"shots are | shots | SD", {"uncertainty_budget", "propagation"}, {}};
  for (const Shape shape : {Shape::normal, Shape::skewed, Shape::heavy_tailed})
    for (const int n : {3, 5, 10})
      for (const double sd : all_sds) {
        if (shape != Shape::normal && (n == 10 || sd < 0.5 || sd == 2)) continue;
        const auto trial = [=](ReplicateStream& random, std::span<const double> places, std::uint32_t wanted,
                               std::span<Fate> fates) {
          constexpr double mass = 350;
          Readings readings(static_cast<std::size_t>(n));
          const double speed = 190 + places[0];
          shoot(random, shape, speed, sd, readings);
          const Moments m = moments(sample(readings));
          const double weighed = mass + random.normal();
          const MeasurementModel energy = [](std::span<const double> x) {
            return 0.5 * x[2] * (x[0] + x[1]) * (x[0] + x[1]);
          };
          const std::vector<UncertainInput> inputs{
              {.name = "average",
               .estimate = mean_of(readings),
               .standard_uncertainty = std::sqrt(m.variance() / n),
               .degrees_of_freedom = n - 1.0,
               .evaluation = Evaluation::type_a,
               .shape = InputShape::t},
              {.name = "display", .standard_uncertainty = 0.5 / std::numbers::sqrt3, .shape = InputShape::rectangular},
              {.name = "mass", .estimate = weighed, .standard_uncertainty = 1}};
          const double truth = 0.5 * mass * speed * speed;
          fates[0] = fate_of(uncertainty_budget(energy, inputs).interval, truth);
          if ((wanted & 2U) != 0)
            fates[1] = fate_of(
                propagation(energy, inputs, {}, ConfidenceLevel{0.95}, {.most_trials = 100'000, .seed = random.word()})
                    .symmetric,
                truth);
        };
        t.rows.push_back({std::string{word(shape)} + " | " + number(n) + " | " + number(sd), [=](std::uint64_t row) {
                            return coverage::study({{sd}, {settings.tests / 5, settings.tests / 100}, trial},
                                                   settings.seed, row, 2U);
                          }});
      }
  return t;
}

struct Named {
  std::string_view name;
  Table (*table)(const Settings&);
};
constexpr std::array tables{Named{"gap", gaps},
                            Named{"gap-unequal", unequal_gaps},
                            Named{"gap-shapes", gap_shapes},
                            Named{"moderated", histories},
                            Named{"mean", means},
                            Named{"same", same},
                            Named{"family", families},
                            Named{"kinds", kinds},
                            Named{"rounds", rounds},
                            Named{"sessions", sessions},
                            Named{"drift", drifts},
                            Named{"sd", sds},
                            Named{"best", bests},
                            Named{"widened", widened},
                            Named{"budget", budgets},
                            Named{"still", still_setups}};

}  // namespace

int main(int count, char** words) {
  const std::string_view asked = count > 1 ? words[1] : "";
  const auto whole = [&](int i, std::uint64_t otherwise) {
    return count > i ? std::strtoull(words[i], nullptr, 10) : otherwise;
  };
  const Settings settings{whole(2, 25'000), whole(3, 1), static_cast<unsigned>(whole(4, 1))};
  for (std::size_t i = 0; i < tables.size(); ++i) {
    if (tables[i].name != asked || settings.tests < 100 || settings.threads < 1) continue;
    print(tables[i].table(settings), i + 1, settings);
    return 0;
  }
  std::fputs("interval_coverage TABLE [TESTS [SEED [THREADS]]]      TESTS 100 or more; TABLE one of\n", stderr);
  for (const auto& t : tables) std::fprintf(stderr, "  %s\n", std::string{t.name}.c_str());
  return 2;
}
