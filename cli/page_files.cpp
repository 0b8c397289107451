#include "page_files.hpp"

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <algorithm>
#include <cctype>
#include <initializer_list>
#include <shotassay/report/html.hpp>
#include <shotassay/report/svg.hpp>
#include <string_view>

namespace shotassay::cli {

namespace {

bool ends_with(std::string name, std::string_view ending) {
  std::transform(name.begin(), name.end(), name.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return name.ends_with(ending);
}

/// A file of another name would be opened by the wrong program. What goes to standard output is refused elsewhere.
std::optional<OutputFile> named(const std::string& option, const std::string& name, bool force,
                                std::initializer_list<std::string_view> endings, const std::string& kind) {
  if (name.empty()) return std::nullopt;
  const bool fits =
      std::any_of(endings.begin(), endings.end(), [&](std::string_view ending) { return ends_with(name, ending); });
  if (name != "-" && !fits)
    throw stop(wrong_use, option + " " + name + ": it writes " + kind + "; the name must end with " +
                              std::string{*endings.begin()});
  return OutputFile{option, name, force};
}

}  // namespace

void add_page_options(CLI::App& command, PageOptions& options, const std::string& page) {
  command.add_option("--report", options.report, page)->type_name("FILE.html");
  command.add_option("--svg", options.svg, "Write the main figure alone")->type_name("FILE.svg");
  command.add_flag("--force", options.force, "Replace files that exist");
}

PageFiles::PageFiles(const PageOptions& options)
    : report{named("--report", options.report, options.force, {".html", ".htm"}, "a page in HTML")},
      svg{named("--svg", options.svg, options.force, {".svg"}, "a picture in SVG")} {
  if (report) require_free(*report);
  if (svg) require_free(*svg);
  if (report && svg && same_place(*report, *svg))
    throw stop(wrong_use, "--svg " + svg->name + ": the page goes to this file");
}

std::vector<FileText> PageFiles::texts(const document::Document& page, const std::string& title) const {
  std::vector<FileText> texts;
  if (report) texts.push_back({*report, report::render_html(page, {.title = title})});
  if (svg) {
    auto picture = report::render_main_figure(page);
    if (!picture) throw stop(no_answer, "--svg " + svg->name + ": this answer has no figure");
    texts.push_back({*svg, std::move(*picture)});
  }
  return texts;
}

}  // namespace shotassay::cli
