#include <algorithm>
#include <array>
#include <shotassay/document/printable.hpp>
#include <shotassay/document/printable_character.hpp>

namespace shotassay::document {

namespace {

struct Range {
  char32_t first, last;
};

template <std::size_t N>
bool in(const std::array<Range, N>& ranges, char32_t code) {
  return std::any_of(ranges.begin(), ranges.end(), [&](Range r) { return r.first <= code && code <= r.last; });
}

// Marks that sit on the character before them (Unicode general category Mn, the blocks met in Latin, Greek, Cyrillic,
// Hebrew, Arabic and symbol text).
constexpr std::array combining{
    Range{0x0300, 0x036F}, Range{0x0483, 0x0489}, Range{0x0591, 0x05BD}, Range{0x0610, 0x061A}, Range{0x064B, 0x065F},
    Range{0x1AB0, 0x1AFF}, Range{0x1DC0, 0x1DFF}, Range{0x20D0, 0x20FF}, Range{0xFE00, 0xFE0F}, Range{0xFE20, 0xFE2F}};

// Two columns wide (Unicode East_Asian_Width W and F, and emoji).
constexpr std::array wide{
    Range{0x1100, 0x115F},   Range{0x231A, 0x231B},   Range{0x2329, 0x232A},   Range{0x23E9, 0x23EC},
    Range{0x23F0, 0x23F0},   Range{0x23F3, 0x23F3},   Range{0x25FD, 0x25FE},   Range{0x2614, 0x2615},
    Range{0x2648, 0x2653},   Range{0x267F, 0x267F},   Range{0x2693, 0x2693},   Range{0x26A1, 0x26A1},
    Range{0x26AA, 0x26AB},   Range{0x26BD, 0x26BE},   Range{0x26C4, 0x26C5},   Range{0x26CE, 0x26CE},
    Range{0x26D4, 0x26D4},   Range{0x26EA, 0x26EA},   Range{0x26F2, 0x26F3},   Range{0x26F5, 0x26F5},
    Range{0x26FA, 0x26FA},   Range{0x26FD, 0x26FD},   Range{0x2705, 0x2705},   Range{0x270A, 0x270B},
    Range{0x2728, 0x2728},   Range{0x274C, 0x274C},   Range{0x274E, 0x274E},   Range{0x2753, 0x2755},
    Range{0x2757, 0x2757},   Range{0x2795, 0x2797},   Range{0x27B0, 0x27B0},   Range{0x27BF, 0x27BF},
    Range{0x2B1B, 0x2B1C},   Range{0x2B50, 0x2B50},   Range{0x2B55, 0x2B55},   Range{0x2E80, 0x303E},
    Range{0x3041, 0x33FF},   Range{0x3400, 0x4DBF},   Range{0x4E00, 0x9FFF},   Range{0xA000, 0xA4CF},
    Range{0xAC00, 0xD7A3},   Range{0xF900, 0xFAFF},   Range{0xFE30, 0xFE6F},   Range{0xFF00, 0xFF60},
    Range{0xFFE0, 0xFFE6},   Range{0x1F300, 0x1F64F}, Range{0x1F680, 0x1F6FF}, Range{0x1F7E0, 0x1F7EB},
    Range{0x1F900, 0x1F9FF}, Range{0x1FA70, 0x1FAFF}, Range{0x20000, 0x3FFFD}};

// No ink of their own, and some of them turn the reading direction of what follows.
constexpr std::array invisible{Range{0x00AD, 0x00AD},   Range{0x034F, 0x034F},  Range{0x061C, 0x061C},
                               Range{0x070F, 0x070F},   Range{0x115F, 0x1160},  Range{0x17B4, 0x17B5},
                               Range{0x180E, 0x180E},   Range{0x200B, 0x200F},  Range{0x2028, 0x202E},
                               Range{0x2060, 0x206F},   Range{0x3164, 0x3164},  Range{0xFEFF, 0xFEFF},
                               Range{0xFFA0, 0xFFA0},   Range{0xFFF9, 0xFFFB},  Range{0x1BCA0, 0x1BCA3},
                               Range{0x1D173, 0x1D17A}, Range{0xE0000, 0xE0FFF}};

/// Codes that stand for nothing, ever. XML forbids U+FFFE and U+FFFF, so that a picture with one could not be read.
bool is_no_character(char32_t code) { return (code & 0xFFFE) == 0xFFFE || (0xFDD0 <= code && code <= 0xFDEF); }

std::string hex(std::uint32_t value, int digits) {
  std::string text;
  for (int shift = 4 * (digits - 1); shift >= 0; shift -= 4) text += "0123456789abcdef"[(value >> shift) & 15u];
  return text;
}

}  // namespace

Character first_character(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(0);
  if (lead < 0x80) return {lead, 1};
  const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (lead < 0xC2 || lead > 0xF4 || text.size() < length) return {0xFFFD, 1};
  char32_t code = lead & (0xFFu >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0) != 0x80) return {0xFFFD, 1};
    code = (code << 6) | (byte(i) & 0x3Fu);
  }
  const char32_t least = length == 2 ? 0x80 : length == 3 ? 0x800 : 0x10000;
  if (code < least || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) return {0xFFFD, 1};
  return {code, length};
}

std::size_t display_width(std::string_view text) {
  std::size_t width = 0;
  while (!text.empty()) {
    const auto [code, bytes] = first_character(text);
    if (code >= 0x80)
      width += in(combining, code) ? 0 : in(wide, code) ? 2 : 1;
    else
      width += 1;
    text.remove_prefix(bytes);
  }
  return width;
}

bool is_printable(char32_t code) {
  if (code < 0x7F) return code >= 0x20;
  return code >= 0xA0 && !in(invisible, code) && !is_no_character(code);
}

std::string printable(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const auto [code, bytes] = first_character(text);
    if (code == '\n')
      out += "\\n";
    else if (code == '\t')
      out += "\\t";
    else if (code == '\r')
      out += "\\r";
    else if (code < 0x20 || code == 0x7F)
      out += "\\x" + hex(code, 2);
    else if (code == 0xFFFD && bytes == 1)
      out += "\\x" + hex(static_cast<unsigned char>(text[0]), 2);
    else if (!is_printable(code))
      out += "\\u" + hex(code, code > 0xFFFF ? 6 : 4);
    else
      out.append(text.substr(0, bytes));
    text.remove_prefix(bytes);
  }
  return out;
}

std::string shown_name(std::string_view name) {
  std::string text = printable(name);
  const bool formula = !text.empty() && std::string_view{"=+-@"}.find(text.front()) != std::string_view::npos;
  if (text.empty() || formula || text.front() == ' ' || text.back() == ' ') return "“" + text + "”";
  return text;
}

}  // namespace shotassay::document
