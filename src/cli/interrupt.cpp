#include "cli/interrupt.h"

#include <unistd.h>
#include <csignal>
#include <thread>

namespace lintel::cli {
namespace {

std::stop_source& source() {
  static std::stop_source instance;
  return instance;
}

}  // namespace

void watch_interrupts() {
  source();
  sigset_t signals;
  sigemptyset(&signals);
  sigaddset(&signals, SIGINT);
  sigaddset(&signals, SIGTERM);
  // Blocked here and so in every later thread: a handler may do almost nothing, a thread
  // everything.
  pthread_sigmask(SIG_BLOCK, &signals, nullptr);
  std::thread([signals] {
    int number = 0;
    sigwait(&signals, &number);
    source().request_stop();
    sigwait(&signals, &number);
    _exit(128 + number);
  }).detach();
}

std::stop_token interrupt_token() {
  return source().get_token();
}

}  // namespace lintel::cli
