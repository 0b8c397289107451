#!/usr/bin/env python3
"""process.py SECONDS PROGRAM WORD...: CPU time of a whole run of a program, start to end, in nanoseconds.

The average over so many runs as take the seconds, two runs left out that fill the caches; and a dash for the answer."""

import os
import sys


def cpu_time(command):
    quiet = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    child = os.posix_spawn(command[0], command, os.environ, file_actions=quiet)
    _, status, usage = os.wait4(child, 0)
    if status:
        raise SystemExit(f"{' '.join(command)}: exit status {os.waitstatus_to_exitcode(status)}")
    return usage.ru_utime + usage.ru_stime


def main():
    wanted, command = float(sys.argv[1]), sys.argv[2:]
    for _ in range(2):
        cpu_time(command)
    spent = runs = 0
    while spent < wanted or runs < 5:
        spent += cpu_time(command)
        runs += 1
    print(f"{1e9 * spent / runs:.1f} -")


main()
