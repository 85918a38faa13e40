#include "server/static_files.h"

#include <gtest/gtest.h>

#include <filesystem>

#include "support/temporary_folder.h"

namespace lintel::server {
namespace {

Request asking(std::string path, std::string encodings = {}) {
  Request request;
  request.path = std::move(path);
  if (!encodings.empty()) request.headers["accept-encoding"] = std::move(encodings);
  return request;
}

class WebFolder : public ::testing::Test {
 protected:
  WebFolder() {
    std::filesystem::create_directories(folder_.path() / "web" / "app");
    test::write_bytes(folder_.path() / "secret.txt", "secret");
    put("index.html", "<!doctype html>");
    put("app/main-3FA9C2D1.js", "let a;");
    put("app/main-3FA9C2D1.js.gz", "small");
    put("app/main-3FA9C2D1.js.br", "smaller");
    put("sw.js", "self");
    files_ = StaticFiles::folder(folder_.path() / "web").value();
  }
  void put(const std::string& name, const std::string& bytes) {
    test::write_bytes(folder_.path() / "web" / name, bytes);
  }
  std::string bytes(const std::string& path, const std::string& encodings = {}) {
    const auto found = files_.find(asking(path, encodings));
    return found ? std::get<std::string>(found->body) : "none";
  }
  test::TemporaryFolder folder_;
  StaticFiles files_;
};

TEST_F(WebFolder, AnswersFilesAndThePageForEveryOtherPath) {
  EXPECT_EQ(bytes("/"), "<!doctype html>");
  EXPECT_EQ(bytes("/athletes/7/visits"), "<!doctype html>");
  EXPECT_EQ(bytes("/u/abc"), "<!doctype html>");
  EXPECT_EQ(bytes("/app/main-3FA9C2D1.js"), "let a;");
  EXPECT_EQ(bytes("/app/gone.js"), "none");  // a page in place of a script would only confuse
}

TEST_F(WebFolder, SendsTheSmallestThatTheBrowserReads) {
  EXPECT_EQ(bytes("/app/main-3FA9C2D1.js", "gzip, br"), "smaller");
  EXPECT_EQ(bytes("/app/main-3FA9C2D1.js", "gzip"), "small");
  EXPECT_EQ(bytes("/app/main-3FA9C2D1.js", "br;q=0, gzip;q=0.5"), "small");
  const auto found = files_.find(asking("/app/main-3FA9C2D1.js", "br"));
  EXPECT_EQ(*found->header("content-encoding"), "br");
  EXPECT_EQ(*found->header("vary"), "accept-encoding");
  EXPECT_EQ(*found->header("content-type"), "text/javascript; charset=utf-8");
}

TEST_F(WebFolder, KeepsOnlyNamesThatChangeWithTheirContent) {
  EXPECT_NE(
      files_.find(asking("/app/main-3FA9C2D1.js"))->header("cache-control")->find("immutable"),
      std::string::npos);
  EXPECT_EQ(*files_.find(asking("/sw.js"))->header("cache-control"), "no-cache");
  EXPECT_EQ(*files_.find(asking("/"))->header("cache-control"), "no-cache");
}

TEST_F(WebFolder, TagsDifferByContentAndCoding) {
  const std::string plain = *files_.find(asking("/app/main-3FA9C2D1.js"))->header("etag");
  const std::string small = *files_.find(asking("/app/main-3FA9C2D1.js", "gzip"))->header("etag");
  EXPECT_NE(plain, small);
  const std::string before = *files_.find(asking("/"))->header("etag");
  put("index.html", "<!doctype html>2");
  EXPECT_NE(*files_.find(asking("/"))->header("etag"), before);
}

TEST_F(WebFolder, DoesNotFollowALinkOutOfTheFolder) {
  std::filesystem::create_symlink(folder_.path() / "secret.txt",
                                  folder_.path() / "web" / "link.txt");
  EXPECT_EQ(bytes("/link.txt"), "none");
  EXPECT_EQ(bytes("/../secret.txt"), "none");
}

TEST(StaticFilesFolder, MustHoldAPage) {
  test::TemporaryFolder folder;
  EXPECT_EQ(StaticFiles::folder(folder.path()).error().code, ErrorCode::NotFound);
}

TEST(EmbeddedFiles, AreFoundWithoutTheirPrefix) {
  static const std::string_view kPage = "page";
  const EmbeddedFile list[] = {{"web/dist/index.html", &kPage}};
  const StaticFiles files = StaticFiles::embedded(list, "web/dist/");
  EXPECT_EQ(std::get<std::string>(files.find(asking("/"))->body), "page");
  EXPECT_FALSE(StaticFiles{}.find(asking("/")));
}

}  // namespace
}  // namespace lintel::server
