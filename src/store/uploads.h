// Uploads in pieces and hand-offs to a phone: what the database knows of them. The bytes are in a
// folder (app/uploads.h); of a hand-off's secret only the hash is kept.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "store/database.h"

namespace lintel::store {

struct Upload {
  std::string id;  // UUID
  std::string organization, created_by;
  std::string hand_off;         // id of the hand-off it came by; empty = of somebody signed in
  std::string athlete;          // of the hand-off's visit; empty = not yet known
  std::string name;             // of the file, without folders
  std::int64_t bytes = 0;       // when complete
  std::string expected_sha256;  // as the sender says; may be empty
  std::string sha256;           // of the complete file in the media folder; empty = not complete
  std::string media_type;       // by the name's ending
  std::string created_at, expires_at;

  bool complete() const { return !sha256.empty(); }
};

// id: empty = a new one. Errors: Conflict when it is taken.
Result<Upload> add_upload(Transaction& t, const Upload& upload);
// Errors: NotFound, also for one of another organization or past its time.
Result<Upload> find_upload(Transaction& t, std::string_view organization, std::string_view id,
                           std::string_view now);
Result<void> complete_upload(Transaction& t, std::string_view id, std::string_view sha256,
                             std::string_view expires_at);
Result<void> remove_upload(Transaction& t, std::string_view id);
// Unfinished ones of this person and organization (limits), and of one hand-off.
Result<std::int64_t> count_open_uploads(Transaction& t, std::string_view organization,
                                        std::string_view created_by, std::string_view now);
Result<std::vector<Upload>> uploads_of_hand_off(Transaction& t, std::string_view hand_off);
// A complete upload with these bytes: who may name the digest before a record refers to it.
Result<std::optional<Upload>> find_complete_upload(Transaction& t, std::string_view organization,
                                                   std::string_view sha256, std::string_view now);
// Removes those past their time; answers their ids, for their files.
Result<std::vector<std::string>> remove_expired_uploads(Transaction& t, std::string_view now);
// Of all organizations, sorted: files of other ids are left over.
Result<std::vector<std::string>> upload_ids(Transaction& t);
// Digests of complete uploads that wait for their record: no garbage yet.
Result<std::vector<std::string>> media_of_uploads(Transaction& t);

struct HandOff {
  std::string id;  // UUID
  std::string organization, athlete, visit;
  std::string created_by;    // the clip's trial is made in this person's name
  std::string creator_role;  // "practitioner", ...
  std::string secret_sha256;
  std::string created_at, expires_at;
  std::string spent_at;  // when its one clip had arrived; empty = not yet
  std::string trial;     // that the clip became
};

Result<HandOff> add_hand_off(Transaction& t, const HandOff& hand_off);
// Also a spent one. Errors: NotFound for an unknown or expired one (which of them is not told).
Result<HandOff> find_hand_off(Transaction& t, std::string_view secret_sha256, std::string_view now);
// Errors: Conflict when it is spent already.
Result<void> spend_hand_off(Transaction& t, std::string_view id, std::string_view trial,
                            std::string_view now);
Result<void> remove_expired_hand_offs(Transaction& t, std::string_view before);

// For the erasure of an athlete: uploads and hand-offs; answers the ids of the uploads.
Result<std::vector<std::string>> remove_uploads_of_athlete(Transaction& t,
                                                           std::string_view organization,
                                                           std::string_view athlete);

}  // namespace lintel::store
