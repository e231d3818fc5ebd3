#include "tests/catch_session.hpp"

int main(int argc, char* argv[]) { return run_tests(argc, argv); }
