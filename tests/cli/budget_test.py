#!/usr/bin/env python3
"""shotassay budget: from a file of inputs to a sentence, a table and JSON; formulas; every mistake at its place."""

import json
import math

from program import EXAMPLES, ProgramTest, codes, main, run

ENERGY = EXAMPLES / "kinetic-energy.json"
GAP = EXAMPLES / "gap-budget.json"


def one(formula, **values):
    """A budget of a formula whose inputs have these values, each known to 0.1 %."""
    inputs = [{"name": name, "value": value, "u": 1e-3 * abs(value) or 1e-3} for name, value in values.items()]
    return {"quantity": {"formula": formula}, "inputs": inputs}


class BudgetTest(ProgramTest):
    def budget(self, data, *words):
        file = self.file(data if isinstance(data, str) else json.dumps(data), "budget.json")
        return self.json_of(self.answered("budget", file, *words, "--json"))

    def wrong(self, data, *texts, lines=None):
        file = self.file(data if isinstance(data, str) else json.dumps(data), "budget.json")
        ran = self.refused(3, "budget", file)
        self.complains(ran, *texts)
        if lines is not None:
            self.assertEqual(len(ran.err.splitlines()), lines, str(ran))
        return ran


class Answers(BudgetTest):
    def test_the_energy_example_by_hand(self):
        data = self.json_of(self.answered("budget", ENERGY, "--json", "--digits", "1"))
        result = data["result"]
        mass, speeds, divisor = 402.3, [284, 286, 285, 284, 287, 285], 2 * 7000 * 9.80665 / 0.3048
        mean = sum(speeds) / 6
        scatter = math.sqrt(sum((v - mean) ** 2 for v in speeds) / 5 / 6)
        slope = 2 * mass * mean / divisor
        parts = {"arrow_mass": mean**2 / divisor * 0.5 / math.sqrt(3), "speed": slope * scatter,
                 "chronograph scale": slope * mean * 0.005 / math.sqrt(3), "display": slope * 0.5 / math.sqrt(3)}
        u = math.sqrt(sum(p * p for p in parts.values()))
        self.assertAlmostEqual(result["estimate"], mass * mean**2 / divisor, places=9)
        self.assertAlmostEqual(result["standard_uncertainty"], u, places=8)
        for entry in result["inputs"]:
            self.assertAlmostEqual(entry["contribution"], parts[entry["name"]], places=8)
            self.assertAlmostEqual(entry["share"], parts[entry["name"]] ** 2 / u**2, places=7)
        self.assertAlmostEqual(result["degrees_of_freedom"], 5 * (u / parts["speed"]) ** 4, places=4)
        self.assertAlmostEqual(result["expanded_uncertainty"], result["coverage_factor"] * u, places=8)

    def test_the_text_says_it_aloud_with_no_digit_too_many(self):
        ran = self.answered("budget", ENERGY)
        self.says(ran, "The kinetic energy is 72.63 ft·lbf, give or take 1.01 ft·lbf (k = 1.98, confidence 95 %).",
                  "Combined standard uncertainty 0.51 ft·lbf", '"chronograph scale" scales "speed"')
        self.fits(ran, 80)
        self.says(self.answered("budget", ENERGY, "--digits", "1"), "is 72.6 ft·lbf, give or take 1.0 ft·lbf")
        self.says(self.answered("budget", ENERGY, "--digits", "1", "--confidence", "0.99"), "confidence 99 %")

    def test_a_misspelt_name_is_told_the_right_one(self):
        self.wrong(one("arow_mass * 2", arrow_mass=1), "did you mean arrow_mass?")

    def test_a_gap_says_whose_it_is(self):
        ran = self.answered("budget", GAP, "--threads", "2")
        self.says(ran, "The gap is 4.20 fps, give or take", "the two set-ups as they were measured")
        data = self.json_of(self.answered("budget", GAP, "--json", "--digits", "1"))
        shares = {entry["name"]: entry["share"] for entry in data["result"]["inputs"]}
        self.assertLess(shares["chronograph scale"], 0.001)  # common to both: it nearly cancels
        self.assertAlmostEqual(sum(shares.values()), 1)
        open_gap = {"quantity": "gap", "inputs": [{"name": "from", "value": 281, "u": 2}, {"name": "to", "value": 283, "u": 2}]}
        self.assertIn("sign_open", codes(self.budget(open_gap)))

    def test_trials_take_over_where_the_law_fails(self):
        mass = {"quantity": {"formula": "(m + d) * (1 + (a - 1.2) * (1/w - 1/r)) - 100000", "name": "deviation"}, "unit": "mg",
                "inputs": [{"name": "m", "value": 100000, "u": 0.05}, {"name": "d", "value": 1.234, "u": 0.02},
                           {"name": "a", "value": 1.2, "half_width": 0.1}, {"name": "w", "value": 8000, "half_width": 1000},
                           {"name": "r", "value": 8000, "half_width": 50}]}
        data = self.budget(mass, "--digits", "1")
        self.assertEqual(data["result"]["preferred"], "monte_carlo")
        self.assertAlmostEqual(data["result"]["standard_uncertainty"], math.hypot(0.05, 0.02), places=7)
        # Exact figures of JCGM 101, 9.3: see s1-9.3 in data/reference/published.json.
        trials = data["result"]["monte_carlo"]
        self.assertAlmostEqual(trials["standard_uncertainty"], 0.0754797, delta=5 * trials["errors"]["standard_uncertainty"])
        self.assertAlmostEqual(trials["interval"]["lower"], 1.0844333, delta=5 * trials["errors"]["lower"])
        self.assertAlmostEqual(trials["interval"]["upper"], 1.3835668, delta=5 * trials["errors"]["upper"])
        ran = self.answered("budget", self.file(json.dumps(mass), "mass.json"), "--digits", "1")
        # 1.0844 and its error of up to 0.001 may be rounded either way.
        self.assertRegex(ran.words, r"^The deviation is 1\.23 mg: it lies between 1\.0[89] and 1\.38 mg \(Monte Carlo, ")
        self.says(ran, "That is the range to go by")

    def test_same_seed_same_bytes_for_any_number_of_threads(self):
        words = ("budget", GAP, "--json", "--digits", "1")
        first = self.answered(*words, "--threads", "1").out
        self.assertEqual(first, self.answered(*words, "--threads", "3").out)
        self.assertNotEqual(first, self.answered(*words, "--seed", "2").out.replace('"seed": 2', '"seed": 1'))

    def test_standard_input_and_a_page(self):
        text = GAP.read_text(encoding="utf-8")
        self.assertEqual(self.answered("budget", "-", "--digits", "1", stdin=text).out,
                         self.answered("budget", GAP, "--digits", "1").out)
        page = self.folder / "gap.html"
        self.answered("budget", GAP, "--digits", "1", "--report", page)
        self.assertIn("<title>Bowstring of 14 strands", page.read_text(encoding="utf-8"))
        self.complains(self.refused(2, "budget", GAP, "--report", page), "--force")
        self.answered("budget", GAP, "--digits", "1", "--report", page, "--force")

    def test_few_readings_have_no_u_in_the_trials_and_say_so(self):
        for readings, missing in (([281, 283, 282], {"no_variance"}), ([281, 283], {"no_variance", "no_average"})):
            data = self.budget({"quantity": "speed", "inputs": [{"name": "speed", "readings": readings}]}, "--digits", "1")
            self.assertIsNone(data["result"]["monte_carlo"]["standard_uncertainty"])
            self.assertEqual(data["result"]["monte_carlo"]["estimate"] is None, "no_average" in missing)
            self.assertTrue(missing <= set(codes(data)), codes(data))

    def test_names_are_shown_harmless(self):
        data = {"title": "a\u202eb", "quantity": "speed", "inputs": [{"name": "speed", "value": 1, "u": 1},
                {"name": "=x\u001b[1m", "adds_to": "speed", "u": 1}]}
        ran = self.answered("budget", self.file(json.dumps(data), "odd.json"))
        self.assertNotIn("\u202e", ran.out)
        self.assertNotIn("\x1b", ran.out)


class Formulas(BudgetTest):
    def test_values_are_those_of_python(self):
        for formula, values, python in (("-a^2", {"a": 3}, -9), ("2^a^2", {"a": 3}, 512), ("a-b-1", {"a": 7, "b": 2}, 4),
                                        ("a/b/2", {"a": 8, "b": 2}, 2), ("(a+b)*2", {"a": 1, "b": 2}, 6),
                                        ("log(a)", {"a": 10}, math.log(10)), ("exp(a)", {"a": 2}, math.exp(2)),
                                        ("sin(a)+cos(a)", {"a": 1}, math.sin(1) + math.cos(1)), ("tan(a)", {"a": 1}, math.tan(1)),
                                        ("sqrt(a)*pi", {"a": 4}, 2 * math.pi), ("1.5e2*a", {"a": 2}, 300),
                                        (".5*a", {"a": 2}, 1), ("min+e", {"min": 2, "e": 3}, 5), (" a\n* 2", {"a": 2}, 4)):
            with self.subTest(formula=formula):
                data = self.budget(one(formula, **values), "--digits", "1")
                self.assertAlmostEqual(data["result"]["estimate"], python, places=12)

    def test_anything_else_is_refused_at_its_character(self):
        for formula, place, message in (("a + 2(b", 6, "an operator is missing"), ("a $ b", 3, "is no part of a formula"),
                                        ("a × b", 3, "write * for times"), ("a² + b", 2, "write ^2"), ("é + a + b", 1, "no part"),
                                        ("a + bb", 5, "name of no input"), ("a + b + max(a)", 9, "name of no input"),
                                        ("sqrt a + b", 6, "after a function comes"), ("(a + b", 1, "never closed"),
                                        ("a + b)", 6, "never opened"), ("a + b *", 7, "nothing behind it"),
                                        ("* a + b", 1, "nothing before it"), ("a * -b", 5, "two signs in a row"),
                                        ("a + b + ()", 10, "nothing before it to close"), ("a b", 3, "operator is missing"),
                                        ("a && b", 3, "no part"), ("a = b", 3, "no part"), ("a ? b : 1", 3, "no part"),
                                        ("a + 2", 1, "does not use this input"), ("a, b", 2, "decimal point"),
                                        ("a + b + 2e", 10, "name of no input"), ("a + b + 0x1", 10, "name of no input")):
            with self.subTest(formula=formula):
                self.wrong(one(formula, a=1, b=2), "/quantity/formula", f"character {place} of the formula: ", message)

    def test_all_its_problems_are_told(self):
        self.wrong(one("a $ 2 b + c", a=1, b=2), "character 3", "character 7", "character 11", lines=3)

    def test_inputs_may_not_take_the_names_of_functions(self):
        self.wrong(one("pi + a", a=1, pi=3), "it means something in a formula")

    def test_a_formula_without_a_value_or_a_slope(self):
        self.complains(self.refused(1, "budget", self.file(json.dumps(one("log(a)", a=-1)))), "no finite value at the estimates")
        self.complains(self.refused(1, "budget", self.file(json.dumps(one("sqrt(a^2)", a=0)))), '"a"', "kink")
        data = self.budget({"quantity": {"formula": "sqrt(a)"}, "inputs": [{"name": "a", "value": 1, "u": 0.5}]})
        self.assertIsNone(data["result"]["monte_carlo"])
        self.assertIn("no_monte_carlo", codes(data))


class Mistakes(BudgetTest):
    def test_places_are_told(self):
        self.wrong('{"quantity": "speed",\n "inputs": [{"name": "speed",\n "value": "x", "u": 1}]}',
                   'budget.json: line 3, /inputs/0/value: found "x": must be a number', lines=1)
        self.wrong('{"quantity": "speed",\n "inputs": [ }', "line 2, column 14", "is no JSON", lines=1)

    def test_as_json_too(self):
        ran = run("budget", self.file('{"quantity": "speed", "inputs": [{"name": "speed", "value": 1, "u": -1}]}'), "--json")
        problems = self.json_of(self.ended(ran, 3))["problems"]
        self.assertEqual([(p["line"], p["column"], p["found"]) for p in problems], [(1, "/inputs/0/u", "-1")])

    def test_correlations_that_contradict(self):
        data = one("a + b + c", a=1, b=1, c=1) | {"correlations": [["a", "b", 0.9], ["a", "c", 0.9], ["b", "c", -0.9]]}
        self.wrong(data, "/correlations", "contradict each other", lines=1)

    def test_nothing_uncertain(self):
        file = self.file('{"quantity": "speed", "inputs": [{"name": "speed", "value": 1, "u": 0}]}')
        self.complains(self.refused(1, "budget", file), "nothing is uncertain")

    def test_options(self):
        for words, message in ((("--digits", "3"), "whole number from 1 to 2"), (("--confidence", "95"), "write 0.95"),
                               (("--seed", "-1"), "whole number"), (("--threads", "0"), "whole number"),
                               (("--force",), "goes with --report"), (("--display", "1"), "there is none of this name")):
            self.complains(self.refused(2, "budget", GAP, *words), message)
        self.complains(self.refused(2, "budget"), "name the file to read")
        self.complains(self.refused(3, "budget", self.folder / "none.json"), "there is no such file")


if __name__ == "__main__":
    main()
