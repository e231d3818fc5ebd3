#include "analysis/evidence/canonical_json.hpp"

#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

#include "analysis/evidence/digest.hpp"

using namespace analysis::evidence;
using nlohmann::json;

namespace {

std::string canonical(const json& value) {
  const auto text = canonical_from_json(value);
  return text ? text.value() : "refused: " + text.error().text;
}

std::string canonical_of_text(const char* text) { return canonical(json::parse(text)); }

std::string fault_of(std::string_view bytes) {
  const auto read = json_from_canonical(bytes);
  return read ? "accepted" : read.error().text;
}

}  // namespace

// Source: the sample of RFC 8785 section 3.2.
TEST_CASE("TheSampleOfTheRfcHasItsPublishedForm") {
  const std::string text = canonical_of_text(
      R"({"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],)"
      R"("string":"\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/","literals":[null,true,false]})");
  CHECK(text ==
        R"({"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],)"
        "\"string\":\"\u20ac$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}");
  CHECK(hex_from_digest(sha256_from_bytes(text)) ==
        "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb");
}

// Source: the test data published with RFC 8785; inputs from memory, confirmed by the digests.
TEST_CASE("ThePublishedTestDataHasItsPublishedDigests") {
  const auto digest = [](const char* text) {
    return hex_from_digest(sha256_from_bytes(canonical_of_text(text)));
  };
  CHECK(digest(R"({"1": {"f": {"f": "hi","F": 5} ,"\n": 56.0}, "10": { }, "": "empty",
                   "a": { }, "111": [ {"e": "yes","E": "no" } ], "A": { }})") ==
        "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5");
  CHECK(digest(R"({"\u20ac": "Euro Sign", "\r": "Carriage Return", "\u000a": "Newline",
                   "1": "One", "\u0080": "Control\u007f", "\ud83d\ude02": "Smiley",
                   "\u00f6": "Latin Small Letter O With Diaeresis",
                   "\ufb33": "Hebrew Letter Dalet With Dagesh",
                   "</script>": "Browser Challenge"})") ==
        "6af595a9aa80110b964b4de3f82a05fa6ae7423005019bacfa2620dddc4e94d1");
  CHECK(digest(R"({"peach": "This sorting order", "p\u00e9ch\u00e9": "is wrong according to French",
                   "p\u00eache": "but canonicalization MUST", "sin": "ignore locale"})") ==
        "d99d0ebdcb0033cb858cfa830ae46bc0fb3309413b271f1da828c89901a27ed5");
  CHECK(digest(R"([56, {"d": true, "10": null, "1": [ ]}])") ==
        "099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42");
  CHECK(digest(R"({"Unnormalized Unicode":"A\u030a"})") ==
        "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3");
}

// Source: RFC 8785 appendix B (from memory).
TEST_CASE("NumbersHaveTheirEcmaScriptText") {
  const auto text = [](std::uint64_t bits) {
    return es6_text_from_double(std::bit_cast<double>(bits)).value_or("none");
  };
  CHECK(text(0x0000000000000000) == "0");
  CHECK(text(0x8000000000000000) == "0");
  CHECK(text(0x0000000000000001) == "5e-324");
  CHECK(text(0x8000000000000001) == "-5e-324");
  CHECK(text(0x7fefffffffffffff) == "1.7976931348623157e+308");
  CHECK(text(0xffefffffffffffff) == "-1.7976931348623157e+308");
  CHECK(text(0x4340000000000000) == "9007199254740992");
  CHECK(text(0xc340000000000000) == "-9007199254740992");
  CHECK(text(0x4430000000000000) == "295147905179352830000");
  CHECK(text(0x7fffffffffffffff) == "none");
  CHECK(text(0x7ff0000000000000) == "none");
  CHECK(text(0x44b52d02c7e14af5) == "9.999999999999997e+22");
  CHECK(text(0x44b52d02c7e14af6) == "1e+23");
  CHECK(text(0x44b52d02c7e14af7) == "1.0000000000000001e+23");
  CHECK(text(0x444b1ae4d6e2ef4e) == "999999999999999700000");
  CHECK(text(0x444b1ae4d6e2ef4f) == "999999999999999900000");
  CHECK(text(0x444b1ae4d6e2ef50) == "1e+21");
  CHECK(text(0x3eb0c6f7a0b5ed8c) == "9.999999999999997e-7");
  CHECK(text(0x3eb0c6f7a0b5ed8d) == "0.000001");
  CHECK(text(0x41b3de4355555553) == "333333333.3333332");
  CHECK(text(0x41b3de4355555554) == "333333333.33333325");
  CHECK(text(0x41b3de4355555555) == "333333333.3333333");
  CHECK(text(0x41b3de4355555556) == "333333333.3333334");
  CHECK(text(0x41b3de4355555557) == "333333333.33333343");
  CHECK(text(0xbecbf647612f3696) == "-0.0000033333333333333333");
  CHECK(text(0x43143ff3c1cb0959) == "1424953923781206.2");
}

TEST_CASE("EveryFiniteDoubleReadsBackFromItsText") {
  const std::uint64_t seed = 8785;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  for (int i = 0; i < 20000; ++i) {
    const double value = std::bit_cast<double>(random());
    const auto text = es6_text_from_double(value);
    REQUIRE(text.has_value() == std::isfinite(value));
    if (text) {
      REQUIRE(std::strtod(text->c_str(), nullptr) == value);
    }
  }
}

TEST_CASE("WhatHasNoCanonicalFormIsRefused") {
  CHECK_FALSE(canonical_from_json(std::numeric_limits<double>::quiet_NaN()));
  CHECK_FALSE(canonical_from_json(std::numeric_limits<double>::infinity()));
  CHECK_FALSE(canonical_from_json(json::binary({1, 2})));
  CHECK(canonical(9007199254740992) == "9007199254740992");
  CHECK(canonical(-9007199254740992) == "-9007199254740992");
  CHECK_FALSE(canonical_from_json(9007199254740993));
  CHECK_FALSE(canonical_from_json(-9007199254740993));
  CHECK_FALSE(canonical_from_json(18446744073709551615U));
  CHECK_FALSE(canonical_from_json(1e20));
  CHECK(canonical(1e21) == "1e+21");
  for (const char* bad :
       {"\x80", "\xC0\x80", "\xC1\xBF", "\xE0\x80\x80", "\xED\xA0\x80", "\xF0\x80\x80\x80",
        "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xE2\x82", "\xFF", "a\xC3"}) {
    CAPTURE(bad);
    CHECK_FALSE(canonical_from_json(std::string(bad)));
    CHECK_FALSE(canonical_from_json(json{{std::string(bad), 1}}));
  }
  CHECK(canonical(std::string("\xF4\x8F\xBF\xBF\xED\x9F\xBF")) ==
        "\"\xF4\x8F\xBF\xBF\xED\x9F\xBF\"");
}

TEST_CASE("OnlyTheExactBytesAreAccepted") {
  CHECK(fault_of(R"({"a":1,"b":[true,null,"x"]})") == "accepted");
  CHECK(fault_of("1e+30") == "accepted");
  for (const char* other : {R"({"a":1, "b":2})",
                            R"({"b":2,"a":1})",
                            R"({"a":1,"a":1})",
                            R"({"a":1,"a":2})",
                            R"({"a":1}
)",
                            R"( {"a":1})",
                            R"({"a":1.0})",
                            R"({"a":-0})",
                            R"({"a":1e2})",
                            R"({"a":1E+30})",
                            R"({"a":"\u0041"})",
                            R"({"a":"\/"})",
                            R"({"a":"\u000A"})",
                            R"({"a":"\u001F"})",
                            "\xEF\xBB\xBF{}",
                            "{\"a\":9007199254740993}",
                            "{\"a\":1e999}",
                            R"({"a":1}x)",
                            "",
                            "{",
                            R"({"a":"b)",
                            "/*c*/{}",
                            "nul",
                            "[1,]"}) {
    CAPTURE(other);
    CHECK(fault_of(other) != "accepted");
  }
}

TEST_CASE("TheFaultNamesTheFirstByteThatDiffers") {
  CHECK(fault_of(R"({"a":1, "b":2})") == "byte 7: not the canonical spelling (RFC 8785)");
  CHECK(fault_of("{} ") == "byte 2: not the canonical spelling (RFC 8785)");
  CHECK(fault_of(R"({"a":1,"a":2})") == "byte 5: not the canonical spelling (RFC 8785)");
  CHECK(fault_of(R"({"a":?})") == "byte 5: not JSON");
}

TEST_CASE("HostileNestingIsRefusedBeforeItIsParsed") {
  const std::string deep(1'000'000, '[');
  CHECK(fault_of(deep) == "byte 32: arrays and objects nest deeper than 32");
  const std::string at_limit = std::string(32, '[') + std::string(32, ']');
  CHECK(fault_of(at_limit) == "accepted");
  CHECK(fault_of("[" + at_limit + "]") != "accepted");
  CHECK(fault_of("\"" + std::string(100, '[') + "\\\"[\"") == "accepted");
  json nested = 1;
  for (int i = 0; i < 33; ++i) {
    nested = json::array({nested});
  }
  CHECK_FALSE(canonical_from_json(nested));
}
