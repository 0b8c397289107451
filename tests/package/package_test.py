#!/usr/bin/env python3
"""A program of somebody else finds, compiles with and links the library, from the build tree and from an installed prefix,
by CMake and by pkg-config, with nothing of what the library itself is built from in sight."""

import argparse
import json
import pathlib
import re
import shlex
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


def shown_in_readme(source):
    """The program that README.md shows, and what it says that it prints."""
    text = (source / "README.md").read_text(encoding="utf-8")
    shown = re.search(r"```cpp\n(.*?)```\n\n```text\n(.*?)```", text, re.DOTALL)
    require(shown and len(shown[1].splitlines()) <= 15, "README.md shows no program of 15 lines and what it prints")
    return shown[1], shown[2]


def other_compiler(compiler):
    """Clang beside GCC or the other way round, where the machine has both."""
    is_clang = "clang" in run(compiler, "--version")
    return shutil.which("g++" if is_clang else "clang++")


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
        program, self.readme_prints = shown_in_readme(options.source)
        self.readme = self.work / "a program of README.md"
        self.readme.mkdir()
        (self.readme / "main.cpp").write_text(program, encoding="utf-8")
        shutil.copy(self.source / "CMakeLists.txt", self.readme)

    def configure(self, source, folder, *more, compiler=None):
        run(self.options.cmake, "-S", source, "-B", folder, f"-DCMAKE_CXX_COMPILER={compiler or self.options.compiler}",
            "-DCMAKE_EXPORT_COMPILE_COMMANDS=ON", *more)

    def consume(self, where, prefix, source=None, prints=EXPECTED, compiler=None):
        """The consumer is configured, built and run with the package that stands in prefix."""
        folder = self.work / where
        self.configure(source or self.source, folder, f"-DCMAKE_PREFIX_PATH={prefix}",
                       *[f"-DCMAKE_DISABLE_FIND_PACKAGE_{name}=ON" for name in PRIVATE_PACKAGES], compiler=compiler)
        found = re.search(r"shotassay_DIR:PATH=(.*)", (folder / "CMakeCache.txt").read_text())[1]
        require(pathlib.Path(found).is_relative_to(prefix), f"{where}: found another package, in {found}")
        run(self.options.cmake, "--build", folder)
        printed = run(folder / "consumer")
        require(printed == prints, f"{where}: expected\n{prints}got\n{printed}")
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

    def multiarch(self):
        """Installed into the library folder of one architecture, below a folder with blanks in its name."""
        architecture = run(self.options.compiler, "-print-multiarch").strip() or "any-architecture"
        place = self.work / "one library folder"
        self.configure(self.options.source, place, "-DCMAKE_BUILD_TYPE=Release", "-DSHOTASSAY_CLI=OFF",
                       f"-DCMAKE_INSTALL_LIBDIR=lib/{architecture}", f"-DCMAKE_LIBRARY_ARCHITECTURE={architecture}")
        # The rules of installation are what is tried; the library itself is the one that is built already.
        shutil.copy(self.options.build / "lib/libshotassay.a", place / "lib")
        prefix = self.work / "a prefix with blanks"
        run(self.options.cmake, "--install", place, "--prefix", prefix)
        require((prefix / "lib" / architecture / "libshotassay.a").is_file(), f"no library below lib/{architecture}")
        return prefix

    def by_pkg_config(self, where, prefix):
        """What pkg-config says leads to the files that are installed there."""
        recipe = next(prefix.rglob("shotassay.pc"), None)
        require(recipe is not None, f"{where}: no shotassay.pc")
        require(str(prefix) not in recipe.read_text(encoding="utf-8"), f"{where}: shotassay.pc names its place")
        words = shlex.split(run("env", f"PKG_CONFIG_PATH={recipe.parent}", "pkg-config", "--cflags", "--libs", "shotassay"))
        for letter, file in (("-I", "shotassay/shotassay.hpp"), ("-L", "libshotassay.a")):
            folders = [pathlib.Path(word[2:]) for word in words if word.startswith(letter)]
            require([prefix.resolve() in f.resolve().parents and (f / file).is_file() for f in folders] == [True],
                    f"{where}: {file} of {prefix} is not found with {words}")
        version = run("env", f"PKG_CONFIG_PATH={recipe.parent}", "pkg-config", "--modversion", "shotassay").strip()
        told = run(self.options.build / "shotassay", "--version").split()[1]
        require(version == told, f"{where}: pkg-config says version {version}, the program {told}")
        return words

    def compile_readme(self, where, words):
        """The program of README.md, with what pkg-config says and no more."""
        program = self.work / "by pkg-config"
        start = time.monotonic()
        run(self.options.compiler, "-std=c++20", self.readme / "main.cpp", *words, "-o", program)
        taken = time.monotonic() - start
        printed = run(program)
        require(printed == self.readme_prints, f"{where}: expected\n{self.readme_prints}got\n{printed}")
        print(f"{where}: compiled with {' '.join(word[:2] for word in words)} of pkg-config in {taken:.2f} s, and run")

    def subdirectory(self):
        """As a part of another project, in a folder with blanks in its name, it builds the library alone and leaves that
        project's settings as they are."""
        parent = self.work / "the parent project"
        parent.mkdir()
        (parent / "shotassay").symlink_to(self.options.source, target_is_directory=True)
        (parent / "CMakeLists.txt").write_text(
            "cmake_minimum_required(VERSION 3.25)\nproject(parent LANGUAGES CXX)\n"
            "add_subdirectory(shotassay part)\n"
            "if(NOT TARGET shotassay::shotassay OR TARGET shotassay_program OR TARGET shotassay_tests)\n"
            "  message(FATAL_ERROR \"the library and nothing else was expected\")\nendif()\n")
        build = self.work / "the parent's build"
        self.configure(parent, build, "-G", "Unix Makefiles")
        cache = (build / "CMakeCache.txt").read_text()
        require(re.search(r"^CMAKE_BUILD_TYPE:STRING=$", cache, re.MULTILINE), "the parent's build type was changed")
        # One file for all: a path taken apart at a blank would show.
        run("make", "-C", build / "part/lib", "src/core/version.cpp.o")
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
    other = other_compiler(test.options.compiler)
    if other:
        test.consume(f"build tree, {pathlib.Path(other).name}", test.options.build, test.readme, test.readme_prints, other)
    else:
        print("no second compiler here: run-all.sh --checks installs one")
    blanks = test.multiarch()
    test.consume("blanks and multiarch", blanks, test.readme, test.readme_prints)
    test.by_pkg_config("installed", prefix)
    test.compile_readme("blanks and multiarch", test.by_pkg_config("blanks and multiarch", blanks))
    test.private_headers(prefix)
    test.subdirectory()


if __name__ == "__main__":
    main()
