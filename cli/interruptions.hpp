#pragma once
#include <csignal>

#include <array>

namespace shotassay::cli {

/// While it lives, an interruption (SIGINT, SIGTERM, SIGHUP) is only noted, so that drafts can be cleared away first;
/// at its end the program is ended by it after all. What the caller chose to ignore stays ignored.
class Interruptions {
 public:
  Interruptions();
  ~Interruptions();
  Interruptions(const Interruptions&) = delete;
  Interruptions& operator=(const Interruptions&) = delete;

  /// Has one been noted? Then nothing more is begun.
  static bool noted();

 private:
  struct Kept {
    int signal;
    struct sigaction before;
  };
  std::array<Kept, 3> kept_{{{SIGINT, {}}, {SIGTERM, {}}, {SIGHUP, {}}}};
};

}  // namespace shotassay::cli
