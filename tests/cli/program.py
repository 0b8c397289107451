"""Runs the program under test as a shell would, and reads what it says. Each *_test.py takes --program FILE, and
--wrap COMMAND for a command put before the program in every run, which may take it a hundred times longer."""

import atexit
import json
import os
import pathlib
import pty
import re
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile
import unicodedata
import unittest

import jsonschema

ROOT = pathlib.Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "data/examples"
BOWSTRINGS = EXAMPLES / "bowstrings.csv"
SCHEMAS = ROOT / "docs/reference/schema"
# Sanitizers take their options from the environment; all else that steers a program is set here.
KEPT = {"LD_LIBRARY_PATH", "TMPDIR", "ASAN_OPTIONS", "UBSAN_OPTIONS"}

_program = None
_folder = None  # of the program, whatever it is wrapped in
_wrapped = False


class Ran:
    """What a run left: status, and both streams as text and as bytes."""

    def __init__(self, status, out, err):
        self.status, self.out_bytes, self.err_bytes = status, out, err
        self.out, self.err = out.decode("utf-8"), err.decode("utf-8")
        self.words = " ".join(self.out.split())  # for sentences, wherever their lines end

    def __str__(self):
        return f"status {self.status}\n--- out\n{self.out}\n--- err\n{self.err}"


def program():
    return str(_program)


def built(name):
    """What was built beside the program."""
    return _folder / name


def needs_bare_program(test):
    """A test that takes something away that what the program may be wrapped in needs for itself: memory, the room for a
    file, a standard stream, the folder it is in, a user's rights."""
    if _wrapped:
        test.skipTest("what the program is wrapped in cannot do without what is taken away here")


def bound_in_memory(test):
    """A test that leaves the program so little memory that only the bare program can do with it."""
    needs_bare_program(test)
    if b"__asan_init" in pathlib.Path(program()).read_bytes():
        test.skipTest("the address sanitizer needs more address space than this test leaves")


def environment(width=80, **more):
    kept = {key: value for key, value in os.environ.items() if key in KEPT}
    return kept | {"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8", "TERM": "dumb", "COLUMNS": str(width)} | more


def run(*words, stdin="", width=80, folder=None, out=subprocess.PIPE, wrap=(), **variables):
    """`shotassay words…`; `wrap` is a command put before it, `variables` are added to its environment."""
    given = stdin if isinstance(stdin, bytes) else stdin.encode("utf-8")
    done = subprocess.run([*wrap, program(), *map(str, words)], input=given, stdout=out, stderr=subprocess.PIPE,
                          cwd=folder, env=environment(width, **variables), check=False, timeout=28_000 if _wrapped else 280)
    return Ran(done.returncode, done.stdout or b"", done.stderr)


def display_width(text):
    """Columns of a terminal: two for wide and full-width characters, none for marks set upon others."""
    return sum(0 if unicodedata.category(c) in ("Mn", "Me", "Cf") else 2 if unicodedata.east_asian_width(c) in "WF" else 1
               for c in text)


def schema(name):
    return json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))


def strict(text):
    """JSON as the standard has it: no NaN, no infinity, no key twice."""
    def refuse(word):
        raise ValueError(f"{word} is no JSON")

    def once(pairs):
        if len({key for key, _ in pairs}) != len(pairs):
            raise ValueError(f"a key twice in {[key for key, _ in pairs]}")
        return dict(pairs)

    return json.loads(text, parse_constant=refuse, object_pairs_hook=once)


def pseudo_terminal(test):
    """Both ends of one, where the machine has any."""
    try:
        return pty.openpty()
    except OSError:
        return test.skipTest("no pseudo-terminal here")


class ProgramTest(unittest.TestCase):
    """Assertions that show the whole run when they fail."""

    maxDiff = None

    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="shotassay-cli-")
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def file(self, text, name="sheet.csv"):
        path = self.folder / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return path

    def sheet(self, head=(), name="sheet.csv", column="speed_fps", **setups):
        """A tall sheet; set-ups by name, readings as text or numbers."""
        return self.file(tall(head, column, setups), name)

    def ended(self, ran, status):
        self.assertEqual(ran.status, status, str(ran))
        return ran

    def answered(self, *words, **options):
        """An answer, and nothing on the error stream."""
        ran = self.ended(run(*words, **options), 0)
        self.assertEqual(ran.err, "", str(ran))
        return ran

    def refused(self, status, *words, **options):
        """No answer: standard output stays empty, every line on the error stream names the program."""
        ran = self.ended(run(*words, **options), status)
        self.assertEqual(ran.out, "", str(ran))
        self.assertNotEqual(ran.err, "", str(ran))
        for line in ran.err.splitlines():
            self.assertTrue(line.startswith("shotassay: "), str(ran))
        return ran

    def says(self, ran, *texts):
        """The answer holds these, wherever its lines end."""
        for text in texts:
            self.assertIn(text, ran.words, str(ran))

    def complains(self, ran, *texts):
        for text in texts:
            self.assertIn(text, ran.err, str(ran))

    def json_of(self, ran, name=None):
        """The object printed, held against the command's schema; a failure against that of failures."""
        self.assertTrue(ran.out.endswith("}\n") and not ran.out.endswith("\n\n"), str(ran))
        data = strict(ran.out)
        kind = name or ("failure" if "problems" in data else data["command"])
        jsonschema.Draft202012Validator(schema(kind)).validate(data)
        return data

    def compared(self, *words, status=0, **options):
        """`compare … --json`, validated."""
        return self.json_of(self.ended(run("compare", *words, "--json", **options), status), "compare")

    def planned(self, *words):
        return self.json_of(self.answered("plan", *words, "--json"), "plan")

    def fits(self, ran, width):
        for number, line in enumerate((ran.out + ran.err).splitlines(), start=1):
            self.assertLessEqual(display_width(line), width, f"line {number} of\n{ran}")


def tall(head=(), column="speed_fps", setups=None):
    lines = [f"# {line}" for line in head] + [f"setup,{column}"]
    lines += [f"{cell(name)},{reading}" for name, readings in (setups or {}).items() for reading in readings]
    return "\n".join(lines) + "\n"


def cell(text):
    return '"' + text.replace('"', '""') + '"' if re.search(r'[",\n;\t]', text) else text


def codes(data):
    return [note["code"] for note in data["notes"]]


def method(gap, name):
    return next(m for m in gap["methods"] if m["method"] == name)


def wrapped(wrap, file):
    """A program of its own that runs the one under test, for all that start it by its name."""
    folder = tempfile.mkdtemp(prefix="shotassay-wrap-")
    atexit.register(shutil.rmtree, folder)
    script = pathlib.Path(folder) / "shotassay"
    script.write_text(f'#!/bin/sh\nexec {wrap} {shlex.quote(str(file))} "$@"\n', encoding="utf-8")
    script.chmod(0o755)
    return script


def main():
    global _program, _folder, _wrapped
    words = sys.argv
    wrap = None
    if "--wrap" in words:
        at = words.index("--wrap")
        wrap = words[at + 1]
        del words[at:at + 2]
    if "--program" not in words:
        sys.exit("say which program to test: --program FILE")
    at = words.index("--program")
    _program = pathlib.Path(words[at + 1]).resolve()
    _folder = _program.parent
    del words[at:at + 2]
    if wrap:
        _program, _wrapped = wrapped(wrap, _program), True
    # A shell's background jobs, and what nohup begins, ignore these, and so would the program. A handler, unlike that,
    # is not handed on.
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        if signal.getsignal(number) is signal.SIG_IGN:
            signal.signal(number, lambda *_: None)
    unittest.main(module="__main__", argv=words)
