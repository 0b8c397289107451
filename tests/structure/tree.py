"""What the checks share: the files of a source tree, and comments and prose without code."""

import pathlib
import re

NOT_OURS = {".git", ".build"}  # history and build results


def files(root, suffixes=None, folder=""):
    """Paths relative to root, sorted; those with one of the suffixes where given. Works without git."""
    found = []
    for path in sorted((root / folder).rglob("*")):
        name = path.relative_to(root)
        if name.parts[0] in NOT_OURS or "__pycache__" in name.parts or not path.is_file():
            continue
        if suffixes is None or path.suffix in suffixes:
            found.append(name)
    return found


def text(root, name):
    return (root / name).read_text(encoding="utf-8")


def lines(root, name):
    """(number, line) of a text file; nothing for a file that is not UTF-8 text."""
    try:
        content = text(root, name)
    except UnicodeDecodeError:
        return []
    return list(enumerate(content.split("\n"), start=1))


def prose(root, name):
    """(number, line) of a Markdown file outside fenced blocks, code spans blanked."""
    kept, fence = [], None
    for number, line in lines(root, name):
        mark = re.match(r"\s*(`{3,}|~{3,})", line)
        if fence:
            if mark and mark[1].startswith(fence) and not line.strip().strip(fence[0]):
                fence = None
        elif mark:
            fence = mark[1]
        else:
            kept.append((number, re.sub(r"(`+)(?!`).*?(?<!`)\1(?!`)", lambda m: " " * len(m[0]), line)))
    return kept


def comments(root, name):
    """(number, comment) of the // comments of a C++ file."""
    found = ((number, re.search(r"(?<!:)//.*", line)) for number, line in lines(root, name))
    return [(number, comment[0]) for number, comment in found if comment]


def markdown(root):
    return files(root, {".md"})


def citable(root):
    return [n for n in files(root, {".hpp", ".cpp"}) if n.parts[0] in {"lib", "cli", "tests"}]
