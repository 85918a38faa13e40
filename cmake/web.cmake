# lintel_embed_web(<target>): builds the web app (web/) and puts its files into the target as
# `std::span<const lintel::EmbeddedFile> lintel::embedded::web_files()`, compressed forms beside them.
# Needs Node and web/node_modules (scripts/setup fetches them); without them the program builds all the
# same, and its start page says what is missing.
include_guard(GLOBAL)

function(lintel_embed_web target)
  set(web ${PROJECT_SOURCE_DIR}/web)
  set(output ${CMAKE_CURRENT_BINARY_DIR}/web_app.cpp)
  find_program(NODE_PROGRAM NAMES node nodejs)
  if(NODE_PROGRAM AND EXISTS ${web}/node_modules/esbuild)
    file(GLOB_RECURSE sources CONFIGURE_DEPENDS ${web}/src/*)
    add_custom_command(
      OUTPUT ${output}
      COMMAND ${NODE_PROGRAM} build.mjs --out ${PROJECT_BINARY_DIR}/web/dist --embed ${output}
      WORKING_DIRECTORY ${web}
      DEPENDS ${sources} ${web}/build.mjs ${web}/package-lock.json
      COMMENT "Building the web app"
      VERBATIM)
  else()
    message(STATUS "The web app is left out: run scripts/setup (needs Node; fetches web/node_modules)")
    set(output ${PROJECT_SOURCE_DIR}/src/server/web_app_missing.cpp)
  endif()
  # Only bytes: nothing to optimize.
  set_source_files_properties(${output} PROPERTIES COMPILE_OPTIONS -O0)
  target_sources(${target} PRIVATE ${output})
  set_source_files_properties(${PROJECT_SOURCE_DIR}/src/server/web_files.cpp PROPERTIES
    COMPILE_DEFINITIONS "LINTEL_HAVE_WEB;LINTEL_WEB_PREFIX=\"\"")
endfunction()
