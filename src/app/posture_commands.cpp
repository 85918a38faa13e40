#include "app/posture_commands.h"

#include <algorithm>
#include <vector>

#include "app/athlete_file.h"
#include "app/explain_view.h"
#include "app/posture_text.h"
#include "app/text_file.h"
#include "formats/posture_json.h"
#include "jobs/thread_pool.h"
#include "report/posture_drawing.h"

namespace lintel::app {
namespace {

std::string name_of(const body::Athlete& athlete) {
  return !athlete.name.empty() ? athlete.name : !athlete.id.empty() ? athlete.id : "Athlete";
}

std::string drawing_of(const reasoning::ExplainResult& r, const std::string& name,
                       double disc_diameter, Error& error) {
  std::vector<report::PostureFigure> figures;
  const auto add = [&](std::string title, std::string note, const posture::Posture& p) {
    figures.push_back({std::move(title), std::move(note), p, disc_diameter});
  };
  if (r.seen) add("Now", "as seen, at the bottom", *r.seen);
  add("Most upright today", "same setup, all of today's range",
      r.upright.value_or(r.most_upright.posture));
  if (r.after_best) {
    add("After the best change", describe_changes(r.best_change->changes), *r.after_best);
  }
  auto svg = report::draw_postures_svg(name, figures);
  if (svg) return std::move(svg).value();
  error = std::move(svg).error();
  return {};
}

Result<void> add_drawing(const PostureRequest& request, const reasoning::ExplainResult& r,
                         const body::Athlete& athlete, PostureOutcome& outcome) {
  if (!request.drawing) return {};
  Error error;
  const std::string svg = drawing_of(r, name_of(athlete), athlete.setup.disc_diameter, error);
  if (svg.empty()) return fail(std::move(error));
  LINTEL_TRY_VOID(write_text_file(*request.drawing, svg, ExistingFile::Replace));
  outcome.drawing = request.drawing;
  outcome.text += "Drawing: " + request.drawing->string() + "\n";
  return {};
}

Result<reasoning::ExplainResult> run_explain(const PostureRequest& request,
                                             const body::Athlete& athlete,
                                             const reasoning::Observation& seen,
                                             const WorkContext& work) {
  jobs::ThreadPool pool(static_cast<std::size_t>(std::max(0, request.threads)));
  reasoning::ExplainOptions options;
  options.draws = request.draws;
  options.seed = request.seed;
  return reasoning::explain(athlete, seen, options, pool, work);
}

}  // namespace

Result<PostureOutcome> explain_athlete(const PostureRequest& request, const WorkContext& work) {
  const body::Athlete athlete = LINTEL_TRY(read_athlete_file(request.athlete));
  const SeenSquat seen = LINTEL_TRY(read_seen_squat(request.seen));
  const auto result = LINTEL_TRY(run_explain(request, athlete, seen.observation, work));
  PostureOutcome outcome;
  outcome.text = explanation_text(result, name_of(athlete));
  outcome.json = formats::write_explanation_json(result, athlete.id);
  LINTEL_TRY_VOID(add_drawing(request, result, athlete, outcome));
  return outcome;
}

Result<PostureOutcome> what_if_athlete(const PostureRequest& request, const WorkContext& work) {
  const body::Athlete athlete = LINTEL_TRY(read_athlete_file(request.athlete));
  PostureRequest quick = request;
  quick.draws = std::min(request.draws, 200);  // the shares are not shown here
  const auto result = LINTEL_TRY(run_explain(quick, athlete, {}, work));
  PostureOutcome outcome;
  outcome.text = what_if_text(*result.what_if, name_of(athlete));
  outcome.json = formats::write_what_if_json(*result.what_if, athlete.id);
  LINTEL_TRY_VOID(add_drawing(request, result, athlete, outcome));
  return outcome;
}

Result<PostureOutcome> grip_for_athlete(const PostureRequest& request, const WorkContext&) {
  const body::Athlete athlete = LINTEL_TRY(read_athlete_file(request.athlete));
  const auto body = LINTEL_TRY(posture::body_parameters(athlete));
  const auto limits = LINTEL_TRY(posture::limits_from_tests(athlete, body.lengths));
  const auto advice = LINTEL_TRY(reasoning::advise_grip(body, athlete.setup, limits.limits));
  PostureOutcome outcome;
  outcome.text = grip_text(advice, athlete.setup, name_of(athlete));
  outcome.json = formats::write_grip_json(advice, athlete.setup, athlete.id);
  return outcome;
}

}  // namespace lintel::app
