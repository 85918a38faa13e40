// Handout, record and letter: what every page must hold, whatever is on it.
#include <functional>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/cautions.h"
#include "outside_tools.h"
#include "report/handout.h"
#include "report/letter.h"
#include "report/page_parts.h"
#include "report/record.h"
#include "support/demo_visit.h"

namespace lintel::report {
namespace {

using test_support::demo_visit;
using test_support::DemoVisit;
using test_support::DemoVisitOptions;
using ::testing::HasSubstr;
using ::testing::Not;

struct Kind {
  const char* name;
  std::function<Result<Pages>(const view::Visit&, Paper, UnitSystem)> render;
};

LetterOptions letter_options() {
  LetterOptions options;
  options.sender = {"I. Strandvik", "Physiotherapist", "Quay Street 4, Skarnholm"};
  options.recipient = {"Dr. T. Hallgrim", "Sports medicine"};
  return options;
}

const std::vector<Kind>& kinds() {
  static const std::vector<Kind> list = {
      {"handout",
       [](const view::Visit& v, Paper p, UnitSystem u) {
         return render_handout(v, {p, u});
       }},
      {"record",
       [](const view::Visit& v, Paper p, UnitSystem u) {
         return render_record(v, {p, u});
       }},
      {"letter",
       [](const view::Visit& v, Paper p, UnitSystem u) {
         LetterOptions options = letter_options();
         options.paper = p;
         options.units = u;
         return render_letter(v, options);
       }},
  };
  return list;
}

struct Case {
  std::string name;
  DemoVisitOptions options;
  std::function<void(DemoVisit&)> change = [](DemoVisit&) {};
};

std::vector<Case> cases() {
  std::vector<Case> list;
  for (const int drills : {0, 1, 4, 12}) {
    list.push_back({std::to_string(drills) + " drills", {drills, {}, false}});
  }
  list.push_back({"long texts", {5, {}, true}});
  list.push_back({"pain", {7, {body::WarningSign::Pain}, false}});
  list.push_back({"fever", {7, {body::WarningSign::Fever}, false}});
  list.push_back({"nothing but a plan", {3, {}, false}, [](DemoVisit& v) {
                    v.visit.assessment = nullptr;
                    v.visit.tests = nullptr;
                    v.visit.findings = nullptr;
                    v.visit.loads = nullptr;
                    v.visit.library = {};
                    v.visit.intake.clear();
                    v.visit.practitioner.clear();
                    v.visit.tests_on.clear();
                  }});
  list.push_back({"empty plan", {0, {}, false}, [](DemoVisit& v) {
                    const Date from = v.plan.from;
                    v.plan = {};
                    v.plan.from = from;
                    v.athlete = {};
                  }});
  list.push_back({"foreign names", {2, {}, false}, [](DemoVisit& v) {
                    v.athlete.name = v.plan.athlete_name = "Þórunn Ægisdóttir 立花 \x01 \xff <&>";
                    v.plan.drills[0].name = "Ånde – «dypt»";
                  }});
  return list;
}

std::string page_text(const Pages& pages, int page = 0) {
  const TemporaryFolder folder;
  const std::string file = folder.write("pages.pdf", pages.pdf);
  const std::string range =
      page == 0 ? "" : "-f " + std::to_string(page) + " -l " + std::to_string(page) + " ";
  return words(run_tool("pdftotext " + range + file + " -").output);
}

// Columns beside one another come out of pdftotext line by line: looked for in raw order.
std::string raw_text(const Pages& pages) {
  const TemporaryFolder folder;
  return words(run_tool("pdftotext -raw " + folder.write("pages.pdf", pages.pdf) + " -").output);
}

template <typename Check>
void for_each_page(Check check) {
  for (const Case& c : cases()) {
    for (const Kind& kind : kinds()) {
      for (const Paper paper : {Paper::A4, Paper::Letter}) {
        const auto demo = demo_visit(c.options);
        c.change(*demo);
        const UnitSystem units = paper == Paper::A4 ? UnitSystem::Metric : UnitSystem::Imperial;
        const auto pages = kind.render(demo->visit, paper, units);
        const std::string what = std::string(kind.name) + ", " + c.name;
        ASSERT_TRUE(pages) << what << ": " << describe(pages.error());
        check(*pages, *demo, paper, what);
      }
    }
  }
}

TEST(VisitPages, KeepEveryTextOnThePageAndOffEveryOther) {
  for_each_page([](const Pages& pages, const DemoVisit&, Paper paper, const std::string& what) {
    const PaperSize size = size_of(paper);
    for (std::size_t page = 0; page < pages.text_boxes.size(); ++page) {
      const auto& boxes = pages.text_boxes[page];
      ASSERT_GT(boxes.size(), 3u) << what;
      for (std::size_t i = 0; i < boxes.size(); ++i) {
        const std::string where = what + ", page " + std::to_string(page + 1);
        EXPECT_GE(boxes[i].x, 20) << where << " text " << i;
        EXPECT_GE(boxes[i].y, 20) << where << " text " << i;
        EXPECT_LE(boxes[i].right(), size.width - 20) << where << " text " << i;
        EXPECT_LE(boxes[i].bottom(), size.height - 14) << where << " text " << i;
        for (std::size_t j = 0; j < i; ++j) {
          EXPECT_FALSE(boxes[i].inset(0.4).overlaps(boxes[j].inset(0.4)))
              << where << " texts " << j << ", " << i;
        }
      }
    }
  });
}

TEST(VisitPages, AreSoundFilesOfTheRightPaper) {
  LINTEL_NEEDS_TOOL("pdfinfo");
  LINTEL_NEEDS_TOOL("qpdf");
  for_each_page([](const Pages& pages, const DemoVisit&, Paper paper, const std::string& what) {
    const TemporaryFolder folder;
    const std::string file = folder.write("pages.pdf", pages.pdf);
    const std::string info = run_tool("pdfinfo " + file).output;
    EXPECT_THAT(words(info), HasSubstr("Pages: " + std::to_string(pages.text_boxes.size()) + " "))
        << what;
    EXPECT_THAT(info, HasSubstr(paper == Paper::A4 ? "(A4)" : "(letter)")) << what;
    const ToolRun check = run_tool("qpdf --check " + file);
    EXPECT_EQ(check.status, 0) << what << check.output;
  });
}

TEST(VisitPages, CarryEveryCautionAndTheShortFormsOnEachPage) {
  LINTEL_NEEDS_TOOL("pdftotext");
  for_each_page([](const Pages& pages, const DemoVisit&, Paper, const std::string& what) {
    const std::string all = raw_text(pages);
    for (const Caution& caution : cautions()) {
      EXPECT_THAT(all, HasSubstr(std::string(caution.text))) << what;
    }
    const int count = static_cast<int>(pages.text_boxes.size());
    for (int page = 1; page <= count; ++page) {
      const std::string text = page_text(pages, page);
      EXPECT_TRUE(text.find(std::string(cautions().front().brief)) != std::string::npos ||
                  text.find("Stop at once on pain, numbness") != std::string::npos)
          << what << " page " << page;
      EXPECT_THAT(text, HasSubstr("Page " + std::to_string(page) + " of " + std::to_string(count)))
          << what;
    }
  });
}

TEST(VisitPages, NameNoLoadedDrillAndNoLoadUnderAWarningSign) {
  LINTEL_NEEDS_TOOL("pdftotext");
  // Without a sign the same names do appear: the check below could fail.
  const auto free = demo_visit({12, {}, false});
  for (const Kind& kind : kinds()) {
    const auto pages = kind.render(free->visit, Paper::A4, UnitSystem::Metric);
    ASSERT_TRUE(pages);
    EXPECT_THAT(page_text(*pages), HasSubstr("Slow squat under the bar")) << kind.name;
  }
  for (int sign = 0; sign <= static_cast<int>(body::WarningSign::BladderOrBowelChange); ++sign) {
    const auto demo = demo_visit({12, {static_cast<body::WarningSign>(sign)}, false});
    const bool none = demo->plan.clearance == plan::Clearance::NoDrills;
    for (const Kind& kind : kinds()) {
      const auto pages = kind.render(demo->visit, Paper::A4, UnitSystem::Metric);
      ASSERT_TRUE(pages);
      const std::string text = page_text(*pages);
      for (const plan::Drill& drill : demo->library) {
        if (!drill.loaded && !none) continue;
        EXPECT_THAT(text, Not(HasSubstr(drill.name))) << kind.name << " sign " << sign;
      }
      EXPECT_THAT(text, Not(HasSubstr("empty bar"))) << kind.name << " sign " << sign;
      const plan::WarningRule& rule = plan::warning_rules()[static_cast<std::size_t>(sign)];
      EXPECT_THAT(raw_text(*pages), HasSubstr(rule.advice)) << kind.name << " sign " << sign;
    }
  }
}

// A plan that lost its own list of signs still shows nothing loaded.
TEST(VisitPages, TrustNeitherPlanNorAthleteAlone) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const auto demo = demo_visit({12, {}, false});
  demo->plan.clearance = plan::Clearance::UnloadedOnly;
  auto pages = render_handout(demo->visit, {});
  ASSERT_TRUE(pages);
  EXPECT_THAT(page_text(*pages), Not(HasSubstr("under the bar")));
  demo->plan.clearance = plan::Clearance::Full;
  demo->plan.warning_signs = {body::WarningSign::Dizziness};
  pages = render_handout(demo->visit, {});
  ASSERT_TRUE(pages);
  EXPECT_THAT(page_text(*pages), Not(HasSubstr("under the bar")));
  demo->plan.warning_signs.clear();
  demo->athlete.warning_signs = {body::WarningSign::Pain};
  for (const Kind& kind : kinds()) {
    pages = kind.render(demo->visit, Paper::A4, UnitSystem::Metric);
    ASSERT_TRUE(pages);
    EXPECT_THAT(page_text(*pages), Not(HasSubstr("under the bar"))) << kind.name;
    EXPECT_THAT(page_text(*pages), HasSubstr("ain: see a physiotherapist")) << kind.name;
  }
}

TEST(VisitPages, AreTheSameEachTimeAndDatedByTheVisit) {
  const auto demo = demo_visit();
  for (const Kind& kind : kinds()) {
    const auto first = kind.render(demo->visit, Paper::A4, UnitSystem::Metric);
    const auto second = kind.render(demo->visit, Paper::A4, UnitSystem::Metric);
    ASSERT_TRUE(first && second);
    EXPECT_EQ(first->pdf, second->pdf) << kind.name;
    const TemporaryFolder folder;
    const std::string info =
        run_tool("pdfinfo -isodates " + folder.write("pages.pdf", first->pdf)).output;
    if (has_tool("pdfinfo")) {
      EXPECT_THAT(words(info), HasSubstr("CreationDate: 2026-11-26T"));
    }
  }
}

TEST(VisitPages, RefuseWhatTheyCannotShow) {
  const auto demo = demo_visit();
  for (const Kind& kind : kinds()) {
    view::Visit visit = demo->visit;
    visit.issued_on = "yesterday";
    const auto undated = kind.render(visit, Paper::A4, UnitSystem::Metric);
    ASSERT_FALSE(undated) << kind.name;
    EXPECT_EQ(undated.error().code, ErrorCode::Invalid) << kind.name;
    const auto nothing = kind.render({}, Paper::A4, UnitSystem::Metric);
    ASSERT_FALSE(nothing) << kind.name;
    EXPECT_EQ(nothing.error().code, ErrorCode::Invalid) << kind.name;
    EXPECT_FALSE(nothing.error().mend.empty()) << kind.name;
  }
}

TEST(Handout, SaysWhatToDoHowMuchAndWhen) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const auto demo = demo_visit();
  const auto pages = render_handout(demo->visit, {});
  ASSERT_TRUE(pages);
  const std::string text = raw_text(*pages);
  for (const char* part :
       {"Runa Fjellgard", "38° → 31°", "about 7 in 10", "Heels up by 1.5 cm",
        "Knee rocks to the wall", "3 × 8, hold 2 s", "“heel heavy”", "Now: hand's breadth",
        "Move on when: The knee touches", "No pinching at the front of the ankle.", "Week 8",
        "11 January 2027: knee to the wall, 3 tries", "25 January 2027: film the squat again",
        "A heel lifts that a cue does not bring down.", "46.0 cm", "34 kg", "empty bar"}) {
    EXPECT_THAT(text, HasSubstr(part));
  }
  const auto imperial = render_handout(demo->visit, {Paper::Letter, UnitSystem::Imperial});
  ASSERT_TRUE(imperial);
  EXPECT_THAT(raw_text(*imperial), HasSubstr("18.1 in"));
  EXPECT_THAT(raw_text(*imperial), HasSubstr("75 lb"));
}

TEST(Handout, CutsNoTextHoweverLong) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const auto demo = demo_visit({3, {}, true});
  const auto pages = render_handout(demo->visit, {});
  ASSERT_TRUE(pages);
  EXPECT_GT(pages->text_boxes.size(), 4u);
  const std::string text = raw_text(*pages);
  // Each long step of each drill ends with the same words; all of them are there.
  std::size_t count = 0;
  const std::string end = "what was said about all of it.";
  for (std::size_t at = text.find(end); at != std::string::npos; at = text.find(end, at + 1)) {
    ++count;
  }
  EXPECT_GE(count, 3u * 12u);
}

TEST(Record, HoldsTestsFindingsConflictsAndBothWords) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const auto demo = demo_visit();
  const auto pages = render_record(demo->visit, {});
  ASSERT_TRUE(pages);
  EXPECT_LE(pages->text_boxes.size(), 2u);
  const std::string text = raw_text(*pages);
  for (const char* part :
       {"stature 171.0 cm", "No warning sign was named.", "38° ± 2°", "7.1 ± 0.8 cm",
        "3, SD 0.3 cm", "8.0 ± 0.4 cm", "short of it, within", "14 %", "left less right −3 ± 1 cm",
        "8.4° (5° to 12°), clear, 93 %", "The evidence disagrees",
        "[video squat-1, repetition 2, frame 184]", "repeat the test with three tries",
        "Habit: 3.0° (−1° to 7°), possible, 55 %", "Computed as above and kept.",
        "Rejected by I. Strandvik on 26 November 2026: She was asked to keep the bar low", "71 %",
        "best snatch", "common practice, no source"}) {
    EXPECT_THAT(text, HasSubstr(part));
  }
}

TEST(Record, ShowsNoDigitsThatSayNothing) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const auto demo = demo_visit();
  demo->tests.results[2].pass = body::PassCheck{{50 * kRadiansPerDegree, 0.0}, false, 0.2, false};
  demo->findings.all[1].size =
      reasoning::Size{-0.01 * kRadiansPerDegree, 0.0, 3 * kRadiansPerDegree};
  const auto pages = render_record(demo->visit, {});
  ASSERT_TRUE(pages);
  const std::string text = raw_text(*pages);
  EXPECT_THAT(text, HasSubstr("50° short of it"));
  EXPECT_THAT(text, Not(HasSubstr("50.0°")));
  EXPECT_THAT(text, HasSubstr("Habit: 0° (0° to 3°)"));
  EXPECT_THAT(text, Not(HasSubstr("0.0°")));
}

TEST(Record, KeepsTheWholeReasonOfAnOverrulingHoweverLong) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const auto demo = demo_visit({2, {}, true});
  const auto pages = render_record(demo->visit, {});
  ASSERT_TRUE(pages);
  const std::string text = raw_text(*pages);
  std::size_t count = 0;
  const std::string piece = "remark that goes on far longer";
  for (std::size_t at = text.find(piece); at != std::string::npos; at = text.find(piece, at + 1)) {
    ++count;
  }
  EXPECT_GE(count, 25u);  // 30 pieces in the reason; a page's end may fall into some
}

TEST(Record, SaysWhatWasNotDone) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const auto demo = demo_visit();
  view::Visit visit;
  visit.issued_on = "2026-11-26";
  visit.athlete = &demo->athlete;
  const auto pages = render_record(visit, {});
  ASSERT_TRUE(pages);
  const std::string text = page_text(*pages);
  EXPECT_THAT(text, HasSubstr("No side view was measured at this visit."));
  EXPECT_THAT(text, HasSubstr("No mobility test was done at this visit."));
  EXPECT_THAT(text, HasSubstr("No findings were computed at this visit."));
  EXPECT_THAT(text, HasSubstr("No plan was made at this visit."));
}

TEST(Letter, IsOnePageForAUsualVisitAndUsesTheFieldsGiven) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const auto demo = demo_visit();
  LetterOptions options = letter_options();
  options.subject = "Request for an opinion";
  options.reason = "She came because of her snatch.";
  options.request = "Please look at the left ankle.";
  const auto pages = render_letter(demo->visit, options);
  ASSERT_TRUE(pages);
  EXPECT_EQ(pages->text_boxes.size(), 1u);
  const std::string text = page_text(*pages);
  for (const char* part :
       {"Dr. T. Hallgrim", "Quay Street 4", "Request for an opinion", "Dear colleague,",
        "She came because of her snatch.", "trunk 38° ± 2°", "left 7.1 ± 0.8 cm", "clear, 93 %",
        "Please look at the left ankle.", "With kind regards", "Rejected by I. Strandvik"}) {
    EXPECT_THAT(text, HasSubstr(part));
  }
}

TEST(Letter, PutsTheReferralFirstWhereThereIsAWarningSign) {
  LINTEL_NEEDS_TOOL("pdftotext");
  const auto demo = demo_visit({4, {body::WarningSign::BladderOrBowelChange}, false});
  const auto pages = render_letter(demo->visit, letter_options());
  ASSERT_TRUE(pages);
  const std::string text = page_text(*pages);
  const std::size_t urgent = text.find("Urgent. Warning signs named at intake");
  ASSERT_NE(urgent, std::string::npos);
  EXPECT_LT(urgent, text.find("Measured ("));
  EXPECT_THAT(text, HasSubstr("before anything is trained"));
}

}  // namespace
}  // namespace lintel::report
