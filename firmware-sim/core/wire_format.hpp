// The register map of a probe box as constants: the one place where addresses, sizes, scales and
// byte order are written in code. hardware/register-map.md is the same contract for people.
// All registers are 16 bit, big endian on the wire; wider integers put the high word first.
// Functions 03 and 04 read the same map. Freestanding: no heap, no I/O.
#pragma once

#include <cstddef>
#include <cstdint>

namespace firmware::core {

inline constexpr std::uint16_t kMapMagic = 0x4457;
inline constexpr std::uint16_t kMapVersion = 1;
inline constexpr std::size_t kChannels = 8;

// Identity block, read only.
inline constexpr std::uint16_t kRegIdentity = 0x0000;
inline constexpr std::uint16_t kIdentityMagic = 0;           // u16 kMapMagic
inline constexpr std::uint16_t kIdentityMapVersion = 1;      // u16
inline constexpr std::uint16_t kIdentitySerial = 2;          // u64, unique for each box
inline constexpr std::uint16_t kIdentityFirmware = 6;        // u16, major * 256 + minor
inline constexpr std::uint16_t kIdentityChannels = 7;        // u16, fitted channels
inline constexpr std::uint16_t kIdentitySampleInterval = 8;  // u32, s
inline constexpr std::uint16_t kIdentityBoot = 10;           // u32, boot id of the running boot
inline constexpr std::uint16_t kIdentityTicks = 12;          // u64, ms since this boot
inline constexpr std::uint16_t kIdentityHeld = 16;           // u32, records in the ring
inline constexpr std::uint16_t kIdentityCapacity = 18;       // u32, records the ring can hold
inline constexpr std::uint16_t kIdentityOldestBoot =
    20;  // u32, of the oldest held record; 0 = none
inline constexpr std::uint16_t kIdentityOldestSequence = 22;  // u32
inline constexpr std::uint16_t kIdentityNewestBoot = 24;      // u32
inline constexpr std::uint16_t kIdentityNewestSequence = 26;  // u32
inline constexpr std::uint16_t kIdentitySize = 28;

// Live block: the newest sample, read only.
inline constexpr std::uint16_t kRegLive = 0x0100;
inline constexpr std::uint16_t kLiveSequence = 0;   // u32, 0 = no sample in this boot yet
inline constexpr std::uint16_t kLiveTicks = 2;      // u64, ms
inline constexpr std::uint16_t kLiveFlags = 6;      // u16 bits
inline constexpr std::uint16_t kLiveRaw = 7;        // 8 x i16 counts
inline constexpr std::uint16_t kLiveStatuses = 15;  // u32, 4 bits a channel, channel 0 lowest
inline constexpr std::uint16_t kLiveSize = 17;

// Flags of a sample. Values are permanent (wire).
inline constexpr std::uint16_t kFlagLidOpen = 1U << 0U;
inline constexpr std::uint16_t kFlagTilted = 1U << 1U;
inline constexpr std::uint16_t kFlagSupplyLow = 1U << 2U;
inline constexpr std::uint16_t kFlagSelfTestFailed = 1U << 3U;  // set by the core: a bad block

// Ranges of records that the ring had to overwrite before they were released, oldest first.
// A range leaves the list with the first release that follows a whole read of this block.
inline constexpr std::uint16_t kRegLost = 0x0180;
inline constexpr std::size_t kLostRanges = 8;
inline constexpr std::uint16_t kLostCount = 0;  // u16, ranges listed
inline constexpr std::uint16_t kLostTotal = 1;  // u32, records lost since manufacture
inline constexpr std::uint16_t kLostFirst = 3;  // 8 x {u32 boot, u32 first, u32 last}
inline constexpr std::uint16_t kLostRangeSize = 6;
inline constexpr std::uint16_t kLostSize = 3 + kLostRanges * kLostRangeSize;

// Record windows, read only. After a select, window k holds the records k*5 .. k*5+4 counted from
// the selected one, in the order they were taken; reading again gives the same records.
inline constexpr std::uint16_t kRegWindow = 0x0200;
inline constexpr std::uint16_t kWindowStride = 0x0080;
inline constexpr std::size_t kWindows = 16;
inline constexpr std::size_t kWindowRecords = 5;
inline constexpr std::uint16_t kWindowCount = 0;      // u16, records in this window
inline constexpr std::uint16_t kWindowFirst = 1;      // 5 x record
inline constexpr std::uint16_t kRecordBoot = 0;       // u32
inline constexpr std::uint16_t kRecordSequence = 2;   // u32
inline constexpr std::uint16_t kRecordTicks = 4;      // u64, ms
inline constexpr std::uint16_t kRecordFlags = 8;      // u16
inline constexpr std::uint16_t kRecordRaw = 9;        // 8 x i16 counts
inline constexpr std::uint16_t kRecordStatuses = 17;  // u32
inline constexpr std::uint16_t kRecordCrc = 19;  // u32, CRC-32 (IEEE 802.3) of the 38 bytes before
inline constexpr std::uint16_t kRecordSize = 21;
inline constexpr std::uint16_t kWindowSize = 1 + kWindowRecords * kRecordSize;  // 106

// Command blocks: written whole by function 16 ({u32 boot, u32 sequence}), else exception 03.
// Select: the first record wanted (or the next held one after it). Release: the last record that is
// committed elsewhere; only what was read in windows since start-up can be released.
inline constexpr std::uint16_t kRegSelect = 0x0a00;
inline constexpr std::uint16_t kRegRelease = 0x0a10;
inline constexpr std::uint16_t kCommandSize = 4;

// Settings: function 06 or 16.
inline constexpr std::uint16_t kRegSampleInterval = 0x0a20;  // u16, s, 1..3600

}  // namespace firmware::core
