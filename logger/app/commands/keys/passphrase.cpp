#include "logger/app/commands/keys/passphrase.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "analysis/evidence/signing_key.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

using analysis::evidence::wipe;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr std::size_t kLongest = 1024;  // bytes; a bound on what is read, not a rule

// The terminal of the process, its echo off for as long as this lives.
class QuietTerminal {
 public:
  QuietTerminal() : descriptor_(::open("/dev/tty", O_RDWR | O_CLOEXEC | O_NOCTTY)) {
    if (descriptor_ >= 0 && ::tcgetattr(descriptor_, &before_) == 0) {
      termios quiet = before_;
      quiet.c_lflag &= ~static_cast<tcflag_t>(ECHO);
      is_quiet_ = ::tcsetattr(descriptor_, TCSAFLUSH, &quiet) == 0;
    }
  }
  QuietTerminal(const QuietTerminal&) = delete;
  QuietTerminal& operator=(const QuietTerminal&) = delete;
  ~QuietTerminal() {
    if (is_quiet_) {
      ::tcsetattr(descriptor_, TCSAFLUSH, &before_);
    }
    if (descriptor_ >= 0) {
      ::close(descriptor_);
    }
  }
  [[nodiscard]] bool is_quiet() const { return is_quiet_; }

  // False when the terminal went away.
  bool say(std::string_view text) {
    return ::write(descriptor_, text.data(), text.size()) == static_cast<ssize_t>(text.size());
  }
  std::string read_line() {
    std::string line;
    line.reserve(kLongest);  // no copy is left behind by growing
    char c = 0;
    while (line.size() < kLongest && ::read(descriptor_, &c, 1) == 1 && c != '\n') {
      line += c;
    }
    return line;
  }

 private:
  int descriptor_;
  termios before_{};
  bool is_quiet_ = false;
};

// What is asked for, and the option that names a file with it.
struct SecretWords {
  const char* secret;
  const char* secrets;
  const char* option;
};
constexpr SecretWords kPassphrase{"passphrase", "passphrases", "--passphrase-file"};
constexpr SecretWords kPassword{"password", "passwords", "--password-file"};
constexpr SecretWords kSecret{"secret", "secrets", ""};

Result<std::string> ask(const std::string& prompt, const SecretWords& words) {
  QuietTerminal terminal;
  if (!terminal.is_quiet() || !terminal.say(prompt)) {
    return failure(ErrorCode::invalid_input,
                   std::string("a ") + words.secret +
                       " is needed and there is no terminal to ask for it; name a file that "
                       "holds it with " +
                       words.option);
  }
  std::string line = terminal.read_line();
  terminal.say("\n");
  if (line.empty()) {
    return failure(ErrorCode::invalid_input, std::string("no ") + words.secret + " was given");
  }
  return line;
}

Result<std::string> ask_twice(const std::string& prompt, const SecretWords& words) {
  auto first = ask(prompt, words);
  if (!first) {
    return first;
  }
  auto second = ask("Once more: ", words);
  const bool agree = second && second.value() == first.value();
  if (second) {
    wipe(second.value());
  }
  if (!agree) {
    wipe(first.value());
    return second ? failure(ErrorCode::invalid_input,
                            std::string("the two ") + words.secrets + " differ")
                  : store::Failure{second.error()};
  }
  return first;
}

Result<std::string> secret_in(const std::filesystem::path& file, const SecretWords& words) {
  auto text = read_secret_file(file);
  if (!text) {
    return text;
  }
  std::string& line = text.value();
  if (line.ends_with('\n')) {
    line.pop_back();
  }
  if (line.empty() || line.find('\n') != std::string::npos || line.size() > kLongest) {
    wipe(line);
    return failure(ErrorCode::invalid_input, file.string() + ": expected one line of 1 to " +
                                                 std::to_string(kLongest) + " bytes, the " +
                                                 words.secret);
  }
  return text;
}

PassphraseSource source_from(const std::filesystem::path& file, const SecretWords& words,
                             Result<std::string> (*from_terminal)(const std::string&,
                                                                  const SecretWords&)) {
  return [file, &words, from_terminal](const std::string& prompt) {
    return file.empty() ? from_terminal(prompt, words) : secret_in(file, words);
  };
}

}  // namespace

PassphraseSource passphrase_source(const std::filesystem::path& file) {
  return source_from(file, kPassphrase, ask);
}

PassphraseSource new_passphrase_source(const std::filesystem::path& file) {
  return source_from(file, kPassphrase, ask_twice);
}

PassphraseSource new_password_source(const std::filesystem::path& file) {
  return source_from(file, kPassword, ask_twice);
}

Result<std::string> read_secret_line(const std::filesystem::path& file) {
  return secret_in(file, kSecret);
}

Result<std::string> read_secret_file(const std::filesystem::path& file) {
  const std::string name = file.string();
  struct stat status {};
  if (::stat(name.c_str(), &status) != 0) {
    return failure(errno == ENOENT ? ErrorCode::not_found : ErrorCode::io,
                   name + ": " + std::strerror(errno), errno);
  }
  if (S_ISDIR(status.st_mode)) {
    return failure(ErrorCode::invalid_input, name + " is a folder; expected a file");
  }
  if ((status.st_mode & 077U) != 0) {
    return failure(ErrorCode::invalid_input,
                   name + " can be read or changed by others than its owner; `chmod 600 " + name +
                       "` if nobody did, else make a new one");
  }
  return read_file(file);
}

}  // namespace logger::app
