"""Build and test with every supported Python, and with the oldest and newest allowed dependencies.

``python tests/matrix.py`` (``pip install -e ".[dev]"`` first, for uv) makes a fresh environment for each
pair below, installs the project, builds the handbook strictly, checks the standard and runs the tests
without the browser; it prints one line a pair and ends with 1 where one failed. ``--quick`` leaves out the
tests that build small sites or run V8 at length. ``--only 3.11:lowest`` runs one pair; it may be given more than once.

The lowest versions that ``pyproject.toml`` allows are tried with the oldest Python alone: for later ones
many of them were never published ready to install. What stands under them comes as new as they let it.

An interpreter is looked for on the path, then among pyenv's, then among uv's. With ``--debian``, on a
Debian system and as root, one that is missing is unpacked from Debian's next release into a folder of its
own, and run there under ``chroot``. Neither PyPI nor npm carries interpreters of CPython that can be used
as they are, and ``uv python install`` fetches from elsewhere, which not every machine allows.

Tried so far: see ``requires-python`` and the classifiers in ``pyproject.toml``.
"""

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[1]
PYTHONS = ("3.11", "3.12", "3.13", "3.14")
PAIRS = ((PYTHONS[0], "lowest"), *((python, "newest") for python in PYTHONS))
RESOLUTION = {"lowest": "lowest-direct", "newest": "highest"}
# What builds sites or runs V8 again and again, and depends on the version of Python least.
SLOW = (
    "test_benches.py",
    "test_book.py",
    "test_caches.py",
    "test_choices.py",
    "test_editions.py",
    "test_hook.py",
    "test_house_texts.py",
    "test_incremental.py",
    "test_learning.py",
    "test_near_misses.py",
    "test_own.py",
    "test_own_bench.py",
    "test_own_log.py",
    "test_plan.py",
    "test_printed.py",
    "test_publishing.py",
    "test_ranges.py",
    "test_search.py",
    "test_serve.py",
    "test_site.py",
)
SUITE = "sid"  # Debian's release that has the newest Python


class Missing(Exception):
    """There is no such interpreter here; the text says what was tried."""


class Failed(Exception):
    """A step of a pair failed; the text is what it printed last."""


class Machine:
    """Where the commands of a pair run: here, or in a folder with a Debian of its own."""

    def __init__(self, python: str, root: Path | None = None) -> None:
        self.python = python
        self.root = root

    def run(self, command: list[str], folder: Path) -> str:
        """Run a command in a folder and return what it printed.

        Raises:
            Failed: where it ends with anything but 0.
        """
        environment = os.environ | {"NO_MKDOCS_2_WARNING": "1", "HANDBOOK_BROWSER": "skipped"}
        environment.pop("PYTHONPATH", None)
        if self.root:
            folder = "/" / folder.relative_to(self.root)
            command = [
                shutil.which("chroot") or "/usr/sbin/chroot",
                str(self.root),
                "/usr/bin/env",
                "-C",
                str(folder),
                *command,
            ]
            environment |= {"PATH": "/usr/bin:/bin", "HOME": "/root", "LANG": "C.UTF-8"}
        done = subprocess.run(
            command, cwd=None if self.root else folder, env=environment, check=False,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        )  # fmt: skip
        if done.returncode:
            raise Failed(f"{' '.join(command)}\n{done.stdout[-6000:]}")
        return done.stdout


def here(version: str) -> str | None:
    """Return an interpreter of this machine that starts and is of that version."""
    pyenv = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    found = [shutil.which(f"python{version}"), sys.executable]
    found += [str(path / "bin" / "python") for path in sorted(pyenv.glob(f"{version}.*"), reverse=True)]
    try:
        uv = subprocess.run(
            [sys.executable, "-m", "uv", "--quiet", "python", "find", "--no-project", "--offline", version],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        found.append(uv.stdout.strip())
    except OSError:
        pass
    ask = "import sys; print('%d.%d' % sys.version_info[:2])"
    for python in filter(None, found):
        try:
            said = subprocess.run([python, "-c", ask], capture_output=True, text=True, check=False)
        except OSError:
            continue
        if said.stdout.strip() == version:
            return python
    return None


def unpacked(version: str, folder: Path) -> Machine:
    """Unpack an interpreter and what it needs from Debian's own packages, and nothing into this system.

    Raises:
        Missing: where this is no Debian, the user is not root, or Debian has no such Python.
    """
    if os.name != "posix" or os.geteuid() != 0 or not shutil.which("apt-get"):
        raise Missing("unpacking one from Debian's packages needs a Debian system and root")
    state = folder / "apt"
    root = folder / "root"
    for part in ("state/lists/partial", "cache/archives/partial", "debs"):
        (state / part).mkdir(parents=True)
    root.mkdir()
    sources = "\n".join(p.read_text() for p in Path("/etc/apt").glob("sources.list*/*.sources"))
    sources += "\n".join(p.read_text() for p in Path("/etc/apt").glob("sources.list"))
    address = re.search(r"^(?:URIs:|deb(?: \[.*?\])?) *(\S+/debian/?)(?=\s|$)", sources, re.MULTILINE)
    if address is None:
        raise Missing("apt's sources name no Debian archive")
    keys = "/usr/share/keyrings/debian-archive-keyring.gpg"
    (state / "sources.list").write_text(f"deb [signed-by={keys}] {address[1]} {SUITE} main\n")
    (state / "state" / "status").touch()
    (state / "apt.conf").write_text(
        f'Dir::State "{state}/state";\nDir::State::status "{state}/state/status";\n'
        f'Dir::Cache "{state}/cache";\nDir::Etc::sourcelist "{state}/sources.list";\n'
        'Dir::Etc::sourceparts "-";\nAPT::Install-Recommends "false";\nAPT::Sandbox::User "root";\n'
    )
    environment = os.environ | {"APT_CONFIG": str(state / "apt.conf")}

    def apt(*words: str) -> str:
        done = subprocess.run(
            words, env=environment, cwd=state / "debs", capture_output=True, text=True, check=False
        )
        if done.returncode:
            raise Missing(f"{' '.join(words[:3])} failed: {done.stderr.strip()[-300:]}")
        return done.stdout

    apt("apt-get", "update")
    wanted = (f"python{version}", f"python{version}-venv", "libstdc++6", "coreutils", "dash")
    planned = apt("apt-get", "install", "--simulate", *wanted)
    apt("apt-get", "download", *sorted(set(re.findall(r"^Inst (\S+)", planned, re.MULTILINE))))
    for package in (state / "debs").glob("*.deb"):
        apt("dpkg-deb", "--extract", str(package), str(root))
    for name in ("bin", "sbin", "lib", "lib64"):  # what Debian's own installer does, once for all
        if not (root / name).exists():
            (root / name).symlink_to(f"usr/{name}")
    for name in ("tmp", "root", "dev", "etc"):
        (root / name).mkdir(exist_ok=True)
    (root / "tmp").chmod(0o1777)
    for device in ("null", "urandom", "random", "zero"):
        numbers = os.stat(f"/dev/{device}")
        os.mknod(root / "dev" / device, numbers.st_mode, numbers.st_rdev)
        (root / "dev" / device).chmod(0o666)
    # How this machine reaches its package registry holds for the one inside as well.
    for name in ("resolv.conf", "hosts", "pip.conf", "ssl/certs/ca-certificates.crt"):
        if (Path("/etc") / name).exists():
            (root / "etc" / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(Path("/etc") / name, root / "etc" / name)
    return Machine(f"/usr/bin/python{version}", root)


def machine(version: str, debian: bool, folder: Path) -> Machine:
    """Return where a version of Python can be run.

    Raises:
        Missing: where it cannot.
    """
    python = here(version)
    if python:
        return Machine(python)
    if debian:
        return unpacked(version, folder)
    raise Missing("not on the path, among pyenv's or among uv's; --debian unpacks one from Debian's packages")


def try_pair(version: str, wanted: str, quick: bool, debian: bool) -> str:
    """Install, build, check and test; return pytest's last line.

    Raises:
        Missing: where there is no interpreter.
        Failed: where a step fails.
    """
    with tempfile.TemporaryDirectory() as text:
        folder = Path(text)
        at = machine(version, debian, folder)
        project = (at.root or folder) / "handbook"
        subprocess.run(["git", "clone", "--quiet", str(ROOT), str(project)], check=True)
        inside = Path("/handbook") if at.root else project
        python = str(inside / ".venv" / "bin" / "python")
        at.run([at.python, "-m", "venv", str(inside / ".venv")], project)
        if at.root:
            at.run([python, "-m", "pip", "install", "--quiet", "uv"], project)
            uv = [python, "-m", "uv"]
        else:
            uv = [sys.executable, "-m", "uv"]
        at.run([*uv, "pip", "install", "--quiet", "--python", python, "--resolution", RESOLUTION[wanted],
                "--editable", ".[test]"], project)  # fmt: skip
        at.run([python, "-m", "mkdocs", "build", "--strict"], project)
        at.run([python, "-m", "handbook_calc", "check"], project)
        left_out = ["browser", *(SLOW if quick else ())]
        words = [f"--ignore=tests/{name}" for name in left_out]
        words += () if quick else ("--whole",)
        return at.run([python, "-m", "pytest", *words], project).strip().rpartition("\n")[2]


def main() -> int:
    """Try the pairs and print a line for each."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--only", action="append", metavar="PYTHON:lowest|newest", help="one pair")
    parser.add_argument("--quick", action="store_true", help="without the tests that build sites")
    parser.add_argument("--debian", action="store_true", help="unpack missing interpreters from Debian")
    parser.add_argument("--skip-missing", action="store_true", help="a missing interpreter is no failure")
    asked = parser.parse_args()
    pairs = PAIRS
    if asked.only:
        pairs = tuple(tuple(text.split(":")) for text in asked.only)
        for text, pair in zip(asked.only, pairs, strict=True):
            if len(pair) != 2 or pair[0] not in PYTHONS or pair[1] not in RESOLUTION:
                parser.error(f"--only {text} is no pair; allowed is one of {', '.join(PYTHONS)}, a colon, "
                             "and lowest or newest")  # fmt: skip
    bad = 0
    for version, wanted in pairs:
        began = time.monotonic()
        name = f"Python {version}, {wanted} dependencies"
        try:
            said = try_pair(version, wanted, asked.quick, asked.debian)
            print(f"{name}: {said}; {time.monotonic() - began:.0f} s in all", flush=True)
        except Missing as missing:
            bad += not asked.skip_missing
            print(f"{name}: not tried: {missing}", flush=True)
        except Failed as failed:
            bad += 1
            print(f"{name}: FAILED\n{failed}", flush=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
