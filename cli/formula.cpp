#include "formula.hpp"

#include <muParser.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <memory>
#include <numbers>
#include <string_view>

#include "common.hpp"

namespace shotassay::cli {

namespace {

constexpr std::array<std::string_view, 6> functions{"sqrt", "exp", "log", "sin", "cos", "tan"};
constexpr std::size_t longest = 1000;

enum class Kind { number, name, function, sign, opening, closing, foreign };

struct Token {
  Kind kind;
  std::size_t at;  ///< byte, from 0
  std::string_view text;
};

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_'; }

/// Bytes of the number at the head of a text: digits, one point, an exponent.
std::size_t number_length(std::string_view text) {
  std::size_t n = 0;
  while (n < text.size() && is_digit(text[n])) ++n;
  if (n < text.size() && text[n] == '.') ++n;
  while (n < text.size() && is_digit(text[n])) ++n;
  std::size_t e = n;
  if (e < text.size() && (text[e] == 'e' || text[e] == 'E')) {
    ++e;
    if (e < text.size() && (text[e] == '+' || text[e] == '-')) ++e;
    if (e < text.size() && is_digit(text[e])) {
      while (e < text.size() && is_digit(text[e])) ++e;
      return e;
    }
  }
  return n;
}

std::vector<Token> tokens_of(std::string_view formula) {
  std::vector<Token> tokens;
  for (std::size_t at = 0; at < formula.size();) {
    const std::string_view rest = formula.substr(at);
    const char c = rest[0];
    std::size_t length = 1;
    Kind kind = Kind::foreign;
    if (c == ' ' || c == '\t' || c == '\n' || c == '\r') {
      ++at;
      continue;
    }
    if (is_digit(c) || (c == '.' && rest.size() > 1 && is_digit(rest[1]))) {
      kind = Kind::number;
      length = number_length(rest);
    } else if (is_letter(c)) {
      while (length < rest.size() && (is_letter(rest[length]) || is_digit(rest[length]))) ++length;
      const bool known = std::find(functions.begin(), functions.end(), rest.substr(0, length)) != functions.end();
      kind = known ? Kind::function : Kind::name;
    } else if (std::string_view{"+-*/^"}.find(c) != std::string_view::npos) {
      kind = Kind::sign;
    } else if (c == '(') {
      kind = Kind::opening;
    } else if (c == ')') {
      kind = Kind::closing;
    } else {
      // The whole of a character beyond ASCII.
      while (length < rest.size() && (static_cast<unsigned char>(rest[length]) & 0xC0U) == 0x80U) ++length;
    }
    tokens.push_back({kind, at, rest.substr(0, length)});
    at += length;
  }
  return tokens;
}

/// What a reader may have meant by a foreign sign.
std::string hint(std::string_view sign) {
  if (sign == "×" || sign == "·") return "; write * for times";
  if (sign == "÷" || sign == ":") return "; write / for over";
  if (sign == "²") return "; write ^2 for a square";
  if (sign == "−" || sign == "–") return "; write - for minus";
  if (sign == "π") return "; write pi";
  if (sign == ",") return "; write a decimal point";
  if (sign == "[" || sign == "{") return "; write ( )";
  return "; there are + - * / ^ and parentheses";
}

/// What a formula may use beside its names, with nothing of the parser's own left.
void prepare(mu::Parser& parser) {
  parser.ClearConst();
  parser.ClearFun();
  parser.DefineConst("pi", std::numbers::pi);
  parser.DefineFun(
      "sqrt", +[](double x) { return std::sqrt(x); });
  parser.DefineFun(
      "exp", +[](double x) { return std::exp(x); });
  parser.DefineFun(
      "log", +[](double x) { return std::log(x); });
  parser.DefineFun(
      "sin", +[](double x) { return std::sin(x); });
  parser.DefineFun(
      "cos", +[](double x) { return std::cos(x); });
  parser.DefineFun(
      "tan", +[](double x) { return std::tan(x); });
}

/// A parser whose variables are its own, so that copies are apart. The values live on the heap: the parser keeps
/// pointers to them.
class Evaluated {
 public:
  Evaluated(const std::string& formula, const std::vector<std::string>& names)
      : formula_{formula}, names_{names}, values_(names.size(), 1.0) {
    make();
  }
  Evaluated(const Evaluated& other) : formula_{other.formula_}, names_{other.names_}, values_(other.values_) { make(); }
  Evaluated(Evaluated&&) noexcept = default;
  Evaluated& operator=(const Evaluated&) = delete;
  Evaluated& operator=(Evaluated&&) = delete;
  ~Evaluated() = default;

  double operator()(std::span<const double> x) {
    std::copy(x.begin(), x.end(), values_.begin());
    try {
      return parser_->Eval();
    } catch (const mu::ParserError&) {
      return std::numeric_limits<double>::quiet_NaN();  // no value here; what is wrong with a formula was found before
    }
  }

 private:
  void make() {
    parser_ = std::make_unique<mu::Parser>();
    prepare(*parser_);
    for (std::size_t i = 0; i < names_.size(); ++i) parser_->DefineVar(names_[i], &values_[i]);
    parser_->SetExpr(formula_);
  }

  std::string formula_;
  std::vector<std::string> names_;
  std::vector<double> values_;
  std::unique_ptr<mu::Parser> parser_;
};

}  // namespace

std::vector<FormulaProblem> formula_problems(const std::string& formula, const std::vector<std::string>& names) {
  std::vector<FormulaProblem> problems;
  const auto report = [&](std::size_t byte, std::string_view found, const std::string& message) {
    const auto characters = std::count_if(formula.begin(), formula.begin() + static_cast<std::ptrdiff_t>(byte),
                                          [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; });
    problems.push_back({static_cast<std::size_t>(characters) + 1, std::string{found}, message});
  };
  if (formula.size() > longest) {
    report(longest, {}, "it is longer than " + std::to_string(longest) + " characters");
    return problems;
  }
  std::vector<std::string> known(names);
  known.emplace_back("pi");
  known.insert(known.end(), functions.begin(), functions.end());
  for (const std::string& name : names)
    if (name == "pi" || std::find(functions.begin(), functions.end(), name) != functions.end())
      report(0, name, "an input cannot have this name: it means something in a formula");

  const std::vector<Token> tokens = tokens_of(formula);
  std::vector<std::size_t> open;
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    const Token& t = tokens[i];
    const Token* before = i > 0 ? &tokens[i - 1] : nullptr;
    const bool value_before = before != nullptr && (before->kind == Kind::number || before->kind == Kind::name ||
                                                    before->kind == Kind::closing);
    const bool function_before = before != nullptr && before->kind == Kind::function;
    const bool value_here =
        t.kind == Kind::number || t.kind == Kind::name || t.kind == Kind::function || t.kind == Kind::opening;
    if (t.kind == Kind::foreign) {
      report(t.at, t.text, "is no part of a formula" + hint(t.text));
      continue;
    }
    if (t.kind == Kind::name && t.text != "pi" && std::find(names.begin(), names.end(), t.text) == names.end()) {
      const std::string near = nearest(std::string{t.text}, known);
      report(t.at, t.text,
             near.size() < 3 ? "is the name of no input" : "is the name of no input; did you mean " + near + "?");
      continue;
    }
    if (value_here && value_before) report(t.at, t.text, "an operator is missing before it, * perhaps");
    if (function_before && t.kind != Kind::opening) report(t.at, t.text, "after a function comes its ( )");
    if (t.kind == Kind::sign && !value_before && (before == nullptr || before->kind != Kind::foreign)) {
      const bool plus_or_minus = t.text == "-" || t.text == "+";
      const bool may = plus_or_minus && (before == nullptr || before->kind == Kind::opening);
      // What 2^-x or a--b mean is a matter of taste.
      const bool in_a_row = plus_or_minus && before != nullptr && before->kind == Kind::sign;
      if (!may && !function_before)
        report(
            t.at, t.text,
            in_a_row ? "two signs in a row; write parentheses, as in a*(-b)" : "there is nothing before it to work on");
    }
    if (t.kind == Kind::closing) {
      if (open.empty())
        report(t.at, t.text, "closes what was never opened");
      else
        open.pop_back();
      if (before != nullptr && (before->kind == Kind::opening || before->kind == Kind::sign))
        report(t.at, t.text, "there is nothing before it to close");
    }
    if (t.kind == Kind::opening) open.push_back(t.at);
  }
  for (const std::size_t at : open) report(at, "(", "is never closed");
  if (tokens.empty())
    report(0, {}, "it is empty");
  else if (tokens.back().kind == Kind::sign || tokens.back().kind == Kind::function)
    report(tokens.back().at, tokens.back().text, "there is nothing behind it to work on");
  if (!problems.empty()) return problems;

  for (const std::string& name : names)
    if (std::none_of(tokens.begin(), tokens.end(),
                     [&](const Token& t) { return t.kind == Kind::name && t.text == name; }))
      report(0, name,
             "the formula does not use this input; leave it out, or say with adds_to or scales what it acts on");
  if (!problems.empty()) return problems;
  try {
    std::vector<double> values(names.size(), 1.0);
    mu::Parser parser;
    prepare(parser);
    for (std::size_t i = 0; i < names.size(); ++i) parser.DefineVar(names[i], &values[i]);
    parser.SetExpr(formula);
    parser.Eval();
  } catch (const mu::ParserError& error) {
    const auto at = static_cast<std::size_t>(std::max(0, static_cast<int>(error.GetPos())));
    report(std::min(at, formula.size()), error.GetToken(), "cannot be read from here");
  }
  return problems;
}

std::function<double(std::span<const double>)> formula_function(const std::string& formula,
                                                                const std::vector<std::string>& names) {
  return Evaluated{formula, names};
}

}  // namespace shotassay::cli
