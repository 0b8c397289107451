#!/usr/bin/env python3
"""What changes where the program runs somewhere else? Locale, time zone, terminal, folder, limits: not one byte."""

import locale
import subprocess
import sys

from program import BOWSTRINGS, EXAMPLES, ProgramTest, bound_in_memory, environment, main, needs_bare_program, program, run, tall

COMMANDS = (("compare", BOWSTRINGS, "--all-methods", "--margin", "2"),
            ("compare", EXAMPLES / "wide-decimal-comma.csv", "--unit", "fps"),
            ("plan", "--resolve", "3", "--sd", "1.2"),
            ("budget", EXAMPLES / "gap-budget.json"),
            ("audit", "--shots", "3", "--average", "281", "--average", "284"),
            ("audit", "--table", EXAMPLES / "claims.csv"),
            ("clinic", "show", "luck", "--tests", "20"),
            ("compare", EXAMPLES / "problems.csv"), ("plan", "--help"), ("--version",))
QUICK = (COMMANDS[1], COMMANDS[2], COMMANDS[5], COMMANDS[7])


class Surroundings(ProgramTest):
    @classmethod
    def setUpClass(cls):
        cls.known = {words: run(*words) for words in COMMANDS}

    def unchanged(self, words=QUICK, wrap=(), without=(), **variables):
        for command in words:
            with self.subTest(command=command, without=without, **variables):
                settings = {**environment(), **variables}
                for name in without:
                    settings.pop(name, None)
                done = subprocess.run([*wrap, program(), *map(str, command)], env=settings, stdin=subprocess.DEVNULL,
                                      capture_output=True, check=False, timeout=280)
                before = self.known[command]
                self.assertEqual((done.returncode, done.stdout, done.stderr),
                                 (before.status, before.out_bytes, before.err_bytes))

    def test_locale(self):
        for name in ("C", "POSIX", "nonsense", "", "../../etc/passwd"):
            self.unchanged(LC_ALL=name)
        self.unchanged(without=("LC_ALL",), LANG="de_DE.ISO-8859-1", LC_NUMERIC="de_DE.UTF-8", LANGUAGE="de:tr")
        for name in ("de_DE.UTF-8", "tr_TR.UTF-8"):
            try:
                locale.setlocale(locale.LC_ALL, name)
                locale.setlocale(locale.LC_ALL, "C")
            except locale.Error:
                print(f"SKIPPED, NOT TESTED: the locale {name} is missing", file=sys.stderr)
                continue
            self.unchanged(COMMANDS if name == "de_DE.UTF-8" else QUICK, LC_ALL=name)

    def test_time_zone(self):
        for zone in ("Pacific/Kiritimati", "nonsense", ":/etc/passwd"):
            self.unchanged(TZ=zone)

    def test_terminal_variables_without_a_terminal(self):
        self.unchanged(without=("TERM",))
        for variables in ({"TERM": "dumb"}, {"TERM": "xterm-256color"}, {"TERM": ""}, {"NO_COLOR": "1"}, {"NO_COLOR": ""},
                          {"CLICOLOR": "1"}, {"CLICOLOR_FORCE": "1"}, {"FORCE_COLOR": "3"}, {"COLORTERM": "truecolor"}):
            self.unchanged(**variables)

    def test_columns_that_are_no_width_mean_80(self):
        for columns in ("0", "-3", "abc", "", "1e9", "80.5", " 40", "40x", "99999999999999999999"):
            self.unchanged(COLUMNS=columns)
        self.unchanged(without=("COLUMNS",))

    def test_columns_beyond_any_terminal_and_too_few_for_a_word(self):
        for columns in ("1", "5", "1000000000"):
            for words in COMMANDS[:7]:
                with self.subTest(words=words, columns=columns):
                    ran = self.ended(run(*words, width=columns), self.known[words].status)
                    self.assertRegex(ran.out, "[0-9]")
                    self.assertLess(max(map(len, ran.out.splitlines())), 1100)

    def test_home_and_the_rest_of_the_environment(self):
        self.unchanged(without=("HOME", "PATH", "USER", "LOGNAME", "SHELL", "PWD"))
        self.unchanged(HOME="/nonexistent", PWD="/nonexistent", IFS="x")
        self.unchanged(wrap=("env", "-i", "COLUMNS=80"))

    def test_no_folder_for_drafts(self):
        needs_bare_program(self)
        self.unchanged(TMPDIR="/nonexistent")

    def test_a_folder_that_is_gone(self):
        needs_bare_program(self)
        self.unchanged(wrap=("sh", "-c", 'd=$(mktemp -d); cd "$d"; rmdir "$d"; exec "$0" "$@"'))
        gone = ("sh", "-c", 'd=$(mktemp -d); cd "$d"; rmdir "$d"; exec "$0" "$@"')
        ran = self.refused(4, "plan", "--shots", "3", "--sd", "1", "--sheet", "s.csv", "--report", "p.html", wrap=gone)
        self.complains(ran, "--sheet s.csv: cannot be written: No such file or directory")
        self.complains(self.refused(3, "compare", "s.csv", wrap=gone), "s.csv: there is no such file")

    def test_streams_that_are_closed(self):
        needs_bare_program(self)
        for words in (*QUICK, *COMMANDS[6:]):
            with self.subTest(words=words):
                for closed in ("<&-", "2>&-", "<&- 2>&-"):
                    ran = run(*words, wrap=("sh", "-c", f'exec "$0" "$@" {closed}'))
                    self.assertEqual((ran.status, ran.out), (self.known[words].status, self.known[words].out), closed)
                ran = run(*words, wrap=("sh", "-c", 'exec "$0" "$@" >&-'))
                self.assertEqual(ran.status, 4 if self.known[words].out else 3, str(ran))
                self.assertNotIn("terminate", ran.err)
        ran = self.refused(3, "compare", "-", wrap=("sh", "-c", 'exec "$0" "$@" <&-'))
        self.complains(ran, "standard input: cannot be read: Bad file descriptor")

    def test_no_message_goes_into_a_file_that_took_the_place_of_a_closed_stream(self):
        needs_bare_program(self)
        table = self.file("claim,shots_1,average_1,nobody knows this\na,3,281,x\n", "table.csv")
        self.ended(run("audit", "--table", table, "--out", "plain.csv", folder=self.folder), 0)
        plain = (self.folder / "plain.csv").read_bytes()
        for closed in ("2>&-", "<&- 2>&-", "<&- >&- 2>&-"):
            given = "-" if "<&-" not in closed else table
            ran = run("audit", "--table", given, "--out", "out.csv", "--force", stdin=table.read_bytes(), folder=self.folder,
                      wrap=("sh", "-c", f'exec "$0" "$@" {closed}'))
            self.assertEqual(ran.status, 0, closed)
            self.assertEqual((self.folder / "out.csv").read_bytes(), plain, closed)

    def test_rights_of_new_files_are_the_caller_s(self):
        claims = self.file("claim,shots_1,average_1\na,3,281\n", "claims.csv")
        for mask, rights in (("077", 0o600), ("022", 0o644), ("000", 0o666), ("777", 0)):
            wrap = ("sh", "-c", f'umask {mask}; exec "$0" "$@"')
            for at, words in enumerate((("plan", "--shots", "3", "--sd", "1", "--sheet", "x.csv"),
                                        ("compare", BOWSTRINGS, "--report", "x.html"), ("clinic", "page", "--out", "y.html"),
                                        ("audit", "--table", claims, "--out", "z.csv"))):
                file = self.folder / str(words[-1])
                self.answered(*words, folder=self.folder, wrap=wrap)
                self.assertEqual(file.stat().st_mode & 0o777, rights, (mask, at))
                file.unlink()

    def test_few_files_may_be_open(self):
        limited = ("sh", "-c", 'ulimit -n 3; exec "$0" "$@"')
        bound_in_memory(self)  # and the files that these open themselves
        ran = run("plan", "--shots", "3", "--sd", "1", "--sheet", self.folder / "s.csv", wrap=limited)
        if ran.status != 127:  # the loader could not open the program's libraries
            self.assertEqual(ran.status, 4, str(ran))
            self.assertIn("Too many open files", ran.err)
        self.assertEqual(list(self.folder.iterdir()), [])

    def test_little_memory_is_told_or_suffices(self):
        bound_in_memory(self)
        shots = self.file(tall(setups={"a": [271, 272] * 40_000, "b": [275, 276] * 40_000}))
        table = self.file("claim,shots_1,average_1,shots_2,average_2\n" +
                          "".join(f"c{i},{3 + i % 7},281.{i % 10},5,284.3\n" for i in range(300)), "t.csv")
        told = 0
        for words in (("compare", shots), ("compare", BOWSTRINGS, "--method", "bootstrap_t", "--resamples", "1e5", "--threads", "2"),
                      ("plan", "--shots", "4", "--resolve", "3", "--sd", "1.2", "--simulate", "1e3", "--threads", "2"),
                      ("budget", EXAMPLES / "gap-budget.json", "--threads", "2"), ("audit", "--table", table, "--threads", "2")):
            for kib in (24_000, 64_000):
                with self.subTest(words=words, kib=kib):
                    ran = run(*words, wrap=("sh", "-c", f'ulimit -v {kib}; exec "$0" "$@"'))
                    if ran.status == 127 or "error while loading shared libraries" in ran.err:
                        continue
                    self.assertIn(ran.status, (0, 4), str(ran)[:800])
                    if ran.status == 4:
                        told += 1
                        self.assertIn("shotassay: ", ran.err)
        self.assertGreater(told, 0)


if __name__ == "__main__":
    main()
