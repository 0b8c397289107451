#define FMT_HEADER_ONLY  // the library is used, not linked
#include "formatted.hpp"

#include <fmt/format.h>

namespace shotassay::detail {

std::string formatted(fmt::string_view text, fmt::format_args values) { return fmt::vformat(text, values); }

}  // namespace shotassay::detail
