#pragma once
#include <cstdint>
#include <exception>
#include <thread>
#include <vector>

namespace shotassay::detail {

/// Runs work(slice) for every slice 0 … slices − 1, each in a thread of its own, slice 0 in the caller's. When all have
/// ended the failure of the lowest slice is thrown, so that it is the same however they raced.
template <class Work>
void in_threads(std::uint64_t slices, const Work& work) {
  std::vector<std::exception_ptr> failures(static_cast<std::size_t>(slices));
  const auto guarded = [&](std::uint64_t slice) noexcept {
    try {
      work(slice);
    } catch (...) {
      failures[static_cast<std::size_t>(slice)] = std::current_exception();
    }
  };
  {
    std::vector<std::jthread> others;
    others.reserve(static_cast<std::size_t>(slices));
    for (std::uint64_t slice = 1; slice < slices; ++slice) others.emplace_back(guarded, slice);
    if (slices > 0) guarded(0);
  }
  for (const std::exception_ptr& failure : failures)
    if (failure) std::rethrow_exception(failure);
}

}  // namespace shotassay::detail
