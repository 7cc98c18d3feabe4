"""Attack the publishing of the site: kills, builds at once, full and read-only disks, mounts, links.

After each attack the site is the earlier or the new one, whole: the digest of every file says which.
``python tests/publishing/attack.py`` does it in full (some minutes; mounts need root, and are skipped with the
reason otherwise). ``tests/test_publishing.py`` does the short form.
"""

import argparse
import contextlib
import hashlib
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
for folder in ("hooks", "tests"):
    if str(ROOT / folder) not in sys.path:
        sys.path.insert(0, str(ROOT / folder))

from handbook_site import publishing  # noqa: E402 - found by the path above

# What changes or looks at a folder is announced by Python before it is done: the steps to be killed at.
STEPS = {"os.rename", "os.mkdir", "os.rmdir", "os.remove", "os.link", "os.chmod", "os.scandir", "os.truncate",
         "shutil.rmtree", "shutil.copytree", "shutil.copymode", "ctypes.dlsym", "open"}  # fmt: skip
EARLIER, NEW = "earlier", "new"
FILES = ("index.html", "a/b.html", "a/c.csv", "assets/d.js")


class Skipped(Exception):
    """An attack that cannot be made here; the text says why."""


def digest(site: Path) -> str:
    """Return one digest of every file of a site, its place and its bytes; empty where there is no site."""
    if not site.is_dir():
        return ""
    whole = hashlib.sha256()
    for path in sorted(site.rglob("*")):
        if path.is_file():
            whole.update(f"{path.relative_to(site)}\0{path.stat().st_size}\0".encode() + path.read_bytes())
    return whole.hexdigest()


def write(folder: Path, text: str) -> None:
    """Write a tiny site whose every file holds the text."""
    for name in FILES:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(f"{text} {name}\n", encoding="utf-8")


def earlier_site(folder: Path) -> Path:
    """Make a site as a person finds it: published before, with dot files of their own."""
    site = folder / "site"
    write(site, EARLIER)
    (site / ".nojekyll").write_text("", encoding="utf-8")
    (site / ".git" / "objects").mkdir(parents=True)
    (site / ".git" / "objects" / "one").write_text("mine", encoding="utf-8")
    return site


def new_site(folder: Path) -> Path:
    """Make what that site must be once the new one is published."""
    site = earlier_site(folder)
    write(site, NEW)
    return site


def leftovers(site: Path) -> list[str]:
    """Return what lies beside a site and belongs to a build."""
    return sorted(path.name for path in site.parent.iterdir() if path.name.startswith(f"{site.name}."))


def publish_and_die(site: Path, step: int, in_two: bool) -> bool:
    """Publish a tiny site in another process that is killed before a step; say whether it got to its end."""
    command = [sys.executable, "-S", __file__, "--child", str(site), str(step), "two" if in_two else "one"]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    if ended.returncode not in (0, -signal.SIGKILL):
        raise AssertionError(ended.stderr)
    return ended.returncode == 0


def publish_whole(site: Path) -> str:
    """Publish a tiny site; return what was said against it, or nothing."""
    try:
        publication = publishing.Publication(site)
        write(publication.staging, NEW)
        publication.publish()
    except publishing.PublishingFault as fault:
        return str(fault)
    return ""


def _child(site: str, step: str, how: str) -> None:
    if how == "two":
        publishing._exchange = lambda one, other: False
    left = int(step)

    def count(event, arguments) -> None:
        nonlocal left
        if event in STEPS:
            left -= 1
            if left == 0:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(count)
    publication = publishing.Publication(Path(site))
    write(publication.staging, NEW)
    publication.publish()


def kill_at_each_step(folder: Path, in_two: bool, every: int = 1) -> int:
    """Kill a publication before each step of it in turn; return how many kills that were.

    Where the system lets two folders change places at once, a site is there at every moment. Where it takes two
    steps there may be none for an instant, and the next build puts the earlier one back.
    """
    whole = {digest(earlier_site(folder / "as-was")), digest(new_site(folder / "as-will-be"))}
    for step in range(1, 1000, every):
        place = folder / f"step-{step}"
        site = earlier_site(place)
        ended = publish_and_die(site, step, in_two)
        seen = digest(site)
        assert seen in whole or (in_two and not seen), f"step {step}: half a site"
        publishing.Publication(site).abandon()
        assert digest(site) in whole, f"step {step}: no whole site after the next build"
        assert leftovers(site) == [], f"step {step}: {leftovers(site)}"
        if ended:
            return step
    raise AssertionError("no end")


def kill_first_publication(folder: Path) -> int:
    """Kill a publication that has no earlier site before each step; return how many kills that were."""
    write(folder / "as-will-be", NEW)
    for step in range(1, 1000):
        site = folder / f"step-{step}" / "site"
        ended = publish_and_die(site, step, in_two=False)
        assert digest(site) in ("", digest(folder / "as-will-be")), f"step {step}: half a site"
        if ended:
            return step
    raise AssertionError("no end")


def finished(build: subprocess.Popen) -> None:
    """Wait for a build that must succeed."""
    told = build.communicate()[0]
    assert build.returncode == 0, told


class Projects:
    """Two tiny projects that differ in one page, and what each must look like when it is published."""

    def __init__(self, folder: Path) -> None:
        from support import Site, changed_piece, copy_of_the_package

        self.folder = folder
        copy_of_the_package(folder)
        changed_piece(folder / "docs" / "pieces", {})  # the worked figures need one
        self.sites, self.digests, self.seconds = [], [], 0.0
        for name in (EARLIER, NEW):
            (folder / name).mkdir()
            site = Site(folder / name)
            site.page("index.md", f"# Start\n\n{name}: {{{{ value rinsing.bath }}}}\n")
            for _ in range(2):  # the second build has a cache, as those have that are attacked
                began = time.monotonic()
                finished(self.build(len(self.sites), folder / f"whole-{name}", site))
                self.seconds = time.monotonic() - began
            self.sites.append(site)
            self.digests.append(digest(folder / f"whole-{name}"))
        assert all(self.digests), "the tiny projects build"
        assert self.digests[0] != self.digests[1]

    def build(self, number: int, to: Path, site=None) -> subprocess.Popen:
        """Start a build of one of the projects to a folder."""
        site = site or self.sites[number]
        environment = os.environ | {
            "NO_MKDOCS_2_WARNING": "1", "PYTHONPATH": str(self.folder), "SOURCE_DATE_EPOCH": "1790000000",
        }  # fmt: skip
        return subprocess.Popen(
            [sys.executable, "-m", "mkdocs", "-q", "build", "-d", str(to)],
            cwd=site.folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        )  # fmt: skip


def kill_builds(projects: Projects, count: int, seed: int = 1) -> str:
    """Kill whole builds at random moments; every time the site is one of the two."""
    site = projects.folder / "killed" / "site"
    finished(projects.build(0, site))
    chance = random.Random(seed)
    kills = turn = 0
    while kills < count and turn < 4 * count:
        turn += 1
        build = projects.build(turn % 2, site)
        began = time.monotonic()
        # Most of a build is far from the swap, so half of the kills fall into its last part.
        early = 0 if turn % 2 else 0.7
        try:
            build.communicate(timeout=projects.seconds * chance.uniform(early, 1))
            projects.seconds = time.monotonic() - began  # how long one takes just now
        except subprocess.TimeoutExpired:
            kills += 1
        build.kill()
        build.communicate()
        assert digest(site) in projects.digests, f"kill {kills}: half a site"
    finished(projects.build(0, site))
    assert digest(site) == projects.digests[0]
    assert leftovers(site) == []
    return f"{kills} kills and {turn - kills} whole builds"


def build_at_once(projects: Projects, pairs: int, seed: int = 2) -> str:
    """Start pairs of builds of one site at once; one of each pair at least gets through, and the site is whole."""
    site = projects.folder / "twice" / "site"
    chance = random.Random(seed)
    refused = 0
    for turn in range(pairs):
        first = projects.build(0, site)
        time.sleep(chance.uniform(0, 0.3 * projects.seconds))
        second = projects.build(1, site)
        told = [build.communicate()[0] for build in (first, second)]
        codes = [first.returncode, second.returncode]
        assert 0 in codes, told
        for code, text in zip(codes, told, strict=True):
            if code:
                refused += 1
                assert re.search(
                    r"another build is at work on this site \((process \d+, since|a process)", text
                )
                assert "Traceback" not in text
        assert digest(site) in [d for d, code in zip(projects.digests, codes, strict=True) if not code], turn
        assert leftovers(site) == []
    return f"{pairs} pairs, {refused} builds refused"


@contextlib.contextmanager
def mounted(place: Path, size: str = "40m"):
    """A small file system in memory at a place, for as long as it lasts."""
    place.mkdir(parents=True, exist_ok=True)
    if os.geteuid() != 0:
        raise Skipped("mounting needs root")
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "none", str(place)],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise Skipped(f"nothing can be mounted here: {done.stderr.strip()}")
    try:
        yield place
    finally:
        subprocess.run(["umount", str(place)], check=True)


def refused(build: subprocess.Popen, *words: str) -> str:
    """Wait for a build that must fail with one clear error; return what it said."""
    told = build.communicate()[0]
    assert build.returncode == 1, told
    assert "Traceback" not in told, told
    for word in words:
        assert word in told, told
    return told


def fill_the_disk(projects: Projects) -> str:
    """Build onto a disk that is full at the start, and onto one that fills on the way."""
    with mounted(projects.folder / "small", "8m") as disk:
        site = disk / "site"
        finished(projects.build(0, site))
        assert digest(site) == projects.digests[0]
        room = os.statvfs(disk)
        for spare in (0, 3, 30, 90):
            (disk / "filler").write_bytes(b"x" * max(0, (room.f_bavail - spare) * room.f_bsize))
            refused(projects.build(1, site), "No space left on device")
            assert digest(site) == projects.digests[0], spare
            (disk / "filler").unlink()
            assert leftovers(site) == []
        finished(projects.build(1, site))
        assert digest(site) == projects.digests[1]
    return "full at four moments"


def lock_the_disk(projects: Projects) -> str:
    """Build where the folder around the site cannot be written."""
    with mounted(projects.folder / "locked") as disk:
        site = disk / "site"
        finished(projects.build(0, site))
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        refused(projects.build(1, site), "Read-only file system", "--site-dir")
        assert digest(site) == projects.digests[0]
    return "read-only"


def mount_at_the_site(projects: Projects) -> str:
    """Build where the site's own folder is a mount point, or holds one."""
    site = projects.folder / "mount" / "site"
    with mounted(site):
        write(site, EARLIER)
        before = digest(site)
        refused(projects.build(1, site), "is a mount point", "build into a folder below it")
        assert digest(site) == before
        assert leftovers(site) == []
        finished(projects.build(1, site / "site"))
        assert digest(site / "site") == projects.digests[1]
    outer = projects.folder / "outer" / "site"
    finished(projects.build(0, outer))
    with mounted(outer / "inside"):
        (outer / "inside" / "precious").write_text("mine", encoding="utf-8")
        refused(projects.build(1, outer), "is a mount point inside the site", "unmount it")
        assert (outer / "inside" / "precious").read_text(encoding="utf-8") == "mine"
    return "a mount point as site, and one inside it"


def links_in_every_place(folder: Path) -> str:
    """Put symbolic links to somebody's folder in the place of the site, of its lock and of what builds leave."""
    precious = folder / "precious"
    write(precious, "mine")
    before = digest(precious)
    stamp = "20260101T000000-1"
    for name in (
        "site",
        "site.lock",
        f"site.building-{stamp}",
        f"site.old-{stamp}",
        f"site.unpublished-{stamp}",
    ):
        place = folder / f"with-{name}"
        site = place / "site"
        place.mkdir()
        if name != "site":
            write(site, EARLIER)
        (place / name).symlink_to(precious, target_is_directory=True)
        told = publish_whole(site)
        assert bool(told) == (name in ("site", "site.lock")), (name, told)
        assert not told or "remove the link" in told or "move it away" in told
        assert digest(precious) == before, name
        assert (place / name).is_symlink()
    (folder / "gone").mkdir()
    (folder / "gone" / "site").symlink_to(folder / "nowhere")
    assert "is a symbolic link" in publish_whole(folder / "gone" / "site")
    assert not (folder / "nowhere").exists()
    return "links in five places"


def main() -> int:
    """Make every attack in full; return 1 if one got through."""
    failed = 0
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        for name in ("one", "two", "first", "links", "projects"):
            (folder / name).mkdir()
        projects = Projects(folder / "projects")
        attacks = {
            "kill at each step, places changed at once": lambda: kill_at_each_step(folder / "one", False),
            "kill at each step, in two steps": lambda: kill_at_each_step(folder / "two", True),
            "kill a first publication at each step": lambda: kill_first_publication(folder / "first"),
            "kill builds at random": lambda: kill_builds(projects, 100),
            "build at once": lambda: build_at_once(projects, 30),
            "full disk": lambda: fill_the_disk(projects),
            "read-only disk": lambda: lock_the_disk(projects),
            "mount points": lambda: mount_at_the_site(projects),
            "symbolic links": lambda: links_in_every_place(folder / "links"),
        }
        for name, attack in attacks.items():
            began = time.monotonic()
            try:
                said = f"held: {attack()}"
            except Skipped as reason:
                said = f"SKIPPED: {reason}"
            except AssertionError as error:
                said, failed = f"GOT THROUGH: {error}", 1
            print(f"{name}: {said} ({time.monotonic() - began:.0f} s)", flush=True)
    return failed


if __name__ == "__main__":
    if sys.argv[1:2] == ["--child"]:
        _child(*sys.argv[2:])
    else:
        argparse.ArgumentParser(description=__doc__).parse_args()
        sys.exit(main())
