// Joins video, tests and model into findings. Rules: docs/answers.md, "Findings".
#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

#include "base/text.h"
#include "reasoning/defaults.h"
#include "reasoning/finding.h"
#include "reasoning/finding_parts.h"
#include "reasoning/test_limits.h"

namespace lintel::reasoning {
namespace {

using body::MobilityTest;
using posture::Limit;

constexpr std::array kRanges = {Factor::Ankle, Factor::Hip, Factor::Thorax, Factor::Shoulder,
                                Factor::Latissimus};

bool overhead(const FindingsInput& in) {
  return in.explained.setup.bar_position == body::BarPosition::Overhead;
}
bool of_arm(Factor factor) {
  return factor == Factor::Shoulder || factor == Factor::Latissimus;
}

class Builder {
 public:
  Builder(const FindingsInput& in, std::vector<TestReading> readings)
      : in_(in), readings_(std::move(readings)), part_(in) {}

  Result<Findings> run() {
    add_contradiction();
    add_exclusion();
    for (const Factor factor : {Factor::Stance, Factor::ToeOut, Factor::Heel, Factor::Grip}) {
      if (factor != Factor::Grip || overhead(in_)) add_lever(factor);
    }
    for (const Factor factor : kRanges) {
      if (!of_arm(factor) || overhead(in_)) add_range(factor);
    }
    add_habit();
    LINTEL_TRY_VOID(add_sides());
    add_arms();
    add_nothing();
    order();
    return std::move(out_);
  }

 private:
  const ExplainResult& explained() const { return in_.explained; }

  bool is_tested(Limit limit) const {
    return std::any_of(readings_.begin(), readings_.end(),
                       [&](const TestReading& r) { return r.limit == limit; });
  }
  bool is_tested(Factor factor) const { return is_tested(limits_of(factor).front()); }
  // Every side that was tested passes.
  bool passes(Limit limit) const {
    return is_tested(limit) &&
           std::all_of(readings_.begin(), readings_.end(),
                       [&](const TestReading& r) { return r.limit != limit || r.passes; });
  }

  Finding base(std::string id, FindingKind kind, std::optional<Factor> part) const {
    Finding f;
    f.id = std::move(id);
    f.kind = kind;
    f.part = part;
    if (part) {
      f.title = std::string(factor_label(*part));
      f.title.front() =
          static_cast<char>(std::toupper(static_cast<unsigned char>(f.title.front())));
    }
    return f;
  }

  Finding of_part(Factor factor, FindingKind kind, double least) const {
    Finding f = base(std::string(factor_name(factor)), kind, factor);
    f.size = part_.size(factor);
    f.probability = part_.probability_above(factor, least);
    f.probability_largest = explained().uncertainty.probability_largest[index_of(factor)];
    f.confidence = confidence_of(f.probability);
    return f;
  }

  void add_tests(Finding& f, Limit limit, Bearing passing, Bearing failing) const {
    for (const TestReading& r : readings_) {
      if (r.limit == limit) {
        f.evidence.push_back(test_evidence(r, r.passes ? passing : failing));
      }
    }
  }
  void add_video(Finding& f, SeenQuantity quantity, Bearing bearing, std::string note) const {
    append(f.evidence, video_evidence(in_, quantity, bearing, note));
  }
  void add_model(Finding& f, Factor factor) const {
    f.evidence.push_back(model_evidence(
        explained(), factor,
        f.confidence == Confidence::Unlikely ? Bearing::Contradicts : Bearing::Supports));
  }

  // ---- Conflicts --------------------------------------------------------------------------------

  void add_contradiction() {
    const ExplainResult& r = explained();
    if (!r.uncertainty.contradicted || !r.observed || r.tests_done == 0) return;
    Finding f = base("tests_against_posture", FindingKind::TestsAgainstPosture, std::nullopt);
    f.title = "Tests against the posture seen";
    const double seen = r.observed->value;
    const double allowed = r.uncertainty.most_upright.mean;
    const bool too_upright = seen < allowed;
    // Draws count alike here; of the second case only "fewer than one in twenty agrees" is known.
    f.probability = too_upright ? part_.probability_below(Factor::Habit, 0.0) : 0.95;
    f.confidence = confidence_of(f.probability);
    if (too_upright) too_upright_ = f.probability;
    if (too_upright) {
      f.sentence = text(
          "The trunk was seen at %.0f deg; by the tests the body allows no less than about %.0f "
          "deg (95 %%: %.0f to %.0f) with this setup.",
          degrees(seen), degrees(allowed), degrees(r.uncertainty.most_upright.low),
          degrees(r.uncertainty.most_upright.high));
      f.conflict =
          "Both cannot be right: a test was read too low, or the clip is of another setup, scale "
          "or depth. Repeat the tests that fail before anything is built on them; until then the "
          "parts below count every test as good as the others.";
      f.size = Size{allowed - seen, r.uncertainty.most_upright.low - seen,
                    r.uncertainty.most_upright.high - seen};
      for (const TestReading& t : readings_) {
        if (!t.passes) f.evidence.push_back(test_evidence(t, Bearing::Contradicts));
      }
    } else {
      f.sentence = text(
          "Trunk (%.0f deg) and shank as seen do not go together in balance with these segment "
          "lengths and tests.",
          degrees(seen));
      f.conflict =
          "Check the camera's view, the segment lengths and the ankle test; until then the parts "
          "below do not use what was seen to judge the tests.";
      add_video(f, SeenQuantity::Shank, Bearing::Contradicts, "");
    }
    add_video(f, SeenQuantity::Trunk, Bearing::Supports, "");
    out_.all.push_back(std::move(f));
  }

  void add_exclusion() {
    const ExplainResult& r = explained();
    if (r.outcome != posture::Outcome::Infeasible) return;
    Finding f = base("tests_exclude_posture", FindingKind::TestsExcludePosture, std::nullopt);
    f.title = "Tests that exclude this depth";
    std::string names;
    for (const TestReading& t : readings_) {
      if (!r.conflict[static_cast<std::size_t>(t.limit)]) continue;
      f.evidence.push_back(test_evidence(t, Bearing::Supports));
      const std::string label(test_label(t.test));
      if (names.find(label) == std::string::npos) names += (names.empty() ? "" : "; ") + label;
    }
    if (names.empty()) return;
    const auto& samples = r.uncertainty.samples;
    f.probability = samples.empty() ? 0.0
                                    : static_cast<double>(r.uncertainty.stretched) /
                                          static_cast<double>(samples.size());
    f.confidence = confidence_of(f.probability);
    f.sentence = "Taken at their word the tests (" + names +
                 ") leave no posture at this depth with this "
                 "setup.";
    if (r.observed) {
      f.conflict =
          "The squat was done all the same: under load a joint goes further than in the test, or a "
          "test was read too low. The parts are those of the nearest posture, every range "
          "stretched a little.";
      add_video(f, SeenQuantity::Trunk, Bearing::Contradicts, "");
    }
    out_.all.push_back(std::move(f));
  }

  // ---- Parts of the lean ------------------------------------------------------------------------

  void add_lever(Factor lever) {
    Finding f = of_part(lever, FindingKind::Setup, threshold("finding.least_part"));
    const ExplainResult& r = explained();
    body::Setup today = r.setup, best = r.reference_setup;
    f.evidence.push_back(setup_evidence(lever, lever_of(today, lever), lever_of(best, lever)));
    add_model(f, lever);
    f.sentence = part_sentence(f);
    out_.all.push_back(std::move(f));
  }

  void add_range(Factor factor) {
    const bool tested = is_tested(factor);
    Finding f = of_part(factor, tested ? FindingKind::Range : FindingKind::Untested,
                        threshold("finding.least_part"));
    for (const Limit limit : limits_of(factor)) {
      add_tests(f, limit, Bearing::Contradicts, Bearing::Supports);
    }
    if (factor == Factor::Ankle) add_ankle_video(f);
    const std::string heels =
        factor == Factor::Ankle && heels_lift() ? " In the clip the heels come off the floor." : "";
    if (!tested) {
      f.sentence = untested_sentence(f, in_) + heels;
      out_.all.push_back(std::move(f));
      return;
    }
    add_model(f, factor);
    f.sentence = part_sentence(f) + heels;
    const std::string open = open_limits(explained(), factor);
    if (!open.empty()) f.sentence += " Not tested: " + open + ".";
    const Limit first = limits_of(factor).front();
    if (f.confidence <= Confidence::Likely && passes(first) && limits_of(factor).size() == 1) {
      f.conflict =
          "The test passes within its error and the model still needs this range to explain the "
          "posture: repeat the test, and check heel height and foot position in the clip.";
    }
    if (too_upright_ > 0.0 && f.confidence != Confidence::Unlikely && fails(factor)) doubt(f);
    out_.all.push_back(std::move(f));
  }

  bool fails(Factor factor) const {
    const auto limits = limits_of(factor);
    return std::any_of(readings_.begin(), readings_.end(), [&](const TestReading& r) {
      return !r.passes && std::find(limits.begin(), limits.end(), r.limit) != limits.end();
    });
  }

  // A failed test under a posture that it calls impossible: nothing is built on it.
  void doubt(Finding& f) const {
    f.sentence = text(
        "By its tests it would cost %.0f deg of lean (95 %%: %.0f to %.0f), and the posture seen "
        "contradicts them: no finding before they are repeated.",
        degrees(f.size->value), degrees(f.size->low), degrees(f.size->high));
    f.probability *= 1.0 - too_upright_;
    f.probability_largest = 0.0;
    f.confidence = confidence_of(f.probability);
    f.conflict = "See \"Tests against the posture seen\".";
  }

  // More than the error of the clip and more than an eye would let pass.
  bool heels_lift() const {
    const auto& lift = in_.observation.heel_lift;
    return lift && lift->value >= threshold("finding.heel_lift") &&
           lift->value > 1.96 * lift->standard_error;
  }

  // A forward trunk looks like a stiff ankle whatever its cause.
  void add_ankle_video(Finding& f) const {
    const ExplainResult& r = explained();
    if (heels_lift()) {
      add_video(f, SeenQuantity::HeelLift, Bearing::Supports,
                ": with the heels down the shin comes no further");
    }
    if (!r.observed) return;
    if (too_upright_ > 0.0) {
      add_video(f, SeenQuantity::Trunk, Bearing::Contradicts, "");
    } else if (r.observed->value - r.shares.reference > threshold("explain.habit_noted")) {
      add_video(f, SeenQuantity::Trunk, Bearing::Supports,
                "; a forward trunk alone proves no stiff ankle (specificity 0.34 to 0.36, Rabin & "
                "Kozol 2017)");
    }
    if (in_.observation.shank_inclination && is_tested(Factor::Ankle)) {
      add_video(f, SeenQuantity::Shank,
                shank_stays_back(in_) ? Bearing::Contradicts : Bearing::Supports,
                text(", the ankle tested would let it come to about %.0f deg",
                     degrees(r.most_upright.posture.shank_inclination)));
    }
  }

  void add_habit() {
    const ExplainResult& r = explained();
    if (!r.observed) return;
    const bool told = is_tested(Factor::Ankle);
    Finding f = of_part(Factor::Habit, told ? FindingKind::Habit : FindingKind::Untested,
                        threshold("explain.habit_noted"));
    f.title = "Habit";
    if (!told) {
      f.sentence = untested_sentence(f, in_);
      add_video(f, SeenQuantity::Trunk, Bearing::Supports, "");
      out_.all.push_back(std::move(f));
      return;
    }
    f.sentence = part_sentence(f);
    const bool likely = f.confidence <= Confidence::Likely;
    if (likely) {
      f.sentence = text(
                       "The range is there and is not used: the body allows about %.0f deg, %.0f "
                       "deg were seen. ",
                       degrees(r.shares.most_upright), degrees(r.observed->value)) +
                   f.sentence;
    }
    const Bearing beyond =
        f.confidence == Confidence::Unlikely ? Bearing::Contradicts : Bearing::Supports;
    add_video(f, SeenQuantity::Trunk, beyond,
              text(", the body allows %.0f deg", degrees(r.shares.most_upright)));
    if (in_.observation.shank_inclination) {
      add_video(f, SeenQuantity::Shank,
                shank_stays_back(in_) ? Bearing::Supports : Bearing::Contradicts, "");
    }
    add_tests(f, Limit::AnkleDorsiflexion, Bearing::Supports, Bearing::Contradicts);
    add_model(f, Factor::Habit);
    if (likely && passes(Limit::AnkleDorsiflexion)) {
      f.conflict =
          std::string("The clip looks like a stiff ankle (trunk forward") +
          (shank_stays_back(in_) ? ", knees kept back" : "") +
          "), the ankle test passes: read as habit. Film again with the knees led forward over the "
          "toes; if the trunk comes up, habit is confirmed.";
    }
    out_.all.push_back(std::move(f));
  }

  // ---- Left and right ---------------------------------------------------------------------------

  Result<void> add_sides() {
    for (std::size_t i = 0; i + 1 < readings_.size(); ++i) {
      const TestReading& left = readings_[i];
      const TestReading& right = readings_[i + 1];
      if (left.test != right.test || left.side == right.side) continue;
      auto f = side_finding(left, right);
      if (!f) continue;
      f->evidence.push_back(
          test_evidence(left, left.passes ? Bearing::Contradicts : Bearing::Supports));
      f->evidence.push_back(
          test_evidence(right, right.passes ? Bearing::Contradicts : Bearing::Supports));
      LINTEL_TRY_VOID(add_side_cost(*f, left, right));
      out_.all.push_back(std::move(*f));
    }
    return {};
  }

  // What the stiffer side costs: the model knows one ankle only and takes the worse.
  Result<void> add_side_cost(Finding& f, const TestReading& left, const TestReading& right) const {
    const ExplainResult& r = explained();
    posture::Limits better = r.fitted_limits;
    better[left.limit].edge += std::abs(left.range.value - right.range.value);
    const Evaluated now =
        LINTEL_TRY(evaluate_most_upright(r.fitted_body, r.setup, r.fitted_limits));
    const Evaluated then =
        LINTEL_TRY(evaluate_most_upright(r.fitted_body, r.setup, better, &now.warm));
    Evidence e;
    e.source = EvidenceSource::Model;
    e.code = "lean_by_side";
    e.value = Estimate{now.lean() - then.lean(), 0.0};
    e.text = text("with both sides like the better one the body would allow %.0f deg less lean",
                  std::max(0.0, degrees(e.value->value)));
    f.evidence.push_back(std::move(e));
    return {};
  }

  // ---- Arms -------------------------------------------------------------------------------------

  void add_arms() {
    const ExplainResult& r = explained();
    if (!r.shoulders || !overhead(in_)) return;
    auto f = arms_finding(in_, readings_);
    if (!f) return;
    for (const Limit limit : {Limit::ShoulderElevation, Limit::LatissimusLength}) {
      add_tests(*f, limit, Bearing::Contradicts, Bearing::Supports);
    }
    if (in_.observation.shoulder_change_given) {
      const double noted = threshold("observed.shoulder_change_noted");
      const bool gives = in_.observation.shoulder_change_given->value < -noted;
      add_video(*f, SeenQuantity::ShoulderChange, gives ? Bearing::Supports : Bearing::Contradicts,
                "");
    }
    out_.all.push_back(std::move(*f));
  }

  void add_nothing() {
    const bool something = std::any_of(out_.all.begin(), out_.all.end(), [](const Finding& f) {
      return (f.confidence <= Confidence::Likely && f.kind != FindingKind::Untested) ||
             f.status() == FindingStatus::Conflict;
    });
    const bool little = explained().shares.whole < threshold("finding.least_part");
    if (something || !little || !is_tested(Factor::Ankle)) return;
    Finding f = base("nothing", FindingKind::Nothing, std::nullopt);
    f.title = "Nothing that costs lean";
    f.probability = part_.probability_whole_below(threshold("finding.least_part"));
    f.confidence = confidence_of(f.probability);
    f.size = Size{explained().shares.whole, explained().uncertainty.whole.low,
                  explained().uncertainty.whole.high};
    const double whole = std::round(degrees(f.size->value));
    f.sentence = text(
        "There is little to explain: %s more lean than this body would have with reference "
        "mobility and its best setup (95 %%: %.0f to %.0f). Setup and mobility are not what to "
        "change first.",
        whole < 1.0 ? "no" : text("%.0f deg", whole).c_str(), degrees(f.size->low),
        degrees(f.size->high));
    if (explained().observed) add_video(f, SeenQuantity::Trunk, Bearing::Supports, "");
    out_.all.push_back(std::move(f));
  }

  void order() {
    const auto rank = [](const Finding& f) {
      if (f.kind == FindingKind::TestsAgainstPosture) return 0;
      if (f.kind == FindingKind::TestsExcludePosture) return 1;
      if (f.kind == FindingKind::Nothing) return 2;
      if (f.confidence == Confidence::Unlikely) return 5;
      return f.kind == FindingKind::Untested ? 4 : 3;
    };
    const auto worth = [](const Finding& f) {
      return f.size ? std::max(0.0, f.size->value) * f.probability : 0.0;
    };
    std::stable_sort(out_.all.begin(), out_.all.end(), [&](const Finding& a, const Finding& b) {
      if (rank(a) != rank(b)) return rank(a) < rank(b);
      return worth(a) > worth(b);
    });
  }

  static double degrees(double radians) { return radians * kDegreesPerRadian; }
  static double threshold(std::string_view key) { return default_table().value(std::string(key)); }
  template <typename T>
  static void append(std::vector<T>& to, std::vector<T> more) {
    for (T& item : more) to.push_back(std::move(item));
  }

  const FindingsInput& in_;
  std::vector<TestReading> readings_;
  PartStatistics part_;
  double too_upright_ = 0.0;  // probability that the tests forbid the posture seen
  Findings out_;
};

}  // namespace

Result<Findings> find_findings(const FindingsInput& input) {
  if (input.explained.uncertainty.samples.empty()) {
    return fail(ErrorCode::Invalid, "the draws were not kept",
                "explain with ExplainOptions::samples = Samples::Kept");
  }
  auto readings = LINTEL_TRY(read_tests(input.athlete, input.explained.body.lengths));
  return Builder(input, std::move(readings)).run();
}

}  // namespace lintel::reasoning
