# Warnings are errors for our own code; third-party headers come in as SYSTEM.
add_library(lintel_warnings INTERFACE)
target_compile_options(lintel_warnings INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wnon-virtual-dtor -Woverloaded-virtual
  -Wcast-qual -Wunused -Wnull-dereference -Werror)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  # g++ 12 reports these inside Eigen and the standard library at -O2, where they are false.
  target_compile_options(lintel_warnings INTERFACE
    -Wno-null-dereference -Wno-maybe-uninitialized -Wno-array-bounds -Wno-stringop-overflow -Wno-restrict)
endif()

if(LINTEL_SANITIZE)
  target_compile_options(lintel_warnings INTERFACE -Wno-error)
  # -g1: full debug information makes templates with derivatives very slow to compile here. The
  # preset takes clang, which compiles such code four times as fast as g++ does; g++ has seen the
  # same files with all warnings in the release build.
  add_compile_options(-fsanitize=${LINTEL_SANITIZE} -fno-omit-frame-pointer -O1 -g1)
  if(LINTEL_SANITIZE MATCHES "undefined")
    # No vptr: SOCI, which comes compiled, hides the type information that this check asks for.
    add_compile_options(-fno-sanitize-recover=undefined -fno-sanitize=vptr)
  endif()
  add_link_options(-fsanitize=${LINTEL_SANITIZE})
endif()
