#include "app/idempotency.h"

#include <span>

#include "base/date.h"
#include "secure/sha256.h"
#include "store/idempotency.h"

namespace lintel::app {
namespace {

std::string digest(const std::string& text) {
  return secure::sha256_hex(
      std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()));
}

// Everything that makes two keys different, with lengths so that no two sets of parts look alike.
std::string whole_key(const Caller& caller, const OnceKey& key) {
  std::string text;
  for (const std::string* part : {&caller.organization, &caller.person, &key.path, &key.key}) {
    text += std::to_string(part->size()) + ":" + *part;
  }
  return digest(text);
}

// Keys are kept for a day.
Result<std::string> oldest_kept(const std::string& now) {
  const Date today = LINTEL_TRY(Date::parse(now.substr(0, 10)));
  return Date::from_days(today.days() - 1).iso() + now.substr(10);
}

}  // namespace

Result<std::optional<std::string>> begin_once(Practice& practice, const Caller& caller,
                                              const OnceKey& key) {
  const std::string name = whole_key(caller, key);
  const std::string content = digest(key.content);
  const std::string now = practice.now();
  const std::string oldest = LINTEL_TRY(oldest_kept(now));
  const auto begin = [&](store::Transaction& t) {
    return store::begin_once(t, name, caller.organization, content, now, oldest);
  };
  const store::OnceState state =
      LINTEL_TRY(store::write_value<store::OnceState>(*practice.database, begin));
  if (state.fresh) return std::nullopt;
  if (state.content != content) {
    return fail(Error{ErrorCode::Invalid,
                      "was used for another request before",
                      {"", 0, 0, "Idempotency-Key", -1},
                      "choose a new key",
                      {}});
  }
  if (state.answer.empty()) {
    return fail(ErrorCode::Conflict, "the first request with this Idempotency-Key has not ended",
                "wait, then look whether it was done before trying with a new key");
  }
  return state.answer;
}

Result<void> finish_once(Practice& practice, const Caller& caller, const OnceKey& key,
                         const std::string& answer) {
  const std::string name = whole_key(caller, key);
  return practice.database->write([&](store::Transaction& t) {
    return answer.empty() ? store::forget_once(t, name) : store::finish_once(t, name, answer);
  });
}

}  // namespace lintel::app
