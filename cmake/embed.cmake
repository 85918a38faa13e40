# lintel_embed(<target> <file> <symbol>): puts the bytes of a file into the program.
# The target gains a source that defines `extern const std::string_view lintel::embedded::<symbol>`;
# declare it where it is used. The file is read at build time and again whenever it changes.
include_guard(GLOBAL)

function(lintel_embed target file symbol)
  get_filename_component(source ${file} ABSOLUTE BASE_DIR ${PROJECT_SOURCE_DIR})
  set(output ${CMAKE_CURRENT_BINARY_DIR}/embedded_${symbol}.cpp)
  add_custom_command(
    OUTPUT ${output}
    COMMAND ${CMAKE_COMMAND} -DINPUT=${source} -DOUTPUT=${output} -DSYMBOL=${symbol}
            -P ${CMAKE_CURRENT_FUNCTION_LIST_DIR}/embed_file.cmake
    DEPENDS ${source} ${CMAKE_CURRENT_FUNCTION_LIST_DIR}/embed_file.cmake
    COMMENT "Embedding ${file}"
    VERBATIM)
  target_sources(${target} PRIVATE ${output})
endfunction()

# lintel_embed_folder(<target> <folder> <function> [ending]): every *.json (or *.<ending>) of a folder, by
# name. The target gains `std::span<const lintel::EmbeddedFile> lintel::embedded::<function>()` (base/embedded_file.h);
# declare it where it is used. A new file is found at the next build.
function(lintel_embed_folder target folder function)
  set(ending json)
  if(ARGC GREATER 3)
    set(ending ${ARGV3})
  endif()
  file(GLOB files CONFIGURE_DEPENDS RELATIVE ${PROJECT_SOURCE_DIR}
       ${PROJECT_SOURCE_DIR}/${folder}/*.${ending})
  set(declarations "")
  set(rows "")
  foreach(file IN LISTS files)
    get_filename_component(name ${file} NAME)
    string(MAKE_C_IDENTIFIER ${function}_${name} symbol)
    lintel_embed(${target} ${file} ${symbol})
    string(APPEND declarations "extern const std::string_view ${symbol};\n")
    string(APPEND rows "    {\"${file}\", &${symbol}},\n")
  endforeach()
  set(output ${CMAKE_CURRENT_BINARY_DIR}/embedded_${function}.cpp)
  file(CONFIGURE OUTPUT ${output} @ONLY CONTENT "// Written by CMake; not to be edited.
#include <span>
#include \"base/embedded_file.h\"
namespace lintel::embedded {
@declarations@static const EmbeddedFile list_of_@function@[] = {
@rows@};
std::span<const EmbeddedFile> @function@();
std::span<const EmbeddedFile> @function@() { return list_of_@function@; }
}  // namespace lintel::embedded
")
  target_sources(${target} PRIVATE ${output})
endfunction()
