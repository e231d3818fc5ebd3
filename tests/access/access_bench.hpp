// What the tests of access share: a folder, a hasher that is quick and counts, and the users in it.
#pragma once

#include <sodium.h>
#include <sys/stat.h>

#include <array>
#include <catch2/catch.hpp>
#include <fstream>
#include <memory>
#include <sstream>
#include <string>

#include "analysis/evidence/digest.hpp"
#include "logger/web/access/access.hpp"
#include "logger/web/access/book/book_file.hpp"
#include "tests/app/scratch_folder.hpp"

namespace access_tests {

using namespace logger::web;
using analysis::base::micros_from_hours;
using logger::store::ErrorCode;
using logger::store::Result;

inline constexpr UtcMicros kStart{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z
inline UtcMicros after_hours(double hours) { return kStart + micros_from_hours(hours); }
inline UtcMicros after_seconds(int seconds) { return kStart + Micros{seconds * 1'000'000LL}; }

// Looks like Argon2id, costs nothing, and counts how often it was asked.
inline std::string quick_hash(const std::string& password) {
  const auto digest = analysis::evidence::sha256_from_bytes(password);
  std::array<char, sodium_base64_ENCODED_LEN(32, sodium_base64_VARIANT_ORIGINAL_NO_PADDING)> text{};
  sodium_bin2base64(text.data(), text.size(), digest.bytes.data(), digest.bytes.size(),
                    sodium_base64_VARIANT_ORIGINAL_NO_PADDING);
  return "$argon2id$v=19$m=19456,t=2,p=1$AAAAAAAAAAAAAAAAAAAAAA$" + std::string(text.data());
}
class QuickHasher final : public PasswordHasher {
 public:
  explicit QuickHasher(int& asked) : asked_(asked) {}
  Result<std::string> hash(const std::string& password) override { return quick_hash(password); }
  bool matches(const std::string& hash, const std::string& password) override {
    ++asked_;
    return hash == quick_hash(password);
  }

 private:
  int& asked_;
};

class Bench {
 public:
  Bench() { reopen(); }

  [[nodiscard]] std::filesystem::path folder() const { return scratch_.path() / "access"; }
  [[nodiscard]] std::filesystem::path file(const char* name) const { return folder() / name; }
  [[nodiscard]] Access& access() { return *access_; }
  [[nodiscard]] int hashes() const { return hashes_; }

  [[nodiscard]] std::unique_ptr<Access> open() {
    return Access::open(folder(), std::make_unique<QuickHasher>(hashes_));
  }
  // As a restart of the daemon does.
  void reopen() {
    access_.reset();
    access_ = open();
  }
  void change(const std::function<Result<std::string>(AccessBook&)>& change) {
    const auto changed = change_book(folder(), [&](AccessBook& book) -> Result<void> {
      const auto done = change(book);
      return done ? Result<void>{} : logger::store::Failure{done.error()};
    });
    INFO((changed ? "" : changed.error().context));
    REQUIRE(changed);
  }
  void add(const std::string& name, Role role = Role::crew) {
    change([&](AccessBook& book) {
      return add_user(book, name, role, quick_hash("password of " + name), kStart);
    });
  }
  LoginAnswer log_in(const std::string& name, UtcMicros now,
                     const std::string& from = "192.0.2.1") {
    return access().log_in(name, "password of " + name, from, now);
  }
  LoginAnswer guess(const std::string& name, UtcMicros now, const std::string& from = "192.0.2.1") {
    return access().log_in(name, "not the password", from, now);
  }
  std::optional<Identified> by_cookie(const std::string& cookie, UtcMicros now) {
    return access().identify({"", cookie}, now);
  }

 private:
  ScratchFolder scratch_;
  int hashes_ = 0;
  std::unique_ptr<Access> access_;
};

inline std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}
inline void write(const std::filesystem::path& file, const std::string& text, mode_t mode = 0600) {
  std::ofstream(file, std::ios::binary | std::ios::trunc) << text;
  REQUIRE(::chmod(file.c_str(), mode) == 0);
}

}  // namespace access_tests
