// The manifest of an export, "lintel-export-1" (docs/schema/export.schema.json).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "view/export_bundle.h"

namespace lintel::formats {

inline constexpr std::string_view kExportManifest = "manifest.json";
inline constexpr std::string_view kExportReadme = "README.txt";
// "records/visit/<id>/v2.json"
std::string export_document_name(std::string_view kind, std::string_view id, std::int64_t version);
// "library/protocol/quay_ankle.json"
std::string export_library_name(std::string_view kind, std::string_view name);
// "media/<sha256>.mp4"; the ending follows from the type.
std::string export_media_name(std::string_view sha256, std::string_view media_type);
// Types that come in: pictures, clips, pages, tables, plain data; nothing that a browser would run.
bool is_export_media_type(std::string_view media_type);

std::string write_export_manifest(const view::ExportManifest& manifest);

struct ExportReading {
  std::optional<view::ExportManifest> manifest;  // only when there is no fault
  std::vector<Error> faults;                     // at most 100, with field, line and column
};
// Strict, and complete for what can be checked without the other files: ids, kinds, states, times,
// digests, versions without gaps, one athlete, parents that are there and come first. Limits:
// 32 MiB, 400,000 values. Never throws.
ExportReading read_export_manifest(std::string_view text, std::string_view file_name);

// Is it JSON, an object, at most 32 MiB and 64 levels? Answers all digests ("sha256" members of 64
// hexadecimal digits) in it. Errors: Invalid, Limit, with line and column.
Result<std::vector<std::string>> digests_in_document(std::string_view text,
                                                     std::string_view file_name);

}  // namespace lintel::formats
