#!/usr/bin/env python3
"""Does what the documents say and compares what comes out with what they show.

In README.md, DEVELOPERS.md and docs/**/*.md

  ```console   lines "$ COMMAND" are run, one after the other; the lines below each are what the terminal shows. A command
               ends with status 0, unless "$ echo $?" and the number follow. A line ending in \\ goes on in the next, "> ".
  ```cpp       is compiled and run when its first line is "// compile and run", and in README.md always; the next block,
               if it is ```text, is what the program prints.
  ```sh        and all others are shown only.

The blocks of one document run in one new folder that holds data/ and .build/release/shotassay; shotassay is on PATH.
With --update the documents are rewritten to show what came out.
"""

import argparse
import difflib
import os
import pathlib
import re
import shutil
import sys
import tempfile

sys.dont_write_bytecode = True
import terminal  # noqa: E402  (nothing may be written into the source tree)

MARK = "// compile and run"
WARNINGS = ["-Wall", "-Wextra", "-Wpedantic", "-Werror"]


class Block:
    """A fenced block: lines[start] and lines[end] are its fences."""

    def __init__(self, start, language, indent):
        self.start, self.language, self.indent, self.end, self.body = start, language, indent, None, []


def blocks_of(lines):
    blocks, fence = [], None
    for at, line in enumerate(lines):
        mark = re.match(r"( *)(`{3,}|~{3,}) *([\w+-]*)", line)
        if fence is None:
            if mark:
                fence = mark[2]
                blocks.append(Block(at, mark[3], mark[1]))
        elif mark and mark[2].startswith(fence) and not line.strip(" " + fence[0]):
            blocks[-1].end, fence = at, None
        else:
            indent = blocks[-1].indent
            blocks[-1].body.append(line[len(indent):] if line.startswith(indent) else line.lstrip(" "))
    if fence is not None:
        raise SystemExit(f"line {blocks[-1].start + 1}: this block is never closed")
    return blocks


def commands_of(body):
    """[written lines, shell command, lines shown] of a console block; what stands above its first command is an error."""
    commands, going_on = [], False
    for line in body:
        if going_on and line.startswith("> "):
            commands[-1][0].append(line)
            commands[-1][1] += "\n" + line[2:]
        elif line.startswith("$ "):
            commands.append([[line], line[2:], []])
        elif commands:
            commands[-1][2].append(line)
            continue
        else:
            raise ValueError(f"a console block starts with a command, \"$ …\", not with: {line}")
        going_on = line.endswith("\\")
    return commands


def lines_of(output):
    return output.removesuffix("\n").split("\n") if output else []


class Runner:
    def __init__(self, options):
        self.options = options
        self.complaints = []
        self.beyond_update = False  # whether one of them is not mended by showing what came out
        self.ran = 0

    def document(self, name):
        lines = (self.options.root / name).read_text(encoding="utf-8").split("\n")
        replaced = []  # (first line, line after the last, new lines)
        with tempfile.TemporaryDirectory(prefix="shotassay-documents-") as folder:
            self.prepare(pathlib.Path(folder))
            blocks = blocks_of(lines)
            for at, block in enumerate(blocks):
                following = blocks[at + 1] if at + 1 < len(blocks) else None
                if block.language == "console":
                    new = self.console(name, block)
                    replaced.append((block.start + 1, block.end, [block.indent + line if line else line for line in new]))
                elif block.language == "cpp" and (name == pathlib.Path("README.md") or block.body[:1] == [MARK]):
                    replaced += self.program(name, block, following)
        if self.options.update:
            for first, after, new in reversed(replaced):
                lines[first:after] = new
            (self.options.root / name).write_text("\n".join(lines), encoding="utf-8")

    def prepare(self, folder):
        self.work = folder / "work"
        (self.work / ".build/release").mkdir(parents=True)
        (self.work / ".build/release/shotassay").symlink_to(self.options.program)
        (folder / "bin").mkdir()
        (folder / "bin/shotassay").symlink_to(self.options.program)
        if (self.options.root / "data").is_dir():
            shutil.copytree(self.options.root / "data", self.work / "data")
        kept = {key: value for key, value in os.environ.items()
                if key in {"LD_LIBRARY_PATH", "TMPDIR", "ASAN_OPTIONS", "UBSAN_OPTIONS"}}
        self.environment = kept | {"PATH": f"{folder}/bin:{os.environ['PATH']}", "HOME": str(folder), "COLUMNS": "80",
                                   "LINES": "24", "TERM": "dumb", "NO_COLOR": "1", "LC_ALL": "C.UTF-8"}

    def complain(self, name, at, what, expected=None, found=None):
        text = f"{name}:{at + 1}: {what}"
        if expected is not None:
            text += "\n" + "\n".join(difflib.unified_diff(expected, found, "the document", "what came out", lineterm=""))
        else:
            self.beyond_update = True
        self.complaints.append(text)

    def run(self, name, at, command):
        self.ran += 1
        try:
            return terminal.run(command, self.work, self.environment)
        except terminal.TooSlow as problem:
            self.complain(name, at, f"{command}: {problem}")
            return "", 124

    def console(self, name, block):
        """Runs the block's commands; the block as it should be."""
        try:
            commands = commands_of(block.body)
        except ValueError as problem:
            self.complain(name, block.start, str(problem))
            return block.body
        should_be, status, stated = [], 0, True
        for written, command, shows in commands:
            if command == "echo $?":
                found, stated = [str(status)], True
                status_of_echo = 0
            else:
                if not stated:
                    should_be += self.unstated(name, block, status)
                output, status_of_echo = self.run(name, block.start, command)
                found, stated = lines_of(output), status_of_echo == 0
            status = status_of_echo
            should_be += written + found
            if shows != found:
                self.complain(name, block.start, f"$ {command}", shows, found)
        if not stated:
            should_be += self.unstated(name, block, status)
        return should_be

    def unstated(self, name, block, status):
        if not self.options.update:
            self.complain(name, block.start, f"a command ended with status {status}, and no \"$ echo $?\" below it says so")
        return ["$ echo $?", str(status)]

    def program(self, name, block, following):
        source, program = self.work.parent / "program.cpp", self.work.parent / "program"
        source.write_text("\n".join(block.body) + "\n", encoding="utf-8")
        option = self.options
        build = [option.compiler, "-std=c++20", "-O1", *WARNINGS, *option.flag, "-I", str(option.include), str(source),
                 str(option.library), "-pthread", "-o", str(program)]
        output, status = self.run(name, block.start, build)
        if status != 0:
            self.complain(name, block.start, f"does not compile:\n{output}")
            return []
        output, status = self.run(name, block.start, [str(program)])
        if status != 0:
            self.complain(name, block.start, f"the program ended with status {status}:\n{output}")
            return []
        found = lines_of(output)
        if following is not None and following.language == "text":
            if following.body != found:
                self.complain(name, following.start, "the program above", following.body, found)
            indented = [following.indent + line if line else line for line in found]
            return [(following.start + 1, following.end, indented)]
        if not found:
            return []
        self.complain(name, block.start, "the program's output is not shown in a text block below it", [], found)
        return [(block.end + 1, block.end + 1, [""] + [block.indent + line for line in ["```text", *found, "```"]])]


def documents_of(root):
    names = [pathlib.Path(name) for name in ("README.md", "DEVELOPERS.md") if (root / name).is_file()]
    return names + sorted(path.relative_to(root) for path in (root / "docs").rglob("*.md"))


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--root", type=pathlib.Path, default=pathlib.Path(__file__).resolve().parents[2])
    parser.add_argument("--build", type=pathlib.Path, help="build folder, from which program and library are taken; "
                        "by default .build/release")
    parser.add_argument("--program", type=pathlib.Path, help="the shotassay program")
    parser.add_argument("--library", type=pathlib.Path, help="the static library")
    parser.add_argument("--include", type=pathlib.Path, help="folder of the public headers")
    parser.add_argument("--compiler", default="c++")
    parser.add_argument("--flag", action="append", default=[], help="one more flag for the compiler, as --flag=-g")
    parser.add_argument("--update", action="store_true", help="rewrite the documents to show what came out")
    parser.add_argument("document", nargs="*", type=pathlib.Path, help="relative to the root; by default all")
    options = parser.parse_args()
    options.root = options.root.resolve()
    build = (options.build or options.root / ".build/release").resolve()
    options.program = (options.program or build / "shotassay").resolve()
    options.library = (options.library or build / "lib/libshotassay.a").resolve()
    options.include = (options.include or options.root / "lib/include").resolve()

    runner = Runner(options)
    documents = options.document or documents_of(options.root)
    for name in documents:
        runner.document(name)
    print("\n\n".join(runner.complaints))
    print(f"{runner.ran} commands in {len(documents)} documents, {len(runner.complaints)} "
          + ("rewritten" if options.update else "not as shown"))
    return 1 if runner.beyond_update or runner.complaints and not options.update else 0


if __name__ == "__main__":
    sys.exit(main())
