#include "server/web_files.h"

namespace lintel::embedded {
std::span<const EmbeddedFile> web_files();
}

namespace lintel::server {

StaticFiles web_files() {
#ifdef LINTEL_HAVE_WEB
  return StaticFiles::embedded(embedded::web_files(), LINTEL_WEB_PREFIX);
#else
  return {};
#endif
}

}  // namespace lintel::server
