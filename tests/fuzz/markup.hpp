#pragma once
#include <array>
#include <string>
#include <string_view>
#include <vector>

namespace shotassay::fuzz {

/// Is this one element, every element in it closed in its order, every attribute in quotation marks, and every < > &
/// of its texts written as markup wants it? So that no text has become markup. `script` may not occur.
inline bool well_formed(std::string_view markup) {
  constexpr std::string_view doctype = "<!DOCTYPE html>\n";
  if (markup.starts_with(doctype)) markup.remove_prefix(doctype.size());
  const auto plain = [](std::string_view text) {
    constexpr std::array<std::string_view, 5> known{"&amp;", "&lt;", "&gt;", "&quot;", "&#39;"};
    if (text.find_first_of("<>") != std::string_view::npos) return false;
    for (std::size_t at = text.find('&'); at != std::string_view::npos; at = text.find('&', at + 1)) {
      bool named = false;
      for (const std::string_view name : known) named = named || text.substr(at).starts_with(name);
      if (!named) return false;
    }
    return true;
  };
  std::vector<std::string> open;
  std::size_t elements = 0;
  while (!markup.empty()) {
    const std::size_t tag = markup.find('<');
    const std::string_view text = markup.substr(0, tag);
    if (!plain(text) && (open.empty() || open.back() != "style")) return false;
    if (open.empty() && text.find_first_not_of('\n') != std::string_view::npos) return false;
    if (tag == std::string_view::npos) break;
    if (open.empty() && elements > 0) return false;
    markup.remove_prefix(tag + 1);
    const bool closing = markup.starts_with('/');
    if (closing) markup.remove_prefix(1);
    const std::size_t length = std::min(markup.find_first_of(" >/"), markup.size());
    const std::string name{markup.substr(0, length)};
    markup.remove_prefix(length);
    if (name.empty() || name == "script") return false;
    while (markup.starts_with(' ')) {
      const std::size_t quote = markup.find("=\"");
      if (closing || quote == std::string_view::npos) return false;
      if (markup.substr(1, quote - 1).find_first_of(" \"'<>/&") != std::string_view::npos) return false;
      markup.remove_prefix(quote + 2);
      const std::size_t end = markup.find('"');
      if (end == std::string_view::npos || !plain(markup.substr(0, end))) return false;
      markup.remove_prefix(end + 1);
    }
    const bool empty = markup.starts_with("/>");
    if (empty) markup.remove_prefix(1);
    if (!markup.starts_with('>')) return false;
    markup.remove_prefix(1);
    ++elements;
    if (closing) {
      if (open.empty() || open.back() != name) return false;
      open.pop_back();
    } else if (!empty && name != "meta") {
      open.push_back(name);
    }
  }
  return open.empty() && elements > 0;
}

}  // namespace shotassay::fuzz
