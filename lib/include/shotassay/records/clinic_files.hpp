#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/core/decimal.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/core/unit.hpp>
#include <shotassay/records/sheet.hpp>

/// The two CSV files of a lesson: the key, and the sheet that the students' answers are written into.
namespace shotassay {

/// What one student was given.
struct ClinicKeyRow {
  int student;
  double true_gap;  ///< b against a
  Sample a, b;
  std::string verdict;  ///< of the tool, for a reader; "A", "B" or "cannot tell"
};

struct ClinicKey {
  std::uint64_t seed = 0;
  SpeedUnit unit = SpeedUnit::feet_per_second;
  DisplayStep step{Decimal{1, 0}};
  ConfidenceLevel level{0.95};
  double gap = 0, sd = 0, speed = 0;  ///< behind all tests, in `unit`
  std::vector<ClinicKeyRow> rows;
};

enum class ClinicAnswer { a, b, cannot_tell };

struct ClinicAnswerRow {
  int student;
  std::optional<ClinicAnswer> faster;  ///< absent where the cell is empty
  std::size_t line;
};

struct ClinicAnswers {
  std::uint64_t seed = 0;
  std::size_t seed_line = 0;
  std::vector<ClinicAnswerRow> rows;
  std::vector<std::string> ignored_columns;
};

/// CSV with `#` lines for what all tests share, then student, true_gap, a, b (readings with blanks between), verdict.
std::string clinic_key_text(const ClinicKey& key);

/// CSV with the lesson's seed, then student, faster: the second left to be filled in.
std::string blank_clinic_answers(const ClinicKey& key);

/// One of both, or every problem of the file with its line, column and the text found.
struct ClinicKeyResult {
  std::optional<ClinicKey> key;
  std::vector<Problem> problems;
};
struct ClinicAnswersResult {
  std::optional<ClinicAnswers> answers;
  std::vector<Problem> problems;
};

ClinicKeyResult read_clinic_key(std::string_view text);

/// Answers are A, B or "cannot tell", in capitals or not; an empty cell is none given. Separated by commas, or by
/// semicolons or tabs where a spreadsheet program made that of them.
ClinicAnswersResult read_clinic_answers(std::string_view text);

/// The problems of answers that are not to this key: another seed, students it does not have.
std::vector<Problem> answers_against_key(const ClinicAnswers& answers, const ClinicKey& key);

}  // namespace shotassay
