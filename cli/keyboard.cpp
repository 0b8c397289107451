#include "keyboard.hpp"

#include <unistd.h>

#include <cerrno>

namespace shotassay::cli {

Keyboard::Keyboard() {
  if (::tcgetattr(STDIN_FILENO, &before_) != 0) return;
  termios now = before_;
  // Interrupts come as keys, so that the terminal is never left as it is here.
  now.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO | ISIG);
  now.c_cc[VMIN] = 1;
  now.c_cc[VTIME] = 0;
  changed_ = ::tcsetattr(STDIN_FILENO, TCSANOW, &now) == 0;
}

Keyboard::~Keyboard() {
  if (changed_) ::tcsetattr(STDIN_FILENO, TCSANOW, &before_);
}

bool Keyboard::goes_on() const {
  constexpr char interrupt = 3, end_of_input = 4, quit = 28;
  char keys[16];  // an arrow key is several characters
  ssize_t got = 0;
  do got = ::read(STDIN_FILENO, keys, sizeof keys);
  while (got < 0 && errno == EINTR);
  if (got <= 0) return false;
  const char key = keys[0];
  return key != 'q' && key != 'Q' && key != interrupt && key != end_of_input && key != quit;
}

bool at_a_terminal() { return ::isatty(STDIN_FILENO) != 0 && ::isatty(STDOUT_FILENO) != 0; }

}  // namespace shotassay::cli
