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
