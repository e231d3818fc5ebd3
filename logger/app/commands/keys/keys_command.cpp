// keys: show, rotate, protect, unprotect.
#include <algorithm>
#include <ostream>
#include <vector>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/keys/key_rotation.hpp"

namespace logger::app {

using analysis::evidence::wipe;

namespace {

int show(const KeysOptions& options, const Console& console) {
  const JobFolder folder{options.job_dir};
  const auto key = read_public_key(folder.public_key());
  if (!key) {
    return report(console, key.error());
  }
  if (options.pem) {
    console.out << pem_from_public_key(key.value());
    return kExitDone;
  }
  console.out << "public key file  " << folder.public_key().string() << '\n'
              << "fingerprint      " << fingerprint_of(key.value()) << '\n';
  if (const auto secret = check_secret_key(folder)) {
    console.out << "secret key       "
                << (secret.value().is_protected ? "protected by a passphrase\n"
                                                : "readable by its owner alone, no passphrase\n");
  }
  for (const path& file : older_key_files(folder)) {
    console.out << "older keys       " << file.string() << '\n';
  }
  console.out << "Read the fingerprint out to whoever verifies, over another way than the file.\n";
  return kExitDone;
}

void print_rotation(const Rotation& rotation, const JobFolder& folder, std::ostream& out) {
  if (rotation.was_interrupted) {
    out << "A change of keys that was interrupted has been brought to its end.\n";
  }
  out << "new key          " << fingerprint_of(rotation.new_key) << " in "
      << folder.public_key().string()
      << (rotation.is_protected ? ", under the same passphrase\n" : "\n") << "older key        "
      << fingerprint_of(rotation.old_key) << " in " << rotation.old_public_key.string() << '\n';
  if (rotation.handover) {
    out << "hand-over        " << rotation.handover->string() << '\n'
        << "Give the hand-over to whoever has the older public key: verify --key OLDER.pub "
           "--handover FILE\n"
           "then proves new certificates. Certificates signed before are verified with the older "
           "key as ever.\n";
    return;
  }
  out << "Nothing joins the new key to the older one. Certificates signed before stay provable "
         "with "
         "the\n"
         "older public key; nobody who has only that can tell that the new key is yours. Hand the "
         "new\n"
         "public key out as you did the first one, and read its fingerprint out. Whoever has the "
         "lost\n"
         "secret key can still sign with it: say from when on it no longer counts.\n";
}

int rotate(const KeysOptions& options, const Console& console) {
  const JobFolder folder{options.job_dir};
  if (options.lost) {
    const auto rotation = replace_lost_key(folder);
    if (!rotation) {
      return report(console, rotation.error());
    }
    print_rotation(rotation.value(), folder, console.out);
    return kExitDone;
  }
  const auto opened = open_job(options.job_dir, false);
  if (!opened) {
    return report(console, opened.error());
  }
  const auto rotation =
      rotate_key(folder, passphrase_source(options.passphrase_file), opened.value().now);
  if (!rotation) {
    return report(console, rotation.error());
  }
  print_rotation(rotation.value(), folder, console.out);
  return kExitDone;
}

// protect and unprotect: the same key, written anew.
int seal(const KeysOptions& options, bool protect, const Console& console) {
  const JobFolder folder{options.job_dir};
  const auto secret = check_secret_key(folder);
  if (!secret) {
    return report(console, secret.error());
  }
  if (secret.value().is_protected == protect) {
    return refuse(console, folder.secret_key().string() +
                               (protect ? " is protected already; unprotect it first to change "
                                          "its passphrase"
                                        : " is not protected"));
  }
  auto opened = open_signing_key(folder, passphrase_source(options.passphrase_file));
  if (!opened) {
    return report(console, opened.error());
  }
  std::string passphrase;
  if (protect) {
    auto given = new_passphrase_source(options.passphrase_file)("New passphrase: ");
    if (!given) {
      return report(console, given.error());
    }
    passphrase = std::move(given).value();
  }
  const auto written = seal_key_anew(folder, opened.value(), passphrase);
  wipe(passphrase);
  wipe(opened.value().passphrase);
  if (!written) {
    return report(console, written.error());
  }
  console.out << folder.secret_key().string()
              << (protect ? ": protected. Nobody can bring a forgotten passphrase back. Copies of "
                            "the file made before are not protected.\n"
                          : ": no longer protected; readable by its owner alone\n");
  return kExitDone;
}

}  // namespace

int keys(const KeysOptions& options, const Console& console) {
  if (options.lost && options.action != "rotate") {
    return refuse(console, "--lost: only rotate has it");
  }
  if (options.pem && options.action != "show") {
    return refuse(console, "--pem: only show has it");
  }
  if (options.action == "rotate") {
    return rotate(options, console);
  }
  return options.action == "show" ? show(options, console)
                                  : seal(options, options.action == "protect", console);
}

}  // namespace logger::app
