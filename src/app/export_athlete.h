// Everything of one athlete as a zip that people and programs can read
// (docs/schema/export.schema.json), and such a zip taken in elsewhere.
#pragma once

#include <filesystem>
#include <string_view>

#include "app/access.h"
#include "app/practice.h"
#include "base/progress.h"
#include "base/result.h"
#include "view/safekeeping.h"

namespace lintel::app {

// Writes the archive (it may not exist yet): manifest.json, README.txt, every version of every
// record as it was written, all media. Errors: Denied, NotFound, Conflict, Io, Cancelled.
Result<view::ExportSummary> export_athlete(Practice& practice, const Caller& caller,
                                           std::string_view athlete,
                                           const std::filesystem::path& target,
                                           const WorkContext& work = {});

// Takes the athlete of such an archive into the caller's organization, under the same ids, with all
// versions, authors and times as they were. Everything is checked before anything is written, and
// what is written is one transaction. Errors: Denied; Invalid, Limit, Unsupported with the entry or
// the field; Conflict when one of the records is in this workplace already.
Result<view::ImportSummary> import_athlete(Practice& practice, const Caller& caller,
                                           const std::filesystem::path& archive,
                                           const WorkContext& work = {});

// "ansa-brinvik" for file names: letters of the name as ASCII, at most 40; "athlete" when none is
// left.
std::string file_name_of(std::string_view name);

}  // namespace lintel::app
