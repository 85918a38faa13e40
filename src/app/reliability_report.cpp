#include "app/reliability_report.h"

#include <cmath>

#include "app/reliability_text.h"
#include "app/test_library.h"
#include "app/text_file.h"
#include "formats/ratings_csv.h"
#include "formats/reliability_json.h"
#include "reliability/bland_altman.h"
#include "reliability/icc.h"
#include "reliability/measurement_error.h"
#include "reliability/tester_error.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestTable = std::uintmax_t{1} << 20;

tl::unexpected<Error> invalid(std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

Eigen::MatrixXd matrix_of(const formats::RatingsTable& table) {
  Eigen::MatrixXd out(static_cast<Eigen::Index>(table.rows.size()),
                      static_cast<Eigen::Index>(table.columns.size()));
  for (Eigen::Index i = 0; i < out.rows(); ++i) {
    for (Eigen::Index j = 0; j < out.cols(); ++j) {
      out(i, j) = table.rows[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)];
    }
  }
  return out;
}

// The published standard error of one number of the table, in the unit of the table.
Result<std::optional<double>> published_error(const ReliabilityRequest& request,
                                              view::ReliabilityReport& report) {
  if (!request.protocol) return request.published;
  if (request.published) {
    return invalid("published", "a protocol and a published error are both given",
                   "leave one of them out");
  }
  const auto protocols = LINTEL_TRY(load_protocols(request.protocols));
  const body::TestProtocol* protocol = body::find_protocol(protocols, *request.protocol);
  if (protocol == nullptr) {
    return invalid("protocol", "\"" + *request.protocol + "\" is not known",
                   "list the protocols with: lintel tests list");
  }
  report.protocol = protocol->id;
  report.unit = body::protocol_unit_name(protocol->unit);
  report.share_between_tries = protocol->standard_error.share_between_tries;
  const body::MeasurementError parts = body::measurement_error(protocol->standard_error);
  return body::error_of_mean(parts, request.tries_per_value) / body::si_per_unit(protocol->unit);
}

Result<view::ReliabilityReport> compute(const ReliabilityRequest& request,
                                        const formats::RatingsTable& table) {
  view::ReliabilityReport report;
  report.columns = table.columns;
  report.unit = request.unit;
  report.tries_per_value = request.tries_per_value;
  const auto published = LINTEL_TRY(published_error(request, report));
  const Eigen::MatrixXd ratings = matrix_of(table);
  report.anova = LINTEL_TRY(reliability::analyse_variance(ratings));
  report.icc = reliability::intraclass_correlations(report.anova);
  report.error = reliability::error_of_measurement(ratings, report.anova);
  if (ratings.cols() == 2) {
    const Eigen::VectorXd first = ratings.col(0), second = ratings.col(1);
    const auto size = static_cast<std::size_t>(ratings.rows());
    // Columns that differ by a constant have no limits of agreement; the rest stands without them.
    const auto agreement = reliability::agreement_of({first.data(), size}, {second.data(), size});
    if (agreement) report.agreement = *agreement;
  }
  if (published) {
    const reliability::OwnRepeats own{report.error.agreement,
                                      report.anova.within.degrees_of_freedom};
    report.tester = LINTEL_TRY(reliability::update_error(
        *published, request.published_df.value_or(reliability::kPublishedDegreesOfFreedom), own));
  }
  return report;
}

}  // namespace

Result<ReliabilityOutcome> report_reliability(const ReliabilityRequest& request) {
  if (request.tries_per_value < 1) {
    return invalid("tries_per_value", "is below 1", "give the number of tries that were averaged");
  }
  const std::string text = LINTEL_TRY(read_text_file(
      request.ratings, kLargestTable, "give a CSV file: a header, then one subject in each row"));
  const std::string name = request.ratings.filename().string();
  const auto table = LINTEL_TRY(formats::read_ratings_csv(text, name));
  auto report = compute(request, table);
  if (!report) return fail(report.error().with_file(name));
  return ReliabilityOutcome{reliability_text(*report), formats::write_reliability_json(*report)};
}

}  // namespace lintel::app
