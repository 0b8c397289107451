#pragma once
#include <optional>
#include <string>
#include <vector>

#include <shotassay/document/document.hpp>

#include "common.hpp"
#include "output_file.hpp"

namespace shotassay::cli {

/// What of an answer goes into files for others to look at.
struct PageOptions {
  std::string report, svg;
  bool force = false;
};

/// `page` says in the help what --report writes.
void add_page_options(CLI::App& command, PageOptions& options, const std::string& page);

/// The files asked for; looked at before anything is worked out.
struct PageFiles {
  std::optional<OutputFile> report, svg;

  /// Throws Stop with wrong_use where the names say something else than HTML and SVG, lead to one file, or are taken.
  explicit PageFiles(const PageOptions& options);

  bool any() const { return report || svg; }
  /// The page, and its main figure. Throws Stop with no_answer where a figure is asked for and there is none.
  std::vector<FileText> texts(const document::Document& page, const std::string& title) const;
};

}  // namespace shotassay::cli
