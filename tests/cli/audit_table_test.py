#!/usr/bin/env python3
"""`audit --table`: many claims, one verdict row each; wrong rows, wrong files, full disks, interruptions, memory."""

import csv
import io
import os
import random
import resource
import signal
import subprocess
import time
import unittest

from program import ProgramTest, environment, main, program, pseudo_terminal, run

HEADER = "claim,shots_1,average_1,sd_1,shots_2,average_2,sd_2,claims\n"
NAMES = ["row", "claim", "possible_1", "possible_2", "gap_low", "gap_high", "faster", "slower", "same", "open",
         "support", "tipping_sd", "tightest_low", "tightest_high", "problem"]


def rows_of(text, delimiter=","):
    """The verdict rows as Python's csv module reads them."""
    read = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter))
    assert not read or list(read[0]) == NAMES, text
    return read


def table(rows, seed=1):
    """Invented claims of three to five shots with averages and SDs."""
    r = random.Random(seed)
    lines = [HEADER]
    for i in range(rows):
        average = r.gauss(270, 15)
        lines.append(f"c{i},{r.randint(3, 5)},{average:.1f},{r.uniform(0.5, 3):.1f},{r.randint(3, 5)},"
                     f"{average + r.gauss(0, 4):.1f},{r.uniform(0.5, 3):.1f},faster\n")
    return "".join(lines)


class AuditTableTest(ProgramTest):
    def claims(self, text, name="claims.csv"):
        return self.file(text, name)

    def audited(self, text, *words, status=0, delimiter=","):
        ran = self.ended(run("audit", "--table", self.claims(text), *words), status)
        return rows_of(ran.out, delimiter), ran


class WrongTables(AuditTableTest):
    def test_no_file_an_empty_one_and_no_text(self):
        self.complains(self.refused(3, "audit", "--table", self.folder / "none.csv"), "there is no such file")
        self.complains(self.refused(3, "audit", "--table", self.folder), "is a directory")
        self.complains(self.refused(3, "audit", "--table", self.claims("")), "the file is empty")
        self.complains(self.refused(3, "audit", "--table", self.claims(b"PK\x03\x04\0\0\0\0")), "a spreadsheet file")

    def test_a_wrong_header_stops_before_anything_is_written(self):
        out = self.folder / "out.csv"
        ran = self.refused(3, "audit", "--table", self.claims("shots_1,averge_1\n3,281\n"), "--out", out)
        self.complains(ran, "line 1, column averge_1", "if average_1 is meant")
        self.assertFalse(out.exists())
        self.complains(self.refused(3, "audit", "--table", self.claims("average_1\n281\n")), "column shots_1", "--shots")

    def test_a_wrong_row_says_where_and_the_rest_goes_on(self):
        text = HEADER + "a,3,281,,3,284,,faster\nb,3,28l,,3,284,,\nc,3,281,,3,284,,faster\nd,0,281,,3,284,,\n"
        read, ran = self.audited(text, status=3)
        self.assertEqual([row["row"] for row in read], ["2", "3", "4", "5"])
        self.assertIn('line 3, column average_1: found "28l"', read[1]["problem"])
        self.assertEqual(read[1]["possible_1"], "")
        self.assertIn("line 5, column shots_1", read[3]["problem"])
        self.assertEqual({**read[0], "row": "", "claim": ""}, {**read[2], "row": "", "claim": ""})
        self.complains(ran, "line 3: 2 of 4 rows could not be read, this one first")

    def test_a_row_that_is_no_utf_8_harms_no_other(self):
        ran = self.ended(run("audit", "--table", self.claims(HEADER.encode() + b"gr\xf6n,3,281,,3,284,,\nb,3,281,,3,284,,\n")), 3)
        read = rows_of(ran.out)
        self.assertIn("not text in UTF-8", read[0]["problem"])
        self.assertEqual(read[1]["possible_1"], "yes")

    def test_columns_passed_over_are_named(self):
        _, ran = self.audited("shots_1,average_1,url\n3,281,x\n")
        self.complains(ran, "passed over", "url")


class RightTables(AuditTableTest):
    def test_averages_of_three_shots(self):
        read, _ = self.audited(HEADER + "a,3,281,,3,284,,faster\n")
        self.assertEqual(read[0]["possible_1"], "yes")
        # Sums 842 … 844 and 851 … 853: the gap is 7/3 to 11/3; 3/(t(0.975; 4)·√(2/3)) = 1.3233593593
        self.assertEqual(read[0]["gap_low"], "2.333333333")
        self.assertEqual(read[0]["gap_high"], "3.666666667")
        self.assertEqual(read[0]["tipping_sd"], "1.323359359")
        self.assertEqual((read[0]["open"], read[0]["support"]), ("", "some"))  # open: without end

    def test_an_impossible_average(self):
        read, _ = self.audited(HEADER + "a,3,281.5,,3,284,,faster\n")
        self.assertEqual((read[0]["possible_1"], read[0]["possible_2"]), ("no", "yes"))
        self.assertEqual([read[0][k] for k in ("faster", "slower", "same", "open")], ["0"] * 4)

    def test_more_work_than_a_row_may_take_is_no_wrong_row(self):
        read, _ = self.audited(HEADER + "a,10,281,9,10,284,9,\n", "--max-operations", "1e4")
        self.assertTrue(read[0]["problem"].startswith("too many reading sets to count: "), read)
        self.assertEqual(read[0]["faster"], "")
        self.assertNotEqual(read[0]["tipping_sd"], "")

    def test_margin_display_and_confidence_hold_for_all_rows(self):
        text = HEADER + "a,5,281.2,0.8,5,281.4,0.5,same\n"
        read, _ = self.audited(text, "--margin", "3")
        self.assertEqual(read[0]["support"], "every")
        self.audited(text, status=3)  # nothing is the same without a margin
        fine, _ = self.audited("shots_1,average_1\n3,281.25\n", "--display", "0.25")
        coarse, _ = self.audited("shots_1,average_1\n3,281.25\n")
        self.assertEqual((fine[0]["possible_1"], coarse[0]["possible_1"]), ("yes", "no"))
        wide, _ = self.audited(HEADER + "a,5,281,1,5,284,1,\n", "--confidence", "0.99")
        narrow, _ = self.audited(HEADER + "a,5,281,1,5,284,1,\n", "--confidence", "0.9")
        self.assertLess(float(narrow[0]["tightest_high"]), float(wide[0]["tightest_high"]))

    def test_semicolons_and_decimal_commas_come_back(self):
        read, ran = self.audited("claim;shots_1;average_1;shots_2;average_2\nx,y;3;281;3;284\nz;3;281,3;3;284,7\n",
                                 delimiter=";")
        self.assertEqual(read[0]["claim"], "x,y")
        self.assertEqual(read[0]["gap_low"], "2,333333333")
        self.assertNotIn(".", ran.out)
        # Points in a table with semicolons stay points.
        read, _ = self.audited("shots_1;average_1;shots_2;average_2\n3;281.3;3;284.7\n", delimiter=";")
        self.assertEqual(read[0]["gap_low"], "3.333333333")

    def test_names_that_are_formulas_are_harmless(self):
        text = "claim,shots_1,average_1\n" + "".join(f'"{c}1+1, ""x""",3,281\n' for c in "=+-@")
        read, _ = self.audited(text)
        self.assertEqual([row["claim"] for row in read], [f'\'{c}1+1, "x"' for c in "=+-@"])

    def test_standard_input_and_bytes_that_do_not_depend_on_threads(self):
        text = table(500)
        alone = self.answered("audit", "--table", "-", "--threads", "1", stdin=text)
        for threads in (2, 3, 8):
            many = self.answered("audit", "--table", "-", "--threads", threads, stdin=text)
            self.assertEqual(many.out_bytes, alone.out_bytes)
        self.assertEqual([row["row"] for row in rows_of(alone.out)], [str(i) for i in range(2, 502)])

    def test_no_rows_give_the_header(self):
        self.assertEqual(self.answered("audit", "--table", self.claims(HEADER)).out, ",".join(NAMES) + "\n")


class OutputFiles(AuditTableTest):
    def left(self):
        return sorted(path.name for path in self.folder.iterdir())

    def test_a_file_is_replaced_with_force_only(self):
        source, out = self.claims(HEADER + "a,3,281,,3,284,,\n"), self.folder / "out.csv"
        self.assertEqual(self.answered("audit", "--table", source, "--out", out).out, "")
        first = out.read_bytes()
        self.complains(self.refused(2, "audit", "--table", source, "--out", out), "there is such a file already")
        out.write_text("old")
        self.answered("audit", "--table", source, "--out", out, "--force")
        self.assertEqual(out.read_bytes(), first)
        self.complains(self.refused(2, "audit", "--table", source, "--out", source, "--force"), "this is the table itself")
        self.assertEqual(self.left(), ["claims.csv", "out.csv"])

    def test_wrong_rows_are_in_the_file_too(self):
        out = self.folder / "out.csv"
        self.ended(run("audit", "--table", self.claims(HEADER + "a,x,281,,3,284,,\n"), "--out", out), 3)
        self.assertIn("line 2, column shots_1", rows_of(out.read_text())[0]["problem"])

    def test_a_full_disk_leaves_nothing_behind(self):
        source = self.claims(table(2000))

        def no_room():
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))
        done = subprocess.run([program(), "audit", "--table", source, "--out", self.folder / "out.csv"],
                              env=environment(), capture_output=True, check=False, preexec_fn=no_room)
        self.assertEqual(done.returncode, 4, done.stderr)
        self.assertIn(b"cannot be written", done.stderr)
        self.assertEqual(self.left(), ["claims.csv"])
        with open("/dev/full", "wb") as full:
            self.ended(run("audit", "--table", source, out=full), 4)

    def test_an_interruption_leaves_nothing_behind(self):
        for number in (signal.SIGINT, signal.SIGTERM):
            child = subprocess.Popen([program(), "audit", "--table", "-", "--out", "out.csv"], env=environment(),
                                     cwd=self.folder, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
            child.stdin.write(table(20_000).encode())  # and no end
            child.stdin.flush()
            for _ in range(200):
                if self.left():
                    break
                time.sleep(0.02)
            self.assertEqual(len(self.left()), 1)  # the draft
            self.assertNotEqual(self.left(), ["out.csv"])
            child.send_signal(number)
            child.communicate(timeout=60)
            self.assertEqual(child.returncode, -number)
            self.assertEqual(self.left(), [])


class ManyRows(AuditTableTest):
    def peak(self, rows):
        """Most memory of the program itself, KiB: of a process, ru_maxrss remembers what it was forked from."""
        source, out = self.claims(table(rows), f"{rows}.csv"), self.folder / f"{rows}.out"
        # Under the address sanitizer what was given back is soon given out again, as without it.
        variables = environment(ASAN_OPTIONS=os.environ.get("ASAN_OPTIONS", "") + ":quarantine_size_mb=1")
        child = subprocess.Popen([program(), "audit", "--table", source, "--out", out, "--threads", "2"], env=variables)
        most = 0
        while child.poll() is None:
            try:
                with open(f"/proc/{child.pid}/status", encoding="ascii") as status:
                    most = max([most] + [int(line.split()[1]) for line in status if line.startswith("VmHWM")])
            except OSError:
                pass
            time.sleep(0.01)
        self.assertEqual(child.returncode, 0)
        with open(out, encoding="utf-8") as written:
            self.assertEqual(sum(1 for _ in written), rows + 1)
        return most

    def test_memory_does_not_grow_with_the_rows(self):
        # Some thousand different rows fill what is kept of answers; from then on rows add nothing.
        few, many = self.peak(20_000), self.peak(200_000)
        self.assertLess(many, 1.5 * few)

    def test_progress_is_shown_on_a_terminal_only(self):
        source, out = self.claims(table(60_000)), self.folder / "out.csv"
        self.assertEqual(self.answered("audit", "--table", source, "--out", out).err, "")
        ours, theirs = pseudo_terminal(self)
        child = subprocess.Popen([program(), "audit", "--table", source, "--out", out, "--force", "--threads", "1"],
                                 env=environment(), stdout=subprocess.PIPE, stderr=theirs)
        os.close(theirs)
        shown = b""
        try:
            while piece := os.read(ours, 4096):
                shown += piece
        except OSError:  # the other end is closed
            pass
        os.close(ours)
        child.communicate()
        self.assertEqual(child.returncode, 0)
        self.assertRegex(shown, rb"\d+ rows, \d+ %, \d+ a second")
        self.assertTrue(shown.endswith(b"\r\x1b[K"), shown[-40:])


if __name__ == "__main__":
    main()
