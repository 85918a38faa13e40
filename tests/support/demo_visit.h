// An invented visit with everything on it: athlete, tests, findings, plan, drills, loads. For tests
// of the pages; the numbers are made up and hang together only loosely.
#pragma once

#include <memory>

#include "demo_measurement.h"
#include "view/visit.h"

namespace lintel::test_support {

struct DemoVisitOptions {
  int drills = 4;  // planned, at most 12
  std::vector<body::WarningSign> warning_signs;
  bool long_texts = false;
};

// Owns what the visit points to; must not be moved after creation, hence on the heap.
struct DemoVisit {
  body::Athlete athlete;
  std::vector<body::TestProtocol> protocols;
  body::TestRecord record;
  body::RecordOutcome tests;
  reasoning::Findings findings;
  std::vector<plan::Drill> library;
  plan::Plan plan;
  plan::LoadAdvice loads;
  kinematics::Measurement measurement;
  view::Assessment assessment;
  view::Visit visit;
};
std::unique_ptr<DemoVisit> demo_visit(const DemoVisitOptions& options = {});

// A figure in the overhead squat beside the same standing.
Sketch demo_sketch();

}  // namespace lintel::test_support
