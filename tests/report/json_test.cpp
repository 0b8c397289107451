#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>
#include <nlohmann/json.hpp>
#include <random>
#include <string>
#include <variant>
#include <vector>

#include <shotassay/report/json.hpp>

using shotassay::document::Data;
using shotassay::report::render_json;

namespace {

/// The number as it stands in the JSON of a list with it alone.
std::string written(double x) {
  const std::string text = render_json(Data::List{x});
  return text.substr(4, text.size() - 4 - 3);  // "[\n  " … "\n]\n"
}

/// The same tree for another library to hold, in order.
nlohmann::ordered_json copy_of(const Data& data) {
  struct Copy {
    nlohmann::ordered_json operator()(std::monostate) const { return nullptr; }
    nlohmann::ordered_json operator()(bool b) const { return b; }
    nlohmann::ordered_json operator()(std::int64_t n) const { return n; }
    nlohmann::ordered_json operator()(double x) const { return x; }
    nlohmann::ordered_json operator()(const std::string& s) const { return s; }
    nlohmann::ordered_json operator()(const Data::List& list) const {
      auto out = nlohmann::ordered_json::array();
      for (const Data& item : list) out.push_back(copy_of(item));
      return out;
    }
    nlohmann::ordered_json operator()(const Data::Object& object) const {
      auto out = nlohmann::ordered_json::object();
      for (const auto& [key, value] : object) out[key] = copy_of(value);
      return out;
    }
  };
  return std::visit(Copy{}, data.value());
}

Data arbitrary(std::mt19937_64& random, int depth) {
  const auto text = [&] {
    std::string out;
    for (auto n = random() % 6; n > 0; --n)
      out += std::vector<std::string>{"a", "\"", "\\", "\n", "\x01", "ä", "弓", "🏹", "/", " "}[random() % 10];
    return out;
  };
  switch (random() % (depth > 0 ? 7 : 5)) {
    case 0:
      return {};
    case 1:
      return random() % 2 == 0;
    case 2:
      return static_cast<std::int64_t>(random());
    case 3:
      return std::ldexp(static_cast<double>(random() % 2'000'001) - 1e6, static_cast<int>(random() % 200) - 100) + 0.1;
    case 4:
      return text();
    case 5: {
      Data::List list;
      for (auto n = random() % 4; n > 0; --n) list.push_back(arbitrary(random, depth - 1));
      return list;
    }
    default: {
      Data::Object object;
      for (auto n = random() % 4; n > 0; --n)
        object.emplace_back(std::to_string(n) + text(), arbitrary(random, depth - 1));
      return object;
    }
  }
}

}  // namespace

TEST_CASE("render_json: a small tree stands as it is laid out here") {
  const Data data = Data::Object{{"name", "14 strands"},
                                 {"shots", 3},
                                 {"mean", 195.5},
                                 {"sd", Data{}},
                                 {"equal", false},
                                 {"empty list", Data::List{}},
                                 {"empty object", Data::Object{}},
                                 {"steps", Data::List{195, 196}},
                                 {"interval", Data::Object{{"lower", -1}, {"upper", true}}}};
  CHECK(render_json(data) == R"({
  "name": "14 strands",
  "shots": 3,
  "mean": 195.5,
  "sd": null,
  "equal": false,
  "empty list": [],
  "empty object": {},
  "steps": [
    195,
    196
  ],
  "interval": {
    "lower": -1,
    "upper": true
  }
}
)");
  CHECK(render_json(Data{}) == "null\n");
  CHECK(render_json(Data{"x"}) == "\"x\"\n");
}

TEST_CASE("render_json: keys keep the order they were put in, and every kind of number its kind") {
  CHECK(render_json(Data::Object{{"z", 1}, {"a", 2}, {"m", 3}}) == "{\n  \"z\": 1,\n  \"a\": 2,\n  \"m\": 3\n}\n");
  CHECK(render_json(Data{std::size_t{7}}) == "7\n");
  CHECK(render_json(Data{INT64_MAX}) == "9223372036854775807\n");
  CHECK(render_json(Data{INT64_MIN}) == "-9223372036854775808\n");
}

TEST_CASE("render_json: a number is the shortest text that reads back to the same double") {
  // Shortest round-trip decimals as Python's repr gives them.
  CHECK(written(1.0 / 3.0) == "0.3333333333333333");
  CHECK(written(0.1) == "0.1");
  CHECK(written(0.1 + 0.2) == "0.30000000000000004");
  CHECK(written(5e-324) == "5e-324");
  CHECK(written(1.7976931348623157e308) == "1.7976931348623157e+308");
  CHECK(written(1e22) == "1e+22");
  CHECK(written(-0.0) == "-0");
  CHECK(written(0.0) == "0");
  CHECK(written(271.0) == "271");
  CHECK(written(-2.5) == "-2.5");

  std::mt19937_64 random{1};
  for (int i = 0; i < 20'000; ++i) {
    const std::uint64_t bits = random();
    double x = 0;
    std::memcpy(&x, &bits, sizeof x);
    if (!std::isfinite(x)) continue;
    // A whole number without point or exponent comes back as an integer, and means the same.
    CHECK(nlohmann::json::parse(render_json(Data{x})).get<double>() == x);
  }
}

TEST_CASE("render_json: a number that is not finite is null") {
  for (const double x :
       {std::nan(""), std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()})
    CHECK(render_json(Data{x}) == "null\n");
}

TEST_CASE("render_json: quotes, backslashes and control characters are escaped, other text is kept") {
  CHECK(render_json(Data{"a\"b\\c/d"}) == "\"a\\\"b\\\\c/d\"\n");
  CHECK(render_json(Data{"\b\f\n\r\t"}) == "\"\\b\\f\\n\\r\\t\"\n");
  CHECK(render_json(Data{"\x01\x1f\x1b"}) == "\"\\u0001\\u001f\\u001b\"\n");
  CHECK(render_json(Data{std::string{"a\0b", 3}}) == "\"a\\u0000b\"\n");
  CHECK(render_json(Data{"Stränge 弓 🏹"}) == "\"Stränge 弓 🏹\"\n");
  CHECK(render_json(Data::Object{{"a\"\n", 1}}) == "{\n  \"a\\\"\\n\": 1\n}\n");
}

TEST_CASE("render_json: what a terminal obeys or does not show is escaped, and reads back as it was") {
  CHECK(render_json(Data{"a\u202eb\u009bc\u200bd\x7f"}) == "\"a\\u202eb\\u009bc\\u200bd\\u007f\"\n");
  CHECK(render_json(Data{"\U000e0041\uffff"}) == "\"\\udb40\\udc41\\uffff\"\n");  // E0041 less 10000: D0041
  for (const std::string text : {"\u202e\u2066x", "\u0085", "\U0001ffff\U000e0041", "\\u202e", "\u2028"})
    CHECK(nlohmann::json::parse(render_json(Data{text})).get<std::string>() == text);
}

TEST_CASE("render_json: bytes that are not UTF-8 become U+FFFD, so the result is JSON whatever came in") {
  for (const std::string bad : {"\xff",
                                "gr\xfc"
                                "n",
                                "\xe5\xbc", "\xed\xa0\x80"}) {
    const std::string text = render_json(Data{bad});
    CHECK(text.find("\ufffd") != std::string::npos);
    CHECK(nlohmann::json::accept(text));
  }
}

TEST_CASE("render_json: another parser reads back the tree that went in, in its order") {
  std::mt19937_64 random{2};
  for (int i = 0; i < 2000; ++i) {
    const Data data = arbitrary(random, 4);
    const std::string text = render_json(data);
    CHECK(nlohmann::ordered_json::parse(text) == copy_of(data));  // a whole double may come back as an integer
    CHECK(text.back() == '\n');
    CHECK(text.find("\n\n") == std::string::npos);
    CHECK(text.find(" \n") == std::string::npos);
  }
}
