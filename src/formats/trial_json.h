// A trial, "lintel-trial-1" (docs/schema/trial.schema.json): one clip of a visit, how it is to be
// measured, what was corrected by hand, and the files that came of it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "kinematics/corrections.h"

namespace lintel::formats {

struct StoredFile {
  std::string name, sha256, media_type;
  std::int64_t bytes = 0;
};

// What a person may write; of a POST and a PUT.
struct TrialEdit {
  std::string name;           // for people; empty = the clip's
  std::string view = "side";  // "side", "front": what was filmed
  std::string network;        // "lite", "full", "heavy"
  std::string notes;
  std::string
      setup;  // JSON object with keys of "setup" of lintel-athlete-1 that differ; may be empty
  std::optional<int> person;            // who is measured, from the left
  std::optional<double> vertical_roll;  // [rad]
  bool look_for_disc = true;            // key "no_disc": an empty bar or a pipe
  kinematics::Corrections corrections;
};

// How the pictures were looked at; points of another look cannot be measured again.
struct Look {
  std::string network = "full";
  std::optional<int> person;
  bool look_for_disc = true;
  bool operator==(const Look&) const = default;
};
Look look_of(const TrialEdit& edit);

enum class TrialState : std::uint8_t { Waiting, Measured, Failed };

struct TrialDocument {
  TrialEdit edit;
  StoredFile clip;  // name: as it was uploaded
  TrialState state = TrialState::Waiting;
  std::vector<StoredFile> results;
  // Of the measurement that the results are of.
  std::string measured_at, program_version, summary;
  bool corrected = false;
  Look look;
  std::string fault, mend;  // why it could not be measured

  const StoredFile* result(std::string_view name) const;
};

struct TrialReading {
  std::optional<TrialDocument> trial;  // only when there is no fault
  std::vector<Error> faults;           // all (at most 100), with field, line and column
};
// Strict. Limits: 4 MiB, 20,000 moved points. Never throws.
TrialReading read_trial_json(std::string_view text, std::string_view file_name);
std::string write_trial_json(const TrialDocument& trial);
// Do two edits ask for the same measurement?
bool same_measurement(const TrialEdit& one, const TrialEdit& other);

// The body of POST /visits/{visit}/trials: the keys of an edit and "upload" or "media".
struct NewTrialBody {
  std::string upload, media;
  TrialEdit edit;
};
struct NewTrialReading {
  std::optional<NewTrialBody> body;
  std::vector<Error> faults;
};
NewTrialReading read_new_trial_json(std::string_view text);
// The body of PUT /trials/{trial}: a trial document; what only the server writes is passed over.
struct TrialEditReading {
  std::optional<TrialEdit> edit;
  std::vector<Error> faults;
};
TrialEditReading read_trial_edit_json(std::string_view text);

// The athlete ("lintel-athlete-1") out of an intake ("lintel-intake-1"), with these keys of the
// setup replaced. Errors: Invalid when a text is no such document.
Result<std::string> athlete_of_intake(std::string_view intake, std::string_view setup);
// "date" of a visit's document; empty when it has none.
std::string date_of_visit(std::string_view visit);

}  // namespace lintel::formats
