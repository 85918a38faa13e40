#include "store/name_words.h"

#include <algorithm>
#include <iterator>
#include <set>
#include <vector>

#include "store/name_fold.h"
#include "store/row_writer.h"

namespace lintel::store {
namespace {

using Words = std::set<std::string>;

Result<Words> words_before(Transaction& t, const Record& athlete) {
  return run_sql(t, "reading the words of a name", [&](soci::session& sql) {
    Words out;
    std::string word;
    soci::statement rows =
        (sql.prepare << "SELECT word FROM athlete_words WHERE athlete = :athlete",
         soci::use(athlete.id, "athlete"), soci::into(word));
    rows.execute();
    while (rows.fetch()) out.insert(word);
    return out;
  });
}

Result<void> remove_word(Transaction& t, const Record& athlete, const std::string& word) {
  return run_sql(t, "changing the words of a name", [&](soci::session& sql) {
    sql << "DELETE FROM athlete_words WHERE organization = :organization AND word = :word"
           " AND athlete = :athlete",
        soci::use(athlete.organization, "organization"), soci::use(word, "word"),
        soci::use(athlete.id, "athlete");
    sql << "DELETE FROM name_words WHERE organization = :organization AND word = :word"
           " AND NOT EXISTS (SELECT 1 FROM athlete_words w"
           "  WHERE w.organization = :organization AND w.word = :word)",
        soci::use(athlete.organization, "organization"), soci::use(word, "word");
  });
}

// "vik": "vik", "ik", "k".
std::vector<std::string> endings_of(const std::string& word) {
  std::vector<std::string> out;
  for (std::size_t i = 0; i < word.size(); ++i) {
    const bool begins_a_letter = (static_cast<unsigned char>(word[i]) & 0xC0) != 0x80;
    if (begins_a_letter) out.push_back(word.substr(i));
  }
  return out;
}

Result<void> add_words(Transaction& t, const Record& athlete, const std::vector<std::string>& add) {
  std::vector<std::vector<Cell>> words, of_athlete;
  for (const std::string& word : add) {
    for (const std::string& ending : endings_of(word)) {
      words.push_back({athlete.organization, word, ending});
    }
    of_athlete.push_back({athlete.organization, word, athlete.id});
  }
  LINTEL_TRY_VOID(insert_rows(t, "changing the words of a name", "name_words",
                              "organization, word, ending", words, "ON CONFLICT DO NOTHING"));
  return insert_rows(t, "changing the words of a name", "athlete_words",
                     "organization, word, athlete", of_athlete);
}

}  // namespace

Result<void> write_name_words(Transaction& t, const Record& athlete,
                              const std::string& folded_name) {
  const std::vector<std::string> parts = search_parts(folded_name);
  const Words now(parts.begin(), parts.end());
  const Words before = LINTEL_TRY(words_before(t, athlete));
  std::vector<std::string> gone, added;
  std::set_difference(before.begin(), before.end(), now.begin(), now.end(),
                      std::back_inserter(gone));
  std::set_difference(now.begin(), now.end(), before.begin(), before.end(),
                      std::back_inserter(added));
  for (const std::string& word : gone) LINTEL_TRY_VOID(remove_word(t, athlete, word));
  return add_words(t, athlete, added);
}

}  // namespace lintel::store
