#pragma once
#include <shotassay/document/document.hpp>

namespace shotassay::narrative {

/// What is said wherever somebody is told to shoot. The makers, the range and the law come first.
document::Points cautions();

}  // namespace shotassay::narrative
