"""The commands that write files, and what is left in the folder after them."""

import shutil
import tempfile

from program import BOWSTRINGS, EXAMPLES, ProgramTest

# A table of claims without a wrong row.
TABLE = tempfile.NamedTemporaryFile(suffix=".csv")
TABLE.write(b"claim,shots_1,average_1,shots_2,average_2\na,3,281,3,284\n")
TABLE.flush()
PLAN = ("plan", "--resolve", "3", "--sd", "1.2")
# What writes files: the command, and the names of all it writes.
WRITERS = ((*PLAN, "--sheet", "s.csv", "--report", "p.html", "--svg", "f.svg"), ("s.csv", "p.html", "f.svg")), \
          (("compare", BOWSTRINGS, "--report", "p.html", "--svg", "f.svg"), ("p.html", "f.svg")), \
          (("budget", EXAMPLES / "gap-budget.json", "--report", "p.html"), ("p.html",)), \
          (("audit", "--shots", "3", "--average", "281", "--average", "284", "--report", "p.html"), ("p.html",)), \
          (("audit", "--table", TABLE.name, "--out", "v.csv"), ("v.csv",)), \
          (("clinic", "page", "--out", "p.html"), ("p.html",)), \
          (("clinic", "make", "--students", "2", "--out", "evening"), ("evening",))


class Left(ProgramTest):
    def left(self, folder=None):
        return sorted(path.name for path in (folder or self.folder).iterdir())

    def clear(self):
        for path in self.folder.iterdir():
            shutil.rmtree(path) if path.is_dir() else path.unlink()
