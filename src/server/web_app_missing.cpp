// Stands in for the web app where the program was built without Node modules (cmake/web.cmake).
#include <span>
#include <string_view>

#include "base/embedded_file.h"

namespace lintel::embedded {
namespace {

const std::string_view kPage(R"(<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Lintel</title></head><body>
<h1>The pages are not in this program</h1>
<p>It was built without them; the API under /api/v1 and the command line work.
To have the pages, run scripts/setup and build again, or start it with
lintel serve --web-dir web/dist.</p></body></html>
)");
const EmbeddedFile kFiles[] = {{"index.html", &kPage}};

}  // namespace

std::span<const EmbeddedFile> web_files();
std::span<const EmbeddedFile> web_files() {
  return kFiles;
}

}  // namespace lintel::embedded
