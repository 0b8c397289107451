// How long does a table of claims take? One benchmark a table; audit_table.R does a t test for each row of the same.
//
// Reading, auditing and writing, from a text to a text. Every repetition begins anew: no answer is known from the one
// before. The answer is the number of rows in which some pair of readings carries "faster", of ours the claim's.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstring>
#include <string>

#include <shotassay/narrative/claim_row.hpp>
#include <shotassay/records/claim_table.hpp>
#include <shotassay/studies/claim_table.hpp>

using namespace shotassay;

namespace {

constexpr int rows = 20'000;

/// The same multipliers make the same table in audit_table.R.
std::string table(bool with_sds) {
  std::string text =
      with_sds ? "shots_1,average_1,sd_1,shots_2,average_2,sd_2\n" : "shots_1,average_1,shots_2,average_2\n";
  const auto tenths = [](int x) { return std::to_string(x / 10) + "." + std::to_string(x % 10); };
  for (int i = 0; i < rows; ++i) {
    const int average = 2500 + 10 * (i * 37 % 50), gap = i * 101 % 79 - 19;
    const int sd_1 = 5 + i * 53 % 21, sd_2 = 5 + i * 61 % 23;
    if (with_sds)
      text +=
          "5," + tenths(average) + "," + tenths(sd_1) + ",5," + tenths(average + 2 * gap) + "," + tenths(sd_2) + "\n";
    else
      text += "3," + std::to_string(average / 10) + ",3," + std::to_string(average / 10 + gap / 4) + "\n";
  }
  return text;
}

class Text : public ByteSource {
 public:
  explicit Text(const std::string& text) : text_{text} {}
  std::size_t read(char* to, std::size_t most) override {
    const std::size_t got = std::min(most, text_.size() - at_);
    std::memcpy(to, text_.data() + at_, got);
    at_ += got;
    return got;
  }

 private:
  const std::string& text_;
  std::size_t at_ = 0;
};

void audit_all(benchmark::State& state, const std::string& text) {
  int carried = 0;
  for (auto _ : state) {
    Text source{text};
    ClaimTableReader reader{source};
    ClaimAuditor auditor{ClaimRules{}};
    std::string out = narrative::claim_row_header({});
    carried = 0;
    while (const auto row = reader.next()) {
      const AuditedClaim audited = auditor(*row);
      narrative::append_claim_row(out, audited, {});
      if (audited.verdicts && audited.verdicts->faster != Tally{0}) ++carried;
    }
    benchmark::DoNotOptimize(out.data());
  }
  state.counters["answer"] = carried;
}

void averages_and_sds(benchmark::State& state) { audit_all(state, table(true)); }
void averages(benchmark::State& state) { audit_all(state, table(false)); }

}  // namespace

BENCHMARK(averages_and_sds)->MeasureProcessCPUTime();
BENCHMARK(averages)->MeasureProcessCPUTime();
BENCHMARK_MAIN();
