"""Imported by the Python side of a topic: answer_from(questions) runs the one whose name is the first word of the command
line and prints the CPU time of one run in nanoseconds and what came out. Second word: seconds to measure for."""

import sys
import time


def answer_from(questions):
    question, wanted = questions[sys.argv[1]], float(sys.argv[2])
    begun = time.process_time()
    for _ in range(5):
        answer = question()
        if time.process_time() - begun > 5 * wanted:
            break
    runs = 1
    while True:
        before = time.process_time_ns()
        for _ in range(runs):
            question()
        spent = time.process_time_ns() - before
        if spent >= 1e9 * wanted:
            break
        runs *= 2
    print(f"{spent / runs:.1f} {answer:.10g}")
