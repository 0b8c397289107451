#include <charconv>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <shotassay/document/printable.hpp>
#include <shotassay/document/printable_character.hpp>
#include <shotassay/report/json.hpp>
#include <string_view>

namespace shotassay::report {

namespace {

using document::Data;

void write(const Data& data, int depth, std::string& out);

void append_escaped(char32_t code, std::string& out) {
  const auto unit = [&](std::uint32_t u) {
    out += "\\u";
    for (const int shift : {12, 8, 4, 0}) out += "0123456789abcdef"[(u >> shift) & 15u];
  };
  if (code > 0xFFFF) unit(0xD800 + ((code - 0x10000) >> 10));
  unit(code > 0xFFFF ? 0xDC00 + ((code - 0x10000) & 0x3FFu) : code);
}

std::string quoted(const std::string& text) {
  // The library escapes; bytes that are not UTF-8 become U+FFFD instead of an exception.
  const std::string plain = nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  // What a terminal would obey, or not show, is escaped too: the text that is read from it stays the same.
  std::string out;
  for (std::string_view rest = plain; !rest.empty();) {
    const auto [code, bytes] = document::first_character(rest);
    if (document::is_printable(code))
      out += rest.substr(0, bytes);
    else
      append_escaped(code, out);
    rest.remove_prefix(bytes);
  }
  return out;
}

/// Items between brackets, one a line; `item` writes the i-th.
template <typename Item>
void write_lines(char open, char close, std::size_t count, int depth, std::string& out, Item item) {
  const std::size_t indent = 2 * static_cast<std::size_t>(depth);
  out += open;
  for (std::size_t i = 0; i < count; ++i) {
    out += i == 0 ? "\n" : ",\n";
    out.append(indent + 2, ' ');
    item(i);
  }
  if (count > 0) {
    out += '\n';
    out.append(indent, ' ');
  }
  out += close;
}

struct Writer {
  int depth;
  std::string& out;

  void operator()(std::monostate) const { out += "null"; }
  void operator()(bool b) const { out += b ? "true" : "false"; }
  void operator()(const std::string& s) const { out += quoted(s); }
  void operator()(std::int64_t n) const { number(n); }
  void operator()(double x) const { number(x); }
  void operator()(const Data::List& list) const {
    write_lines('[', ']', list.size(), depth, out, [&](std::size_t i) { write(list[i], depth + 1, out); });
  }
  void operator()(const Data::Object& object) const {
    write_lines('{', '}', object.size(), depth, out, [&](std::size_t i) {
      out += quoted(object[i].first) + ": ";
      write(object[i].second, depth + 1, out);
    });
  }

 private:
  template <typename Number>
  void number(Number x) const {
    char buffer[64];
    out.append(buffer, std::to_chars(buffer, buffer + sizeof buffer, x).ptr);
  }
};

void write(const Data& data, int depth, std::string& out) { std::visit(Writer{depth, out}, data.value()); }

}  // namespace

std::string render_json(const Data& data) {
  std::string out;
  write(data, 0, out);
  out += '\n';
  return out;
}

}  // namespace shotassay::report
