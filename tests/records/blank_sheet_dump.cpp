// Prints the blank sheet of a plan for blank_sheet_oracle.py: TITLE CHECK_STANDARD SETUP...; one shot each, in the
// order of the arguments, a bow and an arrow of the set-up's name, and a warm-up with the first set-up before them all.
#include <shotassay/records/blank_sheet.hpp>

#include <iostream>
#include <string>

int main(int argc, char** argv) {
  if (argc < 4) return 2;
  shotassay::PlannedSheet plan{.title = argv[1], .margin = 1.5, .check_standard = argv[2]};
  plan.shots.push_back({.order = 1, .setup = argv[3], .warm_up = true});
  for (int i = 2; i < argc; ++i) {
    const std::string name = argv[i];
    plan.shots.push_back(
        {.order = i, .setup = name, .bow = name, .round = "1", .arrow = name, .check_standard = i == 2});
  }
  std::cout << shotassay::blank_sheet(plan);
}
