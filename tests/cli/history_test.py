#!/usr/bin/env python3
"""compare --history: what earlier tests add, its numbers against limma's, what is refused, what is said."""

import math
import os

import numpy
import scipy.stats

from program import EXAMPLES, ProgramTest, codes, main, method

THREE, SPRING, SUMMER = (EXAMPLES / f"{name}.csv" for name in ("three-shots", "earlier-spring", "earlier-summer"))
BOTH = ("--history", SPRING, "--history", SUMMER)
# R 4.2, limma 3.54: f <- fitFDist(variances of the 12 strings, 3); s2 <- (2*var(a) + 2*var(b))/4;
# sqrt((f$df2*f$scale + 4*s2)/(f$df2 + 4)), t and qt(.975, f$df2 + 4) on it; pf(s2/f$scale, 4, f$df2, lower = FALSE).
# No term for rounding acts: neither set-up is tight, no string equal, and d0 is below the strings' 36.
LIMMA = {"d0": 25.6268169081198, "s0": 1.27299929901548, "sd": 1.29296593335251, "t": -2.84171030295278,
         "p": 0.00804205505880969, "half": 2.15717104945454, "f": 0.321186708293388}
WELCH = 3.54819721948713  # R: half of t.test(b, a)$conf.int


def rows(**strings):
    return "setup,speed_fps\n" + "".join(f"{name},{reading}\n" for name, shots in strings.items() for reading in shots)


def alike(count, scale=1):
    """So many strings of four shots, each with the SD 1.29 times scale."""
    return rows(**{f"s{i}": [190 + scale * x for x in (0, 1, 2, 3)] for i in range(count)})


class Numbers(ProgramTest):
    def test_the_example_agrees_with_limma(self):
        data = self.compared(THREE, *BOTH)
        gap, history = data["result"]["gaps"][0], data["result"]["history"]
        found = method(gap, "moderated")
        close = lambda x, name: self.assertAlmostEqual(x, LIMMA[name], delta=1e-8 * abs(LIMMA[name]), msg=name)
        close(history["prior_sd"], "s0")
        close(history["prior_degrees_of_freedom"], "d0")
        close(found["degrees_of_freedom"] - 4, "d0")
        close(found["t"], "t")
        close(found["p_two_sided"], "p")
        close((found["upper"] - found["lower"]) / 2, "half")
        self.assertAlmostEqual((found["upper"] + found["lower"]) / 2, -3, delta=1e-12)
        close(found["history"]["moderated_sd"], "sd")
        close(found["history"]["p_scatter"], "f")
        self.assertAlmostEqual(found["history"]["pooled_sd"], math.sqrt(2), delta=1e-12)  # (2 + 6)/4
        self.assertEqual(found["history"]["pooled_degrees_of_freedom"], 4)
        self.assertIs(found["history"]["history_fits"], True)
        self.assertEqual({key: history[key] for key in ("strings", "shots", "sheets", "wild", "single_shots", "all_equal",
                                                        "degrees_of_freedom_of_strings")},
                         {"strings": 12, "shots": 48, "sheets": 2, "wild": None, "single_shots": 0, "all_equal": 0,
                          "degrees_of_freedom_of_strings": 36})

    def test_three_shots_a_side_lose_a_third_of_their_range_and_the_verdict_stays(self):
        gap = self.compared(THREE, *BOTH)["result"]["gaps"][0]
        plain = self.compared(THREE)["result"]["gaps"][0]
        half = lambda m: (m["upper"] - m["lower"]) / 2
        self.assertAlmostEqual(half(gap["interval"]), WELCH, delta=1e-9)
        self.assertLess(half(method(gap, "moderated")), 2 / 3 * half(gap["interval"]))
        self.assertLess(method(gap, "moderated")["upper"], 0)
        self.assertEqual((gap["verdict"], gap["interval"]), ("open", plain["interval"]))
        self.assertEqual((gap["detectable"], gap["next_tests"], gap["scope"]),
                         (plain["detectable"], plain["next_tests"], plain["scope"]))

    def test_three_set_ups_are_one_family_on_one_sd(self):
        # R: s2 of three set-ups on 6, qtukey(.95, 3, d0 + 6)/sqrt(2), ptukey; d0 and s0 as in LIMMA.
        shots = {"a": [191, 192, 190], "b": [189, 186, 189], "c": [190, 192, 193]}
        gap = self.compared(self.sheet(**shots), *BOTH)["result"]["gaps"][0]
        found = method(gap, "moderated")
        self.assertAlmostEqual(found["history"]["moderated_sd"], 1.3090443360744, delta=1e-10)
        self.assertAlmostEqual((found["upper"] - found["lower"]) / 2, 2.6280042654837, delta=1e-6)
        self.assertAlmostEqual(found["p_two_sided"], 0.0224962744633, delta=1e-6)
        self.assertEqual(found["level"], 0.95)
        # Holm's p starts from each pair's own, that of the example above for the first pair.
        pairs = self.compared(self.sheet(**shots), *BOTH)["result"]["gaps"]
        own = [method(self.compared(self.sheet(**{x: shots[x], y: shots[y]}), *BOTH)["result"]["gaps"][0],
                      "moderated")["p_two_sided"] for x, y in ("ab", "ac", "bc")]
        self.assertAlmostEqual(own[0], LIMMA["p"], delta=1e-9)
        largest = 0
        for rank, i in enumerate(numpy.argsort(own)):
            largest = min(1, max(largest, own[i] * (3 - rank)))
            self.assertAlmostEqual(method(pairs[i], "moderated")["p_holm"], largest, delta=1e-12)

    def test_a_history_in_other_units_tells_the_same(self):
        # Every reading of the history in m/s, exactly: 0.3048 a foot. Its display then shows a step of 0.3048 too.
        metres = []
        for file in (SPRING, SUMMER):
            lines = file.read_text(encoding="utf-8").splitlines()
            text = ["# display: 0.3048", "session,setup,speed_mps"]
            for line in lines[3:]:
                session, setup, reading = line.split(",")
                text.append(f"{session},{setup},{int(reading) * 3048 / 10000:.4f}")
            metres.append(self.file("\n".join(text) + "\n", file.name))
        feet = self.compared(THREE, *BOTH)["result"]
        data = self.compared(THREE, "--history", metres[0], "--history", metres[1])
        self.assertAlmostEqual(data["result"]["history"]["prior_sd"], feet["history"]["prior_sd"], delta=1e-9)
        found, same = (method(r["gaps"][0], "moderated") for r in (data["result"], feet))
        for key in ("lower", "upper", "p_two_sided"):
            self.assertAlmostEqual(found[key], same[key], delta=1e-9)
        self.assertIn("history_display", codes(data))

    def test_unit_converts_the_history_s_speeds(self):
        feet, metres = (self.compared(THREE, *BOTH, "--unit", unit)["result"] for unit in ("fps", "m/s"))
        self.assertAlmostEqual(metres["history"]["prior_sd"], 0.3048 * feet["history"]["prior_sd"], delta=1e-12)
        a, b = method(metres["gaps"][0], "moderated"), method(feet["gaps"][0], "moderated")
        for key in ("pooled_sd", "moderated_sd"):
            self.assertAlmostEqual(a["history"][key], 0.3048 * b["history"][key], delta=1e-12)
        self.assertEqual(a["history"]["p_scatter"], b["history"]["p_scatter"])

    def test_display_speaks_of_the_test_alone(self):
        # On a display of half steps nothing is taken off a history of whole ones.
        data = self.compared(THREE, *BOTH, "--display", "0.5")
        self.assertAlmostEqual(data["result"]["history"]["prior_sd"], LIMMA["s0"], delta=1e-8)
        # A history on tenths, read on a display of whole steps: what that adds is added. Four shots of SD sqrt(5/3).
        tenths = self.file(rows(a=["190.0", "191.0", "192.0", "193.0"], b=["190.0", "191.0", "192.0", "193.0"],
                                c=["190.1", "191.1", "192.1", "193.1"]))
        data = self.compared(THREE, "--history", tenths)
        self.assertAlmostEqual(data["result"]["history"]["prior_sd"] ** 2, 5 / 3 + (1 - 0.01) / 12, delta=1e-12)
        self.assertEqual(data["result"]["history"]["prior_degrees_of_freedom"], 9)  # d0 infinite, D = 9


class Told(ProgramTest):
    def test_the_answer_says_what_it_rests_on_and_what_the_range_is_without(self):
        ran = self.answered("compare", THREE, *BOTH)
        self.says(ran, "What earlier tests add How shots scatter is better known with 12 earlier strings of shots (48 shots on "
                  "2 sheets).", "without them: ±3.5 fps, from −6.5 to +0.5 fps", "with them: ±2.2 fps, from −5.2 to −0.8 fps",
                  "By the second range 18 strands would be slower. The verdict rests on the first range",
                  "gives an SD of 1.27 fps with a weight of 26 degrees of freedom; these shots show 1.41 fps on 4",
                  "the same shooter, the same kind of equipment", "These shots do not settle")
        found = codes(self.compared(THREE, *BOTH))
        for code in ("history", "history_assumed"):
            self.assertIn(code, found)
        for code in ("history_set_aside", "history_few", "history_wild", "history_left_out", "history_all_equal",
                     "history_unit_assumed", "history_display", "history_display_limits"):
            self.assertNotIn(code, found)

    def test_without_a_history_nothing_is_said_of_one(self):
        data = self.compared(THREE, "--all-methods")
        self.assertIsNone(data["result"]["history"])
        self.assertEqual(data["inputs"]["history"], [])
        self.assertNotIn("moderated", [m["method"] for m in data["result"]["gaps"][0]["methods"]])
        self.assertFalse([code for code in codes(data) if code.startswith("history")])
        self.assertNotIn("earlier", self.answered("compare", THREE).out)

    def test_the_method_comes_with_the_history_once_and_beside_others(self):
        for words in ((), ("--method", "moderated"), ("--method", "moderated", "--method", "welch"), ("--all-methods",)):
            data = self.compared(THREE, *BOTH, *words)
            names = [m["method"] for m in data["result"]["gaps"][0]["methods"]]
            self.assertEqual((names[0], names.count("moderated")), ("rounding_aware", 1))
            self.assertEqual(data["inputs"]["methods"].count("moderated"), 1)
            self.assertEqual(data["inputs"]["history"], [str(SPRING), str(SUMMER)])

    def test_shots_that_scatter_more_set_the_history_aside_plainly(self):
        # Pooled: s2 = 36 on 4, t(0.975; 4) sqrt(36 · 2/3).
        file = self.sheet(a=[185, 191, 197], b=[182, 188, 194])
        data = self.compared(file, *BOTH)
        found = method(data["result"]["gaps"][0], "moderated")
        self.assertIs(found["history"]["history_fits"], False)
        self.assertEqual(found["degrees_of_freedom"], 4)
        self.assertAlmostEqual((found["upper"] - found["lower"]) / 2, scipy.stats.t.ppf(0.975, 4) * math.sqrt(24), delta=1e-9)
        self.assertAlmostEqual(found["history"]["p_scatter"], scipy.stats.f.sf(36 / LIMMA["s0"] ** 2, 4, LIMMA["d0"]),
                               delta=1e-12)
        self.assertIn("history_set_aside", codes(data))
        self.assertNotIn("history_assumed", codes(data))
        ran = self.answered("compare", file, *BOTH)
        self.says(ran, "Nothing: these shots scatter more than 12 earlier strings", "so the history was set aside",
                  "these shots alone, one SD:", "counts for nothing")
        self.assertNotIn("with them", ran.words)

    def test_a_wild_string_is_named_and_left_out(self):
        text = alike(5) + "loose nock,150\nloose nock,190\nloose nock,230\n"
        data = self.compared(THREE, "--history", self.file(text, "old days.csv"))
        history = data["result"]["history"]
        self.assertEqual(history["wild"], {"sheet": str(self.folder / "old days.csv"), "setup": "loose nock", "bow": None,
                                           "session": None, "shots": 3, "sd": 40})
        self.assertEqual((history["strings"], history["shots"], history["degrees_of_freedom_of_strings"]), (5, 20, 15))
        self.assertAlmostEqual(history["prior_sd"], math.sqrt(5 / 3), delta=1e-12)
        note = next(n["text"] for n in data["notes"] if n["code"] == "history_wild")
        self.assertIn("loose nock", note)
        self.assertIn("old days.csv", note)
        self.assertIn("history_few", codes(data))

    def test_what_else_is_left_out_or_lifted_is_counted(self):
        text = ("setup,speed_fps,excluded\na,190,\na,192,\nb,188,\nb,188,\nb,188,\nc,187,\nc,189,\nc,150,fell short\n"
                "d,200,\n")
        data = self.compared(THREE, "--history", self.file(text))
        history = data["result"]["history"]
        self.assertEqual((history["strings"], history["single_shots"], history["all_equal"]), (3, 1, 1))
        notes = {n["code"]: n["text"] for n in data["notes"]}
        self.assertIn("1 shot that the sheets exclude and 1 string of one shot", notes["history_left_out"])
        self.assertIn("1 shows equal readings only", notes["history_all_equal"])

    def test_a_unit_that_was_assumed_is_told(self):
        wide = self.file("a,b,c\n190,191,188\n192,191,189\n", "wide.csv")
        notes = {n["code"]: n["text"] for n in self.compared(THREE, "--history", wide)["notes"]}
        self.assertIn("wide.csv; fps was assumed", notes["history_unit_assumed"])

    def test_a_display_that_decides_is_not_narrowed(self):
        data = self.compared(self.sheet(a=[271] * 6, b=[274] * 6), "--history", self.file(
            rows(**{f"s{i}": [190] * 5 + [191] for i in range(12)}), "old.csv"))
        self.assertIn("history_display_limits", codes(data))
        gap = data["result"]["gaps"][0]
        self.assertEqual(method(gap, "moderated")["upper"], gap["interval"]["upper"])  # the edges, one step

    def test_fewer_than_three_strings_leave_the_rest_answered(self):
        few = self.file(rows(a=[190, 192], b=[187, 189], c=[200]), "few.csv")
        data = self.compared(THREE, "--history", few)
        gap = data["result"]["gaps"][0]
        self.assertEqual((gap["verdict"], gap["interval"]["lower"] is None), ("open", False))
        self.assertEqual((method(gap, "moderated")["lower"], method(gap, "moderated")["upper"]), (None, None))
        self.assertIsNone(data["result"]["history"])
        text = next(n["text"] for n in data["notes"] if n["code"] == "no_interval")
        self.assertTrue(text.startswith("moderated: 1 earlier sheet holds 2 strings"), text)
        self.assertNotIn("What earlier tests add", self.answered("compare", THREE, "--history", few).out)

    def test_several_bows_or_sessions_are_more_than_the_scatter_of_one_string(self):
        for sheets in ((EXAMPLES / "three-strings-a-kind.csv",), (EXAMPLES / "saturday.csv", EXAMPLES / "sunday.csv")):
            data = self.compared(*sheets, *BOTH)
            gap = data["result"]["gaps"][0]
            self.assertIsNone(method(gap, "moderated")["lower"])
            self.assertEqual(gap["interval"], self.compared(*sheets)["result"]["gaps"][0]["interval"])
            self.assertTrue(any("several bows or sessions" in n["text"] for n in data["notes"]))

    def test_it_reads_at_forty_columns(self):
        for file in (THREE, EXAMPLES / "three-bowstrings.csv"):
            for width in (40, 80):
                self.fits(self.answered("compare", file, *BOTH, width=width), width)


class Refused(ProgramTest):
    def test_the_method_without_a_history(self):
        self.complains(self.refused(2, "compare", THREE, "--method", "moderated"), "--method moderated", "--history FILE")

    def test_standard_input_is_no_history(self):
        self.complains(self.refused(2, "compare", THREE, "--history", "-"), "--history -", "files")

    def test_the_sheet_itself_by_every_path(self):
        text = THREE.read_text(encoding="utf-8")
        link = self.folder / "link.csv"
        os.symlink(THREE, link)
        others = (THREE, EXAMPLES / ".." / "examples" / THREE.name, link, self.file(text, "copy.csv"),
                  self.file(text.replace("\n", "\r\n"), "dos.csv"))
        for other in others:
            self.complains(self.refused(2, "compare", THREE, "--history", SPRING, "--history", other),
                           f"--history {other}: holds the shots that are compared")
        self.complains(self.refused(2, "compare", "-", "--history", THREE, stdin=text), "holds the shots that are compared")
        self.complains(self.refused(2, "compare", EXAMPLES / "saturday.csv", EXAMPLES / "sunday.csv", "--history",
                                    EXAMPLES / "sunday.csv"), "holds the shots that are compared")

    def test_a_sheet_named_twice(self):
        self.complains(self.refused(2, "compare", THREE, *BOTH, "--history", SPRING),
                       f"holds the same shots as --history {SPRING}")

    def test_every_problem_of_every_file_at_once(self):
        bad = self.file("setup,speed_fps\na,19o\na,191\n", "bad.csv")
        fast = self.file("setup,speed_fps\na,1910\na,1911\n", "fast.csv")
        own = self.file("setup,speed_fps\na,x\nb,1\n", "own.csv")
        ran = self.refused(3, "compare", own, "--history", bad, "--history", self.folder / "none.csv", "--history", fast)
        self.complains(ran, f"{own}: line 2", f"{bad}: line 2", "19o", f"{self.folder / 'none.csv'}: there is no such file",
                       f"{fast}: line 2", "--any-speed accepts it")
        self.complains(self.refused(2, "compare", THREE, "--history", ""), "--history: its value is empty")

    def test_any_speed_is_for_earlier_sheets_too(self):
        fast = self.file(rows(a=[1910, 1911], b=[1900, 1902], c=[1905, 1907]), "fast.csv")
        self.refused(3, "compare", THREE, "--history", fast)
        self.answered("compare", THREE, "--history", fast, "--any-speed")


if __name__ == "__main__":
    main()
