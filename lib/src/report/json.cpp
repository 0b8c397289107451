#include <charconv>
#include <nlohmann/json.hpp>
#include <shotassay/report/json.hpp>

namespace shotassay::report {

namespace {

using document::Data;

void write(const Data& data, int depth, std::string& out);

std::string quoted(const std::string& text) {
  // The library escapes; bytes that are not UTF-8 become U+FFFD instead of an exception.
  return nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

/// Items between brackets, one a line; `item` writes the i-th.
template <typename Item>
void write_lines(char open, char close, std::size_t count, int depth, std::string& out, Item item) {
  out += open;
  for (std::size_t i = 0; i < count; ++i) {
    out += i == 0 ? "\n" : ",\n";
    out.append(static_cast<std::size_t>(2 * depth + 2), ' ');
    item(i);
  }
  if (count > 0) {
    out += '\n';
    out.append(static_cast<std::size_t>(2 * depth), ' ');
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
