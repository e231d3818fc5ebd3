// What a query or a JSON body gives, read strictly: an unknown, repeated or ill-typed field is
// refused with its name and what was expected. Pure.
#pragma once

#include <initializer_list>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "logger/web/handler/routes.hpp"

namespace logger::web {

// Readers give a default where the field is absent, and remember the first thing wrong.
class GivenQuery {
 public:
  GivenQuery(const Call& call, std::initializer_list<std::string_view> known);
  [[nodiscard]] std::string text(std::string_view name);
  [[nodiscard]] std::int64_t number(std::string_view name, std::int64_t otherwise,
                                    std::int64_t least, std::int64_t most);
  [[nodiscard]] std::optional<UtcMicros> time(std::string_view name);
  [[nodiscard]] const std::string& wrong() const { return wrong_; }  // empty = nothing

 private:
  void refuse(std::string_view name, const std::string& expected);
  const Fields& fields_;
  std::string wrong_;
};

class GivenBody {
 public:
  // REQUIRES of the request: content-type application/json, an object, no other members.
  GivenBody(const Call& call, std::initializer_list<std::string_view> known);
  ~GivenBody();
  [[nodiscard]] std::string text(std::string_view name, std::size_t most_bytes);
  [[nodiscard]] std::string required_text(std::string_view name, std::size_t most_bytes);
  [[nodiscard]] std::vector<std::string> texts(std::string_view name, std::size_t most,
                                               std::size_t most_bytes);
  [[nodiscard]] bool flag(std::string_view name);  // false where absent
  [[nodiscard]] std::optional<std::int64_t> number(std::string_view name, std::int64_t least,
                                                   std::int64_t most);
  [[nodiscard]] std::optional<double> quantity(std::string_view name);
  [[nodiscard]] std::optional<UtcMicros> time(std::string_view name);
  // The answer when something is wrong: 415, 400 or 422.
  [[nodiscard]] std::optional<Response> refusal() const;

 private:
  void refuse(std::string_view name, const std::string& expected);
  const nlohmann::json* member(std::string_view name) const;
  std::unique_ptr<nlohmann::json> body_;
  int status_ = 0;
  std::string wrong_;
};

}  // namespace logger::web
