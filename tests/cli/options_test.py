#!/usr/bin/env python3
"""Options, mistakes and exit status: wrong, then right, as a tester, a reviewer and a coach would type it."""

import io
import os
import pathlib
import subprocess
import unittest
import zipfile

from program import (BOWSTRINGS, EXAMPLES, ProgramTest, bound_in_memory, codes, environment, main, needs_bare_program,
                     program, run)


class Help(ProgramTest):
    COMMANDS = {"compare": ("--setup", "--method", "--all-methods", "--margin", "--history", "--resamples", "--max-operations",
                            "--max-memory", "--any-speed", "--report", "--svg", "--force", "--exit-on-verdict"),
                "plan": ("--resolve", "--within", "--same-within", "--true-gap", "--shots", "--total-shots", "--sd", "--from",
                         "--shooter", "--setup", "--power", "--kinds", "--bow-sd", "--cost-bow", "--cost-shot", "--method",
                         "--simulate", "--max-operations", "--max-memory", "--sheet", "--report", "--svg", "--title", "--margin",
                         "--change", "--arrows", "--check-standard", "--warm-ups", "--force")}
    COMMON = ("--confidence", "--display", "--unit", "--seed", "--threads", "--color", "--json", "--help", "--version")

    def test_program_s_help_names_its_commands_and_an_example(self):
        for words in (("--help",), ("-h",)):
            ran = self.answered(*words)
            for word in (*self.COMMANDS, "Example:", "--version"):
                self.assertIn(word, ran.out)

    def test_each_command_s_help_names_its_options_and_an_example(self):
        for command, own in self.COMMANDS.items():
            ran = self.answered(command, "--help")
            for option in (*own, *self.COMMON):
                self.assertIn(option, ran.out)
            self.assertIn("Example:", ran.out)

    def test_the_examples_of_the_help_work(self):
        folder = EXAMPLES.parents[1]
        for command in (None, *self.COMMANDS):
            text = self.answered(*([command] if command else []), "--help").out
            example = text.split("Example:")[1].strip().splitlines()[0].split()
            self.assertEqual(example[0], "shotassay")
            self.answered(*example[1:], folder=folder)

    def test_help_wins_over_mistakes_beside_it(self):
        self.answered("compare", "--help", "--margin", "x")

    def test_help_is_a_word_too(self):
        self.assertEqual(self.answered("help").out, self.answered("--help").out)
        for command in self.COMMANDS:
            self.assertEqual(self.answered("help", command).out, self.answered(command, "--help").out)
        self.complains(self.refused(2, "help", "compair"), "there is no command compair; did you mean compare?")
        self.complains(self.refused(2, "hlep"), "did you mean help?")

    def test_version(self):
        version = self.answered("--version").out
        self.assertRegex(version, r"^shotassay \d+\.\d+\.\d+\n$")
        for command in self.COMMANDS:
            self.assertEqual(self.answered(command, "--version").out, version)

    def test_nothing_typed_shows_how(self):
        ran = self.ended(run(), 2)
        self.assertEqual(ran.out, "")
        self.assertIn("compare", ran.err)


class Misspelt(ProgramTest):
    def test_command(self):
        for typed, meant in (("compair", "compare"), ("comp", "compare"), ("plann", "plan"), ("Plan", "plan"),
                             ("copmare", "compare")):
            self.complains(self.refused(2, typed, BOWSTRINGS), f"there is no command {typed}; did you mean {meant}?")

    def test_command_like_none(self):
        self.complains(self.refused(2, "frobnicate"), "there is no command frobnicate; shotassay --help lists them")

    def test_a_sheet_where_the_command_belongs(self):
        self.complains(self.refused(2, BOWSTRINGS), "there is no command")

    def test_option(self):
        for typed, meant in (("--marign", "--margin"), ("--confidense", "--confidence"), ("--methods", "--method"),
                             ("--setups", "--setup"), ("--colour", "--color"), ("--all-method", "--all-methods"),
                             ("--anyspeed", "--any-speed")):
            with self.subTest(typed=typed):
                ran = self.refused(2, "compare", BOWSTRINGS, typed)
                self.complains(ran, f"{typed}: ", f"did you mean {meant}?")

    def test_option_with_its_value(self):
        self.complains(self.refused(2, "compare", BOWSTRINGS, "--marign=3"), "--marign", "did you mean --margin?")

    def test_option_like_none(self):
        self.complains(self.refused(2, "compare", BOWSTRINGS, "--frobnicate"), "--frobnicate", "--help lists them")

    def test_method(self):
        self.complains(self.refused(2, "compare", BOWSTRINGS, "--method", "wlech"), "--method wlech", "did you mean welch?")
        self.complains(self.refused(2, "compare", BOWSTRINGS, "--method", "frobnicate"), "there are rounding_aware",
                       "welch", "pooled", "permutation")

    def test_set_up(self):
        ran = self.refused(2, "compare", BOWSTRINGS, "--setup", "14 strand", "--setup", "18 strands")
        self.complains(ran, "--setup 14 strand", "did you mean 14 strands?")
        ran = self.refused(2, "compare", BOWSTRINGS, "--setup", "compound", "--setup", "18 strands")
        self.complains(ran, "the sheet has no such set-up")

    def test_all_mistakes_at_once(self):
        ran = self.refused(2, "compare", BOWSTRINGS, "--method", "wlech", "--margin", "-3", "--confidence", "95",
                           "--threads", "0", "--color", "pink", "--unit", "mph", "--display", "x", "--seed", "-1")
        self.complains(ran, "--method wlech", "--margin -3", "--confidence 95", "--threads 0", "--color pink", "--unit mph",
                       "--display x", "--seed -1")


class Values(ProgramTest):
    def test_confidence(self):
        self.complains(self.refused(2, "compare", BOWSTRINGS, "--confidence", "95"), "for 95 % write 0.95")
        for value in ("1", "0.4", "0", "-0.9", "high", "", "nan", "95%"):
            with self.subTest(value=value):
                self.refused(2, "compare", BOWSTRINGS, "--confidence", value)
        self.says(self.answered("compare", BOWSTRINGS, "--confidence", "0.9"), "confidence 90 %")
        ran = self.answered("compare", BOWSTRINGS, "--confidence", "0.99999999")
        self.says(ran, "confidence 99.999999 %")
        self.assertNotIn("100 %", ran.words)

    def test_margin(self):
        for value in ("0", "-3", "3fps", "3,5", "inf", "nan"):
            with self.subTest(value=value):
                self.complains(self.refused(2, "compare", BOWSTRINGS, "--margin", value), f"--margin {value}")
        self.answered("compare", BOWSTRINGS, "--margin", "0.5")
        self.answered("compare", BOWSTRINGS, "--margin=5e-1")

    def test_whole_numbers_accept_an_exponent(self):
        base = ("compare", BOWSTRINGS, "--method", "bootstrap_percentile", "--json", "--resamples")
        self.assertEqual(self.answered(*base, "1e3").out, self.answered(*base, "1000").out)
        self.assertEqual(self.answered(*base, "1e3", "--seed", "2e1").out, self.answered(*base, "1000", "--seed", "20").out)

    def test_whole_numbers_are_whole_and_within_reason(self):
        for option, value in (("--resamples", "1.5"), ("--resamples", "999"), ("--resamples", "-1000"),
                              ("--resamples", "1e9"), ("--resamples", "many"), ("--threads", "0"), ("--threads", "1e3"),
                              ("--threads", "1.5"), ("--seed", "-1"), ("--seed", "1.5"), ("--seed", "0x10"),
                              ("--seed", "9223372036854775808")):
            with self.subTest(option=option, value=value):
                self.complains(self.refused(2, "compare", BOWSTRINGS, option, value), f"{option} {value}",
                               "must be a whole number from")

    def test_a_seed_keeps_all_its_digits(self):
        seed = 9223372036854775807
        data = self.compared(BOWSTRINGS, "--method", "bootstrap_t", "--resamples", "1000", "--seed", seed)
        self.assertEqual(data["inputs"]["seed"], seed)

    def test_resamples_need_a_bootstrap(self):
        for words in ((), ("--method", "welch"), ("--method", "welch", "--method", "permutation")):
            self.complains(self.refused(2, "compare", BOWSTRINGS, *words, "--resamples", "1e4"),
                           "--resamples 1e4: goes with a bootstrap, for example --method bootstrap_t")
        for words in (("--method", "bootstrap_bca"), ("--all-methods",)):
            self.answered("compare", BOWSTRINGS, *words, "--resamples", "1e4")
        # A misspelt bootstrap is one mistake, not two.
        ran = self.refused(2, "compare", BOWSTRINGS, "--method", "bootstrap_bac", "--resamples", "1e4")
        self.complains(ran, "did you mean bootstrap_bca?")
        self.assertEqual(len(ran.err.splitlines()), 1, str(ran))

    def test_budget(self):
        for option in ("--max-operations", "--max-memory"):
            for value in ("0", "-1", "lots"):
                self.complains(self.refused(2, "compare", BOWSTRINGS, option, value), f"{option} {value}")
            self.answered("compare", BOWSTRINGS, option, "1e3")

    def test_memory_budget_stops_an_exact_method(self):
        ran = self.refused(1, "compare", BOWSTRINGS, "--method", "bootstrap_t", "--max-memory", "1e-6")
        self.complains(ran, "bootstrap_t", "MiB", "--resamples")

    def test_display(self):
        for value in ("0", "-1", "one", "1e400", "1000000000"):
            with self.subTest(value=value):
                self.complains(self.refused(2, "compare", BOWSTRINGS, "--display", value),
                               f"--display {value}: must be the display's step")

    def test_unit_and_color(self):
        for value in ("mph", "FPS", "m"):
            self.complains(self.refused(2, "compare", BOWSTRINGS, "--unit", value), "must be fps or m/s")
        self.complains(self.refused(2, "compare", BOWSTRINGS, "--color", "sometimes"), "auto, always or never")

    def test_options_without_their_value(self):
        for option in ("--margin", "--setup", "--method", "--confidence", "--seed"):
            ran = self.refused(2, "compare", BOWSTRINGS, option)
            self.complains(ran, f"{option}: a value is missing")

    def test_an_empty_value_is_no_option_left_out(self):
        # As `--margin "$MARGIN"` with the variable unset.
        for option in ("--margin", "--setup", "--method", "--confidence", "--seed", "--resamples", "--threads", "--display",
                       "--unit", "--color", "--max-operations"):
            self.complains(self.refused(2, "compare", BOWSTRINGS, option, ""), option)
        for option in ("--resolve", "--shots", "--power"):
            self.complains(self.refused(2, "plan", "--sd", "1.2", "--resolve", "3", "--shots", "4", option, ""), option)

    def test_an_option_given_twice(self):
        ran = self.refused(2, "compare", BOWSTRINGS, "--margin", "1", "--margin", "2")
        self.complains(ran, "--margin: given more than once")

    def test_one_set_up_or_twice_the_same(self):
        self.complains(self.refused(2, "compare", BOWSTRINGS, "--setup", "14 strands"), "two or more set-ups")
        ran = self.refused(2, "compare", BOWSTRINGS, "--setup", "14 strands", "--setup", "14 strands")
        self.complains(ran, "named twice")

    def test_a_method_named_twice_is_shown_once(self):
        data = self.compared(BOWSTRINGS, "--method", "welch", "--method", "welch", "--method", "rounding_aware")
        self.assertEqual([m["method"] for m in data["result"]["gaps"][0]["methods"]], ["rounding_aware", "round_paired", "welch"])


class Places(ProgramTest):
    """Where the sheet's name stands among the options."""

    def test_before_after_and_between(self):
        base = self.answered("compare", BOWSTRINGS, "--margin", "3", "--method", "welch").out
        for words in (("--margin", "3", "--method", "welch", BOWSTRINGS), ("--margin", "3", BOWSTRINGS, "--method", "welch"),
                      ("--method", "welch", BOWSTRINGS, "--margin=3"), ("--margin", "3", "--method", "welch", "--", BOWSTRINGS)):
            with self.subTest(words=words):
                self.assertEqual(self.answered("compare", *words).out, base)

    def test_a_repeated_option_leaves_the_sheet_alone(self):
        ran = self.answered("compare", "--method", "welch", "--method", "pooled", BOWSTRINGS)
        self.says(ran, "welch", "pooled")
        ran = self.answered("compare", "--setup", "18 strands", "--setup", "14 strands", BOWSTRINGS)
        self.says(ran, "With 14 strands the arrows flew 4.2 fps faster than with 18 strands")

    def test_two_commands(self):
        self.complains(self.refused(3, "compare", BOWSTRINGS, "plan", folder=self.folder), "plan", "there is no such file")
        self.complains(self.refused(2, "plan", "--sd", "1.2", "--shots", "3", "compare"), "compare", "one too many")

    def test_a_sheet_named_like_a_command(self):
        self.file(BOWSTRINGS.read_bytes(), "plan")
        self.answered("compare", "plan", folder=self.folder)

    def test_two_sheets(self):
        self.complains(self.refused(3, "compare", BOWSTRINGS, "second.csv"), "second.csv", "there is no such file")
        second = self.file(BOWSTRINGS.read_bytes(), "second.csv")
        data = self.compared(BOWSTRINGS, second)
        self.assertEqual(data["inputs"]["sheets"], [str(BOWSTRINGS), str(second)])
        self.assertIn("session_gaps", [m["method"] for m in data["result"]["gaps"][0]["methods"]])
        self.complains(self.refused(2, "compare", BOWSTRINGS, BOWSTRINGS), "given twice")

    def test_a_name_that_begins_with_a_dash(self):
        self.file(BOWSTRINGS.read_bytes(), "-odd.csv")
        self.answered("compare", "--", "-odd.csv", folder=self.folder)
        self.answered("compare", "./-odd.csv", folder=self.folder)

    def test_a_name_with_blanks_quotes_and_letters(self):
        for name in ("my shots.csv", "a'b\"c.csv", "Schüsse vom Samstag.csv", "矢.csv", "x;y.csv"):
            file = self.file(BOWSTRINGS.read_bytes(), name)
            self.assertEqual(self.compared(file)["inputs"]["sheet"], str(file))
            bad = self.file("setup,speed_fps\na,x\n", name)
            self.complains(self.refused(3, "compare", bad), name)

    def test_standard_input(self):
        shots = BOWSTRINGS.read_bytes()
        self.assertEqual(self.answered("compare", "-", stdin=shots).out, self.answered("compare", BOWSTRINGS).out)
        self.complains(self.refused(3, "compare", "-", stdin="setup,speed_fps\na,x\n"), "standard input: line 2")
        self.complains(self.refused(3, "compare", "-", stdin=""), "standard input")


class Files(ProgramTest):
    def test_no_sheet(self):
        self.complains(self.refused(2, "compare"), "SHEET.csv", "name the sheet to read, or - for standard input")

    def test_no_such_file(self):
        self.complains(self.refused(3, "compare", self.folder / "bowstrigs.csv"), "bowstrigs.csv: there is no such file")

    def test_directory(self):
        self.complains(self.refused(3, "compare", self.folder), "is a directory, not a file")

    def test_empty_name(self):
        self.refused(2, "compare", "")

    def test_unreadable(self):
        file = self.file(BOWSTRINGS.read_bytes())
        file.chmod(0)
        wrap = ()
        if os.geteuid() == 0:  # root reads everything: become nobody, in a folder nobody may enter
            self.folder.chmod(0o755)
            wrap = ("setpriv", "--reuid", "65534", "--regid", "65534", "--clear-groups")
            if subprocess.run([*wrap, program(), "--version"], env=environment(), capture_output=True,
                              check=False).returncode != 0:
                self.skipTest("the program cannot be run as nobody here")
        self.complains(self.ended(run("compare", file, wrap=wrap), 3), "no permission to read it")

    def test_empty_file(self):
        for content in ("", "\n\n", "\ufeff", "# title: nothing\n"):
            with self.subTest(content=content):
                self.complains(self.refused(3, "compare", self.file(content)), "sheet.csv")

    def test_files_of_other_kinds(self):
        archive = io.BytesIO()
        with zipfile.ZipFile(archive, "w") as zipped:
            zipped.writestr("xl/workbook.xml", "<workbook/>")
        for content, words in ((archive.getvalue(), "spreadsheet file (.xlsx, .ods)"),
                               (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(512), "old spreadsheet file (.xls)"),
                               (b"%PDF-1.7\n%\xe2\xe3", "a PDF file"),
                               ("setup,speed_fps\na,271\n".encode("utf-16"), "UTF-16"),
                               (b"setup,speed_fps\nb\xf6gen,271\n", "not UTF-8"),
                               (bytes(range(256)), "binary file"),
                               (pathlib.Path("/bin/sh").read_bytes(), "")):
            ran = self.refused(3, "compare", self.file(content))
            self.complains(ran, words)
            self.assertLessEqual(len(ran.err.splitlines()), 3, "a file of another kind is one mistake")

    def test_every_mistake_with_its_place(self):
        ran = self.refused(3, "compare", EXAMPLES / "problems.csv")
        self.complains(ran, 'line 5, column speed_fps: found "18l": is not a number',
                       'line 6, column setup: found "18 Strands": differs from "18 strands" in line 5 only in case',
                       'line 8, column order: found "4"')
        self.assertGreaterEqual(len(ran.err.splitlines()), 6)

    def test_wrong_columns(self):
        self.complains(self.refused(3, "compare", self.file("setup,speed\na,271\nb,272\n")), "speed")
        self.complains(self.refused(3, "compare", self.file("Set-up,speed_fps\na,271\nb,272\n")), "Set-up")
        self.complains(self.refused(3, "compare", self.file("setup,speed_fps,exclude\na,271,\nb,272,\n")), "exclude")

    def test_decimal_comma(self):
        semicolons = self.file("setup;speed_mps\na;58,2\na;58,4\nb;57,0\nb;57,1\n")
        self.assertAlmostEqual(self.compared(semicolons)["result"]["gaps"][0]["difference"], -1.25, delta=1e-12)
        commas = self.file('setup,speed_mps\na,"58,2"\na,"58,4"\nb,"57,0"\nb,"57,1"\n')
        self.complains(self.refused(3, "compare", commas), '58,2')

    def test_line_ends_and_byte_order_mark_change_nothing(self):
        plain = BOWSTRINGS.read_text(encoding="utf-8")
        base = self.answered("compare", BOWSTRINGS).out
        for content in (plain.replace("\n", "\r\n"), plain.replace("\n", "\r"), "\ufeff" + plain, plain + "\n\n",
                        plain.rstrip("\n")):
            self.assertEqual(self.answered("compare", self.file(content)).out, base)

    def test_speeds_no_bow_reaches(self):
        ran = self.refused(3, "compare", self.file("setup,speed_fps\na,2710\na,271\nb,274\nb,5\n"))
        self.complains(ran, 'line 2, column speed_fps: found "2710": no bow\'s speed: readings lie between 20 and 600 fps; '
                            "--any-speed accepts it", 'line 5, column speed_fps: found "5": no bow\'s speed')
        self.answered("compare", self.file("setup,speed_fps\na,2710\na,271\nb,274\nb,5\n"), "--any-speed")

    def test_any_speed_is_named_only_where_it_helps(self):
        file = self.file("setup,speed_fps\na,2710\na,x\nb,274\nb,27 4\n")
        speed, text, blank = self.refused(3, "compare", file).err.splitlines()
        self.assertTrue(speed.endswith("; --any-speed accepts it"), speed)
        self.assertNotIn("--any-speed", text + blank)
        self.assertNotIn("--any-speed", self.refused(3, "plan", "--from", file, "--shots", "3").err)

    def test_the_first_fifty_of_very_many_mistakes_are_shown_and_json_has_all(self):
        for mistakes, shown in ((49, 49), (50, 50), (51, 51), (1000, 51)):
            file = self.file("setup,speed_fps\n" + "a,x\n" * mistakes)
            lines = self.refused(3, "compare", file).err.splitlines()
            self.assertEqual(len(lines), shown)
            self.assertIn(f"line {min(mistakes, 50) + 1},", lines[min(mistakes, 50) - 1])
            if mistakes > 50:
                self.assertEqual(lines[50], f"shotassay: and {mistakes - 50} more")
            data = self.json_of(self.ended(run("compare", file, "--json"), 3), "failure")
            self.assertEqual(len(data["problems"]), mistakes)


class MachineFails(ProgramTest):
    def test_full_disk(self):
        for words in (("compare", BOWSTRINGS), ("compare", BOWSTRINGS, "--json"), ("plan", "--shots", "3", "--sd", "1.2"),
                      ("compare", self.folder / "none.csv", "--json"), ("--help",), ("compare", "--help"), ("--version",)):
            with self.subTest(words=words), open("/dev/full", "wb") as full:
                ran = self.ended(run(*words, out=full), 4)
                self.assertIn("No space left on device", ran.err)

    def test_closed_pipe(self):
        # As in `shotassay compare … | head -1`, with a reader that is gone before the first byte.
        reading, writing = os.pipe()
        os.close(reading)
        with os.fdopen(writing, "wb") as pipe:
            ran = run("compare", BOWSTRINGS, out=pipe)
        self.assertIn(ran.status, (4, -13), str(ran))  # -13: ended by SIGPIPE, as other programs are

    def test_closed_standard_output(self):
        needs_bare_program(self)
        ran = run("compare", BOWSTRINGS, wrap=("sh", "-c", 'exec "$0" "$@" >&-'))
        self.assertEqual(ran.status, 4, str(ran))

    def test_too_little_memory(self):
        bound_in_memory(self)
        shots = "setup,speed_fps\n" + "a,271\nb,274\n" * 500_000
        ran = run("compare", "-", stdin=shots, wrap=("sh", "-c", 'ulimit -v 60000; exec "$0" "$@"'))
        self.assertEqual((ran.status, ran.out), (4, ""), str(ran)[:500])
        self.assertIn("not enough memory", ran.err)


class Large(ProgramTest):
    def test_a_million_shots_are_answered(self):
        # Halves of 270/272 and 275/277: means 271 and 276, SD 1, gap 5 ± 1.96·√(2/500000) = 5 ± 0.0039.
        shots = "setup,speed_fps\n" + "a,270\na,272\nb,275\nb,277\n" * 250_000
        gap = self.compared("-", stdin=shots)["result"]["gaps"][0]
        self.assertEqual(gap["difference"], 5)
        self.assertAlmostEqual(gap["interval"]["upper"] - 5, 1.959964 * (2 / 499999) ** 0.5, delta=1e-6)

    def test_many_set_ups(self):
        shots = {f"setup {k}": [200 + k, 201 + k, 203 + k] for k in range(30)}
        data = self.compared(self.sheet(**shots))
        self.assertEqual(len(data["result"]["gaps"]), 30 * 29 // 2)
        self.assertIn("family", codes(data))


if __name__ == "__main__":
    main()
