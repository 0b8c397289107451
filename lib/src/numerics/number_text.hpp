#pragma once
#include <charconv>
#include <string>

namespace shotassay::numerics {

/// Shortest text that reads back as x, for messages.
inline std::string number_text(double x) {
  char text[32];
  return {text, std::to_chars(text, text + sizeof text, x).ptr};
}

}  // namespace shotassay::numerics
