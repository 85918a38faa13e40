#include "pose/model_files.h"

#include <array>
#include <cstdlib>
#include <fstream>
#include <string>
#include <string_view>
#include <system_error>

#include "secure/sha256.h"

namespace lintel::pose {
namespace {

constexpr std::string_view kMend =
    "run scripts/setup, or name the folder by --models or the environment variable LINTEL_MODELS";

struct FileEntry {
  std::string_view name;
  std::string_view sha256;
  std::size_t bytes;
};

// Of npm package @mediapipe/pose 0.5.1675469404 (Apache-2.0), computed from the package as
// installed with the integrity hash in models/package-lock.json.
constexpr std::array<FileEntry, 4> kFiles = {{
    {"pose_solution_packed_assets.data",
     "a63c614bef30d35947f13be361820b1e4e3bec9cfeebf4d11216a18373108e85", 2'962'288},
    {"pose_landmark_lite.tflite",
     "f17bfbecadb61c3be1baa8b8d851cc6619c870a87167b32848ad20db306b9d61", 2'819'824},
    {"pose_landmark_full.tflite",
     "e9a5c5cb17f736fafd4c2ec1da3b3d331d6edbe8a0d32395855aeb2cdfd64b9f", 6'440'512},
    {"pose_landmark_heavy.tflite",
     "59e42d71bcd44cbdbabc419f0ff76686595fd265419566bd4009ef703ea8e1fe", 27'709'200},
}};

const FileEntry& entry_of(NetworkFile file) {
  return kFiles[static_cast<std::size_t>(file)];
}

Error file_error(ErrorCode code, std::string message, const std::filesystem::path& path) {
  Error error{code, std::move(message), {}, std::string(kMend), {}};
  error.place.file = path.string();
  return error;
}

}  // namespace

std::string_view variant_name(Variant variant) {
  switch (variant) {
    case Variant::Lite:
      return "lite";
    case Variant::Full:
      return "full";
    case Variant::Heavy:
      return "heavy";
  }
  return "full";
}

Result<Variant> parse_variant(std::string_view name) {
  for (const Variant variant : {Variant::Lite, Variant::Full, Variant::Heavy}) {
    if (variant_name(variant) == name) return variant;
  }
  return fail(ErrorCode::Invalid, "\"" + std::string(name) + "\" is no network",
              "use lite, full or heavy");
}

NetworkFile network_file(Variant variant) {
  switch (variant) {
    case Variant::Lite:
      return NetworkFile::Lite;
    case Variant::Full:
      return NetworkFile::Full;
    case Variant::Heavy:
      return NetworkFile::Heavy;
  }
  return NetworkFile::Full;
}

std::string_view network_file_name(NetworkFile file) {
  return entry_of(file).name;
}

Result<std::filesystem::path> find_models(
    const std::optional<std::filesystem::path>& explicit_folder) {
  std::filesystem::path folder;
  if (explicit_folder) {
    folder = *explicit_folder;
  } else if (const char* named = std::getenv("LINTEL_MODELS"); named != nullptr && *named != 0) {
    folder = named;
  } else {
    folder = LINTEL_DEFAULT_MODELS;
  }
  std::error_code ignored;
  if (!std::filesystem::is_directory(folder, ignored)) {
    return fail(
        file_error(ErrorCode::NotFound, "the folder of the pose networks is missing", folder));
  }
  for (const FileEntry& entry : kFiles) {
    if (!std::filesystem::is_regular_file(folder / entry.name, ignored)) {
      return fail(
          file_error(ErrorCode::NotFound, "a pose network is missing", folder / entry.name));
    }
  }
  return folder;
}

Result<std::vector<std::uint8_t>> read_network_file(const std::filesystem::path& models,
                                                    NetworkFile file) {
  const FileEntry& expected = entry_of(file);
  const std::filesystem::path path = models / expected.name;
  std::error_code error;
  const std::uintmax_t size = std::filesystem::file_size(path, error);
  if (error) {
    return fail(file_error(ErrorCode::NotFound, "a pose network is missing or unreadable", path));
  }
  if (size != expected.bytes) {
    return fail(file_error(ErrorCode::Invalid,
                           "a pose network is " + std::to_string(size) + " bytes long instead of " +
                               std::to_string(expected.bytes),
                           path));
  }
  std::vector<std::uint8_t> bytes(expected.bytes);
  std::ifstream in(path, std::ios::binary);
  in.read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  if (!in) return fail(file_error(ErrorCode::Io, "a pose network could not be read", path));
  if (secure::sha256_hex(bytes) != expected.sha256) {
    return fail(file_error(ErrorCode::Invalid,
                           "a pose network is not the expected file (its SHA-256 differs)", path));
  }
  return bytes;
}

}  // namespace lintel::pose
