// Secrets that a machine keeps for a person: cookies, API tokens, invitations. 256 random bits, so
// a plain digest of them is all that has to be kept: it cannot be guessed back.
#pragma once

#include <string>
#include <string_view>

namespace lintel::secure {

// The prefix ("lnt" makes "lnt_43-letters...") lets people and scanners tell what they look at.
std::string new_secret(std::string_view prefix = {});

// What is kept instead of the secret: its SHA-256 as 64 hexadecimal digits.
std::string secret_digest(std::string_view secret);

// A second secret that follows from the first and a purpose and tells nothing about it (keyed
// BLAKE2b, RFC 7693): the token that a page sends beside its cookie.
std::string derived_secret(std::string_view secret, std::string_view purpose);

// Equal, in time that depends on the lengths alone.
bool same_secret(std::string_view one, std::string_view other);

}  // namespace lintel::secure
