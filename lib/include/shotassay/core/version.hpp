#pragma once

namespace shotassay {

/// Version of the library that runs, as in CMakeLists.txt: "0.1.0".
const char* version();

}  // namespace shotassay
