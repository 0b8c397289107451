#include "spelling.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include <shotassay/records/csv.hpp>
#include <shotassay/records/same_name.hpp>

namespace shotassay {

namespace {

struct Character {
  char32_t code = 0;
  std::size_t bytes = 1;
  bool valid = true;
};

Character first_character(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned lead = byte(0);
  const std::size_t bytes = lead < 0x80 ? 1 : lead < 0xC2 ? 0 : lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : lead < 0xF5 ? 4 : 0;
  if (bytes == 1) return {.code = lead};
  if (bytes == 0 || bytes > text.size() || first_not_text(text.substr(0, bytes))) return {.code = lead, .valid = false};
  char32_t code = lead & (0x7Fu >> bytes);
  for (std::size_t i = 1; i < bytes; ++i) code = (code << 6) | (byte(i) & 0x3Fu);
  return {.code = code, .bytes = bytes};
}

void append(std::string& out, char32_t c) {
  const auto put = [&](char32_t byte) { out += static_cast<char>(static_cast<unsigned char>(byte)); };
  if (c < 0x80) return put(c);
  if (c < 0x800) {
    put(0xC0 | (c >> 6));
  } else if (c < 0x10000) {
    put(0xE0 | (c >> 12));
    put(0x80 | ((c >> 6) & 0x3F));
  } else {
    put(0xF0 | (c >> 18));
    put(0x80 | ((c >> 12) & 0x3F));
    put(0x80 | ((c >> 6) & 0x3F));
  }
  put(0x80 | (c & 0x3F));
}

bool is_blank(char32_t c) { return c == ' ' || c == '\t' || c == 0xA0 || c == 0x2007 || c == 0x202F; }

bool between(char32_t c, char32_t low, char32_t high) { return low <= c && c <= high; }

/// Marks that turn the reading direction, joiners and the like: nothing is seen of them.
bool has_no_width(char32_t c) {
  return c == 0xAD || c == 0x34F || c == 0x61C || c == 0x70F || between(c, 0x17B4, 0x17B5) || c == 0x180E ||
         between(c, 0x200B, 0x200F) || between(c, 0x202A, 0x202E) || between(c, 0x2060, 0x206F) || c == 0xFEFF ||
         between(c, 0xFFF9, 0xFFFB) || between(c, 0x1BCA0, 0x1BCA3) || between(c, 0x1D173, 0x1D17A) ||
         between(c, 0xE0000, 0xE0FFF);
}

/// Hangul's fillers, which look like blanks; line separators; codes that are no characters.
bool is_hidden(char32_t c) {
  return c < 0x20 || between(c, 0x7F, 0x9F) || has_no_width(c) || between(c, 0x115F, 0x1160) ||
         between(c, 0x2028, 0x2029) || c == 0x3164 || c == 0xFFA0 || between(c, 0xFDD0, 0xFDEF) ||
         (c & 0xFFFE) == 0xFFFE;
}

char32_t lower_case(char32_t c) {
  if (between(c, 'A', 'Z') || (between(c, 0xC0, 0xDE) && c != 0xD7)) return c + 0x20;
  if (between(c, 0x100, 0x137) || between(c, 0x14A, 0x177)) return c | 1;
  if (between(c, 0x139, 0x148) || between(c, 0x179, 0x17E)) return c % 2 == 1 ? c + 1 : c;
  if (between(c, 0x391, 0x3A9)) return c + 0x20;
  if (between(c, 0x410, 0x42F)) return c + 0x20;
  if (between(c, 0x400, 0x40F)) return c + 0x50;
  return c;
}

/// Optimal string alignment: insertions, deletions, substitutions and swaps of neighbours.
std::size_t typing_errors(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before_last(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + (a[i - 1] == b[j - 1] ? 0u : 1u)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        row[j] = std::min(row[j], before_last[j - 2] + 1);
    }
    before_last.swap(last);
    last.swap(row);
  }
  return last[b.size()];
}

std::string hexadecimal(char32_t value, std::size_t places) {
  std::string digits;
  for (; value > 0 || digits.size() < places; value >>= 4)
    digits.insert(digits.begin(), "0123456789ABCDEF"[value & 15]);
  return digits;
}

std::string visible(Character c) {
  if (!c.valid) return "\\x" + hexadecimal(c.code, 2);
  switch (c.code) {
    case '\n':
      return "\\n";
    case '\r':
      return "\\r";
    case '\t':
      return "\\t";
    default:
      break;
  }
  if (c.code < 0x80) return "\\x" + hexadecimal(c.code, 2);
  return "\\u{" + hexadecimal(c.code, 4) + "}";
}

}  // namespace

std::string_view trimmed(std::string_view text) {
  // Most cells: printable ASCII at both ends.
  const auto surely_no_blank = [](char c) { return c > ' ' && c < 0x7F; };
  if (text.empty() || (surely_no_blank(text.front()) && surely_no_blank(text.back()))) return text;
  constexpr std::array<std::string_view, 5> blanks = {" ", "\t", "\u00A0", "\u2007", "\u202F"};
  const auto strip = [&](auto matches, auto remove) {
    for (bool again = true; again;) {
      again = false;
      for (const auto blank : blanks)
        if (matches(blank)) {
          remove(blank.size());
          again = true;
        }
    }
  };
  strip([&](auto blank) { return text.starts_with(blank); }, [&](auto n) { text.remove_prefix(n); });
  strip([&](auto blank) { return text.ends_with(blank); }, [&](auto n) { text.remove_suffix(n); });
  return text;
}

std::string folded_name(std::string_view text) {
  std::string folded;
  bool blank_waits = false;
  while (!text.empty()) {
    const Character c = first_character(text);
    if (c.valid && (is_blank(c.code) || c.code == '\n' || c.code == '\r')) {
      blank_waits = !folded.empty();
    } else if (!c.valid || !has_no_width(c.code)) {
      if (blank_waits) folded += ' ';
      blank_waits = false;
      if (c.valid)
        append(folded, lower_case(c.code));
      else
        folded += text[0];
    }
    text.remove_prefix(c.bytes);
  }
  return folded;
}

std::string folded_key(std::string_view text) {
  std::string folded = folded_name(text);
  std::erase_if(folded, [](char c) {
    const bool kept = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || static_cast<unsigned char>(c) >= 0x80;
    return !kept;
  });
  return folded;
}

bool resembles(std::string_view written, std::string_view known) {
  const std::string a = folded_key(written), b = folded_key(known);
  if (a == b || a == b + "s") return true;
  if (b.size() < 5 || a.size() > b.size() + 2) return false;
  return typing_errors(a, b) <= (b.size() < 8 ? 1u : 2u);
}

bool same_name(std::string_view a, std::string_view b) { return folded_name(a) == folded_name(b); }

std::string shown(std::string_view text) {
  constexpr std::size_t most = 40;
  std::vector<std::string> pieces;
  std::size_t width = 0;
  while (!text.empty() && width <= most) {
    const Character c = first_character(text);
    const bool plain = c.valid && !is_hidden(c.code);
    pieces.push_back(plain ? std::string{text.substr(0, c.bytes)} : visible(c));
    width += plain ? 1 : pieces.back().size();
    text.remove_prefix(c.bytes);
  }
  std::string out;
  if (width <= most) {
    for (const auto& piece : pieces) out += piece;
    return out;
  }
  width = 0;
  for (const auto& piece : pieces) {
    const std::size_t w = piece.size() > 1 && piece[0] == '\\' ? piece.size() : 1;
    if (width + w > most - 1) break;
    out += piece;
    width += w;
  }
  return out + "…";
}

}  // namespace shotassay
