# Find modules of our own.
list(APPEND CMAKE_MODULE_PATH ${CMAKE_CURRENT_LIST_DIR})

# lintel_module(<name> SOURCES a.cpp ... [DEPENDS base ...] [PRIVATE target ...] [SYSTEM_INCLUDES dir ...])
# One static library per folder of src/. DEPENDS names Lintel modules (seen by users of the module),
# PRIVATE names third-party targets, which stay inside.
function(lintel_module name)
  cmake_parse_arguments(M "" "" "SOURCES;DEPENDS;PRIVATE;PUBLIC_THIRD_PARTY;SYSTEM_INCLUDES" ${ARGN})
  add_library(lintel_${name} STATIC ${M_SOURCES})
  target_include_directories(lintel_${name} PUBLIC ${PROJECT_SOURCE_DIR}/src)
  foreach(dependency IN LISTS M_DEPENDS)
    target_link_libraries(lintel_${name} PUBLIC lintel_${dependency})
  endforeach()
  if(M_PUBLIC_THIRD_PARTY)
    target_link_libraries(lintel_${name} PUBLIC ${M_PUBLIC_THIRD_PARTY})
  endif()
  if(M_SYSTEM_INCLUDES)
    target_include_directories(lintel_${name} SYSTEM PRIVATE ${M_SYSTEM_INCLUDES})
  endif()
  target_link_libraries(lintel_${name} PRIVATE lintel_warnings ${M_PRIVATE})
endfunction()

# lintel_test(<name> SOURCES a_test.cpp ... [DEPENDS module ...] [PRIVATE target ...] [LABELS unit] [TIMEOUT s]
#             [PROPERTIES name value ...] [AS_ONE])
# One test program; every TEST in it becomes a CTest test with these labels and properties. AS_ONE: the program is
# one CTest test, for those whose tests share something dear, like a database server.
function(lintel_test name)
  cmake_parse_arguments(T "AS_ONE" "TIMEOUT" "SOURCES;DEPENDS;PRIVATE;LABELS;PROPERTIES" ${ARGN})
  if(NOT T_LABELS)
    set(T_LABELS unit)
  endif()
  if(NOT T_TIMEOUT)
    set(T_TIMEOUT 120)
    if(LINTEL_SANITIZE) # several times slower
      set(T_TIMEOUT 400)
    endif()
  endif()
  add_executable(${name} ${T_SOURCES})
  # Tests compile a quarter faster this way; what takes their time is in the product.
  target_compile_options(${name} PRIVATE $<$<CONFIG:Release>:-O1>)
  # What the sanitizer run builds: the unit tests and nothing else.
  if("unit" IN_LIST T_LABELS)
    if(NOT TARGET unit_tests)
      add_custom_target(unit_tests)
    endif()
    add_dependencies(unit_tests ${name})
  endif()
  foreach(dependency IN LISTS T_DEPENDS)
    target_link_libraries(${name} PRIVATE lintel_${dependency})
  endforeach()
  target_link_libraries(${name} PRIVATE ${T_PRIVATE} lintel_schema_check lintel_warnings GTest::gmock GTest::gtest_main)
  target_include_directories(${name} PRIVATE ${PROJECT_SOURCE_DIR}/tests)
  target_compile_definitions(${name} PRIVATE
    LINTEL_SOURCE_DIR="${PROJECT_SOURCE_DIR}" LINTEL_BUILD_DIR="${PROJECT_BINARY_DIR}"
    LINTEL_SHARED_DATA_DIR="${PROJECT_SOURCE_DIR}/../shared/data")
  if(T_AS_ONE)
    add_test(NAME ${name} COMMAND ${name})
    set_tests_properties(${name} PROPERTIES LABELS "${T_LABELS}" TIMEOUT ${T_TIMEOUT} ${T_PROPERTIES})
    return()
  endif()
  gtest_discover_tests(${name} PROPERTIES LABELS "${T_LABELS}" TIMEOUT ${T_TIMEOUT} ${T_PROPERTIES}
                       DISCOVERY_TIMEOUT 60)
endfunction()
