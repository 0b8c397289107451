#!/usr/bin/env python3
"""A coach's evening: the lesson that clinic make writes, answers that clinic tally counts, the series of clinic show."""

import csv
import html.parser
import os
import re
import select
import stat
import subprocess
import time

from program import BOWSTRINGS, ROOT, ProgramTest, codes, environment, main, program, pseudo_terminal, run, schema

FILES = {"exercise-1-luck.html", "exercise-2-shots.html", "exercise-3-display.html", "exercise-4-fooling.html",
         "projector.html", "key.html", "key.csv", "answers.csv"}


class Lesson(ProgramTest):
    def made(self, *words, name="evening"):
        self.lesson = self.folder / name
        return self.answered("clinic", "make", "--out", self.lesson, *words)

    def texts(self, folder=None):
        return {path.name: path.read_bytes() for path in (folder or self.lesson).iterdir()}

    def key(self):
        with open(self.lesson / "key.csv", newline="", encoding="utf-8") as file:
            rows = [row for row in csv.reader(file) if not row[0].startswith("#")]
        return [dict(zip(rows[0], row)) for row in rows[1:]]

    def answers(self, said):
        """The sheet of answers, filled in; `said` takes a row of the key."""
        path = self.lesson / "answers.csv"
        lines = path.read_text(encoding="utf-8").splitlines()
        rows = {row["student"]: row for row in self.key()}
        filled = [line if line.startswith("#") or line.startswith("student") else line + said(rows[line.rstrip(",")])
                  for line in lines]
        path.write_text("\n".join(filled) + "\n", encoding="utf-8")
        return path


class Make(Lesson):
    def test_the_lesson_has_its_files_and_nothing_beside_them(self):
        ran = self.made("--students", "5", "--seed", "3")
        self.assertEqual(set(self.texts()), FILES)
        self.assertEqual({path.name for path in self.folder.iterdir()}, {"evening"})
        self.says(ran, *FILES, "The lesson for 5 students lies in", "the key is not for the class")
        self.assertEqual(stat.S_IMODE(self.lesson.stat().st_mode) & 0o500, 0o500)

    def test_the_same_seed_makes_the_same_bytes_and_another_does_not(self):
        self.made("--seed", "3")
        first = self.texts()
        self.made("--seed", "3", name="again")
        again = self.texts()
        self.assertEqual(first, again)
        self.made("--seed", "3", "--threads", "1", name="threads")
        self.assertEqual(first, self.texts())
        self.made("--seed", "4", name="other")
        self.assertNotEqual(first["key.csv"], self.texts()["key.csv"])

    def test_every_page_is_whole_and_fetches_nothing(self):
        class Reader(html.parser.HTMLParser):
            def __init__(self):
                super().__init__()
                self.open = []

            def handle_starttag(self, tag, attributes):
                if tag not in {"meta", "circle", "line", "path", "rect", "polyline"}:
                    self.open.append(tag)

            def handle_endtag(self, tag):
                if tag in self.open:
                    assert self.open.pop() == tag, tag

        self.made("--students", "3")
        for name in FILES:
            if not name.endswith(".html"):
                continue
            text = (self.lesson / name).read_text(encoding="utf-8")
            reader = Reader()
            reader.feed(re.sub(r"/>", ">", text))
            self.assertEqual(reader.open, [], name)
            self.assertNotRegex(text, r"https?:|<script|<link|@import|url\(")
            self.assertNotIn(str(self.folder), text)

    def test_a_page_a_student(self):
        self.made("--students", "7")
        text = (self.lesson / "exercise-1-luck.html").read_text(encoding="utf-8")
        self.assertEqual(re.findall(r"The test of student (\d+)", text), [str(i) for i in range(1, 8)])
        self.assertEqual(text.count('class="page-break"></div>'), 6)
        for row in self.key():
            self.assertIn("A: " + ", ".join(row["a"].split()), text)

    def test_the_key_stands_in_the_key_alone(self):
        self.made("--seed", "7")
        for name, text in self.texts().items():
            if name not in {"key.csv", "key.html", "projector.html"}:
                self.assertNotIn(b"cannot tell\n", text.replace(b"# write A or B or cannot tell\n", b""), name)
                self.assertNotIn(b"B faster<", text, name)

    def test_a_sheet_lends_its_sd_display_and_unit(self):
        data = self.json_of(self.made("--from", BOWSTRINGS, "--json"), "clinic")
        question = data["result"]["question"]
        # The pooled s is 1.0, its median-unbiased SD a little more; a lesson says it with three digits.
        self.assertEqual(question["sd"], 1.03)
        self.assertEqual((question["display_step"], question["unit"], question["speed"]), (1, "fps", 191))
        wide = self.sheet(column="speed_mps", a=["57.3", "57.0", "57.6"], b=["58.1", "58.8", "58.2"])
        data = self.json_of(self.made("--from", wide, "--json", name="metres"), "clinic")
        question = data["result"]["question"]
        self.assertEqual((question["display_step"], question["unit"], question["gap"]), (0.1, "m/s", 0.6))
        self.complains(self.refused(2, "clinic", "make", "--out", self.folder / "x", "--from", BOWSTRINGS, "--sd", "2"),
                       "--sd 2: the SD comes from the sheet of --from")
        self.complains(self.refused(1, "clinic", "make", "--out", self.folder / "x", "--from", self.sheet(a=[1 + 190])),
                       "--from")
        self.complains(self.refused(3, "clinic", "make", "--out", self.folder / "x", "--from", self.file("setup\n")), "speed_fps")

    def test_options_reach_the_lesson(self):
        data = self.json_of(self.made("--students", "4", "--shots", "5", "--gap", "3", "--sd", "2", "--display", "0.5",
                                      "--confidence", "0.9", "--json"), "clinic")
        question = data["result"]["question"]
        self.assertEqual((question["shots"], question["gap"], question["sd"], question["display_step"], question["confidence"]),
                         (5, 3, 2, 0.5, 0.9))
        self.assertEqual(len(data["result"]["luck"]), 4)
        self.assertEqual({abs(test["true_gap"]) for test in data["result"]["luck"]}, {0, 3})
        self.assertEqual([size["shots"] for size in data["result"]["sizes"]], [3, 5, 10, 20])
        self.assertEqual([round(d["display_step"], 3) for d in data["result"]["displays"]], [0.05, 0.5, 2.5])

    def test_wrong_options_are_told_together_and_nothing_is_written(self):
        ran = self.refused(2, "clinic", "make", "--students", "0", "--shots", "1", "--gap", "-1", "--sd", "x", "--seed", "-3")
        self.complains(ran, "--students 0", "--shots 1", "--gap -1", "--sd x", "--seed -3", "clinic make --out")
        self.complains(self.refused(2, "clinic", "make", "--out", self.folder / "x", "--sd", "0.05"), "tenth of the display step")
        self.complains(self.refused(2, "clinic", "make", "--out", self.folder / "x", "--display", "0.000001"), "too fine")
        self.assertEqual(list(self.folder.iterdir()), [])

    def test_a_folder_with_files_stays_and_an_empty_one_is_filled(self):
        empty = self.folder / "evening"
        empty.mkdir()
        self.made()
        before = self.texts()
        self.complains(self.refused(2, "clinic", "make", "--out", self.lesson), "has files in it", "--force")
        self.assertEqual(self.texts(), before)
        self.made("--seed", "9", "--force")
        self.assertNotEqual(self.texts()["key.csv"], before["key.csv"])
        self.assertEqual({path.name for path in self.folder.iterdir()}, {"evening"})
        (self.lesson / "photo.jpg").write_text("mine")
        self.complains(self.refused(2, "clinic", "make", "--out", self.lesson, "--force"), "photo.jpg")
        self.complains(self.refused(2, "clinic", "make", "--out", self.lesson / "key.csv", "--force"), "it is no folder")
        self.complains(self.refused(4, "clinic", "make", "--out", self.folder / "none/there"), "cannot be written")
        self.made("--seed", "2", name="slash/")

    def test_nothing_is_left_where_the_disk_is_full(self):
        out = self.folder / "evening"
        ran = self.refused(4, "clinic", "make", "--out", out, wrap=("sh", "-c", 'trap "" XFSZ; exec prlimit --fsize=20000 "$@"', "sh"))
        self.complains(ran, "cannot be written")
        self.assertEqual(list(self.folder.iterdir()), [])


class Tally(Lesson):
    TALLY = ("clinic", "tally")

    def counted(self, said, *words):
        self.made("--seed", "7")
        return self.json_of(self.answered(*self.TALLY, self.answers(said), "--json", *words), "clinic")

    def test_eyes_that_go_by_the_averages(self):
        def larger(row):
            a, b = (sum(map(int, row[side].split())) for side in "ab")
            return "A" if a > b else "B" if b > a else "cannot tell"

        result = self.counted(larger)["result"]
        rows = self.key()
        alike = [row for row in rows if row["true_gap"] == "0"]
        self.assertEqual(result["eye"]["alike"]["tests"], len(alike))
        self.assertEqual(result["eye"]["alike"]["fooled"], sum(larger(row) != "cannot tell" for row in alike))
        right = sum(larger(row) == ("B" if float(row["true_gap"]) > 0 else "A") for row in rows if row["true_gap"] != "0")
        self.assertEqual(result["eye"]["apart"]["right"], right)
        self.assertEqual(result["tool"]["alike"]["fooled"], sum(row["verdict"] != "cannot tell" for row in alike))
        self.assertEqual([test["tool"] for test in result["tests"]], [row["verdict"] for row in rows])
        ran = self.answered(*self.TALLY, self.lesson / "answers.csv")
        fooled = result["eye"]["alike"]["fooled"]
        self.assertGreater(fooled, 0)
        self.says(ran, f"eyes saw one in {'all 6' if fooled == 6 else f'{fooled} of 6'} tests; the tool in none of 6", "In the long run",
                  f"Eyes named a faster one in {fooled + result['eye']['apart']['right'] + result['eye']['apart']['fooled']} tests; in "
                  f"{fooled} of those there was nothing to name")

    def test_truth_is_never_fooled_and_empty_cells_are_not_counted(self):
        def true(row):
            return "cannot tell" if row["true_gap"] == "0" else "B" if float(row["true_gap"]) > 0 else "A"

        result = self.counted(true)["result"]
        self.assertEqual([result["eye"][kind]["fooled"] for kind in ("alike", "apart")], [0, 0])
        self.assertEqual(result["eye"]["apart"]["right"], 6)
        data = self.json_of(self.answered(*self.TALLY, self.file("# clinic: shotassay 1\n# seed: 7\nstudent,faster\n3,A\n4,\n"),
                                          "--key", self.lesson / "key.csv", "--json"), "clinic")
        self.assertEqual(data["result"]["unanswered"], 11)
        self.assertIn("unanswered", codes(data))
        self.assertEqual([test["eye"] for test in data["result"]["tests"][:4]], [None, None, "A", None])

    def test_standard_input_needs_the_key(self):
        self.made()
        text = (self.lesson / "answers.csv").read_text(encoding="utf-8")
        self.complains(self.refused(2, *self.TALLY, "-", stdin=text), "say where the key is")
        self.answered(*self.TALLY, "-", "--key", self.lesson / "key.csv", stdin=text)

    def test_every_problem_of_the_answers_at_once(self):
        self.made("--seed", "7")
        path = self.lesson / "answers.csv"
        path.write_text("# clinic: shotassay 1\n# seed: 7\nstudent,faster\n1,C\nx,A\n2,A\n2,B\n3\n", encoding="utf-8")
        ran = self.refused(3, *self.TALLY, path)
        self.complains(ran, "line 4, column faster: found \"C\"", "line 5, column student: found \"x\"",
                       "line 7, column student: found \"2\": line 6 has this student already", "line 8: this row has 1 cell")
        path.write_text("# clinic: shotassay 1\n# seed: 8\nstudent,faster\n1,A\n77,A\n", encoding="utf-8")
        self.complains(self.refused(3, *self.TALLY, path), "found \"77\"")
        path.write_text("# clinic: shotassay 1\n# seed: 8\nstudent,faster\n1,A\n40,A\n", encoding="utf-8")
        self.complains(self.refused(3, *self.TALLY, path), "another lesson", "the key has no such student")
        data = self.json_of(self.ended(run(*self.TALLY, path, "--json"), 3), "failure")
        self.assertEqual([p["line"] for p in data["problems"]], [2, 5])
        self.assertEqual(data["command"], "clinic tally")

    def test_a_key_that_was_changed_is_refused_with_its_places(self):
        self.made("--seed", "7")
        key = self.lesson / "key.csv"
        key.write_text(key.read_text(encoding="utf-8").replace("# gap: 2", "# gap: two").replace("\n1,", "\n1,,"), encoding="utf-8")
        self.complains(self.refused(3, *self.TALLY, self.lesson / "answers.csv"), "line 6, column gap: found \"two\"",
                       "line 10: this row has 6 cells")
        key.unlink()
        self.complains(self.refused(3, *self.TALLY, self.lesson / "answers.csv"), "key.csv: there is no such file")

    def test_report(self):
        self.made("--seed", "7")
        self.answers(lambda row: "A")
        page = self.folder / "end.html"
        self.answered(*self.TALLY, self.lesson / "answers.csv", "--report", page)
        self.assertIn("Every test with its truth", page.read_text(encoding="utf-8"))
        picture = self.folder / "end.svg"
        data = self.json_of(self.answered(*self.TALLY, self.lesson / "answers.csv", "--svg", picture, "--json"), "clinic")
        self.assertEqual((data["inputs"]["report"], data["inputs"]["svg"]), (None, str(picture)))
        self.assertIn("Intervals above each other, against the truth", picture.read_text(encoding="utf-8"))
        self.complains(self.refused(2, *self.TALLY, self.lesson / "answers.csv", "--report", page), "--force replaces it")
        self.answered(*self.TALLY, self.lesson / "answers.csv", "--report", page, "--force")

    def test_options_that_the_key_answers_are_refused(self):
        self.made()
        ran = self.refused(2, *self.TALLY, self.lesson / "answers.csv", "--unit", "m/s", "--display", "1", "--confidence", "0.9",
                           "--force")
        self.complains(ran, "--unit m/s: the key says", "--display 1", "--confidence 0.9", "--force")

    def test_it_fits_narrow_and_wide_terminals(self):
        self.made("--seed", "7")
        self.answers(lambda row: "B")
        for width in (40, 80, 120):
            self.fits(self.answered(*self.TALLY, self.lesson / "answers.csv", width=width), width)
            self.fits(self.answered("clinic", "show", "luck", width=width), width)


class Show(ProgramTest):
    def test_in_a_pipe_the_table_alone(self):
        ran = self.answered("clinic", "show", "luck", "--tests", "200", "--seed", "5")
        self.assertNotIn("\x1b", ran.out)
        self.says(ran, "no true gap, by averages", "true gap, by the tool")
        data = self.json_of(self.answered("clinic", "show", "luck", "--tests", "200", "--seed", "5", "--json"), "clinic")
        series = data["result"]["series"]
        self.assertEqual(sum(series["tool"][kind]["tests"] for kind in ("alike", "apart")), 200)

    def test_only_luck_can_be_shown(self):
        self.complains(self.refused(2, "clinic", "show", "skill"), "clinic show skill")
        self.complains(self.refused(2, "clinic", "show"), "WHAT")
        self.complains(self.refused(2, "clinic", "show", "luck", "--tests", "0"), "--tests 0")

    def test_a_key_steps_and_q_ends(self):
        leader, follower = pseudo_terminal(self)
        child = subprocess.Popen([program(), "clinic", "show", "luck", "--seed", "2"], stdin=follower, stdout=follower,
                                 stderr=follower, env=environment(TERM="xterm"))
        os.close(follower)
        self.addCleanup(os.close, leader)

        def seen(what, text=""):
            end = time.monotonic() + 60
            while what not in text:
                self.assertLess(time.monotonic(), end, text)
                if select.select([leader], [], [], 1)[0]:
                    text += os.read(leader, 65536).decode("utf-8", "replace")
            return text

        seen("q: the end.")
        os.write(leader, b" ")
        second = seen("q: the end.")
        self.assertIn("Test 2", second)
        self.assertIn("truth", second)
        os.write(leader, b"q")
        end = seen("Every test is drawn anew")
        self.assertEqual(child.wait(timeout=60), 0, end)


class Words(ProgramTest):
    def test_every_note_stands_in_the_page_and_in_the_schema(self):
        said = "".join((ROOT / f"lib/src/narrative/{name}.cpp").read_text(encoding="utf-8") for name in ("clinic", "clinic_page"))
        functions = re.findall(r"^std::vector<Note> \w+\(.*?^}", said, re.DOTALL | re.MULTILINE)
        codes_said = set(re.findall(r'\{"([a-z_]+)",', "".join(functions)))
        self.assertEqual(codes_said, set(schema("clinic")["properties"]["notes"]["items"]["properties"]["code"]["enum"]))
        page = (ROOT / "docs/reference/json.md").read_text(encoding="utf-8")
        for code in codes_said:
            self.assertIn(f"`{code}`", page)

    def test_the_command_is_spelt_out(self):
        self.complains(self.refused(2, "clinic"), "clinic: say which command")
        self.complains(self.refused(2, "clinic", "mak"), "did you mean make?")
        self.complains(self.refused(2, "clinic", "make", "--studens", "3"), "did you mean --students?")
        self.complains(self.refused(2, "clinic", "make", "more"), "clinic make --help")
        self.complains(self.refused(2, "clinic", "make", "--out", ""), "its value is empty")
        self.assertIn("--students", self.answered("clinic", "make", "--help").out)
        self.assertIn("--students", self.answered("help", "clinic", "make").out)
        self.assertIn("shotassay", self.answered("clinic", "make", "--version").out)


class Answers(ProgramTest):
    def test_a_lesson_with_answers_in_it_is_not_replaced(self):
        folder = self.folder / "evening"
        self.answered("clinic", "make", "--students", "2", "--out", folder)
        self.answered("clinic", "make", "--students", "2", "--seed", "9", "--out", folder, "--force")
        answers = folder / "answers.csv"
        answers.write_text(answers.read_text(encoding="utf-8").replace("1,\n", "1,A\n"), encoding="utf-8")
        self.complains(self.refused(2, "clinic", "make", "--out", folder, "--force"), "students' answers stand in it")
        self.assertIn("1,A", answers.read_text(encoding="utf-8"))


class Picture(ProgramTest):
    def test_the_picture_in_the_documents_is_the_one_that_their_commands_make(self):
        """docs/how-to/clinic.md tells how the answers come about; `--svg docs/how-to/pictures/clinic-tally.svg` renews it."""
        self.answered("clinic", "make", "--students", "12", "--seed", "7", "--out", self.folder / "evening")
        head = (self.folder / "evening/answers.csv").read_text(encoding="utf-8").splitlines()[:4]
        marked = ["1,B", "2,B", "3,B", "4,A", "5,A", "6,A", "7,A", "8,A", "9,A", "10,B", "11,A", "12,cannot tell"]
        answers = self.file("\n".join([*head, *marked]) + "\n", "filled.csv")
        picture = self.folder / "tally.svg"
        self.answered("clinic", "tally", answers, "--key", self.folder / "evening/key.csv", "--svg", picture)
        self.assertEqual(picture.read_bytes(), (ROOT / "docs/how-to/pictures/clinic-tally.svg").read_bytes())


if __name__ == "__main__":
    main()
