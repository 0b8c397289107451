#pragma once
#include <string>

#include <shotassay/core/wide_integer.hpp>

namespace shotassay {

/// A count that never wraps: exact up to 2^127 − 2; anything larger stays at 2^127 − 1 and reads "at least".
class Tally {
 public:
  /// Requires  count ≥ 0.
  constexpr Tally(WideInteger count = 0) : count_{count} {}

  static constexpr WideInteger most() {
    __extension__ using Wide = unsigned __int128;
    return static_cast<WideInteger>(~Wide{0} >> 1);
  }

  constexpr WideInteger value() const { return count_; }
  constexpr bool at_least() const { return count_ == most(); }
  double approximately() const { return ratio(count_, 1); }

  constexpr Tally& operator+=(Tally other) {
    count_ = count_ > most() - other.count_ ? most() : count_ + other.count_;
    return *this;
  }
  friend constexpr Tally operator+(Tally a, Tally b) { return a += b; }
  friend constexpr Tally operator*(Tally a, Tally b) {
    if (((a.count_ | b.count_) >> 63) == 0) return a.count_ * b.count_;
    if (a.count_ == 0 || b.count_ == 0) return 0;
    return a.count_ > most() / b.count_ ? most() : a.count_ * b.count_;
  }
  friend constexpr bool operator==(Tally a, Tally b) { return a.count_ == b.count_; }

  /// The digits of value(), with nothing between them.
  std::string text() const {
    if (count_ == 0) return "0";
    std::string digits;
    for (WideInteger rest = count_; rest > 0; rest /= 10)
      digits.insert(digits.begin(), static_cast<char>('0' + static_cast<int>(rest % 10)));
    return digits;
  }

 private:
  WideInteger count_;
};

}  // namespace shotassay
