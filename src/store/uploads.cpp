#include "store/uploads.h"

#include "secure/random.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

const std::string kUploadColumns =
    "id, organization, created_by, hand_off, athlete, name, bytes, expected_sha256, sha256, "
    "media_type, created_at, expires_at";
const std::string kHandOffColumns =
    "id, organization, athlete, visit, created_by, creator_role, secret_sha256, created_at, "
    "expires_at, spent_at, trial";

template <typename... Bindings>
std::vector<Upload> uploads_where(soci::session& sql, const std::string& condition,
                                  Bindings&&... bindings) {
  Upload u;
  soci::details::prepare_temp_type prepared(sql);
  prepared << "SELECT " + kUploadColumns + " FROM uploads WHERE " + condition;
  ((void)(prepared, std::forward<Bindings>(bindings)), ...);
  (void)(prepared, soci::into(u.id), soci::into(u.organization), soci::into(u.created_by),
         soci::into(u.hand_off), soci::into(u.athlete), soci::into(u.name), soci::into(u.bytes),
         soci::into(u.expected_sha256), soci::into(u.sha256), soci::into(u.media_type),
         soci::into(u.created_at), soci::into(u.expires_at));
  soci::statement statement(prepared);
  statement.execute();
  std::vector<Upload> rows;
  while (statement.fetch()) rows.push_back(u);
  return rows;
}

template <typename... Bindings>
std::vector<std::string> texts_of(soci::session& sql, const std::string& text,
                                  Bindings&&... bindings) {
  std::string value;
  soci::details::prepare_temp_type prepared(sql);
  prepared << text;
  ((void)(prepared, std::forward<Bindings>(bindings)), ...);
  (void)(prepared, soci::into(value));
  soci::statement statement(prepared);
  statement.execute();
  std::vector<std::string> rows;
  while (statement.fetch()) rows.push_back(value);
  return rows;
}

Error no_upload() {
  return Error{ErrorCode::NotFound, "there is no such upload", {}, "begin it again", {}};
}

Error no_hand_off() {
  return Error{ErrorCode::NotFound,
               "this address is not good any more",
               {},
               "ask for a new square code",
               {}};
}

}  // namespace

Result<Upload> add_upload(Transaction& t, const Upload& upload) {
  return run_sql(t, "beginning an upload", [&](soci::session& sql) -> Result<Upload> {
    Upload u = upload;
    if (u.id.empty()) u.id = secure::random_id();
    const std::int64_t added = run_statement(
        sql,
        "INSERT INTO uploads (" + kUploadColumns +
            ") VALUES (:id, :organization, :created_by, :hand_off, :athlete, :name, :bytes, "
            ":expected, :sha256, :media_type, :created_at, :expires_at) ON CONFLICT DO NOTHING",
        soci::use(u.id, "id"), soci::use(u.organization, "organization"),
        soci::use(u.created_by, "created_by"), soci::use(u.hand_off, "hand_off"),
        soci::use(u.athlete, "athlete"), soci::use(u.name, "name"), soci::use(u.bytes, "bytes"),
        soci::use(u.expected_sha256, "expected"), soci::use(u.sha256, "sha256"),
        soci::use(u.media_type, "media_type"), soci::use(u.created_at, "created_at"),
        soci::use(u.expires_at, "expires_at"));
    if (added == 0) return fail(ErrorCode::Conflict, "this upload is there already");
    return u;
  });
}

Result<Upload> find_upload(Transaction& t, std::string_view organization_view,
                           std::string_view id_view, std::string_view now_view) {
  return run_sql(t, "reading an upload", [&](soci::session& sql) -> Result<Upload> {
    const std::string organization(organization_view), id(id_view), now(now_view);
    auto rows = uploads_where(
        sql, "id = :id AND organization = :organization AND expires_at > :now", soci::use(id, "id"),
        soci::use(organization, "organization"), soci::use(now, "now"));
    if (rows.empty()) return fail(no_upload());
    return std::move(rows.front());
  });
}

Result<void> complete_upload(Transaction& t, std::string_view id_view, std::string_view sha256_view,
                             std::string_view expires_view) {
  return run_sql(t, "completing an upload", [&](soci::session& sql) -> Result<void> {
    const std::string id(id_view), sha256(sha256_view), expires(expires_view);
    const std::int64_t rows = run_statement(
        sql, "UPDATE uploads SET sha256 = :sha256, expires_at = :expires WHERE id = :id",
        soci::use(sha256, "sha256"), soci::use(expires, "expires"), soci::use(id, "id"));
    if (rows == 0) return fail(no_upload());
    return {};
  });
}

Result<void> remove_upload(Transaction& t, std::string_view id_view) {
  return run_sql(t, "removing an upload", [&](soci::session& sql) {
    const std::string id(id_view);
    sql << "DELETE FROM uploads WHERE id = :id", soci::use(id, "id");
  });
}

Result<std::int64_t> count_open_uploads(Transaction& t, std::string_view organization_view,
                                        std::string_view person_view, std::string_view now_view) {
  return run_sql(t, "counting uploads", [&](soci::session& sql) {
    const std::string organization(organization_view), person(person_view), now(now_view);
    std::int64_t count = 0;
    sql << "SELECT COUNT(*) FROM uploads WHERE organization = :organization AND created_by = "
           ":person AND sha256 = '' AND expires_at > :now",
        soci::use(organization, "organization"), soci::use(person, "person"), soci::use(now, "now"),
        soci::into(count);
    return count;
  });
}

Result<std::vector<Upload>> uploads_of_hand_off(Transaction& t, std::string_view hand_off_view) {
  return run_sql(t, "reading uploads", [&](soci::session& sql) {
    const std::string hand_off(hand_off_view);
    return uploads_where(sql, "hand_off = :hand_off ORDER BY created_at, id",
                         soci::use(hand_off, "hand_off"));
  });
}

Result<std::optional<Upload>> find_complete_upload(Transaction& t,
                                                   std::string_view organization_view,
                                                   std::string_view sha256_view,
                                                   std::string_view now_view) {
  return run_sql(t, "reading an upload", [&](soci::session& sql) -> std::optional<Upload> {
    const std::string organization(organization_view), sha256(sha256_view), now(now_view);
    if (sha256.empty()) return std::nullopt;
    auto rows = uploads_where(
        sql, "sha256 = :sha256 AND organization = :organization AND expires_at > :now",
        soci::use(sha256, "sha256"), soci::use(organization, "organization"),
        soci::use(now, "now"));
    if (rows.empty()) return std::nullopt;
    return std::move(rows.front());
  });
}

Result<std::vector<std::string>> remove_expired_uploads(Transaction& t, std::string_view now_view) {
  return run_sql(t, "removing old uploads", [&](soci::session& sql) {
    const std::string now(now_view);
    auto ids =
        texts_of(sql, "SELECT id FROM uploads WHERE expires_at <= :now", soci::use(now, "now"));
    sql << "DELETE FROM uploads WHERE expires_at <= :now", soci::use(now, "now");
    return ids;
  });
}

Result<std::vector<std::string>> media_of_uploads(Transaction& t) {
  return run_sql(t, "reading uploads", [&](soci::session& sql) {
    return texts_of(sql, "SELECT DISTINCT sha256 FROM uploads WHERE sha256 <> '' ORDER BY sha256");
  });
}

Result<std::vector<std::string>> upload_ids(Transaction& t) {
  return run_sql(t, "reading uploads", [&](soci::session& sql) {
    return texts_of(sql, "SELECT id FROM uploads ORDER BY id");
  });
}

Result<HandOff> add_hand_off(Transaction& t, const HandOff& hand_off) {
  return run_sql(t, "making a hand-off", [&](soci::session& sql) {
    HandOff h = hand_off;
    if (h.id.empty()) h.id = secure::random_id();
    sql << "INSERT INTO hand_offs (" + kHandOffColumns +
               ") VALUES (:id, :organization, :athlete, :visit, :created_by, :role, :secret, "
               ":created_at, :expires_at, '', '')",
        soci::use(h.id, "id"), soci::use(h.organization, "organization"),
        soci::use(h.athlete, "athlete"), soci::use(h.visit, "visit"),
        soci::use(h.created_by, "created_by"), soci::use(h.creator_role, "role"),
        soci::use(h.secret_sha256, "secret"), soci::use(h.created_at, "created_at"),
        soci::use(h.expires_at, "expires_at");
    return h;
  });
}

Result<HandOff> find_hand_off(Transaction& t, std::string_view secret_view,
                              std::string_view now_view) {
  return run_sql(t, "reading a hand-off", [&](soci::session& sql) -> Result<HandOff> {
    const std::string secret(secret_view), now(now_view);
    HandOff h;
    sql << "SELECT " + kHandOffColumns +
               " FROM hand_offs WHERE secret_sha256 = :secret AND expires_at > :now",
        soci::use(secret, "secret"), soci::use(now, "now"), soci::into(h.id),
        soci::into(h.organization), soci::into(h.athlete), soci::into(h.visit),
        soci::into(h.created_by), soci::into(h.creator_role), soci::into(h.secret_sha256),
        soci::into(h.created_at), soci::into(h.expires_at), soci::into(h.spent_at),
        soci::into(h.trial);
    if (!sql.got_data()) return fail(no_hand_off());
    return h;
  });
}

Result<void> spend_hand_off(Transaction& t, std::string_view id_view, std::string_view trial_view,
                            std::string_view now_view) {
  return run_sql(t, "ending a hand-off", [&](soci::session& sql) -> Result<void> {
    const std::string id(id_view), trial(trial_view), now(now_view);
    const std::int64_t rows = run_statement(
        sql,
        "UPDATE hand_offs SET spent_at = :now, trial = :trial WHERE id = :id AND spent_at = ''",
        soci::use(now, "now"), soci::use(trial, "trial"), soci::use(id, "id"));
    if (rows == 0) return fail(ErrorCode::Conflict, "this address has been used already");
    return {};
  });
}

Result<void> remove_expired_hand_offs(Transaction& t, std::string_view before_view) {
  return run_sql(t, "removing old hand-offs", [&](soci::session& sql) {
    const std::string before(before_view);
    sql << "DELETE FROM hand_offs WHERE expires_at <= :before", soci::use(before, "before");
  });
}

Result<std::vector<std::string>> remove_uploads_of_athlete(Transaction& t,
                                                           std::string_view organization_view,
                                                           std::string_view athlete_view) {
  return run_sql(t, "removing uploads", [&](soci::session& sql) {
    const std::string organization(organization_view), athlete(athlete_view);
    auto ids = texts_of(
        sql, "SELECT id FROM uploads WHERE organization = :organization AND athlete = :athlete",
        soci::use(organization, "organization"), soci::use(athlete, "athlete"));
    sql << "DELETE FROM uploads WHERE organization = :organization AND athlete = :athlete",
        soci::use(organization, "organization"), soci::use(athlete, "athlete");
    sql << "DELETE FROM hand_offs WHERE organization = :organization AND athlete = :athlete",
        soci::use(organization, "organization"), soci::use(athlete, "athlete");
    return ids;
  });
}

}  // namespace lintel::store
