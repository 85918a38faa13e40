// A plan as it is kept, "lintel-plan-record-1": what was asked for, the plan that counts, edits by
// hand, files. And what programs send to make and to edit one.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "base/result.h"
#include "plan/plan.h"

namespace lintel::formats {

// What is empty comes from the athlete's record. SI.
struct PlanWish {
  std::optional<double> time_per_session;  // [s]
  std::optional<int> sessions, weeks;
  std::optional<Date> goal_date, from;
  std::optional<double> goal;  // trunk inclination [rad]
  std::optional<plan::EquipmentSet> equipment;
  bool letter_paper = false;  // else A4
  bool imperial = false;
  std::vector<std::string> recipient;  // of the letter
  std::string letter_reason, letter_request;
  std::uint64_t seed = 1;
};
struct PlanWishReading {
  std::optional<PlanWish> wish;  // only when there is no fault
  std::vector<Error> faults;
};
// Strict; an empty text is an empty wish. Limits: 64 KiB. Never throws.
PlanWishReading read_plan_wish_json(std::string_view text);

struct PlanEdit {
  std::string drill;
  std::optional<int> sets, repetitions, step;  // step from 0
  std::optional<double> hold;                  // [s]
  bool leave_out = false;
};
// {"edits": [...]} or {"bring_back": 1}: an earlier version as it was.
struct PlanUpdate {
  std::vector<PlanEdit> edits;
  std::optional<int> bring_back;
  std::string reason;
};
struct PlanUpdateReading {
  std::optional<PlanUpdate> update;
  std::vector<Error> faults;
};
PlanUpdateReading read_plan_update_json(std::string_view text);

struct KeptFile {
  std::string name, sha256, media_type;
};
struct PlanRecordDocument {
  std::string visit, trial;  // ids; trial may be empty
  PlanWish wish;
  plan::Plan plan;
  std::vector<PlanEdit> edits;  // all so far, the oldest first
  std::vector<KeptFile> files;
};
std::string write_plan_record_json(const PlanRecordDocument& document);
// Of a document that was written by the function above. Errors: Invalid.
Result<PlanRecordDocument> read_plan_record_json(std::string_view text);

}  // namespace lintel::formats
