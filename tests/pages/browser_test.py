#!/usr/bin/env python3
"""Pages and pictures as a browser shows and prints them. With SHOTASSAY_PICTURES=FOLDER every view is kept there."""

import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unicodedata
import unittest
import xml.etree.ElementTree

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "cli"))
from program import EXAMPLES, ProgramTest, main, run, tall  # noqa: E402

import browser as chromium  # noqa: E402

KEPT = os.environ.get("SHOTASSAY_PICTURES")
WIDTHS = (360, 800, 1280)
A4, LETTER = (8.27, 11.69), (8.5, 11)
TENTHS = EXAMPLES / "three-strings-a-kind.csv"
LONG = "a bowstring with a name far longer than anybody would want to read at a range"
OPEN = tall(("title: Two strings on one bow", "display: 1"), setups={"14 strands": (191, 193, 190, 192), "18 strands": (190, 193, 191, 189)})
HARD = tall(("title: " + LONG * 2,), setups={LONG: (271, 272, 280), "w" * 60: (275, 276, 281), "弓弦十四本" * 4: (270, 277, 276)})
MANY = "setup,bow,speed_fps\n" + "".join(f"{kind},{kind}{bow},{speed + bow + shot}\n" for kind, speed in (("a", 180), ("b", 176))
                                        for bow in range(12) for shot in range(2))
LEFT_OUT = ("# title: With a shot left out\nsetup,round,bow,arrow,speed_fps,excluded,note,draw_weight_lbf\n"
            "a,1,one,3,271,,,40.1\nb,1,two,3,275,,windy,\na,2,one,5,,string came off the nock,,\nb,2,two,5,276,,,\n"
            "a,3,one,7,272,,,\nb,3,two,7,274,,,\nb,4,two,7,199,arrow touched the rest <b>,,\n")

# What is written and where it may be seen: each a page, with its main figure where there is one.
PAGES = {
    "two set-ups": ("compare", EXAMPLES / "bowstrings.csv", "--margin", "3", "--all-methods"),
    "a family": ("compare", EXAMPLES / "three-bowstrings.csv"),
    "kinds": ("compare", TENTHS),
    "many bows": ("compare", MANY),
    "days": ("compare", EXAMPLES / "saturday.csv", EXAMPLES / "sunday.csv"),
    "unequal": ("compare", EXAMPLES / "unequal-setups.csv", "--per-lbf", "2.1", "--per-lbf-u", "0.5", "--bow-type", "recurve",
                "--budget"),
    "stated": ("compare", EXAMPLES / "bowstrings.csv", "--bow-sd", "1"),
    "history": ("compare", EXAMPLES / "three-shots.csv", "--history", EXAMPLES / "earlier-spring.csv", "--history",
                EXAMPLES / "earlier-summer.csv"),
    "open": ("compare", OPEN),
    "hard names": ("compare", HARD, "--margin", "2"),
    "left out": ("compare", LEFT_OUT),
    "plan": ("plan", "--resolve", "3", "--sd", "1.2"),
    "plan from a pilot": ("plan", "--resolve", "2", "--from", EXAMPLES / "bowstrings.csv"),
    "plan by Welch": ("plan", "--shots", "6", "--sd", "1.2", "--method", "welch"),
    "plan for kinds": ("plan", "--kinds", "--resolve", "3", "--sd", "1", "--bow-sd", "1"),
    "budget": ("budget", EXAMPLES / "gap-budget.json", "--digits", "1"),
    "energy": ("budget", EXAMPLES / "kinetic-energy.json", "--digits", "1"),
    "audit": ("audit", "--shots", "4", "--average", "191.5", "--sd", "1.3", "--average", "187.3", "--spread", "3",
              "--claims", "slower", "--arrow-mass", "350", "--draw-weight", "38.0", "--draw-weight", "38.5"),
    "audit of a misprint": ("audit", "--shots", "3", "--average", "281.4", "--states", "distance=10 ft"),
}
LESSON = "lesson"  # pages of a clinic; no command draws one of their figures alone
WITHOUT_FIGURE = {"plan for kinds", "audit of a misprint"}

# Boxes beyond the window; texts by the contrast with what lies behind them; figures.
MEASURE = """(() => {
  const luminance = color => {
    const [r, g, b] = color.match(/[\\d.]+/g).slice(0, 3).map(Number).map(c => c / 255)
      .map(c => c <= 0.04045 ? c / 12.92 : Math.pow((c + 0.055) / 1.055, 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const contrast = (a, b) => (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  const paper = luminance(getComputedStyle(document.body).backgroundColor);
  document.querySelectorAll("details").forEach(d => d.open = true);
  const beyond = [], pale = [], small = [];
  for (const e of document.body.querySelectorAll("*")) {
    const box = e.getBoundingClientRect();
    if (box.width > 0 && (box.right > innerWidth + 0.5 || box.left < -0.5)) beyond.push(e.outerHTML.slice(0, 120));
    const own = [...e.childNodes].some(n => n.nodeType == 3 && n.data.trim());
    if (!own || e.closest("title, desc")) continue;
    const style = getComputedStyle(e), in_figure = e instanceof SVGElement;
    if (contrast(luminance(in_figure ? style.fill : style.color), paper) < 4.5) pale.push(e.textContent);
    const scale = in_figure ? e.ownerSVGElement.getScreenCTM().a : 1;
    if (parseFloat(style.fontSize) * scale < 11.5) small.push(e.textContent);
  }
  const cut = [...document.querySelectorAll("svg.figure")].flatMap(svg => {
    const frame = svg.getBoundingClientRect();
    return [...svg.querySelectorAll("text")].filter(t => {
      const box = t.getBoundingClientRect();
      return box.right > frame.right + 1 || box.left < frame.left - 1 || box.bottom > frame.bottom + 1;
    }).map(t => t.textContent);
  });
  const texts = [...document.querySelectorAll("svg.figure")].map(svg =>
    [...svg.querySelectorAll("text")].map(t => t.textContent));
  return JSON.stringify({scroll: document.documentElement.scrollWidth, inner: innerWidth, beyond, pale, small, cut, texts,
                         background: getComputedStyle(document.body).backgroundColor});
})()"""


def keep(name, content):
    if KEPT:
        path = pathlib.Path(KEPT) / name.replace(" ", "-")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def solid(text):
    """Without blanks: lines are broken elsewhere on paper. Without wide letters: a machine may have no font for them."""
    return "".join(c for c in text if not c.isspace() and unicodedata.east_asian_width(c) not in "WF")


@unittest.skipUnless(chromium.chromium(), "no chromium")
class Seen(ProgramTest):
    @classmethod
    def setUpClass(cls):
        cls.place = tempfile.TemporaryDirectory(prefix="shotassay-pages-")
        folder = pathlib.Path(cls.place.name)
        cls.files = {}
        for name, words in PAGES.items():
            given = words[1] if isinstance(words[1], str) and "\n" in words[1] else ""
            words = [words[0], "-", *words[2:]] if given else words
            file = folder / (name.replace(" ", "-") + ".html")
            figure = [] if name in WITHOUT_FIGURE else ["--svg", file.with_suffix(".svg")]
            ran = run(*words, "--report", file, *figure, stdin=given)
            if ran.status != 0:
                raise AssertionError(f"{words}: {ran}")
            cls.files[name] = file
            keep(file.name, file.read_bytes())
        ran = run("clinic", "make", "--students", "3", "--out", folder / "lesson")
        if ran.status != 0:
            raise AssertionError(str(ran))
        for file in sorted((folder / "lesson").glob("*.html")):
            cls.files[f"{LESSON} {file.stem}"] = file
        cls.browser = chromium.Browser()

    @classmethod
    def tearDownClass(cls):
        cls.browser.close()
        cls.place.cleanup()

    def test_every_width_and_scheme_shows_all_of_it(self):
        grounds = {}
        for name, file in self.files.items():
            self.browser.open(file)
            for width in WIDTHS:
                for scheme in ("light", "dark"):
                    with self.subTest(page=name, width=width, scheme=scheme):
                        self.browser.show(width, scheme)
                        seen = json.loads(self.browser.ask(MEASURE))
                        keep(f"{file.stem}-{width}-{scheme}.png", self.browser.photograph() if KEPT else b"")
                        self.assertEqual(seen["inner"], width)
                        self.assertLessEqual(seen["scroll"], width)
                        for fault in ("beyond", "pale", "small", "cut"):
                            self.assertEqual(seen[fault], [])
                        grounds[scheme] = seen["background"]
            self.assertEqual(self.browser.messages, [], name)
            self.assertEqual(self.browser.requests, [file.resolve().as_uri()], "nothing is fetched but the page")
        self.assertNotEqual(grounds["light"], grounds["dark"])

    def test_on_paper_no_page_is_empty_and_no_figure_cut(self):
        for name, file in self.files.items():
            self.browser.show(1280)
            self.browser.open(file)
            figures = [[solid(text) for text in texts] for texts in json.loads(self.browser.ask(MEASURE))["texts"]]
            self.browser.open(file)  # as it was before the details were opened
            for paper, size in (("a4", A4), ("letter", LETTER)):
                with self.subTest(page=name, paper=paper):
                    pdf = self.browser.paper(*size)
                    keep(f"{file.stem}-{paper}.pdf", pdf)
                    pages = self.pages_of(pdf)
                    self.assertNotIn("", pages)
                    self.assertLessEqual(len(pages), 8)
                    for texts in figures:
                        self.assertTrue(any(all(text in page for text in texts) for page in pages), texts)
                    if figures and not name.startswith(LESSON):  # a handout leaves the numbers on the screen
                        self.assertGreater("".join(pages).count(solid("The figure in numbers")), 0)

    def pages_of(self, pdf):
        file = self.folder / "page.pdf"
        file.write_bytes(pdf)
        text = subprocess.run(["pdftotext", "-enc", "UTF-8", file, "-"], capture_output=True, check=True).stdout.decode("utf-8")
        return [solid(page) for page in text.split("\f")[:-1]]

    def test_numbers_of_figures_are_on_paper_too(self):
        self.browser.open(self.files["two set-ups"])
        pages = "".join(self.pages_of(self.browser.paper(*A4)))
        self.assertIn("191(2times)", pages)

    def test_pictures_stand_alone(self):
        for name, file in self.files.items():
            if name in WITHOUT_FIGURE or name.startswith(LESSON):
                continue
            picture = file.with_suffix(".svg")
            root = xml.etree.ElementTree.parse(picture).getroot()
            ids = root.get("aria-labelledby").split()
            named = {e.get("id"): e.text for e in root.iter() if e.get("id")}
            self.assertTrue(all(named[i] for i in ids), name)
            grounds = []
            for scheme in ("light", "dark"):
                with self.subTest(picture=name, scheme=scheme):
                    self.browser.show(800, scheme)
                    self.browser.open(picture)
                    self.assertEqual((self.browser.messages, len(self.browser.requests)), ([], 1))
                    grounds.append(self.browser.ask('getComputedStyle(document.querySelector(".paper")).fill'))
                    keep(f"{file.stem}-figure-{scheme}.png", self.browser.photograph() if KEPT else b"")
            self.assertNotEqual(*grounds)

    def test_html_is_valid(self):
        for name, file in self.files.items():
            with self.subTest(page=name):
                done = subprocess.run(["tidy", "-quiet", "-errors", "-utf8", file], capture_output=True, text=True, check=False)
                # The title of a picture is SVG's, which may have an id; this program knows HTML's alone.
                faults = [line for line in done.stderr.splitlines() if not line.endswith('<title> proprietary attribute "id"')]
                self.assertEqual(faults, [])
                self.assertLess(done.returncode, 2)

    def test_texts_of_screen_readers_are_sentences(self):
        for name, file in self.files.items():
            text = file.read_text(encoding="utf-8")
            for said in re.findall(r"<desc[^>]*>(.*?)</desc>", text, re.S):
                with self.subTest(page=name, text=said[:60]):
                    self.assertRegex(said, r"^\S.*[.]$")
            self.assertEqual(text.count("<desc"), text.count("<details"), name)


class Colours(unittest.TestCase):
    """The palette, as people see it who tell red and green badly: marks that stand in one figure stay apart."""

    # Viénot, Brettel and Mollon (1999), Digital video colourmaps for checking the legibility of displays by dichromats,
    # Color Research & Application 24, 243–252; in linear RGB.
    DICHROMATS = {"protan": ((0.11238, 0.88762, 0), (0.11238, 0.88762, 0), (0.00401, -0.00401, 1)),
                  "deutan": ((0.29275, 0.70725, 0), (0.29275, 0.70725, 0), (-0.02234, 0.02234, 1))}

    @staticmethod
    def linear(color):
        channels = [int(color[i:i + 2], 16) / 255 for i in (1, 3, 5)]
        return [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]

    @staticmethod
    def lab(rgb):
        rows = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))  # IEC 61966-2-1, D65
        x, y, z = (sum(a * b for a, b in zip(row, rgb)) / white for row, white in zip(rows, (0.9505, 1, 1.089)))
        f = [t ** (1 / 3) if t > 0.008856 else 7.787 * t + 16 / 116 for t in (x, y, z)]
        return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])

    def test_marks_stay_apart_for_dichromats(self):
        ran = run("plan", "--resolve", "3", "--sd", "1.2", "--svg", pathlib.Path(self.folder.name) / "p.svg")
        self.assertEqual(ran.status, 0, str(ran))
        style = (pathlib.Path(self.folder.name) / "p.svg").read_text(encoding="utf-8")
        schemes = [dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", part)) for part in style.split("prefers-color-scheme: dark")[:2]]
        for colours in schemes:
            marks = [self.linear(colours[name]) for name in ("fact", "mark", "limit")]
            for kind, rows in self.DICHROMATS.items():
                seen = [self.lab([max(0, sum(a * b for a, b in zip(row, c))) for row in rows]) for c in marks]
                apart = [sum((p - q) ** 2 for p, q in zip(seen[i], seen[j])) ** 0.5 for i, j in ((0, 1), (0, 2), (1, 2))]
                with self.subTest(kind=kind):
                    self.assertGreater(min(apart), 23)  # ten times what is just noticeable side by side

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory(prefix="shotassay-colours-")
        self.addCleanup(self.folder.cleanup)


if __name__ == "__main__":
    if not chromium.chromium():
        print("SKIPPED, NOT TESTED: there is no chromium; tests/run-all.sh installs it", file=sys.stderr)
    main()
