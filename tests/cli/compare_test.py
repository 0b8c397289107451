#!/usr/bin/env python3
"""shotassay compare: its numbers against published and hand-worked ones, its verdicts, what it says and does not say."""

import itertools
import json
import math

import numpy
import scipy.stats

from program import BOWSTRINGS, EXAMPLES, ROOT, ProgramTest, codes, main, method, run

FPS_IN_MPS = 0.3048  # one foot is 0.3048 m, exactly


def published(name):
    for line in (ROOT / "data/reference/published.json").read_text(encoding="utf-8").splitlines():
        if line.startswith(f'{{"id": "{name}"'):
            check = json.loads(line.rstrip(","))
            return check["data"], {entry["name"]: entry for entry in check["expected"]}
    raise KeyError(name)


class PublishedExamples(ProgramTest):
    def close(self, found, entry, sign=1):
        self.assertAlmostEqual(found, sign * entry["value"], delta=entry["tol"])

    def test_pooled_t_agrees_with_the_handbook_s_cars(self):
        # The handbook's difference is first minus second, ours second minus first: signs and limits turn.
        _, expected = published("ehb-auto83b-pooled")
        data = self.compared(EXAMPLES / "nist-auto83b.csv", "--any-speed", "--method", "pooled")
        gap = data["result"]["gaps"][0]
        pooled = method(gap, "pooled")
        self.close(pooled["t"], expected["t"], -1)
        self.close(pooled["degrees_of_freedom"], expected["df"])
        self.close(pooled["lower"], expected["hi"], -1)
        self.close(pooled["upper"], expected["lo"], -1)
        for setup, suffix in zip(data["result"]["setups"], "12"):
            self.close(setup["mean"], expected["mean" + suffix])
            self.close(setup["sd"], expected["sd" + suffix])

    def test_welch_t_agrees_with_the_handbook_s_cars(self):
        _, expected = published("ehb-auto83b-welch")
        gap = self.compared(EXAMPLES / "nist-auto83b.csv", "--any-speed", "--method", "welch")["result"]["gaps"][0]
        self.close(method(gap, "welch")["t"], expected["t"], -1)
        self.close(method(gap, "welch")["degrees_of_freedom"], expected["df"])

    def test_order_of_set_ups_turns_the_sign(self):
        _, expected = published("ehb-auto83b-pooled")
        gap = self.compared(EXAMPLES / "nist-auto83b.csv", "--any-speed", "--method", "pooled",
                            "--setup", "jp", "--setup", "us")["result"]["gaps"][0]
        self.assertEqual((gap["from"], gap["to"], gap["verdict"]), ("jp", "us", "slower"))
        self.close(method(gap, "pooled")["t"], expected["t"])
        self.close(method(gap, "pooled")["lower"], expected["lo"])
        self.close(method(gap, "pooled")["upper"], expected["hi"])

    def test_cars_are_no_arrows_unless_any_speed_is_asked_for(self):
        ran = self.refused(3, "compare", EXAMPLES / "nist-auto83b.csv")
        self.complains(ran, "no bow's speed: readings lie between 20 and 600 fps")

    def test_games_howell_agrees_with_a_published_example(self):
        # No set-up is tight there, so the default interval in a family is Games and Howell's.
        given, expected = published("gh-equal-n")
        file = self.sheet(a=given["groups"][0], b=given["groups"][1], c=given["groups"][2])
        data = self.compared(file, "--any-speed")
        gaps = {gap["from"] + gap["to"]: gap for gap in data["result"]["gaps"]}
        self.assertEqual(list(gaps), ["ab", "ac", "bc"])
        for pair, suffix in (("ab", "12"), ("ac", "13"), ("bc", "23")):
            self.close(gaps[pair]["methods"][0]["p_two_sided"], expected["p_" + suffix])
        for pair, suffix in (("ab", "12"), ("ac", "13")):
            self.close(gaps[pair]["interval"]["lower"], expected["hi_" + suffix], -1)
            self.close(gaps[pair]["interval"]["upper"], expected["lo_" + suffix], -1)
        self.assertIn("family", codes(data))

    def test_tukey_kramer_agrees_with_a_published_example(self):
        given, expected = published("tukey-kramer")
        a, b, c = given["groups"]
        gaps = self.compared(self.sheet(a=a, b=b, c=c), "--method", "pooled")["result"]["gaps"]
        pooled = method(gaps[0], "pooled")
        self.close(pooled["p_two_sided"], expected["p_12"])
        self.close(pooled["lower"], expected["hi_12"], -1)
        self.close(pooled["upper"], expected["lo_12"], -1)

    def test_two_one_sided_tests_of_michelson_s_runs(self):
        given, expected = published("tost-michelson-4-5")
        file = self.sheet(a=given["x"], b=given["y"])
        for margin in given["margins"]:
            gap = self.compared(file, "--any-speed", "--method", "welch", "--margin", margin)["result"]["gaps"][0]
            welch = method(gap, "welch")
            self.close(welch["p_equivalence"], expected[f"p_{margin}"])
            self.close(welch["standard_error"], expected["se"])
            self.close(welch["degrees_of_freedom"], expected["df"])
            # The published limits are those of 90 %: [-19.5, 41.5] lies inside ±50. At 95 % it is [-25.6, 47.6].
            self.assertEqual(gap["verdict"], "same" if margin == 50 else "open")
        gap = self.compared(file, "--any-speed", "--method", "welch", "--confidence", "0.9")["result"]["gaps"][0]
        self.close(method(gap, "welch")["lower"], expected["hi"], -1)
        self.close(method(gap, "welch")["upper"], expected["lo"], -1)

    def test_permutation_of_box_hunter_and_hunter_s_tomatoes(self):
        # 462 arrangements. One-sided 154, three of them equal; two-sided counted here, in whole tenths.
        given, _ = published("bhh-tomato")
        x, y = ([round(10 * value) for value in given[key]] for key in ("x", "y"))
        pool, observed = x + y, abs(sum(x) / 6 - sum(y) / 5)
        far = sum(abs(sum(chosen) / 6 - (sum(pool) - sum(chosen)) / 5) >= observed - 1e-9
                  for chosen in itertools.combinations(pool, 6))
        gap = self.compared(self.sheet(a=given["x"], b=given["y"]), "--any-speed", "--method",
                            "permutation")["result"]["gaps"][0]
        self.assertAlmostEqual(method(gap, "permutation")["p_two_sided"], far / 462, delta=1e-12)
        self.assertIs(method(gap, "permutation")["exact"], True)


class RoundingAwareInterval(ProgramTest):
    def test_worked_examples_of_the_default_interval(self):
        # Made by data/reference/rounding_aware.R, and the fourth by hand: V = 1/9, 1/2; u² = 11/18; ν = 5.438202.
        for a, b, difference, half in (([271] * 3, [274] * 3, 3, 1.0),
                                       ([271] * 3, [272, 272, 273], 4 / 3, 1.473329),
                                       ([271, 273, 274, 270, 272], [276, 274, 277, 275, 279], 4.2, 2.584698),
                                       ([271, 272, 271], [273, 275, 274, 276, 272], 8 / 3, 1.961776),
                                       ([271, 273], [274, 274, 275], 7 / 3, 8.749722)):
            gap = self.compared(self.sheet(a=a, b=b))["result"]["gaps"][0]
            self.assertAlmostEqual(gap["difference"], difference, delta=1e-12)
            self.assertAlmostEqual(gap["interval"]["upper"] - gap["difference"], half, delta=6e-7)
            self.assertAlmostEqual(gap["difference"] - gap["interval"]["lower"], half, delta=6e-7)

    def test_level_reaches_the_interval(self):
        # No tight set-up, so the interval is Welch's, whatever the level.
        a, b = [271, 273, 274, 270, 272], [276, 274, 277, 275, 279]
        va, vb = numpy.var(a, ddof=1) / 5, numpy.var(b, ddof=1) / 5
        df = (va + vb) ** 2 / (va ** 2 / 4 + vb ** 2 / 4)
        for level in ("0.5", "0.8", "0.9", "0.99", "0.999"):
            gap = self.compared(self.sheet(a=a, b=b), "--confidence", level)["result"]["gaps"][0]
            half = scipy.stats.t.ppf(0.5 + float(level) / 2, df) * math.sqrt(va + vb)
            self.assertAlmostEqual(gap["interval"]["upper"], 4.2 + half, delta=1e-7)
            self.assertEqual(gap["interval"]["level"], float(level))

    def test_step_scales_the_answer(self):
        # The same five whole numbers, read as tenths: every speed a tenth.
        whole = self.compared(self.sheet(a=[271, 272, 271], b=[273, 275, 274, 276, 272]))["result"]["gaps"][0]
        tenths = self.compared(self.sheet(a=["27.1", "27.2", "27.1"],
                                          b=["27.3", "27.5", "27.4", "27.6", "27.2"]))["result"]["gaps"][0]
        for end in ("lower", "upper"):
            self.assertAlmostEqual(tenths["interval"][end], whole["interval"][end] / 10, delta=1e-12)

    def test_one_average_all_equal_is_known_to_half_a_step(self):
        # V = 1/36, S(0) = t(0.975; 2)/6 = 0.7171; S(h²/3) with ν = 2·(1/9)²/(1/36)² = 32: t(0.975; 32)/3 = 0.6790
        setups = self.compared(self.sheet(a=[271] * 3, b=[274] * 3))["result"]["setups"]
        half = max(scipy.stats.t.ppf(0.975, 2) / 6, scipy.stats.t.ppf(0.975, 32) / 3, 0.5)
        self.assertAlmostEqual(setups[0]["interval"]["upper"] - 271, half, delta=1e-7)

    def test_default_s_family_is_studentised_range_on_welch_s_freedom(self):
        shots = {"a": [191, 190, 192, 194], "b": [188, 187, 191, 186, 185], "c": [190, 193, 189, 187, 195, 191]}
        data = self.compared(self.sheet(**shots), "--confidence", "0.9")
        for gap in data["result"]["gaps"]:
            a, b = shots[gap["from"]], shots[gap["to"]]
            va, vb = numpy.var(a, ddof=1) / len(a), numpy.var(b, ddof=1) / len(b)
            df = (va + vb) ** 2 / (va ** 2 / (len(a) - 1) + vb ** 2 / (len(b) - 1))
            half = scipy.stats.studentized_range.ppf(0.9, 3, df) / math.sqrt(2) * math.sqrt(va + vb)
            self.assertAlmostEqual(gap["interval"]["upper"], numpy.mean(b) - numpy.mean(a) + half, delta=1e-4)
        self.assertIn("family_unequal_shots", codes(data))

    def test_holm_s_p_from_each_pair_s_own(self):
        shots = {"a": [191, 190, 192, 194], "b": [188, 187, 191, 186], "c": [190, 193, 189, 187]}
        gaps = self.compared(self.sheet(**shots), "--method", "welch")["result"]["gaps"]
        own = [scipy.stats.ttest_ind(shots[x], shots[y], equal_var=False).pvalue for x, y in ("ab", "ac", "bc")]
        expected, largest = {}, 0.0
        for rank, index in enumerate(numpy.argsort(own)):
            largest = expected[index] = min(1.0, max(largest, own[index] * (3 - rank)))
        for index, gap in enumerate(gaps):
            self.assertAlmostEqual(method(gap, "welch")["p_holm"], expected[index], delta=1e-8)


class Bootstraps(ProgramTest):
    A, B = [271, 272, 274], [275, 275, 278]

    def standard_error(self):
        # The law of a resampled mean is that of three draws: population variance over 3.
        return math.sqrt(numpy.var(self.A) / 3 + numpy.var(self.B) / 3)

    def test_exact_standard_error_is_the_population_s(self):
        gap = self.compared(self.sheet(a=self.A, b=self.B), "--all-methods")["result"]["gaps"][0]
        for name in ("bootstrap_percentile", "bootstrap_basic", "bootstrap_bca"):
            self.assertAlmostEqual(method(gap, name)["standard_error"], self.standard_error(), delta=1e-12)
            self.assertIs(method(gap, name)["exact"], True)

    def test_percentile_limits_stand_between_those_of_all_729_resamples(self):
        gaps = sorted(sum(b) / 3 - sum(a) / 3 for a in itertools.product(self.A, repeat=3)
                      for b in itertools.product(self.B, repeat=3))
        # Quantiles of the law of all resamples: the least value below which at least α/2 lies, and mirrored.
        lower, upper = gaps[math.ceil(0.025 * 729) - 1], gaps[729 - math.ceil(0.025 * 729)]
        found = method(self.compared(self.sheet(a=self.A, b=self.B), "--method",
                                     "bootstrap_percentile")["result"]["gaps"][0], "bootstrap_percentile")
        self.assertAlmostEqual(found["lower"], lower, delta=1e-9)
        self.assertAlmostEqual(found["upper"], upper, delta=1e-9)

    def test_basic_limits_mirror_the_percentile_s(self):
        gap = self.compared(self.sheet(a=self.A, b=self.B), "--all-methods")["result"]["gaps"][0]
        percentile, basic = method(gap, "bootstrap_percentile"), method(gap, "bootstrap_basic")
        self.assertAlmostEqual(basic["lower"], 2 * gap["difference"] - percentile["upper"], delta=1e-9)
        self.assertAlmostEqual(basic["upper"], 2 * gap["difference"] - percentile["lower"], delta=1e-9)

    def test_resamples_are_stated_with_their_error(self):
        data = self.compared(self.sheet(a=self.A, b=self.B), "--method", "bootstrap_percentile", "--resamples", "1e5")
        found = method(data["result"]["gaps"][0], "bootstrap_percentile")
        self.assertEqual((found["resamples"], found["exact"]), (100000, False))
        self.assertLess(abs(found["standard_error"] - self.standard_error()), 0.01)  # its own error is about 0.0018
        for end in ("lower", "upper"):
            low, high = found[end + "_monte_carlo"]
            self.assertTrue(low <= found[end] <= high)
        self.assertIn("monte_carlo", codes(data))

    def test_a_family_holds_its_bootstraps_by_bonferroni(self):
        gaps = self.compared(self.sheet(a=self.A, b=self.B, c=[270, 273, 276]), "--method",
                             "bootstrap_percentile")["result"]["gaps"]
        for gap in gaps:
            self.assertAlmostEqual(method(gap, "bootstrap_percentile")["level"], 1 - 0.05 / 3, delta=1e-12)
            self.assertEqual(gap["interval"]["level"], 0.95)


class Verdicts(ProgramTest):
    """271, 271, 271 against 271 + d three times: the interval is d ± 1, by hand."""

    def gap(self, difference, *words):
        file = self.sheet(first=[271] * 3, second=[271 + difference] * 3)
        return self.compared(file, *words)["result"]["gaps"][0]

    def test_the_interval_away_from_0_decides(self):
        self.assertEqual(self.gap(3)["verdict"], "faster")
        self.assertEqual(self.gap(-3)["verdict"], "slower")

    def test_a_limit_on_0_decides_nothing(self):
        self.assertEqual(self.gap(1)["verdict"], "open")
        self.assertEqual(self.gap(-1)["verdict"], "open")

    def test_equal_averages_are_open_without_a_margin(self):
        self.assertEqual(self.gap(0)["verdict"], "open")
        self.assertIsNone(self.gap(0)["margin"])

    def test_same_needs_the_whole_interval_inside_the_margin(self):
        self.assertEqual(self.gap(0, "--margin", "3")["verdict"], "same")
        self.assertEqual(self.gap(0, "--margin", "1.01")["verdict"], "same")
        self.assertEqual(self.gap(0, "--margin", "1")["verdict"], "open")
        self.assertEqual(self.gap(0, "--margin", "0.5")["verdict"], "open")

    def test_position_beside_the_margin(self):
        for difference, margin, position in ((3, "1", "beyond"), (3, "2", "across"), (3, "3", "across"),
                                             (3, "4", "across"), (3, "4.1", "inside"), (-3, "1", "beyond"),
                                             (-3, "4.1", "inside"), (0, "3", "inside"), (0, "1", "across")):
            with self.subTest(difference=difference, margin=margin):
                gap = self.gap(difference, "--margin", margin)
                self.assertEqual(gap["margin"], {"size": float(margin), "position": position})

    def test_resolved_and_inside_stays_resolved_and_says_so(self):
        file = self.sheet(first=[271] * 3, second=[274] * 3)
        ran = self.answered("compare", file, "--margin", "5")
        self.says(ran, "With second the arrows flew 3.0 fps faster than with first", "by less than the margin of 5 fps")
        ran = self.answered("compare", file, "--margin", "1")
        self.says(ran, "by more than the margin of 1 fps")
        ran = self.answered("compare", file, "--margin", "3")
        self.says(ran, "whether by more than the margin of 3 fps stays open")

    def test_margin_of_the_sheet_and_of_the_option(self):
        file = self.sheet(["margin: 3"], first=[271] * 3, second=[271] * 3)
        self.assertEqual(self.compared(file)["result"]["gaps"][0]["verdict"], "same")
        self.assertEqual(self.compared(file, "--margin", "0.5")["result"]["gaps"][0]["verdict"], "open")

    def test_exit_on_verdict(self):
        for difference, words, status in ((3, (), 10), (-3, (), 11), (0, ("--margin", "3"), 12), (0, (), 13)):
            file = self.sheet(first=[271] * 3, second=[271 + difference] * 3)
            for extra in ((), ("--json",)):
                ran = self.ended(run("compare", file, *words, *extra, "--exit-on-verdict"), status)
                self.assertEqual(ran.err, "")
                self.assertEqual(ran.out, run("compare", file, *words, *extra).out)
            self.ended(run("compare", file, *words), 0)

    def test_exit_on_verdict_needs_one_gap(self):
        file = EXAMPLES / "three-bowstrings.csv"
        self.complains(self.refused(2, "compare", file, "--exit-on-verdict"), "--setup")
        self.ended(run("compare", file, "--exit-on-verdict", "--setup", "14 strands", "--setup", "18 strands"), 11)

    def test_exit_on_verdict_without_an_interval_is_no_answer(self):
        file = self.sheet(a=[271], b=[271, 272, 273])
        self.ended(run("compare", file, "--exit-on-verdict"), 1)


class Sentences(ProgramTest):
    OPEN = {"first": [271, 273, 274, 270], "second": [272, 274, 275, 272]}

    def test_open_is_never_told_as_no_difference(self):
        for words in ((), ("--margin", "1"), ("--all-methods",)):
            ran = self.answered("compare", self.sheet(**self.OPEN), *words)
            self.says(ran, "do not settle whether second or first is faster", "What would settle it")
            for claim in ("no difference", "the same", "no effect", "equal speed", "not different"):
                self.assertNotIn(claim, ran.words.lower(), str(ran))

    def test_same_is_told_only_with_a_margin(self):
        even = {"first": [271] * 4, "second": [271] * 4}
        self.assertNotIn("the same", self.answered("compare", self.sheet(**even)).words)
        self.says(self.answered("compare", self.sheet(**even), "--margin", "3"), "flew the same within ±3 fps")

    def test_every_output_says_whose_gap_it_is(self):
        for shots, words in ((self.OPEN, ()), ({"a": [271] * 3, "b": [275] * 3}, ()),
                             ({"a": [271] * 3, "b": [271] * 3}, ("--margin", "3")),
                             ({"a": [271] * 3, "b": [275] * 3, "c": [270, 271, 273]}, ())):
            ran = self.answered("compare", self.sheet(**shots), *words)
            self.says(ran, "the gap belongs to the single specimens shot")
            scope = self.compared(self.sheet(**shots), *words)["result"]["gaps"][0]["scope"]
            self.assertEqual(scope["carried"], "setups_today")
            self.assertIn("kinds_of_bow", scope["not_carried"])
            self.assertIn("several_bows", [need["code"] for need in scope["needs"]])

    def needs(self, file, *words):
        return self.compared(file, *words)["result"]["gaps"][0]["scope"]["needs"]

    def test_each_claim_that_is_not_carried_says_what_it_takes(self):
        sheet = self.sheet(**self.OPEN)
        one = self.needs(sheet, "--margin", "2")
        self.assertEqual([n["code"] for n in one],
                         ["more_shots", "more_shots", "more_shots", "several_days", "several_bows"])
        self.assertEqual([(n["gap"], n["same_within"]) for n in one[:3]], [(2, None), (1.25, None), (None, 2)])
        self.assertEqual((one[3]["sessions"], one[4]["bows"]), (4, None))
        stated = self.needs(sheet, "--bow-sd", "1")[-1]
        self.assertEqual(stated["code"], "several_bows")
        self.assertEqual(stated["bows"], stated["more_bows"] + 1)
        self.assertGreaterEqual(stated["shots"], 1)
        plan = self.answered("plan", "--kinds", "--resolve", "1.25", "--bow-sd", "1", "--sd", "1.6457", "--json")
        self.assertEqual(json.loads(plan.out)["result"]["design"]["from"],
                         {"bows": stated["bows"], "shots": stated["shots"]})
        days = self.needs(self.file("setup,session,speed_fps\n" + "".join(
            f"{setup},{day},{speed}\n" for setup, day, speed in
            (("a", 1, 190), ("a", 1, 194), ("b", 1, 193), ("b", 1, 197), ("a", 2, 191), ("a", 2, 193), ("b", 2, 192),
             ("b", 2, 194)))))
        several = [n for n in days if n["code"] == "several_days"]
        self.assertEqual(several[0]["gap"], 2)
        self.assertEqual(several[0]["sessions"], several[0]["more_sessions"] + 2)

    def test_a_second_bow_is_asked_of_the_setups_that_have_one(self):
        file = self.file("setup,bow,speed_fps\na,1,191\na,2,193\nb,3,187\nb,3,188\n")
        self.says(self.answered("compare", file), "That needs a second bow of b.")
        self.assertIn("second_bow", [n["code"] for n in self.needs(file)])

    def test_sentence_first_then_gap_shots_scope_next_test_and_numbers(self):
        ran = self.answered("compare", self.sheet(**self.OPEN))
        order = ["These shots do not settle", "The gap", "The shots", "What these readings carry",
                 "What would settle it", "To bear in mind", "The numbers"]
        places = [ran.out.index(word) for word in order]
        self.assertEqual(places, sorted(places), ran.out)
        self.assertEqual(places[0], 0)

    def test_estimate_and_interval_stand_before_any_p(self):
        ran = self.answered("compare", BOWSTRINGS)
        p = ran.words.index(" level p ")
        self.assertLess(ran.words.index("give or take"), p)
        self.assertLess(ran.words.index("The gap 18 strands against 14 strands: −4.2 fps, from −"), p)

    def test_all_equal_is_answered(self):
        ran = self.answered("compare", self.sheet(a=[271] * 3, b=[274] * 3))
        self.says(ran, "All readings are equal with a and b", "With b the arrows flew 3.0 fps faster than with a, give or "
                  "take 1.0 fps")
        setups = self.compared(self.sheet(a=[271] * 3, b=[274] * 3))["result"]["setups"]
        self.assertEqual([(s["all_equal"], s["sd"], s["spread"]) for s in setups], [(True, 0, 0)] * 2)

    def test_a_pair_of_shots_beside_more_is_said_to_be_too_few(self):
        ran = self.answered("compare", self.sheet(a=[271, 273], b=[275, 276, 274, 277, 275]))
        self.says(ran, "a has two shots beside b with 5: the range may be too short, and a third shot mends it")
        ran = self.answered("compare", self.sheet(a=[275, 276, 274, 277, 275], b=[271, 273]))
        self.says(ran, "b has two shots beside a with 5")
        self.assertNotIn("two_shots", codes(self.compared(self.sheet(a=[271, 273], b=[275, 276]))))

    def test_several_bows_are_told_apart_from_single_specimens(self):
        rows = [f"{setup},{bow},{speed}" for setup, bow, speed in
                (("a", 1, 191), ("a", 1, 192), ("a", 2, 193), ("b", 3, 187), ("b", 4, 188), ("b", 4, 188))]
        file = self.file("\n".join(["setup,bow,speed_fps", *rows]) + "\n")
        self.says(self.answered("compare", file), "The range speaks of the kinds", "the averages of 2 and 2 bows")
        self.assertEqual([s["bows"] for s in self.compared(file)["result"]["setups"]], [2, 2])

    def test_rounds_and_sessions_that_are_not_used_are_named(self):
        file = self.file("setup,round,session,speed_fps\na,1,1,191\na,2,2,193\nb,3,3,188\nb,4,4,187\n")
        data = self.compared(file)
        self.assertIn("rounds_not_used", codes(data))
        self.assertIn("sessions_not_used", codes(data))


class TooLittle(ProgramTest):
    def test_one_shot_is_described_and_has_no_interval(self):
        file = self.sheet(a=[271], b=[273, 275, 274])
        ran = self.ended(run("compare", file), 1)
        self.says(ran, "No range can be given for the gap between a and b: a has one shot", "271")
        self.complains(ran, "no range for the gap between a and b: a has one shot")
        data = self.compared(file, status=1)
        gap = data["result"]["gaps"][0]
        self.assertEqual((gap["difference"], gap["interval"], gap["verdict"], gap["detectable"]), (3, None, "open", None))
        self.assertEqual(gap["scope"]["carried"], "readings")
        self.assertIsNone(data["result"]["setups"][0]["sd"])
        self.assertIsNone(data["result"]["setups"][0]["interval"])
        self.assertIsNotNone(data["result"]["setups"][1]["interval"])
        self.assertIn("one_shot", codes(data))

    def test_one_shot_with_each(self):
        ran = self.ended(run("compare", self.sheet(a=[271], b=[273])), 1)
        self.says(ran, "a has one shot, b has one shot")
        for claim in ("faster", "slower"):
            self.assertNotIn(claim, ran.words.split("What these readings carry")[0])

    def test_the_other_pairs_are_still_compared(self):
        file = self.sheet(a=[271], b=[273, 275, 274], c=[280, 281, 283])
        gaps = self.compared(file, status=1)["result"]["gaps"]
        self.assertEqual([gap["interval"] is None for gap in gaps], [True, True, False])
        alone = self.compared(self.sheet(b=[273, 275, 274], c=[280, 281, 283]))["result"]["gaps"][0]
        self.assertEqual(gaps[2]["interval"], alone["interval"])  # a family of the two that have a scatter

    def test_a_set_up_whose_shots_are_all_excluded(self):
        file = self.file("setup,speed_fps,excluded\na,271,gust\na,272,gust\nb,273,\nb,274,\nb,275,\n")
        ran = self.ended(run("compare", file), 1)
        self.says(ran, "a has no shot left: every one is excluded", 'Left out of a: 271 on line 2, "gust"')
        setup = self.compared(file, status=1)["result"]["setups"][0]
        self.assertEqual((setup["shots"], setup["excluded"], setup["mean"], setup["min"]), (0, 2, None, None))

    def test_every_shot_excluded(self):
        file = self.file("setup,speed_fps,excluded\na,271,gust\nb,273,gust\n")
        self.complains(self.refused(1, "compare", file), "no set-up has a shot left: every one is excluded")

    def test_one_set_up(self):
        self.complains(self.refused(1, "compare", self.sheet(a=[271, 272])),
                       "a comparison needs two set-ups or more; the sheet has one set-up, a")

    def test_a_sheet_without_a_row(self):
        ran = self.refused(3, "compare", self.file("setup,speed_fps\n"))
        self.complains(ran, "sheet.csv")

    def test_an_exact_method_over_its_budget_stops_and_names_the_way_out(self):
        shots = {"a": list(range(100, 400)), "b": list(range(101, 401))}
        ran = self.refused(1, "compare", self.sheet(**shots), "--method", "bootstrap_t", "--max-operations", "1000")
        self.complains(ran, "bootstrap_t needs about", "operations", "--resamples")
        self.answered("compare", self.sheet(**shots), "--method", "bootstrap_t", "--resamples", "1000")

    def test_all_methods_skip_what_is_over_the_budget_and_say_so(self):
        shots = {"a": list(range(100, 130)), "b": list(range(101, 131))}
        data = self.compared(self.sheet(**shots), "--all-methods", "--max-operations", "1000")
        reasons = [note["text"] for note in data["notes"] if note["code"] == "no_interval"]
        self.assertTrue(any(reason.startswith("bootstrap_t") and "allowed are" in reason for reason in reasons), reasons)
        self.assertIsNotNone(data["result"]["gaps"][0]["interval"])


class SheetIntoAnswer(ProgramTest):
    def test_excluded_shots_are_counted_and_their_reasons_shown(self):
        data = self.compared(EXAMPLES / "three-bowstrings.csv")
        first = data["result"]["setups"][0]
        self.assertEqual((first["shots"], first["excluded"]), (4, 1))
        self.assertEqual(first["mean"], (192 + 191 + 191 + 193) / 4)
        ran = self.answered("compare", EXAMPLES / "three-bowstrings.csv")
        self.says(ran, 'Left out of 14 strands: 178 on line 14, "arrow touched the rest, seen by two"')

    def test_an_excluded_shot_without_reading(self):
        file = self.file("setup,speed_fps,excluded\na,,display blank\na,271,\na,272,\nb,273,\nb,274,\n")
        self.says(self.answered("compare", file), 'Left out of a: a shot without reading on line 2, "display blank"')

    def test_exclusions_of_set_ups_not_compared_stay_out(self):
        file = EXAMPLES / "three-bowstrings.csv"
        data = self.compared(file, "--setup", "16 strands", "--setup", "18 strands")
        self.assertNotIn("excluded_shot", codes(data))

    def test_set_ups_are_chosen_and_ordered(self):
        data = self.compared(EXAMPLES / "three-bowstrings.csv", "--setup", "18 strands", "--setup", "14 strands")
        self.assertEqual(data["inputs"]["setups"], ["18 strands", "14 strands"])
        self.assertEqual([gap["verdict"] for gap in data["result"]["gaps"]], ["faster"])
        self.assertNotIn("family", codes(data))

    def test_a_wide_sheet_with_decimal_commas_is_the_tall_one_with_points(self):
        wide = self.compared(EXAMPLES / "wide-decimal-comma.csv")
        tall = self.compared(self.sheet(["display: 0.1"], column="speed_mps",
                                        **{"14 strands": ["58.2", "57.9", "58.5", "58.2", "58.8"],
                                           "18 strands": ["57.3", "57.0", "57.0", "56.7", "57.6"]}))
        self.assertEqual(wide["result"], tall["result"])
        self.assertEqual(wide["result"]["unit"], "m/s")

    def test_a_wide_sheet_without_unit_is_fps_and_the_output_says_so(self):
        file = self.file("a,b\n271,274\n272,275\n273,274\n")
        self.says(self.answered("compare", file), "The sheet does not say its unit; fps was assumed")
        data = self.compared(file)
        self.assertEqual((data["result"]["unit"], data["inputs"]["sheet_unit"]), ("fps", "fps"))
        self.assertIn("unit_assumed", codes(data))
        said = self.compared(self.file("# unit: fps\na,b\n271,274\n272,275\n273,274\n"))
        self.assertNotIn("unit_assumed", codes(said))

    def test_unit_converts_what_is_printed_and_no_verdict(self):
        fps, mps = self.compared(BOWSTRINGS), self.compared(BOWSTRINGS, "--unit", "m/s")
        self.assertEqual(mps["result"]["unit"], "m/s")
        for key in ("mean", "sd", "min", "max", "spread"):
            for one, other in zip(fps["result"]["setups"], mps["result"]["setups"]):
                self.assertAlmostEqual(other[key], one[key] * FPS_IN_MPS, delta=1e-9)
        one, other = fps["result"]["gaps"][0], mps["result"]["gaps"][0]
        self.assertEqual(one["verdict"], other["verdict"])
        for end in ("lower", "upper"):
            self.assertAlmostEqual(other["interval"][end], one["interval"][end] * FPS_IN_MPS, delta=1e-9)
        self.assertEqual(one["methods"][0]["p_two_sided"], other["methods"][0]["p_two_sided"])
        self.says(self.answered("compare", BOWSTRINGS, "--unit", "m/s"), "The sheet is in fps; speeds are shown in m/s.")

    def test_margin_is_in_the_unit_printed_and_the_sheet_s_in_its_own(self):
        # 3 fps = 0.9144 m/s, exactly.
        gap = self.compared(BOWSTRINGS, "--unit", "m/s", "--margin", "0.9144")["result"]["gaps"][0]
        self.assertAlmostEqual(gap["margin"]["size"], 0.9144, delta=1e-12)
        same_in_fps = self.compared(BOWSTRINGS, "--margin", "3")["result"]["gaps"][0]
        self.assertEqual(gap["margin"]["position"], same_in_fps["margin"]["position"])
        file = self.sheet(["margin: 3"], a=[271] * 3, b=[271] * 3)
        gap = self.compared(file, "--unit", "m/s")["result"]["gaps"][0]
        self.assertAlmostEqual(gap["margin"]["size"], 0.9144, delta=1e-12)

    def test_display_step_from_decimals_line_and_option(self):
        plain = {"a": [271, 272, 270], "b": [275, 274, 276]}
        halves = self.sheet(["display: 0.5"], **plain)
        for file, words, step, code in ((self.sheet(name="plain.csv", **plain), (), 1, "display_from_decimals"),
                                        (halves, (), 0.5, "display_from_sheet"),
                                        (halves, ("--display", "0.1"), 0.1, "display_from_option"),
                                        (halves, ("--display", "1"), 1, "display_from_option")):
            data = self.compared(file, *words)
            self.assertAlmostEqual(data["result"]["display_step"], step, delta=1e-12)
            self.assertIn(code, codes(data))

    def test_a_reading_off_the_display_s_steps_is_a_mistake_of_the_sheet(self):
        ran = self.refused(3, "compare", self.sheet(a=["271.5", "272.0"], b=["274.0", "275.0"]), "--display", "1")
        self.complains(ran, "line 2", "271.5")

    def test_unknown_columns_and_lines_are_named(self):
        file = self.file("# weather: fair\nsetup,speed_fps,fletching\na,271,x\na,272,x\nb,274,x\nb,275,x\n")
        data = self.compared(file)
        texts = {note["code"]: note["text"] for note in data["notes"]}
        self.assertIn("fletching", texts["unknown_columns"])
        self.assertIn("line 1 (weather)", texts["unknown_lines"])

    def test_what_these_shots_could_see_is_the_power_of_welch_s_test(self):
        # n = 3, 3 and SDs 1, 2, by simulation of 400 000 tests at the gap told: power 0.8, standard error 0.0006.
        a, b = [270, 271, 272], [270, 272, 274]
        gap = self.compared(self.sheet(a=a, b=b))["result"]["gaps"][0]
        self.assertEqual(gap["detectable"]["power"], 0.8)
        draws, rng = 400_000, numpy.random.default_rng(1)
        x, y = rng.normal(0, 1, (draws, 3)), rng.normal(gap["detectable"]["gap"], 2, (draws, 3))
        p = scipy.stats.ttest_ind(x, y, axis=1, equal_var=False).pvalue
        self.assertAlmostEqual(numpy.mean(p < 0.05), 0.8, delta=0.004)


if __name__ == "__main__":
    main()
