#pragma once
#include <doctest/doctest.h>

#include <string>
#include <variant>
#include <vector>

#include <shotassay/document/data.hpp>
#include <shotassay/document/document.hpp>

/// Ways to look into what narrative makes: the values of a data tree, the texts of a document.

inline const shotassay::document::Data& at(const shotassay::document::Data& data, const std::string& key) {
  using shotassay::document::Data;
  REQUIRE(std::holds_alternative<Data::Object>(data.value()));
  static const Data missing;
  for (const auto& [name, value] : std::get<Data::Object>(data.value()))
    if (name == key) return value;
  FAIL("no key " << key);
  return missing;
}

inline std::vector<std::string> keys_of(const shotassay::document::Data& data) {
  std::vector<std::string> keys;
  for (const auto& [name, value] : std::get<shotassay::document::Data::Object>(data.value())) keys.push_back(name);
  return keys;
}

inline bool is_null(const shotassay::document::Data& data) {
  return std::holds_alternative<std::monostate>(data.value());
}
inline std::string text_at(const shotassay::document::Data& data, const std::string& key) {
  return std::get<std::string>(at(data, key).value());
}
inline double number_at(const shotassay::document::Data& data, const std::string& key) {
  const auto& value = at(data, key).value();
  if (const auto* whole = std::get_if<std::int64_t>(&value)) return static_cast<double>(*whole);
  return std::get<double>(value);
}
inline const shotassay::document::Data::List& list_at(const shotassay::document::Data& data, const std::string& key) {
  return std::get<shotassay::document::Data::List>(at(data, key).value());
}

/// Every text a reader would see, block by block, figures by the labels of their rows.
inline std::vector<std::string> texts_of(const shotassay::document::Document& document) {
  using namespace shotassay::document;
  struct Collect {
    std::vector<std::string>& out;
    void operator()(const Headline& h) const { out.push_back(h.text); }
    void operator()(const Heading& h) const { out.push_back(h.text); }
    void operator()(const Paragraph& p) const { out.push_back(p.text); }
    void operator()(const Points& p) const {
      for (const auto& point : p.points)
        out.push_back(point.lead.empty() ? point.text : point.lead + ": " + point.text);
    }
    void operator()(const Table& t) const {
      for (const auto& column : t.columns) out.push_back(column.title);
      for (const auto& row : t.rows)
        for (const auto& cell : row) out.push_back(cell);
    }
    void operator()(const ShotFigure& f) const {
      for (const auto& row : f.rows) out.push_back(row.label);
    }
    void operator()(const IntervalFigure& f) const {
      for (const auto& row : f.rows) out.push_back(row.label);
    }
    void operator()(const BowFigure& f) const {
      for (const auto& kind : f.kinds) {
        out.push_back(kind.label);
        for (const auto& bow : kind.bows) out.push_back(bow.label);
      }
    }
    void operator()(const BudgetFigure& f) const {
      for (const auto& row : f.rows) out.push_back(row.label);
    }
    void operator()(const PowerCurveFigure& f) const {
      out.push_back(f.title);
      out.push_back(f.x_label);
    }
    void operator()(const IntervalStackFigure& f) const {
      for (const auto& group : f.groups) out.push_back(group.label);
    }
    void operator()(const PageBreak&) const {}
    void operator()(const FiringSheet& sheet) const {
      out.push_back(sheet.title);
      for (const auto* lines : {&sheet.particulars, &sheet.remarks, &sheet.cautions})
        out.insert(out.end(), lines->begin(), lines->end());
      (*this)(Table{sheet.columns, sheet.rows});
    }
  };
  std::vector<std::string> out;
  for (const Block& block : document.blocks) std::visit(Collect{out}, block);
  return out;
}

inline std::string joined(const std::vector<std::string>& texts) {
  std::string out;
  for (const auto& text : texts) out += text + "\n";
  return out;
}

template <class Kind>
std::vector<Kind> blocks_of(const shotassay::document::Document& document) {
  std::vector<Kind> out;
  for (const auto& block : document.blocks)
    if (const auto* found = std::get_if<Kind>(&block)) out.push_back(*found);
  return out;
}
