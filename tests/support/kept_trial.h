// A measured clip in the store, as a worker leaves it, without measuring one.
#pragma once

#include <string>
#include <utility>

#include "formats/trial_json.h"
#include "store/records.h"
#include "support/server_fixture.h"

namespace lintel::test {

// Of a clip that nobody filmed; `results` are the files of the measurement.
inline formats::TrialDocument measured_trial(std::vector<formats::StoredFile> results = {}) {
  formats::TrialDocument trial;
  trial.clip = {"clip.mp4", std::string(64, 'b'), "video/mp4", 1};
  trial.state = formats::TrialState::Measured;
  trial.measured_at = "2026-09-07T10:00:00.000Z";
  trial.program_version = "0.1.0";
  trial.results = std::move(results);
  return trial;
}

// Kept in the practitioner's name; answers the id.
inline std::string keep_trial(ServerFixture& server, const std::string& athlete,
                              const std::string& visit, const formats::TrialDocument& trial,
                              store::IndexRows index) {
  const app::Caller& caller = server.person(app::Role::Practitioner).caller;
  app::Practice& practice = server.practice();
  store::NewRecord record;
  record.kind = store::RecordKind::Trial;
  record.organization = caller.organization;
  record.athlete = athlete;
  record.parent = visit;
  record.document = formats::write_trial_json(trial);
  record.index = std::move(index);
  const auto body = [&](store::Transaction& t) {
    return insert_record(t, record, {caller.person, practice.now()});
  };
  return value_of(store::write_value<store::Record>(*practice.database, body)).id;
}

}  // namespace lintel::test
