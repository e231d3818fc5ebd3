#include "firmware-sim/core/record_codec.hpp"

#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <vector>

using namespace firmware::core;

namespace {

// Box 2, record 7 taken 90.061 s after start: channel counts at the limits that matter.
BoxRecord golden_record() {
  BoxRecord record{.boot = 2, .sequence = 7, .ticks_ms = 90061, .sample = {}};
  record.sample.flags = 0x0005;
  record.sample.raw_counts = {-4000, 0, 8500, 10000, 0, 3300, -32768, 32767};
  record.sample.statuses = {0, 0, 0, 0, 0, 6, 2, 7};
  return record;
}

using RecordBytes = std::array<std::uint8_t, kRecordBytes>;

RecordBytes encoded(const BoxRecord& record) {
  RecordBytes bytes{};
  encode_record(record, bytes);
  return bytes;
}

}  // namespace

// -40.00 degC, 0.00 degC, 85.00 degC, 100.00 %RH, 0.00 %RH, 3.300 V and both ends of the counts.
// The bytes follow from the register map by hand; the CRC-32 was computed with Python's zlib.
TEST_CASE("GoldenRecordHasTheBytesOfTheRegisterMap") {
  const RecordBytes expected = {
      0x00, 0x00, 0x00, 0x02, 0x00, 0x00, 0x00, 0x07,   // boot, sequence
      0x00, 0x00, 0x00, 0x00, 0x00, 0x01, 0x5f, 0xcd,   // ticks
      0x00, 0x05,                                       // flags
      0xf0, 0x60, 0x00, 0x00, 0x21, 0x34, 0x27, 0x10,   // -4000, 0, 8500, 10000
      0x00, 0x00, 0x0c, 0xe4, 0x80, 0x00, 0x7f, 0xff,   // 0, 3300, -32768, 32767
      0x72, 0x60, 0x00, 0x00, 0x48, 0x70, 0x27, 0xa6};  // statuses, CRC-32
  CHECK(encoded(golden_record()) == expected);
  BoxRecord decoded;
  REQUIRE(decode_record(RegisterView{expected}, decoded) == DecodeStatus::ok);
  CHECK(decoded == golden_record());
}

TEST_CASE("RecordWithAnyBitFlippedIsRefused") {
  const RecordBytes good = encoded(golden_record());
  for (std::size_t bit = 0; bit < 8 * good.size(); ++bit) {
    RecordBytes broken = good;
    broken[bit / 8] = static_cast<std::uint8_t>(broken[bit / 8] ^ (1U << (bit % 8)));
    BoxRecord decoded;
    CHECK(decode_record(RegisterView{broken}, decoded) == DecodeStatus::crc_mismatch);
  }
}

TEST_CASE("RecordOfAnyOtherLengthIsRefused") {
  const RecordBytes good = encoded(golden_record());
  for (std::size_t size = 0; size < good.size(); size += 2) {
    BoxRecord decoded;
    CHECK(decode_record(RegisterView{std::span(good).first(size)}, decoded) ==
          DecodeStatus::wrong_size);
  }
}

TEST_CASE("RecordWithoutAnIdentityIsRefusedThoughItsCrcFits") {
  BoxRecord decoded;
  for (const BoxRecord& record : {BoxRecord{.boot = 0, .sequence = 1, .sample = {}},
                                  BoxRecord{.boot = 1, .sequence = 0, .sample = {}}}) {
    CHECK(decode_record(RegisterView{encoded(record)}, decoded) == DecodeStatus::wrong_value);
  }
}

TEST_CASE("EveryStatusNibbleKeepsItsChannel") {
  for (std::size_t channel = 0; channel < kChannels; ++channel) {
    for (std::uint8_t status = 0; status < 16; ++status) {
      BoxRecord record{.boot = 1, .sequence = 1, .sample = {}};
      record.sample.statuses[channel] = status;
      BoxRecord decoded;
      REQUIRE(decode_record(RegisterView{encoded(record)}, decoded) == DecodeStatus::ok);
      CHECK(decoded == record);
    }
  }
}

TEST_CASE("RegisterHelpersPutTheHighWordFirst") {
  const std::array<std::uint8_t, 8> bytes = {0x80, 0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x07};
  const RegisterView view{bytes};
  CHECK(view.size() == 4);
  CHECK(view.u16(0) == 0x8001);
  CHECK(view.i16(0) == -32767);
  CHECK(view.u32(1) == 0x02030405);
  CHECK(view.u64(0) == 0x8001020304050607);
  CHECK(view.part(2, 2).u32(0) == 0x04050607);
  std::array<std::uint8_t, 8> written{};
  RegisterWriter(written).put_u64(0, 0x8001020304050607);
  CHECK(written == bytes);
}

TEST_CASE("IdentityRoundTripsAndForeignDevicesAreTold") {
  const BoxIdentity identity{.map_version = kMapVersion,
                             .serial = 0x0102030405060708,
                             .firmware = 0x0203,
                             .fitted_channels = 6,
                             .sample_interval_s = 3600,
                             .boot = 9,
                             .ticks_ms = 0x1122334455,
                             .held = 70000,
                             .capacity = 80000,
                             .oldest = {8, 4},
                             .newest = {9, 66000}};
  std::array<std::uint8_t, kIdentityBytes> bytes{};
  encode_identity(identity, bytes);
  BoxIdentity decoded;
  REQUIRE(decode_identity(RegisterView{bytes}, decoded) == DecodeStatus::ok);
  CHECK(decoded == identity);
  CHECK(decode_identity(RegisterView{std::span(bytes).first(54)}, decoded) ==
        DecodeStatus::wrong_size);

  auto other = bytes;
  other[1] ^= 0x01U;
  CHECK(decode_identity(RegisterView{other}, decoded) == DecodeStatus::wrong_magic);
  other = bytes;
  other[3] = 2;
  CHECK(decode_identity(RegisterView{other}, decoded) == DecodeStatus::wrong_version);
  CHECK(decoded.map_version == 2);
  other = bytes;
  other[15] = 9;  // fitted channels
  CHECK(decode_identity(RegisterView{other}, decoded) == DecodeStatus::wrong_value);
}

TEST_CASE("LiveSampleAndLostBlockRoundTrip") {
  const LiveSample live{.sequence = 3, .ticks_ms = 1U << 20U, .sample = golden_record().sample};
  std::array<std::uint8_t, kLiveBytes> live_bytes{};
  encode_live(live, live_bytes);
  LiveSample decoded_live;
  REQUIRE(decode_live(RegisterView{live_bytes}, decoded_live) == DecodeStatus::ok);
  CHECK(decoded_live == live);

  LostBlock lost{.total = 12, .count = 2, .ranges = {}};
  lost.ranges[0] = {1, 5, 9};
  lost.ranges[1] = {2, 1, 1};
  std::array<std::uint8_t, kLostBytes> lost_bytes{};
  encode_lost(lost, lost_bytes);
  LostBlock decoded_lost;
  REQUIRE(decode_lost(RegisterView{lost_bytes}, decoded_lost) == DecodeStatus::ok);
  CHECK(decoded_lost == lost);
  lost_bytes[1] = 3;  // says three ranges; the third is empty
  CHECK(decode_lost(RegisterView{lost_bytes}, decoded_lost) == DecodeStatus::wrong_value);
  lost_bytes[1] = 9;
  CHECK(decode_lost(RegisterView{lost_bytes}, decoded_lost) == DecodeStatus::wrong_value);
}
