// Exports and imports through the server: archives on their way out and in.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "app/access.h"
#include "app/practice.h"
#include "base/progress.h"
#include "base/result.h"

namespace lintel::app {

struct ArchiveToSend {
  std::filesystem::path path;  // stays for an hour
  std::string name;            // for the person who saves it
};
Result<ArchiveToSend> export_to_send(Practice& practice, const Caller& caller,
                                     std::string_view athlete, const WorkContext& work);

// The bytes of an archive, or one that was uploaded in pieces before (app/uploads.h). Answers the
// summary as JSON, with the athlete's id.
struct ImportAnswer {
  std::string athlete, json;
};
Result<ImportAnswer> import_bytes(Practice& practice, const Caller& caller, std::string_view bytes,
                                  const WorkContext& work);
Result<ImportAnswer> import_upload(Practice& practice, const Caller& caller,
                                   std::string_view upload, const WorkContext& work);

// A backup into the backup folder; without a passphrase with that of lintel.toml. JSON. Errors:
// Denied (Administer), Invalid (no passphrase at all), those of make_backup.
Result<std::string> backup_on_request(Practice& practice, const Caller& caller,
                                      std::string_view passphrase, const WorkContext& work);
// {"items": [...]}. Errors: Denied.
Result<std::string> backups_there(Practice& practice, const Caller& caller);

// The erasure with its answer as JSON.
Result<std::string> erase_on_request(Practice& practice, const Caller& caller,
                                     std::string_view athlete, std::string_view reason);

}  // namespace lintel::app
