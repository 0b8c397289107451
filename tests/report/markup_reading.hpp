#pragma once
#include <doctest/doctest.h>

#include <functional>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

/// A reader of the markup that pages and pictures are written in, stricter than a browser: every element is closed in
/// its order, every attribute stands once and in quotation marks, and of the named characters only five are known.
struct Element {
  std::string name;
  std::map<std::string, std::string> attributes;
  std::string text;  ///< its own, without that of its children
  std::vector<Element> children;

  std::string attribute(const std::string& key) const {
    const auto found = attributes.find(key);
    return found == attributes.end() ? "" : found->second;
  }
  bool has_class(const std::string& wanted) const {
    return (" " + attribute("class") + " ").find(" " + wanted + " ") != std::string::npos;
  }
};

class MarkupReader {
 public:
  explicit MarkupReader(std::string_view markup) : rest_{markup} {}

  Element root() {
    const std::string_view doctype = "<!DOCTYPE html>\n";
    if (rest_.starts_with(doctype)) rest_.remove_prefix(doctype.size());
    Element root = element();
    REQUIRE(rest_ == "\n");
    return root;
  }

 private:
  Element element() {
    Element out;
    take("<");
    out.name = name();
    while (rest_.starts_with(' ')) {
      rest_.remove_prefix(1);
      const std::string key = name();
      take("=\"");
      const auto end = rest_.find('"');
      REQUIRE(end != std::string_view::npos);
      INFO("attribute ", key);
      REQUIRE(out.attributes.emplace(key, plain(rest_.substr(0, end))).second);
      rest_.remove_prefix(end + 1);
    }
    if (rest_.starts_with("/>")) {
      rest_.remove_prefix(2);
      return out;
    }
    take(">");
    if (out.name == "meta") return out;  // has no content in HTML
    if (out.name == "style") {
      const auto end = rest_.find('<');
      out.text = rest_.substr(0, end);
      rest_.remove_prefix(end);
    }
    while (!rest_.starts_with("</")) {
      REQUIRE(!rest_.empty());
      if (rest_.starts_with('<')) {
        out.children.push_back(element());
      } else {
        const auto end = rest_.find('<');
        REQUIRE(end != std::string_view::npos);
        out.text += plain(rest_.substr(0, end));
        rest_.remove_prefix(end);
      }
    }
    take("</" + out.name + ">");
    return out;
  }

  std::string name() {
    std::size_t length = 0;
    while (length < rest_.size() &&
           std::string_view{"abcdefghijklmnopqrstuvwxyzBPTO0123456789-"}.find(rest_[length]) != std::string_view::npos)
      ++length;
    INFO("at: ", std::string{rest_.substr(0, 60)});
    REQUIRE(length > 0);
    const std::string out{rest_.substr(0, length)};
    rest_.remove_prefix(length);
    return out;
  }

  void take(std::string_view wanted) {
    INFO("wanted ", std::string{wanted}, ", found ", std::string{rest_.substr(0, 60)});
    REQUIRE(rest_.starts_with(wanted));
    rest_.remove_prefix(wanted.size());
  }

  static std::string plain(std::string_view text) {
    static const std::map<std::string, char> known{
        {"amp", '&'}, {"lt", '<'}, {"gt", '>'}, {"quot", '"'}, {"#39", '\''}};
    std::string out;
    while (!text.empty()) {
      REQUIRE(text[0] != '<');
      REQUIRE(text[0] != '>');
      if (text[0] != '&') {
        out += text[0];
        text.remove_prefix(1);
        continue;
      }
      const auto end = text.find(';');
      REQUIRE(end != std::string_view::npos);
      const auto found = known.find(std::string{text.substr(1, end - 1)});
      REQUIRE(found != known.end());
      out += found->second;
      text.remove_prefix(end + 1);
    }
    return out;
  }

  std::string_view rest_;
};

inline Element read_markup(const std::string& markup) { return MarkupReader{markup}.root(); }

/// All elements of which `wanted` holds, in the order of the text.
inline std::vector<Element> all_of(const Element& root, const std::function<bool(const Element&)>& wanted) {
  std::vector<Element> out;
  const std::function<void(const Element&)> visit = [&](const Element& element) {
    if (wanted(element)) out.push_back(element);
    for (const auto& child : element.children) visit(child);
  };
  visit(root);
  return out;
}

inline std::vector<Element> named(const Element& root, const std::string& name) {
  return all_of(root, [&](const Element& e) { return e.name == name; });
}
inline std::vector<Element> classed(const Element& root, const std::string& name, const std::string& style) {
  return all_of(root, [&](const Element& e) { return e.name == name && e.has_class(style); });
}

/// What a reader sees of an element: its text and that of its children. (Own text first: blocks here do not mix them,
/// but for the lead word of a point.)
inline std::string all_text(const Element& element) {
  std::string out;
  for (const auto& child : element.children) out += all_text(child);
  return out + element.text;
}

/// Every id stands once, and whatever is referred to is there.
inline void check_ids(const Element& root) {
  std::set<std::string> ids;
  for (const auto& e : all_of(root, [](const Element&) { return true; }))
    if (e.attributes.count("id") != 0) {
      INFO("id ", e.attribute("id"));
      CHECK(ids.insert(e.attribute("id")).second);
    }
  for (const auto& e : all_of(root, [](const Element& x) { return x.attributes.count("aria-labelledby") != 0; })) {
    std::string list = e.attribute("aria-labelledby") + " ";
    while (!list.empty()) {
      CHECK(ids.count(list.substr(0, list.find(' '))) == 1);
      list.erase(0, list.find(' ') + 1);
    }
  }
}
