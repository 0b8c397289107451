#include <shotassay/records/csv.hpp>

#include <array>
#include <cstring>

namespace shotassay {

namespace {

enum class ByteKind : std::uint8_t { plain, quote, line_end, control, not_ascii };

constexpr std::array<ByteKind, 256> byte_kinds = [] {
  std::array<ByteKind, 256> kinds{};
  for (std::size_t c = 0; c < 0x20; ++c) kinds[c] = ByteKind::control;
  for (std::size_t c = 0x80; c < 0x100; ++c) kinds[c] = ByteKind::not_ascii;
  kinds[0x7F] = ByteKind::control;
  kinds['\t'] = ByteKind::plain;
  kinds['\r'] = kinds['\n'] = ByteKind::line_end;
  kinds['"'] = ByteKind::quote;
  return kinds;
}();

ByteKind kind_of(char c) { return byte_kinds[static_cast<unsigned char>(c)]; }

bool continues(char c) { return (static_cast<unsigned char>(c) & 0xC0) == 0x80; }

/// U+0080 to U+009F in UTF-8: C2, then a byte below A0.
bool is_late_control(const char* at) {
  return continues(*at) && static_cast<unsigned char>(*at) < 0xA0 && static_cast<unsigned char>(at[-1]) == 0xC2;
}

void keep_first(CellFault& fault, CellFault next) {
  if (fault == CellFault::none) fault = next;
}

/// The bytes of one character of two or more, or 0 where they are not UTF-8 (Unicode 15, table 3-7).
std::size_t multibyte_length(const unsigned char* s, std::size_t left) {
  const auto tail = [&](std::size_t i, unsigned low = 0x80, unsigned high = 0xBF) {
    return i < left && s[i] >= low && s[i] <= high;
  };
  const unsigned lead = s[0];
  if (lead >= 0xC2 && lead <= 0xDF) return tail(1) ? 2 : 0;
  if (lead >= 0xE0 && lead <= 0xEF)
    return tail(1, lead == 0xE0 ? 0xA0 : 0x80, lead == 0xED ? 0x9F : 0xBF) && tail(2) ? 3 : 0;
  if (lead >= 0xF0 && lead <= 0xF4)
    return tail(1, lead == 0xF0 ? 0x90 : 0x80, lead == 0xF4 ? 0x8F : 0xBF) && tail(2) && tail(3) ? 4 : 0;
  return 0;
}

}  // namespace

CsvReader::CsvReader(std::string_view text, char separator, std::size_t first_line)
    : begin_{text.data()},
      at_{begin_},
      end_{begin_ + text.size()},
      separator_{separator},
      line_{first_line},
      line_start_{begin_} {}

std::size_t CsvReader::column() const { return static_cast<std::size_t>(at_ - line_start_) - continuation_bytes_ + 1; }

std::span<const Cell> CsvReader::next() {
  row_.clear();
  unescaped_.clear();
  if (at_ == end_) return {};
  for (;;) {
    Cell& cell = row_.emplace_back();
    cell.line = line_;
    cell.column = column();
    if (at_ != end_ && *at_ == '"')
      read_quoted(cell);
    else
      read_plain(cell);
    if (at_ == end_ || *at_ != separator_) break;
    ++at_;
  }
  if (at_ != end_) {
    if (*at_++ == '\r' && at_ != end_ && *at_ == '\n') ++at_;
    ++line_;
    line_start_ = at_;
    continuation_bytes_ = 0;
  }
  return row_;
}

void CsvReader::read_plain(Cell& cell) {
  const char* const start = at_;
  for (; at_ != end_ && *at_ != separator_; ++at_) {
    const ByteKind kind = kind_of(*at_);
    if (kind == ByteKind::plain) continue;
    if (kind == ByteKind::line_end) break;
    if (kind == ByteKind::quote) {
      keep_first(cell.fault, CellFault::quote_in_plain_cell);
    } else if (kind == ByteKind::control) {
      keep_first(cell.fault, CellFault::control_character);
    } else if (continues(*at_)) {
      ++continuation_bytes_;
      if (at_ != start && is_late_control(at_)) keep_first(cell.fault, CellFault::control_character);
    }
  }
  cell.text = {start, static_cast<std::size_t>(at_ - start)};
}

void CsvReader::read_quoted(Cell& cell) {
  cell.quoted = true;
  const char* const opening = at_++;
  const char* run = at_;  // what is not yet copied
  std::string* copy = nullptr;
  bool closed = false;
  const auto line_start = line_start_;
  const auto continuation_bytes = continuation_bytes_;
  for (; at_ != end_; ++at_) {
    const ByteKind kind = kind_of(*at_);
    if (kind == ByteKind::plain) continue;
    if (kind == ByteKind::quote) {
      if (at_ + 1 == end_ || at_[1] != '"') {
        closed = true;
        break;
      }
      if (!copy) copy = &unescaped_.emplace_back();
      ++at_;
      copy->append(run, at_);  // with one of the two quotes
      run = at_ + 1;
    } else if (kind == ByteKind::line_end) {
      if (*at_ == '\r' && at_ + 1 != end_ && at_[1] == '\n') ++at_;
      ++line_;
      line_start_ = at_ + 1;
      continuation_bytes_ = 0;
    } else if (kind == ByteKind::control) {
      keep_first(cell.fault, CellFault::control_character);
    } else if (continues(*at_)) {
      ++continuation_bytes_;
      if (is_late_control(at_)) keep_first(cell.fault, CellFault::control_character);
    }
  }
  const auto skip_while = [&](auto wanted) {
    for (; at_ != end_ && wanted(*at_); ++at_)
      if (continues(*at_)) ++continuation_bytes_;
  };
  if (!closed) {
    // Go back to the line that opened the quote, so that the rows after it are still looked at. This scan to the end
    // happens once at most: with an odd number of quotes gone, those that are left come in pairs.
    cell.fault = CellFault::unterminated_quote;
    line_ = cell.line;
    line_start_ = line_start;
    continuation_bytes_ = continuation_bytes;
    at_ = opening + 1;
    skip_while([](char c) { return kind_of(c) != ByteKind::line_end; });
    cell.text = {opening + 1, static_cast<std::size_t>(at_ - opening - 1)};
    return;
  }
  if (copy) {
    copy->append(run, at_);
    cell.text = *copy;
  } else {
    cell.text = {run, static_cast<std::size_t>(at_ - run)};
  }
  ++at_;
  if (at_ != end_ && *at_ != separator_ && kind_of(*at_) != ByteKind::line_end) {
    cell.fault = CellFault::text_after_quote;
    skip_while([this](char c) { return c != separator_ && kind_of(c) != ByteKind::line_end; });
    cell.text = {opening, static_cast<std::size_t>(at_ - opening)};
  }
}

std::size_t row_end(std::string_view text, std::size_t from) {
  bool in_quotes = false;
  std::optional<std::size_t> first_end;
  for (std::size_t i = from; i < text.size(); ++i) {
    if (text[i] == '"') in_quotes = !in_quotes;
    if (kind_of(text[i]) != ByteKind::line_end) continue;
    if (text[i] == '\r' && i + 1 < text.size() && text[i + 1] == '\n') ++i;
    if (!in_quotes) return i + 1;
    if (!first_end) first_end = i + 1;
  }
  return in_quotes && first_end ? *first_end : text.size();
}

char separator_of(std::string_view header) {
  bool in_quotes = false, semicolon = false;
  for (const char c : header) {
    if (c == '"') in_quotes = !in_quotes;
    if (in_quotes) continue;
    if (c == '\t') return '\t';
    if (c == ';') semicolon = true;
  }
  return semicolon ? ';' : ',';
}

std::optional<std::size_t> first_not_text(std::string_view text) {
  const char* const bytes = text.data();
  std::size_t i = 0;
  while (i < text.size()) {
    if (text.size() - i >= sizeof(std::uint64_t)) {
      constexpr std::uint64_t highs = 0x8080808080808080, ones = 0x0101010101010101;
      std::uint64_t eight;
      std::memcpy(&eight, bytes + i, sizeof eight);
      if (((eight | (eight - ones)) & highs) == 0) {  // none above 7F, none that borrows: no NUL
        i += sizeof eight;
        continue;
      }
    }
    const auto byte = static_cast<unsigned char>(bytes[i]);
    if (byte == 0) return i;
    if (byte < 0x80) {
      ++i;
      continue;
    }
    const std::size_t length = multibyte_length(reinterpret_cast<const unsigned char*>(bytes + i), text.size() - i);
    if (length == 0) return i;
    i += length;
  }
  return std::nullopt;
}

}  // namespace shotassay
