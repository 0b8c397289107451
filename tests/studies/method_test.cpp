#include <doctest/doctest.h>

#include <string>

#include <shotassay/studies/method.hpp>

using namespace shotassay;

TEST_CASE("method: every method has its place in the table of names, and is found by its name") {
  for (std::size_t i = 0; i < method_names.size(); ++i) {
    CHECK(static_cast<std::size_t>(method_names[i].method) == i);
    CHECK(entry(method_names[i].method).name == method_names[i].name);
    CHECK(method_named(method_names[i].name) == method_names[i].method);
    for (std::size_t j = 0; j < i; ++j) CHECK(method_names[i].name != method_names[j].name);
  }
  CHECK(static_cast<std::size_t>(Method::moderated) + 1 == method_names.size());
}

TEST_CASE("method: names are those that are typed and that stand in JSON") {
  CHECK(name(Method::rounding_aware) == "rounding_aware");
  CHECK(name(Method::mean_interval) == "mean_interval");
  CHECK(name(Method::welch) == "welch");
  CHECK(name(Method::pooled) == "pooled");
  CHECK(name(Method::bootstrap_percentile) == "bootstrap_percentile");
  CHECK(name(Method::bootstrap_basic) == "bootstrap_basic");
  CHECK(name(Method::bootstrap_bca) == "bootstrap_bca");
  CHECK(name(Method::bootstrap_t) == "bootstrap_t");
  CHECK(name(Method::permutation) == "permutation");
  CHECK(name(Method::round_paired) == "round_paired");
  CHECK(name(Method::session_gaps) == "session_gaps");
  CHECK(name(Method::bow_means) == "bow_means");
  CHECK(name(Method::bow_means_welch) == "bow_means_welch");
  CHECK(name(Method::mixed) == "mixed");
  CHECK(name(Method::moderated) == "moderated");
}

TEST_CASE("method: a name with anything wrong in it names none") {
  for (const auto* text : {"", "Welch", " welch", "welch ", "bootstrap", "bootstrap_", "t", "rounding-aware"})
    CHECK(!method_named(text));
}

TEST_CASE("method: which answer for one average and which for a gap") {
  const auto means = {Method::rounding_aware,  Method::mean_interval, Method::bootstrap_percentile,
                      Method::bootstrap_basic, Method::bootstrap_bca, Method::bootstrap_t};
  for (const Method m : means) CHECK(entry(m).of_a_mean);
  for (const Method m : {Method::welch, Method::pooled, Method::permutation, Method::round_paired, Method::session_gaps,
                         Method::bow_means, Method::bow_means_welch, Method::mixed, Method::moderated}) {
    CHECK(!entry(m).of_a_mean);
    CHECK(entry(m).of_a_gap);
  }
  CHECK(!entry(Method::mean_interval).of_a_gap);
  for (const MethodName& m : method_names) CHECK((m.of_a_mean || m.of_a_gap));
}
