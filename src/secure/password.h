// Passphrases of people: Argon2id (RFC 9106) by libsodium, as a self-describing text
// "$argon2id$v=19$m=65536,t=3,p=1$<salt>$<hash>" that other libraries read as well.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "base/result.h"

namespace lintel::secure {

// 64 MiB and 3 passes: the memory and passes of RFC 9106's second recommended option (section 4),
// which is meant for machines that do other work too. That option has 4 lanes; libsodium has one,
// which costs the attacker no less memory and us a longer wait: 0.25 s measured on one busy core,
// so a sign-in feels immediate, and guessing a stolen hash costs 64 MiB and that time for each try.
struct PassphraseCost {
  std::uint32_t memory_kib = 64 * 1024;
  std::uint32_t passes = 3;
};
// For tests that sign in hundreds of times; never for a person.
inline constexpr PassphraseCost kCheapestCost{8, 1};

// With a fresh random salt of 128 bits. Errors: Limit when the memory cannot be had; Invalid for a
// passphrase longer than 1024 bytes.
Result<std::string> hash_passphrase(std::string_view passphrase, const PassphraseCost& cost = {});

// Does it fit? False too for a hash that is damaged. Compared in constant time; the work depends
// on the parameters in the hash alone.
bool passphrase_fits(std::string_view hash, std::string_view passphrase);

// Was it made with other parameters than these (or is it unreadable)? Then hash again at the next
// sign-in, when the passphrase is at hand.
bool needs_new_hash(std::string_view hash, const PassphraseCost& cost = {});

}  // namespace lintel::secure
