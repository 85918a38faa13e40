// The cautions as every JSON document carries them. Inside this module; includes the JSON library.
#pragma once

#include "base/cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {

// [{"code": "stop", "text": "..."}, ...]
inline Json cautions_json() {
  Json list = Json::array();
  for (const Caution& caution : cautions()) {
    list.push_back({{"code", caution.code}, {"text", caution.text}});
  }
  return list;
}

}  // namespace lintel::formats
