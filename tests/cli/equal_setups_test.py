#!/usr/bin/env python3
"""shotassay compare on set-ups that were not equal, and what a gap is made of: numbers worked out again, wrong use told."""

import math
import statistics

import scipy.stats

from program import EXAMPLES, ProgramTest, codes, main

UNEQUAL = EXAMPLES / "unequal-setups.csv"
FROM, TO = [192, 191, 193, 192, 190], [187, 186, 188, 187, 188]
GAP = statistics.mean(TO) - statistics.mean(FROM)
FPS_IN_MPS = 0.3048  # one foot is 0.3048 m, exactly


def welch(a, b):
    """Standard error and degrees of freedom of a gap."""
    v, w = statistics.variance(a) / len(a), statistics.variance(b) / len(b)
    return math.sqrt(v + w), (v + w) ** 2 / (v * v / (len(a) - 1) + w * w / (len(b) - 1))


class EqualSetups(ProgramTest):
    def test_the_gap_at_equal_set_ups_is_the_gap_less_each_difference_times_its_worth(self):
        found = self.compared(UNEQUAL, "--per-lbf", "2.1", "--per-lbf-u", "0.5", "--per-inch", "7", "--per-inch-u", "2",
                              "--per-gr=-0.2", "--per-gr-u", "0.05")["result"]["gaps"][0]["equal_setups"]
        self.assertEqual((found["arrows"], found["arrows_inferred"]), ("same_arrow", True))
        reading = 0.1 / math.sqrt(12) * math.sqrt(2)  # of a difference of two values written to tenths
        gap = GAP - 2.1 * -0.6 - 7 * -0.1
        w2 = (2.1 * reading) ** 2 + (0.6 * 0.5) ** 2 + (7 * reading) ** 2 + (0.1 * 2) ** 2 + (0.2 * reading) ** 2
        u, nu = welch(FROM, TO)
        total = math.sqrt(u * u + w2)
        effective = nu * total**4 / u**4
        half = scipy.stats.t.ppf(0.975, effective) * total
        equal = found["equalised"]
        self.assertAlmostEqual(equal["difference"], gap, delta=1e-12)
        self.assertAlmostEqual(equal["standard_uncertainty"], total, delta=1e-12)
        self.assertAlmostEqual(equal["degrees_of_freedom"], effective, delta=1e-8)
        self.assertAlmostEqual(equal["lower"], gap - half, delta=1e-8)
        self.assertAlmostEqual(equal["upper"], gap + half, delta=1e-8)
        self.assertAlmostEqual(equal["stated_share"], w2 / total**2, delta=1e-12)
        self.assertEqual([c["sensitivity"]["origin"] for c in found["corrections"]], ["entered"] * 3)

    def test_what_a_pound_is_worth_is_half_the_speed_over_the_weight(self):
        found = self.compared(UNEQUAL)["result"]["gaps"][0]["equal_setups"]["corrections"][0]
        worth = (191.6 + 187.2) / 2 / (2 * 38.3)
        self.assertAlmostEqual(found["sensitivity"]["value"], worth, delta=1e-12)
        self.assertAlmostEqual(found["correction"], 0.6 * worth, delta=1e-12)
        self.assertEqual(found["sensitivity"]["origin"], "computed")

    def test_metres_a_second_go_in_and_come_out(self):
        fps = self.compared(UNEQUAL, "--per-lbf", "2", "--per-lbf-u", "0.5")["result"]["gaps"][0]["equal_setups"]
        mps = self.compared(UNEQUAL, "--unit", "m/s", "--per-lbf", 2 * FPS_IN_MPS, "--per-lbf-u",
                            0.5 * FPS_IN_MPS)["result"]["gaps"][0]["equal_setups"]
        for key in ("difference", "lower", "upper", "standard_uncertainty"):
            self.assertAlmostEqual(mps["equalised"][key], fps["equalised"][key] * FPS_IN_MPS, delta=1e-12)

    def test_a_difference_too_large_is_refused_and_nothing_is_corrected_in_part(self):
        text = UNEQUAL.read_text(encoding="utf-8").replace("38.6", "41.1")
        ran = self.answered("compare", self.file(text))
        self.says(ran, "draw weight differs by 3.1 lbf; beyond 3 lbf no sensitivity is sound",
                  "It cannot be brought to equal set-ups, and correcting it in part would mislead")
        gap = self.compared(self.file(text))["result"]["gaps"][0]
        self.assertIsNone(gap["equal_setups"]["equalised"])
        self.assertEqual(gap["equal_setups"]["corrections"][0]["state"], "too_far")
        self.assertEqual(gap["verdict"], "slower")  # as shot

    def test_without_the_arrows_mass_what_they_had_in_common_is_asked(self):
        sheet = self.file("setup,speed_fps,draw_weight_lbf\na,190,38.6\na,192,\nb,187,38.0\nb,185,\n")
        self.says(self.answered("compare", sheet), "Tell it with --same-arrow or --same-gpp")
        told = self.answered("compare", sheet, "--same-arrow")
        self.says(told, "the same arrow with both, as you told", "With equal set-ups it would be")

    def test_a_speed_per_lbf_that_is_entered_means_an_unchanged_arrow_unless_told_otherwise(self):
        # 40 to 42 lbf and 360 to 378 gr, nine grains per pound with both.
        sheet = self.file("setup,speed_fps,draw_weight_lbf,arrow_mass_gr\na,203,40,360\na,204,,\na,202,,\n"
                          "b,208,42,378\nb,209,,\nb,210,,\n")
        words = ("--per-lbf", "3", "--per-lbf-u", "0.5", "--per-gr=-0.2", "--per-gr-u", "0.05")
        found = self.compared(sheet, *words)["result"]["gaps"][0]["equal_setups"]
        self.assertAlmostEqual(found["equalised"]["difference"], 6 - 3 * 2 + 0.2 * 18, delta=1e-9)
        found = self.compared(sheet, *words, "--same-gpp")["result"]["gaps"][0]["equal_setups"]
        self.assertAlmostEqual(found["equalised"]["difference"], 6 - 3 * 2, delta=1e-9)
        self.says(self.answered("compare", sheet), "all of that goes with the draw weight")

    def test_sizes_beyond_any_bow_are_refused(self):
        self.complains(self.refused(2, "compare", UNEQUAL, "--per-lbf", "1e6", "--per-lbf-u", "0"), "no bow gains that much")
        for option in ("--margin", "--bow-sd"):
            self.complains(self.refused(2, "compare", UNEQUAL, option, "1e308"), "at most")
        self.complains(self.refused(2, "compare", UNEQUAL, "--budget", "--accuracy", "1e308 fps"), "is a share or a speed")

    def test_a_verdict_that_changes_is_told_at_once(self):
        sheet = self.file("setup,speed_fps,draw_weight_lbf,arrow_mass_gr\na,190,40.0,350.0\na,191,,\na,190,,\na,192,,\n"
                          "b,188,39.0,350.0\nb,187,,\nb,188,,\nb,189,,\n")
        ran = self.answered("compare", sheet)
        self.says(ran, "With b the arrows flew 2.8 fps slower",
                  "The sentence at the top is of the set-ups as they were. With equal set-ups it would be another one")

    def test_a_sheet_without_measured_values_shows_none_of_it(self):
        self.assertNotIn("equal", self.answered("compare", EXAMPLES / "bowstrings.csv").out)

    def test_weight_and_length_that_both_differ_are_told(self):
        self.assertIn("weight_and_length_differ", codes(self.compared(UNEQUAL)))


class Budgets(ProgramTest):
    def test_a_scale_error_is_large_in_the_speed_and_small_in_the_gap(self):
        result = self.compared(UNEQUAL, "--budget")["result"]

        def part(budget, name):
            return next(i["contribution"] for i in budget["inputs"] if i["name"] == name)

        u = 0.005 / math.sqrt(3)  # the sheet's "accuracy: 0.5 %", rectangular
        self.assertAlmostEqual(part(result["setups"][0]["budget"], "chronograph scale"), 191.6 * u, delta=1e-9)
        self.assertAlmostEqual(part(result["gaps"][0]["budget"], "chronograph scale"), 4.4 * u, delta=1e-9)
        gap = result["gaps"][0]
        self.assertAlmostEqual(gap["budget"]["estimate"], gap["equal_setups"]["equalised"]["difference"], delta=1e-9)
        self.assertAlmostEqual(sum(i["share"] for i in gap["budget"]["inputs"]), 1, delta=1e-12)

    def test_every_input_has_its_kind_and_its_share(self):
        ran = self.answered("compare", UNEQUAL, "--budget")
        self.says(ran, "What the gap is made of: 18 strands against 14 strands, with equal set-ups",
                  "What the speed is made of: 14 strands", "effective degrees of freedom; coverage factor",
                  "B, rectangular", "A, t")
        self.fits(ran, 80)

    def test_an_accuracy_typed_goes_before_that_of_the_sheet(self):
        data = self.compared(UNEQUAL, "--budget", "--accuracy", "2 fps")
        self.assertEqual(data["inputs"]["accuracy"], {"relative": 0, "absolute": 2})
        names = [i["name"] for i in data["result"]["setups"][0]["budget"]["inputs"]]
        self.assertEqual(names, ["shots, 14 strands", "chronograph offset"])

    def test_an_accuracy_nobody_can_read_is_told_and_not_used(self):
        text = UNEQUAL.read_text(encoding="utf-8").replace("0.5 %", "very good")
        data = self.compared(self.file(text), "--budget")
        self.assertIsNone(data["inputs"]["accuracy"])
        self.assertIn("no_accuracy", codes(data))

    def test_the_display_s_bound_is_told_where_it_is_wider(self):
        sheet = self.sheet(a=[190, 190, 190], b=[192, 192, 192])
        self.assertIn("budget_below_display_bound", codes(self.compared(sheet, "--budget")))

    def test_re_setting_is_counted_for_both(self):
        budget = self.compared(EXAMPLES / "bowstrings.csv", "--budget", "--setting-sd",
                               "1.5")["result"]["gaps"][0]["budget"]
        parts = {i["name"]: i["contribution"] for i in budget["inputs"]}
        self.assertAlmostEqual(parts["setting up, 14 strands"], 1.5, delta=1e-9)
        self.assertAlmostEqual(parts["setting up, 18 strands"], 1.5, delta=1e-9)


class WrongUse(ProgramTest):
    def test_every_mistake_is_told_at_once(self):
        ran = self.refused(2, "compare", UNEQUAL, "--per-gr", "0.2", "--per-gr-u", "0.1", "--per-inch-u", "1",
                           "--per-lbf", "2", "--same-arrow", "--same-gpp", "--bow-type", "crossbow", "--accuracy", "3x")
        self.complains(ran, "a heavier arrow is not faster", "--per-inch-u 1: goes with --per-inch",
                       "needs --per-lbf-u, its standard uncertainty", "is not the same grains per pound: give one",
                       "is recurve, longbow or compound", "--accuracy 3x: is a share or a speed",
                       "--accuracy 3x: goes with --budget")

    def test_a_worth_below_zero_is_refused_where_it_cannot_be(self):
        for option in ("--per-lbf", "--per-inch"):
            self.complains(self.refused(2, "compare", UNEQUAL, option, "-1", option + "-u", "0"), "is not slower")
        self.complains(self.refused(2, "compare", UNEQUAL, "--per-lbf", "1", "--per-lbf-u", "-1"),
                       "a standard uncertainty is 0 or more")

    def test_with_nothing_measured_these_options_have_nothing_to_act_on(self):
        self.complains(self.refused(2, "compare", EXAMPLES / "bowstrings.csv", "--same-arrow"),
                       "the sheet gives no draw weight, arrow mass or draw length")

    def test_setting_sd_goes_with_a_budget(self):
        self.complains(self.refused(2, "compare", UNEQUAL, "--setting-sd", "1"), "goes with --budget")


if __name__ == "__main__":
    main()
