// Runs a fuzz target without libFuzzer: every file of the folders given, and damaged copies of it.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

constexpr int kDamagedCopies = 12;

// SplitMix64 (Steele, Lea, Flood 2014): the same damage on every machine.
std::uint64_t next(std::uint64_t& state) {
  std::uint64_t z = (state += 0x9e3779b97f4a7c15ULL);
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
  return z ^ (z >> 31);
}

std::vector<std::uint8_t> damaged(std::vector<std::uint8_t> bytes, std::uint64_t seed) {
  std::uint64_t state = seed;
  if (bytes.empty()) return bytes;
  if (seed % 4 == 0) bytes.resize(next(state) % bytes.size());  // cut off
  const std::uint64_t hits = 1 + next(state) % 8;
  for (std::uint64_t i = 0; i < hits && !bytes.empty(); ++i) {
    // Heads are the interesting part of most formats: every second hit goes there.
    const std::size_t range = i % 2 == 0 ? bytes.size() : std::min<std::size_t>(bytes.size(), 256);
    const std::uint64_t draw = next(state);
    static constexpr std::uint8_t kNasty[] = {0x00, 0xff, 0x7f, 0x80, 0x01};
    bytes[next(state) % range] = draw % 3 == 0 ? static_cast<std::uint8_t>(draw >> 8)
                                               : kNasty[(draw >> 8) % std::size(kNasty)];
  }
  return bytes;
}

// An exact copy on the heap, so that a sanitizer sees a read of one byte too many.
void run(const std::vector<std::uint8_t>& bytes) {
  const std::vector<std::uint8_t> exact(bytes.begin(), bytes.end());
  LLVMFuzzerTestOneInput(exact.data(), exact.size());
}

}  // namespace

int main(int count, char** arguments) {
  std::vector<std::filesystem::path> files;
  for (int i = 1; i < count; ++i) {
    const std::filesystem::path path = arguments[i];
    if (std::filesystem::is_regular_file(path)) files.push_back(path);
    if (!std::filesystem::is_directory(path)) continue;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(path)) {
      if (entry.is_regular_file()) files.push_back(entry.path());
    }
  }
  std::sort(files.begin(), files.end());
  if (files.empty()) {
    std::fprintf(stderr, "no corpus: name a folder or files\n");
    return 1;
  }
  for (const std::filesystem::path& path : files) {
    // Said before, so that the culprit of a crash is the last line.
    std::printf("%s\n", path.filename().c_str());
    std::fflush(stdout);
    std::ifstream in(path, std::ios::binary);
    if (!in) {
      std::fprintf(stderr, "cannot read %s\n", path.c_str());
      return 1;
    }
    const std::vector<std::uint8_t> bytes{std::istreambuf_iterator<char>(in), {}};
    run(bytes);
    for (std::uint64_t seed = 1; seed <= kDamagedCopies; ++seed) run(damaged(bytes, seed));
  }
  std::printf("%zu files and %zu damaged copies: no crash\n", files.size(),
              files.size() * kDamagedCopies);
  return 0;
}
