// The command line of a verification, the same for `dwellog verify` and dwellog-verify.
#pragma once

#include <CLI/CLI.hpp>

#include "logger/verify/verify_files.hpp"

namespace logger::verify {

// `options` outlives the parsing.
inline void add_verify_options(CLI::App& app, VerifyOptions& options) {
  app.add_option("CERT", options.certificate, "the certificate's JSON")->required();
  CLI::Option* key = app.add_option("--key", options.key, "the public key, got from another hand");
  app.add_option("--handover", options.handovers,
                 "hand-overs of keys in order, from that key to the one that signed; after CERT")
      ->needs(key);
  app.add_option("--authority", options.authorities,
                 "certificates (PEM) of a time stamping authority that you trust");
  app.add_option("--stamp", options.stamps,
                 "a time stamp (.tsr) of a checkpoint given with --since; needs --authority");
  CLI::Option* readings =
      app.add_option("--readings", options.readings, "the readings beside it: all is recomputed");
  app.add_option("--log", options.log,
                 "the log file beside it: the readings are those that the evidence log holds")
      ->needs(readings);
  app.add_option(
      "--since", options.since,
      "checkpoints kept elsewhere since: the log still begins as they state; after CERT");
  app.add_option("--newer", options.newer,
                 "newer certificates: says whether one takes the place of this; after CERT");
  app.add_option("--photos", options.photos,
                 "folder of the photos that it lists: which are there, which are not");
}

}  // namespace logger::verify
