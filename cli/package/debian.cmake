# cpack -G DEB makes two packages: shotassay, the program, and libshotassay-dev, for programs that use the library.
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME shotassay)
set(CPACK_PACKAGE_VERSION "${PROJECT_VERSION}")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_COMPONENTS_ALL program development)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS
  OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)

# Else both packages would begin with the description of the project.
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "")

set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_COMPRESSION_TYPE xz)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
# Nobody in particular; the same stands in the changelog.
set(CPACK_DEBIAN_PACKAGE_MAINTAINER "Shotassay maintainers <maintainers@shotassay.invalid>")

set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME shotassay)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SHLIBDEPS ON)
set(CPACK_COMPONENT_PROGRAM_DESCRIPTION "what a handful of chronograph readings can and cannot say
For archers who shot a few arrows from each of two or more set-ups through a
chronograph that shows whole feet per second. The program says whether the
gap between the averages is more than shot scatter and display rounding, how
large it may be, and for which claim that holds; before anybody shoots, how
many shots it takes.

It also audits published figures, takes measured quantities apart, and makes
a lesson about luck for a class.")

set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_NAME libshotassay-dev)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SECTION libdevel)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SUGGESTS "g++, cmake, pkgconf")
set(CPACK_COMPONENT_DEVELOPMENT_DESCRIPTION "what chronograph readings can and cannot say (C++ library)
Methods for a handful of readings that a display has rounded: ranges for
averages and gaps, planning, audits of published figures, uncertainty
budgets.

This package has the headers, the static library, and the files by which
CMake and pkg-config find them. It asks for a C++20 compiler and nothing else.")
include(CPack)
