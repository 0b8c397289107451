#pragma once
#include <stdexcept>
#include <string>

namespace shotassay {

/// The caller's mistake: an argument outside what a function's `Requires` states.
class DomainError : public std::domain_error {
 public:
  using std::domain_error::domain_error;
};

/// The question is well put and has no answer with these data (one shot, both variances zero).
class NoAnswer : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

}  // namespace shotassay
