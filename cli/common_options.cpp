#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>

#include "common.hpp"

namespace shotassay::cli {

void add_common_options(CLI::App& command, CommonOptions& options) {
  command.add_option("--confidence", options.confidence, "Confidence level, 0.5 to below 1 (0.95)")->type_name("LEVEL");
  command.add_option("--display", options.display, "Step of the display, in the sheet's unit")->type_name("STEP");
  command.add_option("--unit", options.unit, "Unit of what is printed: fps or m/s")->type_name("UNIT");
  command.add_option("--seed", options.seed, "Seed of random numbers (1)")->type_name("N");
  command.add_option("--threads", options.threads, "Processors to use; changes no result")->type_name("N");
  command.add_option("--color", options.color, "auto, always or never (auto)")->type_name("WHEN");
  command.add_flag("--json", options.json, "Print JSON instead of text");
}

void add_repeatable(CLI::App& command, const std::string& name, std::vector<std::string>& values,
                    const std::string& help, const std::string& value) {
  command.add_option(name, values, help)->allow_extra_args(false)->type_name(value);
}

}  // namespace shotassay::cli
