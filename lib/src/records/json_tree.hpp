#pragma once
#include <cstddef>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "findings.hpp"

/// JSON text as a tree that knows where each value stands and how each number was written.
namespace shotassay {

struct JsonValue {
  struct Null {};
  struct Number {
    double value;
    std::string text;  ///< as written
  };
  using List = std::vector<JsonValue>;
  using Object = std::vector<std::pair<std::string, JsonValue>>;  ///< in file order, no key twice

  std::variant<Null, bool, Number, std::string, List, Object> value{};
  std::size_t line = 0;
  std::string pointer{};  ///< RFC 6901: /inputs/0/u; empty = the whole text

  template <class Kind>
  const Kind* as() const {
    return std::get_if<Kind>(&value);
  }

  /// The value as it is shown in a message: a text or number as written, else "a list", "an object", "null".
  std::string shown_text() const;

  /// The member of an object; null when it has none of this name.
  const JsonValue* member(std::string_view key) const;
};

/// The tree of a JSON text. Reports what is no JSON, nested deeper than anything asked for, or named twice; the value
/// is then what could be read before it.
JsonValue read_json(std::string_view text, Findings& findings);

}  // namespace shotassay
