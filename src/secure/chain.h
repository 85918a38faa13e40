// A chain of rows: the hash of each covers the row and the hash before it, so that a row that is
// changed, taken out, put in or moved breaks every hash from there on.
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace lintel::secure {

// The hash before the first row: 64 zeros.
std::string chain_start();

// SHA-256 as 64 hexadecimal digits over `previous` and the fields in their order, each written as
// its length in bytes in decimal, a colon, its bytes and a comma ("3:abc,"): no two lists of
// fields have the same encoding, and any program with SHA-256 can check the chain.
std::string chain_hash(std::string_view previous, std::span<const std::string_view> fields);

}  // namespace lintel::secure
