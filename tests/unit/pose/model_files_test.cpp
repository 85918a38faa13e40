#include "pose/model_files.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <string>

#include "pose/network.h"
#include "pose/pose_estimator.h"

namespace lintel::pose {
namespace {

namespace fs = std::filesystem;

class ModelFolder : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::path(::testing::TempDir()) /
              ("lintel_models_" +
               std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
  }
  void TearDown() override {
    fs::remove_all(folder_);
    unsetenv("LINTEL_MODELS");
  }
  fs::path folder_;
};

TEST_F(ModelFolder, MissingFilesAreSaidWithWhatToDo) {
  const auto found = find_models(folder_);
  ASSERT_FALSE(found);
  EXPECT_EQ(found.error().code, ErrorCode::NotFound);
  EXPECT_NE(found.error().mend.find("scripts/setup"), std::string::npos);
  EXPECT_NE(found.error().place.file.find("lintel_models_"), std::string::npos);
  EXPECT_EQ(find_models(folder_ / "none").error().code, ErrorCode::NotFound);
}

TEST_F(ModelFolder, TheFlagComesBeforeTheEnvironment) {
  setenv("LINTEL_MODELS", (folder_ / "from_environment").c_str(), 1);
  EXPECT_NE(find_models().error().place.file.find("from_environment"), std::string::npos);
  EXPECT_EQ(find_models(folder_ / "flag").error().place.file.find("from_environment"),
            std::string::npos);
}

TEST_F(ModelFolder, AnAlteredNetworkIsNotRead) {
  const auto models = find_models();
  if (!models) GTEST_SKIP() << "NO NETWORK FILES: run scripts/setup";
  const std::string name(network_file_name(NetworkFile::Lite));
  fs::copy_file(*models / name, folder_ / name);
  fs::permissions(folder_ / name, fs::perms::owner_all);
  ASSERT_TRUE(read_network_file(folder_, NetworkFile::Lite));
  {
    std::fstream file(folder_ / name, std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(1'000'000);
    file.put('\x5A');
  }
  const auto altered = read_network_file(folder_, NetworkFile::Lite);
  ASSERT_FALSE(altered);
  EXPECT_EQ(altered.error().code, ErrorCode::Invalid);
  EXPECT_NE(altered.error().message.find("SHA-256"), std::string::npos);
  fs::resize_file(folder_ / name, 1000);
  EXPECT_EQ(PoseEstimator::create(folder_, Variant::Lite, 1).error().code, ErrorCode::Invalid);
  EXPECT_EQ(read_network_file(folder_, NetworkFile::Full).error().code, ErrorCode::NotFound);
}

TEST(Variants, HaveNames) {
  for (const Variant variant : {Variant::Lite, Variant::Full, Variant::Heavy}) {
    EXPECT_EQ(*parse_variant(variant_name(variant)), variant);
  }
  EXPECT_EQ(parse_variant("huge").error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::pose
