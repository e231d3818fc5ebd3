# Packages, warnings and the functions that declare one target per folder.
find_package(PkgConfig REQUIRED)
find_package(Threads REQUIRED)

# Fails naming the Debian package that is missing; DWELLOG_WITHOUT says how to do without it.
function(dwellog_require_package module debian_package)
  pkg_check_modules(${module} IMPORTED_TARGET GLOBAL ${ARGN})
  if(NOT ${module}_FOUND)
    message(FATAL_ERROR "dwellog needs ${ARGN}: install the package ${debian_package}${DWELLOG_WITHOUT}")
  endif()
endfunction()

dwellog_require_package(SODIUM libsodium-dev libsodium)
dwellog_require_package(SQLITE libsqlite3-dev sqlite3)
dwellog_require_package(PANGOCAIRO "libpango1.0-dev libcairo2-dev" pangocairo cairo cairo-pdf cairo-svg)
dwellog_require_package(QRENCODE libqrencode-dev libqrencode)
dwellog_require_package(ZLIB zlib1g-dev zlib)
# What an option needs beyond the core.
function(dwellog_require_for option)
  if(${option})
    set(DWELLOG_WITHOUT ", or configure with -D${option}=OFF")
    while(ARGN)
      list(POP_FRONT ARGN module package name)
      dwellog_require_package(${module} ${package} ${name})
    endwhile()
  endif()
endfunction()
dwellog_require_for(DWELLOG_TIME_STAMPS CRYPTO libssl-dev libcrypto CURL libcurl4-openssl-dev libcurl)
dwellog_require_for(DWELLOG_DELIVERY CRYPTO libssl-dev libcrypto CURL libcurl4-openssl-dev libcurl
  MOSQUITTO libmosquitto-dev libmosquitto)
dwellog_require_for(DWELLOG_TLS CRYPTO libssl-dev libcrypto SSL libssl-dev libssl)
find_package(nlohmann_json QUIET)
if(NOT nlohmann_json_FOUND)
  message(FATAL_ERROR "dwellog needs nlohmann_json: install the package nlohmann-json3-dev")
endif()
find_package(CLI11 QUIET)
if(NOT CLI11_FOUND)
  message(FATAL_ERROR "dwellog needs CLI11: install the package libcli11-dev")
endif()
find_package(Boost 1.74 QUIET)
if(NOT Boost_FOUND)
  message(FATAL_ERROR "dwellog needs Boost headers: install the package libboost-dev")
endif()

add_library(dwellog_options INTERFACE)
if(CMAKE_UNITY_BUILD AND CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  # A joined source takes every file for a header; what is a file's own stays so.
  target_compile_options(dwellog_options INTERFACE -Wno-subobject-linkage)
endif()
target_include_directories(dwellog_options INTERFACE ${CMAKE_SOURCE_DIR})
target_compile_options(dwellog_options INTERFACE
  -Wall -Wextra -Wconversion -Wshadow -Werror)
if(DWELLOG_SANITIZE)
  target_compile_options(dwellog_options INTERFACE -fsanitize=address,undefined
    -fno-sanitize-recover=undefined -fno-omit-frame-pointer
    -g1)  # lines for the reports; more would make the build a good deal longer
  if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
    # What the sanitizers put in makes g++ 12 see values that nobody set, inside std::optional.
    target_compile_options(dwellog_options INTERFACE -Wno-maybe-uninitialized)
  endif()
  target_link_options(dwellog_options INTERFACE -fsanitize=address,undefined)
elseif(DWELLOG_THREAD_SANITIZE)
  target_compile_options(dwellog_options INTERFACE -fsanitize=thread)
  if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
    target_compile_options(dwellog_options INTERFACE -Wno-tsan)
  endif()
  target_link_options(dwellog_options INTERFACE -fsanitize=thread)
endif()

# Asio with coroutines: g++ 12 needs <utility> before any Asio header, clang 14 two defines.
add_library(dwellog_asio INTERFACE)
target_link_libraries(dwellog_asio INTERFACE Boost::headers Threads::Threads)
target_compile_options(dwellog_asio INTERFACE "SHELL:-include utility")
if(CMAKE_CXX_COMPILER_ID STREQUAL "Clang")
  target_compile_definitions(dwellog_asio INTERFACE BOOST_ASIO_HAS_CO_AWAIT=1
    BOOST_ASIO_HAS_STD_COROUTINE=1)
endif()

# dwellog_library(NAME SOURCES ... DEPENDS ...): one folder, one target.
function(dwellog_library name)
  cmake_parse_arguments(ARG "" "" "SOURCES;DEPENDS" ${ARGN})
  add_library(${name} STATIC ${ARG_SOURCES})
  target_link_libraries(${name} PUBLIC dwellog_options ${ARG_DEPENDS})
  if(DWELLOG_SANITIZE)
    target_compile_options(${name} PRIVATE -O1)
  endif()
endfunction()

# dwellog_test(NAME SOURCES ... DEPENDS ...): a Catch2 program, run whole as one CTest test.
# Exit code 77 from the program reports it as skipped. OWN_MAIN: one source has a main of its own.
# APART: its sources use the same names for different things, so a unity build keeps them apart.
function(dwellog_test name)
  cmake_parse_arguments(ARG "OWN_MAIN;APART" "" "SOURCES;DEPENDS" ${ARGN})
  add_executable(${name} ${ARG_SOURCES})
  target_link_libraries(${name} PRIVATE dwellog_options ${ARG_DEPENDS})
  if(ARG_OWN_MAIN)
    target_link_libraries(${name} PRIVATE dwellog_catch_session)
  else()
    target_link_libraries(${name} PRIVATE dwellog_catch_main)
  endif()
  if(ARG_APART)
    set_target_properties(${name} PROPERTIES UNITY_BUILD OFF)
  endif()
  # The code under test is optimised in its own target; optimising Catch2's macros costs minutes.
  target_compile_options(${name} PRIVATE $<$<CONFIG:Release>:-O0>)
  add_test(NAME ${name} COMMAND ${name} WORKING_DIRECTORY ${CMAKE_SOURCE_DIR})
  set_tests_properties(${name} PROPERTIES SKIP_RETURN_CODE 77)
endfunction()
