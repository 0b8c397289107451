#pragma once
#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace shotassay {

/// What is wrong with the writing of a cell. Its text is then what could be made out.
enum class CellFault : std::uint8_t {
  none,
  unterminated_quote,   ///< opened and never closed: the text runs to the end of its line, reading resumes there
  text_after_quote,     ///< "abc"d
  quote_in_plain_cell,  ///< ab"c
  control_character     ///< other than tab, CR and LF; line ends are allowed in quotes only
};

struct Cell {
  std::string_view text{};  ///< without its quotes, doubled quotes undone
  std::size_t line = 0;     ///< where the cell starts, from 1
  std::size_t column = 0;   ///< character in that line, from 1
  bool quoted = false;
  CellFault fault = CellFault::none;
};

/// RFC 4180 text, one row at a time. CR, LF and CRLF end a row; the last row needs no end.
///
/// An empty line is a row of one empty cell. Rows may differ in length: that is for the caller to judge.
/// Costs     one pass; no allocation for a cell unless it has doubled quotes.
/// Requires  text without BOM that outlives the reader, valid UTF-8 (else columns are counted wrong);
///           a separator other than quote, CR and LF.
/// Source    RFC 4180 (2005) [rfc4180].
class CsvReader {
 public:
  explicit CsvReader(std::string_view text, char separator = ',', std::size_t first_line = 1);

  /// The next row, or an empty span after the last. Cells hold until the next call.
  std::span<const Cell> next();

  /// Bytes of the text that the rows so far have used.
  std::size_t position() const { return static_cast<std::size_t>(at_ - begin_); }

 private:
  void read_quoted(Cell& cell);
  void read_plain(Cell& cell);
  std::size_t column() const;

  const char* begin_;
  const char* at_;
  const char* end_;
  char separator_;
  std::size_t line_;
  const char* line_start_;
  std::size_t continuation_bytes_ = 0;  ///< of UTF-8, in this line so far
  std::vector<Cell> row_;
  std::deque<std::string> unescaped_;
};

/// The separator of a header row: a tab if it has one outside quotes, else ';' if it has one, else ','.
char separator_of(std::string_view header);

/// Where the row that starts at `from` ends, with its line end: line ends inside quotes do not count,
/// unless the quote is never closed.
std::size_t row_end(std::string_view text, std::size_t from);

/// Offset of the first byte that is not UTF-8 or is NUL; absent when all is text.
/// Refused too: overlong forms, surrogates, above U+10FFFF.
std::optional<std::size_t> first_not_text(std::string_view text);

}  // namespace shotassay
