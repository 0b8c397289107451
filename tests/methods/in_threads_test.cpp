#include "../../lib/src/methods/in_threads.hpp"

#include <doctest/doctest.h>

#include <stdexcept>
#include <string>
#include <vector>

TEST_CASE("in_threads: every slice is worked once, and the failure of the lowest is thrown when all have ended") {
  std::vector<int> worked(9, 0);
  shotassay::detail::in_threads(worked.size(), [&](std::uint64_t slice) { ++worked[slice]; });
  CHECK(worked == std::vector<int>(9, 1));
  shotassay::detail::in_threads(0, [&](std::uint64_t slice) { ++worked[slice]; });
  CHECK(worked == std::vector<int>(9, 1));
  CHECK_THROWS_WITH_AS(shotassay::detail::in_threads(worked.size(),
                                                     [&](std::uint64_t slice) {
                                                       ++worked[slice];
                                                       if (slice > 2) throw std::runtime_error{std::to_string(slice)};
                                                     }),
                       "3", std::runtime_error);
  CHECK(worked == std::vector<int>(9, 2));
}
