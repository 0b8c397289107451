#!/usr/bin/env python3
"""A program of somebody else finds, compiles with and links the library, from the build tree and from an installed prefix,
with nothing of what the library itself is built from in sight."""

import argparse
import json
import pathlib
import re
import shutil
import subprocess
import sys
import time

PRIVATE = re.compile(r"\b(boost|eigen|eigen3|fmt|nlohmann\w*|random123|cli11|doctest)\b|\bCLI\b", re.IGNORECASE)
PRIVATE_PACKAGES = ["Boost", "Eigen3", "fmt", "nlohmann_json", "Random123", "CLI11", "doctest"]
PRIVATE_FLAG = re.compile(r"-W|-ffp-contract|-D|-fsanitize")

# R 4.2.2: t.test(c(2,4,6), c(1,2,3)) has the interval -2.15540, 6.15540, df 2.94118 and p 0.22088
EXPECTED = "difference 2.0000, 95 % interval -2.1554 to 6.1554\ndegrees of freedom 2.9412, p 0.2209\n"


def run(*command):
    done = subprocess.run([str(word) for word in command], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          check=False)
    if done.returncode != 0:
        sys.exit(f"failed: {' '.join(map(str, command))}\n{done.stdout}")
    return done.stdout


def require(truth, complaint):
    if not truth:
        sys.exit(complaint)


class Test:
    def __init__(self, options):
        self.options = options
        self.source = options.source / "tests/package/consumer"
        self.work = options.build / "package-test"
        shutil.rmtree(self.work, ignore_errors=True)
        self.work.mkdir()

    def configure(self, source, folder, *more):
        run(self.options.cmake, "-S", source, "-B", folder, f"-DCMAKE_CXX_COMPILER={self.options.compiler}",
            "-DCMAKE_EXPORT_COMPILE_COMMANDS=ON", *more)

    def consume(self, where, prefix):
        """The consumer is configured, built and run with the package that stands in prefix."""
        folder = self.work / where
        self.configure(self.source, folder, f"-DCMAKE_PREFIX_PATH={prefix}",
                       *[f"-DCMAKE_DISABLE_FIND_PACKAGE_{name}=ON" for name in PRIVATE_PACKAGES])
        found = re.search(r"shotassay_DIR:PATH=(.*)", (folder / "CMakeCache.txt").read_text())[1]
        require(pathlib.Path(found).is_relative_to(prefix), f"{where}: found another package, in {found}")
        run(self.options.cmake, "--build", folder)
        printed = run(folder / "consumer")
        require(printed == EXPECTED, f"{where}: expected\n{EXPECTED}got\n{printed}")
        command = json.loads((folder / "compile_commands.json").read_text())[0]["command"]
        inherited = [word for word in command.split() if PRIVATE_FLAG.match(word)]
        require(not inherited, f"{where}: the user's program inherits {inherited}")
        print(f"{where}: found, built and run; flags taken over: none")

    def install(self):
        """Installed in one place and moved to another, so that no path of this machine can be in it."""
        run(self.options.cmake, "--install", self.options.build, "--prefix", self.work / "installed")
        prefix = self.work / "elsewhere"
        (self.work / "installed").rename(prefix)
        run(prefix / "bin/shotassay", "--help")
        return prefix

    def private_names(self, prefix):
        headers = sorted(prefix.rglob("*.hpp"))
        recipes = sorted(prefix.rglob("*.cmake"))
        ours = sorted(self.options.source.glob("lib/include/**/*.hpp"))
        require(len(headers) == len(ours) and len(recipes) >= 3, f"installed: {len(headers)} of {len(ours)} headers, {recipes}")
        for path in headers + recipes:
            text = path.read_text(encoding="utf-8")
            if path.suffix == ".hpp":
                text = re.sub(r"//.*", "", text)  # a comment may say who else computes a thing
            named = PRIVATE.search(text)
            require(not named, f"installed: {path.relative_to(prefix)} names {named and named[0]}")
            for place in (self.options.source, self.options.build):
                require(str(place) not in text, f"installed: {path.relative_to(prefix)} names the folder {place}")
        print(f"installed: {len(headers)} headers and {len(recipes)} CMake files name no private package")

    def private_headers(self, prefix):
        """What the compiler opens for the consumer."""
        rule = run(self.options.compiler, "-std=c++20", "-M", "-I", prefix / "include", self.source / "main.cpp")
        opened = [word for word in rule.replace("\\\n", " ").split()[1:]]
        require(any(word.endswith("shotassay/core/sample.hpp") for word in opened), f"our own headers are not seen in\n{rule}")
        private = [word for word in opened if PRIVATE.search(word.removeprefix(str(prefix)))]
        require(not private, f"the consumer opens {private}")
        print(f"consumer: {len(opened)} files opened, none of a private package")

    def compile_time(self, prefix):
        start = time.monotonic()
        run(self.options.compiler, "-std=c++20", "-c", "-I", prefix / "include", self.source / "main.cpp", "-o",
            self.work / "main.o")
        print(f"consumer: {time.monotonic() - start:.2f} s to compile")

    def subdirectory(self):
        """As a part of another project it builds the library alone and leaves that project's settings as they are."""
        parent = self.work / "parent"
        parent.mkdir()
        (parent / "CMakeLists.txt").write_text(
            "cmake_minimum_required(VERSION 3.25)\nproject(parent LANGUAGES CXX)\n"
            f"add_subdirectory(\"{self.options.source}\" part)\n"
            "if(NOT TARGET shotassay::shotassay OR TARGET shotassay_program OR TARGET shotassay_tests)\n"
            "  message(FATAL_ERROR \"the library and nothing else was expected\")\nendif()\n")
        self.configure(parent, self.work / "parent-build")
        cache = (self.work / "parent-build/CMakeCache.txt").read_text()
        require(re.search(r"^CMAKE_BUILD_TYPE:STRING=$", cache, re.MULTILINE), "the parent's build type was changed")
        print("subdirectory: brings the library alone")


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--source", type=pathlib.Path, required=True)
    parser.add_argument("--build", type=pathlib.Path, required=True)
    parser.add_argument("--cmake", default="cmake")
    parser.add_argument("--compiler", default="c++")
    test = Test(parser.parse_args())
    test.consume("build tree", test.options.build)
    prefix = test.install()
    test.private_names(prefix)
    test.consume("installed", prefix)
    test.private_headers(prefix)
    test.compile_time(prefix)
    test.subdirectory()


if __name__ == "__main__":
    main()
