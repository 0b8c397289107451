#pragma once
#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/core/decimal.hpp>
#include <shotassay/studies/published_claim.hpp>

#include "common.hpp"
#include "page_files.hpp"

namespace CLI {
class App;
}

namespace shotassay::cli {

/// A printed figure of a set-up: given in the order of the set-ups, or to one by its name as in B=1.4.
struct FigureOption {
  const char* option;
  const char* help;
  bool for_all;  ///< given once, it goes for every set-up
  std::vector<std::string> typed = {};
};

struct AuditOptionsTyped {
  CommonOptions common;
  std::vector<std::string> setups, states;
  std::array<FigureOption, 15> figures{{{"--shots", "Shots of a set-up, as 3, or 3..10 where not known", true},
                                        {"--average", "Average as printed: its decimals count", false},
                                        {"--best", "Best reading, where it was printed in place of an average", false},
                                        {"--sd", "SD as printed", false},
                                        {"--low", "Lowest reading", false},
                                        {"--high", "Highest reading", false},
                                        {"--spread", "Highest less lowest", false},
                                        {"--reading", "Single readings, as 281 or 281,283", false},
                                        {"--accuracy", "Of a chronograph of its own, as in 0.5%", true},
                                        {"--draw-weight", "Draw weight in lbf", true},
                                        {"--arrow-mass", "Arrow mass in gr", true},
                                        {"--draw-length", "Draw length in inches", true},
                                        {"--energy", "Kinetic energy as printed, ft·lbf", false},
                                        {"--momentum", "Momentum as printed, slug·ft/s", false},
                                        {"--convention", "Rating that the speed is quoted by", true}}};
  std::string margin, claims, at, bow_type, max_operations, table, out;
  PageOptions pages;
  bool sd_of_n = false;

  FigureOption& figure(const std::string& option) {
    return *std::find_if(figures.begin(), figures.end(), [&](const auto& f) { return f.option == option; });
  }
};

void add_audit_options(CLI::App& command, AuditOptionsTyped& typed);

/// A figure as printed: its decimals count.
std::optional<Decimal> printed_decimal(const std::string& option, const std::string& text, OptionReader& read);

/// "3", or "3..10": fewest and most shots.
std::optional<std::pair<std::int64_t, std::int64_t>> printed_shots(const std::string& text, OptionReader& read);

/// What holds for all figures: unit, confidence, margin, claim, budget, conditions. Mistakes go to `read`.
void read_rules(const AuditOptionsTyped& typed, PublishedClaim& claim, OptionReader& read);

/// The set-ups with their figures, and what was stated of them. Mistakes go to `read`.
void read_published(AuditOptionsTyped& typed, PublishedClaim& claim, const std::optional<Decimal>& display,
                    OptionReader& read);

}  // namespace shotassay::cli
