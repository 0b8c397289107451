#pragma once
#include <termios.h>

namespace shotassay::cli {

/// The terminal's keys, one at a time, while it lives; afterwards the terminal is as it was.
class Keyboard {
 public:
  Keyboard();
  ~Keyboard();
  Keyboard(const Keyboard&) = delete;
  Keyboard& operator=(const Keyboard&) = delete;

  /// The next key; false for q, for the end of input, and for the keys that interrupt.
  bool goes_on() const;

 private:
  termios before_{};
  bool changed_ = false;
};

/// Are both ends of the program a terminal?
bool at_a_terminal();

}  // namespace shotassay::cli
