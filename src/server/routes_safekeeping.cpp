// Routes about exports, imports, erasure and backups.
#include <nlohmann/json.hpp>
#include <string>
#include <utility>

#include "app/safekeeping_requests.h"
#include "server/route_tools.h"
#include "server/routes.h"

namespace lintel::server {
namespace {

using app::Permission;
using app::Practice;

constexpr std::size_t kArchiveBody = std::size_t{64} << 20;  // larger ones come as an upload

Result<Response> get_export(Practice& practice, const Call& call) {
  app::ArchiveToSend archive =
      LINTEL_TRY(app::export_to_send(practice, call.caller, call.path.at("athlete"), call.work));
  return download(Response::file(std::move(archive.path), "application/zip"), archive.name);
}

Result<Response> post_import(Practice& practice, const Call& call) {
  const auto answer = [&]() -> Result<app::ImportAnswer> {
    const std::string type = content_type(call.request);
    if (type == "application/zip" || type == "application/x-zip-compressed") {
      return app::import_bytes(practice, call.caller, call.request.body, call.work);
    }
    const nlohmann::json body = LINTEL_TRY(json_object(call.request));
    LINTEL_TRY_VOID(only_members(body, {"upload"}));
    const std::string upload = LINTEL_TRY(text_member(body, "upload"));
    return app::import_upload(practice, call.caller, upload, call.work);
  };
  app::ImportAnswer done = LINTEL_TRY(answer());
  return created(std::move(done.json), "/api/v1/athletes/" + done.athlete);
}

Result<Response> post_erase(Practice& practice, const Call& call) {
  const nlohmann::json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"reason"}));
  const std::string reason = LINTEL_TRY(text_member(body, "reason"));
  return Response::json(
      LINTEL_TRY(app::erase_on_request(practice, call.caller, call.path.at("athlete"), reason)));
}

Result<Response> get_backups(Practice& practice, const Call& call) {
  return Response::json(LINTEL_TRY(app::backups_there(practice, call.caller)));
}

Result<Response> post_backup(Practice& practice, const Call& call) {
  std::string passphrase;
  if (!call.request.body.empty()) {
    const nlohmann::json body = LINTEL_TRY(json_object(call.request));
    LINTEL_TRY_VOID(only_members(body, {"passphrase"}));
    passphrase = text_member_or(body, "passphrase", "");
  }
  return Response::json(
      LINTEL_TRY(app::backup_on_request(practice, call.caller, passphrase, call.work)), 201);
}

}  // namespace

void add_safekeeping_routes(std::vector<Route>& routes, Practice& practice) {
  const auto handler = [&practice](Result<Response> (*body)(Practice&, const Call&)) -> Handler {
    return [&practice, body](const Call& call) { return body(practice, call); };
  };
  routes.push_back({Method::Get, "/api/v1/athletes/{athlete}/export", "exportAthlete",
                    Permission::TakeOut, handler(get_export)});
  routes.push_back({Method::Post, "/api/v1/imports", "importAthlete", Permission::WriteRecords,
                    handler(post_import), kArchiveBody});
  routes.push_back({Method::Post, "/api/v1/athletes/{athlete}/erase", "eraseAthlete",
                    Permission::Erase, handler(post_erase)});
  routes.push_back({Method::Get, "/api/v1/backups", "listBackups", Permission::Administer,
                    handler(get_backups)});
  routes.push_back({Method::Post, "/api/v1/backups", "createBackup", Permission::Administer,
                    handler(post_backup)});
}

}  // namespace lintel::server
