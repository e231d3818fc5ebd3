// Computes what a certificate says from the readings: dwell, excursions, unknown time, charts,
// verdict, tree root. `certify` and `verify` feed the same calls, so both say the same. Pure; one
// builder is used by one thread; memory does not grow with the number of readings.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/certificate/facts.hpp"
#include "analysis/certificate/readings_file.hpp"

namespace analysis::certificate {

// The room as its records are replayed, from what was declared.
[[nodiscard]] readiness::RoomSetup room_setup_from(const CertificateFacts& facts);

class FactsBuilder {
 public:
  // `declared`: everything that does not come out of the readings (number, issue, period, parties,
  // room, requirements, deliveries, instruments, site gates, lost records, cautions, software).
  // What does come out of them is ignored: assessment, dwell, excursions, unknown time, chart,
  // largest time error, readings. Gate notes later than the period's end do not count in it.
  explicit FactsBuilder(CertificateFacts declared);
  ~FactsBuilder();
  FactsBuilder(FactsBuilder&&) noexcept;
  FactsBuilder& operator=(FactsBuilder&&) noexcept;

  // The next reading in the order of the readings file (order_key), inside the period (both ends
  // belong to it), of a box that carries one of the instruments; anything else is refused and
  // changes nothing. The line to write to the readings file, without its line end, is in line()
  // until the next call.
  [[nodiscard]] base::Result<void, Fault> add(const Reading& reading);
  [[nodiscard]] std::string_view line() const;
  // The same from a line of the readings file, as verification meets it.
  [[nodiscard]] base::Result<void, Fault> add_line(std::string_view line);

  // The declared facts with the computed ones. Sequence numbers that never came and are not among
  // the declared lost records are added there as "missing". The assessment is made at the period's
  // end. Can be called at any time.
  [[nodiscard]] CertificateFacts facts() const;

  // The first hole in a box's sequence that the declared lost records do not cover, as one line
  // ("line 17: box ..."); nullopt when there is none.
  [[nodiscard]] std::optional<std::string> first_undeclared_hole() const;

 private:
  base::Result<void, Fault> take(const Reading& reading, std::string_view line);

  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace analysis::certificate
