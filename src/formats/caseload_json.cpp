#include "formats/caseload_json.h"

#include "formats/csv.h"
#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

constexpr int kDigits = 7;

Json or_null(std::string_view text) {
  return text.empty() ? Json(nullptr) : Json(text);
}
Json or_null(const std::optional<double>& value) {
  return value ? number(*value) : Json(nullptr);
}
Json or_null(const std::optional<Date>& date) {
  return date ? Json(date->iso()) : Json(nullptr);
}

std::string dump(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string csv_number_of(const std::optional<double>& value) {
  return value ? csv_number(*value, kDigits) : std::string();
}

void add_row(std::string& out, const std::vector<std::string>& cells) {
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (i > 0) out += ",";
    out += csv_cell(cells[i]);
  }
  out += "\r\n";
}

Json entry_json(const CaseloadEntry& row, RowShows shows) {
  Json json = {{"athlete", row.athlete}, {"name", row.name}};
  const bool all = shows == RowShows::Everything;
  const auto text = [&](const std::string& value) { return all ? or_null(value) : Json(nullptr); };
  json["birth_date"] = text(row.birth_date);
  json["sex"] = text(row.sex);
  json["tags"] = all ? Json(row.tags) : Json::array();
  json["version"] = row.version;
  json["last_visit"] = text(row.last_visit);
  json["last_session"] = text(row.last_session);
  json["next_due"] = text(row.next_due);
  json["due_what"] = text(row.due_what);
  json["changed_at"] = text(row.changed_at);
  json["last_trunk_deg"] = all ? or_null(row.last_trunk_deg) : Json(nullptr);
  json["last_trunk_error_deg"] = all ? or_null(row.last_trunk_error_deg) : Json(nullptr);
  return json;
}

Json setup_json(const std::optional<TrendSetup>& setup) {
  if (!setup) return nullptr;
  Json differs = Json::array();
  for (const body::SetupDifference& one : setup->differs) {
    const bool words = !one.word.empty();
    differs.push_back({{"key", one.key},
                       {"value", words ? Json(one.word) : or_null(one.value)},
                       {"own", words ? Json(one.own_word) : or_null(one.own)}});
  }
  return {{"own", setup->own}, {"differs", std::move(differs)}};
}

const char* source_name(TrendSource source) {
  return source == TrendSource::Test ? "test" : source == TrendSource::Clip ? "clip" : "typed";
}

// "own", or "heel_elevation_cm 2.5; bar_position front"; empty where there are no clips.
std::string setup_words(const std::optional<TrendSetup>& setup) {
  if (!setup) return "";
  if (setup->own) return "own";
  std::string out;
  for (const body::SetupDifference& one : setup->differs) {
    out += (out.empty() ? "" : "; ") + one.key + " ";
    out += !one.word.empty() ? one.word : one.value ? csv_number(*one.value, kDigits) : "none";
  }
  return out;
}

Json series_json(const TrendSeries& series) {
  Json points = Json::array();
  for (const TrendSeries::Point& p : series.points) {
    points.push_back({{"date", p.date},
                      {"value", number(p.value)},
                      {"error", number(p.standard_error)},
                      {"record", p.record}});
    if (!p.method.empty()) points.back()["method"] = p.method;
  }
  Json fan = Json::array();
  for (const TrendSeries::FanPoint& p : series.forecast) {
    fan.push_back({{"date", p.date.iso()},
                   {"value", number(p.value)},
                   {"low", number(p.low)},
                   {"high", number(p.high)}});
  }
  return {{"name", series.name},
          {"label", series.label},
          {"kind", series.source == TrendSource::Test ? "test" : "measure"},
          {"source", source_name(series.source)},
          {"setup", setup_json(series.setup)},
          {"side", or_null(series.side)},
          {"unit", series.unit},
          {"better", or_null(series.better)},
          {"points", std::move(points)},
          {"detectable_change", or_null(series.detectable_change)},
          {"change", or_null(series.change)},
          {"verdict", plan::change_verdict_name(series.verdict)},
          {"target", or_null(series.target)},
          {"target_date", or_null(series.target_date)},
          {"forecast", std::move(fan)}};
}

}  // namespace

std::string write_caseload_json(const CaseloadList& list) {
  Json json;
  json["items"] = Json::array();
  for (const CaseloadEntry& row : list.rows) json["items"].push_back(entry_json(row, list.shows));
  json["next"] = or_null(list.next);
  json["counts"] = Json::object();
  for (const auto& [view, count] : list.counts) json["counts"][view] = count;
  return dump(json);
}

std::string write_caseload_csv(const CaseloadList& list) {
  std::string out;
  add_row(out, {"athlete", "name", "birth_date", "sex", "tags", "last_visit", "last_session",
                "next_due", "due_what", "last_trunk_deg", "last_trunk_error_deg"});
  for (const CaseloadEntry& row : list.rows) {
    std::string tags;
    for (const std::string& tag : row.tags) tags += (tags.empty() ? "" : "; ") + tag;
    add_row(out, {row.athlete, row.name, row.birth_date, row.sex, tags, row.last_visit,
                  row.last_session, row.next_due, row.due_what, csv_number_of(row.last_trunk_deg),
                  csv_number_of(row.last_trunk_error_deg)});
  }
  return out;
}

std::string write_timeline_json(const std::vector<TimelineEntry>& rows) {
  Json json;
  json["items"] = Json::array();
  for (const TimelineEntry& row : rows) {
    json["items"].push_back({{"record", row.record},
                             {"kind", row.kind},
                             {"date", row.date},
                             {"parent", or_null(row.parent)},
                             {"state", row.state},
                             {"version", row.version},
                             {"created_by", row.created_by},
                             {"changed_at", row.changed_at}});
  }
  return dump(json);
}

std::string write_trends_json(const std::vector<TrendSeries>& series) {
  Json json;
  json["series"] = Json::array();
  for (const TrendSeries& one : series) json["series"].push_back(series_json(one));
  json["cautions"] = cautions_json();
  return dump(json);
}

std::string write_trends_csv(const std::vector<TrendSeries>& series) {
  std::string out;
  add_row(out,
          {"name", "side", "unit", "date", "value", "standard_error", "record", "source", "setup"});
  for (const TrendSeries& one : series) {
    for (const TrendSeries::Point& p : one.points) {
      add_row(out, {one.name, one.side, one.unit, p.date, csv_number(p.value, kDigits),
                    csv_number(p.standard_error, kDigits), p.record,
                    p.method.empty() ? std::string(source_name(one.source)) : "typed, " + p.method,
                    setup_words(one.setup)});
    }
  }
  return out;
}

std::string write_cohort_range_json(std::string_view protocol,
                                    const std::vector<CohortRange>& rows) {
  Json json = {{"protocol", protocol}};
  json["items"] = Json::array();
  for (const CohortRange& row : rows) {
    json["items"].push_back({{"band", row.band},
                             {"side", row.side},
                             {"unit", row.unit},
                             {"athletes", row.athletes},
                             {"median", number(row.median)},
                             {"low_quartile", number(row.low_quartile)},
                             {"high_quartile", number(row.high_quartile)}});
  }
  json["cautions"] = cautions_json();
  return dump(json);
}

std::string write_cohort_range_csv(std::string_view protocol,
                                   const std::vector<CohortRange>& rows) {
  std::string out;
  add_row(out, {"protocol", "band", "side", "unit", "athletes", "median", "low_quartile",
                "high_quartile"});
  for (const CohortRange& row : rows) {
    add_row(out, {std::string(protocol), row.band, row.side, row.unit, std::to_string(row.athletes),
                  csv_number(row.median, kDigits), csv_number(row.low_quartile, kDigits),
                  csv_number(row.high_quartile, kDigits)});
  }
  return out;
}

std::string write_cohort_change_json(std::string_view protocol,
                                     const std::vector<CohortChange>& rows) {
  Json json = {{"protocol", protocol}};
  json["items"] = Json::array();
  for (const CohortChange& row : rows) {
    json["items"].push_back({{"drill", row.drill},
                             {"name", row.name},
                             {"protocol", row.protocol},
                             {"unit", row.unit},
                             {"athletes", row.athletes},
                             {"change_per_week", number(row.change_per_week)}});
  }
  json["cautions"] = cautions_json();
  return dump(json);
}

std::string write_cohort_change_csv(const std::vector<CohortChange>& rows) {
  std::string out;
  add_row(out, {"drill", "name", "protocol", "unit", "athletes", "change_per_week"});
  for (const CohortChange& row : rows) {
    add_row(out, {row.drill, row.name, row.protocol, row.unit, std::to_string(row.athletes),
                  csv_number(row.change_per_week, kDigits)});
  }
  return out;
}

}  // namespace lintel::formats
