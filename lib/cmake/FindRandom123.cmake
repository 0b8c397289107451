# Random123 ships headers and no CMake file.
find_path(Random123_INCLUDE_DIR NAMES Random123/philox.h)
include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(Random123 REQUIRED_VARS Random123_INCLUDE_DIR)
if(Random123_FOUND AND NOT TARGET Random123::Random123)
  add_library(Random123::Random123 INTERFACE IMPORTED)
  target_include_directories(Random123::Random123 SYSTEM INTERFACE "${Random123_INCLUDE_DIR}")
endif()
mark_as_advanced(Random123_INCLUDE_DIR)
