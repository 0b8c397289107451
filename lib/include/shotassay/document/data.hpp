#pragma once
#include <cstdint>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace shotassay::document {

/// A tree of named values for programs to read: what JSON can hold, in the order it was put in.
///
/// A number that is not finite has no place here: it becomes null, and the author adds a note.
class Data {
 public:
  using List = std::vector<Data>;
  using Object = std::vector<std::pair<std::string, Data>>;
  using Value = std::variant<std::monostate, bool, std::int64_t, double, std::string, List, Object>;

  Data() = default;  ///< null
  Data(bool b) : value_{b} {}
  Data(int n) : value_{std::int64_t{n}} {}
  Data(std::int64_t n) : value_{n} {}
  Data(std::size_t n) : value_{static_cast<std::int64_t>(n)} {}
  Data(double x);
  Data(const char* s) : value_{std::string{s}} {}
  Data(std::string s) : value_{std::move(s)} {}
  Data(List l) : value_{std::move(l)} {}
  Data(Object o) : value_{std::move(o)} {}

  const Value& value() const { return value_; }

 private:
  Value value_;
};

inline Data::Data(double x) {
  if (x - x == 0.0) value_ = x;
}

}  // namespace shotassay::document
