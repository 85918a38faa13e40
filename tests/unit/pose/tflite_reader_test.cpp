#include "pose/tflite_reader.h"

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "base/random.h"
#include "pose/model_files.h"
#include "pose/network_converter.h"
#include "support/tiny_tflite.h"

namespace lintel::pose {
namespace {

using Bytes = std::vector<std::uint8_t>;

// Reads and converts: what the bytes may do to us. The answer does not matter, coming back does.
bool survives(const Bytes& file) {
  const auto graph = read_tflite(file);
  if (!graph) {
    EXPECT_FALSE(graph.error().message.empty());
    return false;
  }
  return convert_to_onnx(*graph).has_value();
}

TEST(TfliteReader, ReadsASmallConvolution) {
  const Bytes file = test::write_tiny(test::tiny_convolution());
  const auto graph = read_tflite(file);
  ASSERT_TRUE(graph) << describe(graph.error());
  ASSERT_EQ(graph->tensors.size(), 4U);
  EXPECT_EQ(graph->tensors[1].shape, (std::vector<int>{2, 3, 3, 1}));
  EXPECT_TRUE(graph->tensors[1].constant());
  EXPECT_FALSE(graph->tensors[3].constant());
  ASSERT_EQ(graph->operators.size(), 1U);
  const TfliteOperator& entry = graph->operators[0];
  EXPECT_EQ(entry.code, OperatorCode::Conv2d);
  EXPECT_EQ(entry.stride_x, 2);
  EXPECT_EQ(entry.activation, Activation::Relu);
  EXPECT_EQ(entry.padding, PaddingMode::Same);
  EXPECT_EQ(graph->inputs, std::vector<int>{0});
  EXPECT_EQ(graph->outputs, std::vector<int>{3});
}

TEST(TfliteReader, NamesTheByteOfAFault) {
  test::TinyModel model = test::tiny_convolution();
  model.operators[0].inputs[1] = 77;
  const auto graph = read_tflite(test::write_tiny(model));
  ASSERT_FALSE(graph);
  EXPECT_EQ(graph.error().code, ErrorCode::Invalid);
  EXPECT_EQ(graph.error().place.field.rfind("byte ", 0), 0U);
  EXPECT_NE(graph.error().message.find("77"), std::string::npos);
}

TEST(TfliteReader, RefusesOperatorsItDoesNotKnow) {
  for (const int code : {1, 9, 32, 123, 200, 258}) {  // 258 must not be taken for 2
    test::TinyModel model = test::tiny_convolution();
    model.operators[0].code = code;
    const auto graph = read_tflite(test::write_tiny(model));
    ASSERT_FALSE(graph) << code;
    EXPECT_EQ(graph.error().code, ErrorCode::Unsupported);
  }
}

TEST(TfliteReader, RefusesOtherVersionsTypesAndActivations) {
  test::TinyModel version = test::tiny_convolution();
  version.version = 2;
  EXPECT_EQ(read_tflite(test::write_tiny(version)).error().code, ErrorCode::Unsupported);
  test::TinyModel type = test::tiny_convolution();
  type.tensors[1].type = 9;
  EXPECT_EQ(read_tflite(test::write_tiny(type)).error().code, ErrorCode::Unsupported);
  test::TinyModel activation = test::tiny_convolution();
  activation.operators[0].options[3].value = 2;
  EXPECT_EQ(read_tflite(test::write_tiny(activation)).error().code, ErrorCode::Unsupported);
}

TEST(TfliteReader, RefusesConstantsThatDoNotFillTheirShape) {
  test::TinyModel model = test::tiny_convolution();
  model.tensors[1].data.pop_back();
  EXPECT_EQ(read_tflite(test::write_tiny(model)).error().code, ErrorCode::Invalid);
}

TEST(TfliteReader, RefusesShapesThatNoMemoryHolds) {
  test::TinyModel model = test::tiny_convolution();
  model.tensors[3].shape = {1, 1 << 20, 1 << 20, 2};
  EXPECT_EQ(read_tflite(test::write_tiny(model)).error().code, ErrorCode::Limit);
  model.tensors[3].shape = {1, -2, 2, 2};
  EXPECT_EQ(read_tflite(test::write_tiny(model)).error().code, ErrorCode::Invalid);
}

TEST(TfliteReader, EveryCutOfASmallFileIsAnError) {
  const Bytes file = test::write_tiny(test::tiny_convolution());
  ASSERT_TRUE(survives(file));
  int refused = 0;
  for (std::size_t size = 0; size < file.size(); ++size) {
    refused +=
        survives(Bytes(file.begin(), file.begin() + static_cast<std::ptrdiff_t>(size))) ? 0 : 1;
  }
  // The last bytes may be alignment only; all else is missed.
  EXPECT_GE(refused, static_cast<int>(file.size()) - 8);
}

TEST(TfliteReader, EveryByteOfASmallFileMayBeWrong) {
  const Bytes file = test::write_tiny(test::tiny_convolution());
  for (std::size_t i = 0; i < file.size(); ++i) {
    for (const int value : {0x00, 0x01, 0x7F, 0x80, 0xFF}) {
      Bytes damaged = file;
      damaged[i] = static_cast<std::uint8_t>(value);
      survives(damaged);
    }
  }
  SUCCEED();
}

Bytes read_model(NetworkFile file) {
  const auto models = find_models();
  if (!models) return {};
  std::ifstream in(*models / network_file_name(file), std::ios::binary);
  return Bytes(std::istreambuf_iterator<char>(in), {});
}

TEST(TfliteReader, RealFilesCutAtEveryKilobyteAreErrors) {
  for (const NetworkFile kind : {NetworkFile::Detector, NetworkFile::Lite}) {
    const Bytes file = read_model(kind);
    if (file.empty()) GTEST_SKIP() << "NO NETWORK FILES: run scripts/setup";
    ASSERT_TRUE(read_tflite(file));
    for (std::size_t size = 0; size + 1024 < file.size(); size += 1024) {
      const auto graph = read_tflite(std::span(file).first(size));
      EXPECT_FALSE(graph) << "cut at " << size;
    }
  }
}

TEST(TfliteReader, RealFilesWithFlippedBytesNeverCrash) {
  Random random(20261125);
  for (const NetworkFile kind : {NetworkFile::Detector, NetworkFile::Lite}) {
    const Bytes file = read_model(kind);
    if (file.empty()) GTEST_SKIP() << "NO NETWORK FILES: run scripts/setup";
    Bytes damaged = file;
    for (int round = 0; round < 300; ++round) {
      // The tables stand at both ends of the file, the weights between them.
      const std::size_t reach = std::min<std::size_t>(file.size(), 60'000);
      std::size_t at = static_cast<std::size_t>(random.uniform() * static_cast<double>(reach));
      if (round % 2 == 1) at = file.size() - 1 - at;
      damaged[at] ^= static_cast<std::uint8_t>(1U << (random.next() % 8));
      if (round % 3 == 0) read_tflite(damaged);
      if (round % 30 == 29) {
        survives(damaged);
        damaged = file;
      }
    }
  }
  SUCCEED();
}

}  // namespace
}  // namespace lintel::pose
