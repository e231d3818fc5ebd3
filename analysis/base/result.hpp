// Result<T, E>: a value or the reason why there is none. Member names are those of std::expected,
// so that C++23 turns this into an alias. Thread contract: as its T and E. Wrong access traps.
#pragma once

#include <cstdlib>
#include <optional>
#include <utility>
#include <variant>

namespace analysis::base {

// Wraps an error so that it converts to any Result with that error type: `return Failure{error};`.
template <class E>
struct Failure {
  E error;
};
template <class E>
Failure(E) -> Failure<E>;

template <class T, class E>
class [[nodiscard]] Result {
 public:
  constexpr Result(T value) : state_(std::in_place_index<0>, std::move(value)) {}
  template <class F>
  constexpr Result(Failure<F> failure)
      : state_(std::in_place_index<1>, E(std::move(failure.error))) {}

  [[nodiscard]] constexpr bool has_value() const { return state_.index() == 0; }
  constexpr explicit operator bool() const { return has_value(); }

  // REQUIRES: has_value(). A temporary gives its value by value, so that no reference dangles.
  [[nodiscard]] constexpr const T& value() const& {
    require(has_value());
    return std::get<0>(state_);
  }
  [[nodiscard]] constexpr T& value() & {
    require(has_value());
    return std::get<0>(state_);
  }
  [[nodiscard]] constexpr T value() && {
    require(has_value());
    return std::get<0>(std::move(state_));
  }

  // REQUIRES: !has_value().
  [[nodiscard]] constexpr const E& error() const {
    require(!has_value());
    return std::get<1>(state_);
  }

  [[nodiscard]] constexpr T value_or(T fallback) const {
    return has_value() ? std::get<0>(state_) : std::move(fallback);
  }

 private:
  static constexpr void require(bool held) {
    if (!held) {
      std::abort();
    }
  }
  std::variant<T, E> state_;
};

template <class E>
class [[nodiscard]] Result<void, E> {
 public:
  constexpr Result() = default;
  template <class F>
  constexpr Result(Failure<F> failure) : error_(E(std::move(failure.error))) {}

  [[nodiscard]] constexpr bool has_value() const { return !error_.has_value(); }
  constexpr explicit operator bool() const { return has_value(); }

  // REQUIRES: !has_value().
  [[nodiscard]] constexpr const E& error() const {
    if (!error_) {
      std::abort();
    }
    return *error_;
  }

 private:
  std::optional<E> error_;
};

}  // namespace analysis::base
