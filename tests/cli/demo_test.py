#!/usr/bin/env python3
"""The example sheets: each is answered, says what it is, and holds what it says."""

import csv
import json

from program import EXAMPLES, ROOT, ProgramTest, codes, main, run


def rows(path):
    with open(path, encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


class Examples(ProgramTest):
    ANSWERED = {"bowstrings.csv": (), "three-bowstrings.csv": (), "wide-decimal-comma.csv": (),
                "saturday.csv": (), "sunday.csv": (), "three-strings-a-kind.csv": (), "unequal-setups.csv": (),
                "three-shots.csv": (), "earlier-spring.csv": (), "earlier-summer.csv": (),
                "nist-auto83b.csv": ("--any-speed",)}
    BUDGETS = {"gap-budget.json", "kinetic-energy.json"}

    def test_every_example_is_one_of_these(self):
        self.assertEqual({path.name for path in EXAMPLES.iterdir()}, {*self.ANSWERED, *self.BUDGETS, "problems.csv", "claims.csv"})

    def test_each_is_answered_and_uses_all_it_holds(self):
        for name, words in self.ANSWERED.items():
            found = codes(self.compared(EXAMPLES / name, *words))
            for code in ("unknown_columns", "unknown_lines", "unit_assumed"):
                self.assertNotIn(code, found, name)
        self.ended(run("compare", EXAMPLES / "problems.csv"), 3)

    def test_each_says_in_its_title_that_it_is_invented_or_whose_it_is(self):
        for path in EXAMPLES.iterdir():
            if path.suffix == ".json":
                self.assertIn("invented", json.loads(path.read_text(encoding="utf-8"))["title"], path)
                continue
            if path.name == "claims.csv":
                self.assertTrue(all("invented" in row["claim"] for row in rows(path)), path)
                continue
            title = path.read_text(encoding="utf-8-sig").splitlines()[0]
            self.assertTrue(title.startswith("# title: "), path)
            self.assertRegex(title, "invented data|NIST data set", path)

    def test_the_cars_are_those_of_the_reference_data(self):
        reference = [(row["group"], row["mpg"]) for row in rows(ROOT / "data/reference/nist_auto83b.csv")]
        self.assertEqual([(row["setup"], row["speed_fps"]) for row in rows(EXAMPLES / "nist-auto83b.csv")], reference)
        head = (EXAMPLES / "nist-auto83b.csv").read_text(encoding="utf-8").split("setup,")[0]
        for word in ("miles per gallon", "not speeds", "public domain"):
            self.assertIn(word, head)

    def test_three_bowstrings_by_hand(self):
        # 14: 192 191 191 193, mean 191.75; 16: 190 190 189 191 190, mean 190; 18: 188 187 188 186 188 187, mean 1124/6.
        data = self.compared(EXAMPLES / "three-bowstrings.csv")
        means = [191.75, 190.0, 1124 / 6]
        for setup, mean, shots in zip(data["result"]["setups"], means, (4, 5, 6)):
            self.assertAlmostEqual(setup["mean"], mean, delta=1e-12)
            self.assertEqual(setup["shots"], shots)
        self.assertEqual(sum(setup["excluded"] for setup in data["result"]["setups"]), 1)
        self.assertEqual(data["inputs"]["margin"], 2)
        for gap, (a, b) in zip(data["result"]["gaps"], ((0, 1), (0, 2), (1, 2))):
            self.assertAlmostEqual(gap["difference"], means[b] - means[a], delta=1e-12)


if __name__ == "__main__":
    main()
