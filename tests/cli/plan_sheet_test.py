#!/usr/bin/env python3
"""What plan writes: the sheet that compare reads, the page to print, and files that are never half or in the way."""

import csv
import html.parser
import itertools
import math
import os
import re
import unittest

import numpy

from program import ROOT, ProgramTest, codes, main, needs_bare_program, run
from rounded_tests import half_width, spreads

PLAN = ("plan", "--resolve", "3", "--sd", "1.2")  # 5 shots with each
WARM_UP = "warm-up, declared beforehand"


class Written(ProgramTest):
    """A sheet as Python's csv module reads it."""

    def plan(self, *words, name="s.csv", plan=PLAN):
        self.path = self.folder / name
        return self.answered(*plan, "--sheet", self.path, *words)

    def read(self, path=None):
        with open(path or self.path, newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
        width = max(map(len, rows))
        start = next(i for i, row in enumerate(rows) if not row[0].startswith("#"))
        self.assertEqual({len(row) for row in rows[start:]}, {width})
        # Outside quotes a separator in a # line would make cells of it.
        self.head = [tuple(part.strip() for part in row[0][1:].split(":", 1)) for row in rows[:start]]
        self.assertEqual({len(row) for row in rows[:start]}, {1})
        return [dict(zip(rows[start], row)) for row in rows[start + 1:]]

    def values(self, key):
        return [value for found, value in self.head if found == key]

    def counting(self, rows):
        return [row for row in rows if not row["excluded"] and row["round"] not in ("start", "middle", "end")]

    def filled(self, readings, more=(), name="filled.csv", path=None):
        """The sheet with readings written into it in firing order, as long as a set-up's last; and rows added."""
        path = path or self.path
        left = {setup: list(values) for setup, values in readings.items()}
        with open(path, newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
        start = next(i for i, row in enumerate(rows) if not row[0].startswith("#"))
        header = rows[start]
        setup, excluded = header.index("setup"), header.index("excluded")
        speed = next(i for i, title in enumerate(header) if title.startswith("speed_"))
        for row in rows[start + 1:]:
            if not row[excluded] and left.get(row[setup]):
                row[speed] = str(left[row[setup]].pop(0))
        order = int(rows[-1][header.index("order")])
        for added, (who, reading) in enumerate(more, start=1):
            row = [""] * len(header)
            row[header.index("order")], row[setup], row[speed] = str(order + added), who, str(reading)
            rows.append(row)
        out = self.folder / name
        with open(out, "w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows(rows)
        return out


class Sheet(Written):
    def test_it_holds_what_compare_and_a_reader_must_know(self):
        self.plan("--title", "14 against 18 strands", "--setup", "14 strands", "--setup", "18 strands", "--margin", "1.5",
                  "--confidence", "0.9", "--power", "0.85", "--seed", "7")
        rows = self.read()
        self.assertEqual([key for key, _ in self.head], ["title", "date", "place", "archer", "display", "margin", "plan",
                                                         "confidence", "power", "planned shots", "planned shots", "seed"])
        head = dict(self.head)
        self.assertEqual({key: head[key] for key in ("title", "display", "margin", "plan", "confidence", "power", "seed")},
                         {"title": "14 against 18 strands", "display": "1", "margin": "1.5", "plan": "shotassay 1",
                          "confidence": "0.9", "power": "0.85", "seed": "7"})
        shots = len(rows) // 2
        self.assertEqual(sorted(self.values("planned shots")), [f"{shots} of 14 strands", f"{shots} of 18 strands"])
        self.assertEqual(list(rows[0]), ["order", "round", "setup", "speed_fps", "draw_weight_lbf", "excluded", "note"])
        self.assertEqual([row["order"] for row in rows], [str(i) for i in range(1, 2 * shots + 1)])
        for row in rows:
            self.assertEqual([row[key] for key in ("speed_fps", "draw_weight_lbf", "excluded", "note")], [""] * 4)

    def test_the_order_in_json_is_that_of_the_sheet(self):
        words = ("--arrows", "3", "--check-standard", "club bow", "--warm-ups", "1", "--json")
        data = self.json_of(self.plan(*words), "plan")
        rows = self.read()
        self.assertEqual([(str(shot["order"]), shot["round"] or "", shot["setup"], shot["arrow"] or "")
                          for shot in data["result"]["order"]],
                         [(row["order"], row["round"], row["setup"], row["arrow"]) for row in rows])
        self.assertEqual([shot["warm_up"] for shot in data["result"]["order"]], [row["excluded"] == WARM_UP for row in rows])
        self.assertEqual([shot["check_standard"] for shot in data["result"]["order"]],
                         [row["setup"] == "club bow" for row in rows])
        self.assertEqual(data["inputs"]["sheet"], str(self.path))
        self.assertIsNone(self.planned(*PLAN[1:])["result"]["order"])

    def test_easy_changes_go_there_and_back_in_blocks_of_two_and_two(self):
        self.plan(plan=("plan", "--shots", "20", "--sd", "1.2"))
        firsts = set()
        blocks = [[row["setup"] for row in block] for _, block in itertools.groupby(self.read(), lambda row: row["round"])]
        for block in blocks:
            self.assertEqual((len(block), block), (4, block[::-1]))
            self.assertEqual(sorted(block), ["A", "A", "B", "B"])
            firsts.add(block[0])
        self.assertEqual(firsts, {"A", "B"})  # one in 2⁹ seeds would always begin alike

    def test_an_odd_number_ends_in_a_short_block(self):
        self.plan()
        blocks = [[row["setup"] for row in block] for _, block in itertools.groupby(self.read(), lambda row: row["round"])]
        self.assertEqual([len(block) for block in blocks], [4, 4, 2])
        self.assertEqual(sorted(blocks[-1]), ["A", "B"])

    def test_costly_changes_go_in_strings(self):
        self.plan("--change", "costly", plan=("plan", "--shots", "8", "--sd", "1.2"))
        rows = self.read()
        strings = [row for i, row in enumerate(rows)
                   if i == 0 or (row["round"], row["setup"]) != (rows[i - 1]["round"], rows[i - 1]["setup"])]
        self.assertEqual([row for row in rows if row["note"]], strings)
        self.assertEqual({row["note"] for row in strings}, {"set up anew"})
        for _, block in itertools.groupby(rows, lambda row: row["round"]):
            strings = [len(list(string)) for _, string in itertools.groupby(block, lambda row: row["setup"])]
            self.assertEqual(len(strings), 2)
            self.assertGreaterEqual(min(strings), 2)
        changes = sum(a["setup"] != b["setup"] for a, b in zip(rows, rows[1:]))
        self.plan("--force", plan=("plan", "--shots", "8", "--sd", "1.2"))
        rows = self.read()
        self.assertLess(changes, sum(a["setup"] != b["setup"] for a, b in zip(rows, rows[1:])))

    def test_arrows_are_used_alike_with_both(self):
        self.plan("--arrows", "3", plan=("plan", "--shots", "9", "--sd", "1.2"))
        arrows = {setup: [row["arrow"] for row in self.read() if row["setup"] == setup] for setup in "AB"}
        self.assertEqual(arrows["A"], arrows["B"])
        self.assertEqual([arrows["A"].count(arrow) for arrow in "123"], [3, 3, 3])

    def test_check_standard_at_start_middle_and_end(self):
        self.plan("--check-standard", "club bow")
        rows = self.read()
        self.assertEqual(self.values("check standard"), ["club bow"])
        at = {where: [i for i, row in enumerate(rows) if row["round"] == where] for where in ("start", "middle", "end")}
        self.assertEqual({rows[i]["setup"] for places in at.values() for i in places}, {"club bow"})
        self.assertEqual(at["start"], list(range(len(at["start"]))))
        self.assertEqual(at["end"][-1], len(rows) - 1)
        before = sum(row["setup"] in "AB" for row in rows[:at["middle"][0]])
        self.assertLessEqual(abs(before - 5), 1)

    def test_warm_ups_come_first_and_are_left_out_beforehand(self):
        self.plan("--warm-ups", "2")
        rows = self.read()
        self.assertEqual([row["excluded"] for row in rows], [WARM_UP] * 4 + [""] * 10)
        self.assertEqual(sorted(row["setup"] for row in rows[:4]), ["A", "A", "B", "B"])
        self.assertEqual(self.values("planned shots"), ["5 of A", "5 of B"])

    def test_same_seed_same_bytes_another_seed_another_order(self):
        plan = ("plan", "--shots", "20", "--sd", "1.2")
        contents = []
        for seed in ("7", "7", "8"):
            self.plan("--seed", seed, "--report", self.folder / "p.html", "--force", plan=plan)
            contents.append((self.path.read_bytes(), (self.folder / "p.html").read_bytes()))
        self.assertEqual(contents[0], contents[1])
        orders = []
        for sheet, _ in contents:
            self.path.write_bytes(sheet)
            orders.append([row["setup"] for row in self.read()])
        self.assertNotEqual(orders[0], orders[2])  # equal by chance: one in 2¹⁰

    def test_a_sheet_in_metres_per_second(self):
        self.plan("--unit", "m/s", "--display", "0.1", plan=("plan", "--resolve", "1", "--sd", "0.4"))
        self.assertIn("speed_mps", self.read()[0])
        self.assertEqual(dict(self.head)["display"], "0.1")

    def test_the_margin_of_sameness_is_that_of_the_sheet(self):
        self.plan(plan=("plan", "--same-within", "4", "--sd", "1.2"))
        self.read()
        self.assertEqual(self.values("margin"), ["4"])

    def test_a_split_writes_its_own_numbers(self):
        data = self.json_of(self.plan("--json", plan=("plan", "--total-shots", "12", "--sd", "A=1", "--sd", "B=2.5")), "plan")
        design, setups = data["result"]["design"], [row["setup"] for row in self.read()]
        self.assertEqual((setups.count("A"), setups.count("B")), (design["from"]["shots"], design["to"]["shots"]))

    def test_kinds_of_bow_take_turns(self):
        data = self.json_of(self.plan("--json", plan=("plan", "--kinds", "--bow-sd", "1", "--sd", "1", "--resolve", "3")), "plan")
        design, rows = data["result"]["design"], self.read()
        for setup in "AB":
            bows = [row["bow"] for row in rows if row["setup"] == setup]
            self.assertEqual(len(set(bows)), design["from"]["bows"])
            self.assertEqual({bows.count(bow) for bow in bows}, {design["from"]["shots"]})

    def test_the_answer_says_where_it_is(self):
        ran = self.plan("--report", self.folder / "p.html")
        self.says(ran, "has 10 shots in firing order", "is a page with this plan and a firing sheet to print")
        self.assertEqual(sorted(p.name for p in self.folder.iterdir()), ["p.html", "s.csv"])
        ran = self.plan("--force", "--warm-ups", "1", "--check-standard", "ref")
        self.says(ran, "has 18 shots in firing order: 10 that count, 2 warm-ups and 6 of the check standard")

    def test_names_that_a_sheet_cannot_hold_are_refused_and_nothing_is_written(self):
        for words, message in ((("--setup", "=1+1", "--setup", "b"), "a spreadsheet program would take it for a formula"),
                               (("--setup", "A", "--setup", "a"), "differs from"),
                               (("--title", "two\nlines"), "has a control character or a line end in it"),
                               (("--setup", "x\x1b[31m", "--setup", "b"), "has a control character or a line end in it"),
                               (("--check-standard", "A"), "the check standard is named like set-up A"),
                               (("--check-standard", "a"), "only in case, blanks or invisible characters")):
            with self.subTest(words=words):
                ran = self.refused(2, *PLAN, "--sheet", self.folder / "s.csv", *words)
                self.complains(ran, message)
                self.assertNotRegex(ran.err, r"shotassay: [a-z]+_[a-z_]+: ")  # no function's name
                self.assertEqual(list(self.folder.iterdir()), [])


class RoundTrip(Written):
    A, B = [271, 273, 270, 272, 271], [274, 276, 275, 274, 277]

    def test_a_sheet_as_written_has_all_shots_open(self):
        for words in ((), ("--check-standard", "ref"), ("--warm-ups", "2")):
            self.plan("--force", *words)
            self.complains(self.refused(1, "compare", self.path),
                           "no shot has a reading yet: all 10 planned shots are still open")

    def test_a_sheet_shot_in_part_is_answered_with_its_open_shots_told(self):
        self.plan("--check-standard", "ref")
        file = self.filled({"A": self.A[:3], "B": self.B[:4], "ref": [250] * 2})
        data = self.compared(file)
        plan = data["result"]["plan"]
        self.assertEqual(plan["course"], "unfinished")
        self.assertEqual({s["name"]: (s["planned"], s["analysed"], s["excluded"], s["open"]) for s in plan["setups"]},
                         {"A": (5, 3, 0, 2), "B": (5, 4, 0, 1)})
        self.assertTrue({"plan_read", "open_shots", "stopped_early", "check_standard"} <= set(codes(data)))
        ran = self.answered("compare", file)
        self.says(ran, "The planned test is not finished: 3 shots are still open, 2 with A and 1 with B",
                  "Fewer shots are here than planned")
        self.assertEqual([s["name"] for s in data["result"]["setups"]], ["A", "B"])

    def test_a_sheet_with_one_open_shot_speaks_of_one(self):
        self.plan()
        self.says(self.answered("compare", self.filled({"A": self.A[:4], "B": self.B})), "1 shot is still open, 1 with A")

    def test_a_sheet_shot_to_the_end_has_nothing_open(self):
        self.plan("--warm-ups", "1", "--setup", "B", "--setup", "A")
        file = self.filled({"A": self.A, "B": self.B})
        data = self.compared(file)
        self.assertEqual((data["result"]["plan"]["course"], data["result"]["plan"]["stopping"]), ("as_planned", None))
        self.assertEqual(set(codes(data)) & {"open_shots", "stopped_early", "went_on", "plan_overruled"}, set())
        self.assertNotIn("still open", self.answered("compare", file).out)
        # The plan names B first, whichever the drawn order begins with: the gap is that of A against B.
        gap = data["result"]["gaps"][0]
        self.assertEqual((gap["from"], gap["to"]), ("B", "A"))
        self.assertAlmostEqual(gap["difference"], sum(self.A) / 5 - sum(self.B) / 5, delta=1e-12)

    def test_a_shot_left_out_with_its_reason_is_not_open(self):
        self.plan()
        file = self.filled({"A": self.A, "B": self.B})
        text = file.read_text(encoding="utf-8")
        last = text.splitlines()[-1].split(",")
        last[3], last[5] = "", "display failed"
        file.write_text("\n".join([*text.splitlines()[:-1], ",".join(last)]) + "\n", encoding="utf-8")
        plan = self.compared(file)["result"]["plan"]
        self.assertEqual((plan["course"], sorted((s["analysed"], s["excluded"], s["open"]) for s in plan["setups"])),
                         ("as_planned", [(4, 1, 0), (5, 0, 0)]))

    def test_rows_added_went_on(self):
        self.plan()
        file = self.filled({"A": self.A, "B": self.B}, more=(("A", 272), ("B", 275), ("A", 273), ("B", 276)))
        data = self.compared(file)
        plan = data["result"]["plan"]
        self.assertEqual(plan["course"], "went_on")
        self.assertEqual((plan["stopping"]["from_shots"], plan["stopping"]["to_shots"]), (5, 7))
        self.assertIn("went_on", codes(data))
        self.says(self.answered("compare", file), "More shots were fired than planned")

    def test_error_rate_of_looking_again_by_another_simulation(self):
        # Pooled SD of the readings, as compare sees them; no gap, a look after each shot more, stop at the first found.
        self.plan()
        more = (("A", 272), ("B", 275), ("A", 273), ("B", 276))
        cases = ((self.filled({"A": self.A, "B": self.B}, more, "more.csv"), self.A + [272, 273], self.B + [275, 276], 5, 7),
                 (self.filled({"A": self.A[:3], "B": self.B[:3]}, (), "fewer.csv"), self.A[:3], self.B[:3], 2, 5))
        for file, a, b, first, last in cases:
            stopping = self.compared(file)["result"]["plan"]["stopping"]
            sd = math.sqrt((numpy.var(a, ddof=1) + numpy.var(b, ddof=1)) / 2)
            random, tests = numpy.random.default_rng(11), 50_000
            phase = random.random((tests, 1))
            x, y = (numpy.rint(phase + sd * random.standard_normal((tests, last))) for _ in "ab")
            wrong = numpy.zeros(tests, bool)
            for n in range(first, last + 1):
                h = half_width((n, n), (spreads(x[:, :n]), spreads(y[:, :n])))
                wrong |= numpy.abs(y[:, :n].mean(axis=1) - x[:, :n].mean(axis=1)) > h + 1e-9
            error = math.hypot(stopping["standard_error"], math.sqrt(wrong.mean() / tests))
            self.assertAlmostEqual(stopping["error_rate"], wrong.mean(), delta=4 * error)
            self.assertGreater(stopping["error_rate"], 0.05)

    def test_margin_and_confidence_are_the_plan_s_and_overruling_them_is_told(self):
        self.plan("--margin", "1.5", "--confidence", "0.9")
        file = self.filled({"A": self.A, "B": self.B})
        data = self.compared(file)
        self.assertEqual((data["inputs"]["confidence"], data["inputs"]["margin"]), (0.9, 1.5))
        self.assertNotIn("plan_overruled", codes(data))
        data = self.compared(file, "--confidence", "0.99", "--margin", "2")
        self.assertEqual((data["inputs"]["confidence"], data["inputs"]["margin"]), (0.99, 2))
        self.assertEqual(codes(data).count("plan_overruled"), 2)
        self.says(self.answered("compare", file, "--confidence", "0.99", "--margin", "2"),
                  "The confidence of 99 % was asked for in place of the plan's 90 %",
                  "The margin of 2 fps was asked for in place of the plan's 1.5 fps")
        self.assertNotIn("plan_overruled", codes(self.compared(file, "--confidence", "0.9", "--margin", "1.5")))

    def test_the_check_standard_is_in_no_gap(self):
        self.plan("--check-standard", "ref")
        data = self.compared(self.filled({"A": self.A, "B": self.B, "ref": [250, 251, 250, 252, 251, 250]}))
        self.assertEqual([s["name"] for s in data["result"]["setups"]], ["A", "B"])
        self.assertEqual(data["result"]["plan"]["course"], "as_planned")

    def test_a_sheet_without_the_plan_s_mark_has_no_open_shots(self):
        ran = self.refused(3, "compare", self.sheet(a=[271, ""], b=[272, 273]))
        self.complains(ran, "the reading is missing")

    def test_names_come_back_as_they_were_given(self):
        for names in (('<b>&"\'', "矢, 18"), ("14; 16", "\u202egnirts"), ("#1", "it's")):
            with self.subTest(names=names):
                self.plan("--setup", names[0], "--setup", names[1], "--force")
                file = self.filled({names[0]: self.A, names[1]: self.B})
                self.assertEqual([s["name"] for s in self.compared(file)["result"]["setups"]], list(names))

    def test_a_planned_sheet_is_a_pilot_for_the_next(self):
        self.plan()
        ran = self.answered("plan", "--resolve", "2", "--from", self.filled({"A": self.A, "B": self.B}))
        self.says(ran, "from the 5 + 5 shots of")


class Strict(html.parser.HTMLParser):
    """Elements are closed in the order they were opened; what stands in the cells of each table."""

    VOID = {"meta", "br", "hr", "img", "input", "link", "col"}

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.tags, self.tables, self.attributes = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        if tag == "table":
            self.tables.append([])
        if tag == "tr":
            self.tables[-1].append([])
        if tag in ("td", "th") and self.tables:
            self.tables[-1][-1].append("")
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            raise AssertionError(f"</{tag}> closes nothing")

    def handle_data(self, data):
        if self.open and self.open[-1] in ("td", "th"):
            self.tables[-1][-1][-1] += data

    def error(self, message):
        raise AssertionError(message)


class Page(Written):
    def page(self, *words, plan=PLAN):
        self.report = self.folder / "p.html"
        self.path = self.folder / "s.csv"
        self.answered(*plan, "--report", self.report, "--sheet", self.path, "--force", *words)
        text = self.report.read_text(encoding="utf-8")
        strict = Strict()
        strict.feed(text)
        strict.close()
        self.assertEqual(strict.open, [])
        return text, strict

    def test_it_is_one_whole_page_that_needs_nothing_from_elsewhere(self):
        for plan in (PLAN, ("plan", "--shots", "3", "--sd", "1.2"), ("plan", "--within", "2", "--sd", "1.2"),
                     ("plan", "--same-within", "4", "--sd", "1.2"), ("plan", "--total-shots", "12", "--sd", "1", "--sd", "2.5"),
                     ("plan", "--kinds", "--bow-sd", "1", "--sd", "1", "--resolve", "3")):
            with self.subTest(plan=plan):
                text, strict = self.page(plan=plan)
                self.assertTrue(text.startswith("<!DOCTYPE html>"))
                self.assertEqual([strict.tags.count(tag) for tag in ("html", "head", "body", "main")], [1] * 4)
                self.assertEqual(strict.tags[:strict.tags.index("body")].count("title"), 1)  # pictures have their own
                self.assertEqual(set(strict.tags) & {"script", "link", "img", "iframe", "object", "embed"}, set())
                for word in ("http", "//", "<script", "@import", "javascript:"):
                    self.assertNotIn(word, text.lower())
                self.assertRegex(text, r"url\(#|^(?!.*url\()")
                names = [name for name, _ in strict.attributes]
                self.assertFalse([name for name in names if name.startswith("on") or name in ("src", "srcset")])
                self.assertNotIn(str(self.folder), text)

    def test_it_has_the_answer_the_curve_the_cautions_and_room_to_write(self):
        text, strict = self.page()
        self.assertIn("svg", strict.tags)
        shown = re.sub(r"<[^>]+>", " ", text.replace("\u00a0", " "))
        words = " ".join(shown.split())
        for part in ("a true gap of 3 fps is then found", "Never dry-fire", "minimum arrow mass and bolt limits", "Date, place",
                     "Shoot in this order", "Leave a shot out only for a cause noted at the shot", "Draw weight before / after"):
            self.assertIn(part, words)
        self.assertEqual(strict.tables[-1][0], ["no.", "round", "set-up", "reading, fps", "draw weight, lbf", "remarks"])

    def test_rows_to_fire_are_those_of_the_sheet(self):
        for words in ((), ("--arrows", "3", "--check-standard", "ref", "--warm-ups", "2", "--seed", "9"),
                      ("--change", "costly", "--setup", "new string", "--setup", "old string")):
            _, strict = self.page(*words)
            rows = self.read()
            titles, *fired = strict.tables[-1]
            columns = [titles.index(title) for title in ("no.", "round", "set-up", *(["arrow"] if "arrow" in titles else []))]
            self.assertEqual("arrow" in titles, "arrow" in rows[0])
            self.assertEqual([[row[i] for i in columns] for row in fired],
                             [[row[key] for key in ("order", "round", "setup", "arrow") if key in row] for row in rows])
            self.assertEqual([bool(row[-1]) for row in fired], [bool(row["excluded"] or row["note"]) for row in rows])

    def test_bows_stand_in_the_firing_sheet_of_kinds(self):
        _, strict = self.page(plan=("plan", "--kinds", "--bow-sd", "1", "--sd", "1", "--resolve", "3"))
        titles, *fired = strict.tables[-1]
        self.assertEqual([row[titles.index("bow")] for row in fired], [row["bow"] for row in self.read()])

    def test_costly_changes_say_what_is_repeated(self):
        text, _ = self.page("--change", "costly")
        self.assertIn("Set up anew before every string of shots", text)

    def test_a_page_without_a_sheet_and_without_names(self):
        report = self.folder / "only.html"
        self.answered(*PLAN, "--report", report)
        self.assertIn("Firing sheet", report.read_text(encoding="utf-8"))
        self.assertEqual([p.name for p in self.folder.iterdir()], ["only.html"])

    def test_names_and_title_can_do_no_harm(self):
        # The order of a page need not fit into a sheet: these are shown, wherever they are shown, as what they are.
        evil = ("<b>&\"'", "\u202egnirts\x1b[31m", "<script>alert(1)</script>", "</td></table>")
        for i in range(4):
            title, a, b = evil[i], evil[i - 1], evil[i - 2]
            report = self.folder / "p.html"
            words = (*PLAN, "--report", report, "--force", "--title", title, "--setup", a, "--setup", b)
            ran = self.answered(*words)
            text = report.read_text(encoding="utf-8")
            strict = Strict()
            strict.feed(text)
            strict.close()
            self.assertEqual(strict.open, [])
            self.assertEqual({"script", "b"} & set(strict.tags), set())
            for bad in "\x1b\u202e\x07":
                self.assertNotIn(bad, text)
                self.assertNotIn(bad, ran.out)
            shown = {name: name.replace("\u202e", "\\u202e").replace("\x1b", "\\x1b") for name in (a, b)}
            self.assertEqual({row[2] for row in strict.tables[-1][1:]}, set(shown.values()))
            data = self.json_of(self.answered(*words, "--json"), "plan")
            self.assertEqual(data["inputs"]["setups"], [a, b])
            self.assertNotIn("\x1b", self.answered(*words, "--json").out)

    def test_a_long_test_is_whole(self):
        _, strict = self.page(plan=("plan", "--shots", "60", "--sd", "1.2"))
        self.assertEqual([row[0] for row in strict.tables[-1][1:]], [str(i) for i in range(1, 121)])


class Files(Written):
    def names(self):
        return sorted(path.name for path in self.folder.iterdir())

    def test_an_existing_file_is_left_alone(self):
        for option, name in (("--sheet", "x.csv"), ("--report", "x.html")):
            file = self.file("precious\n", name)
            before = file.stat()
            ran = self.refused(2, *PLAN, option, file)
            self.complains(ran, f"{option} {file}: there is such a file already; --force replaces it")
            self.assertEqual((file.read_text(), file.stat().st_mtime_ns), ("precious\n", before.st_mtime_ns))
        self.assertEqual(self.names(), ["x.csv", "x.html"])

    def test_force_replaces_it(self):
        file = self.file("precious\n" * 1000, "s.csv")
        self.plan("--force")
        self.assertEqual(len(self.read()), 10)
        self.assertEqual(self.names(), ["s.csv"])
        self.assertEqual(file.read_text()[:8], "# title:")

    def test_it_gets_the_rights_that_new_files_get(self):
        self.answered(*PLAN, "--sheet", self.folder / "s.csv", wrap=("sh", "-c", 'umask 027; exec "$0" "$@"'))
        self.assertEqual(oct((self.folder / "s.csv").stat().st_mode & 0o777), "0o640")

    def test_one_of_two_files_in_the_way_stops_both(self):
        file = self.file("precious\n", "x.html")
        self.refused(2, *PLAN, "--sheet", self.folder / "s.csv", "--report", file)
        self.assertEqual(self.names(), ["x.html"])

    def test_one_of_two_files_that_cannot_be_written_stops_both(self):
        ran = self.refused(4, *PLAN, "--sheet", self.folder / "s.csv", "--report", self.folder / "none/x.html")
        self.complains(ran, f"--report {self.folder}/none/x.html: cannot be written: No such file or directory")
        self.assertEqual(self.names(), [])

    def test_folders_that_cannot_be_written_to(self):
        for place in (self.folder / "none", "/proc"):
            ran = self.refused(4, *PLAN, "--sheet", f"{place}/s.csv")
            self.complains(ran, f"--sheet {place}/s.csv: cannot be written")

    @unittest.skipIf(os.geteuid() == 0, "root may write anywhere")
    def test_a_folder_without_permission(self):
        self.folder.chmod(0o555)
        self.addCleanup(self.folder.chmod, 0o755)
        self.complains(self.refused(4, *PLAN, "--sheet", self.folder / "s.csv"), "Permission denied")

    def test_a_file_where_a_folder_should_be(self):
        file = self.file("precious\n", "x")
        self.complains(self.refused(4, *PLAN, "--sheet", file / "s.csv"), "Not a directory")

    def test_a_full_disk_leaves_nothing_behind(self):
        needs_bare_program(self)
        # No byte may be written to a file; the signal that says so is ignored, as it is for a disk that is full.
        for words in (("--sheet", self.folder / "s.csv"), ("--report", self.folder / "p.html", "--sheet", self.folder / "s.csv")):
            ran = self.refused(4, *PLAN, *words, wrap=("sh", "-c", 'trap "" XFSZ; ulimit -f 0; exec "$0" "$@"'))
            self.complains(ran, "cannot be written: File too large")
            self.assertEqual(self.names(), [])
        # An old file is not lost to the failure either.
        file = self.file("precious\n", "s.csv")
        self.refused(4, *PLAN, "--sheet", file, "--force", wrap=("sh", "-c", 'trap "" XFSZ; ulimit -f 0; exec "$0" "$@"'))
        self.assertEqual((file.read_text(), self.names()), ("precious\n", ["s.csv"]))

    def test_standard_output_that_is_full_is_told_and_the_file_is_whole(self):
        with open("/dev/full", "wb") as full:
            ran = self.ended(run(*PLAN, "--sheet", self.folder / "s.csv", out=full), 4)
        self.complains(ran, "the answer could not be written: No space left on device")
        self.assertEqual(len(self.read(self.folder / "s.csv")), 10)

    def test_devices_and_directories_are_not_replaced(self):
        for place, why in ((self.folder, "directory"), (f"{self.folder}/", "slash"), ("/dev/full", "device"), ("/dev/null", "device")):
            with self.subTest(why=why):
                self.complains(self.refused(2, *PLAN, "--sheet", place), "there is such a file already")
                self.complains(self.refused(2, *PLAN, "--sheet", place, "--force"),
                               "this is no ordinary file, so it is not replaced")

    def test_standard_output_holds_the_answer_and_no_file(self):
        for option in ("--sheet", "--report"):
            self.complains(self.refused(2, *PLAN, option, "-", folder=self.folder), f"{option} -: ", "name a file")
        self.assertEqual(self.names(), [])

    def test_links_are_files_too_and_what_they_lead_to_stays(self):
        target = self.file("precious\n", "target")
        for name, leads_to in (("link", "target"), ("dangling", "gone")):
            link = self.folder / name
            link.symlink_to(leads_to)
            self.complains(self.refused(2, *PLAN, "--sheet", link), "there is such a file already")
            self.answered(*PLAN, "--sheet", link, "--force")
            self.assertFalse(link.is_symlink())
            self.assertEqual(len(self.read(link)), 10)
        self.assertEqual((target.read_text(), self.names()), ("precious\n", ["dangling", "link", "target"]))

    def test_a_sheet_and_a_page_are_two_files(self):
        (self.folder / "sub").mkdir()
        for option, name in (("--report", "x.html"), ("--svg", "x.svg")):
            for other in (name, f"./{name}", f"sub/../{name}", str(self.folder / name)):
                for words in ((), ("--force",)):
                    ran = self.refused(2, *PLAN, "--sheet", name, option, other, *words, folder=self.folder)
                    self.complains(ran, f"{option} {other}: the sheet goes to this file")
        self.assertEqual(self.names(), ["sub"])

    def test_odd_file_names(self):
        for name in ("a b", "q'\"", "two\nlines", "-x.csv", "弓.csv", "x" * 200, "\x1b[31m.csv", "{}%s"):
            with self.subTest(name=ascii(name)):
                file = self.folder / name
                ran = self.answered(*PLAN, "--sheet", file)
                self.assertNotIn("\x1b", ran.out)
                self.assertEqual(len(self.read(file)), 10)
                self.assertEqual(self.names(), [name])
                file.unlink()

    def test_a_name_in_the_folder_where_one_is(self):
        self.answered(*PLAN, "--sheet", "s.csv", "--report", "p.html", folder=self.folder)
        self.assertEqual(self.names(), ["p.html", "s.csv"])
        self.answered(*PLAN, "--sheet=-s.csv", folder=self.folder)
        self.assertIn("-s.csv", self.names())

    def test_an_empty_name(self):
        self.complains(self.refused(2, *PLAN, "--sheet", ""), "empty")

    def test_nothing_is_written_where_there_is_no_answer(self):
        self.refused(1, "plan", "--resolve", "0.1", "--sd", "50", "--sheet", self.folder / "s.csv")
        self.refused(2, *PLAN, "--power", "2", "--sheet", self.folder / "s.csv", "--report", self.folder / "p.html")
        self.assertEqual(self.names(), [])


if __name__ == "__main__":
    main()
