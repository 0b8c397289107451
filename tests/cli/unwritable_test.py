#!/usr/bin/env python3
"""What is left where files cannot be written: the disk full, the folder read-only, names too long or odd?"""

import os
import pathlib
import shutil
import subprocess
import sys

from program import BOWSTRINGS, environment, main, needs_bare_program, program, run
from writers import PLAN, TABLE, WRITERS, Left


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
                self.clear()


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
                    self.clear()
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
                self.clear()


if __name__ == "__main__":
    main()
