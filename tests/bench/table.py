#!/usr/bin/env python3
"""table.py LINES MEASURED: the Markdown table of what beside.sh measured.

LINES says what is compared with what; MEASURED has a line for each measurement, tab-separated: round, side and
question, nanoseconds, answer. Times are medians over the rounds, a ratio the median of the rounds' own ratios, with
the least and the most."""

import statistics
import sys


def fields(line):
    return [field.strip() for field in line.split("|")]


def compared(path):
    """(ours, in words, peer, in words, goal) of each comparison."""
    with open(path, encoding="utf-8") as lines:
        return [fields(line) for line in lines if line.strip() and not line.startswith("#")]


def measured(path):
    """side and question -> ({round: nanoseconds}, answer)"""
    found = {}
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            number, what, nanoseconds, answer = line.rstrip("\n").split("\t")
            found.setdefault(what, ({}, answer))[0][number] = float(nanoseconds)
    return found


def time(nanoseconds):
    for unit, size in (("s", 1e9), ("ms", 1e6), ("µs", 1e3)):
        if nanoseconds >= size:
            return f"{three_digits(nanoseconds / size)} {unit}"
    return f"{three_digits(nanoseconds)} ns"


def three_digits(x):
    decimals = 0 if x >= 100 else 1 if x >= 10 else 2
    return f"{x:.{decimals}f}"


def ratio(x):
    return f"{x:.0f}" if x >= 10 else f"{x:.2g}"


def answer(text):
    return "" if text == "-" else f"{float(text):.4g}"


def row(comparison, times):
    ours, words, peer, peer_words, goal = comparison
    (ours_times, ours_answer), (peer_times, peer_answer) = times[ours], times[peer]
    ratios = [peer_times[number] / ours_times[number] for number in sorted(ours_times)]
    spread = f"{ratio(statistics.median(ratios))} ({ratio(min(ratios))} … {ratio(max(ratios))})"
    side = peer.split()[0]
    cells = [words, time(statistics.median(ours_times.values())), answer(ours_answer),
             peer_words if side == "process" else f"{side}: {peer_words}", time(statistics.median(peer_times.values())),
             answer(peer_answer), spread, "" if goal == "-" else goal]
    return "| " + " | ".join(cells) + " |"


def main():
    comparisons, times = compared(sys.argv[1]), measured(sys.argv[2])
    print("| ours | CPU time | answer | peer | CPU time | answer | peer ÷ ours (least … most) | goal |")
    print("|---|--:|--:|---|--:|--:|--:|--:|")
    for comparison in comparisons:
        print(row(comparison, times))


main()
