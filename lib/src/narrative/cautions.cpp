#include <shotassay/narrative/cautions.hpp>

namespace shotassay::narrative {

document::Points cautions() {
  return {{{"", "Never dry-fire. Inspect every arrow before every shot."},
           {"",
            "The maker's minimum arrow mass and bolt limits override anything here; bow-press and cable work belongs "
            "to a qualified technician."},
           {"", "A safe backstop, nobody forward of the line, eye protection near the chronograph. Stop when tired."},
           {"", "Range rules and local law come first."}}};
}

}  // namespace shotassay::narrative
