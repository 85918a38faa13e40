// Photographs of people that Debian's opencv-doc brings along (Apache-2.0, BSD), told by their
// SHA-256.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "secure/sha256.h"

namespace lintel::test {

// Where it is; empty when it is not there.
inline std::string photograph(const std::string& sha256) {
  namespace fs = std::filesystem;
  const char* named = std::getenv("LINTEL_TEST_PHOTOS");
  const fs::path folder = named != nullptr ? named : "/usr/share/doc/opencv-doc/examples/data";
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    const auto size = entry.is_regular_file(error) ? entry.file_size(error) : 0;
    if (size < 50'000 || size > 200'000) continue;
    const auto digest = secure::sha256_of_file(entry.path());
    if (digest && *digest == sha256) return entry.path().string();
  }
  return "";
}
// 548 x 342: a footballer, one leg stretched out. Joints were read off an enlargement by a person:
// tests/reference/pose/photos_test.cpp.
inline std::string lunge_photograph() {
  return photograph("1d570e49654e84c7a943918537bd9e5e1ef82920152e147c834006e235be97c9");
}

}  // namespace lintel::test

#define LINTEL_NEED(photo)                                                                \
  if ((photo).empty())                                                                    \
  GTEST_SKIP() << "NO PHOTOGRAPHS: install the Debian package opencv-doc (scripts/setup " \
                  "does) or set LINTEL_TEST_PHOTOS"
