#!/usr/bin/env python3
"""The checker is checked: on a good made-up tree it is silent, and each fault put into it is complained about, alone."""

import pathlib
import sys
import tempfile
import unittest

sys.dont_write_bytecode = True
import check_structure  # noqa: E402

GOOD = {
    "CMakeLists.txt": "project(x)\n",
    "README.md": "# Hello\n\n## Two words, twice\n\n## Two words, twice\n\n[docs](docs/README.md) [there](#two-words-twice-1)\n"
                 "[web](https://example.org/x) `[not](a-link.md)` [welch1947]\n\n```sh\n[nor](this.md) [nokey]\n```\n",
    "DEVELOPERS.md": "Plain text.\n",
    "docs/README.md": "- [Welch](methods/welch.md#the-question)\n\n[ref]: methods/welch.md\n",
    "docs/methods/welch.md": "# Welch\n\n<a id=\"by-hand\"></a>\n\n## The question\n\nSee [by hand](#by-hand).\n",
    "docs/bibliography.md": "- **[welch1947]** Welch, B. L. (1947).\n- **[nist-strd]** Data sets.\n",
    "lib/include/shotassay/shotassay.hpp": "#include <shotassay/methods/welch.hpp>\n",
    "lib/include/shotassay/core/sample.hpp": "#include <vector>\n// [nist-strd], a[ii] and [text]line are different things\n",
    "lib/include/shotassay/numerics/t.hpp": "#include <shotassay/core/sample.hpp>\n",
    "lib/include/shotassay/document/document.hpp": "#include <shotassay/core/sample.hpp>\n",
    "lib/include/shotassay/methods/welch.hpp": "#include <shotassay/numerics/t.hpp>\n/// Source  Welch [welch1947].\n",
    "lib/src/numerics/t.cpp": "#include <boost/math.hpp>\n#include <Eigen/Dense>\n#include <Random123/philox.h>\n"
                              "#include \"numerics/inner.hpp\"\n",
    "lib/src/numerics/inner.hpp": "#include <cmath>\n",
    "lib/src/report/text.cpp": "#include <fmt/format.h>\n#include <nlohmann/json.hpp>\n"
                               "#include <shotassay/document/document.hpp>\n",
    "cli/main.cpp": "#include <CLI/CLI.hpp>\n#include <shotassay/shotassay.hpp>\n#include <unistd.h>\n",
    "tests/methods/welch_test.cpp": "#include <doctest/doctest.h>\n",
    "data/published.csv": "a,b \n",
    "cli/packages.sh": "build_packages=\"cmake\n  libfmt-dev\"\nall_packages=\"$build_packages make\"\n",
    "lib/CMakeLists.txt": "find_package(fmt REQUIRED)\n",
    "docs/licences.md": "Not with `ninja-build`.\n\n| package | CMake | version | licence | where |\n|---|---|---|---|---|\n"
                        "| `cmake`, `make` | | 3 | BSD | run |\n| `libfmt-dev` | `fmt` | 9 | Expat | in |\n",
    ".hidden": "dotfiles are free\n",
}

FAULTS = [  # check, file, its text (None: the file is missing), what the complaint says
    ("floors", "lib/include/shotassay/core/sample.hpp", "#include <shotassay/numerics/t.hpp>\n",
     "core may not include numerics"),
    ("floors", "lib/include/shotassay/numerics/t.hpp", "#include <shotassay/document/document.hpp>\n",
     "numerics may not include document"),
    ("floors", "lib/include/shotassay/methods/welch.hpp", "#include <shotassay/shotassay.hpp>\n",
     "methods may not include umbrella"),
    ("floors", "lib/src/report/text.cpp", "#include <shotassay/methods/welch.hpp>\n", "report renders documents only"),
    ("floors", "lib/include/shotassay/methods/welch.hpp", "#include <shotassay/methods/gone.hpp>\n", "does not exist"),
    ("floors", "lib/include/shotassay/numerics/t.hpp", "#include <boost/math.hpp>\n", "standard library and shotassay only"),
    ("floors", "lib/include/shotassay/numerics/t.hpp", "#include <unistd.h>\n", "standard library and shotassay only"),
    ("floors", "lib/include/shotassay/numerics/t.hpp", "#include \"../../../src/numerics/inner.hpp\"\n",
     "includes the private"),
    ("floors", "lib/src/report/text.cpp", "#include <boost/math.hpp>\n", "may be included in lib/src/numerics only"),
    ("floors", "lib/src/report/text.cpp", "  # include \"Eigen/Dense\"\n", "may be included in lib/src/numerics only"),
    ("floors", "lib/src/report/text.cpp", "#include <CLI/CLI.hpp>\n", "may be included in cli only"),
    ("floors", "lib/src/report/text.cpp", "#include <doctest/doctest.h>\n", "may be included in tests only"),
    ("floors", "lib/src/report/text.cpp", "#include \"numerics/inner.hpp\"\n", "report renders documents only"),
    ("floors", "cli/main.cpp", "#include <fmt/format.h>\n", "may be included in lib/src only"),
    ("floors", "cli/main.cpp", "#include <zlib.h>\n", "neither standard, ours nor a package"),
    ("floors", "lib/include/shotassay/attic/old.hpp", "#include <vector>\n", "stands on no floor"),
    ("layout", "notes.txt", "", "does not belong at the top level"),
    ("layout", "scripts/x.sh", "", "does not belong at the top level"),
    ("layout", "DEVELOPERS.md", None, "missing at the top level"),
    ("methods", "tests/methods/welch_test.cpp", None, "no tests/methods/welch_test.cpp"),
    ("methods", "docs/methods/holm.md", "# Holm\n", "not linked from docs/README.md"),
    ("methods", "docs/README.md", "```text\n[Welch](methods/welch.md)\n```\n", "not linked from docs/README.md"),
    ("links", "README.md", "[a](docs/gone.md)\n", "leads nowhere"),
    ("links", "README.md", "![picture](docs/gone.png)\n", "leads nowhere"),
    ("links", "README.md", "[a]: docs/gone.md\n", "leads nowhere"),
    ("links", "README.md", "[a](docs/methods/welch.md#the-answer)\n", "no heading makes the anchor #the-answer"),
    ("links", "README.md", "# Once\n[a](#once-1)\n", "no heading makes the anchor #once-1"),
    ("links", "README.md", "[a](../elsewhere.md)\n", "leads out of the tree"),
    ("links", "README.md", "[a](CMakeLists.txt#L3)\n", "only a Markdown page has anchors"),
    ("citations", "README.md", "as shown in [fisher1935]\n", "[fisher1935] is not in"),
    ("citations", "lib/include/shotassay/methods/welch.hpp", "/// Source  JCGM [gum].\n", "[gum] is not in"),
    ("citations", "tests/methods/welch_test.cpp", "int x;  // from [gum-2]\n", "[gum-2] is not in"),
    ("citations", "docs/bibliography.md", "- **[welch1947]** a\n- **[nist-strd]** b\n- **[welch1947]** c\n", "stands here twice"),
    ("citations", "docs/bibliography.md", "- **[welch1947]** a\n- **[nist-strd]** b\n- **[Big 1]** c\n", "cannot be cited"),
    ("licences", "cli/packages.sh", "build_packages=\"cmake\n  libmuparser-dev\"\n", "cli/packages.sh:2: libmuparser-dev has no"),
    ("licences", "lib/CMakeLists.txt", "find_package(Boost 1.74 REQUIRED)\n", "Boost has no row in docs/licences.md"),
    ("licences", "docs/licences.md", "| `cmake`, `make`, `libfmt-dev` | `fmt` | 9 | | in |\n", "version, licence or use is missing"),
    ("licences", "cli/packages.sh", "build_packages=\"cmake ninja-build\"\n", "ninja-build has no row"),
    ("words", "cli/main.cpp", "// TO" + "DO: later\n", "an open end"),
    ("words", "cli/main.cpp", "// FIX" + "ME\n", "an open end"),
    ("words", "docs/methods/welch.md", "see /wo" + "rk/main\n", "a machine's path"),
    ("words", "data/published.csv", "/tmp/ba" + "sh_jobs/1\n", "a machine's path"),
    ("words", "DEVELOPERS.md", "text \n", "blanks at the end of the line"),
    ("words", "CMakeLists.txt", "project(x)\t\n", "blanks at the end of the line"),
]


def grow(root, tree):
    for name, text in tree.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def complaints(root, check):
    return list(check_structure.CHECKS[check](root))


class Checker(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.root = pathlib.Path(self.folder.name)
        grow(self.root, GOOD)

    def tearDown(self):
        self.folder.cleanup()

    def test_a_good_tree_has_no_complaints(self):
        for check in check_structure.CHECKS:
            self.assertEqual(complaints(self.root, check), [], check)

    def test_each_fault_is_the_one_complaint(self):
        for check, name, text, message in FAULTS:
            with self.subTest(check=check, file=name, text=text):
                grow(self.root, GOOD)
                if text is None:
                    (self.root / name).unlink()
                else:
                    grow(self.root, {name: text})
                found = complaints(self.root, check)
                self.assertEqual(len(found), 1, found)
                self.assertIn(message, found[0])
                if check != "methods":  # these name the method or the page, not the file that is at fault
                    self.assertTrue(found[0].startswith(name.split("/")[0]), found)
                if name not in GOOD:
                    (self.root / name).unlink()
                    if (self.root / name).parent.parts[-1] in {"scripts", "attic"}:
                        (self.root / name).parent.rmdir()

    def test_every_check_has_a_fault_here(self):
        self.assertEqual({fault[0] for fault in FAULTS}, set(check_structure.CHECKS))

    def test_without_a_bibliography_each_citation_is_a_complaint(self):
        (self.root / "docs/bibliography.md").unlink()
        self.assertEqual(len(complaints(self.root, "citations")), 3)

    def test_an_exemption_that_is_not_needed_is_a_complaint(self):
        check_structure.METHODS_WITHOUT_TEST.update(welch="made up", gone="made up")
        try:
            found = complaints(self.root, "methods")
        finally:
            check_structure.METHODS_WITHOUT_TEST.clear()
        self.assertEqual(len(found), 2, found)


if __name__ == "__main__":
    unittest.main()
