#!/usr/bin/env python3
"""Checks of the source tree's own rules: check_structure.py CHECK... [--root FOLDER]

Each check yields complaints of the form "file:line: what is wrong"; any complaint makes the exit status 1.
"""

import argparse
import os
import pathlib
import re
import sys
import urllib.parse

sys.dont_write_bytecode = True
import tree  # noqa: E402  (nothing may be written into the source tree)

# A lower floor never includes a higher one; floors of one height do not include each other.
HEIGHT = {"core": 0, "numerics": 1, "records": 1, "document": 1, "methods": 2, "studies": 3, "narrative": 4, "report": 5,
          "umbrella": 6, "cli": 7}
# Rendering knows no statistics, so the report floor sees nothing of what lies between it and the documents.
REPORT_SEES = {"core", "document", "report"}

STANDARD = set("""
algorithm any array atomic barrier bit bitset cassert cctype cerrno cfenv cfloat charconv chrono cinttypes climits clocale
cmath codecvt compare complex concepts condition_variable coroutine csetjmp csignal cstdarg cstddef cstdint cstdio cstdlib
cstring ctime cuchar cwchar cwctype deque exception execution filesystem format forward_list fstream functional future
initializer_list iomanip ios iosfwd iostream istream iterator latch limits list locale map memory memory_resource mutex new
numbers numeric optional ostream queue random ranges ratio regex scoped_allocator semaphore set shared_mutex
source_location span sstream stack stdexcept stop_token streambuf string string_view strstream syncstream system_error
thread tuple type_traits typeindex typeinfo unordered_map unordered_set utility valarray variant vector version
""".split())
POSIX = re.compile(r"(sys/|unistd\.h|fcntl\.h|termios\.h|poll\.h|signal\.h|errno\.h)")
# Where the headers of other packages may be named: a folder, and whether public headers are part of it.
GUESTS = {"boost": "lib/src/numerics", "Eigen": "lib/src/numerics", "unsupported": "lib/src/numerics",
          "Random123": "lib/src/numerics", "nlohmann": "lib/src", "fmt": "lib/src", "CLI": "cli", "muParser.h": "cli",
          "doctest": "tests"}

TOP_LEVEL = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "lib", "cli", "tests", "docs", "data"}

# Method headers without a test file of their own, each with the reason.
METHODS_WITHOUT_TEST = {}

BIBLIOGRAPHY = pathlib.Path("docs/bibliography.md")
INDEX = pathlib.Path("docs/README.md")
LICENCES = pathlib.Path("docs/licences.md")

# Written in two halves, so that this file passes its own check.
FORBIDDEN = [(re.compile(r"\b(TO" + r"DO|FIX" + r"ME)\b"), "an open end"),
             (re.compile(r"(?<![\w./])/wo" + r"rk/|/tmp/ba" + r"sh_jobs|/tmp/sh" + r"ot\b|(?<![\w./])/ho" + r"me/\w"),
              "a machine's path")]
MADE_ELSEWHERE = {"data"}  # kept as published


def floor_of(name):
    """The floor a file of lib or cli stands on, or None."""
    parts = name.parts
    if parts[0] == "cli":
        return "cli"
    if parts[:3] == ("lib", "include", "shotassay"):
        return "umbrella" if len(parts) == 4 else parts[3]
    if parts[:2] == ("lib", "src") and len(parts) > 3:
        return parts[2]
    return None


def inclusion(root, name, target):
    """What is wrong with one include, or None."""
    floor = floor_of(name)
    public = name.parts[:2] == ("lib", "include")
    if target.startswith("shotassay/"):
        included = pathlib.Path("lib/include") / target
        if not (root / included).is_file():
            return f"<{target}> does not exist"
    else:
        beside = pathlib.Path(os.path.normpath(name.parent / target))
        included = next((place for place in (beside, pathlib.Path("lib/src") / target) if (root / place).is_file()), None)
    if included is not None:
        other = floor_of(included)
        if public and included.parts[:2] != ("lib", "include"):
            return f"a public header includes the private {included}"
        if other == floor:
            return None
        if HEIGHT[other] >= HEIGHT[floor]:
            return f"{floor} may not include {other} (<{target}>)"
        if floor == "report" and other not in REPORT_SEES:
            return f"report renders documents only and may not include {other} (<{target}>)"
        return None
    if target in STANDARD:
        return None
    if public:
        return f"a public header may include the standard library and shotassay only, not <{target}>"
    guest = GUESTS.get(target.split("/")[0])
    if guest:
        inside = name.as_posix().startswith(guest + "/")
        return None if inside else f"<{target}> may be included in {guest} only"
    if POSIX.match(target):
        return None
    return f"<{target}> is neither standard, ours nor a package this project uses"


def check_floors(root):
    for name in tree.files(root, {".hpp", ".cpp", ".h"}):
        if name.parts[0] not in {"lib", "cli"}:
            continue
        if floor_of(name) not in HEIGHT:
            yield f"{name}:1: stands on no floor"
            continue
        for number, line in tree.lines(root, name):
            found = re.match(r"\s*#\s*include\s*[<\"]([^>\"]+)[>\"]", line)
            complaint = found and inclusion(root, name, found[1])
            if complaint:
                yield f"{name}:{number}: {complaint}"


def check_layout(root):
    there = {path.name for path in root.iterdir() if not path.name.startswith(".")}
    for extra in sorted(there - TOP_LEVEL):
        yield f"{extra}: does not belong at the top level"
    for missing in sorted(TOP_LEVEL - there):
        yield f"{missing}: missing at the top level"


def check_methods(root):
    names = [n.stem for n in tree.files(root, {".hpp"}, "lib/include/shotassay/methods")]
    for name in names:
        tested = (root / "tests/methods" / f"{name}_test.cpp").is_file()
        if not tested and name not in METHODS_WITHOUT_TEST:
            yield f"lib/include/shotassay/methods/{name}.hpp:1: no tests/methods/{name}_test.cpp"
        if tested and name in METHODS_WITHOUT_TEST:
            yield f"lib/include/shotassay/methods/{name}.hpp:1: has a test, yet is listed as a method without one"
    for name in METHODS_WITHOUT_TEST:
        if name not in names:
            yield f"tests/structure/check_structure.py: lists {name} as a method without a test; there is no such method"
    linked = {target for _, _, target in links(root, INDEX)} if (root / INDEX).is_file() else set()
    for page in tree.files(root, {".md"}, "docs/methods"):
        if (root / page).resolve() not in {resolve(root, INDEX, target)[0] for target in linked}:
            yield f"{page}:1: not linked from {INDEX}"


def links(root, name):
    """(line, text as written, target) of each link of a Markdown file, pictures included."""
    for number, line in tree.prose(root, name):
        for found in re.finditer(r"\]\(\s*<?([^)\s>]+)>?(?:\s+\"[^\"]*\")?\s*\)|^\s*\[[^\]^]+\]:\s*<?([^\s>]+)>?", line):
            target = found[1] or found[2]
            yield number, found[0], target


def resolve(root, name, target):
    """The file a relative link leads to, and its anchor."""
    path, _, anchor = target.partition("#")
    path = urllib.parse.unquote(path)
    return ((root / name.parent / path) if path else (root / name)).resolve(), anchor


def anchors(path):
    """Anchors of a Markdown file, made from its headings as code forges make them, or set by hand."""
    root, name = path.parent, pathlib.Path(path.name)
    found, seen = set(), {}
    in_prose = {number for number, _ in tree.prose(root, name)}
    for number, line in tree.lines(root, name):
        if number not in in_prose:
            continue
        found.update(re.findall(r"<a\s+(?:id|name)=\"([^\"]+)\"", line))
        heading = re.match(r"#{1,6}\s+(.*?)\s*#*$", line)
        if heading:
            words = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", heading[1]).lower()
            anchor = re.sub(r"[^\w\- ]", "", words).replace(" ", "-")
            count = seen.get(anchor, 0)
            seen[anchor] = count + 1
            found.add(f"{anchor}-{count}" if count else anchor)
    return found


def check_links(root):
    for name in tree.markdown(root):
        for number, written, target in links(root, name):
            if re.match(r"[a-z][a-z0-9+.-]*:", target):
                continue
            path, anchor = resolve(root, name, target)
            if not path.is_relative_to(root.resolve()):
                yield f"{name}:{number}: {written} leads out of the tree"
            elif not path.exists():
                yield f"{name}:{number}: {written} leads nowhere"
            elif anchor and path.suffix == ".md":
                if anchor not in anchors(path):
                    yield f"{name}:{number}: {written}: no heading makes the anchor #{anchor}"
            elif anchor:
                yield f"{name}:{number}: {written}: only a Markdown page has anchors"


def check_citations(root):
    known = {}
    if (root / BIBLIOGRAPHY).is_file():
        for number, line in tree.lines(root, BIBLIOGRAPHY):
            entry = re.match(r"- \*\*\[([^\]]+)\]\*\*", line)
            if not entry:
                continue
            if entry[1] in known:
                yield f"{BIBLIOGRAPHY}:{number}: [{entry[1]}] stands here twice"
            if not re.fullmatch(r"[a-z]{2}[a-z0-9-]*", entry[1]):
                yield f"{BIBLIOGRAPHY}:{number}: [{entry[1]}] cannot be cited: a key is small letters, digits and hyphens"
            known[entry[1]] = number
    places = [(n, tree.comments(root, n)) for n in tree.citable(root)]
    places += [(n, tree.prose(root, n)) for n in tree.markdown(root) if n != BIBLIOGRAPHY]
    for name, text in places:
        for number, line in text:
            for key in re.findall(r"(?<![\w\])!\[\\])\[([a-z]{2}[a-z0-9-]*)\](?![\w(\[:\]])", line):
                if key not in known:
                    yield f"{name}:{number}: [{key}] is not in {BIBLIOGRAPHY}"


def check_words(root):
    for name in tree.files(root):
        for number, line in tree.lines(root, name):
            for pattern, what in FORBIDDEN:
                if pattern.search(line):
                    yield f"{name}:{number}: {what}: {line.strip()[:80]}"
            if line != line.rstrip(" \t") and name.parts[0] not in MADE_ELSEWHERE:
                yield f"{name}:{number}: blanks at the end of the line"


def packages_used(root):
    """(file, line, name) of each package that scripts install and CMake looks for."""
    scripts, recipes = [pathlib.Path("cli/packages.sh")], [pathlib.Path(f"{n}/CMakeLists.txt") for n in ("lib", "cli", "tests")]
    for name in (n for n in scripts if (root / n).is_file()):
        text = tree.text(root, name)
        for found in re.finditer(r"\b\w+_packages=\"([^\"]*)\"", text):
            for word in re.finditer(r"\S+", found[1]):
                yield name, text.count("\n", 0, found.start(1) + word.start()) + 1, word[0]
    for name in (n for n in recipes if (root / n).is_file()):
        for number, line in tree.lines(root, name):
            for found in re.finditer(r"^\s*find_package\((\w+)", line):
                yield name, number, found[1]


def check_licences(root):
    told = set()
    if (root / LICENCES).is_file():
        for number, line in tree.lines(root, LICENCES):
            cells = [cell.strip() for cell in line.strip("|").split("|")]
            names = re.findall(r"`([^`]+)`", " ".join(cells[:2]))
            if not line.startswith("|") or not names:
                continue
            told.update(names)
            if len(cells) != 5 or not all(cells[2:]):
                yield f"{LICENCES}:{number}: {names[0]}: version, licence or use is missing"
    for name, number, package in packages_used(root):
        if package not in told and not package.startswith("$"):  # a list may be part of another
            yield f"{name}:{number}: {package} has no row in {LICENCES}"


CHECKS = {"floors": check_floors, "layout": check_layout, "methods": check_methods, "links": check_links,
          "citations": check_citations, "words": check_words, "licences": check_licences}


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("check", nargs="+", choices=CHECKS)
    parser.add_argument("--root", type=pathlib.Path, default=pathlib.Path(__file__).resolve().parents[2])
    options = parser.parse_args()
    complaints = [complaint for check in options.check for complaint in CHECKS[check](options.root)]
    print("\n".join(complaints) or "nothing to complain about")
    return 1 if complaints else 0


if __name__ == "__main__":
    sys.exit(main())
