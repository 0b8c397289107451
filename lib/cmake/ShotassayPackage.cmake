# find_package(shotassay) finds the same target in the build tree and in an installed prefix.
include(CMakePackageConfigHelpers)
include(GNUInstallDirs)
set(package_folder "${CMAKE_INSTALL_LIBDIR}/cmake/shotassay")
set(config "${CMAKE_CURRENT_LIST_DIR}/shotassayConfig.cmake")
set(version "${PROJECT_BINARY_DIR}/shotassayConfigVersion.cmake")

# Before 1.0 a minor version may change the interface.
write_basic_package_version_file("${version}" COMPATIBILITY SameMinorVersion)
configure_file("${config}" "${PROJECT_BINARY_DIR}/shotassayConfig.cmake" COPYONLY)

install(TARGETS shotassay EXPORT shotassayTargets INCLUDES DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}")
install(DIRECTORY "${PROJECT_SOURCE_DIR}/lib/include/shotassay" DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}"
  FILES_MATCHING PATTERN "*.hpp")
install(EXPORT shotassayTargets NAMESPACE shotassay:: DESTINATION "${package_folder}")
install(FILES "${config}" "${version}" DESTINATION "${package_folder}")
export(EXPORT shotassayTargets NAMESPACE shotassay:: FILE "${PROJECT_BINARY_DIR}/shotassayTargets.cmake")
