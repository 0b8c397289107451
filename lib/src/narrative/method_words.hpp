#pragma once
#include <string>
#include <vector>

#include <shotassay/document/document.hpp>
#include <shotassay/studies/method.hpp>

namespace shotassay::narrative {

/// Entries of docs/bibliography.md that pages name.
enum class Source {
  anaya2016,
  brown2017,
  david2003,
  davison1997,
  efron1987,
  efron1993,
  ernst2004,
  fai1996,
  fisher1925,
  fisher1935,
  games1976,
  gum,
  gum_s1,
  hall1992,
  holm1979,
  imbens2004,
  kramer1956,
  lee1975,
  patterson1971,
  phipson2016,
  pitman1937,
  satterthwaite1946,
  schuirmann1987,
  sheppard1898,
  smyth2004,
  student1908,
  tukey1953,
  wald1940,
  welch1947,
  williams1962
};

/// What a page says of a method it used: what it does, for a reader who knows no statistics, and where it comes from.
struct MethodWords {
  std::string name;
  std::string text;
  std::vector<Source> sources;
};

/// A method of a comparison. In a family of three or more set-ups its interval holds for all pairs at once.
MethodWords words_of(Method method, bool family);

/// What a budget rests on, and the trials beside it where there are some.
std::vector<MethodWords> budget_methods(bool trials);

/// What an audit of published figures rests on; `best` where a best reading is in it.
std::vector<MethodWords> audit_methods(bool best);

/// The methods, each with its sources by author and year, and under them the sources in full, each once.
void show_sources(const std::vector<MethodWords>& methods, document::Document& out);

}  // namespace shotassay::narrative
