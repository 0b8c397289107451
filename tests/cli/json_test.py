#!/usr/bin/env python3
"""JSON: held against the schemas, agreeing with the text, numbers that survive, failures too."""

import math
import re

from program import BOWSTRINGS, EXAMPLES, ROOT, ProgramTest, codes, main, method, run, schema, strict


def numbers_of(data):
    if isinstance(data, bool) or data is None or isinstance(data, str):
        return
    if isinstance(data, (int, float)):
        yield data
        return
    for value in data.values() if isinstance(data, dict) else data:
        yield from numbers_of(value)


class Compared(ProgramTest):
    SHEETS = ({"a": [271] * 3, "b": [274] * 3}, {"a": [271], "b": [274, 275]}, {"a": [271, 272], "b": [274, 276, 277]},
              {"a": ["57.3", "57.0"], "b": ["58.1", "58.8", "58.2"]}, {"a": [271] * 4, "b": [271] * 4},
              {"a": [271, 273, 270], "b": [272, 271, 275], "c": [280, 282, 283], "d": [271, 271, 271]},
              {"a": [271], "b": [275], "c": [279]}, {"a": [271, 280], "b": [271, 271]})

    def test_every_answer_is_valid(self):
        for setups in self.SHEETS:
            for words in ((), ("--margin", "2"), ("--all-methods",), ("--all-methods", "--margin", "0.5", "--unit", "m/s"),
                          ("--all-methods", "--resamples", "1000"), ("--confidence", "0.5"), ("--confidence", "0.9999")):
                with self.subTest(setups=setups, words=words):
                    lonely = any(len(shots) < 2 for shots in setups.values())
                    data = self.compared(self.sheet(**setups), *words, status=1 if lonely else 0)
                    for number in numbers_of(data):
                        self.assertTrue(math.isfinite(number))

    def test_absent_values_have_their_note(self):
        for setups in self.SHEETS:
            lonely = any(len(shots) < 2 for shots in setups.values())
            data = self.compared(self.sheet(**setups), "--all-methods", status=1 if lonely else 0)
            found = codes(data)
            for setup in data["result"]["setups"]:
                if setup["sd"] is None:
                    self.assertIn("one_shot", found)
            for gap in data["result"]["gaps"]:
                if gap["interval"] is None:
                    self.assertIn("no_interval", found)
                for m in gap["methods"]:
                    if m["lower"] is None or m["upper"] is None:
                        lead = [n["text"] for n in data["notes"] if n["code"] in ("no_interval", "no_finite_limit")]
                        self.assertTrue(any(text.startswith(m["method"]) for text in lead), (m, lead))

    def test_numbers_are_written_as_short_as_they_round_trip(self):
        text = self.answered("compare", BOWSTRINGS, "--all-methods", "--json").out
        for written in re.findall(r": (-?\d[\d.e+-]*)", text):
            self.assertEqual(float(written), float(repr(float(written))))
            self.assertLessEqual(len(re.sub(r"e.*|\D", "", written).strip("0")), 17, written)
        mean = strict(text)["result"]["setups"][0]["mean"]
        self.assertEqual(mean, (191 + 190 + 192 + 191 + 193) / 5)

    def test_it_agrees_with_the_text(self):
        for words in ((), ("--margin", "3"), ("--confidence", "0.9"), ("--unit", "m/s")):
            data, ran = self.compared(BOWSTRINGS, *words), self.answered("compare", BOWSTRINGS, *words)
            gap, decimals = data["result"]["gaps"][0], 2 if "m/s" in words else 1
            self.says(ran, f"{abs(gap['difference']):.{decimals}f} {data['result']['unit']} slower")
            minus = lambda x: f"{x:.{decimals}f}".replace("-", "−")
            self.says(ran, f"from {minus(gap['interval']['lower'])} to {minus(gap['interval']['upper'])}")
            for setup in data["result"]["setups"]:
                self.says(ran, f"{setup['name']}: {setup['shots']} shots, average {setup['mean']:.{decimals}f}")

    def test_notes_are_those_of_the_text(self):
        for file in (BOWSTRINGS, EXAMPLES / "three-bowstrings.csv", EXAMPLES / "wide-decimal-comma.csv"):
            data, ran = self.compared(file, "--all-methods"), self.answered("compare", file, "--all-methods")
            self.says(ran, *(note["text"] for note in data["notes"]))

    def test_inputs_are_those_understood(self):
        inputs = self.compared(BOWSTRINGS, "--unit", "m/s", "--margin", "1", "--method", "welch", "--confidence", "0.9",
                               "--setup", "18 strands", "--setup", "14 strands", "--method", "bootstrap_t",
                               "--resamples", "1e3", "--seed", "7")["inputs"]
        self.assertAlmostEqual(inputs.pop("display_step"), 0.3048, delta=1e-12)
        self.assertAlmostEqual(inputs.pop("margin"), 1, delta=1e-12)
        self.assertEqual(inputs, {"sheet": str(BOWSTRINGS), "sheets": [str(BOWSTRINGS)], "history": [], "bow_sd": None,
                                  "setups": ["18 strands", "14 strands"], "confidence": 0.9, "budget": False,
                                  "accuracy": None, "setting_sd": None, "per_lbf": None, "per_gr": None,
                                  "per_inch": None, "arrows": None, "bow_type": None,
                                  "methods": ["rounding_aware", "welch", "bootstrap_t"], "sheet_unit": "fps", "any_speed": False,
                                  "resamples": 1000, "seed": 7, "report": None, "svg": None})
        inputs = self.compared(BOWSTRINGS, "--seed", "7")["inputs"]
        self.assertEqual((inputs["resamples"], inputs["seed"], inputs["margin"]), (None, None, None))

    def test_the_deciding_interval_stands_first_among_the_methods(self):
        gap = self.compared(BOWSTRINGS, "--all-methods")["result"]["gaps"][0]
        first = {key: gap["methods"][0][key] for key in gap["interval"]}
        self.assertEqual(first, gap["interval"])
        self.assertEqual(len({m["method"] for m in gap["methods"]}), len(gap["methods"]))

    def test_permutation_of_three_and_three_has_no_interval_and_p_of_a_tenth(self):
        # 20 arrangements, 2 of them as far apart as 271, 272, 273 against 274, 275, 276.
        data = self.compared(self.sheet(a=[271, 272, 273], b=[274, 275, 276]), "--method", "permutation")
        found = method(data["result"]["gaps"][0], "permutation")
        self.assertAlmostEqual(found["p_two_sided"], 0.1, delta=1e-12)
        self.assertEqual((found["lower"], found["upper"]), (None, None))
        self.assertTrue(any("too few ways" in note["text"] for note in data["notes"]))

    def test_plain_welch_of_readings_all_equal_is_absent_and_not_of_width_0(self):
        data = self.compared(self.sheet(a=[271] * 3, b=[274] * 3), "--all-methods")
        for name in ("welch", "pooled"):
            found = method(data["result"]["gaps"][0], name)
            self.assertEqual((found["lower"], found["upper"]), (None, None))
            self.assertNotIn("p_two_sided", found)


class Failures(ProgramTest):
    def failed(self, status, *words, **options):
        ran = self.ended(run(*words, "--json", **options), status)
        data = self.json_of(ran, "failure")
        self.assertNotEqual(ran.err, "")
        for problem in data["problems"]:
            self.assertIn(problem["message"], ran.err)
        return data

    def test_wrong_use(self):
        for words in (("compare",), ("compare", BOWSTRINGS, "--confidence", "95"), ("compare", BOWSTRINGS, "--marign", "3"),
                      ("compare", "--json", BOWSTRINGS, "--margin"), ("plan", "--sd", "1.2"), ("compare", BOWSTRINGS, "--bow-sd", "0")):
            with self.subTest(words=words):
                data = self.failed(2, *words)
                self.assertEqual(data["command"], words[0])
                self.assertEqual({p["line"] for p in data["problems"]}, {None})

    def test_wrong_command(self):
        self.failed(2, "compair", BOWSTRINGS)

    def test_bad_file_with_every_place(self):
        data = self.failed(3, "compare", EXAMPLES / "problems.csv")
        places = [(p["line"], p["column"], p["found"]) for p in data["problems"]]
        self.assertIn((5, "speed_fps", "18l"), places)
        self.assertIn((6, "setup", "18 Strands"), places)
        self.assertIn((8, "order", "4"), places)
        self.assertEqual({p["file"] for p in data["problems"]}, {str(EXAMPLES / "problems.csv")})
        self.assertEqual([place[0] for place in places], sorted(place[0] for place in places))

    def test_no_such_file(self):
        data = self.failed(3, "compare", self.folder / "none.csv")
        self.assertEqual(data["problems"][0]["file"], str(self.folder / "none.csv"))

    def test_standard_input(self):
        data = self.failed(3, "compare", "-", stdin="setup,speed_fps\na,x\n")
        self.assertEqual((data["problems"][0]["file"], data["problems"][0]["line"]), ("standard input", 2))

    def test_no_answer(self):
        self.failed(1, "compare", self.sheet(a=[271, 272]))
        self.failed(1, "compare", self.sheet(a=[271, 272], b=[273, 274]), "--method", "bootstrap_t", "--max-operations", "1")
        self.failed(1, "plan", "--resolve", "0.1", "--sd", "50")

    def test_text_found_is_told_as_it_stands(self):
        for found in ("18l", "=1+1", "<b>", "2'71", "{}"):
            data = self.failed(3, "compare", self.file(f"setup,speed_fps\na,{found}\nb,272\n"))
            self.assertEqual(data["problems"][0]["found"], found)

    def test_one_shot_is_an_answer_with_a_reason_and_not_a_failure(self):
        ran = self.ended(run("compare", self.sheet(a=[271], b=[272, 273]), "--json"), 1)
        self.assertEqual(self.json_of(ran, "compare")["result"]["setups"][0]["shots"], 1)
        self.assertIn("a has one shot", ran.err)


class Documented(ProgramTest):
    """docs/reference/json.md names what the schemas allow, and the schemas what the code can say."""

    PAGE = (ROOT / "docs/reference/json.md").read_text(encoding="utf-8")
    OPTIONS = (ROOT / "docs/reference/commands.md").read_text(encoding="utf-8")

    def test_every_key_stands_in_the_page(self):
        def keys(node):
            if isinstance(node, dict):
                for name, value in node.get("properties", {}).items():
                    yield name
                    yield from keys(value)
                for name, value in node.items():
                    if name != "properties":
                        yield from keys(value)
            elif isinstance(node, list):
                for value in node:
                    yield from keys(value)

        # The inputs of a plan are its options, which have their own page.
        options = {key for key in schema("plan")["properties"]["inputs"]["properties"]
                   if re.search(f"`--{key.replace('_', '-')}\\b", self.OPTIONS)}
        for name in ("compare", "plan", "audit", "clinic", "failure"):
            for key in set(keys(schema(name))) - (options if name == "plan" else set()):
                self.assertTrue(f"`{key}`" in self.PAGE, f"{key} of {name}")

    def test_every_note_stands_in_the_page_and_in_its_schema(self):
        narrative = ROOT / "lib/src/narrative"
        comparison = (narrative / "comparison_notes.cpp").read_text(encoding="utf-8")
        first_arguments = " ".join(re.findall(r"\badd\(([^,]*),", comparison))
        plan = "".join((narrative / f"{name}.cpp").read_text(encoding="utf-8")
                       for name in ("plan", "plan_words", "bow_plan", "split_plan"))
        functions = re.findall(r"^(?:std::vector<Note>|Note) [\w:]+\(.*?^}", plan, re.DOTALL | re.MULTILINE)
        said = {"compare": set(re.findall(r'"(\w+)"', first_arguments)),
                "plan": set(re.findall(r'\{"([a-z_]+)",', "".join(functions)))}
        note = {"compare": schema("compare")["$defs"]["note"], "plan": schema("plan")["properties"]["notes"]["items"]}
        for command, codes_said in said.items():
            self.assertEqual(codes_said, set(note[command]["properties"]["code"]["enum"]))
            for code in codes_said:
                self.assertIn(f"`{code}`", self.PAGE)


if __name__ == "__main__":
    main()
