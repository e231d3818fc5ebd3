// Where a certificate's readings stand in the evidence log of the store: the
// checkpoint that is signed with it, the newest time stamp below, and the
// extract that lies beside it.
#pragma once

#include "analysis/certificate/facts.hpp"
#include "analysis/evidence/signing_key.hpp"
#include "logger/app/checkpoints/checkpoint_folder.hpp"
#include "logger/app/commands/certificates/certificate_files.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/store/store_snapshot.hpp"

namespace logger::app {

class CertifiedLog {
 public:
  // From now on, until this goes, the job's store gives what it held at this moment. corrupt when
  // the log does not continue the checkpoints of the job's folder, or a row other than a reading or
  // a clock exchange is not as it was logged.
  static store::Result<CertifiedLog> hold(OpenedJob& opened);

  // Writes the extract for these readings, signs the head as of hold() and keeps that checkpoint
  // with the others. corrupt when rows are no longer those that were logged.
  store::Result<analysis::certificate::LogFacts> certify(const OpenedJob& opened,
                                                         CertifiedReadings readings,
                                                         const analysis::evidence::SigningKey& key,
                                                         const std::filesystem::path& extract_file);

 private:
  CertifiedLog(KeptCheckpoints kept, store::StoreSnapshot snapshot)
      : kept_(std::move(kept)), snapshot_(std::move(snapshot)) {}

  KeptCheckpoints kept_;
  store::StoreSnapshot snapshot_;
};

}  // namespace logger::app
