// Inside app: the follow-up of one athlete as lines for a person.
#pragma once

#include <string>

#include "formats/progress_json.h"

namespace lintel::app {

std::string progress_text(const formats::ProgressDocument& document);

}  // namespace lintel::app
