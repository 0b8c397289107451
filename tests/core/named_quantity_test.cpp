#include <doctest/doctest.h>

#include <array>
#include <string>

#include <shotassay/core/named_quantity.hpp>

#include "support/published.hpp"

using namespace shotassay;

TEST_CASE("named_quantity: energy and momentum of arrows are exact to the last digits of the definitions") {
  const Published check{"kinetic-exact"};
  CHECK(kinetic_energy_divisor == check.expected("ke_const"));
  CHECK(momentum_divisor == check.expected("mom_const"));
  CHECK(1.0 / energy_units[1].size == check.expected("ftlbf_J"));
  const auto rows = check.number_rows("rows");
  REQUIRE(rows.size() == 4);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const std::string n = "_" + std::to_string(i + 1);
    const double energy = value_of(NamedQuantity::kinetic_energy, rows[i]);
    CHECK(energy == check.expected("ftlbf" + n));
    CHECK(energy / energy_units[1].size == check.expected("J" + n));
    CHECK(value_of(NamedQuantity::momentum, rows[i]) == check.expected("slugfts" + n));
    CHECK(rows[i][1] / arrow_speed_units[1].size == check.expected("mps" + n));
  }
}

TEST_CASE("named_quantity: the other quantities are plain arithmetic") {
  CHECK(value_of(NamedQuantity::grains_per_pound, std::array{350.0, 50.0}) == 7.0);
  CHECK(value_of(NamedQuantity::gap, std::array{281.0, 284.0}) == 3.0);  // to − from
  CHECK(value_of(NamedQuantity::speed, std::array{284.0}) == 284.0);
}

TEST_CASE("named_quantity: units are those of the definitions") {
  // 1 gr = 64.79891 mg, 1 lbf = 4.4482216152605 N, both exact; 1 slug·ft/s = 1 lbf·s
  CHECK(arrow_mass_units[1].size == digits(1.0 / 0.06479891, 15));
  CHECK(draw_weight_units[1].size == digits(1.0 / 4.4482216152605, 15));
  CHECK(momentum_units[1].size == digits(1.0 / 4.4482216152605, 15));
}

TEST_CASE("named_quantity: each stands where its name says, and the first of its units has size 1") {
  for (const QuantityDefinition& d : quantity_definitions) {
    CHECK(definition(d.quantity).name == d.name);
    CHECK(d.units[0].size == 1.0);
    for (const QuantityPart& part : d.parts) CHECK(part.units[0].size == 1.0);
  }
}
