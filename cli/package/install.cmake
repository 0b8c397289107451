# What is installed beside the library: the program, its pages and completions, examples, licences, changelog.
include(GNUInstallDirs)
set(CMAKE_INSTALL_DEFAULT_COMPONENT_NAME program)
set(made "${PROJECT_BINARY_DIR}/manual")
set(changelog "${made}/changelog.gz")
set(copyright "${CMAKE_CURRENT_LIST_DIR}/copyright")

install(TARGETS shotassay_program)
install(DIRECTORY "${made}/man1" DESTINATION "${CMAKE_INSTALL_MANDIR}" FILES_MATCHING PATTERN "*.1.gz")
install(FILES "${made}/bash/shotassay" DESTINATION "${CMAKE_INSTALL_DATADIR}/bash-completion/completions")
install(FILES "${made}/fish/shotassay.fish" DESTINATION "${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d")
# zsh looks in one place for a package's completions, in another below /usr/local: the package has the first alone.
install(FILES "${made}/zsh/_shotassay" DESTINATION "${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions" EXCLUDE_FROM_ALL)
install(FILES "${made}/zsh/_shotassay" DESTINATION "${CMAKE_INSTALL_DATADIR}/zsh/site-functions" COMPONENT elsewhere)

install(FILES "${copyright}" "${changelog}" DESTINATION "${CMAKE_INSTALL_DATADIR}/doc/shotassay")
install(DIRECTORY "${PROJECT_SOURCE_DIR}/data/examples" DESTINATION "${CMAKE_INSTALL_DATADIR}/doc/shotassay")
install(FILES "${copyright}" "${changelog}" DESTINATION "${CMAKE_INSTALL_DATADIR}/doc/libshotassay-dev"
  COMPONENT development EXCLUDE_FROM_ALL)
