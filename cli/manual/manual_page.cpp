#include "manual_page.hpp"

#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <shotassay/core/version.hpp>
#include <string_view>

#include "page_text.hpp"

namespace shotassay::cli {

namespace {

/// One character of UTF-8, taken off the front.
std::uint32_t take_character(std::string_view& text) {
  const auto first = static_cast<unsigned char>(text[0]);
  const std::size_t length = first < 0x80 ? 1 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
  std::uint32_t code = length == 1 ? first : first & (0xFFu >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) code = code << 6 | (static_cast<unsigned char>(text[i]) & 0x3Fu);
  text.remove_prefix(length);
  return code;
}

/// Text that roff prints as it is: a hyphen stays one that can be copied, and no line begins with a request.
std::string roff(std::string_view text) {
  std::string out = text.starts_with('.') || text.starts_with('\'') ? "\\&" : "";
  while (!text.empty()) {
    const std::uint32_t code = take_character(text);
    switch (code) {
      case '\\':
        out += "\\e";
        break;
      case '-':
        out += "\\-";
        break;
      case '\'':
        out += "\\(aq";
        break;
      case '`':
        out += "\\(ga";
        break;
      case '^':
        out += "\\(ha";
        break;
      case '~':
        out += "\\(ti";
        break;
      default:
        if (code < 0x80) {
          out += static_cast<char>(code);
        } else {
          char named[16];
          std::snprintf(named, sizeof named, "\\[u%04X]", static_cast<unsigned>(code));
          out += named;
        }
    }
  }
  return out;
}

/// The same on lines of at most 80 bytes, as the source of a page is kept.
std::string filled(std::string_view text) {
  constexpr std::size_t widest = 80;
  std::string out, line;
  while (!text.empty()) {
    const auto end = std::min(text.find(' '), text.size());
    const std::string word = roff(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    if (!line.empty() && line.size() + 1 + word.size() > widest) {
      out += line + "\n";
      line.clear();
    }
    line += (line.empty() ? "" : " ") + word;
  }
  return out + line;
}

std::string bold(std::string_view text) { return "\\fB" + roff(text) + "\\fR"; }
std::string slanted(std::string_view text) { return "\\fI" + roff(text) + "\\fR"; }

std::string in_capitals(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; });
  return text;
}

std::string sentence(const std::string& text) { return text.ends_with('.') || text.ends_with('?') ? text : text + "."; }

/// What --help says; the words of a choice behind it, where it does not name them itself.
std::string meaning(const OptionLine& option) {
  std::string text = sentence(option.meaning);
  std::vector<std::string> words = option.value.words;
  if (std::all_of(words.begin(), words.end(), [&](const auto& word) { return text.find(word) != std::string::npos; }))
    return text;
  const std::string last = words.back();
  words.pop_back();
  return text + " There are " + joined(words, ", ") + " and " + last + ".";
}

std::string names(const OptionLine& option) {
  std::vector<std::string> all;
  for (const auto& name : option.typed) all.push_back(bold(name));
  return joined(all, ", ");
}

std::string synopsis(const CommandLine& command) {
  std::string text = bold(command.called);
  if (!command.commands.empty()) return text + " " + slanted("COMMAND") + " [" + slanted("OPTION") + "...]\n";
  text += " [" + slanted("OPTION") + "...]";
  for (const OptionLine& argument : command.arguments)
    text += " " + slanted(argument.value_name) + (argument.repeatable ? "..." : "");
  return text + "\n";
}

std::string entry(const std::string& head, const std::string& body) { return ".TP\n" + head + "\n" + body + "\n"; }

std::string meanings(const Meanings& lines) {
  std::string text;
  for (const auto& [what, means] : lines) text += entry(bold(what), filled(means));
  return text;
}

std::string described(const PageText& text) {
  std::string out = ".SH DESCRIPTION\n";
  for (std::size_t i = 0; i < text.says.size(); ++i) out += (i == 0 ? "" : ".PP\n") + filled(text.says[i]) + "\n";
  return out;
}

std::string examples(const PageText& text) {
  std::string out = ".SH EXAMPLES\n";
  for (const auto& example : text.examples)
    out +=
        ".PP\n" + roff(std::string{example.does} + ":") + "\n.PP\n.RS 4\n.EX\n" + roff(example.typed) + "\n.EE\n.RE\n";
  return out.replace(out.find(".PP\n"), 4, "");
}

/// The page of the program and those of its commands, without this one.
std::string see_also(const CommandLine& command, const CommandLine& program) {
  std::vector<std::string> pages;
  for (const CommandLine* other : with_those_below(program))
    if (other->called != command.called) pages.push_back(".BR " + roff(page_name(*other)) + " (1)");
  return ".SH SEE ALSO\n" + joined(pages, ",\n") + "\n";
}

/// Those of an option are told by the commands that take it, and by the page of all.
Meanings statuses_of(const CommandLine& command, const CommandLine& program) {
  Meanings told;
  for (const auto& [status, meaning] : exit_statuses()) {
    const std::string option{meaning.substr(0, meaning.find(':'))};
    const auto takes_it = [&](const OptionLine& o) {
      return std::find(o.typed.begin(), o.typed.end(), option) != o.typed.end();
    };
    if (!option.starts_with("--") || command.called == program.called ||
        std::any_of(command.options.begin(), command.options.end(), takes_it))
      told.emplace_back(status, meaning);
  }
  return told;
}

/// Is there an argument or an option's value of that name, here or in a command below?
bool reads(const CommandLine& command, std::string_view file) {
  const auto named = [&](const OptionLine& line) { return line.value_name == file; };
  return std::any_of(command.arguments.begin(), command.arguments.end(), named) ||
         std::any_of(command.options.begin(), command.options.end(), named) ||
         std::any_of(command.commands.begin(), command.commands.end(),
                     [&](const CommandLine& below) { return reads(below, file); });
}

/// A path is told by every page.
Meanings files_of(const CommandLine& command) {
  Meanings told;
  for (const auto& [name, meaning] : files())
    if (name.starts_with('/') || reads(command, name)) told.emplace_back(name, meaning);
  return told;
}

}  // namespace

std::string page_name(const CommandLine& command) {
  std::string name = command.called;
  std::replace(name.begin(), name.end(), ' ', '-');
  return name;
}

std::string manual_page(const CommandLine& command, const CommandLine& program, const std::string& date) {
  const PageText& text = page_text(command.called);
  std::string page = ".TH " + roff(in_capitals(page_name(command))) + " 1 " + date + " \"shotassay " + version() +
                     "\" \"User Commands\"\n";
  page += ".SH NAME\n" + roff(page_name(command)) + " \\-\n" + filled(command.meaning) + "\n";
  page += ".SH SYNOPSIS\n" + synopsis(command) + described(text);
  if (!command.commands.empty()) {
    page += ".SH COMMANDS\n";
    for (const CommandLine& below : command.commands)
      page +=
          entry(bold(below.name), filled(sentence(below.meaning)) + "\nSee\n.BR " + roff(page_name(below)) + " (1).");
  }
  if (!command.arguments.empty()) {
    page += ".SH ARGUMENTS\n";
    for (const OptionLine& argument : command.arguments)
      page += entry(slanted(argument.value_name), filled(meaning(argument)));
  }
  page += ".SH OPTIONS\n";
  for (const OptionLine& option : command.options)
    page += entry(names(option) + (option.value_name.empty() ? "" : " " + slanted(option.value_name)),
                  filled(meaning(option)));
  page += ".SH EXIT STATUS\n" + meanings(statuses_of(command, program));
  page += ".SH ENVIRONMENT\n" + meanings(environment_variables());
  page += ".SH FILES\n" + meanings(files_of(command));
  return page + examples(text) + see_also(command, program);
}

}  // namespace shotassay::cli
