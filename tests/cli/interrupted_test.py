#!/usr/bin/env python3
"""What is left where a run does not come to its end: interrupted, the disk full, the folder read-only, the reader gone?"""

import os
import pathlib
import shutil
import signal
import subprocess
import sys
import tempfile
import time

from program import BOWSTRINGS, EXAMPLES, ProgramTest, environment, main, needs_bare_program, program, run

# A table of claims without a wrong row.
TABLE = tempfile.NamedTemporaryFile(suffix=".csv")
TABLE.write(b"claim,shots_1,average_1,shots_2,average_2\na,3,281,3,284\n")
TABLE.flush()
PLAN = ("plan", "--resolve", "3", "--sd", "1.2")
# What writes files: the command, and the names of all it writes.
WRITERS = ((*PLAN, "--sheet", "s.csv", "--report", "p.html", "--svg", "f.svg"), ("s.csv", "p.html", "f.svg")), \
          (("compare", BOWSTRINGS, "--report", "p.html", "--svg", "f.svg"), ("p.html", "f.svg")), \
          (("budget", EXAMPLES / "gap-budget.json", "--report", "p.html"), ("p.html",)), \
          (("audit", "--shots", "3", "--average", "281", "--average", "284", "--report", "p.html"), ("p.html",)), \
          (("audit", "--table", TABLE.name, "--out", "v.csv"), ("v.csv",)), \
          (("clinic", "page", "--out", "p.html"), ("p.html",)), \
          (("clinic", "make", "--students", "2", "--out", "evening"), ("evening",))
# What goes on for long.
LONG = ((*PLAN, "--simulate", "1e8", "--threads", "2", "--sheet", "s.csv", "--report", "p.html"),
        ("compare", BOWSTRINGS, "--method", "bootstrap_t", "--resamples", "1e8", "--max-memory", "4000", "--report", "p.html"),
        ("clinic", "show", "luck", "--tests", "1e6", "--shots", "20"))


class Left(ProgramTest):
    def left(self, folder=None):
        return sorted(path.name for path in (folder or self.folder).iterdir())

    def start(self, *words, **options):
        return subprocess.Popen([program(), *map(str, words)], cwd=self.folder, env=environment(), stdin=subprocess.DEVNULL,
                                stdout=subprocess.PIPE, stderr=subprocess.PIPE, **options)

    def working(self, child):
        """Waits until it has used some time of the processor: it is past its options then."""
        for _ in range(2000):
            with open(f"/proc/{child.pid}/stat", encoding="ascii") as stat:
                fields = stat.read().rpartition(")")[2].split()
            if int(fields[11]) + int(fields[12]) >= 10:
                return
            time.sleep(0.01)
        self.fail("it does not work")


class Interrupted(Left):
    def test_a_long_run_leaves_nothing(self):
        for words in LONG:
            for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)[:3 if words is LONG[0] else 1]:
                with self.subTest(words=words, signal=number.name):
                    child = self.start(*words)
                    self.working(child)
                    child.send_signal(number)
                    out, _ = child.communicate(timeout=60)
                    self.assertEqual((child.returncode, out, self.left()), (-number, b"", []))

    def test_whenever_it_comes_all_files_are_there_or_none_is(self):
        for words, names in WRITERS[:1] + WRITERS[4:5] + WRITERS[6:]:
            begun = time.monotonic()
            self.ended(run(*words, folder=self.folder), 0)
            took = time.monotonic() - begun
            self.clear()
            tries = 12 if took < 0.5 else 4
            for i in range(tries):
                with self.subTest(words=words, i=i):
                    child = self.start(*words)
                    time.sleep(took * (0.3 + 0.9 * i / tries))
                    child.send_signal(signal.SIGTERM)
                    child.communicate(timeout=60)
                    self.assertIn(child.returncode, (0, -signal.SIGTERM))
                    whole = sorted(names)
                    self.assertIn(self.left(), (whole,) if child.returncode == 0 else ([], whole))
                    self.clear()

    def clear(self):
        for path in self.folder.iterdir():
            shutil.rmtree(path) if path.is_dir() else path.unlink()

    def test_an_interruption_in_the_middle_of_writing_clears_away_the_drafts(self):
        # strace holds the program up where it makes a file's bytes sure, which is when its drafts stand there.
        if shutil.which("strace") is None or subprocess.run(["strace", "-o", "/dev/null", "true"], capture_output=True,
                                                            check=False).returncode != 0:
            print("SKIPPED, NOT TESTED: strace cannot be used here", file=sys.stderr)
            self.skipTest("no strace")
        for words, names in WRITERS:
            with self.subTest(words=words):
                child = subprocess.Popen(["strace", "-f", "-o", "/dev/null", "-e", "inject=fsync:signal=SIGTERM:when=1",
                                          program(), *map(str, words)], cwd=self.folder, env=environment(),
                                         stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
                out, err = child.communicate(timeout=120)
                self.assertEqual((child.returncode, out, self.left()), (-signal.SIGTERM, b"", []), err)

    def test_what_the_caller_ignores_stays_ignored(self):
        child = self.start(*PLAN, "--sheet", "s.csv", preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_IGN))
        for _ in range(20):
            child.send_signal(signal.SIGINT)
            time.sleep(0.002)
        child.communicate(timeout=60)
        self.assertEqual((child.returncode, self.left()), (0, ["s.csv"]))


class NoRoom(Left):
    def mounted(self, options):
        """A file system of its own, where root may mount one."""
        place = self.folder / "disk"
        place.mkdir()
        done = subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(place)], capture_output=True, check=False)
        if done.returncode != 0:
            print("SKIPPED, NOT TESTED: no file system can be mounted here", file=sys.stderr)
            self.skipTest("cannot mount: " + done.stderr.decode())
        self.addCleanup(subprocess.run, ["umount", "-l", str(place)], check=False)
        return place

    def test_a_full_disk_is_told_and_nothing_is_left(self):
        place = self.mounted("size=64k,nr_inodes=64")
        (place / "filling").write_bytes(b"x" * (64 * 1024))
        for words, _ in WRITERS:
            with self.subTest(words=words):
                ran = self.refused(4, *words, folder=place)
                self.complains(ran, "cannot be written: No space left on device")
                self.assertEqual(self.left(place), ["filling"])
        # An old file stays as it was.
        (place / "filling").write_bytes(b"x" * (60 * 1024))
        old = place / "s.csv"
        old.write_bytes(b"y" * 4096)
        self.refused(4, *PLAN, "--sheet", "s.csv", "--force", folder=place)
        self.assertEqual((old.read_bytes(), self.left(place)), (b"y" * 4096, ["filling", "s.csv"]))

    def test_no_room_for_one_more_name(self):
        place = self.mounted("size=1m,nr_inodes=2")  # the folder itself is one of them
        (place / "taken").touch()
        for words, _ in WRITERS:
            self.complains(self.refused(4, *words, folder=place), "No space left on device")
            self.assertEqual(self.left(place), ["taken"])

    def test_a_read_only_folder(self):
        place = self.mounted("size=1m")
        subprocess.run(["mount", "-o", "remount,ro", str(place)], check=True)
        for words, names in WRITERS:
            with self.subTest(words=words):
                self.complains(self.refused(4, *words, folder=place), f"{names[0]}: cannot be written: Read-only file system")
                self.assertEqual(self.left(place), [])

    def test_a_folder_of_somebody_else(self):
        needs_bare_program(self)
        if os.geteuid() != 0 or shutil.which("setpriv") is None:
            self.skipTest("needs root, to be somebody else")
        self.folder.chmod(0o755)
        sub = self.folder / "sub"
        sub.mkdir()
        copy = self.folder / "shotassay"  # a build folder may be closed to others
        shutil.copy(program(), copy)
        for words in ((*PLAN, "--sheet", "s.csv"), ("clinic", "page", "--out", "p.html"), ("clinic", "make", "--out", "e")):
            done = subprocess.run(["setpriv", "--reuid=65534", "--clear-groups", copy, *words], cwd=sub, env=environment(),
                                  capture_output=True, check=False)
            self.assertEqual((done.returncode, done.stdout), (4, b""), done.stderr)
            self.assertIn(b"cannot be written: Permission denied", done.stderr)
            self.assertEqual(self.left(sub), [])

    def test_a_full_standard_output(self):
        for words, names in WRITERS:
            if "--table" in words:
                continue  # prints nothing
            with self.subTest(words=words), open("/dev/full", "wb") as full:
                ran = self.ended(run(*words, folder=self.folder, out=full), 4)
                self.complains(ran, "the answer could not be written: No space left on device")
                self.assertEqual(self.left(), sorted(names))  # these are whole
                Interrupted.clear(self)


class NoReader(Left):
    def test_a_pipe_that_nobody_reads_ends_the_program_as_others(self):
        for words in ((*PLAN,), (*PLAN, "--json"), ("compare", BOWSTRINGS), ("audit", "--table", TABLE.name),
                      ("budget", EXAMPLES / "gap-budget.json"), ("--help",), ("clinic", "show", "luck")):
            with self.subTest(words=words):
                reading, writing = os.pipe()
                os.close(reading)
                child = subprocess.run([program(), *map(str, words)], stdout=writing, stderr=subprocess.PIPE,
                                       stdin=subprocess.DEVNULL, env=environment(), check=False)
                os.close(writing)
                self.assertEqual((child.returncode, child.stderr), (-signal.SIGPIPE, b""))
                ignored = subprocess.run(["sh", "-c", 'trap "" PIPE; "$0" "$@" | head -c 0; exit 0', program(),
                                          *map(str, words)], stderr=subprocess.PIPE, stdin=subprocess.DEVNULL,
                                         stdout=subprocess.DEVNULL, env=environment(), check=False)
                self.assertIn(ignored.stderr, (b"", b"shotassay: the answer could not be written: Broken pipe\n"))

    def test_a_table_whose_reader_goes_away(self):
        rows = "claim,shots_1,average_1,shots_2,average_2\n" + "".join(f"c{i},3,281,3,284\n" for i in range(30_000))
        table = self.file(rows, "t.csv")
        child = self.start("audit", "--table", table)
        child.stdout.read(100)
        child.stdout.close()
        self.assertEqual(child.wait(timeout=120), -signal.SIGPIPE)
        child.stderr.close()


class FileNames(Left):
    def test_the_longest_names_there_are(self):
        for words, ending in (((*PLAN, "--sheet"), ".csv"), ((*PLAN, "--report"), ".html"), (("clinic", "page", "--out"), ".html"),
                              (("clinic", "make", "--students", "1", "--out"), ""),
                              (("audit", "--table", TABLE.name, "--out"), ".csv")):
            for stem in ("x" * 300, "ü" * 300):
                for bytes_long in (248, 255):
                    name = stem.encode()[:bytes_long - len(ending)].decode(errors="ignore") + ending
                    ran = self.answered(*words, name, folder=self.folder)
                    self.assertEqual(self.left(), [name], str(ran))
                    Interrupted.clear(self)
                name = stem[:256] + ending
                ran = self.refused(4, *words, name, folder=self.folder)
                self.complains(ran, "cannot be written: File name too long")
                self.assertEqual(self.left(), [])
        ran = self.refused(3, "compare", "x" * 300)
        self.complains(ran, "cannot be read: File name too long")

    def test_odd_names_of_inputs_and_outputs(self):
        text = pathlib.Path(BOWSTRINGS).read_bytes()
        for name in (b"a b.csv", b"two\nlines.csv", b"-x.csv", b"--json", b"\xff\xfe.csv", b"\x1b[31m.csv", b"$(x)`y`.csv", b"*.csv",
                     b"~", b"a=b.csv", b"%s%n", "\u202e.csv".encode()):
            with self.subTest(name=name):
                (self.folder / os.fsdecode(name)).write_bytes(text)
                given = b"./" + name
                for command in ([b"compare", given], [b"plan", b"--shots", b"3", b"--from", given],
                                [b"clinic", b"show", b"luck", b"--tests", b"1", b"--from", given],
                                [b"compare", BOWSTRINGS, b"--history", given], [b"budget", given], [b"audit", b"--table", given],
                                [b"clinic", b"tally", given], [b"compare", b"--", name]):
                    done = subprocess.run([program(), *command], cwd=self.folder, env=environment(), capture_output=True,
                                          check=False)
                    self.assertIn(done.returncode, (0, 2, 3), done.stderr)
                    for stream in (done.stdout.decode(), done.stderr.decode()):
                        self.assertNotRegex(stream, "[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]")
                    if command[0] == b"compare" and b"--history" not in command:
                        self.assertEqual(done.returncode, 0, done.stderr)
                for command in ([*map(os.fsencode, PLAN), b"--force", b"--sheet=./" + name],
                                [b"clinic", b"page", b"--force", b"--out=./" + name]):
                    done = subprocess.run([program(), *command, b"--json"], cwd=self.folder, env=environment(),
                                          capture_output=True, check=False)
                    self.assertEqual(done.returncode, 0, done.stderr)
                    done.stdout.decode()
                self.assertEqual([os.fsencode(n) for n in self.left()], [name])
                Interrupted.clear(self)


if __name__ == "__main__":
    main()
