#pragma once
#include <string>
#include <variant>
#include <vector>

#include <shotassay/document/figure.hpp>

namespace shotassay::document {

/// What kind of answer a sentence gives; a renderer may support it with colour, never say it by colour alone.
enum class Tone { plain, resolved, same, open, caution };

/// The sentence one could say aloud.
struct Headline {
  std::string text;
  Tone tone = Tone::plain;
};

struct Heading {
  std::string text;
};

struct Paragraph {
  std::string text;
  Tone tone = Tone::plain;
};

/// A list of short statements, each under a lead word ("carried", "not carried", "needs").
struct Points {
  struct Point {
    std::string lead;
    std::string text;
  };
  std::vector<Point> points;
};

/// Cells are ready text; numbers are aligned right. On a narrow page a row becomes a small list of its own.
struct Table {
  struct Column {
    std::string title;
    bool numeric = false;
  };
  std::vector<Column> columns;
  std::vector<std::vector<std::string>> rows;
};

using Block = std::variant<Headline, Heading, Paragraph, Points, Table, ShotFigure, IntervalFigure>;

/// What a reader sees, free of any medium: `report` renders it.
struct Document {
  std::vector<Block> blocks;
};

}  // namespace shotassay::document
