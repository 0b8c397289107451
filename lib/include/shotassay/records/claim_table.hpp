#pragma once
#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/core/decimal.hpp>
#include <shotassay/records/sheet.hpp>

namespace shotassay {

/// A number of shots as printed: 3, or anything from 3 to 10.
struct ShotCount {
  std::int64_t fewest, most;
};

/// What one row of a table says of one set-up. A figure that was not printed is absent.
struct ClaimedSetup {
  std::optional<ShotCount> shots = {};
  std::optional<Decimal> average = {}, sd = {}, low = {}, high = {}, spread = {};

  bool has_figures() const { return average || sd || low || high || spread; }
};

/// What a row claims of set-up 2 against set-up 1.
enum class ClaimWord : std::uint8_t { faster, same, slower };

/// One row: the figures printed of one set-up or of two.
struct ClaimRow {
  std::size_t line = 0;
  std::string name = {};
  std::array<ClaimedSetup, 2> setups = {};
  std::optional<Decimal> display = {}, margin = {};
  std::optional<ClaimWord> word = {};
  std::vector<Problem> problems = {};  ///< all that is wrong with the row; the rest is then what could be made out
};

/// Where the bytes of a table come from.
class ByteSource {
 public:
  virtual ~ByteSource() = default;
  /// At most `most` bytes to `to`; 0 is the end.
  virtual std::size_t read(char* to, std::size_t most) = 0;
};

/// Reads a table of claims row by row, however many rows there are. The format's page is docs/reference/claims.md.
///
/// A table whose header is wrong has no rows. A row that is wrong says so and does not end the table.
///
/// Memory    independent of the number of rows: a row holds at most 64 KiB, and nothing of it is kept.
class ClaimTableReader {
 public:
  /// Reads the header. The source outlives the reader.
  explicit ClaimTableReader(ByteSource& source);
  ~ClaimTableReader();
  ClaimTableReader(const ClaimTableReader&) = delete;
  ClaimTableReader& operator=(const ClaimTableReader&) = delete;

  /// What is wrong with the table as a whole, in file order.
  const std::vector<Problem>& problems() const;
  /// Names of columns the format does not know.
  const std::vector<std::string>& ignored_columns() const;
  char separator() const;
  /// That of the first number with a fraction so far; absent when there was none.
  std::optional<char> decimal_mark() const;
  /// Does the header name the column?
  bool has_column(std::string_view name) const;

  /// The next row that is not blank; absent after the last.
  std::optional<ClaimRow> next();

 private:
  class Rows;
  std::unique_ptr<Rows> rows_;
};

}  // namespace shotassay
