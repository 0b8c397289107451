// The reading of a lesson's key and of its answers, and their tally. A NUL byte divides an input into the two.
#include <shotassay/core/errors.hpp>
#include <shotassay/narrative/clinic.hpp>
#include <shotassay/records/clinic_files.hpp>
#include <shotassay/report/html.hpp>
#include <shotassay/report/text.hpp>
#include <shotassay/studies/clinic.hpp>

#include <set>

#include "checks.hpp"

using namespace shotassay;
using namespace shotassay::fuzz;

namespace {

void check_key(const ClinicKey& key) {
  require(!key.rows.empty() && key.gap > 0.0 && key.sd > 0.0 && key.speed > 0.0);
  std::set<int> students;
  for (const ClinicKeyRow& row : key.rows) {
    require(row.student >= 1 && row.student <= 60 && students.insert(row.student).second);
    require(row.a.size() >= 2 && row.b.size() >= 2);
  }
  // Written and read again it is the same key.
  const std::string text = clinic_key_text(key);
  const ClinicKeyResult again = read_clinic_key(text);
  require(again.key && clinic_key_text(*again.key) == text);
  const std::string blank = blank_clinic_answers(key);
  const ClinicAnswersResult answers = read_clinic_answers(blank);
  require(answers.answers && answers.answers->rows.size() == key.rows.size());
  for (const ClinicAnswerRow& row : answers.answers->rows) require(!row.faster);
  require(answers_against_key(*answers.answers, key).empty());
}

void check_tally(const ClinicKey& key, const ClinicAnswers& answers) {
  std::size_t shots = 0;
  for (const ClinicKeyRow& row : key.rows) shots += row.a.size() + row.b.size();
  if (shots > 100) return;
  std::vector<ToldTest> told;
  for (const ClinicKeyRow& row : key.rows) {
    const ClinicTest test{row.a, row.b, row.true_gap};
    std::optional<Said> eye;
    for (const ClinicAnswerRow& answer : answers.rows)
      if (answer.student == row.student && answer.faster) eye = Said::a;
    told.push_back({row.student, test, tool_says(test, key.level), eye});
  }
  const std::size_t rows = told.size();
  const ClassTally counted = class_tally(std::move(told));
  require(counted.tests.size() == rows);
  const ClinicQuestion question{.students = 1,
                                .seed = key.seed,
                                .shots = static_cast<std::int64_t>(key.rows.front().a.size()),
                                .speed = key.speed,
                                .gap = key.gap,
                                .sd = key.sd,
                                .step = key.step,
                                .level = key.level};
  try {
    const LuckSeries series = luck_series(question, 5);
    const narrative::TallyStory story{counted, key, series, answers.ignored_columns};
    const document::Document document = narrative::tally_document(story);
    const std::string text = report::render_text(document, {.width = 60});
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = text.find('\n', at);
      require(end != std::string::npos && harmless(std::string_view{text}.substr(at, end - at)));
      at = end + 1;
    }
    require(!first_not_text(report::render_html(document, {.title = "Tally"})));
    require(is_json(report::render_json(narrative::tally_data(story))));
  } catch (const DomainError&) {
  } catch (const NoAnswer&) {
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const std::size_t nul = text.find('\0');
  const std::string_view key_text = text.substr(0, nul);
  const std::string_view answers_text = nul == std::string_view::npos ? text : text.substr(nul + 1);
  const ClinicKeyResult key = read_clinic_key(key_text);
  require(key.key.has_value() == key.problems.empty());
  check_problems(key.problems, line_count(key_text));
  const ClinicAnswersResult answers = read_clinic_answers(answers_text);
  require(answers.answers.has_value() == answers.problems.empty());
  check_problems(answers.problems, line_count(answers_text));
  if (answers.answers)
    for (const std::string& column : answers.answers->ignored_columns) require(harmless(column));
  if (key.key) check_key(*key.key);
  if (!key.key || !answers.answers) return 0;
  const auto problems = answers_against_key(*answers.answers, *key.key);
  check_problems(problems, line_count(answers_text));
  if (problems.empty()) check_tally(*key.key, *answers.answers);
  return 0;
}
