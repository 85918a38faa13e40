// Exports, imports, erasure and backups over HTTP.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "app/backup.h"
#include "support/server_fixture.h"

namespace lintel::server {
namespace {

namespace fs = std::filesystem;
using app::Role;
using nlohmann::json;

constexpr const char* kWords = "kelp anchor winter bell";

TEST(SafekeepingRoutes, OneAthleteGoesOutInAndAway) {
  test::ServerFixture fixture;
  const std::string athlete = fixture.add_athlete("Ansa Brinvik");
  test::HttpClient owner = fixture.as(Role::Owner);
  const test::HttpReply out = owner.get("/api/v1/athletes/" + athlete + "/export");
  ASSERT_EQ(out.status, 200) << out.body;
  EXPECT_EQ(out.header("content-type"), "application/zip");
  EXPECT_EQ(out.header("content-disposition").find("attachment"), 0U);
  EXPECT_NE(out.header("content-disposition").find("ansa-brinvik-"), std::string::npos);
  EXPECT_EQ(out.header("cache-control"), "no-store");
  const fs::path file = fixture.folder() / "out.zip";
  test::write_bytes(file, out.body);
  EXPECT_EQ(std::system(("unzip -tqq '" + file.string() + "'").c_str()), 0);

  const test::Headers zip = {{"content-type", "application/zip"}};
  test::HttpReply in = owner.send("POST", "/api/v1/imports", out.body, zip);
  EXPECT_EQ(in.status, 409) << in.body;
  EXPECT_EQ(fixture.as(Role::Practitioner).get("/api/v1/athletes/" + athlete + "/export").status,
            200);
  for (const Role role : {Role::Assistant, Role::Athlete, Role::Reviewer}) {
    EXPECT_EQ(fixture.as(role).get("/api/v1/athletes/" + athlete + "/export").status, 403);
  }
  EXPECT_EQ(fixture.as(Role::Owner, 1).get("/api/v1/athletes/" + athlete + "/export").status, 404);

  const std::string erase = "/api/v1/athletes/" + athlete + "/erase";
  EXPECT_EQ(fixture.as(Role::Practitioner).post(erase, R"({"reason": "asked for"})").status, 403);
  EXPECT_EQ(owner.post(erase, "{}").status, 422);
  const test::HttpReply named = owner.post(erase, R"({"reason": "Ansa asked"})");
  EXPECT_EQ(named.status, 422);
  EXPECT_EQ(json::parse(named.body)["place"]["field"], "reason");
  const test::HttpReply gone = owner.post(erase, R"({"reason": "asked for in writing"})");
  ASSERT_EQ(gone.status, 200) << gone.body;
  EXPECT_GE(json::parse(gone.body)["kept"].size(), 3U);
  EXPECT_EQ(owner.get("/api/v1/athletes/" + athlete).status, 404);

  in = owner.send("POST", "/api/v1/imports", out.body, zip);
  ASSERT_EQ(in.status, 201) << in.body;
  EXPECT_EQ(in.header("location"), "/api/v1/athletes/" + athlete);
  EXPECT_EQ(owner.get("/api/v1/athletes/" + athlete).status, 200);
  const test::HttpReply bad = owner.send("POST", "/api/v1/imports", "no zip at all", zip);
  EXPECT_EQ(bad.status, 422);
  EXPECT_EQ(bad.header("content-type"), "application/problem+json");
  EXPECT_EQ(bad.body.find(fixture.folder().string()), std::string::npos) << bad.body;
}

TEST(SafekeepingRoutes, AnArchiveComesAsAnUploadToo) {
  test::ServerFixture fixture;
  const std::string athlete = fixture.add_athlete("Ansa Brinvik");
  test::HttpClient owner = fixture.as(Role::Owner);
  const std::string bytes = owner.get("/api/v1/athletes/" + athlete + "/export").body;
  ASSERT_EQ(
      owner.post("/api/v1/athletes/" + athlete + "/erase", R"({"reason": "moved away"})").status,
      200);
  const std::string size = std::to_string(bytes.size());
  const test::HttpReply begun =
      owner.post("/api/v1/uploads", R"({"name": "ansa.zip", "bytes": )" + size + "}");
  ASSERT_EQ(begun.status, 201) << begun.body;
  const std::string upload = json::parse(begun.body)["id"];
  EXPECT_EQ(owner.post("/api/v1/imports", R"({"upload": ")" + upload + "\"}").status, 409);
  const test::HttpReply put =
      owner.send("PUT", "/api/v1/uploads/" + upload, bytes,
                 {{"content-range", "bytes 0-" + std::to_string(bytes.size() - 1) + "/" + size},
                  {"content-type", "application/octet-stream"}});
  ASSERT_EQ(put.status, 200) << put.body;
  const test::HttpReply in = owner.post("/api/v1/imports", R"({"upload": ")" + upload + "\"}");
  ASSERT_EQ(in.status, 201) << in.body;
  EXPECT_EQ(json::parse(in.body)["athlete"], athlete);
  EXPECT_EQ(owner.head("/api/v1/uploads/" + upload).status, 404);
  EXPECT_TRUE(fixture.practice().media->list().value().empty());  // the archive is gone
}

TEST(SafekeepingRoutes, BackupsAreMadeByOwnersAndTellNoPath) {
  test::ServerFixture fixture;
  fixture.add_athlete("Ansa Brinvik");
  test::HttpClient owner = fixture.as(Role::Owner);
  EXPECT_EQ(fixture.as(Role::Practitioner).get("/api/v1/backups").status, 403);
  EXPECT_EQ(json::parse(owner.get("/api/v1/backups").body)["items"].size(), 0U);
  const test::HttpReply none = owner.post("/api/v1/backups", "{}");
  EXPECT_EQ(none.status, 422);
  EXPECT_EQ(json::parse(none.body)["place"]["field"], "passphrase");
  EXPECT_EQ(owner.post("/api/v1/backups", R"({"passphrase": "short"})").status, 422);
  const test::HttpReply made =
      owner.post("/api/v1/backups", std::string(R"({"passphrase": ")") + kWords + "\"}");
  ASSERT_EQ(made.status, 201) << made.body;
  EXPECT_EQ(made.body.find(fixture.folder().string()), std::string::npos);
  const json list = json::parse(owner.get("/api/v1/backups").body)["items"];
  ASSERT_EQ(list.size(), 1U);
  EXPECT_EQ(list[0]["name"], json::parse(made.body)["name"]);
  const fs::path file = app::backup_folder(fixture.practice()) / list[0]["name"].get<std::string>();
  EXPECT_TRUE(app::check_backup(file, secure::Passphrase(kWords)));
}

}  // namespace
}  // namespace lintel::server
