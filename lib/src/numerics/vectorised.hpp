#pragma once

/// Before a function whose loops a compiler turns into vector instructions: it is compiled twice, the second time for
/// processors with AVX2, and the right form is chosen when the program is loaded. Both give the same bits as long as
/// the function is made of whole numbers, +, −, ×, ÷ and √: AVX2 brings wider registers, and no multiplication fused
/// with an addition. Elsewhere, and under sanitizers, whose start comes after that choice, there is one form.
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && defined(__gnu_linux__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define SHOTASSAY_VECTORISED [[gnu::target_clones("default", "avx2")]]
#else
#define SHOTASSAY_VECTORISED
#endif
