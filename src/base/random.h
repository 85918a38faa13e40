// Seeded random numbers that are the same on every machine and for any number of threads.
#pragma once

#include <cstdint>

namespace lintel {

// SplitMix64 (Steele, Lea, Flood 2014) with our own uniform and normal variates: the standard
// library's distributions differ between implementations. Give each sample its own stream:
// Random(seed, sample_index). Not thread-safe; one per thread or per sample.
class Random {
 public:
  explicit Random(std::uint64_t seed, std::uint64_t stream = 0);
  std::uint64_t next();
  double uniform();                         // [0, 1)
  double uniform(double low, double high);  // [low, high)
  double normal();                          // mean 0, standard deviation 1 (Box and Muller 1958)
  double normal(double mean, double standard_deviation);

 private:
  std::uint64_t state_;
  double spare_ = 0.0;
  bool has_spare_ = false;
};

}  // namespace lintel
