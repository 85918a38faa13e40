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
  # -g1: full debug information makes templates with derivatives very slow to compile here.
  add_compile_options(-fsanitize=${LINTEL_SANITIZE} -fno-omit-frame-pointer -O1 -g1)
  if(LINTEL_SANITIZE MATCHES "undefined")
    add_compile_options(-fno-sanitize-recover=undefined)
  endif()
  add_link_options(-fsanitize=${LINTEL_SANITIZE})
endif()
