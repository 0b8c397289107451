#pragma once
#include <array>
#include <optional>
#include <string_view>

namespace shotassay {

/// The methods a comparison can be asked for by name.
enum class Method {
  rounding_aware,  ///< the default: every verdict rests on it
  mean_interval,   ///< of one average only
  welch,
  pooled,
  bootstrap_percentile,
  bootstrap_basic,
  bootstrap_bca,
  bootstrap_t,
  permutation,
  round_paired,     ///< differences within rounds
  session_gaps,     ///< one gap a session
  bow_means,        ///< one average a bow: decides where each kind has several
  bow_means_welch,  ///< the same, spreads may differ
  mixed,            ///< bows within kinds, by REML
  moderated         ///< with what earlier strings of shots tell of the SD
};

struct MethodName {
  Method method;
  std::string_view name;  ///< as typed and as in JSON
  bool of_a_mean;         ///< answers for one average
  bool of_a_gap;          ///< answers for a gap
};

inline constexpr std::array method_names{
    MethodName{Method::rounding_aware, "rounding_aware", true, true},
    MethodName{Method::mean_interval, "mean_interval", true, false},
    MethodName{Method::welch, "welch", false, true},
    MethodName{Method::pooled, "pooled", false, true},
    MethodName{Method::bootstrap_percentile, "bootstrap_percentile", true, true},
    MethodName{Method::bootstrap_basic, "bootstrap_basic", true, true},
    MethodName{Method::bootstrap_bca, "bootstrap_bca", true, true},
    MethodName{Method::bootstrap_t, "bootstrap_t", true, true},
    MethodName{Method::permutation, "permutation", false, true},
    MethodName{Method::round_paired, "round_paired", false, true},
    MethodName{Method::session_gaps, "session_gaps", false, true},
    MethodName{Method::bow_means, "bow_means", false, true},
    MethodName{Method::bow_means_welch, "bow_means_welch", false, true},
    MethodName{Method::mixed, "mixed", false, true},
    MethodName{Method::moderated, "moderated", false, true},
};

constexpr const MethodName& entry(Method method) { return method_names[static_cast<std::size_t>(method)]; }
constexpr std::string_view name(Method method) { return entry(method).name; }

constexpr std::optional<Method> method_named(std::string_view text) {
  for (const MethodName& m : method_names)
    if (m.name == text) return m.method;
  return std::nullopt;
}

}  // namespace shotassay
