// Catch2's runner, compiled once for every test program.
#pragma once

// Runs the linked tests as the arguments tell and returns the program's exit status. For tests with
// a main of their own; the others get one from dwellog_catch_main.
int run_tests(int argc, char* argv[]);
