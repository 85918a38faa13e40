// What tests of clips do alike: an athlete with a visit, a clip sent in pieces, a job done.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include <nlohmann/json.hpp>

#include "app/worker.h"
#include "support/server_fixture.h"

namespace lintel::test {

using Json = nlohmann::json;

inline std::string clip_bytes(const std::string& name) {
  std::ifstream in(std::string(LINTEL_CLIPS_DIR) + "/" + name, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline Json parsed(const HttpReply& reply) {
  const Json json = Json::parse(reply.body, nullptr, false);
  EXPECT_FALSE(json.is_discarded()) << reply.status << " " << reply.body.substr(0, 400);
  return json;
}

// The body of a reply that must have this status.
inline Json expect_json(const HttpReply& reply, int status) {
  EXPECT_EQ(reply.status, status) << reply.body.substr(0, 600) << reply.fault;
  return parsed(reply);
}

inline std::string id_of(const Json& json) {
  return json.value("id", std::string());
}

// A visit of a new athlete, whose body and setup are those of the clip's lifter.
inline std::string make_visit(HttpClient& client, const std::string& clip) {
  const Json athlete = Json::parse(clip_bytes(clip + ".athlete.json"));
  const Json intake = {{"schema", "lintel-intake-1"}, {"athlete", athlete}};
  const Json made = expect_json(client.post("/api/v1/athletes", intake.dump()), 201);
  const Json visit = {{"schema", "lintel-visit-1"}, {"date", "2026-03-09"}, {"purpose", "first"}};
  return id_of(
      expect_json(client.post("/api/v1/athletes/" + id_of(made) + "/visits", visit.dump()), 201));
}

inline HttpReply send_piece(HttpClient& client, const std::string& address,
                            const std::string& bytes, std::size_t first, std::size_t length) {
  const std::string piece = bytes.substr(first, length);
  return client.send("PUT", address, piece,
                     {{"Content-Type", "application/octet-stream"},
                      {"Content-Range", "bytes " + std::to_string(first) + "-" +
                                            std::to_string(first + piece.size() - 1) + "/" +
                                            std::to_string(bytes.size())}});
}

// The whole file in pieces of 300 kB; the id of the complete upload.
inline std::string upload(HttpClient& client, const std::string& name, const std::string& bytes) {
  const Json asked = {{"name", name}, {"bytes", bytes.size()}};
  const std::string id = id_of(expect_json(client.post("/api/v1/uploads", asked.dump()), 201));
  constexpr std::size_t kPiece = 300'000;
  for (std::size_t at = 0; at < bytes.size(); at += kPiece) {
    EXPECT_EQ(send_piece(client, "/api/v1/uploads/" + id, bytes, at, kPiece).status, 200);
  }
  return id;
}

struct MadeTrial {
  std::string trial, job;
};
inline MadeTrial make_trial(HttpClient& client, const std::string& visit, const Json& body) {
  const Json made =
      expect_json(client.post("/api/v1/visits/" + visit + "/trials", body.dump()), 201);
  return {id_of(made), made.at("job").at("id")};
}

// Does one waiting job on this thread.
inline bool do_one_job(app::Practice& practice) {
  return value_of(app::work_once(practice, {}, {}));
}

}  // namespace lintel::test
