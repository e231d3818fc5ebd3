// A serial line as a pseudo-terminal with a stable path: the box's end is held here, the logger
// opens the link. Counts the bytes both ways since begin_counting(), for lock step. One thread.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "analysis/base/result.hpp"

namespace firmware::sim::line {

class PtyLine {
 public:
  explicit PtyLine(std::string link_path) : link_path_(std::move(link_path)) {}
  PtyLine(const PtyLine&) = delete;
  PtyLine& operator=(const PtyLine&) = delete;
  ~PtyLine() { unplug(); }

  // Makes a new pseudo-terminal in raw mode and points the link at it; a link that is there already
  // is replaced, anything else at that path is refused. No effect when plugged.
  analysis::base::Result<void, std::string> plug();
  // The other end sees a hang-up; the link goes. No effect when unplugged.
  void unplug();

  [[nodiscard]] bool plugged() const { return master_ >= 0; }
  [[nodiscard]] const std::string& link_path() const { return link_path_; }
  [[nodiscard]] int master_descriptor() const { return master_; }  // -1 = unplugged
  [[nodiscard]] std::uint64_t plug_count() const { return plug_count_; }

  // Appends what has arrived; returns how many bytes.
  std::size_t read(std::vector<std::uint8_t>& into);
  // Sends, keeping what the kernel does not take yet for flush(). Lost when unplugged, like on a
  // wire.
  void write(std::span<const std::uint8_t> bytes);
  void flush();
  [[nodiscard]] bool has_unsent() const { return !unsent_.empty(); }

  // Throws away every byte on its way, both ways.
  void drain();
  // Changes whenever bytes may have been lost: a frame begun before does not go on after.
  [[nodiscard]] std::uint64_t break_count() const { return plug_count_ + drain_count_; }
  // drain(), then both counts are zero.
  void begin_counting();
  // False from plug() until begin_counting(): who says it has this line open means an earlier one.
  [[nodiscard]] bool counting() const { return counting_; }
  [[nodiscard]] std::uint64_t received() const { return received_; }
  [[nodiscard]] std::uint64_t sent() const { return sent_; }

 private:
  std::string link_path_;
  int master_ = -1;
  int slave_ = -1;  // held open, so that a client's closing is no hang-up of ours
  bool linked_ = false;
  std::uint64_t plug_count_ = 0;
  std::uint64_t drain_count_ = 0;
  std::vector<std::uint8_t> unsent_;
  bool counting_ = false;
  std::uint64_t received_ = 0;
  std::uint64_t sent_ = 0;
};

}  // namespace firmware::sim::line
