#!/usr/bin/env python3
"""growth.py PROGRAM SIMULATION: how time and memory grow with the work, as a Markdown table.

PROGRAM is shotassay, SIMULATION is tests/coverage/power_simulation: Welch tests of eight designs. Each job has ten times
the work of the one before, from 10 000 to 10 000 000; the next is left out where it would take more than ten minutes.
Time is CPU time of the whole process with one thread, memory the most it held at once (as wait4 tells it)."""

import os
import sys
import tempfile

LONGEST = 600.0  # seconds
PROGRAM, SIMULATION = sys.argv[1:3]


def sheet(rows, path):
    with open(path, "w", encoding="ascii") as out:
        out.write("setup,speed_fps\n")
        for start in range(0, rows // 2, 50_000):
            out.write("".join(f"A,{190 + 7 * i % 5}\nB,{188 + 3 * i % 4}\n"
                              for i in range(start, min(start + 50_000, rows // 2))))


def claims(rows, path):
    """Averages and SDs of five shots; SDs repeat after 21 and 23 rows, gaps after 79."""
    with open(path, "w", encoding="ascii") as out:
        out.write("shots_1,average_1,sd_1,shots_2,average_2,sd_2\n")
        for start in range(0, rows, 50_000):
            out.write("".join(
                f"5,{250 + i * 37 % 50}.0,{(5 + i * 53 % 21) / 10:.1f},"
                f"5,{(2500 + 10 * (i * 37 % 50) + 2 * (i * 101 % 79 - 19)) / 10:.1f},{(5 + i * 61 % 23) / 10:.1f}\n"
                for i in range(start, min(start + 50_000, rows))))


def run(command):
    """CPU seconds and MiB."""
    quiet = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    child = os.posix_spawn(command[0], command, os.environ, file_actions=quiet)
    _, status, usage = os.wait4(child, 0)
    if status:
        raise SystemExit(f"{' '.join(command)}: exit status {os.waitstatus_to_exitcode(status)}")
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def compared(size, folder):
    path = os.path.join(folder, "sheet.csv")
    sheet(size, path)
    return [PROGRAM, "compare", path]


def audited(size, folder):
    path = os.path.join(folder, "claims.csv")
    claims(size, path)
    return [PROGRAM, "audit", "--table", path, "--threads", "1"]


def simulated(size, _):
    return [SIMULATION, "1", str(size // 8)]


def number(x):
    return f"{x:,.0f}".replace(",", " ")


def seconds(x):
    return f"{x:.3f} s" if x < 1 else f"{x:.1f} s"


def main():
    print("| work | how much | CPU time | in a second | memory |")
    print("|---|--:|--:|--:|--:|")
    for words, command_for in (("`compare`, rows of a sheet", compared), ("`audit --table`, rows", audited),
                               ("simulated Welch tests", simulated)):
        last = 0.0
        for size in (10_000, 100_000, 1_000_000, 10_000_000):
            if 10 * last > LONGEST:
                print(f"| {words} | {number(size)} | left out: more than ten minutes | | |")
                continue
            with tempfile.TemporaryDirectory() as folder:
                last, memory = run(command_for(size, folder))
            print(f"| {words} | {number(size)} | {seconds(last)} | {number(float(f'{size / last:.2g}'))} | {memory:.0f} MiB |",
                  flush=True)


main()
