#!/usr/bin/env python3
"""The page to play with: its arithmetic against the library's in a browser, its looks at the width of a phone."""

import json
import random
import re
import shutil
import subprocess
import tempfile
import unittest

import mpmath

from program import ProgramTest, main, run

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


def dumped(path, width=800):
    """The page's tree after its scripts have run."""
    with tempfile.TemporaryDirectory(prefix="shotassay-browser-") as profile:
        done = subprocess.run([BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
                               f"--user-data-dir={profile}",
                               f"--window-size={width},900", "--virtual-time-budget=5000", "--dump-dom", path.as_uri()],
                              capture_output=True, timeout=120, check=True)
    return done.stdout.decode("utf-8")


def answer(dom):
    """What the appended script left in its element."""
    found = re.search(r'<pre id="answer">(.*?)</pre>', dom, re.DOTALL)
    return json.loads(found[1].replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&"))


class Page(ProgramTest):
    def page(self, *words):
        path = self.folder / "luck.html"
        self.answered("clinic", "page", "--out", path, *words)
        return path

    def asked(self, expression, *words, width=800):
        path = self.page("--force", *words)
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("</body>", '<pre id="answer"></pre><script>document.getElementById("answer").textContent'
                                                f" = JSON.stringify({expression})</script></body>"), encoding="utf-8")
        return answer(dumped(path, width))

    def test_it_is_one_file_that_fetches_nothing(self):
        text = self.page().read_text(encoding="utf-8")
        self.assertNotRegex(text, r"https?:|//cdn|@import|url\(|<link|src=")
        self.assertEqual(text, self.page("--force").read_text(encoding="utf-8"))
        self.assertIn("m/s", self.page("--force", "--unit", "m/s").read_text(encoding="utf-8"))

    def test_a_file_that_exists_stays(self):
        path = self.page()
        self.complains(self.refused(2, "clinic", "page", "--out", path), "--force replaces it")
        self.complains(self.refused(2, "clinic", "page"), "clinic page --out: name the file")

    def test_json_names_the_file(self):
        path = self.folder / "p.html"
        data = self.json_of(self.answered("clinic", "page", "--out", path, "--json", "--confidence", "0.9"), "clinic")
        self.assertEqual((data["command"], data["result"]["files"]), ("clinic page", [str(path)]))
        self.assertEqual(data["result"]["confidence"], 0.9)

    @unittest.skipUnless(BROWSER, "no browser")
    def test_its_interval_is_the_librarys_on_200_seeded_cases(self):
        draw = random.Random(20)
        cases, expected = [], []
        for i in range(200):
            sd, level = draw.choice((0.1, 0.3, 0.6, 1.2, 4)), draw.choice((0.8, 0.95, 0.95, 0.99))
            groups = [[round(190 + draw.choice((0, 0.5)) + draw.gauss(0, sd)) for _ in range(draw.randint(2, 20))]
                      for _ in range(2)]
            data = self.compared(self.sheet(a=groups[0], b=groups[1]), "--confidence", level)
            gap = data["result"]["gaps"][0]
            cases.append([*groups, 1 - level])
            expected.append((gap["difference"], 0.5 * (gap["interval"]["upper"] - gap["interval"]["lower"]), gap["verdict"]))
        found = self.asked(f"{json.dumps(cases)}.map(([a, b, alpha]) => {{ const i = clinic.interval(a, b, alpha); "
                           "return [i.gap, i.half, clinic.verdict(i)]; })")
        self.assertEqual(len(found), 200)
        names = {1: "faster", -1: "slower", 0: "open"}
        for case, (gap, half, verdict), (right_gap, right_half, right_verdict) in zip(cases, found, expected):
            self.assertAlmostEqual(gap, right_gap, delta=1e-9, msg=case)
            self.assertAlmostEqual(half, right_half, delta=1e-9 * max(1, right_half), msg=case)
            self.assertEqual(names[verdict], right_verdict, case)

    @unittest.skipUnless(BROWSER, "no browser")
    def test_its_t_quantile_holds_to_twelve_digits(self):
        cases = [[p, nu] for p in (0.25, 0.1, 0.05, 0.025, 0.005, 0.0005) for nu in (1, 1.37, 2, 3.5, 4, 7.9, 19, 38, 57.3, 400)]
        found = self.asked(f"{json.dumps(cases)}.map(([p, nu]) => clinic.tUpperQuantile(p, nu))")
        mpmath.mp.dps = 25
        for (p, nu), t in zip(cases, found):
            tail = lambda x: mpmath.betainc(mpmath.mpf(nu) / 2, 0.5, 0, nu / (nu + x * x), regularized=True) / 2 - mpmath.mpf(p)
            self.assertLess(abs(t / mpmath.findroot(tail, mpmath.mpf(t) * 1.0001) - 1), 1e-12, (p, nu))

    @unittest.skipUnless(BROWSER, "no browser")
    def test_the_pile_grows_and_a_new_truth_starts_it_anew(self):
        counts = "[...document.querySelectorAll('#pile .count')].map((x) => parseInt(x.textContent))"
        found = self.asked("(() => { const out = []; const see = () => out.push("
                           f"{counts}.reduce((x, y) => x + y, 0)); see(); document.getElementById('again').click(); see();"
                           "document.getElementById('many').click(); see(); const s = document.getElementById('gap');"
                           "s.value = 0; s.dispatchEvent(new Event('input', {bubbles: true})); see();"
                           "out.push(document.getElementById('truth').textContent); return out; })()")
        self.assertEqual(found, [2, 4, 204, 2, "The truth: there is no gap at all."])

    @unittest.skipUnless(BROWSER, "no browser")
    def test_nothing_is_wider_than_a_phone(self):
        self.assertLessEqual(width_in_frame(self.folder, self.page()), PHONE)


@unittest.skipUnless(BROWSER, "no browser")
class Handouts(ProgramTest):
    def setUp(self):
        super().setUp()
        self.lesson = self.folder / "evening"
        self.answered("clinic", "make", "--students", "12", "--seed", "7", "--out", self.lesson)

    def test_nothing_is_wider_than_a_phone(self):
        for page in sorted(self.lesson.glob("*.html")):
            with self.subTest(page=page.name):
                self.assertLessEqual(width_in_frame(self.folder, page), PHONE)

    def test_each_exercise_is_printed_on_one_page_and_luck_on_one_a_student(self):
        for name, pages in (("exercise-1-luck", 12), ("exercise-2-shots", 1), ("exercise-3-display", 1),
                            ("exercise-4-fooling", 1)):
            with self.subTest(page=name):
                self.assertEqual(printed_pages(self.lesson / f"{name}.html", self.folder / f"{name}.pdf"), pages)


PHONE = 360


def width_in_frame(folder, page):
    """How wide a page is in a frame of a phone's width: a browser's window has a least width of its own."""
    text = json.dumps(page.read_text(encoding="utf-8")).replace("</", "<\\/").replace("<!--", "<\\!--")
    frame = folder / "frame.html"
    frame.write_text(f'<body><iframe id="f" style="width:{PHONE}px;height:900px;border:0"></iframe><pre id="answer"></pre><script>'
                     'const f = document.getElementById("f"); f.onload = () => { const d = f.contentDocument;'
                     'if (!d.querySelector("main")) return; document.getElementById("answer").textContent ='
                     f"JSON.stringify(d.documentElement.scrollWidth); }}; f.srcdoc = {text};</script></body>", encoding="utf-8")
    return answer(dumped(frame))


def printed_pages(page, pdf):
    with tempfile.TemporaryDirectory(prefix="shotassay-browser-") as profile:
        subprocess.run([BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
                               f"--user-data-dir={profile}",
                        "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri()], capture_output=True, timeout=120,
                       check=True)
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))


if __name__ == "__main__":
    main()
