// The least a program with options can do: what the whole-process time of ours is held against.
#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <cstdio>
#include <string>

int main(int count, char** words) {
  CLI::App program{"prints a line"};
  std::string sd;
  program.add_option("--sd", sd);
  CLI11_PARSE(program, count, words);
  std::printf("SD %s\n", sd.c_str());
}
