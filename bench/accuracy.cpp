// Errors of the whole path on rendered clips with known truth, raw, refined and fitted side by
// side. usage: accuracy FOLDER_OF_CLIPS [lite|full|heavy|all] [clip...]
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <string>
#include <vector>

#include "support/accuracy.h"

namespace {

using namespace lintel;

app::NetworkVariant variant_of(const std::string& name) {
  return name == "lite"    ? app::NetworkVariant::Lite
         : name == "heavy" ? app::NetworkVariant::Heavy
                           : app::NetworkVariant::Full;
}

// Number of clips that could not be measured.
int print_all(const std::string& folder, const std::string& variant,
              const std::vector<std::string>& names) {
  std::printf("network %s\n", variant.c_str());
  test::print_header(stdout);
  int faults = 0;
  for (const std::string& name : names) {
    const auto clip = test::measure_rendered_clip(folder, name, variant_of(variant), 0);
    if (!clip) {
      std::printf("%s: %s\n", name.c_str(), describe(clip.error()).c_str());
      ++faults;
      continue;
    }
    test::print_accuracy(stdout,
                         test::compare_with_truth(clip->observation, clip->measured, clip->truth));
    std::fflush(stdout);
  }
  return faults;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    std::fprintf(stderr, "usage: accuracy FOLDER_OF_CLIPS [lite|full|heavy|all] [clip...]\n");
    return 2;
  }
  const std::string variant = argc > 2 ? argv[2] : "full";
  std::vector<std::string> names(argv + std::min(argc, 3), argv + argc);
  if (names.empty()) {
    for (const auto& entry : std::filesystem::directory_iterator(argv[1])) {
      if (entry.path().extension() == ".mp4") names.push_back(entry.path().stem().string());
    }
    std::sort(names.begin(), names.end());
  }
  int faults = 0;
  for (const char* each : {"lite", "full", "heavy"}) {
    if (variant == "all" || variant == each) faults += print_all(argv[1], each, names);
  }
  return faults == 0 ? 0 : 1;
}
