#include "json_tree.hpp"

#include <algorithm>
#include <iterator>
#include <nlohmann/json.hpp>
#include <shotassay/records/csv.hpp>
#include <unordered_map>

namespace shotassay {

namespace {

constexpr std::size_t deepest = 16;

/// How far the parser has read.
struct Progress {
  std::size_t line = 1;
  char last = ' ';
};

/// Reads the text for the parser and counts its lines.
class Reader {
 public:
  using iterator_category = std::input_iterator_tag;
  using value_type = char;
  using difference_type = std::ptrdiff_t;
  using pointer = const char*;
  using reference = const char&;

  Reader(const char* at, Progress* progress) : at_{at}, progress_{progress} {}

  reference operator*() const { return *at_; }
  Reader& operator++() {
    if (progress_ != nullptr) {
      progress_->last = *at_;
      if (*at_ == '\n') ++progress_->line;
    }
    ++at_;
    return *this;
  }
  bool operator==(const Reader& other) const { return at_ == other.at_; }
  bool operator!=(const Reader& other) const { return at_ != other.at_; }

 private:
  const char* at_;
  Progress* progress_;
};

std::string escaped(const std::string& key) {
  std::string out;
  for (const char c : key) out += c == '~' ? "~0" : c == '/' ? "~1" : std::string{c};
  return out;
}

/// Line and character of a byte.
std::pair<std::size_t, std::size_t> place_of(std::string_view text, std::size_t byte) {
  const std::string_view before = text.substr(0, std::min(byte, text.size()));
  const auto line_start = before.rfind('\n');
  const std::string_view in_line = line_start == std::string_view::npos ? before : before.substr(line_start + 1);
  const auto characters = std::count_if(in_line.begin(), in_line.end(),
                                        [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; });
  return {1 + static_cast<std::size_t>(std::count(before.begin(), before.end(), '\n')),
          1 + static_cast<std::size_t>(characters)};
}

class Builder {
 public:
  using number_integer_t = nlohmann::json::number_integer_t;
  using number_unsigned_t = nlohmann::json::number_unsigned_t;
  using number_float_t = nlohmann::json::number_float_t;
  using string_t = nlohmann::json::string_t;
  using binary_t = nlohmann::json::binary_t;

  Builder(std::string_view text, const Progress& progress, Findings& findings)
      : text_{text}, progress_{progress}, findings_{findings} {}

  JsonValue root{};

  bool null() { return add(JsonValue::Null{}); }
  bool boolean(bool b) { return add(b); }
  bool number_integer(number_integer_t n) { return number(static_cast<double>(n), std::to_string(n)); }
  bool number_unsigned(number_unsigned_t n) { return number(static_cast<double>(n), std::to_string(n)); }
  bool number_float(number_float_t x, const string_t& text) { return number(x, text); }
  bool string(string_t& s) { return add(s); }
  bool binary(binary_t&) { return false; }
  bool start_object(std::size_t) { return open(JsonValue::Object{}); }
  bool start_array(std::size_t) { return open(JsonValue::List{}); }
  bool end_object() { return close(); }
  bool end_array() { return close(); }

  bool key(string_t& key) {
    key_line_ = progress_.line;
    const auto [first, is_new] = lines_of_keys_.back().try_emplace(key, key_line_);
    key_ = {key, !is_new};
    if (!is_new)
      findings_.report(key_line_, nowhere, open_.back().pointer + "/" + escaped(key), {},
                       "stands here a second time; the first is in line " + std::to_string(first->second));
    return true;
  }

  bool parse_error(std::size_t byte, const std::string&, const nlohmann::json::exception&) {
    const auto part_of_a_word = [](char c) {
      return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '.' || c == '-' ||
             c == '+';
    };
    // The parser names the character it stopped at; the word around it is what a reader looks for.
    std::size_t from = byte > 0 ? byte - 1 : 0;
    const bool ended = text_.find_first_not_of(" \t\r\n", from) == std::string_view::npos;
    // A number that breaks off, as 1. or 2e, is at fault itself, not what comes behind it.
    if (!ended && from > 0 && !part_of_a_word(text_[from]) && std::string_view{".-+eE"}.find(text_[from - 1]) < 5)
      --from;
    while (!ended && from > 0 && part_of_a_word(text_[from]) && part_of_a_word(text_[from - 1])) --from;
    std::size_t to = from + 1;
    while (to < text_.size() && part_of_a_word(text_[from]) && part_of_a_word(text_[to])) ++to;
    const auto [line, character] = place_of(text_, from);
    findings_.report(line, nowhere, "column " + std::to_string(character), ended ? "" : text_.substr(from, to - from),
                     ended
                         ? "the file ends before its JSON does: a bracket or quotation mark is not closed"
                         : "is no JSON: a comma, a bracket or a quotation mark is missing or too many near here, or a "
                           "number is not written as one");
    return false;
  }

 private:
  /// Under which a value goes into its parent.
  struct Key {
    std::string text;
    bool again = false;  ///< the parent has it already
  };

  bool number(double x, const std::string& text) { return add(JsonValue::Number{x, text}); }

  /// The parser reads one character beyond a number; a text or bracket never ends in a line end.
  std::size_t line() const { return progress_.line - (progress_.last == '\n' ? 1 : 0); }

  template <class Value>
  JsonValue made(Value value) const {
    JsonValue v{.value = std::move(value), .line = line(), .pointer = {}};
    if (open_.empty()) return v;
    const JsonValue& parent = open_.back();
    if (const auto* list = parent.template as<JsonValue::List>()) {
      v.pointer = parent.pointer + "/" + std::to_string(list->size());
    } else {
      v.pointer = parent.pointer + "/" + escaped(key_.text);
      v.line = key_line_;
    }
    return v;
  }

  void put(JsonValue v, const Key& key) {
    if (open_.empty()) {
      root = std::move(v);
      return;
    }
    JsonValue& parent = open_.back();
    if (auto* list = std::get_if<JsonValue::List>(&parent.value)) {
      list->push_back(std::move(v));
      return;
    }
    auto& members = std::get<JsonValue::Object>(parent.value);
    if (!key.again) members.emplace_back(key.text, std::move(v));
  }

  template <class Value>
  bool add(Value value) {
    put(made(std::move(value)), key_);
    return true;
  }

  template <class Value>
  bool open(Value value) {
    JsonValue v = made(std::move(value));
    if (open_.size() == deepest) {
      findings_.report(v.line, nowhere, v.pointer, {}, "is nested too deep: nothing here goes so far");
      return false;
    }
    keys_.push_back(key_);
    lines_of_keys_.emplace_back();
    open_.push_back(std::move(v));
    return true;
  }

  bool close() {
    JsonValue v = std::move(open_.back());
    open_.pop_back();
    const Key key = keys_.back();
    keys_.pop_back();
    lines_of_keys_.pop_back();
    put(std::move(v), key);
    return true;
  }

  std::string_view text_;
  const Progress& progress_;
  Findings& findings_;
  std::vector<JsonValue> open_;
  std::vector<Key> keys_;  ///< of the open values
  std::vector<std::unordered_map<std::string, std::size_t>> lines_of_keys_;
  Key key_;
  std::size_t key_line_ = 0;
};

}  // namespace

std::string JsonValue::shown_text() const {
  struct Text {
    std::string operator()(Null) const { return "null"; }
    std::string operator()(bool b) const { return b ? "true" : "false"; }
    std::string operator()(const Number& n) const { return n.text; }
    std::string operator()(const std::string& s) const { return s; }
    std::string operator()(const List&) const { return "a list"; }
    std::string operator()(const Object&) const { return "an object"; }
  };
  return std::visit(Text{}, value);
}

const JsonValue* JsonValue::member(std::string_view key) const {
  const auto* members = as<Object>();
  if (members == nullptr) return nullptr;
  const auto found = std::find_if(members->begin(), members->end(), [&](const auto& m) { return m.first == key; });
  return found == members->end() ? nullptr : &found->second;
}

JsonValue read_json(std::string_view text, Findings& findings) {
  if (const auto at = first_not_text(text)) {
    findings.report(place_of(text, *at).first, nowhere, {}, {}, "is not text in UTF-8: a budget is a JSON file",
                    ProblemKind::not_text);
    return {};
  }
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos) {
    findings.report(0, nowhere, {}, {}, "the file is empty", ProblemKind::empty_file);
    return {};
  }
  Progress progress;
  Builder builder{text, progress, findings};
  nlohmann::json::sax_parse(Reader{text.data(), &progress}, Reader{text.data() + text.size(), nullptr}, &builder);
  return std::move(builder.root);
}

}  // namespace shotassay
