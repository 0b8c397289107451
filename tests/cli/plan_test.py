#!/usr/bin/env python3
"""shotassay plan: its questions, with every number worked out another way, and what it says."""

import functools
import math
import re

import numpy
from scipy.special import ndtr

from program import BOWSTRINGS, EXAMPLES, ProgramTest, codes, main, run
from rounded_tests import KindsOfBow, Listed, Simulated, WelchPair, WelchTwo, readings_sd

# As typed in the questions that plan is there for.
RESOLVE = ("--resolve", "3", "--sd", "1.2")
SHOTS = ("--shots", "3", "--sd", "1.2")
BOTH = ("--shots", "6", "--resolve", "3", "--sd", "1.2")
WITHIN = ("--within", "1", "--sd", "1.2")
SAME = ("--same-within", "2", "--sd", "1.2")
KINDS = ("--kinds", "--bow-sd", "2.5", "--sd", "1.2", "--resolve", "3")
SPLIT = ("--total-shots", "24", "--sd", "A=1", "--sd", "B=2.5")
QUESTIONS = (RESOLVE, SHOTS, BOTH, WITHIN, SAME, KINDS, SPLIT)

LISTED = 2e-6  # a listing leaves out readings beyond 5.4 SDs, of at most 12 readings 1e-6
FPS_IN_MPS = 0.3048


@functools.lru_cache(maxsize=None)
def listed(n, sd=1.2, level=0.95):
    return Listed(n, n, sd, sd, level)


class PlanTest(ProgramTest):
    """Each question is put to the program once, though several tests look at its answer."""

    answers = {}

    def answered(self, *words, **options):
        key = (*map(str, words), *sorted(options.items()))
        if options.get("stdin") or any(str(self.folder) in str(word) for word in words):
            return super().answered(*words, **options)
        if key not in self.answers:
            self.answers[key] = super().answered(*words, **options)
        return self.answers[key]

    def near(self, found, share_and_error, found_error=0.0):
        share, error = share_and_error
        self.assertAlmostEqual(found, share, delta=4 * math.hypot(error, found_error))


class Questions(PlanTest):
    def test_every_question_is_answered_in_words_and_in_json(self):
        asked = [self.planned(*words)["result"]["question"] for words in QUESTIONS]
        self.assertEqual(asked, ["shots", "gap", "power", "interval", "same", "bows", "split"])
        for words in QUESTIONS:
            self.answered("plan", *words)

    def test_shots_for_a_gap_are_the_fewest_that_find_it(self):
        result = self.planned(*RESOLVE)["result"]
        shots, achieved = result["design"]["from"]["shots"], result["achieved"]
        power, worst = listed(shots).finds(3)
        self.assertGreaterEqual(power, 0.8)
        self.assertLess(listed(shots - 1).finds(3)[0], 0.8)
        self.assertAlmostEqual(achieved["power"], power, delta=LISTED)
        self.assertAlmostEqual(achieved["power_worst_phase"], worst, delta=LISTED)
        self.assertAlmostEqual(achieved["power_one_less"], listed(shots - 1).finds(3)[0], delta=LISTED)
        self.assertAlmostEqual(achieved["half_width"], listed(shots).mean_half_width(), delta=1e-5)
        self.assertEqual(result["design"], {"from": {"bows": 1, "shots": shots}, "to": {"bows": 1, "shots": shots},
                                            "total_shots": 2 * shots})

    def test_gap_that_three_and_three_find_with_the_power(self):
        achieved = self.planned(*SHOTS)["result"]["achieved"]
        self.assertIsNone(achieved["power"])
        self.assertAlmostEqual(listed(3).finds(achieved["detectable_gap"])[0], 0.8, delta=2 * LISTED)
        self.assertAlmostEqual(achieved["half_width"], listed(3).mean_half_width(), delta=1e-5)

    def test_power_of_shots_for_a_gap(self):
        achieved = self.planned(*BOTH)["result"]["achieved"]
        self.near(achieved["power"], Simulated(6, 6, 1.2, 1.2, gap=3).finds())
        self.assertLess(achieved["power_worst_phase"], achieved["power"])
        achieved = self.planned("--shots", "4", "--resolve", "3.3", "--sd", "1.2")["result"]["achieved"]
        power, worst = listed(4).finds(3.3)
        self.assertAlmostEqual(achieved["power"], power, delta=LISTED)
        self.assertAlmostEqual(achieved["power_worst_phase"], worst, delta=LISTED)

    def test_shots_for_a_narrow_range_hold_in_eight_of_ten_tests(self):
        result = self.planned(*WITHIN)["result"]
        shots, achieved = result["design"]["from"]["shots"], result["achieved"]
        tests = Simulated(shots, shots, 1.2, 1.2)
        self.near(achieved["power"], tests.narrow(1))
        self.near(achieved["half_width"], tests.mean_half_width())
        self.near(achieved["power_one_less"], Simulated(shots - 1, shots - 1, 1.2, 1.2).narrow(1))
        self.assertGreaterEqual(achieved["power"], 0.8)
        self.assertLess(achieved["power_one_less"], 0.8)
        # The average is under 1 with fewer shots already: it is not what sets the answer.
        self.assertLess(Simulated(shots - 2, shots - 2, 1.2, 1.2).mean_half_width()[0], 1)

    def test_shots_to_show_sameness(self):
        result = self.planned(*SAME)["result"]
        shots, achieved = result["design"]["from"]["shots"], result["achieved"]
        self.near(achieved["power"], Simulated(shots, shots, 1.2, 1.2).same(2))
        self.near(achieved["power_one_less"], Simulated(shots - 1, shots - 1, 1.2, 1.2).same(2))
        self.assertGreaterEqual(achieved["power"], 0.8)
        self.assertLess(achieved["power_one_less"], 0.8)
        for row in result["table"]:
            if 3 <= row["shots"] <= 5:
                self.assertAlmostEqual(row["power"], listed(row["shots"]).same(0, 2)[0], delta=LISTED)

    def test_a_true_gap_makes_sameness_harder_to_show(self):
        words = ("--same-within", "4", "--shots", "5", "--sd", "1.2", "--true-gap")
        for gap in ("1.3", "-1.3"):
            achieved = self.planned(*words, gap)["result"]["achieved"]
            self.assertAlmostEqual(achieved["power"], listed(5).same(float(gap), 4)[0], delta=LISTED)
        self.says(self.answered("plan", *words, "1.3"), "show two set-ups 1.3 fps apart to ", " 4 fps in 84 % of tests")

    def test_bows_of_each_kind_are_the_cheapest_that_find_the_gap(self):
        for words, bow_cost, shot_cost in (((), 10, 1), (("--cost-bow", "1", "--cost-shot", "1"), 1, 1),
                                           (("--cost-bow", "100", "--cost-shot", "2"), 100, 2)):
            with self.subTest(words=words):
                result = self.planned(*KINDS, *words)["result"]
                cost, bows, shots = min((2 * k * (bow_cost + n * shot_cost), k, n) for k in range(10, 18) for n in range(1, 30)
                                        if KindsOfBow(k, n, 2.5, 1.2).power(3) >= 0.8)
                self.assertEqual(result["achieved"]["cost"], cost)
                found = result["design"]["from"]
                self.assertEqual(found, result["design"]["to"])
                self.assertEqual(result["design"]["total_shots"], 2 * found["bows"] * found["shots"])
                self.assertEqual(found, {"bows": bows, "shots": shots})
                self.assertLess(KindsOfBow(9, 0, 2.5, 1.2).power(3), 0.8)  # nine bows never do
                test = KindsOfBow(found["bows"], found["shots"], 2.5, 1.2)
                self.assertAlmostEqual(result["achieved"]["power"], test.power(3), delta=1e-7)
                self.assertAlmostEqual(result["achieved"]["half_width"], test.half_width(), delta=1e-6)
                self.assertAlmostEqual(test.power(result["achieved"]["detectable_gap"]), 0.8, delta=1e-6)

    def test_grid_of_bows_and_shots_and_its_limit_without_end(self):
        result = self.planned(*KINDS)["result"]
        limits = 0
        for cell in result["table"]:
            limits += cell["shots"] is None
            test = KindsOfBow(cell["bows"], cell["shots"] or 0, 2.5, 1.2)
            self.assertAlmostEqual(cell["power"], test.power(3), delta=1e-7)
        self.assertGreater(limits, 3)
        self.assertEqual(min(cell["bows"] for cell in result["table"]), 2)

    def test_one_bow_of_each_is_never_enough(self):
        result = self.planned(*KINDS)["result"]
        self.assertAlmostEqual(result["one_bow_of_each"]["gap_sd"], 2.5 * math.sqrt(2), delta=1e-12)
        self.assertIsNone(result["one_bow_of_each"]["enough_shots"])
        ran = self.answered("plan", *KINDS)
        # P(|N(0, 2.5·√2)| > x) = 1/3 at x = 0.96742·3.5355 = 3.42
        self.says(ran, "With one bow of each kind no number of shots is enough", "one in three lies more than 3.4 fps apart")
        self.assertRegex(ran.out, r"\n +1( +never){5}\n")

    def test_best_split_is_the_one_with_the_smallest_gap(self):
        result = self.planned(*SPLIT)["result"]
        gaps = {n: WelchPair(n, 24 - n, readings_sd(1), readings_sd(2.5)).detectable_gap() for n in range(2, 23)}
        best, even = result["table"]
        self.assertEqual((best["from"], best["to"]), (min(gaps, key=gaps.get), 24 - min(gaps, key=gaps.get)))
        self.assertEqual((even["from"], even["to"]), (12, 12))
        for row in (best, even):
            tests = Simulated(row["from"], row["to"], 1, 2.5, gap=row["detectable_gap"])
            self.near(0.8, tests.finds())
            self.near(row["half_width"], tests.mean_half_width())
        self.says(self.answered("plan", *SPLIT), f"Shoot {best['from']} shots with A and {best['to']} shots with B",
                  f"Split evenly, 12 shots with A and 12 shots with B, the gap found is {even['detectable_gap']:.2f} fps "
                  f"instead of {best['detectable_gap']:.2f} fps")

    def test_split_of_shots_that_scatter_alike_is_even_and_an_odd_one_is_told(self):
        result = self.planned("--total-shots", "12", "--sd", "1.2")["result"]
        self.assertEqual(result["table"][0], result["table"][1])
        self.says(self.answered("plan", "--total-shots", "12", "--sd", "1.2"), "That is the even split")
        design = self.planned("--total-shots", "11", "--sd", "1.2")["result"]["design"]
        self.assertEqual(sorted((design["from"]["shots"], design["to"]["shots"])), [5, 6])

    def test_chance_of_a_gap_with_a_split(self):
        result = self.planned(*SPLIT, "--resolve", "2")["result"]
        for row in result["table"]:
            self.near(row["power"], Simulated(row["from"], row["to"], 1, 2.5, gap=2).finds())


class Numbers(PlanTest):
    def test_every_row_of_the_table_and_every_point_of_the_curve(self):
        result = self.planned("--shots", "4", "--resolve", "2", "--sd", "1.2")["result"]
        rows = {row["shots"]: row for row in result["table"]}
        self.assertIn(4, rows)
        for shots in (2, 3, 4):
            self.assertAlmostEqual(rows[shots]["power"], listed(shots).finds(2)[0], delta=LISTED)
            self.assertAlmostEqual(rows[shots]["half_width"], listed(shots).mean_half_width(), delta=2e-5)
            # Beside the answer a gap is told whose power is within 0.0001 of what was asked.
            self.assertAlmostEqual(listed(shots).finds(rows[shots]["detectable_gap"])[0], 0.8,
                                   delta=2 * LISTED + (0 if shots == 4 else 1e-4))
        for shots in (5, 8, 10):
            self.near(rows[shots]["power"], Simulated(shots, shots, 1.2, 1.2, gap=2).finds())
        curve = {point["shots"]: point["power"] for point in result["curve"]}
        self.assertEqual(list(curve), list(range(2, 11)))
        for shots, row in rows.items():
            self.assertAlmostEqual(curve[shots], row["power"], delta=1e-9)

    def test_power_and_confidence_are_used(self):
        for power, confidence in (("0.9", "0.95"), ("0.8", "0.9"), ("0.6", "0.99")):
            result = self.planned("--shots", "4", "--sd", "1.2", "--power", power, "--confidence", confidence)["result"]
            test = Listed(4, 4, 1.2, 1.2, float(confidence))
            self.assertAlmostEqual(test.finds(result["achieved"]["detectable_gap"])[0], float(power), delta=2 * LISTED)
            self.assertEqual((result["power"], result["confidence"]), (float(power), float(confidence)))

    def test_everything_scales_with_the_display_s_step(self):
        coarse = self.planned("--shots", "4", "--resolve", "6", "--sd", "2.4", "--display", "2")["result"]
        fine = self.planned("--shots", "4", "--resolve", "0.3", "--sd", "0.12", "--display", "0.1", "--unit", "m/s")["result"]
        for result, step in ((coarse, 2), (fine, 0.1)):
            self.assertAlmostEqual(result["achieved"]["power"], listed(4).finds(3)[0], delta=LISTED)
            self.assertAlmostEqual(result["achieved"]["half_width"] / step, listed(4).mean_half_width(), delta=2e-5)
        self.assertEqual(fine["unit"], "m/s")
        self.says(self.answered("plan", "--resolve", "1", "--sd", "0.4", "--display", "0.1", "--unit", "m/s"), "1 m/s")

    def test_two_sds_for_the_two_set_ups(self):
        test = Listed(4, 4, 0.8, 1.9)
        for words in (("--sd", "0.8", "--sd", "1.9"), ("--sd", "x=0.8", "--sd", "y=1.9")):
            result = self.planned("--shots", "4", "--resolve", "3", *words)["result"]
            self.assertAlmostEqual(result["achieved"]["power"], test.finds(3)[0], delta=LISTED)
            self.assertEqual((result["sd"]["from"], result["sd"]["to"]), (0.8, 1.9))

    def test_scatter_below_the_step_is_counted_too(self):
        # The display hides the gap at some phases: half of a step is missed in most tests.
        result = self.planned("--shots", "5", "--resolve", "0.7", "--sd", "0.3")
        test = Listed(5, 5, 0.3, 0.3)
        self.assertAlmostEqual(result["result"]["achieved"]["power"], test.finds(0.7)[0], delta=1e-4)
        self.assertIn("display_limits", codes(result))
        self.says(self.answered("plan", "--shots", "5", "--resolve", "0.7", "--sd", "0.3"),
                  "below three quarters of a display step")
        self.assertNotIn("display_limits", codes(self.planned("--shots", "5", "--sd", "0.8")))

    def test_welch_s_plain_interval_where_it_is_asked_for(self):
        result = self.planned(*RESOLVE, "--method", "welch")["result"]
        shots, sd = result["design"]["from"]["shots"], readings_sd(1.2)
        self.assertEqual((result["method"], result["achieved"]["by"]), ("welch", "quadrature"))
        self.assertGreaterEqual(WelchTwo(shots, sd).power(3), 0.8)
        self.assertLess(WelchTwo(shots - 1, sd).power(3), 0.8)
        for row in result["table"]:
            test = WelchTwo(row["shots"], sd)
            self.assertAlmostEqual(row["power"], test.power(3), delta=2e-6)
            self.assertAlmostEqual(row["half_width"] / test.half_width(), 1, delta=1e-5)
            self.assertAlmostEqual(test.power(row["detectable_gap"]), 0.8, delta=1e-4)
        result = self.planned("--shots", "5", "--sd", "1.2", "--method", "welch", "--display", "2", "--confidence", "0.9")["result"]
        test = WelchTwo(5, readings_sd(1.2, 2), 0.9)
        self.assertAlmostEqual(test.power(result["achieved"]["detectable_gap"]), 0.8, delta=1e-6)

    def test_many_shots_are_planned_by_the_normal_theory(self):
        # 2(z(0.975) + z(0.8))²·(1.2² + 1/12)/0.3² = 2·7.8489·1.5233/0.09 = 265.7, and about z²/4 = 1 more for Student's t
        shots = self.planned("--resolve", "0.3", "--sd", "1.2")["result"]["design"]["from"]["shots"]
        self.assertIn(shots, (266, 267, 268))

    def test_simulation_tells_its_error_and_its_seed_and_no_thread_changes_it(self):
        words = (*BOTH, "--simulate", "1e4", "--seed", "7")
        data = self.planned(*words)
        achieved = data["result"]["achieved"]
        self.near(achieved["power"], Simulated(6, 6, 1.2, 1.2, gap=3).finds(), achieved["monte_carlo_error"])
        # √(p(1 − p)/10⁴) at p = 0.96 is 0.0020
        self.assertAlmostEqual(achieved["monte_carlo_error"], 0.0020, delta=0.0002)
        self.assertEqual((achieved["by"], data["inputs"]["simulate"], data["inputs"]["seed"]), ("simulation", 10000, 7))
        self.assertIn("monte_carlo", codes(data))
        self.says(self.answered("plan", *words), "10000 simulated tests, seed 7", "standard error")
        one, four = (self.answered("plan", *words, "--threads", threads).out for threads in ("1", "4"))
        self.assertEqual(one, four)
        self.assertNotEqual(achieved["power"], self.planned(*BOTH, "--simulate", "1e4", "--seed", "8")["result"]["achieved"]["power"])

    def test_whole_numbers_may_be_written_with_an_exponent(self):
        self.assertEqual(self.planned("--shots", "1e1", "--sd", "1.2")["result"],
                         self.planned("--shots", "10", "--sd", "1.2")["result"])


class FromSheet(PlanTest):
    @staticmethod
    def share_no_larger(groups, squares, sd, tests=50_000):
        """How often groups of so many readings scatter no more than was seen, their true averages anywhere."""
        random = numpy.random.default_rng(3)
        total = 0.0
        for n in groups:
            y = numpy.rint(random.random((tests, 1)) + sd * random.standard_normal((tests, n)))
            total = total + ((y - y.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
        return Simulated.share(total <= squares + 1e-9)

    def check_sd(self, data, groups, squares, step=1.0):
        sd = data["result"]["sd"]
        self.assertEqual((sd["origin"], sd["from"]), ("sheet", sd["to"]))
        self.assertEqual(sd["upper"]["degrees_of_freedom"], sum(groups) - len(groups))
        self.assertEqual(sd["upper"]["confidence"], 0.8)
        self.near(0.5, self.share_no_larger(groups, squares, sd["from"] / step))
        # The limit allows for the least lucky place of the true averages: on average it is exceeded more seldom.
        share, error = self.share_no_larger(groups, squares, sd["upper"]["sd"] / step)
        self.assertLess(share, 0.2 + 4 * error)
        self.assertGreater(share, 0.1 if squares else 0.01)
        self.assertIn("sd_from_sheet", codes(data))

    def test_two_bowstrings(self):
        # 14 strands: 191 190 192 191 193, Σ(y − 191.4)² = 5.2; 18 strands: Σ(y − 187.2)² = 2.8
        data = self.planned("--resolve", "3", "--from", BOWSTRINGS)
        self.check_sd(data, (5, 5), 8.0)
        self.assertEqual(data["inputs"]["setups"], ["14 strands", "18 strands"])
        self.assertEqual(data["inputs"]["from"], str(BOWSTRINGS))
        ran = self.answered("plan", "--resolve", "3", "--from", BOWSTRINGS)
        upper = data["result"]["at_upper_sd"]["shots"]
        self.says(ran, "from the 5 + 5 shots of", "with confidence 80 %", "In 8 of 10 such pilots",
                  f"To be on the safe side shoot {upper} with each", f"{data['result']['sd']['upper']['sd']:.2f} fps")

    def test_the_answer_is_given_for_the_estimate_and_for_its_upper_limit(self):
        result = self.planned("--resolve", "3", "--from", BOWSTRINGS)["result"]
        shots, sd = result["design"]["from"]["shots"], result["sd"]["from"]
        self.assertAlmostEqual(result["achieved"]["power"], Listed(shots, shots, sd, sd).finds(3)[0], delta=LISTED)
        upper, most = result["at_upper_sd"], result["sd"]["upper"]["sd"]
        self.assertGreater(upper["shots"], shots)
        self.near(upper["power"], Simulated(upper["shots"], upper["shots"], most, most, gap=3).finds())
        self.assertLess(Simulated(upper["shots"] - 1, upper["shots"] - 1, most, most, gap=3).finds()[0], 0.8)

    def test_a_pilot_of_equal_readings_is_answered(self):
        for setups, groups in (({"a": [271] * 3, "b": [274] * 2}, (3, 2)), ({"a": [271] * 5, "b": [274] * 5}, (5, 5)),
                               ({"a": [271] * 2}, (2,))):
            with self.subTest(groups=groups):
                data = self.planned("--resolve", "3", "--from", self.sheet(**setups))
                self.assertGreater(data["result"]["sd"]["from"], 0)
                self.check_sd(data, groups, 0.0)
                # n readings are equal with the chance Σ p(y)ⁿ, largest where the true average is at a reading.
                p = numpy.diff(ndtr((numpy.arange(-4, 6) - 0.5) / data["result"]["sd"]["upper"]["sd"]))
                self.assertAlmostEqual(math.prod((p ** n).sum() for n in groups), 0.2, delta=1e-4)

    def test_a_pilot_with_one_shot_of_each_cannot_tell_and_says_what_would(self):
        file = self.sheet(a=[271], b=[274], c=[272])
        ran = self.refused(1, "plan", "--resolve", "3", "--from", file)
        self.complains(ran, f"--from {file}: no set-up has two shots or more, so nothing shows how shots scatter; "
                            "fire one set-up at least twice, better five times")

    def test_shots_left_out_and_the_check_standard_do_not_count(self):
        file = self.file("# check standard: club bow\nsetup,speed_fps,excluded\na,271,\na,273,\na,272,\na,300,gust\n"
                         "club bow,250,\nclub bow,260,\n")
        self.check_sd(self.planned("--resolve", "3", "--from", file), (3,), 2.0)

    def test_shots_of_several_days_are_taken_apart(self):
        file = self.file("setup,session,speed_fps\n" + "".join(f"a,{day},{y}\n" for day, y in
                         ((1, 271), (1, 272), (1, 271), (2, 280), (2, 281), (2, 282))))
        # Σ within the days: 2/3 and 2
        self.check_sd(self.planned("--resolve", "3", "--from", file), (3, 3), 2 + 2 / 3)

    def test_unit_and_display_of_the_sheet(self):
        file = self.sheet(column="speed_mps", a=["57.1", "57.3", "57.2"], b=["58.0", "58.1"])
        data = self.planned("--resolve", "1", "--from", file)
        self.assertEqual((data["result"]["unit"], data["result"]["display_step"]), ("m/s", 0.1))
        self.check_sd(data, (3, 2), 2.5, step=0.1)
        self.planned("--resolve", "1", "--from", file, "--unit", "m/s")
        self.complains(self.refused(2, "plan", "--resolve", "1", "--from", file, "--unit", "fps"),
                       "--unit fps: the sheet of --from is in another unit")
        self.assertEqual(self.planned("--resolve", "1", "--from", file, "--display", "0.05")["result"]["display_step"], 0.05)

    def test_standard_input(self):
        data = self.json_of(self.answered("plan", "--resolve", "3", "--from", "-", "--json",
                                          stdin="setup,speed_fps\na,271\na,273\na,272\n"), "plan")
        self.check_sd(data, (3,), 2.0)
        self.assertEqual(data["inputs"]["setups"], ["A", "B"])

    def test_a_bad_sheet_with_every_problem(self):
        ran = self.refused(3, "plan", "--resolve", "3", "--from", EXAMPLES / "problems.csv")
        self.assertEqual(ran.err, run("compare", EXAMPLES / "problems.csv").err.replace("; --any-speed accepts it", ""))
        data = self.json_of(self.ended(run("plan", "--resolve", "3", "--from", EXAMPLES / "problems.csv", "--json"), 3))
        self.assertEqual((data["command"], len(data["problems"])), ("plan", len(ran.err.splitlines())))
        for file, message in ((self.folder / "none.csv", "there is no such file"), (self.folder, "is a directory")):
            self.complains(self.refused(3, "plan", "--resolve", "3", "--from", file), message)

    def test_a_wrong_option_is_told_before_a_sheet_is_looked_at(self):
        ran = self.refused(2, "plan", "--resolve", "x", "--from", self.folder / "none.csv")
        self.complains(ran, "--resolve x: not a number")


class Shooter(PlanTest):
    USUAL = {"machine": (0.4, 0.9), "release": (1.0, 1.5), "fingers": (2.0, 3.0)}  # where to start from, and the top

    def test_each_is_assumed_and_says_so_with_its_range(self):
        for name, (usual, top) in self.USUAL.items():
            for unit, factor in (("fps", 1), ("m/s", FPS_IN_MPS)):
                with self.subTest(name=name, unit=unit):
                    words = ("--resolve", "3", "--shooter", name, "--unit", unit)
                    data = self.planned(*words)
                    sd = data["result"]["sd"]
                    self.assertEqual((sd["origin"], data["inputs"]["shooter"]), ("assumed", name))
                    self.assertAlmostEqual(sd["from"], usual * factor, delta=1e-12)
                    self.assertAlmostEqual(sd["to"], usual * factor, delta=1e-12)
                    self.assertIn("sd_assumed", codes(data))
                    self.says(self.answered("plan", *words), "assumed and not measured", "The SD is assumed: it may well be")

    def test_the_answer_at_the_top_of_the_range(self):
        result = self.planned("--shots", "4", "--resolve", "3", "--shooter", "release")["result"]
        self.near(result["achieved"]["power"], Simulated(4, 4, 1, 1, gap=3).finds())
        self.near(result["at_upper_sd"]["power"], Simulated(4, 4, 1.5, 1.5, gap=3).finds())
        result = self.planned("--resolve", "3", "--shooter", "release")["result"]
        shots = result["at_upper_sd"]["shots"]
        self.assertGreater(Simulated(shots, shots, 1.5, 1.5, gap=3).finds()[0], 0.8)
        self.assertLess(Simulated(shots - 1, shots - 1, 1.5, 1.5, gap=3).finds()[0], 0.8)

    def test_an_sd_as_entered_has_no_other_answer_beside(self):
        self.assertIsNone(self.planned(*RESOLVE)["result"]["at_upper_sd"])
        self.assertNotIn("safe side", self.answered("plan", *RESOLVE).out)


class Said(PlanTest):
    def test_sentence_first_then_curve_table_and_what_it_rests_on(self):
        for words in (RESOLVE, SHOTS, BOTH, WITHIN, SAME):
            text = self.answered("plan", *words).out
            places = [text.index(part) for part in ("The range for the gap will be about", "100 % ┤", "Other numbers of shots",
                                                    "What this rests on", "Before you shoot")]
            self.assertEqual(places, sorted(places))
            self.assertEqual(text.split("\n\n")[0].count("."), len(re.findall(r"\d\.\d", text.split("\n\n")[0])) + 1)

    def test_the_sentence_can_be_said_aloud(self):
        shots = self.planned(*RESOLVE)["result"]["design"]["from"]["shots"]
        self.assertTrue(self.answered("plan", *RESOLVE).out.startswith(
            f"Shoot {shots} shots with each of the two set-ups: a true gap of 3 fps is then found in"))
        self.says(self.answered("plan", *SHOTS), "3 shots with each of the two set-ups find a true gap of", "8 times in 10")
        self.says(self.answered("plan", *BOTH), "6 shots with each of the two set-ups find a true gap of 3 fps in")
        self.says(self.answered("plan", *WITHIN), "±1 fps or closer in")
        self.says(self.answered("plan", *SAME), "two set-ups without a gap are then shown to ", "2 fps in 85 % of tests")
        self.says(self.answered("plan", *KINDS), "bows of each kind", "a true gap of 3 fps between the kinds is then found")

    def test_open_is_not_no_difference_and_a_detectable_gap_is_no_accuracy(self):
        for words in (RESOLVE, SHOTS, BOTH):
            self.says(self.answered("plan", *words), 'not "no difference"')
        self.assertRegex(self.answered("plan", *SAME).words, r'not shown[a-z ]* is not "different"')
        for words in QUESTIONS:
            self.assertNotIn("accura", self.answered("plan", *words).out)

    def test_power_is_marked_on_the_curve(self):
        figure = self.answered("plan", *RESOLVE).out
        self.assertRegex(figure, r"◆ on ┊ \d+ % at \d+")
        shots = self.planned(*RESOLVE)["result"]["design"]["from"]["shots"]
        self.assertIn(f"at {shots}", figure)

    def test_whose_gap_it_will_be_and_what_to_take_care_of(self):
        for words in QUESTIONS:
            ran = self.answered("plan", *words)
            self.says(ran, "The gap will belong to the", "Never dry-fire", "minimum arrow mass and bolt limits",
                      "qualified technician", "backstop", "nobody forward of the line", "eye protection",
                      "Stop when tired", "Range rules and local law")
            self.says(ran, "kinds of bow" if words is KINDS else "two specimens shot")

    def test_notes_are_those_of_the_text(self):
        for words in (*QUESTIONS, ("--resolve", "3", "--shooter", "release"), ("--resolve", "3", "--from", BOWSTRINGS)):
            ran = self.answered("plan", *words)
            self.says(ran, *(note["text"] for note in self.planned(*words)["notes"]))

    def test_more_shots_on_one_side_only_that_would_hurt_are_named(self):
        # Welch's interval with SD 1 and 3, gap 6: power 0.531 at 4 and 3 shots, 0.482 at 40 and 3.
        self.assertGreater(WelchPair(4, 3, 1, 3).power(6), WelchPair(40, 3, 1, 3).power(6) + 0.04)
        words = ("--shots", "3", "--resolve", "6", "--sd", "calm=1", "--sd", "wild=3")
        self.assertIn("more_on_one_side", codes(self.planned(*words)))
        self.says(self.answered("plan", *words), "ore shots with calm alone", "would find the gap less often, not more")
        self.assertNotIn("more_on_one_side", codes(self.planned(*BOTH)))

    def test_inputs_are_those_understood(self):
        inputs = self.planned(*BOTH, "--power", "0.9", "--confidence", "0.9", "--display", "0.5", "--seed", "9", "--setup",
                              "new", "--setup", "old")["inputs"]
        given = {"shots": 6, "resolve": 3, "sd": [1.2, 1.2], "power": 0.9, "confidence": 0.9, "display_step": 0.5, "seed": 9,
                 "setups": ["new", "old"], "method": "rounding_aware", "kinds": False, "unit": "fps"}
        self.assertEqual({key: value for key, value in inputs.items() if value is not None}, given)


class Widths(PlanTest):
    MORE = (("--resolve", "3", "--from", EXAMPLES / "three-bowstrings.csv"), ("--resolve", "2", "--shooter", "fingers"),
            ("--shots", "500", "--resolve", "0.3", "--sd", "1.2", "--method", "welch"), (*SPLIT, "--resolve", "2"),
            ("--total-shots", "24", "--sd", "a bowstring with a name far longer than anybody wants to read=1", "--sd",
             "弓弦十八本弓弦十八本弓弦十八本=2.5"), ("--resolve", "0.123456", "--sd", "0.1", "--display", "0.001"))

    def test_no_line_is_wider_than_the_page(self):
        for words in (*QUESTIONS, *self.MORE):
            for width in (40, 80):
                with self.subTest(words=words, width=width):
                    self.fits(self.answered("plan", *words, width=width), width)

    def test_a_tiny_page_is_answered_too(self):
        for words in QUESTIONS:
            self.answered("plan", *words, width=24)
        self.answered("plan", *RESOLVE, width=1)


if __name__ == "__main__":
    main()
