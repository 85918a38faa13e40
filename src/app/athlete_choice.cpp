#include "app/athlete_choice.h"

#include <vector>

#include "store/caseload_queries.h"
#include "store/record_columns.h"

namespace lintel::app {

Result<ChosenAthlete> choose_athlete(Practice& practice, const Caller& caller,
                                     std::string_view id_or_name) {
  LINTEL_TRY_VOID(require(caller, Permission::ReadCaseload));
  std::vector<ChosenAthlete> found;
  const auto look = [&](store::Transaction& t) -> Result<void> {
    found.clear();
    const auto record = store::find_record(t, caller.organization, id_or_name);
    if (record && record->kind == store::RecordKind::Athlete) {
      const store::IndexRows columns = LINTEL_TRY(store::columns_of_record(t, record->id));
      found.push_back({record->id, columns.athlete ? columns.athlete->name : std::string()});
      return {};
    }
    for (const auto view : {store::CaseloadView::All, store::CaseloadView::Archived}) {
      store::CaseloadQuery query;
      query.organization = caller.organization;
      query.view = view;
      query.today = practice.today();
      query.search = id_or_name;
      for (const store::CaseloadRow& row :
           LINTEL_TRY(store::list_caseload(t, query, {{}, 20})).rows) {
        found.push_back({row.athlete, row.name});
      }
    }
    return {};
  };
  LINTEL_TRY_VOID(practice.database->read(look));
  if (found.size() == 1) return found.front();
  if (found.empty()) {
    return fail(ErrorCode::NotFound, "no athlete here has this id or name",
                "check the spelling; every part of the name is looked for");
  }
  std::string list;
  for (const ChosenAthlete& one : found) list += "\n  " + one.id + "  " + one.name;
  return fail(ErrorCode::Conflict, "this name fits several athletes:" + list, "give the id");
}

}  // namespace lintel::app
