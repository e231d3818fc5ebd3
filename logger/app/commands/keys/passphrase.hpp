// Passphrases: from a file or from the terminal without echo, never from an argument, which every
// user of the machine could read.
#pragma once

#include <filesystem>
#include <functional>
#include <string>

#include "logger/store/error.hpp"

namespace logger::app {

// Asks for a passphrase with the prompt; never gives an empty one.
using PassphraseSource = std::function<store::Result<std::string>(const std::string& prompt)>;

// From the file's one line where one is named, else from the terminal of the process. Refuses a
// file that others than its owner may read.
[[nodiscard]] PassphraseSource passphrase_source(const std::filesystem::path& file);

// The same from the terminal for a new passphrase: asked twice, and both must agree.
[[nodiscard]] PassphraseSource new_passphrase_source(const std::filesystem::path& file);

// The same for a person's password, which is asked for by that word and --password-file.
[[nodiscard]] PassphraseSource new_password_source(const std::filesystem::path& file);

// The one line of a file that holds a password or another shared secret; refuses what
// passphrase_source refuses.
[[nodiscard]] store::Result<std::string> read_secret_line(const std::filesystem::path& file);

// The bytes of a file; refuses a folder, and one that others than its owner may read or change.
[[nodiscard]] store::Result<std::string> read_secret_file(const std::filesystem::path& file);

}  // namespace logger::app
