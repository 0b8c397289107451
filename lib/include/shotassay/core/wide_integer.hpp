#pragma once
#include <cstdint>

namespace shotassay {

/// 128-bit whole numbers: a sum of squared display steps outgrows 64 bits long before it outgrows these.
__extension__ using WideInteger = __int128;

/// numerator / denominator, as the double nearest to it.
///
/// Requires  denominator > 0.
/// Accuracy  correctly rounded, ties to even: the quotient is taken to 66 bits or more, the last of them set when
///           anything is left over, before it is rounded to 53.
inline double ratio(WideInteger numerator, WideInteger denominator) {
  __extension__ using Wide = unsigned __int128;
  if (numerator == 0) return 0.0;
  const bool negative = numerator < 0;
  Wide remainder = negative ? Wide{0} - static_cast<Wide>(numerator) : static_cast<Wide>(numerator);
  const Wide divisor = static_cast<Wide>(denominator);
  Wide quotient = remainder / divisor;
  remainder %= divisor;
  int exponent = 0;
  // Long division, one binary digit at a time, until 66 digits are known: divisor < 2^127, so 2·remainder fits.
  while ((quotient >> 65) == 0) {
    remainder <<= 1;
    quotient <<= 1;
    if (remainder >= divisor) {
      remainder -= divisor;
      quotient |= 1;
    }
    --exponent;
  }
  if (remainder != 0) quotient |= 1;
  double value = static_cast<double>(quotient);
  for (; exponent < 0; ++exponent) value *= 0.5;
  return negative ? -value : value;
}

}  // namespace shotassay
