#include "plan/progression.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <set>
#include <sstream>

#include "body/number_table.h"
#include "plan/progression_numbers.h"

namespace lintel::plan {
namespace {

using testing::HasSubstr;

const Date kStart = Date::parse("2026-03-02").value();

DrillAsked asked_drill(int step) {
  DrillAsked asked;
  asked.drill = "drill";
  asked.name = "Drill";
  asked.ladder = {{"first", 3, 7.0, false}, {"second", 3, 7.0, false}, {"third", 3, 7.0, true}};
  asked.step = step;
  asked.sets = 3;
  asked.repetitions = 8;
  asked.lighter_weeks = {kStart + 21};
  return asked;
}

// One entry of the log, see tests/data/plan/README.md.
void add_entry(History& history, std::string text) {
  DrillDone done;
  done.drill = "drill";
  text.erase(0, text.find_first_not_of(' '));
  if (text.rfind("other:", 0) == 0) {
    done.drill = "other";
    text.erase(0, 6);
  }
  std::istringstream words(text);
  int day = 0;
  words >> day;
  for (std::string word; words >> word;) {
    if (word[0] == '@') {
      done.effort = std::stod(word.substr(1));
    } else if (word[0] == 'p') {
      done.pain_during = std::stoi(word.substr(1));
      const auto slash = word.find('/');
      if (slash != std::string::npos) done.pain_next_morning = std::stoi(word.substr(slash + 1));
    } else if (word[0] == 's') {
      done.step = std::stoi(word.substr(1)) - 1;
    } else if (word[0] == '!') {
      for (int i = 0; i < kStopSignCount; ++i) {
        if (stop_sign_name(static_cast<StopSign>(i)) == word.substr(1)) {
          done.stop_sign = static_cast<StopSign>(i);
        }
      }
      ASSERT_TRUE(done.stop_sign) << word;
    } else {
      ASSERT_EQ(std::sscanf(word.c_str(), "%dx%d", &done.sets, &done.repetitions), 2) << word;
    }
  }
  history.sessions.push_back({kStart + day, {done}});
}

std::vector<body::WarningSign> signs_of(const std::string& name) {
  for (int i = 0; i <= static_cast<int>(body::WarningSign::BladderOrBowelChange); ++i) {
    const auto sign = static_cast<body::WarningSign>(i);
    if (body::warning_sign_name(sign) == name) return {sign};
  }
  EXPECT_EQ(name, "");
  return {};
}

std::optional<TestNews> news_of(const std::string& name) {
  if (name.empty()) return std::nullopt;
  EXPECT_TRUE(name == "worse" || name == "reached" || name == "not_working") << name;
  return TestNews{name == "worse", name == "reached", name == "not_working"};
}

TEST(Progression, WorkedHistoriesComeOutAsWrittenDown) {
  std::ifstream file(std::string(LINTEL_SOURCE_DIR) + "/tests/data/plan/worked-histories.csv");
  std::string line;
  ASSERT_TRUE(std::getline(file, line));
  std::set<std::string> rules;
  int cases = 0;
  while (std::getline(file, line)) {
    const std::vector<std::string> cells = body::split_csv_line(line);
    ASSERT_EQ(cells.size(), 11u) << line;
    SCOPED_TRACE(cells[0]);
    History history;
    std::istringstream log(cells[3]);
    for (std::string entry; std::getline(log, entry, ';');) add_entry(history, entry);
    if (!cells[4].empty()) {
      history.releases.push_back({kStart + std::stoi(cells[4]), "physician", ""});
    }
    const DrillDecision d =
        decide(asked_drill(std::stoi(cells[1]) - 1), history, signs_of(cells[5]), news_of(cells[6]),
               kStart + std::stoi(cells[2]));
    EXPECT_EQ(decision_name(d.decision), cells[7]);
    EXPECT_EQ(d.next_step, std::stoi(cells[8]) - 1);
    EXPECT_EQ(rule_name(d.rule), cells[9]);
    EXPECT_EQ(d.reason.find('\n'), std::string::npos);
    if (!cells[10].empty()) {
      EXPECT_EQ(d.reason, cells[10]);
    }
    rules.insert(cells[9]);
    ++cases;
  }
  EXPECT_GE(cases, 25);
  // Every rule decides at least one of them.
  EXPECT_EQ(rules.size(), static_cast<std::size_t>(kRuleCount));
}

TEST(Progression, EveryRuleHasARowWithSentenceAndSource) {
  std::set<Rule> rules;
  for (const RuleRow& row : progression_rules()) {
    rules.insert(row.rule);
    EXPECT_FALSE(row.why.empty());
    EXPECT_FALSE(row.source.empty());
  }
  EXPECT_EQ(rules.size(), static_cast<std::size_t>(kRuleCount));
  EXPECT_EQ(progression_rules().back().rule, Rule::GoodSessions);
}

TEST(Progression, NothingMovesOnWhileAReasonToReferStands) {
  // Refer before go back before hold before move on, in the table itself.
  const auto rank = [](Decision d) {
    return d == Decision::Refer ? 0 : d == Decision::GoBack ? 1 : d == Decision::Hold ? 2 : 3;
  };
  int last = 0;
  for (const RuleRow& row : progression_rules()) {
    EXPECT_GE(rank(row.decision), last) << rule_name(row.rule);
    last = rank(row.decision);
  }
}

TEST(Progression, PainNumbersAreThoseOfTheSources) {
  // Thomee 1997; Silbernagel et al. 2007 (from memory): at most 5 of 10. Boonstra et al. 2016: from
  // 8 of 10 severe.
  EXPECT_EQ(progression_numbers().value("pain.limit"), 5);
  EXPECT_EQ(progression_numbers().value("pain.severe"), 8);
}

TEST(Progression, ADamagedTableIsRefusedWithItsLine) {
  const std::string header = "rule,decision,why,source\n";
  const auto error = [&](const std::string& row) {
    const auto rows = detail::parse_progression(header + row, "table.csv");
    EXPECT_FALSE(rows);
    return rows ? Error{} : rows.error();
  };
  EXPECT_EQ(error("long_brake,hold,x,y\n").place.line, 2);
  EXPECT_THAT(error("long_brake,hold,x,y\n").message, HasSubstr("unknown rule"));
  EXPECT_THAT(error("long_break,stay,x,y\n").message, HasSubstr("unknown decision"));
  EXPECT_THAT(error("long_break,hold,x,\n").message, HasSubstr("source"));
  EXPECT_THAT(error("long_break,hold,x,y\nlong_break,hold,x,y\n").message, HasSubstr("twice"));
  EXPECT_THAT(error("long_break,hold,x,y\n").message, HasSubstr("missing"));
}

TEST(Progression, AWarningSignBarsAllOfADrillWithALoadedStep) {
  DrillAsked asked = asked_drill(0);
  const std::vector<body::WarningSign> pain = {body::WarningSign::Pain};
  EXPECT_EQ(decide(asked, {}, pain, {}, kStart).decision, Decision::Hold);
  asked.loaded = true;
  EXPECT_EQ(decide(asked, {}, pain, {}, kStart).decision, Decision::Refer);
  EXPECT_EQ(decide(asked, {}, {}, {}, kStart).decision, Decision::Hold);
}

TEST(Progression, HoldsForTimeCountByTheirSeconds) {
  DrillAsked asked = asked_drill(0);
  asked.repetitions = 0;
  asked.hold = 30;
  DrillDone done;
  done.sets = 3;
  done.hold = 20;
  EXPECT_NEAR(share_done(asked, {kStart, &done}), 2.0 / 3, 1e-12);
  done.hold = 0;  // the seconds were not written down: the sets count
  EXPECT_EQ(share_done(asked, {kStart, &done}), 1);
}

}  // namespace
}  // namespace lintel::plan
