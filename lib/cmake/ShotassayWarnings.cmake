# Warnings are errors for us and private to us: whoever links the library inherits none of these flags.
function(shotassay_own_target target)
  target_compile_options(${target} PRIVATE -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wnon-virtual-dtor -Werror)
  # GCC 12's false alarms: an overlap in std::string's own insert (its bug 105651), a std::variant of strings that is
  # destroyed before it is set. Clang, which sees neither, builds everything too.
  target_compile_options(${target} PRIVATE "$<$<CXX_COMPILER_ID:GNU>:-Wno-restrict;-Wno-maybe-uninitialized>")
  # One result on every machine: no fused multiply-add behind our back.
  target_compile_options(${target} PRIVATE -ffp-contract=off)
  if(SHOTASSAY_FUZZ)
    target_compile_options(${target} PRIVATE -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all)
    target_link_options(${target} PRIVATE -fsanitize=address,undefined)
  endif()
  if(SHOTASSAY_SANITIZE)
    target_compile_options(${target} PRIVATE -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
    target_link_options(${target} PRIVATE -fsanitize=address,undefined)
  endif()
endfunction()
