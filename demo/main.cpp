// lintel_demo_clips: renders the clips of the invented lifting club of Skarnholm.
#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <iostream>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include <unistd.h>
#include <CLI/CLI.hpp>

#include "demo/generate.h"
#include "demo/truth.h"

namespace {

volatile std::sig_atomic_t g_interrupted = 0;
void on_signal(int /*signal*/) {
  g_interrupted = 1;
}

struct Options {
  std::string folder = "clips";
  std::vector<std::string> only;
  int threads = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  bool list = false;
  bool quiet = false;
};

void print_list() {
  for (const auto& clip : lintel::demo::clip_table()) {
    std::printf("%-20s %4zu frames  %s\n", clip.name.c_str(),
                lintel::demo::frame_times(clip).size(), clip.description.c_str());
  }
}

lintel::Result<std::vector<lintel::demo::ClipSpec>> chosen(const std::vector<std::string>& only) {
  if (only.empty()) return lintel::demo::clip_table();
  std::vector<lintel::demo::ClipSpec> out;
  for (const std::string& name : only) {
    const auto& table = lintel::demo::clip_table();
    const auto found = std::find_if(table.begin(), table.end(),
                                    [&](const auto& clip) { return clip.name == name; });
    if (found == table.end()) {
      return lintel::fail(lintel::ErrorCode::NotFound, "there is no clip '" + name + "'",
                          "see --list for the names");
    }
    out.push_back(*found);
  }
  return out;
}

int render(const Options& options) {
  const auto clips = chosen(options.only);
  if (!clips) {
    std::cerr << lintel::describe(clips.error()) << "\n";
    return lintel::exit_status(clips.error().code);
  }
  std::stop_source stop;
  // The handler may only set a flag; this thread passes it on.
  const std::jthread watcher([&](const std::stop_token& done) {
    while (!done.stop_requested() && g_interrupted == 0) {
      std::this_thread::sleep_for(std::chrono::milliseconds(25));
    }
    stop.request_stop();
  });
  const bool show_progress = !options.quiet && isatty(fileno(stderr)) != 0;
  lintel::WorkContext work;
  work.stop = stop.get_token();
  work.progress = [&](const lintel::Progress& p) {
    if (show_progress) {
      std::fprintf(stderr, "\r%-20s %4.0f of %4.0f frames ", std::string(p.stage).c_str(), p.done,
                   p.total);
    }
  };
  for (const auto& clip : *clips) {
    const auto start = std::chrono::steady_clock::now();
    const auto outcome = lintel::demo::generate_clip(clip, options.folder, options.threads, work);
    if (!outcome) {
      std::cerr << "\n" << lintel::describe(outcome.error()) << "\n";
      return lintel::exit_status(outcome.error().code);
    }
    const double seconds =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    if (*outcome == lintel::demo::Generated::Rendered) {
      std::printf("%s%-20s rendered in %.1f s         \n", show_progress ? "\r" : "",
                  clip.name.c_str(), seconds);
    } else {
      std::printf("%s%-20s already there             \n", show_progress ? "\r" : "",
                  clip.name.c_str());
    }
    std::fflush(stdout);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"Renders demonstration clips with exactly known joints, angles and bar path"};
  Options options;
  app.add_option("--out", options.folder, "folder for the clips");
  app.add_option("--only", options.only, "names, separated by commas")->delimiter(',');
  app.add_option("--threads", options.threads, "threads that draw")->check(CLI::Range(1, 64));
  app.add_flag("--list", options.list, "print the names and stop");
  app.add_flag("--quiet", options.quiet, "no progress line");
  CLI11_PARSE(app, argc, argv);
  if (options.list) {
    print_list();
    return 0;
  }
  std::signal(SIGINT, on_signal);
  std::signal(SIGTERM, on_signal);
  return render(options);
}
