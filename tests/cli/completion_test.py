#!/usr/bin/env python3
"""Completions: what bash, zsh and fish offer at a command line, and that the program takes every word offered."""

import os
import re
import select
import shlex
import subprocess
import time

from program import ProgramTest, built, environment, main, pseudo_terminal, run

# Asks the function as the shell does: words, place of the cursor, then the answers one a line.
ASK = """
source "$1"; shift
COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); COMP_LINE="$*"; COMP_POINT=${#COMP_LINE}
_shotassay shotassay "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD - 1]}"
((${#COMPREPLY[@]} == 0)) || printf '%s\\n' "${COMPREPLY[@]}"
"""


def script(shell):
    return built("manual") / {"bash": "bash/shotassay", "zsh": "zsh/_shotassay", "fish": "fish/shotassay.fish"}[shell]


def options_in_help(*words):
    told = run(*words, "--help").out.split("Options:\n")[1].split("\n\n")[0]
    return set(re.findall(r"^  (?:-\w,)?(--[\w-]+)", told, re.MULTILINE))


class Bash(ProgramTest):
    def offered(self, *words):
        """What stands for the last of the words, as far as typed."""
        done = subprocess.run(["bash", "--norc", "-c", ASK, "bash", str(script("bash")), "shotassay", *words], check=False,
                              cwd=self.folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment())
        self.assertEqual((done.returncode, done.stderr), (0, ""), words)
        return done.stdout.splitlines()

    def test_commands(self):
        self.assertEqual(self.offered("co"), ["compare"])
        self.assertEqual(sorted(self.offered("")), ["audit", "budget", "clinic", "compare", "help", "plan"])
        self.assertEqual(sorted(self.offered("clinic", "")), ["make", "page", "show", "tally"])
        self.assertEqual(self.offered("help", "p"), ["plan"])
        self.assertEqual(self.offered("xyz"), [])

    def test_options_are_those_of_the_help(self):
        for words in ((), ("compare",), ("plan",), ("budget",), ("audit",), ("clinic",), ("clinic", "make"), ("clinic", "tally"),
                      ("clinic", "show"), ("clinic", "page")):
            self.assertEqual(set(self.offered(*words, "--")), options_in_help(*words), words)

    def test_an_option_taken_once_is_offered_once(self):
        self.assertIn("--margin", self.offered("compare", "--setup", "A", "--ma"))
        self.assertNotIn("--margin", self.offered("compare", "--margin", "3", "--ma"))
        self.assertIn("--setup", self.offered("compare", "--setup", "14 strands", "--se"))

    def test_choices(self):
        self.assertEqual(self.offered("compare", "--method", "bootstrap_b"), ["bootstrap_basic", "bootstrap_bca"])
        self.assertEqual(self.offered("plan", "--method", ""), ["rounding_aware", "welch"])
        self.assertEqual(self.offered("compare", "--color", "=", "a"), ["auto", "always"], "--color=a, as the shell splits it")
        self.assertEqual(self.offered("compare", "--color", "="), ["auto", "always", "never"])
        self.assertEqual(self.offered("plan", "--shooter", ""), ["machine", "release", "fingers"])
        self.assertEqual(self.offered("clinic", "show", ""), ["luck"])

    def test_nothing_is_offered_for_a_number(self):
        (self.folder / "3.csv").touch()
        for words in (("compare", "--margin", ""), ("plan", "--sd", ""), ("audit", "--average", "=", "")):
            self.assertEqual(self.offered(*words), [], words)

    def test_a_value_that_reads_like_a_command_is_none(self):
        self.assertIn("--margin", self.offered("compare", "--setup", "plan", "--ma"))
        self.assertIn("--students", self.offered("clinic", "make", "--out", "show", "--st"))

    def test_files(self):
        for name in ("bow strings.csv", "14 strands.CSV", "notes.txt", "page.html", "budget.json"):
            (self.folder / name).touch()
        (self.folder / "old days").mkdir()
        self.assertEqual(sorted(self.offered("compare", "")), ["14 strands.CSV", "bow strings.csv", "old days"])
        self.assertEqual(self.offered("compare", "--history", "bow"), ["bow strings.csv"])
        self.assertEqual(self.offered("compare", "--report", "=", "p"), ["page.html"])
        self.assertEqual(sorted(self.offered("budget", "")), ["budget.json", "old days"])
        self.assertEqual(self.offered("clinic", "make", "--out", ""), ["old days"])
        self.assertEqual(self.offered("compare", "no"), ["notes.txt"], "all files where none is a sheet")
        self.assertEqual(self.offered("compare", "--", "--"), [], "behind -- there are names only")

    def test_the_program_takes_every_choice_and_no_other_word(self):
        text = script("bash").read_text(encoding="utf-8")
        command, tried = None, 0
        # Without these the commands would speak of nothing else.
        must = {"tally": ["answers.csv"], "show": ["luck"]}
        for words, option in re.findall(r"^    '(shotassay[^']*)'\)|^        (--[\w-]+)\) _shotassay_words", text, re.MULTILINE):
            if words:
                command = words.split()[1:]
                typed = command + must.get(command[-1] if command else "", [])
                continue
            # What is said of a word that is none of them is said of none of them.
            refused = re.search(rf"^shotassay: {option} xyz: (.*)$", run(*typed, option, "xyz").err, re.MULTILINE)
            self.assertIsNotNone(refused, f"{command} {option} xyz is taken")
            if "the key says" in refused[1]:
                continue  # a tally knows the option to say why it does not take it
            for choice in self.offered(*command, option, ""):
                self.assertNotIn(f"{option} {choice}: {refused[1]}", run(*typed, option, choice).err, typed)
                tried += 1
        self.assertGreater(tried, 60)

    def typed(self, keys, expected):
        """Keys at an interactive shell, until it shows what is expected."""
        ours, theirs = pseudo_terminal(self)
        shell = subprocess.Popen(["bash", "--norc", "--noprofile", "-i"], cwd=self.folder, stdin=theirs, stdout=theirs,
                                 stderr=theirs, env=environment() | {"PS1": "> "}, start_new_session=True)
        os.close(theirs)
        seen = b""
        try:
            os.write(ours, f"source {shlex.quote(str(script('bash')))}\n".encode() + keys)
            end = time.monotonic() + 20
            while expected not in seen and time.monotonic() < end and select.select([ours], [], [], 1)[0] is not None:
                if select.select([ours], [], [], 0.2)[0]:
                    seen += os.read(ours, 4096)
        finally:
            shell.kill()
            shell.wait()
            os.close(ours)
        self.assertIn(expected, seen)

    def test_a_name_with_a_blank_is_completed_at_the_keyboard(self):
        (self.folder / "14 strands.csv").touch()
        self.typed(b"shotassay compare 14\t", b"14\\ strands.csv")
        self.typed(b"shotassay compare '14 s\t", b"'14 strands.csv'")
        self.typed(b"shotassay compare 14\\ st\t", b"14\\ strands.csv")
        self.typed(b"shotassay plan --sheet=14\t", b"--sheet=14\\ strands.csv")


class OtherShells(ProgramTest):
    def test_zsh_reads_its_script(self):
        done = subprocess.run(["zsh", "-n", str(script("zsh"))], stderr=subprocess.PIPE, text=True, check=False)
        self.assertEqual((done.returncode, done.stderr), (0, ""))

    def fish(self, *words):
        done = subprocess.run(["fish", "--no-config", *words], cwd=self.folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              text=True, check=False, env=environment() | {"HOME": str(self.folder)})
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        return done.stdout

    def fish_offers(self, line):
        # The program must be there for the shell to look for its completions.
        loaded = f"source {shlex.quote(str(script('fish')))}; complete -C {shlex.quote(line)}"
        return [answer.split("\t")[0] for answer in self.fish("-c", loaded).splitlines()]

    def test_fish_offers_the_same(self):
        self.fish("--no-execute", str(script("fish")))
        (self.folder / "14 strands.csv").touch()
        self.assertEqual(self.fish_offers("shotassay co"), ["compare"])
        self.assertEqual(self.fish_offers("shotassay clinic ta"), ["tally"])
        self.assertEqual(self.fish_offers("shotassay compare --method bootstrap_b"), ["bootstrap_basic", "bootstrap_bca"])
        self.assertEqual(self.fish_offers("shotassay compare --color=n"), ["--color=never"])
        self.assertIn("--same-within", self.fish_offers("shotassay plan --"))
        self.assertNotIn("--same-within", self.fish_offers("shotassay compare --"))
        self.assertEqual(self.fish_offers("shotassay compare --history 14"), ["14 strands.csv"])
        self.assertEqual(self.fish_offers("shotassay plan --sd "), [])


if __name__ == "__main__":
    main()
