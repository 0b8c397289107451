#pragma once
#include <cstdint>
#include <string>
#include <string_view>

namespace shotassay {

/// What a plan writes into the column `excluded` of a warm-up.
inline constexpr std::string_view warm_up_reason = "warm-up, declared beforehand";

/// One shot of a test that is yet to be fired.
struct PlannedShot {
  std::int64_t order = 0;  ///< firing order over the whole test, from 1; warm-ups and check-standard shots count
  std::string setup{};     ///< name; that of the check standard for its shots
  std::string bow{};       ///< empty = one bow for the set-up
  std::string round{};     ///< block of shots fired under the same conditions
  std::string arrow{};     ///< empty = not numbered
  bool warm_up = false;    ///< declared beforehand, never analysed
  bool check_standard = false;
  bool set_up_anew = false;  ///< where a change is work: the set-up is made anew before this shot
};

}  // namespace shotassay
