// The web app as it is built into the program.
#pragma once

#include "server/static_files.h"

namespace lintel::server {

// Empty when the program was built without it.
StaticFiles web_files();

}  // namespace lintel::server
