#pragma once
#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <unordered_map>

#include "spelling.hpp"

namespace shotassay {

/// Names of one kind, each known by every writing met so far.
class Names {
 public:
  struct Entry {
    std::uint32_t index;
    const std::string* clash = nullptr;  ///< how the name was written before, where this is a new writing of it
    std::size_t clash_line = 0;
  };

  /// The index of a name written so; `next` if it is new. A writing clashes once, when it is first met.
  Entry find_or_add(std::string_view written, std::size_t line, std::uint32_t next) {
    if (const auto known = by_writing_.find(written); known != by_writing_.end()) return {known->second};
    const auto [first, added] = by_name_.try_emplace(folded_name(written), First{std::string{written}, line, next});
    by_writing_.emplace(written, first->second.index);
    if (added) return {next};
    return {first->second.index, &first->second.written, first->second.line};
  }

 private:
  struct First {
    std::string written;
    std::size_t line;
    std::uint32_t index;
  };
  struct TextHash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>{}(text); }
  };
  template <class Value>
  using TextMap = std::unordered_map<std::string, Value, TextHash, std::equal_to<>>;

  TextMap<std::uint32_t> by_writing_;
  TextMap<First> by_name_;
};

}  // namespace shotassay
