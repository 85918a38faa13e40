// Where core computations get their threads from: the caller decides (core starts none).
#pragma once

#include <cstddef>
#include <functional>

namespace lintel {

// Runs body(i) for each i in [0, count), in any order and on any thread, and returns when all
// are done. Results must not depend on the order: write to slot i and reduce afterwards in order.
class Executor {
 public:
  Executor() = default;
  Executor(const Executor&) = delete;
  Executor& operator=(const Executor&) = delete;
  virtual ~Executor() = default;
  virtual void parallel_for(std::size_t count, const std::function<void(std::size_t)>& body) = 0;
  virtual std::size_t thread_count() const = 0;
};

// Runs everything on the calling thread.
class SerialExecutor final : public Executor {
 public:
  void parallel_for(std::size_t count, const std::function<void(std::size_t)>& body) override;
  std::size_t thread_count() const override { return 1; }
};

}  // namespace lintel
