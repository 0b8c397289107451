# Warnings are errors for us and private to us: whoever links the library inherits none of these flags.
function(shotassay_own_target target)
  target_compile_options(${target} PRIVATE -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wnon-virtual-dtor -Werror)
  # GCC 12 sees an overlap in std::string's own insert where there is none (its bug 105651).
  target_compile_options(${target} PRIVATE "$<$<CXX_COMPILER_ID:GNU>:-Wno-restrict>")
  # One result on every machine: no fused multiply-add behind our back.
  target_compile_options(${target} PRIVATE -ffp-contract=off)
  if(SHOTASSAY_SANITIZE)
    target_compile_options(${target} PRIVATE -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
    target_link_options(${target} PRIVATE -fsanitize=address,undefined)
  endif()
endfunction()
