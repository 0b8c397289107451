# find_package(shotassay) finds the same target in the build tree and in an installed prefix, pkg-config the same files.
include(CMakePackageConfigHelpers)
include(GNUInstallDirs)
set(package_folder "${CMAKE_INSTALL_LIBDIR}/cmake/shotassay")
set(config "${CMAKE_CURRENT_LIST_DIR}/shotassayConfig.cmake")
set(version "${PROJECT_BINARY_DIR}/shotassayConfigVersion.cmake")

# Before 1.0 a minor version may change the interface.
write_basic_package_version_file("${version}" COMPATIBILITY SameMinorVersion)
configure_file("${config}" "${PROJECT_BINARY_DIR}/shotassayConfig.cmake" COPYONLY)

# An installed tree can be moved: the prefix is told from where the file lies, unless a folder was set outside it.
set(pc_prefix "${CMAKE_INSTALL_PREFIX}")
if(NOT IS_ABSOLUTE "${CMAKE_INSTALL_LIBDIR}")
  file(RELATIVE_PATH up "/prefix/${CMAKE_INSTALL_LIBDIR}/pkgconfig" "/prefix")
  string(REGEX REPLACE "/$" "" up "${up}")
  set(pc_prefix "\${pcfiledir}/${up}")
endif()
foreach(folder libdir includedir)
  string(TOUPPER "CMAKE_INSTALL_${folder}" place)
  set(pc_${folder} "${${place}}")
  if(NOT IS_ABSOLUTE "${${place}}")
    set(pc_${folder} "\${prefix}/${${place}}")
  endif()
endforeach()
configure_file("${CMAKE_CURRENT_LIST_DIR}/shotassay.pc.in" "${PROJECT_BINARY_DIR}/shotassay.pc" @ONLY)

set(CMAKE_INSTALL_DEFAULT_COMPONENT_NAME development)
install(TARGETS shotassay EXPORT shotassayTargets INCLUDES DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}")
install(DIRECTORY "${PROJECT_SOURCE_DIR}/lib/include/shotassay" DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}"
  FILES_MATCHING PATTERN "*.hpp")
install(EXPORT shotassayTargets NAMESPACE shotassay:: DESTINATION "${package_folder}")
install(FILES "${config}" "${version}" DESTINATION "${package_folder}")
install(FILES "${PROJECT_BINARY_DIR}/shotassay.pc" DESTINATION "${CMAKE_INSTALL_LIBDIR}/pkgconfig")
export(EXPORT shotassayTargets NAMESPACE shotassay:: FILE "${PROJECT_BINARY_DIR}/shotassayTargets.cmake")
