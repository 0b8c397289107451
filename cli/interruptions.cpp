#include "interruptions.hpp"

namespace shotassay::cli {

namespace {

volatile std::sig_atomic_t interrupted_by = 0;

}  // namespace

Interruptions::Interruptions() {
  interrupted_by = 0;
  struct sigaction note {};
  note.sa_handler = [](int signal) { interrupted_by = signal; };  // and no restart: a read that waits comes back
  for (Kept& kept : kept_) {
    ::sigaction(kept.signal, nullptr, &kept.before);
    if (kept.before.sa_handler != SIG_IGN) ::sigaction(kept.signal, &note, nullptr);
  }
}

Interruptions::~Interruptions() {
  for (const Kept& kept : kept_) ::sigaction(kept.signal, &kept.before, nullptr);
  if (interrupted_by != 0) std::raise(interrupted_by);
}

bool Interruptions::noted() { return interrupted_by != 0; }

}  // namespace shotassay::cli
