#!/usr/bin/env python3
"""Does a test notice when a method is wrong?

  mutate.py --check                        every list fits the sources as they stand; every method has one
  mutate.py --library LIB [METHOD...]      each wrong line put in, one at a time, and the method's tests run
            [--compiler g++] [--jobs 2] [--update]

methods/METHOD.toml lists plausible wrong lines: n for n - 1, one tail for two, a swapped pair, a missing half step. Each
is put into a copy of its file, the tests named in the list are compiled against the copy, and one of them must fail. Some
half an hour for all; --update writes the count into docs/mutation.md. LIB is the static library of a Release build.
"""

import argparse
import concurrent.futures
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
LISTS = HERE / "methods"
PAGE = ROOT / "docs" / "mutation.md"
FLAGS = ["-std=c++20", "-O1", "-ffp-contract=off", "-w"]
SECONDS = 300  # a test that runs so much longer than it should has noticed


class Mutant:
    def __init__(self, method, tests, entry):
        self.method = method
        self.tests = entry.get("tests", tests)
        self.file = ROOT / entry.get("file", f"lib/include/shotassay/methods/{method}.hpp")
        self.what, self.line, self.instead = entry["what"], entry["line"], entry["instead"]

    def name(self):
        return f"{self.method}: {self.what}"

    def complaint(self):
        """Why the list does not fit the source, or None."""
        where = f"tests/mutation/methods/{self.method}.toml: {self.what}: "
        if not self.file.is_file():
            return f"{where}{self.file.relative_to(ROOT)} does not exist"
        times = self.file.read_text(encoding="utf-8").count(self.line)
        if times != 1:
            return f"{where}the line stands {times} times in {self.file.relative_to(ROOT)}, not once"
        if self.line == self.instead:
            return where + "the wrong line is the right one"
        for test in self.tests:
            if not (ROOT / "tests" / test).is_file():
                return f"{where}tests/{test} does not exist"
        return None

    def mutated(self):
        return self.file.read_text(encoding="utf-8").replace(self.line, self.instead)


def mutants(methods=()):
    found = []
    for path in sorted(LISTS.glob("*.toml")):
        if methods and path.stem not in methods:
            continue
        with path.open("rb") as stream:
            content = tomllib.load(stream)
        found += [Mutant(path.stem, content["tests"], entry) for entry in content["wrong"]]
    return found


def complaints():
    for mutant in mutants():
        complaint = mutant.complaint()
        if complaint:
            yield complaint
    named = {path.stem for path in LISTS.glob("*.toml")}
    for header in sorted((ROOT / "lib/include/shotassay/methods").glob("*.hpp")):
        if header.stem not in named:
            yield f"tests/mutation/methods/{header.stem}.toml: missing; every method has a list of wrong lines"


class Bench:
    """Compiles and runs tests; what does not change from mutant to mutant is compiled once."""

    def __init__(self, folder, compiler, library):
        self.folder, self.compiler, self.library = folder, compiler, library
        self.common = [self.object_of(ROOT / "tests/support" / name) for name in ("main.cpp", "published.cpp")]

    def compile(self, source, target, before=()):
        words = [self.compiler, *FLAGS, *before, f"-I{ROOT / 'lib/include'}", f"-I{ROOT / 'tests'}",
                 f"-I{ROOT / 'lib/src'}", f"-DSHOTASSAY_SOURCE_DIR=\"{ROOT}\"",
                 "-DEIGEN_MPL2_ONLY", "-isystem/usr/include/eigen3", "-c", str(source), "-o", str(target)]
        subprocess.run(words, check=True, capture_output=True, text=True)
        return target

    def object_of(self, source):
        return self.compile(source, self.folder / (source.name + ".o"))

    def outcome(self, folder, tests, overlay=(), sources=()):
        """"passed" or how the tests failed, with what they said."""
        try:
            objects = [self.compile(source, folder / (source.name + ".o"), [f"-iquote{source.original}", *overlay])
                       for source in sources]
            objects += [self.compile(ROOT / "tests" / test, folder / (test.replace("/", ".") + ".o"), overlay)
                        for test in tests]
            program = folder / "tests"
            subprocess.run([self.compiler, *map(str, objects), *map(str, self.common), str(self.library), "-pthread",
                            "-o", str(program)], check=True, capture_output=True, text=True)
        except subprocess.CalledProcessError as error:
            return "not compiled", error.stderr
        try:
            run = subprocess.run([str(program), "--abort-after=1"], capture_output=True, text=True, timeout=SECONDS)
        except subprocess.TimeoutExpired:
            return "too slow", ""
        if run.returncode == 0:
            return "passed", run.stdout
        return ("failed" if run.returncode == 1 else "crashed"), run.stdout + run.stderr


class CopiedSource(type(pathlib.Path())):
    """A source file in the scratch folder; quoted includes are looked for where it was copied from."""

    original = None


def copied(folder, name, text, original):
    path = CopiedSource(folder / name)
    path.write_text(text, encoding="utf-8")
    path.original = original
    return path


def judged(bench, mutant):
    with tempfile.TemporaryDirectory(dir=bench.folder) as name:
        folder = pathlib.Path(name)
        relative = mutant.file.relative_to(ROOT)
        if relative.parts[:2] == ("lib", "include"):
            place = folder / "include" / relative.relative_to("lib/include")
            place.parent.mkdir(parents=True)
            place.write_text(mutant.mutated(), encoding="utf-8")
            return bench.outcome(folder, mutant.tests, [f"-I{folder / 'include'}"])
        home = mutant.file.parent
        if mutant.file.suffix == ".cpp":
            return bench.outcome(folder, mutant.tests, sources=[copied(folder, mutant.file.name, mutant.mutated(), home)])
        # A private header: all that include it are compiled anew, beside the mutated copy.
        copied(folder, mutant.file.name, mutant.mutated(), home)
        using = [path for path in sorted(home.glob("*.cpp")) if f'"{mutant.file.name}"' in path.read_text(encoding="utf-8")]
        return bench.outcome(folder, mutant.tests,
                             sources=[copied(folder, path.name, path.read_text(encoding="utf-8"), home) for path in using])


def update(results, seconds, compiler):
    rows = ["| method | wrong lines | noticed |", "|---|--:|--:|"]
    methods = sorted({mutant.method for mutant, _ in results})
    for method in methods:
        own = [outcome for mutant, outcome in results if mutant.method == method]
        rows.append(f"| {method} | {len(own)} | {sum(outcome != 'passed' for outcome in own)} |")
    noticed = sum(outcome != "passed" for _, outcome in results)
    rows.append(f"| all | {len(results)} | {noticed} |")
    version = subprocess.run([compiler, "--version"], capture_output=True, text=True, check=True).stdout.splitlines()[0]
    text = "\n".join(["", *rows, "", f"Compiled with {version}; {seconds / 60:.0f} minutes.", ""])
    page = PAGE.read_text(encoding="utf-8")
    page, times = re.subn(r"(<!-- made by mutate.py -->\n).*?(<!-- end of mutate.py -->)",
                          lambda mark: mark[1] + text + "\n" + mark[2], page, flags=re.S)
    if times != 1:
        sys.exit(f"{PAGE}: the marks of mutate.py are missing")
    PAGE.write_text(page, encoding="utf-8")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--library", type=pathlib.Path)
    parser.add_argument("--compiler", default="g++")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--update", action="store_true")
    parser.add_argument("methods", nargs="*")
    words = parser.parse_args()
    wrong = list(complaints())
    print(*wrong, sep="\n", end="\n" if wrong else "")
    if wrong:
        return 1
    if words.check:
        return 0
    if not words.library or not words.library.is_file():
        parser.error("--library names the static library of a Release build")
    if words.update and words.methods:
        parser.error("--update takes all methods")
    chosen = mutants(words.methods)
    if not chosen:
        parser.error("no such method")
    begin = time.monotonic()
    scratch = pathlib.Path(tempfile.mkdtemp(prefix="mutants-"))
    try:
        bench = Bench(scratch, words.compiler, words.library.resolve())
        with concurrent.futures.ThreadPoolExecutor(words.jobs) as pool:
            # The tests as they stand must pass, or a failure says nothing.
            suites = sorted({tuple(mutant.tests) for mutant in chosen})

            def unchanged(suite):
                with tempfile.TemporaryDirectory(dir=scratch) as name:
                    return bench.outcome(pathlib.Path(name), suite)

            for suite, (outcome, said) in zip(suites, pool.map(unchanged, suites)):
                if outcome != "passed":
                    print(f"{', '.join(suite)}: {outcome} without any change\n{said}")
                    return 1
            results = []
            for mutant, (outcome, said) in zip(chosen, pool.map(lambda m: judged(bench, m), chosen)):
                if outcome == "not compiled":
                    print(f"NOT COMPILED {mutant.name()}\n{said[:2000]}")
                    return 1
                print(f"{'SURVIVED' if outcome == 'passed' else outcome:9} {mutant.name()}", flush=True)
                results.append((mutant, outcome))
    finally:
        shutil.rmtree(scratch, ignore_errors=True)
    survived = [mutant for mutant, outcome in results if outcome == "passed"]
    if words.update:
        update(results, time.monotonic() - begin, words.compiler)
    print(f"{len(results) - len(survived)} noticed, {len(survived)} survived")
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main())
