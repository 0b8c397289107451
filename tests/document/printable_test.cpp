#include <doctest/doctest.h>

#include <random>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <shotassay/document/printable.hpp>

using namespace shotassay::document;

namespace {

/// UTF-8 of a code point, by the table of RFC 3629; surrogates and what lies above U+10FFFF too, for bad input.
std::string utf8(char32_t c) {
  const auto byte = [](char32_t x) { return static_cast<char>(static_cast<unsigned char>(x)); };
  if (c < 0x80) return {byte(c)};
  if (c < 0x800) return {byte(0xC0 | (c >> 6)), byte(0x80 | (c & 63))};
  if (c < 0x10000) return {byte(0xE0 | (c >> 12)), byte(0x80 | ((c >> 6) & 63)), byte(0x80 | (c & 63))};
  return {byte(0xF0 | (c >> 18)), byte(0x80 | ((c >> 12) & 63)), byte(0x80 | ((c >> 6) & 63)), byte(0x80 | (c & 63))};
}

std::string hex(unsigned value, int digits) {
  std::string text(static_cast<std::size_t>(digits), '0');
  for (auto at = text.rbegin(); at != text.rend(); ++at, value /= 16) *at = "0123456789abcdef"[value % 16];
  return text;
}

/// Every byte as \xNN: what is left of bytes that are not UTF-8.
std::string bytes_shown(std::string_view bytes) {
  std::string text;
  for (const char c : bytes) text += "\\x" + hex(static_cast<unsigned char>(c), 2);
  return text;
}

}  // namespace

TEST_CASE("printable: ordinary text in any script stays as it is") {
  for (const std::string text :
       {"", "14 strands", "Zwölf Stränge, größer", "弓と矢", "лук", "τόξο", "قوس", "🏹", "n\u0303 and a\u0308",
        "\u00a0", "“quoted” – 5 × 3 ≤ ½", "\ufffd", "\u2764\ufe0f", "~", "\\x1b"})
    CHECK(printable(text) == text);
  for (char32_t c = 0x20; c < 0x7F; ++c) CHECK(printable(utf8(c)) == utf8(c));
  for (char32_t c = 0xA0; c < 0x100; ++c)
    if (c != 0xAD) CHECK(printable(utf8(c)) == utf8(c));
}

TEST_CASE("printable: every control character becomes a visible escape") {
  for (unsigned c = 0; c < 0x20; ++c) {
    const std::string shown = c == '\n' ? "\\n" : c == '\t' ? "\\t" : c == '\r' ? "\\r" : "\\x" + hex(c, 2);
    CHECK(printable(utf8(c)) == shown);
  }
  CHECK(printable("\x7f") == "\\x7f");
  for (unsigned c = 0x80; c < 0xA0; ++c) CHECK(printable(utf8(c)) == "\\u" + hex(c, 4));
  CHECK(printable("\x1b[31mred\x1b[0m") == "\\x1b[31mred\\x1b[0m");
  CHECK(printable(std::string_view{"a\0b", 3}) == "a\\x00b");
}

TEST_CASE("printable: marks without ink and marks that turn the reading direction become visible escapes") {
  std::vector<unsigned> marks{0x00AD, 0x061C, 0x115F, 0x1160, 0x180E, 0x3164, 0xFEFF, 0xFFF9, 0xFFFA, 0xFFFB};
  for (unsigned c = 0x200B; c <= 0x200F; ++c) marks.push_back(c);  // zero width, left-to-right and right-to-left marks
  for (unsigned c = 0x2028; c <= 0x202E; ++c) marks.push_back(c);  // line and paragraph separators, embeddings
  for (unsigned c = 0x2060; c <= 0x206F; ++c) marks.push_back(c);  // word joiner, invisible operators, isolates
  for (const unsigned c : marks) {
    CAPTURE(c);
    CHECK(printable("a" + utf8(c) + "b") == "a\\u" + hex(c, 4) + "b");
  }
  for (const unsigned c : {0xE0000u, 0xE0001u, 0xE0020u, 0xE007Fu, 0xE0100u, 0xE01EFu})
    CHECK(printable(utf8(c)) == "\\u" + hex(c, 6));
}

TEST_CASE("printable: bytes that are not UTF-8 are shown one by one") {
  // RFC 3629 §3: bare continuation bytes, leads without theirs, overlong forms, surrogates, above U+10FFFF.
  const std::vector<std::string> bad{"\x80",
                                     "\xbf",
                                     "\xff",
                                     "\xfe",
                                     "\xc3",
                                     "\xe5\xbc",
                                     "\xf0\x9f\x8f",
                                     "\xc0\x80",
                                     "\xc0\xaf",
                                     "\xc1\xbf",
                                     "\xe0\x80\x80",
                                     "\xe0\x9f\xbf",
                                     "\xf0\x80\x80\x80",
                                     "\xf0\x8f\xbf\xbf",
                                     utf8(0xD800),
                                     utf8(0xDBFF),
                                     utf8(0xDC00),
                                     utf8(0xDFFF),
                                     utf8(0xD83C) + utf8(0xDFF9),
                                     "\xf4\x90\x80\x80",
                                     "\xf5\x80\x80\x80",
                                     "\xf8\x88\x80\x80\x80",
                                     "\xe4\xe4\xe4"};
  for (const auto& text : bad) CHECK(printable(text) == bytes_shown(text));
  CHECK(printable("gr\xf6\xdf"
                  "er") == "gr\\xf6\\xdfer");  // Latin-1
  CHECK(printable("\xc3"
                  "a") ==
        "\\xc3"
        "a");  // what follows a broken lead is kept
  CHECK(printable("\xe5\xbc\xc3\xa4") == "\\xe5\\xbcä");
  CHECK(printable("\xf4\x8f\xbf\xbd") == "\xf4\x8f\xbf\xbd");  // U+10FFFD is the last but two
}

TEST_CASE("printable: marks that nobody sees, wherever Unicode keeps them, are seen") {
  // Default_Ignorable_Code_Point and the formats of General_Category Cf that have no ink, from Unicode's tables.
  CHECK(printable("a\u034fb\u061cc\u070fd\u17b4e\u180ef\u3164g\uffa0h") ==
        "a\\u034fb\\u061cc\\u070fd\\u17b4e\\u180ef\\u3164g\\uffa0h");
  CHECK(printable("\U0001bca0\U0001d173\U000e0041") == "\\u01bca0\\u01d173\\u0e0041");
}

TEST_CASE("printable: codes that are no characters are escaped, for XML allows no U+FFFE and U+FFFF") {
  CHECK(printable("\uffff\ufffe\ufdd0\ufdef\U0001ffff\U0010fffe") == "\\uffff\\ufffe\\ufdd0\\ufdef\\u01ffff\\u10fffe");
  CHECK(printable("\ufffd\ufdcf\ufdf0") == "\ufffd\ufdcf\ufdf0");  // their neighbours
}

TEST_CASE("printable: whatever the bytes, the result is UTF-8 without control or invisible characters") {
  std::mt19937_64 random{1};
  for (int i = 0; i < 20'000; ++i) {
    std::string text;
    for (std::size_t n = random() % 12; n > 0; --n)
      text += i % 2 == 0 ? std::string(1, static_cast<char>(random() % 256))
                         : utf8(static_cast<char32_t>(random() % (i % 3 == 0 ? 0x110000u : 0x2100u)));
    const std::string shown = printable(text);
    CHECK(printable(shown) == shown);
    std::string_view rest = shown;
    while (!rest.empty()) {
      const Character c = first_character(rest);
      if (c.code == 0xFFFD) REQUIRE(c.bytes == 3);
      REQUIRE(c.code >= 0x20);
      REQUIRE(!(c.code >= 0x7F && c.code < 0xA0));
      REQUIRE(!(c.code >= 0x202A && c.code <= 0x202E));
      REQUIRE(!(c.code >= 0x2066 && c.code <= 0x2069));
      rest.remove_prefix(c.bytes);
    }
  }
}

TEST_CASE("first_character: every code point is read back, with the bytes it takes") {
  for (char32_t c = 1; c <= 0x10FFFF; c += c < 0x3000 ? 1 : 97) {
    if (c >= 0xD800 && c <= 0xDFFF) continue;
    const Character read = first_character(utf8(c) + "x");
    REQUIRE(read.code == c);
    REQUIRE(read.bytes == utf8(c).size());
  }
  for (const char32_t c : {0x7Fu, 0x80u, 0x7FFu, 0x800u, 0xFFFFu, 0x10000u, 0x10FFFFu}) {
    CHECK(first_character(utf8(c)).code == c);
    CHECK(first_character(utf8(c)).bytes == utf8(c).size());
  }
}

TEST_CASE("display_width: letters take one column, combining marks none, wide characters and emoji two") {
  CHECK(display_width("") == 0);
  CHECK(display_width("14 strands") == 10);
  CHECK(display_width("Stränge") == 7);
  CHECK(display_width("a\u0308") == 1);
  CHECK(display_width("弓と矢") == 6);
  CHECK(display_width("한국") == 4);
  CHECK(display_width("Ａ") == 2);    // U+FF21, full width
  CHECK(display_width("ｱ") == 1);     // U+FF71, half width
  CHECK(display_width("🏹") == 2);  // U+1F3F9
  CHECK(display_width("𠮷") == 2);    // U+20BB7
  CHECK(display_width("─●┼├┤┴│−±≤") == 10);
  CHECK(display_width("\xff\xfe") == 2);
  // Wide by Unicode's EastAsianWidth.txt, among signs of one column.
  CHECK(display_width("⌚⏰⚡✅❌⭐⬛") == 14);
  CHECK(display_width("☀✓★■") == 4);
  CHECK(display_width("🟢🪶🇦") == 5);  // U+1F7E2 and U+1FAB6 wide, U+1F1E6 not
}

TEST_CASE("shown_name: a name that a spreadsheet would take for a formula stands in quotation marks") {
  for (const std::string start : {"=", "+", "-", "@"}) {
    CHECK(shown_name(start + "1+2") == "“" + start + "1+2”");
    CHECK(shown_name("a" + start) == "a" + start);
    CHECK(shown_name(start) == "“" + start + "”");
  }
  CHECK(shown_name("−1") == "−1");  // a minus sign is no formula
}

TEST_CASE("shown_name: blanks at the ends and an empty name are seen") {
  CHECK(shown_name("") == "“”");
  CHECK(shown_name(" ") == "“ ”");
  CHECK(shown_name(" A") == "“ A”");
  CHECK(shown_name("A ") == "“A ”");
  CHECK(shown_name("A B") == "A B");
  CHECK(shown_name("14 strands") == "14 strands");
}

TEST_CASE("shown_name: what is dangerous in a name is escaped, at its start too") {
  CHECK(shown_name("A\x1b[2J") == "A\\x1b[2J");
  CHECK(shown_name("\t=1") == "\\t=1");
  CHECK(shown_name("\u202eevil") == "\\u202eevil");
  CHECK(shown_name("=\x07") == "“=\\x07”");
}
