#pragma once
#include <cmath>

#include <shotassay/core/wide_integer.hpp>

namespace shotassay {

/// a·d − b·c of whole numbers, as the double nearest to it.
///
/// Requires  each of size below 2^127.
/// Accuracy  correctly rounded: both products and their difference are held in 256 bits, so nearly equal products lose
///           no digit.
inline double determinant(WideInteger a, WideInteger b, WideInteger c, WideInteger d) {
  __extension__ using Wide = unsigned __int128;
  struct Product {
    Wide high, low;
  };
  constexpr Wide half = (Wide{1} << 64) - 1;
  const auto negated = [](Product p) { return Product{~p.high + (p.low == 0 ? 1 : 0), Wide{0} - p.low}; };
  const auto size = [](WideInteger x) { return x < 0 ? Wide{0} - static_cast<Wide>(x) : static_cast<Wide>(x); };
  const auto product = [&](WideInteger p, WideInteger q) {
    const Wide x = size(p), y = size(q);
    const Wide low = (x & half) * (y & half), one = (x >> 64) * (y & half), other = (x & half) * (y >> 64);
    const Wide middle = (low >> 64) + (one & half) + (other & half);
    const Product magnitude{(x >> 64) * (y >> 64) + (one >> 64) + (other >> 64) + (middle >> 64),
                            (middle << 64) | (low & half)};
    return (p < 0) != (q < 0) ? negated(magnitude) : magnitude;
  };
  const Product left = product(a, d), right = negated(product(b, c));
  Product sum{left.high + right.high, left.low + right.low};
  if (sum.low < left.low) ++sum.high;
  const bool negative = (sum.high >> 127) != 0;
  if (negative) sum = negated(sum);
  int exponent = 0;
  if (sum.high == 0) {
    sum.high = sum.low;
  } else {
    exponent = 128;
    for (; (sum.high >> 127) == 0; --exponent) {
      sum.high = (sum.high << 1) | (sum.low >> 127);
      sum.low <<= 1;
    }
    if (sum.low != 0) sum.high |= 1;  // far below the last bit of a double: it only breaks a tie
  }
  const double value = std::ldexp(static_cast<double>(sum.high), exponent);
  return negative ? -value : value;
}

}  // namespace shotassay
