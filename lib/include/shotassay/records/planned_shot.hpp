#pragma once
#include <cstdint>
#include <string>

namespace shotassay {

/// One shot of a test that is yet to be fired.
struct PlannedShot {
  std::int64_t order = 0;  ///< firing order over the whole test, from 1; warm-ups and check-standard shots count
  std::string setup{};     ///< name; that of the check standard for its shots
  std::string bow{};       ///< empty = one bow for the set-up
  std::string round{};     ///< block of shots fired under the same conditions
  std::string arrow{};     ///< empty = not numbered
  bool warm_up = false;    ///< declared beforehand, never analysed
  bool check_standard = false;
};

}  // namespace shotassay
