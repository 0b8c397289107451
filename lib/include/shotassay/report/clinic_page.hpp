#pragma once
#include <string>

#include <shotassay/document/data.hpp>

namespace shotassay::report {

/// A page to play with: sliders for shots, SD, true gap and display step, a button that shoots, and the pile of
/// verdicts. Self-contained: works from a file, nothing fetched, light or dark by the reader's setting, readable from
/// 360 px upwards.
///
/// Its script works out the interval of `rounding_aware` anew, to 1e-9 of what the library gives; as `clinic.interval`
/// it can be called from outside. `texts` holds every text and setting that the page shows, by the names that the
/// page's template asks for.
std::string render_clinic_page(const document::Data& texts);

}  // namespace shotassay::report
