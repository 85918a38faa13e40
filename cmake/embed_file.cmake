# Run by lintel_embed: writes OUTPUT, a C++ source with the bytes of INPUT as a string view SYMBOL.
file(READ ${INPUT} hex HEX)
string(LENGTH "${hex}" digits)
math(EXPR size "${digits} / 2")
string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
string(REGEX REPLACE "(0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,)" "\\1\n" bytes "${bytes}")
file(WRITE ${OUTPUT} "// Written by the build from a file of data/; not to be edited.
#include <cstddef>
#include <string_view>
namespace lintel::embedded {
static const unsigned char bytes_of_${SYMBOL}[] = {
${bytes}0x00};
extern const std::string_view ${SYMBOL};
const std::string_view ${SYMBOL}(reinterpret_cast<const char*>(bytes_of_${SYMBOL}),
                                 static_cast<std::size_t>(${size}));
}  // namespace lintel::embedded
")
