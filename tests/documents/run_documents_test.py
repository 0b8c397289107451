#!/usr/bin/env python3
"""The runner is run: on made-up documents it passes what is true, reports what is not, and rewrites it when asked to."""

import contextlib
import io
import pathlib
import sys
import tempfile
import unittest
from unittest import mock

sys.dont_write_bytecode = True
import run_documents  # noqa: E402
import terminal  # noqa: E402

# Stands in for the real program: shows its arguments, its terminal and what it was given to read.
PROGRAM = """#!/bin/sh
if [ "$1" = fail ]; then echo answer; echo problem >&2; exit 3; fi
if [ "$1" = progress ]; then printf 'working 10 %%\\rworking 100 %%\\r\\033[K' >&2; echo done; exit; fi
echo "shotassay $*"
"""

TRUE = """# A document

```console
$ shotassay compare a.csv
shotassay compare a.csv
$ cat data/one.csv > copy.csv
$ cat copy.csv
a,b
1,2

$ echo $COLUMNS; stty size <&1; test -t 1 && echo terminal
80
24 80
terminal
```

Indented, in a second block of the same folder, with a command that fails and one that goes on:

- a list

  ```console
  $ shotassay fail
  answer
  problem
  $ echo $?
  3
  $ .build/release/shotassay one \\
  >   two
  shotassay one two
  $ shotassay progress
  done
  $ cat copy.csv | wc -l
  3
  ```

```sh
exit 1
```

~~~cpp
this is shown only
~~~
"""

CPP = """```cpp
#include <cstdio>
int main() { std::puts("seven"); }
```

prints

```text
seven
```
"""


class Documents(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.root = pathlib.Path(self.folder.name)
        for name in ("data", "docs/deep", "include"):
            (self.root / name).mkdir(parents=True)
        (self.root / "data/one.csv").write_text("a,b\n1,2\n\n")
        self.program = self.root / "program"
        self.program.write_text(PROGRAM)
        self.program.chmod(0o755)
        self.library = self.root / "empty.o"
        self.compile("", self.library)

    def tearDown(self):
        self.folder.cleanup()

    def compile(self, text, target):
        _, status = terminal.run(f"echo '{text}' | c++ -x c++ -c - -o {target}", self.root, None)
        self.assertEqual(status, 0)

    def run_on(self, name, text, *more):
        """(exit status, what was printed, the document afterwards)"""
        (self.root / name).write_text(text, encoding="utf-8")
        arguments = ["run_documents.py", "--root", self.root, "--program", self.program, "--library", self.library,
                     "--include", self.root / "include", *more]
        printed = io.StringIO()
        with mock.patch.object(sys, "argv", [str(a) for a in arguments]), contextlib.redirect_stdout(printed):
            status = run_documents.main()
        return status, printed.getvalue(), (self.root / name).read_text(encoding="utf-8")

    def test_what_is_true_passes_and_is_left_as_it_is(self):
        for more in ([], ["--update"]):
            for name in ("README.md", "DEVELOPERS.md", "docs/deep/page.md"):
                text = TRUE if name != "README.md" else TRUE.replace("~~~cpp", "~~~c")
                status, printed, after = self.run_on(name, text, *more)
                self.assertEqual((status, after), (0, text), printed)

    def test_a_wrong_output_is_reported_with_a_diff(self):
        status, printed, after = self.run_on("README.md", "text\n```console\n$ shotassay a\nshotassay b\n```\n")
        self.assertEqual(status, 1)
        self.assertIn("README.md:2: $ shotassay a\n--- the document\n+++ what came out\n", printed)
        self.assertIn("-shotassay b\n+shotassay a\n", printed)
        self.assertIn("shotassay b", after)

    def test_an_output_too_little_or_too_much_is_reported(self):
        for shown in ("", "shotassay a\nmore\n", "shotassay a\n\n"):
            status, _, _ = self.run_on("README.md", f"```console\n$ shotassay a\n{shown}```\n")
            self.assertEqual(status, 1, shown)

    def test_blanks_count(self):
        status, _, _ = self.run_on("README.md", "```console\n$ printf 'a  b \\n'\na  b\n```\n")
        self.assertEqual(status, 1)

    def test_update_writes_what_came_out(self):
        status, printed, after = self.run_on("README.md", "x\n\n  ```console\n  $ shotassay a\n  b\n  $ shotassay fail\n  ```\n\ny\n",
                                             "--update")
        self.assertEqual((status, after), (0, "x\n\n  ```console\n  $ shotassay a\n  shotassay a\n  $ shotassay fail\n  answer\n"
                                           "  problem\n  $ echo $?\n  3\n  ```\n\ny\n"), printed)

    def test_a_status_that_is_not_stated_is_reported(self):
        for tail in ("", "$ shotassay a\nshotassay a\n"):
            status, printed, _ = self.run_on("README.md", f"```console\n$ shotassay fail\nanswer\nproblem\n{tail}```\n")
            self.assertEqual(status, 1)
            self.assertIn("ended with status 3", printed)

    def test_a_wrong_status_is_reported(self):
        for command, shown in (("shotassay fail", "answer\nproblem\n"), ("true", "")):
            status, printed, _ = self.run_on("README.md", f"```console\n$ {command}\n{shown}$ echo $?\n2\n```\n")
            self.assertEqual(status, 1, printed)

    def test_a_block_starts_with_a_command(self):
        for more in ([], ["--update"]):
            status, printed, after = self.run_on("README.md", "```console\nshotassay a\n```\n", *more)
            self.assertEqual(status, 1)
            self.assertIn("starts with a command", printed)
            self.assertEqual(after, "```console\nshotassay a\n```\n")

    def test_a_block_that_is_never_closed_stops_the_run(self):
        with self.assertRaises(SystemExit):
            self.run_on("README.md", "```console\n$ true\n")

    def test_a_command_that_hangs_is_stopped(self):
        with self.assertRaises(terminal.TooSlow):
            terminal.run("sleep 60", self.root, None, seconds=0.2)

    def test_programs_in_the_readme_are_compiled_and_run(self):
        self.assertEqual(self.run_on("README.md", CPP)[0], 0)
        status, printed, _ = self.run_on("README.md", CPP.replace("\nseven", "\neight"))
        self.assertEqual(status, 1)
        self.assertIn("-eight\n+seven", printed)
        self.assertEqual(self.run_on("README.md", CPP.replace("\nseven", "\neight"), "--update")[2], CPP)

    def test_programs_elsewhere_are_run_when_marked(self):
        wrong = CPP.replace("\nseven", "\neight")
        self.assertEqual(self.run_on("docs/page.md", wrong)[0], 0)
        self.assertEqual(self.run_on("docs/page.md", wrong.replace("```cpp\n", "```cpp\n// compile and run\n"))[0], 1)

    def test_a_program_whose_output_is_not_shown_is_reported(self):
        cpp = CPP[:CPP.index("\nprints")]
        status, printed, _ = self.run_on("README.md", cpp)
        self.assertEqual(status, 1)
        self.assertIn("not shown in a text block", printed)
        self.assertEqual(self.run_on("README.md", cpp, "--update")[2], cpp.rstrip("\n") + "\n\n```text\nseven\n```\n")

    def test_a_program_that_fails_is_reported_even_when_updating(self):
        for text, what in ((CPP.replace("puts", "pots"), "does not compile"),
                           (CPP.replace('"); }', '"); return 1; }'), "ended with status 1"),
                           (CPP.replace("int main() {", "int main() { int unused;"), "does not compile")):
            for more in ([], ["--update"]):
                status, printed, after = self.run_on("README.md", text, *more)
                self.assertEqual((status, after), (1, text), printed)
                self.assertIn(what, printed)

    def test_the_screen_shows_what_overwriting_leaves(self):
        for stream, screen in (("a\n", "a\n"), ("one\rtwo\n", "two\n"), ("long line\rshort\n", "shortline\n"),
                               ("50 %\r\x1b[K\nx", "\nx"), ("\x1b[1mbold\x1b[0m", "bold"), ("50 %\x1b[2K\rx", "x"),
                               ("a\r\nb\r\n", "a\nb\n")):
            self.assertEqual(terminal.shown(stream), screen, repr(stream))


if __name__ == "__main__":
    unittest.main()
