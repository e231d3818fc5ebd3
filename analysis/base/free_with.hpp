// Handles of C libraries that free themselves: Handle<BIO, BIO_free_all>.
#pragma once

#include <memory>

namespace analysis::base {

template <auto Free>
struct FreeWith {
  template <class T>
  void operator()(T* handle) const {
    Free(handle);
  }
};
template <class T, auto Free>
using Handle = std::unique_ptr<T, FreeWith<Free>>;

}  // namespace analysis::base
