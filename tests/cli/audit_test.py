#!/usr/bin/env python3
"""shotassay audit: counts against plain enumeration, what is possible and what is not, wrong use told."""

import itertools
import math
import statistics

import scipy.stats

from program import ProgramTest, codes, main


def reading_sets(shots, lowest, highest, average, decimals, sd=None):
    """Every set of whole readings whose average, and SD to one decimal, print so; both roundings of a tie."""
    unit = 10.0**-decimals
    found = []
    for readings in itertools.combinations_with_replacement(range(lowest, highest + 1), shots):
        if abs(sum(readings) / shots - average) > unit / 2 + 1e-12:
            continue
        if sd is not None and abs(statistics.stdev(readings) - sd) > 0.05 + 1e-12:
            continue
        found.append(readings)
    return found


class Audit(ProgramTest):
    def audited(self, *words, status=0):
        return self.json_of(self.answered("audit", *words, "--json"), "audit")

    def test_reading_sets_are_those_of_a_plain_enumeration(self):
        result = self.audited("--shots", "4", "--average", "190.5", "--sd", "1.7")["result"]
        expected = reading_sets(4, 180, 201, 190.5, 1, 1.7)
        self.assertEqual(result["setups"][0]["reading_sets"], len(expected))
        self.assertAlmostEqual(result["setups"][0]["sd"][1], max(map(statistics.stdev, expected)), delta=1e-12)

    def test_an_impossible_average_is_told_with_the_nearest_that_are(self):
        ran = self.answered("audit", "--shots", "3", "--average", "281.4")
        self.says(ran, "The figures of A cannot be reproduced: no 3 readings of whole fps have them",
                  "Nearest averages that are possible: 281.3 or 281.7", "none is evidence of what happened")
        setup = self.audited("--shots", "3", "--average", "281.4")["result"]["setups"][0]
        self.assertFalse(setup["possible"])
        self.assertEqual(setup["reading_sets"], 0)

    def test_a_tie_may_have_been_rounded_either_way(self):
        for average in ("281.2", "281.3"):  # of 281.25
            self.assertTrue(self.audited("--shots", "4", "--average", average)["result"]["setups"][0]["possible"])

    def test_the_tipping_sd_is_where_welch_s_limit_falls_on_0(self):
        gap = self.audited("--shots", "3", "--average", "281", "--average", "284")["result"]["gap"]
        tipping = gap["tipping_sd"][0]
        t = scipy.stats.t.ppf(0.975, 4)
        self.assertAlmostEqual(tipping["at_printed"], 3 / (t * math.sqrt(2 / 3)), delta=1e-10)
        # Sums 842 to 844 print 281, sums 851 to 853 print 284: gaps from 7/3 to 11/3.
        self.assertAlmostEqual(tipping["lowest"], 7 / 3 / (t * math.sqrt(2 / 3)), delta=1e-10)
        self.assertAlmostEqual(gap["difference"][0], 7 / 3, delta=1e-12)
        self.assertAlmostEqual(gap["difference"][1], 11 / 3, delta=1e-12)
        self.assertIsNone(gap["verdicts"]["open"])  # without end

    def test_a_claim_that_every_set_of_readings_carries(self):
        words = ("--shots", "5", "--average", "191.4", "--sd", "1.1", "--average", "187.2", "--sd", "0.8")
        data = self.audited(*words, "--claims", "slower")
        self.assertEqual(data["result"]["gap"]["support"], "every")
        a = reading_sets(5, 180, 200, 191.4, 1, 1.1)
        b = reading_sets(5, 180, 200, 187.2, 1, 0.8)
        self.assertEqual(data["result"]["gap"]["verdicts"], {"faster": 0, "slower": len(a) * len(b), "same": 0, "open": 0})
        self.assertEqual(self.audited(*words, "--claims", "faster")["result"]["gap"]["support"], "none")

    def test_the_best_of_ten_adds_what_order_statistics_say(self):
        # Expected largest of ten standard normals: 1.53875 (Teichroew 1956, from memory; Harter 1961 agrees).
        best = self.audited("--shots", "10", "--best", "284")["result"]["setups"][0]["best"]
        self.assertAlmostEqual(best[1]["added"], 1.53875, delta=1e-5)
        self.assertEqual([b["shooter"] for b in best], ["machine", "release", "fingers"])

    def test_energy_is_held_against_mass_and_speed(self):
        def energy(text):
            return self.audited("--shots", "3", "--average", "300", "--arrow-mass", "350", "--energy",
                                text)["result"]["setups"][0]["energy"]
        self.assertEqual(energy("69.93")["verdict"], "reproduced")  # 350·300²/450436.68
        self.assertEqual(energy("75.0")["verdict"], "not_reproduced")

    def test_speeds_are_brought_to_the_first_set_up_s_conditions(self):
        result = self.audited("--shots", "5", "--average", "190", "--average", "196", "--draw-weight", "38.0",
                              "--draw-weight", "40.0", "--arrow-mass", "350")["result"]
        # The same arrow: half the speed over the weight, at the middle of the way, for 2 lbf less.
        v = result["setups"][1]["at_common"]["speed"]
        self.assertAlmostEqual(v, 196 - 2 * (196 + v) / 2 / (2 * 39), delta=1e-9)
        self.assertAlmostEqual(result["common_gap"]["difference"], v - 190, delta=1e-9)

    def test_conditions_too_far_apart_are_refused(self):
        ran = self.answered("audit", "--shots", "5", "--average", "240", "--draw-weight", "60", "--arrow-mass", "540",
                            "--draw-length", "30", "--at", "ata")
        self.says(ran, "too far for any figure to be sound")

    def test_a_chronograph_of_its_own_widens_every_range(self):
        words = ("--shots", "5", "--average", "191.4", "--sd", "1.1", "--average", "187.2", "--sd", "0.8")
        near = self.audited(*words)["result"]["gap"]["interval_if_tightest"]
        far = self.audited(*words, "--accuracy", "0.5%")["result"]["gap"]["interval_if_tightest"]
        self.assertGreater(far["upper"] - far["lower"], near["upper"] - near["lower"])

    def test_needed_shots_know_what_the_display_hides(self):
        # SD 0.4 and a gap of 1: Welch alone says 5 with each; counted on the lattice 5 find it in 6 of 10 tests, 7 in 8.
        needed = self.audited("--shots", "3", "--average", "281", "--average", "282")["result"]["gap"]["needed_shots"]
        planned = self.planned("--resolve", "1", "--sd", "0.4")["result"]["design"]["from"]["shots"]
        self.assertEqual(needed[0]["shots"], planned)

    def test_sameness_that_was_claimed_is_what_the_shots_are_for(self):
        needed = self.audited("--shots", "5", "--average", "187.2", "--sd", "0.8", "--average", "187.6", "--sd", "0.9",
                              "--claims", "same", "--margin", "3")["result"]["gap"]["needed_shots"]
        planned = self.planned("--same-within", "3", "--sd", "2")["result"]["design"]["from"]["shots"]
        self.assertEqual((needed[2]["same_within"], needed[2]["shots"]), (3, planned))

    def test_two_equal_averages_may_be_claimed_the_same(self):
        ran = self.answered("audit", "--shots", "5", "--average", "281", "--average", "281", "--claims", "same", "--margin", "3")
        self.says(ran, "show two alike to be the same within ±3 fps")

    def test_two_chronographs_set_a_limit_that_no_shots_undercut(self):
        gap = self.audited("--shots", "3", "--average", "281", "--average", "284", "--accuracy", "1%")["result"]["gap"]
        w = 0.01 * math.hypot(281, 284) / math.sqrt(3)
        self.assertAlmostEqual(gap["chronographs"], scipy.stats.norm.ppf(0.975) * w, delta=1e-9)
        self.assertEqual(gap["needed_shots"], [])

    def test_many_numbers_of_shots_do_not_flood_the_screen(self):
        ran = self.answered("audit", "--shots", "3..60", "--average", "281", "--average", "284", "--max-operations", "1e6")
        self.assertLess(len(ran.out.splitlines()), 120)

    def test_what_is_missing_cannot_be_checked_and_is_no_mistake(self):
        ran = self.answered("audit", "--shots", "3", "--average", "281", "--states", "distance=10 ft")
        self.says(ran, "distance to the chronograph (10 ft)", "On these points nothing can be checked; that is no mistake")
        state = {line["item"]: line["state"] for line in
                 self.audited("--shots", "3", "--average", "281")["result"]["checklist"]}
        self.assertEqual((state["shots"], state["arrow_mass"], state["order"]),
                         ("stated", "cannot_be_checked", "not_asked"))

    def test_shots_unknown_are_tried_one_by_one(self):
        gap = self.audited("--shots", "3..5", "--average", "281.5", "--average", "284.5")["result"]["gap"]
        self.assertEqual([(t["from_shots"], t["to_shots"]) for t in gap["tipping_sd"]],
                         [(n, m) for n in (4,) for m in (4,)])  # of 3 and 5 whole readings no average ends in .5

    def test_the_words_fit_narrow_and_wide_terminals(self):
        for width in (40, 80):
            self.fits(self.answered("audit", "--shots", "3", "--average", "281", "--average", "284", width=width), width)

    def test_notes_stand(self):
        self.assertIn("count_is_no_probability", codes(self.audited("--shots", "3", "--average", "281", "--average", "284")))


class WrongUse(ProgramTest):
    def test_every_mistake_is_told_at_once(self):
        ran = self.refused(2, "audit", "--setup", "old", "--setup", "new", "--average", "x", "--sd", "nev=1", "--claims", "quicker",
                           "--states", "colour", "--convention", "fast")
        self.complains(ran, "--average x", "no set-up is called so; did you mean new?", "is faster, slower or same", "no such item",
                       "no such convention", "needs its number of shots")

    def test_what_cannot_be_a_speed_and_what_has_nothing_to_act_on(self):
        self.complains(self.refused(2, "audit", "--shots", "3", "--average", "-281"), "must be more than 0")
        self.complains(self.refused(2, "audit", "--shots", "3", "--average", "281", "--claims", "faster"),
                       "give the figures of both")
        self.complains(self.refused(2, "audit", "--setup", "a=b", "--shots", "3", "--average", "281"), "has no =")
        self.complains(self.refused(2, "audit", "--shots", "3", "--reading", "281,,283"), "an empty place")

    def test_same_needs_a_margin(self):
        self.complains(self.refused(2, "audit", "--shots", "3", "--average", "1", "--average", "2", "--claims", "same"),
                       "needs --margin")

    def test_best_and_average_exclude_each_other(self):
        self.complains(self.refused(2, "audit", "--shots", "3", "--average", "281", "--best", "284"),
                       "is printed in place of an average")

    def test_shots_in_the_wrong_order(self):
        self.complains(self.refused(2, "audit", "--shots", "9..3", "--average", "281"), "the second number is the larger")


if __name__ == "__main__":
    main()
