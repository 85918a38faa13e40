#include "app/reliability_report.h"

#include <cmath>

#include "app/reliability_text.h"
#include "app/test_library.h"
#include "app/text_file.h"
#include "base/text.h"
#include "formats/library_json.h"
#include "formats/ratings_csv.h"
#include "formats/record_json.h"
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
double published_by(const body::TestProtocol& protocol, view::ReliabilityReport& report) {
  report.protocol = protocol.id;
  report.unit = body::protocol_unit_name(protocol.unit);
  report.share_between_tries = protocol.standard_error.share_between_tries;
  const body::MeasurementError parts = body::measurement_error(protocol.standard_error);
  return body::error_of_mean(parts, report.tries_per_value) / body::si_per_unit(protocol.unit);
}

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
  return published_by(*protocol, report);
}

Result<void> check_tries(int tries_per_value) {
  if (tries_per_value >= 1) return {};
  return invalid("tries_per_value", "is below 1", "give the number of tries that were averaged");
}

// All but the tester's error.
Result<void> compute(const formats::RatingsTable& table, view::ReliabilityReport& report) {
  report.columns = table.columns;
  const Eigen::MatrixXd ratings = matrix_of(table);
  report.anova = LINTEL_TRY(reliability::analyse_variance(ratings));
  report.icc = reliability::intraclass_correlations(report.anova);
  report.error = reliability::error_of_measurement(ratings, report.anova);
  if (ratings.cols() != 2) return {};
  const Eigen::VectorXd first = ratings.col(0), second = ratings.col(1);
  const auto size = static_cast<std::size_t>(ratings.rows());
  // Columns that differ by a constant have no limits of agreement; the rest stands without them.
  const auto agreement = reliability::agreement_of({first.data(), size}, {second.data(), size});
  if (agreement) report.agreement = *agreement;
  return {};
}

Result<void> bring_up_to_date(double published, double published_df,
                              view::ReliabilityReport& report) {
  const reliability::OwnRepeats own{report.error.agreement, report.anova.within.degrees_of_freedom};
  report.tester = LINTEL_TRY(reliability::update_error(published, published_df, own));
  return {};
}

Result<view::ReliabilityReport> compute(const ReliabilityRequest& request,
                                        const formats::RatingsTable& table) {
  view::ReliabilityReport report;
  report.unit = request.unit;
  report.tries_per_value = request.tries_per_value;
  const auto published = LINTEL_TRY(published_error(request, report));
  LINTEL_TRY_VOID(compute(table, report));
  if (published) {
    const double df = request.published_df.value_or(reliability::kPublishedDegreesOfFreedom);
    LINTEL_TRY_VOID(bring_up_to_date(*published, df, report));
  }
  return report;
}

// The updated error where a protocol may have it, else null.
std::string standard_error_json(const view::ReliabilityReport& report,
                                const body::TestProtocol& protocol, const std::string& today) {
  body::ProtocolError error;
  error.value = report.tester->updated * body::si_per_unit(protocol.unit);
  error.tries = report.tries_per_value;
  error.share_between_tries = report.share_between_tries;
  error.source = text("published error brought up to date by own repeats: %d people, %d times, %s",
                      report.anova.subjects, report.anova.raters, today.c_str());
  const std::string document = formats::write_standard_error_json(protocol, error);
  if (!formats::read_standard_error_json(document, "", protocol).error) return "null";
  return formats::protocol_error_json(error, protocol.unit);
}

}  // namespace

Result<ReliabilityOutcome> report_reliability(const ReliabilityRequest& request) {
  LINTEL_TRY_VOID(check_tries(request.tries_per_value));
  const std::string text = LINTEL_TRY(read_text_file(
      request.ratings, kLargestTable, "give a CSV file: a header, then one subject in each row"));
  const std::string name = request.ratings.filename().string();
  const auto table = LINTEL_TRY(formats::read_ratings_csv(text, name));
  auto report = compute(request, table);
  if (!report) return fail(report.error().with_file(name));
  return ReliabilityOutcome{reliability_text(*report), formats::write_reliability_json(*report)};
}

Result<std::string> reliability_of_table(std::string_view text, const body::TestProtocol& protocol,
                                         int tries_per_value, const std::string& today) {
  LINTEL_TRY_VOID(check_tries(tries_per_value));
  const auto table = LINTEL_TRY(formats::read_ratings_csv(text, ""));
  view::ReliabilityReport report;
  report.tries_per_value = tries_per_value;
  const double published = published_by(protocol, report);
  LINTEL_TRY_VOID(compute(table, report));
  LINTEL_TRY_VOID(bring_up_to_date(published, reliability::kPublishedDegreesOfFreedom, report));
  return formats::with_members(formats::write_reliability_json(report),
                               {{"standard_error", standard_error_json(report, protocol, today)}});
}

}  // namespace lintel::app
