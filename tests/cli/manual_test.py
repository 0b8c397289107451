#!/usr/bin/env python3
"""The manual pages: one for each command, with every word of --help, well formed, and with examples that work."""

import functools
import gzip
import re
import shutil
import subprocess

from program import EXAMPLES, ROOT, ProgramTest, built, environment, main, program, run

COMMANDS = ["", "compare", "plan", "budget", "audit", "clinic", "clinic make", "clinic tally", "clinic show", "clinic page"]


def folder():
    return built("manual/man1")


def page(command):
    return folder() / ("-".join(["shotassay", *command.split()]) + ".1")


@functools.cache
def shown(path, width=80):
    """As a terminal shows it, without bold and underlines."""
    text = subprocess.run(["mandoc", "-T", "utf8", "-O", f"width={width - 2}", str(path)], stdout=subprocess.PIPE, check=True)
    return re.sub(".\b", "", text.stdout.decode("utf-8"))


def section(text, name):
    return re.search(rf"^{name}\n(.*?)(?=^\S|\Z)", text, re.MULTILINE | re.DOTALL)[1]


def words(text):
    return " ".join(text.split())


@functools.cache
def help_of(command):
    return run(*command.split(), "--help").out


def options_in_help(command):
    """(option with the name of its value, what it means): the meaning stands from column 30, or on lines of its own."""
    found = []
    for line in help_of(command).split("Options:\n")[1].split("\n\n")[0].splitlines():
        if line.startswith(" " * 30):
            found[-1][1] = words(found[-1][1] + " " + line)
        elif line[29:30] == " " and line[30:] != "...":
            found.append([line[:30].strip(), line[30:].strip()])
        else:
            found.append([line.strip(), ""])
    return found


class ManualPages(ProgramTest):
    def test_there_is_one_for_each_command_that_the_help_names(self):
        named = [""]
        for command in named:
            text = help_of(command)
            if "Subcommands:" in text:
                below = re.findall(r"^  (\w+)", text.split("Subcommands:")[1].split("\n\n")[0], re.MULTILINE)
                named += [f"{command} {name}".strip() for name in below]
        self.assertEqual(sorted(named), sorted(COMMANDS))
        self.assertEqual(sorted(p.name for p in folder().glob("*.1")), sorted(page(c).name for c in COMMANDS))

    def test_each_is_packed_for_installation_without_a_time_of_packing(self):
        for command in COMMANDS:
            packed = page(command).with_suffix(".1.gz").read_bytes()
            self.assertEqual(gzip.decompress(packed), page(command).read_bytes())
            self.assertEqual(packed[4:8], b"\0\0\0\0", "RFC 1952: bytes 4 to 7 hold the time, 0 for none")

    def test_a_checker_of_manual_pages_has_nothing_to_say(self):
        paths = [str(page(c)) for c in COMMANDS]
        checked = subprocess.run(["mandoc", "-T", "lint", "-W", "style", *paths], stdout=subprocess.PIPE, text=True, check=False)
        # The pages that are named are ours, and not installed here.
        found = [line for line in checked.stdout.splitlines() if "referenced manual not found" not in line]
        self.assertEqual(found, [])

    def test_every_option_of_the_help_stands_there_in_the_same_words(self):
        for command in COMMANDS:
            told = words(shown(page(command), 1000))
            for head, meaning in options_in_help(command):
                names, value = re.fullmatch(r"((?:-\w,)?--[\w-]+)(?: (\S+))?(?: \.\.\.)?", head).groups()
                expected = names.replace(",", ", ") + (f" {value} " if value else " ") + meaning
                self.assertIn(expected, told, command)

    def test_what_the_program_is_for_stands_at_the_head(self):
        for command in COMMANDS:
            first = help_of(command).splitlines()[0].rstrip(".")
            self.assertIn(first, words(section(shown(page(command)), "NAME")))

    def test_no_line_is_wider_than_a_terminal(self):
        for command in COMMANDS:
            for line in shown(page(command)).splitlines():
                self.assertLessEqual(len(line), 80, f"{command}: {line}")

    def test_exit_statuses_are_those_of_the_reference(self):
        table = (ROOT / "docs/reference/exit-status.md").read_text(encoding="utf-8").split("\n\n")[1]
        rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines()[2:]]
        self.assertGreater(len(rows), 4)
        for command in COMMANDS:
            told = words(section(shown(page(command), 1000), "EXIT STATUS"))
            for status, meaning in rows:
                option = re.match(r"`(--\S+)`:", meaning)
                holds = not option or command == "" or option[1] in help_of(command)
                self.assertEqual(f"{status} {meaning.replace('`', '')}" in told, holds, command)

    def test_files_are_those_that_the_command_reads(self):
        read = {
            "": ["SHEET", "FILE", "CLAIMS.csv", "ANSWERS", "KEY.csv"],
            "compare": ["SHEET"],
            "plan": ["SHEET"],
            "budget": ["FILE"],
            "audit": ["CLAIMS.csv"],
            "clinic": ["SHEET", "ANSWERS", "KEY.csv"],
            "clinic make": ["SHEET"],
            "clinic tally": ["ANSWERS", "KEY.csv"],
            "clinic show": ["SHEET"],
            "clinic page": [],
        }
        for command in COMMANDS:
            told = re.findall(r"^ {7}(\S+)", section(shown(page(command)), "FILES"), re.MULTILINE)
            self.assertEqual(told, [*read[command], "/usr/share/doc/shotassay/examples"], command)
            for name in read[command]:
                if command and "clinic" != command:
                    self.assertRegex(help_of(command), rf"(?m)(\s|^){re.escape(name)}(\s|$)", command)

    def test_options_that_are_read_only_to_be_refused_are_not_shown(self):
        self.assertIn("the key says what the lesson was made with", run("clinic", "tally", "x", "--unit", "fps").err)
        self.assertNotIn("--unit", help_of("clinic tally"))
        self.assertNotIn("--unit", shown(page("clinic tally")))

    def test_every_variable_that_is_read_stands_there(self):
        read = set()
        for source in [*ROOT.glob("cli/*.cpp"), *ROOT.glob("lib/src/*/*.cpp")]:
            read |= set(re.findall(r"getenv\(\"(\w+)\"\)", source.read_text(encoding="utf-8")))
        self.assertGreaterEqual(read, {"COLUMNS", "NO_COLOR"})
        for command in COMMANDS:
            told = re.findall(r"^     {0,3}([A-Z_]+)\b", section(shown(page(command)), "ENVIRONMENT"), re.MULTILINE)
            self.assertEqual(set(told), read, command)

    def test_the_examples_work(self):
        work = self.folder / "work"
        shutil.copytree(EXAMPLES, work)
        (self.folder / "bin").mkdir()
        (self.folder / "bin/shotassay").symlink_to(program())
        path = f"{self.folder}/bin:{environment()['PATH']}"
        ran = 0
        for command in COMMANDS:
            told = section(shown(page(command), 1000), "EXAMPLES")
            for typed in re.findall(r"^ +(shotassay (?:.*\\\n)*.*)$", told, re.MULTILINE):
                if "--out" in typed or "--sheet" in typed:  # written anew on each page
                    output = work / re.search(r"--(?:out|sheet) (\S+)", typed)[1]
                    shutil.rmtree(output) if output.is_dir() else output.unlink(missing_ok=True)
                done = subprocess.run(typed, shell=True, cwd=work, env=environment() | {"PATH": path}, check=False,
                                      stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
                self.assertEqual(done.returncode, 0, f"{typed}\n{done.stdout}")
                ran += 1
        self.assertGreaterEqual(ran, len(COMMANDS))

    def test_pages_name_each_other(self):
        for command in COMMANDS:
            see = words(section(shown(page(command)), "SEE ALSO"))
            for other in set(COMMANDS) - {command}:
                self.assertIn(page(other).stem + "(1)", see)


if __name__ == "__main__":
    main()
