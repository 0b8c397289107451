#!/usr/bin/env python3
"""The Debian packages: what they say of themselves, what they hold, and that nothing in them knows where they were built."""

import argparse
import gzip
import pathlib
import re
import shutil
import subprocess
import sys

EXECUTABLE = "-rwxr-xr-x"
PLAIN = "-rw-r--r--"


def run(*command, **options):
    done = subprocess.run([str(word) for word in command], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          check=False, **options)
    if done.returncode != 0:
        sys.exit(f"failed: {' '.join(map(str, command))}\n{done.stdout}")
    return done.stdout


def require(truth, complaint):
    if not truth:
        sys.exit(complaint)


class Package:
    """One .deb, unpacked beside itself."""

    def __init__(self, path):
        self.path, self.tree = path, path.with_suffix("")
        run("dpkg-deb", "--raw-extract", path, self.tree)
        lines = [line.split(maxsplit=5) for line in run("dpkg-deb", "--contents", path).splitlines()]
        self.files = {line[5].removeprefix("."): line[0] for line in lines if line[0][0] != "d"}
        self.folders = {line[5]: line[0] for line in lines if line[0][0] == "d"}
        self.owners = {line[1] for line in lines}

    def field(self, name):
        return run("dpkg-deb", "--field", self.path, name).rstrip("\n")

    def says(self, **fields):
        for name, pattern in fields.items():
            found = self.field(name.replace("_", "-"))
            require(re.fullmatch(pattern, found, re.DOTALL), f"{self.path.name}: {name} is {found!r}, not {pattern}")

    def holds(self, permissions, *names):
        for name in names:
            require(self.files.get(name) == permissions, f"{self.path.name}: {name} is {self.files.get(name)}, in\n" +
                    "\n".join(self.files))

    def common(self, name, *places):
        require(self.owners == {"root/root"}, f"{self.path.name}: owned by {self.owners}")
        odd = {folder for folder, mode in self.folders.items() if mode != "drwxr-xr-x"}
        require(not odd, f"{self.path.name}: {odd} are not drwxr-xr-x")
        outside = [f for f in self.files if not f.startswith(places)]
        require(not outside, f"{self.path.name}: {outside} belong elsewhere")
        documents = f"/usr/share/doc/{name}"
        self.holds(PLAIN, f"{documents}/copyright", f"{documents}/changelog.gz")
        licences = (self.tree / documents[1:] / "copyright").read_text(encoding="utf-8")
        for word in ("owner's to choose", "Boost", "Eigen", "fmt", "nlohmann-json", "Random123", "CLI11"):
            require(word in licences, f"{self.path.name}: copyright does not speak of {word}")
        changes = gzip.decompress((self.tree / documents[1:] / "changelog.gz").read_bytes()).decode("utf-8")
        require(changes.startswith(f"shotassay ({self.field('Version')}) "),
                f"{self.path.name}: the newest entry of the changelog is not of version {self.field('Version')}")
        require(self.field("Maintainer") in changes, f"{self.path.name}: the changelog has another maintainer")
        sums = dict(reversed(line.split("  ")) for line in (self.tree / "DEBIAN/md5sums").read_text().splitlines())
        require({f"/{name}" for name in sums} == set(self.files), f"{self.path.name}: md5sums are not those of its files")

    def knows_nothing_of(self, places):
        seen = 0
        for path in self.tree.rglob("*"):
            if not path.is_file():
                continue
            seen += 1
            content = path.read_bytes()
            if path.suffix == ".gz":
                content = gzip.decompress(content)
            for place in places:
                require(str(place).encode() not in content, f"{self.path.name}: {path.relative_to(self.tree)} names {place}")
        print(f"{self.path.name}: {seen} files, {self.path.stat().st_size // 1024} KiB, none names the place of building")


def program_package(package, options):
    package.says(Section="science", Priority="optional", Architecture="amd64|arm64|[a-z0-9]+", Maintainer=r"[\w ]+ <\S+@\S+>",
                 Description=r"what a handful of chronograph readings .{0,50}\n .*")
    needs = package.field("Depends")
    needed = set(re.findall(r"NEEDED +(\S+)", run("objdump", "-p", options.build / "shotassay")))
    found = dict(re.findall(r"(\S+) => (\S+)", run("ldd", options.build / "shotassay")))
    require(len(needed) > 3, f"the program is linked to {needed} only")
    # Who owns the libraries that the program names, by the machine's own list; its folders /lib and /usr/lib are one.
    for library in needed & set(found):
        place = "/".join(pathlib.Path(found[library]).parts[-2:])
        owner = run("dpkg-query", "--search", f"*/{place}").split(":")[0]
        require(re.search(rf"(^|, ){re.escape(owner)} \(>= \S+\)", needs), f"Depends: {owner} for {library} is missing in {needs}")
    require("libmuparser2v5" in needs, f"Depends: no muParser in {needs}")
    require("-dev" not in needs, f"Depends: {needs} asks for headers")
    package.common("shotassay", "/usr/bin/shotassay", "/usr/share/")
    package.holds(EXECUTABLE, "/usr/bin/shotassay")
    pages = sorted(f"/usr/share/man/man1/{p.name}" for p in (options.build / "manual/man1").glob("*.1.gz"))
    require(len(pages) == 10, f"{len(pages)} manual pages")
    package.holds(PLAIN, *pages, "/usr/share/bash-completion/completions/shotassay",
                  "/usr/share/zsh/vendor-completions/_shotassay", "/usr/share/fish/vendor_completions.d/shotassay.fish",
                  "/usr/share/doc/shotassay/examples/bowstrings.csv")
    require(sum(f.startswith("/usr/share/man") for f in package.files) == len(pages), "pages that nobody made are packed")
    require(not any("site-functions" in f for f in package.files), "zsh's completion is packed twice")
    described = run("file", "--brief", package.tree / "usr/bin/shotassay")
    require("not stripped" not in described and "stripped" in described, f"the program is not stripped: {described}")


def library_package(package, options):
    package.says(Section="libdevel", Priority="optional", Maintainer=r"[\w ]+ <\S+@\S+>", Depends="",
                 Suggests=r"g\+\+, cmake, pkgconf", Description=r"what chronograph readings .{0,50}\n .*")
    package.common("libshotassay-dev", "/usr/include/shotassay/", "/usr/lib/", "/usr/share/doc/libshotassay-dev/")
    headers = [f"/usr/include/{p.relative_to(options.source / 'lib/include')}" for p in
               options.source.glob("lib/include/**/*.hpp")]
    require(len(headers) > 50, f"{len(headers)} headers")
    package.holds(PLAIN, *headers)
    ends = [next((f for f in package.files if f.endswith(end)), end) for end in
            ("/libshotassay.a", "/pkgconfig/shotassay.pc", "/cmake/shotassay/shotassayConfig.cmake",
             "/cmake/shotassay/shotassayConfigVersion.cmake", "/cmake/shotassay/shotassayTargets.cmake")]
    package.holds(PLAIN, *ends)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--source", type=pathlib.Path, required=True)
    parser.add_argument("--build", type=pathlib.Path, required=True)
    parser.add_argument("--cpack", default="cpack")
    options = parser.parse_args()
    work = options.build / "debian-test"
    shutil.rmtree(work, ignore_errors=True)
    # Packed fast instead of small: that takes a tenth of the time.
    run(options.cpack, "-G", "DEB", "--config", options.build / "CPackConfig.cmake", "-B", work,
        "-D", "CPACK_DEBIAN_COMPRESSION_TYPE=gzip", cwd=options.build)
    packages = {path.name.split("_")[0]: Package(path) for path in sorted(work.glob("*.deb"))}
    require(set(packages) == {"shotassay", "libshotassay-dev"}, f"made were {sorted(packages)}")
    program_package(packages["shotassay"], options)
    library_package(packages["libshotassay-dev"], options)
    for package in packages.values():
        package.knows_nothing_of([options.source, options.build])
    shutil.rmtree(work)


if __name__ == "__main__":
    main()
