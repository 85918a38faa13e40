// Inside of store/: a fixed number of connections, each used by one thread at a time.
#pragma once

#include <soci/soci.h>

#include <chrono>
#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <vector>

#include "base/result.h"

namespace lintel::store {

// Thread-safe. Connections are opened when first needed, and again after one was dropped.
class SessionPool {
 public:
  using Clock = std::chrono::steady_clock;
  using Open = std::function<Result<std::unique_ptr<soci::session>>()>;

  SessionPool(int size, Open open);

  // A connection of one's own until it is destroyed.
  class Lease {
   public:
    Lease(SessionPool& pool, std::unique_ptr<soci::session> session)
        : pool_(&pool), session_(std::move(session)) {}
    Lease(Lease&& other) noexcept = default;
    Lease& operator=(Lease&&) = delete;
    ~Lease();
    soci::session& session() { return *session_; }
    void drop() { session_.reset(); }  // it is broken; a new one takes its place

   private:
    struct Nothing {
      void operator()(SessionPool*) const {}
    };
    std::unique_ptr<SessionPool, Nothing> pool_;
    std::unique_ptr<soci::session> session_;
  };
  // Errors: Io when all are in use until the deadline; those of opening.
  Result<Lease> take(Clock::time_point deadline);

 private:
  void give_back(std::unique_ptr<soci::session> session);

  Open open_;
  std::mutex mutex_;
  std::condition_variable free_again_;
  std::vector<std::unique_ptr<soci::session>> free_;  // null: not opened yet
};

}  // namespace lintel::store
