#pragma once

// clang++ does not read that header as strict C++.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && __has_include(<sys/platform/x86.h>)
#include <sys/platform/x86.h>
#define SHOTASSAY_HAS_AVX2_FORM 1
#else
#define SHOTASSAY_HAS_AVX2_FORM 0
#endif

namespace shotassay::numerics {

#if SHOTASSAY_HAS_AVX2_FORM
template <class Work>
[[gnu::target("avx2")]] void in_avx2_form(const Work& work) {
  work();
}
#endif

/// Does a piece of work that is made of loops, in the form for processors with AVX2 where there is one: a compiler
/// turns the loops into wider vector instructions. Both forms give the same bits as long as the work is made of whole
/// numbers,
/// +, −, ×, ÷ and √: AVX2 brings no multiplication fused with an addition.
///
/// Requires  `work` and what it calls to be inlined always (`[&]() __attribute__((always_inline)) {...}`), else they
///           stay as they are. Which processor it is the C library knows: asking that itself would cost each start of a
///           program some microseconds.
template <class Work>
void vectorised(const Work& work) {
#if SHOTASSAY_HAS_AVX2_FORM
  if (CPU_FEATURE_ACTIVE(AVX2)) return in_avx2_form(work);
#endif
  work();
}

}  // namespace shotassay::numerics
