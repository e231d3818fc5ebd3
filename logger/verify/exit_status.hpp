// Exit status of dwellog and dwellog-verify; a contract with scripts (docs/commands.md).
#pragma once

namespace logger {

inline constexpr int kExitDone = 0;        // done, ready or proved
inline constexpr int kExitInput = 1;       // usage, input or configuration error
inline constexpr int kExitNot = 2;         // not ready, or parsed but not proved
inline constexpr int kExitCannotTell = 3;  // cannot tell; intact but the key was not given
inline constexpr int kExitCouldNotDo = 4;  // disk, port, database, network

}  // namespace logger
