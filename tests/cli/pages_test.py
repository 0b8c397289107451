#!/usr/bin/env python3
"""--report and --svg: what is written for others to look at, and when nothing is."""

import re
import unittest
import xml.etree.ElementTree

from program import BOWSTRINGS, EXAMPLES, ProgramTest, main, run

ASKED = {"compare": ("compare", BOWSTRINGS), "plan": ("plan", "--resolve", "3", "--sd", "1.2"),
         "budget": ("budget", EXAMPLES / "kinetic-energy.json", "--digits", "1")}
SVG = "{http://www.w3.org/2000/svg}"


class Pages(ProgramTest):
    def names(self):
        return sorted(path.name for path in self.folder.iterdir())

    def written(self, *words, status=0):
        """The page and the picture that a command writes."""
        page, picture = self.folder / "p.html", self.folder / "p.svg"
        self.ended(run(*words, "--report", page, "--svg", picture, "--force"), status)
        return page.read_text(encoding="utf-8"), picture.read_text(encoding="utf-8")

    def words_of(self, page):
        return " ".join(re.sub(r"<[^>]+>", " ", page.replace("\u00a0", " ")).split())

    def test_each_command_writes_both_and_answers_as_ever(self):
        for name, words in ASKED.items():
            with self.subTest(command=name):
                page, picture = self.folder / f"{name}.html", self.folder / f"{name}.svg"
                ran = self.answered(*words, "--report", page, "--svg", picture)
                if name != "plan":  # which says where the sheet to fire is
                    self.assertEqual(ran.out, self.answered(*words).out)
                text = page.read_text(encoding="utf-8")
                self.assertTrue(text.startswith("<!DOCTYPE html>"))
                self.assertTrue(text.endswith("</html>\n"))
                root = xml.etree.ElementTree.parse(picture).getroot()
                self.assertEqual(root.tag, SVG + "svg")
                self.assertTrue(root.find(SVG + "title").text)
                self.assertTrue(root.find(SVG + "desc").text.endswith("."))
                # The picture is the page's first figure.
                self.assertIn(root.find(SVG + "desc").text, page.read_text(encoding="utf-8").replace("&#39;", "'"))

    def test_json_tells_the_names(self):
        for name, words in ASKED.items():
            page, picture = self.folder / f"{name}.html", self.folder / f"{name}.svg"
            inputs = self.json_of(self.answered(*words, "--json", "--report", page, "--svg", picture), name)["inputs"]
            self.assertEqual((inputs["report"], inputs["svg"]), (str(page), str(picture)))
            inputs = self.json_of(self.answered(*words, "--json"), name)["inputs"]
            self.assertEqual((inputs["report"], inputs["svg"]), (None, None))

    def test_a_page_of_compare_carries_what_a_verdict_needs(self):
        words = self.words_of(self.written("compare", BOWSTRINGS, "--method", "permutation")[0])
        for part in ("With 18 strands the arrows flew 4.2 fps slower than with 14 strands, give or take 1.5 fps.",
                     "carried: a range for the gap between", "not carried: any other day", "The numbers",
                     "rounding_aware: The gap between two averages", "(Welch 1947; JCGM 100:2008; Imbens and Manski 2004)",
                     "permutation: In how many ways", "Fisher R. A. (1935), The Design of Experiments", "The sheet, as read"):
            self.assertIn(part, words)
        self.assertNotIn("Never dry-fire", words)

    def test_every_reading_of_the_sheet_stands_in_the_page(self):
        page, _ = self.written("compare", BOWSTRINGS)
        table = page[page.index("The sheet, as read"):]
        readings = [int(x) for x in re.findall(r'<td class="number" data-label="reading, fps">(\d+)</td>', table)]
        sheet = [line for line in BOWSTRINGS.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        column = sheet[0].split(",").index("speed_fps")
        self.assertEqual(sorted(readings), sorted(int(line.split(",")[column]) for line in sheet[1:]))

    def test_left_out_shots_stand_there_with_their_reason_which_can_do_no_harm(self):
        file = self.file("setup,speed_fps,excluded,note\na,271,,\na,272,,\na,199,<b>hit</b> the rest,\nb,275,,\nb,276,,<script>\n")
        page, _ = self.written("compare", file)
        self.assertIn("left out: &lt;b&gt;hit&lt;/b&gt; the rest", page)
        self.assertNotIn("<script", page)

    def test_open_verdicts_come_with_cautions(self):
        words = self.words_of(self.written("compare", self.sheet(a=[271, 273, 272], b=[272, 271, 274]))[0])
        self.assertIn("Before you shoot", words)
        self.assertIn("minimum arrow mass and bolt limits", words)

    def test_no_range_no_gap_to_draw_but_the_shots(self):
        page, picture = self.written("compare", self.sheet(a=[271], b=[272, 273]), status=1)
        self.assertIn("The shots", page)
        self.assertIn("each a dot on the display", picture)

    def test_same_bytes_wherever_and_however_it_runs(self):
        for words in ASKED.values():
            first = self.written(*words)
            self.assertEqual(first, self.written(*words, "--threads", "2"))
            self.assertNotIn(str(self.folder), "".join(first))
            self.assertNotIn("http", first[0])

    def test_a_file_in_the_way_is_left_alone_and_force_replaces_it(self):
        for words in ASKED.values():
            for option, name in (("--report", "x.html"), ("--svg", "x.svg")):
                file = self.file("precious\n", name)
                self.complains(self.refused(2, *words, option, file), "there is such a file already; --force replaces it")
                self.assertEqual(file.read_text(), "precious\n")
                self.ended(run(*words, option, file, "--force"), 0)
                self.assertNotIn("precious", file.read_text(encoding="utf-8"))
                file.unlink()

    def test_one_file_in_the_way_stops_both(self):
        for words in ASKED.values():
            self.file("precious\n", "x.svg")
            self.refused(2, *words, "--report", self.folder / "y.html", "--svg", self.folder / "x.svg")
            self.assertEqual(self.names(), ["x.svg"])

    def test_places_that_cannot_be_written_to(self):
        for words in ASKED.values():
            for option, name in (("--report", "none/x.html"), ("--svg", "none/x.svg")):
                self.complains(self.refused(4, *words, option, self.folder / name), f"{option} {self.folder}/{name}: cannot be written")
        self.refused(4, *ASKED["compare"], "--report", self.folder / "x.html", "--svg", self.folder / "none/x.svg")
        self.assertEqual(self.names(), [])

    def test_names_say_what_is_in_a_file(self):
        for words in ASKED.values():
            for name in ("r.pdf", "r", "r.html.pdf", "r.svg", "html"):
                self.complains(self.refused(2, *words, "--report", self.folder / name),
                               f"--report {self.folder}/{name}: it writes a page in HTML; the name must end with .html")
            for name in ("r.png", "r", "r.html"):
                self.complains(self.refused(2, *words, "--svg", self.folder / name),
                               f"--svg {self.folder}/{name}: it writes a picture in SVG; the name must end with .svg")
        self.answered("compare", BOWSTRINGS, "--report", self.folder / "R.HTM", "--svg", self.folder / "R.SVG")
        self.assertEqual(self.names(), ["R.HTM", "R.SVG"])

    def test_one_name_for_two_files(self):
        # One name cannot end in two ways, but a link can lead from one to the other.
        target = self.file("precious\n", "x.html")
        (self.folder / "x.svg").symlink_to("x.html")
        for words in ASKED.values():
            for option in ((), ("--force",)):
                self.refused(2, *words, "--report", target, "--svg", self.folder / "x.svg", *option)
                self.assertEqual(target.read_text(), "precious\n")

    def test_standard_output_is_for_the_answer(self):
        for words in ASKED.values():
            for option in ("--report", "--svg"):
                self.complains(self.refused(2, *words, option, "-"), f"{option} -: ", "name a file")

    def test_force_alone_says_what_it_goes_with(self):
        for name, words in ASKED.items():
            with self.subTest(command=name):
                self.complains(self.refused(2, *words, "--force"), "--force: goes with --", "--report", "--svg")

    def test_plans_without_a_curve_have_no_picture(self):
        for words, option in ((("--kinds", "--resolve", "3", "--sd", "1", "--bow-sd", "1"), "--kinds"),
                              (("--total-shots", "12", "--sd", "1"), "--total-shots")):
            self.complains(self.refused(2, "plan", *words, "--svg", self.folder / "x.svg"), f"and {option}", "no curve to draw")
        self.assertEqual(self.names(), [])

    def test_nothing_is_written_where_there_is_no_answer(self):
        for words in (("compare", self.folder / "none.csv"), ("compare", BOWSTRINGS, "--margin", "x"),
                      ("compare", BOWSTRINGS, "--setup", "14 strands"), ("budget", self.folder / "none.json")):
            run(*words, "--report", self.folder / "x.html", "--svg", self.folder / "x.svg")
            self.assertEqual(self.names(), [])


if __name__ == "__main__":
    main()
