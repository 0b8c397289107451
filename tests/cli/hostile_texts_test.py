#!/usr/bin/env python3
"""What do names and notes do that were written to do harm? Every field that a person fills in, in every command."""

import csv
import html.parser
import io
import json
import unicodedata
import xml.etree.ElementTree

from program import ProgramTest, cell, main, run, strict, tall

MARKUP = "</td><script>alert(1)</script>&amp;\"'"
# Direction marks, joiners, fillers, tags, and two codes that are no characters, with letters between them.
UNSEEN = "a\u202eb\u2066c\u200bd\u061ce\u034ff\u3164g\U000e0041h\uffffi\ufdd0j\u2028k"
CONTROL = "\x1b[2Jx\x1b]0;y\x07\u009b31mz\u0085\x7f"
FORMULA = "=HYPERLINK(\"http://x.invalid\")"
TEXTS = (MARKUP, UNSEEN, CONTROL, FORMULA, "+1", "-1", "@x", "\uff1d1+1")


def harmful(text):
    """Characters of a text that would be obeyed, or not be seen, by Python's tables of Unicode."""
    return sorted({c for c in text.replace("\n", "")
                   if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp") or ord(c) & 0xfffe == 0xfffe
                   or 0xfdd0 <= ord(c) <= 0xfdef})


class Page(html.parser.HTMLParser):
    """All text of a page; its elements are closed in their order."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.open, self.texts = set(), [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.tags.add(tag)
        if tag != "meta":
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.tags.add(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, tag

    def handle_data(self, data):
        self.texts.append(data)


def sheet(text="a", field="setup", head=()):
    """A sheet of two set-ups in which one field holds the text."""
    columns = ["setup", "speed_fps"] + ([field] if field not in ("setup", "speed_fps") else [])
    rows = [["a", "271"], ["a", "272"], ["a", ""], ["b", "275"], ["b", "276"]]
    for at, row in enumerate(rows):
        if field == "setup":
            row[0] = text if row[0] == "a" else "b"
        elif field != "speed_fps":
            row.append(text if field != "excluded" or at == 2 else "")
    if field != "excluded":
        del rows[2]
    lines = [f"# {line}" if '"' not in line else cell(f"# {line}") for line in head] + [",".join(map(cell, columns))]
    return "\n".join(lines + [",".join(map(cell, row)) for row in rows]) + "\n"


def budget(text, place):
    data = {"title": "t", "quantity": {"formula": "v", "name": "speed"}, "unit": "fps",
            "inputs": [{"name": "v", "unit": "fps", "value": 271, "u": 1}, {"name": "scale", "scales": "v", "u": 0.01}]}
    if place == "formula_name":
        data["quantity"]["name"] = text
    elif place == "formula":
        data["quantity"]["formula"] = text
    elif place in ("title", "unit"):
        data[place] = text
    elif place == "key":
        data[text] = 1
    else:
        data["inputs"][1][place] = text
    return json.dumps(data)


class Everywhere(ProgramTest):
    def words_of(self, text):
        """Every field of every command: what to type, and what stands on standard input."""
        own = "\n" not in text and '"' not in text
        plan = ("plan", "--shots", "3", "--sd", "1.2")
        audit = ("audit", "--shots", "3", "--average", "281", "--average", "284")
        yield from ((f"compare {field}", ("compare", "-"), sheet(text, field))
                    for field in ("setup", "bow", "round", "session", "arrow", "excluded", "note", "order", "speed_mps"))
        yield "compare column", ("compare", "-"), sheet("x", text)
        yield from ((f"compare # {key}", ("compare", "-"), sheet(head=[f"{key}: {text}"]))
                    for key in ("title", "date", "place", "archer", "accuracy", "display", "unit", "check standard",
                                "nothing known", "plan"))
        yield "compare # key", ("compare", "-"), sheet(head=[f"{text}: x"])
        yield "compare wide", ("compare", "-"), f"{cell(text)},b\n271,275\n272,276\n"
        yield "compare reading", ("compare", "-"), tall(setups={"a": ["271", text], "b": [275, 276]})
        yield "compare --setup", ("compare", "-", f"--setup={text}", "--setup=b"), sheet(text)
        yield "compare file", ("compare", f"./{text}"), ""
        yield "plan --setup", (*plan, f"--setup={text}", "--setup=b"), ""
        yield "plan --sd", (*plan[:3], f"--sd={text}=1", "--sd=b=2"), ""
        if own:  # no option of a page beside it
            yield "plan --title", (*plan, f"--title={text}", "--report=page.html"), ""
            yield "plan --check-standard", (*plan, f"--check-standard={text}", "--report=page.html"), ""
        yield from ((f"budget {place}", ("budget", "-"), budget(text, place))
                    for place in ("title", "unit", "formula_name", "formula", "name", "key", "scales", "distribution"))
        yield "audit --setup", (*audit, f"--setup={text.replace('=', '')}", "--setup=b"), ""
        yield "audit --states", (*audit, f"--states=distance={text}"), ""
        yield "audit --average", (*audit, f"--average={text}=3"), ""
        yield "audit --convention", (*audit, f"--convention={text}"), ""

    def test_all_that_is_shown_can_be_read_by_a_person(self):
        seen = 0
        for text in (FORMULA + MARKUP, UNSEEN, CONTROL):
            for field, words, given in self.words_of(text):
                with self.subTest(field=field, text=ascii(text)):
                    pages = {"--report": self.folder / "page.html", "--svg": self.folder / "figure.svg"}
                    asked = [f"{option}={path.name}" for option, path in pages.items()
                             if not any(str(w).startswith(option) for w in words)]
                    ran = run(*words, *asked, "--force", stdin=given, folder=self.folder)
                    self.assertIn(ran.status, (0, 1, 2, 3), str(ran))
                    self.assertEqual(harmful(ran.out + ran.err), [], ascii(str(ran)))
                    for line in ran.err.splitlines():
                        self.assertTrue(line.startswith("shotassay: "), str(ran))
                    if ran.status == 0:
                        self.check_page(pages["--report"].read_text(encoding="utf-8"))
                        self.check_picture(pages["--svg"].read_text(encoding="utf-8"))
                        seen += 1
                    for path in pages.values():
                        path.unlink(missing_ok=True)
        self.assertGreater(seen, 40)  # most fields hold most of these texts

    def test_json_holds_the_text_itself_and_shows_nothing_that_a_terminal_obeys(self):
        for text in (FORMULA + MARKUP, UNSEEN, CONTROL):
            for field, words, given in self.words_of(text):
                with self.subTest(field=field, text=ascii(text)):
                    ran = run(*words, *(["--force"] if "--report=page.html" in words else []), "--json", stdin=given,
                              folder=self.folder)
                    self.assertIn(ran.status, (0, 1, 2, 3), str(ran))
                    self.assertEqual(harmful(ran.out + ran.err), [], ascii(str(ran)))
                    data = strict(ran.out)
                    if ran.status == 0 and field in ("compare setup", "plan --setup"):
                        self.assertEqual(data["inputs"]["setups"][0], text)

    def check_page(self, text):
        page = Page(text)
        self.assertEqual(page.open, [])
        self.assertNotIn("script", page.tags)
        self.assertEqual(harmful(text), [], ascii(harmful(text)))

    def check_picture(self, text):
        xml.etree.ElementTree.fromstring(text)  # a stricter reader than any browser
        self.assertEqual(harmful(text), [])
        self.assertNotIn("<script", text)


class Tables(ProgramTest):
    """CSV that we write is for spreadsheet programs, which take some texts for formulas, and for us to read again."""

    RISKY = tuple("=+-@\t\r\uff1d\uff0b\uff0d\uff20")

    def test_claims_come_back_with_an_apostrophe_before_what_would_be_a_formula(self):
        texts = [text for text in TEXTS if text != CONTROL] + ["\uff0b1", "\uff0d1", "\uff20x"]
        for separator in ",;\t":
            lines = separator.join(("claim", "shots_1", "average_1")) + "\n"
            table = lines + "".join(separator.join(('"' + t.replace('"', '""') + '"', "3", "281")) + "\n" for t in texts)
            ran = self.answered("audit", "--table", "-", stdin=table)
            rows = list(csv.reader(io.StringIO(ran.out), delimiter=separator))
            self.assertEqual(len(rows), len(texts) + 1)
            for text, row in zip(texts, rows[1:]):
                self.assertEqual(row[1], ("'" if text[0] in self.RISKY else "") + text)

    def test_a_wrong_row_tells_its_text_harmlessly(self):
        for text in TEXTS:
            table = "claim,shots_1,average_1\n" + cell(text) + ",x," + cell(text) + "\n"
            ran = self.ended(run("audit", "--table", "-", stdin=table), 3)
            row = list(csv.reader(io.StringIO(ran.out)))[1]
            self.assertEqual(harmful(row[-1]), [], ascii(row[-1]))
            self.assertFalse(row[-1].startswith(self.RISKY), row[-1])
            self.assertEqual(harmful(ran.err), [], ascii(ran.err))

    def test_columns_passed_over_are_named_harmlessly(self):
        for text in TEXTS:
            ran = run("audit", "--table", "-", stdin=f"shots_1,average_1,{cell(text)}\n3,281,x\n")
            self.assertIn(ran.status, (0, 3), str(ran))
            self.assertEqual(harmful(ran.err), [], ascii(ran.err))

    def test_a_blank_sheet_gives_its_names_back_or_is_not_written(self):
        plan = ("plan", "--shots", "2", "--sd", "1.2")
        written = 0
        for text in TEXTS:
            for words in ((f"--setup={text}", "--setup=b"), (f"--title={text}",), (f"--check-standard={text}",)):
                with self.subTest(words=ascii(words)):
                    file = self.folder / "s.csv"
                    file.unlink(missing_ok=True)
                    ran = run(*plan, "--sheet", file, *words)
                    title = words[0].startswith("--title")
                    self.assertEqual(ran.status, 2 if text == CONTROL or (not title and text[0] in self.RISKY) else 0, str(ran))
                    self.assertEqual(harmful(ran.out + ran.err), [])
                    self.assertEqual(file.exists(), ran.status == 0)
                    if ran.status != 0:
                        continue
                    written += 1
                    lines = file.read_text(encoding="utf-8").split("\n")[:-1]
                    for row in csv.reader(lines):
                        for at in row:
                            self.assertFalse(at.startswith(self.RISKY), row)
                    # Shot to the end, it is compared under these names.
                    header = next(i for i, line in enumerate(lines) if line.startswith("order,"))
                    at = lines[header].split(",").index("speed_fps")
                    shot = list(csv.reader(lines[header + 1:]))
                    for i, row in enumerate(shot):
                        row[at] = str(271 + i % 3)
                    out = io.StringIO()
                    csv.writer(out, lineterminator="\n").writerows(shot)
                    data = self.compared("-", stdin="\n".join(lines[:header + 1]) + "\n" + out.getvalue())
                    if words[0].startswith("--setup"):
                        self.assertEqual(data["inputs"]["setups"], [text, "b"])
                    if title:
                        answer = self.answered("compare", "-", "--report", self.folder / "r.html", "--force",
                                               stdin="\n".join(lines[:header + 1]) + "\n" + out.getvalue())
                        self.assertEqual(harmful(answer.out), [])
        self.assertEqual(written, 2 * 2 + 7)


class Clinic(ProgramTest):
    def test_lesson_and_tally(self):
        self.answered("clinic", "make", "--students", "2", "--out", "l", folder=self.folder)
        key, answers = (self.folder / "l" / name for name in ("key.csv", "answers.csv"))
        plain_key, plain = key.read_text(), answers.read_text()
        for text in TEXTS:
            with self.subTest(text=ascii(text)):
                answers.write_text(plain.replace("faster\n", f"faster,{cell(text)}\n").replace(",\n", ",,\n"), encoding="utf-8")
                ran = run("clinic", "tally", answers, "--report", self.folder / "t.html", "--force")
                self.assertEqual(harmful(ran.out + ran.err), [], ascii(str(ran)))
                self.assertEqual(ran.status, 3 if text == CONTROL else 0, str(ran))
                if ran.status == 0:
                    Everywhere.check_page(self, (self.folder / "t.html").read_text(encoding="utf-8"))
                answers.write_text(plain.replace("1,\n", f"1,{cell(text)}\n"), encoding="utf-8")
                ran = self.refused(3, "clinic", "tally", answers)
                self.assertEqual(harmful(ran.err), [], ascii(ran.err))
                answers.write_text(plain, encoding="utf-8")
                for line, changed in (("# unit: fps", f"# unit: {text}"), ("# display: 1", f"# display: {text}"),
                                      ("# clinic: shotassay 1", f"# clinic: {text}")):
                    key.write_text(plain_key.replace(line, changed), encoding="utf-8")
                    ran = self.refused(3, "clinic", "tally", answers)
                    self.assertEqual(harmful(ran.err), [], ascii(ran.err))
                key.write_text(plain_key, encoding="utf-8")

    def test_a_key_whose_numbers_make_no_lesson_is_a_bad_file(self):
        self.answered("clinic", "make", "--students", "2", "--out", "l", folder=self.folder)
        key = self.folder / "l" / "key.csv"
        plain = key.read_text()
        for line, changed in (("# sd: 1.2", "# sd: 0.01"), ("# display: 1", "# display: 0.000000001"), ("# gap: 2", "# gap: 1e8")):
            key.write_text(plain.replace(line, changed), encoding="utf-8")
            self.assertNotEqual(key.read_text(), plain)
            self.complains(self.refused(3, "clinic", "tally", self.folder / "l" / "answers.csv"), "key.csv: ")

    def test_names_of_folders_and_files(self):
        for text in ((FORMULA + MARKUP).replace("/", "|"), UNSEEN + CONTROL + "two\nlines "):
            with self.subTest(text=ascii(text)):
                for words in (("clinic", "make", "--students", "1", f"--out={text}"), ("clinic", "page", f"--out={text}.html")):
                    ran = self.answered(*words, folder=self.folder)
                    self.assertEqual(harmful(ran.out), [], ascii(ran.out))
                    self.assertTrue((self.folder / words[-1].partition("=")[2]).exists())
                    ran = self.ended(run(*words, "--force", "--json", folder=self.folder), 0)
                    self.assertEqual(harmful(ran.out), [], ascii(ran.out))
                    strict(ran.out)
                page = (self.folder / text / "key.html").read_text(encoding="utf-8")
                Everywhere.check_page(self, page)
                ran = self.refused(2, "clinic", "show", text)
                self.assertEqual(harmful(ran.err), [], ascii(ran.err))
                sheet_file = self.file(sheet(), text.replace("\n", "") + ".csv")
                ran = self.answered("clinic", "show", "luck", "--tests", "2", "--from", sheet_file)
                self.assertEqual(harmful(ran.out), [], ascii(ran.out))


class Names(ProgramTest):
    AUDIT = ("audit", "--shots", "3", "--average", "281", "--average", "284")

    def test_two_writings_of_one_name_are_refused_as_in_a_sheet(self):
        for a, b in (("A", "a"), ("18 strands", "18  Strands"), ("x", "x\u200b"), ("x", "x\u202e"), ("x y", "x\u00a0y")):
            with self.subTest(names=ascii((a, b))):
                for words in ((*self.AUDIT, f"--setup={a}", f"--setup={b}"),
                              ("plan", "--shots", "3", "--sd", "1", f"--setup={a}", f"--setup={b}"),
                              ("plan", "--total-shots", "8", f"--sd={a}=1", f"--sd={b}=2")):
                    ran = self.refused(2, *words)
                    self.complains(ran, "only in case, blanks or invisible characters")
                self.complains(self.ended(run("compare", "-", stdin=tall(setups={a: [271, 272], b: [275, 276]})), 3),
                               "only in case, blanks or invisible characters")
        self.answered(*self.AUDIT, "--setup=A", "--setup=B")


if __name__ == "__main__":
    main()
