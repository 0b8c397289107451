#pragma once
#include <string>
#include <variant>
#include <vector>

#include <shotassay/document/figure.hpp>
#include <shotassay/document/interval_stack.hpp>

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

/// A sheet to be printed and filled in by hand, one row a shot in firing order. On paper it has a page of its own, and
/// up to 40 rows stay on one page; on a terminal only the written columns are shown.
struct FiringSheet {
  std::string title;
  std::vector<std::string> particulars;  ///< "display 1 fps · confidence 95 % · seed 7"
  std::vector<Table::Column> columns;
  std::vector<std::vector<std::string>> rows;  ///< empty cells are room for handwriting
  std::vector<std::string> remarks;            ///< labels of blank lines: "archer", "place and date"
  std::vector<std::string> cautions;
};

using Block = std::variant<Headline, Heading, Paragraph, Points, Table, ShotFigure, IntervalFigure, PowerCurveFigure,
                           FiringSheet, BowFigure, BudgetFigure, IntervalStackFigure, PageBreak>;

/// What a reader sees, free of any medium: `report` renders it.
struct Document {
  std::vector<Block> blocks;
};

}  // namespace shotassay::document
