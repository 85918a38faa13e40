// Errors of the whole path on rendered clips with known truth, raw, refined and fitted side by
// side. usage: accuracy FOLDER_OF_CLIPS [lite|full|heavy] [clip...]
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <string>
#include <vector>

#include "support/accuracy.h"

int main(int argc, char** argv) {
  using namespace lintel;
  if (argc < 2) {
    std::fprintf(stderr, "usage: accuracy FOLDER_OF_CLIPS [lite|full|heavy] [clip...]\n");
    return 2;
  }
  const std::string variant_name = argc > 2 ? argv[2] : "full";
  const app::NetworkVariant variant = variant_name == "lite"    ? app::NetworkVariant::Lite
                                      : variant_name == "heavy" ? app::NetworkVariant::Heavy
                                                                : app::NetworkVariant::Full;
  std::vector<std::string> names(argv + std::min(argc, 3), argv + argc);
  if (names.empty()) {
    for (const auto& entry : std::filesystem::directory_iterator(argv[1])) {
      if (entry.path().extension() == ".mp4") names.push_back(entry.path().stem().string());
    }
    std::sort(names.begin(), names.end());
  }
  test::print_header(stdout);
  int faults = 0;
  for (const std::string& name : names) {
    const auto clip = test::measure_rendered_clip(argv[1], name, variant, 0);
    if (!clip) {
      std::printf("%s: %s\n", name.c_str(), describe(clip.error()).c_str());
      ++faults;
      continue;
    }
    test::print_accuracy(stdout,
                         test::compare_with_truth(clip->observation, clip->measured, clip->truth));
    std::fflush(stdout);
  }
  return faults == 0 ? 0 : 1;
}
