#include "pose/model_files.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <string>

#include "pose/network.h"
#include "pose/pose_estimator.h"
#include "pose/sha256.h"

namespace lintel::pose {
namespace {

namespace fs = std::filesystem;

std::string sha_of(const std::string& text) {
  return sha256_hex({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

// Secure Hash Standard, FIPS 180-4, with NIST's example values (SHA256.pdf, one and two blocks)
// and the values for the empty text and a million letters a of the validation programme.
TEST(Sha256, GivesThePublishedDigests) {
  EXPECT_EQ(sha_of(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(sha_of("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha_of(std::string(1'000'000, 'a')),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

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
