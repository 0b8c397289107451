#include "support/published.hpp"

#include <algorithm>
#include <charconv>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace {

const nlohmann::json& all_checks() {
  static const nlohmann::json checks = [] {
    std::ifstream in{SHOTASSAY_SOURCE_DIR "/data/reference/published.json"};
    return nlohmann::json::parse(in).at("checks");
  }();
  return checks;
}

std::string shortest(double x) {
  char buffer[64];
  return {buffer, std::to_chars(buffer, buffer + sizeof buffer, x, std::chars_format::fixed).ptr};
}

std::vector<std::string> texts_of(const nlohmann::json& list) {
  std::vector<std::string> texts;
  for (const auto& x : list) texts.push_back(shortest(x.get<double>()));
  return texts;
}

int decimals_of(const std::vector<std::string>& texts) {
  int most = 0;
  for (const auto& text : texts) {
    const auto number = shotassay::Decimal::parse(text);
    if (!number) throw std::runtime_error{"not a decimal number: " + text};
    most = std::max(most, number->decimals());
  }
  return most;
}

}  // namespace

Published::Published(std::string_view id) {
  for (const auto& check : all_checks())
    if (check.at("id") == id) json_ = check.dump();
  if (json_.empty()) throw std::runtime_error{"no published check " + std::string{id}};
}

within Published::expected(std::string_view name) const {
  const auto check = nlohmann::json::parse(json_);  // named: a temporary would not outlive the loop head
  for (const auto& e : check.at("expected"))
    if (e.at("name") == name) return {e.at("value").get<double>(), e.at("tol").get<double>()};
  throw std::runtime_error{"no expected value " + std::string{name}};
}

double Published::value(std::string_view name) const { return expected(name).value; }

std::vector<double> Published::numbers(std::string_view key) const {
  return nlohmann::json::parse(json_).at("data").at(std::string{key}).get<std::vector<double>>();
}

std::vector<std::vector<double>> Published::number_rows(std::string_view key) const {
  return nlohmann::json::parse(json_).at("data").at(std::string{key}).get<std::vector<std::vector<double>>>();
}

std::vector<std::vector<std::string>> Published::text_rows(std::string_view key) const {
  return nlohmann::json::parse(json_).at("data").at(std::string{key}).get<std::vector<std::vector<std::string>>>();
}

double Published::number(std::string_view key) const {
  return nlohmann::json::parse(json_).at("data").at(std::string{key}).get<double>();
}

std::string Published::text(std::string_view key) const {
  return nlohmann::json::parse(json_).at("data").at(std::string{key}).get<std::string>();
}

shotassay::Sample Published::readings(std::string_view key) const {
  return sample_of(texts_of(nlohmann::json::parse(json_).at("data").at(std::string{key})));
}

std::vector<shotassay::Sample> Published::groups(std::string_view key) const {
  std::vector<std::vector<std::string>> lists;
  int decimals = 0;
  const auto data = nlohmann::json::parse(json_).at("data").at(std::string{key});
  for (const auto& list : data) {
    lists.push_back(texts_of(list));
    decimals = std::max(decimals, decimals_of(lists.back()));
  }
  std::vector<shotassay::Sample> samples;
  for (const auto& list : lists) samples.push_back(sample_of(list, decimals));
  return samples;
}

std::vector<std::string> reference_column(const std::string& file, std::string_view group) {
  std::ifstream in{SHOTASSAY_SOURCE_DIR "/data/reference/" + file};
  if (!in) throw std::runtime_error{"no reference file " + file};
  std::vector<std::string> texts;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    const auto comma = line.find(',');
    if (group.empty())
      texts.push_back(comma == std::string::npos ? line : line.substr(comma + 1));
    else if (line.substr(0, comma) == group)
      texts.push_back(line.substr(comma + 1));
  }
  if (texts.empty()) throw std::runtime_error{"no readings in " + file + " for group " + std::string{group}};
  return texts;
}

shotassay::Sample sample_of(const std::vector<std::string>& texts, int decimals) {
  decimals = std::max(decimals, decimals_of(texts));
  std::vector<std::int64_t> steps;
  for (const auto& text : texts)
    steps.push_back(shotassay::Decimal::parse(text)->with_decimals(decimals)->coefficient());
  return {steps, shotassay::DisplayStep{shotassay::Decimal{1, decimals}}};
}
