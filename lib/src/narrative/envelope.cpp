#include <shotassay/core/version.hpp>
#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/envelope.hpp>

namespace shotassay::narrative {

using document::Data;

Data envelope(const std::string& command, Data inputs, Data result, const std::vector<Note>& notes) {
  Data::List list;
  for (const Note& note : notes) list.push_back(Data::Object{{"code", note.code}, {"text", note.text}});
  return Data::Object{{"shotassay", version()},
                      {"command", command},
                      {"inputs", std::move(inputs)},
                      {"result", std::move(result)},
                      {"notes", std::move(list)}};
}

std::string problem_text(const FoundProblem& found) {
  const Problem& p = found.problem;
  std::string place = document::printable(found.file);
  const auto add = [&](const std::string& text) {
    if (!place.empty()) place += place == document::printable(found.file) ? ": " : ", ";
    place += text;
  };
  if (p.line > 0) add("line " + std::to_string(p.line));
  // A column of a sheet; a place of its own is "column 3", or the pointer of a JSON value.
  const bool bare = p.column.starts_with("column ") || p.column.starts_with('/');
  if (!p.column.empty()) add((bare ? "" : "column ") + document::printable(p.column));
  std::string text = place;
  if (!p.found.empty()) text += (text.empty() ? "found \"" : ": found \"") + document::printable(p.found) + "\"";
  return (text.empty() ? "" : text + ": ") + p.message;
}

Data failure(const std::string& command, const std::vector<FoundProblem>& problems) {
  const auto text_or_null = [](const std::string& text) { return text.empty() ? Data{} : Data{text}; };
  Data::List list;
  for (const auto& [file, p] : problems)
    list.push_back(Data::Object{{"file", text_or_null(file)},
                                {"line", p.line > 0 ? Data{p.line} : Data{}},
                                {"column", text_or_null(p.column)},
                                {"found", text_or_null(p.found)},
                                {"message", p.message}});
  return Data::Object{{"shotassay", version()}, {"command", command}, {"problems", std::move(list)}};
}

}  // namespace shotassay::narrative
