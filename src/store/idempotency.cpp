#include "store/idempotency.h"

#include "store/sql.h"

namespace lintel::store {

Result<OnceState> begin_once(Transaction& t, std::string_view key, std::string_view organization,
                             std::string_view content, std::string_view now,
                             std::string_view oldest) {
  return run_sql(t, "looking a request up", [&](soci::session& sql) {
    const std::string key_text(key), organization_text(organization), content_text(content);
    const std::string now_text(now), oldest_text(oldest);
    sql << "DELETE FROM once_keys WHERE at < :oldest", soci::use(oldest_text, "oldest");
    const std::int64_t made =
        run_statement(sql,
                      "INSERT INTO once_keys (once_key, organization, content, answer, at) "
                      "VALUES (:key, :organization, :content, '', :at) ON CONFLICT DO NOTHING",
                      soci::use(key_text, "key"), soci::use(organization_text, "organization"),
                      soci::use(content_text, "content"), soci::use(now_text, "at"));
    OnceState state;
    state.fresh = made > 0;
    sql << "SELECT content, answer FROM once_keys WHERE once_key = :key",
        soci::use(key_text, "key"), soci::into(state.content), soci::into(state.answer);
    return state;
  });
}

Result<void> finish_once(Transaction& t, std::string_view key, std::string_view answer) {
  return run_sql(t, "keeping an answer", [&](soci::session& sql) {
    const std::string key_text(key), answer_text(answer);
    sql << "UPDATE once_keys SET answer = :answer WHERE once_key = :key",
        soci::use(answer_text, "answer"), soci::use(key_text, "key");
  });
}

Result<void> forget_once(Transaction& t, std::string_view key) {
  return run_sql(t, "forgetting a request", [&](soci::session& sql) {
    const std::string key_text(key);
    sql << "DELETE FROM once_keys WHERE once_key = :key", soci::use(key_text, "key");
  });
}

Result<void> forget_once_of(Transaction& t, std::string_view organization) {
  return run_sql(t, "forgetting requests", [&](soci::session& sql) {
    const std::string organization_text(organization);
    sql << "DELETE FROM once_keys WHERE organization = :organization",
        soci::use(organization_text, "organization");
  });
}

}  // namespace lintel::store
