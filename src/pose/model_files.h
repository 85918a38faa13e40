// Where the network files are, and that they are the ones this code was made for.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <vector>

#include "base/result.h"

namespace lintel::pose {

// Accuracy against speed: lite is the fastest, heavy the most exact.
enum class Variant : std::uint8_t { Lite, Full, Heavy };
enum class NetworkFile : std::uint8_t { Detector, Lite, Full, Heavy };

std::string_view variant_name(Variant variant);  // "lite", "full", "heavy"
Result<Variant> parse_variant(std::string_view name);
NetworkFile network_file(Variant variant);
std::string_view network_file_name(NetworkFile file);  // inside the models folder

// The models folder: the one named by the caller, else the environment variable LINTEL_MODELS, else
// the one compiled in. The first that is given decides. Error: NotFound when it lacks a file.
Result<std::filesystem::path> find_models(
    const std::optional<std::filesystem::path>& explicit_folder = {});

// The bytes of one network. Errors: NotFound, Io, Limit, and Invalid when its SHA-256 is not the
// expected one.
Result<std::vector<std::uint8_t>> read_network_file(const std::filesystem::path& models,
                                                    NetworkFile file);

}  // namespace lintel::pose
