// What backups, exports, imports and erasures say: to people, and as JSON.
#pragma once

#include <string>
#include <vector>

#include "app/erase.h"
#include "view/safekeeping.h"

namespace lintel::app {

struct Printed {
  std::string text, json;
};

enum class BackupAct : std::uint8_t { Made, Checked };
Printed printed(const view::BackupSummary& backup, BackupAct act);
Printed printed(const view::RestoreSummary& restore);
Printed printed(const std::vector<view::BackupFile>& files);
Printed printed(const view::ExportSummary& summary);
Printed printed(const view::ImportSummary& summary);
Printed printed(const view::ErasureSummary& summary);
Printed printed(const CheckSummary& check, const Collected& removed);

}  // namespace lintel::app
