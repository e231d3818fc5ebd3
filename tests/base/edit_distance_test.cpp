#include "analysis/base/edit_distance.hpp"

#include <catch2/catch.hpp>

using analysis::base::edit_distance;

// Worked by hand; the first pair is the usual example of the Levenshtein distance.
TEST_CASE("EditsAreCountedOneByOne") {
  CHECK(edit_distance("kitten", "sitting") == 3);
  CHECK(edit_distance("", "port") == 4);
  CHECK(edit_distance("port", "") == 4);
  CHECK(edit_distance("prot", "port") == 2);
  CHECK(edit_distance("port", "port") == 0);
}
