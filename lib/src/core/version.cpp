#include <shotassay/core/version.hpp>

namespace shotassay {

const char* version() { return SHOTASSAY_VERSION; }

}  // namespace shotassay
