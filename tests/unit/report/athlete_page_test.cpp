#include "report/athlete_page.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/cautions.h"
#include "outside_tools.h"
#include "support/demo_measurement.h"

namespace lintel::report {
namespace {

using ::testing::HasSubstr;

struct Case {
  std::string name;
  Paper paper = Paper::A4;
  UnitSystem units = UnitSystem::Metric;
  test_support::DemoOptions demo = {};
  int warnings = 1;
  bool has_side = true;
  bool has_explanation = true;
  bool has_picture = true;
  bool long_texts = false;
};

AthletePage render(const Case& c) {
  auto m = test_support::demo_measurement(c.demo);
  m.warnings.assign(static_cast<std::size_t>(c.warnings), m.warnings[0]);
  view::Assessment a = test_support::demo_assessment(m);
  if (!c.has_side) a.side = nullptr;
  if (!c.has_explanation) a.explanation.reset();
  if (c.long_texts) {
    const std::string filler =
        " with a very long addition that goes on and on about everything one could ever say";
    a.athlete_name =
        "Maximiliana Thorgerdsdottir-Skallagrimsson von Aunderhavn zu Skarnholm und "
        "Nebelkliff";
    for (auto& step : a.explanation->next_steps) {
      step.title += filler;
      step.detail += filler + filler + filler;
    }
    for (auto& part : a.explanation->parts) part.label += filler;
    a.explanation->sentences[0] += filler + filler + filler + filler;
    for (auto& warning : m.warnings) warning.message += filler + filler + filler;
    a.clip.file_name = std::string(300, 'f') + ".mp4";
    a.setup.heel_elevation = 0.015;
  }
  const Image picture = test_support::demo_picture(c.demo.width_px, c.demo.height_px);
  AthletePageOptions options;
  options.paper = c.paper;
  options.units = c.units;
  if (c.has_picture) options.bottom_picture = &picture;
  if (!m.repetitions.empty()) {
    options.bottom_index = m.repetitions[0].bottom_frame;
    options.disc = test_support::demo_disc(m, options.bottom_index);
  }
  auto page = render_athlete_page(a, options);
  EXPECT_TRUE(page) << c.name << (page ? "" : describe(page.error()));
  return page ? *page : AthletePage{};
}

std::vector<Case> cases() {
  std::vector<Case> list;
  for (int n = 1; n <= 12; ++n) {
    Case c{std::to_string(n) + " repetitions"};
    c.paper = n % 2 == 0 ? Paper::A4 : Paper::Letter;
    c.units = n % 3 == 0 ? UnitSystem::Imperial : UnitSystem::Metric;
    c.demo.repetitions = n;
    c.warnings = n % 5;
    list.push_back(c);
  }
  for (const Paper paper : {Paper::A4, Paper::Letter}) {
    Case c{"long texts, many repetitions"};
    c.paper = paper;
    c.demo.repetitions = 30;
    c.warnings = 9;
    c.long_texts = true;
    list.push_back(c);
    c.units = UnitSystem::Imperial;
    c.demo.width_px = 1280;
    c.demo.height_px = 720;
    c.demo.facing = -1;
    c.demo.roll = 0.08;
    list.push_back(c);
  }
  Case nothing{"nothing at all"};
  nothing.has_side = nothing.has_explanation = nothing.has_picture = false;
  list.push_back(nothing);
  Case no_bar{"no bar, no repetition, no tests"};
  no_bar.demo.bar_seen = false;
  no_bar.demo.repetitions = 0;
  no_bar.has_explanation = false;
  list.push_back(no_bar);
  Case drawing{"no picture"};
  drawing.has_picture = false;
  list.push_back(drawing);
  return list;
}

TEST(AthletePage, KeepsEveryTextOnThePageAndOffEveryOther) {
  for (const Case& c : cases()) {
    const AthletePage page = render(c);
    const double width = c.paper == Paper::A4 ? 595.28 : 612;
    const double height = c.paper == Paper::A4 ? 841.89 : 792;
    const auto& boxes = page.text_boxes;
    ASSERT_GT(boxes.size(), 20u) << c.name;
    for (std::size_t i = 0; i < boxes.size(); ++i) {
      EXPECT_GE(boxes[i].x, 20) << c.name << " text " << i;
      EXPECT_GE(boxes[i].y, 20) << c.name << " text " << i;
      EXPECT_LE(boxes[i].right(), width - 20) << c.name << " text " << i;
      EXPECT_LE(boxes[i].bottom(), height - 14) << c.name << " text " << i;
      for (std::size_t j = 0; j < i; ++j) {
        const Box a = boxes[i].inset(0.4);
        EXPECT_FALSE(a.overlaps(boxes[j].inset(0.4))) << c.name << " texts " << j << ", " << i;
      }
    }
  }
}

TEST(AthletePage, IsOnePageOfTheRightPaperForOtherReaders) {
  LINTEL_NEEDS_TOOL("pdfinfo");
  LINTEL_NEEDS_TOOL("qpdf");
  const TemporaryFolder folder;
  for (const Case& c : cases()) {
    const std::string file = folder.write("page.pdf", render(c).pdf);
    const std::string info = run_tool("pdfinfo " + file).output;
    EXPECT_THAT(words(info), HasSubstr("Pages: 1 ")) << c.name;
    EXPECT_THAT(info, HasSubstr(c.paper == Paper::A4 ? "(A4)" : "(letter)")) << c.name;
    const ToolRun check = run_tool("qpdf --check " + file);
    EXPECT_EQ(check.status, 0) << c.name << check.output;
  }
}

TEST(AthletePage, SaysNameDateNumbersAndCautions) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const TemporaryFolder folder;
  const std::string file = folder.write("page.pdf", render({"plain"}).pdf);
  const std::string text = words(run_tool("pdftotext " + file + " -").output);
  EXPECT_THAT(text, HasSubstr("Runa Fjellgard"));
  EXPECT_THAT(text, HasSubstr("25 November 2026"));
  EXPECT_THAT(text, HasSubstr("38° ± 2°"));
  EXPECT_THAT(text, HasSubstr("31° ± 1°"));
  EXPECT_THAT(text, HasSubstr("3.6 ± 0.6 cm"));
  EXPECT_THAT(text, HasSubstr("Heels up by 1.5 cm"));
  EXPECT_THAT(text, HasSubstr("8.4° (5 to 12)"));
  EXPECT_THAT(text, HasSubstr("The camera looked 4° ± 2° past a true side view."));
}

TEST(AthletePage, CarriesEveryCautionWhateverElseIsOnIt) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const TemporaryFolder folder;
  for (const Case& c : cases()) {
    const std::string file = folder.write("page.pdf", render(c).pdf);
    const std::string text = words(run_tool("pdftotext " + file + " -").output);
    for (const Caution& caution : cautions()) {
      EXPECT_THAT(text, HasSubstr(std::string(caution.text))) << c.name;
    }
  }
}

TEST(AthletePage, IsHonestWhenItCannotTell) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const TemporaryFolder folder;
  Case c{"no tests"};
  c.has_explanation = false;
  const std::string file = folder.write("page.pdf", render(c).pdf);
  const std::string text = words(run_tool("pdftotext " + file + " -").output);
  EXPECT_THAT(text, HasSubstr("Not enough tests to tell"));
}

TEST(AthletePage, IsTheSameEachTimeAndDatedByTheAssessment) {
  const Case c{"twice"};
  const std::string first = render(c).pdf;
  EXPECT_EQ(first, render(c).pdf);
  LINTEL_NEEDS_TOOL("pdfinfo");
  const TemporaryFolder folder;
  const std::string info = run_tool("pdfinfo -isodates " + folder.write("page.pdf", first)).output;
  EXPECT_THAT(words(info), HasSubstr("CreationDate: 2026-11-25T"));
  EXPECT_THAT(info, HasSubstr("Squat of Runa Fjellgard, 25 November 2026"));
}

TEST(AthletePage, RefusesADateThatIsNone) {
  view::Assessment a;
  a.assessed_on = "today";
  const auto page = render_athlete_page(a, {});
  ASSERT_FALSE(page);
  EXPECT_EQ(page.error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::report
