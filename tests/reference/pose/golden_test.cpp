// Each converted network in OpenCV against numbers from TensorFlow Lite's own runtime
// (data/golden.csv; how it was made: README.md beside this file).
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include "pose/model_files.h"
#include "pose/network.h"
#include "support/pose_synthetic.h"

namespace lintel::pose {
namespace {

struct Sample {
  std::size_t index;
  double value;
};
using Samples = std::map<std::size_t, std::vector<Sample>>;  // by number of elements

Samples read_golden(const std::string& model) {
  std::ifstream in(LINTEL_SOURCE_DIR "/tests/reference/pose/data/golden.csv");
  Samples samples;
  std::string line;
  while (std::getline(in, line)) {
    std::istringstream cells(line);
    std::string name, elements, index, value;
    std::getline(cells, name, ',');
    std::getline(cells, elements, ',');
    std::getline(cells, index, ',');
    std::getline(cells, value, ',');
    if (name == model)
      samples[std::stoul(elements)].push_back({std::stoul(index), std::stod(value)});
  }
  return samples;
}

// Places in a heatmap output: stored row, column, landmark there; landmark, row, column here.
std::size_t heatmap_place(std::size_t stored) {
  const std::size_t landmark = stored % 39;
  const std::size_t cell = stored / 39;
  return landmark * 64 * 64 + cell;
}

cv::Mat planes_of(const std::vector<float>& stored, int side) {
  const int shape[] = {1, 3, side, side};
  cv::Mat planes(4, shape, CV_32F);
  const auto pixels = static_cast<std::size_t>(side) * static_cast<std::size_t>(side);
  for (std::size_t p = 0; p < pixels; ++p) {
    for (std::size_t c = 0; c < 3; ++c) planes.ptr<float>()[c * pixels + p] = stored[p * 3 + c];
  }
  return planes;
}

void compare(const std::string& model, NetworkFile file, const std::vector<std::size_t>& outputs,
             const cv::Mat& input) {
  const auto models = find_models();
  ASSERT_TRUE(models) << describe(models.error());
  auto network = Network::load(*models, file, outputs);
  ASSERT_TRUE(network) << describe(network.error());
  const auto result = network->run(input);
  ASSERT_TRUE(result) << describe(result.error());
  const Samples golden = read_golden(model);
  for (std::size_t o = 0; o < outputs.size(); ++o) {
    const auto found = golden.find(outputs[o]);
    ASSERT_NE(found, golden.end());
    ASSERT_FALSE(found->second.empty());
    double largest = 0;
    double error = 0;
    for (const Sample& sample : found->second) {
      const std::size_t place = outputs[o] == 159744 ? heatmap_place(sample.index) : sample.index;
      const double difference = std::abs((*result)[o][place] - sample.value);
      largest = std::max(largest, std::abs(sample.value));
      error = std::max(error, difference);
    }
    // Both compute in single precision in another order of summation: agreement to 1e-4 of the
    // output's own range (measured: see README.md) leaves no room for a wrong pixel of padding.
    EXPECT_LT(error, 1e-4 * std::max(largest, 1.0)) << model << ", output of " << outputs[o];
    ::testing::Test::RecordProperty("largest_difference_" + std::to_string(outputs[o]),
                                    std::to_string(error));
    std::cout << model << " " << outputs[o] << ": largest value " << largest
              << ", largest difference " << error << "\n";
  }
}

const std::vector<std::size_t> kLandmarkOutputs = {195, 1, 159744};

TEST(ConvertedNetwork, DetectorAgreesWithTensorFlowLite) {
  compare("detector", NetworkFile::Detector, {27048, 2254},
          planes_of(test::synthetic_input(224, 1 / 127.5, -1), 224));
}
TEST(ConvertedNetwork, LiteAgreesWithTensorFlowLite) {
  compare("lite", NetworkFile::Lite, kLandmarkOutputs,
          planes_of(test::synthetic_input(256, 1 / 255.0, 0), 256));
}
TEST(ConvertedNetwork, FullAgreesWithTensorFlowLite) {
  compare("full", NetworkFile::Full, kLandmarkOutputs,
          planes_of(test::synthetic_input(256, 1 / 255.0, 0), 256));
}
TEST(ConvertedNetwork, HeavyAgreesWithTensorFlowLite) {
  compare("heavy", NetworkFile::Heavy, kLandmarkOutputs,
          planes_of(test::synthetic_input(256, 1 / 255.0, 0), 256));
}
TEST(ConvertedNetwork, PruningChangesNoBitOfWhatIsKept) {
  const auto models = find_models();
  ASSERT_TRUE(models) << describe(models.error());
  const cv::Mat input = planes_of(test::synthetic_input(256, 1 / 255.0, 0), 256);
  const std::vector<std::size_t> everything = {195, 1, 159744, 65536, 117};
  auto whole = Network::load(*models, NetworkFile::Lite, everything);
  auto pruned = Network::load(*models, NetworkFile::Lite, kLandmarkOutputs);
  ASSERT_TRUE(whole && pruned);
  const auto a = whole->run(input);
  const auto b = pruned->run(input);
  ASSERT_TRUE(a && b);
  for (std::size_t o = 0; o < kLandmarkOutputs.size(); ++o) {
    EXPECT_TRUE(std::equal((*a)[o].begin(), (*a)[o].end(), (*b)[o].begin(), (*b)[o].end()));
  }
  // The segmentation and metric landmarks against TensorFlow Lite as well.
  const Samples golden = read_golden("lite");
  for (const auto& [elements, view] : {std::pair{65536UL, (*a)[3]}, std::pair{117UL, (*a)[4]}}) {
    for (const Sample& sample : golden.at(elements)) {
      EXPECT_NEAR(view[sample.index], sample.value, 1e-3 * std::max(1.0, std::abs(sample.value)));
    }
  }
}

}  // namespace
}  // namespace lintel::pose
