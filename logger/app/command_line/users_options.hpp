// The options of `dwellog users`, as the command line takes them.
#pragma once

#include "logger/app/commands/commands.hpp"

namespace CLI {
class App;
}  // namespace CLI

namespace logger::app {

// `users` is filled when the command line is parsed, and outlives `sub`.
void add_users_options(CLI::App& sub, UsersOptions& users);

}  // namespace logger::app
