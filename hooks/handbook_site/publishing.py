"""Put a finished site in the place of the earlier one, whole or not at all.

A build writes into a folder of its own beside the site, ``site.building-DAY-PROCESS``. Only when that is
complete do the two change places: in one step where the system can do that (Linux, ``renameat2``), else
in two, the old folder aside to ``site.old-...`` and the new one in. A reader of the folder meets the
earlier site or the new one; between the two steps there is none for an instant, and a kill just there is
mended by the next build, which puts the old folder back. Nothing is ever copied into or cleared from a
place that readers look into, and no symbolic link is followed. A place that cannot be renamed, such as a
mount point, is refused: filled entry by entry it could be left half old and half new.

A lock beside the site, held by the operating system and so freed by the death of its process, keeps a
second build out. Knows nothing of the site generator.
"""

import contextlib
import ctypes
import errno
import os
import re
import shutil
import stat
import sys
import time
from datetime import datetime
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None
    import msvcrt

BUILD = r"\d{8}T\d{6}-(\d+)(?:-\d+)?"
HOLDER = re.compile(r"process (\d+) since (.+)\n")
AT_FDCWD, RENAME_EXCHANGE = -100, 2
FAR = 1 << 30  # a byte of the lock file that Windows locks, so that the rest can be read


class PublishingFault(Exception):
    """The site cannot take its place; the text says why, what stays, and how to mend it."""


class Lock:
    """Keeps other builds of a site out while one is at work.

    Attributes:
        sure: the operating system holds it, so that no build that is alive can be taken for a dead one.
    """

    def __init__(self, site: Path) -> None:
        self.site = site
        self.path = site.with_name(site.name + ".lock")
        self.sure = False
        self._file = -1

    def take(self) -> None:
        """Take the lock; one that a dead process left is taken over.

        Raises:
            PublishingFault: another build holds it, or something else stands in its place.
        """
        while self._file < 0:
            file = self._open()
            try:
                self._hold(file)
                self._file = file if self._is_mine(file) else -1
            finally:
                if self._file < 0:
                    os.close(file)
        since = datetime.now().astimezone().isoformat(" ", "seconds")
        with contextlib.suppress(OSError):  # on a full disk the lock holds without a name on it
            os.ftruncate(self._file, 0)
            os.lseek(self._file, 0, os.SEEK_SET)
            os.write(self._file, f"process {os.getpid()} since {since}\n".encode())

    def _open(self) -> int:
        flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
        if os.path.lexists(self.path) and not stat.S_ISREG(os.lstat(self.path).st_mode):
            raise PublishingFault(
                f"{self.path}: is no file, and the lock of the site needs its place; move it away"
            )
        try:
            return os.open(self.path, flags, 0o644)
        except OSError as error:
            raise PublishingFault(
                f"{self.path}: cannot be written ({error.strerror}); a build needs to write beside the "
                f"site, so make {self.path.parent} writable or build elsewhere with --site-dir"
            ) from None

    def _hold(self, file: int) -> None:
        """Hold the open file, or raise the fault that says who does."""
        written = self._read(file)
        if written and not HOLDER.fullmatch(written):
            raise PublishingFault(f"{self.path}: is not the lock of a build; move it away")
        try:
            if fcntl:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            else:
                os.lseek(file, FAR, os.SEEK_SET)
                msvcrt.locking(file, msvcrt.LK_NBLCK, 1)  # pyright: ignore[reportAttributeAccessIssue]  Windows
                os.lseek(file, 0, os.SEEK_SET)
            self.sure = True
        except OSError as error:
            busy = error.errno in (errno.EACCES, errno.EAGAIN, errno.EDEADLK)
            found = HOLDER.fullmatch(written)
            # A file system without locks: go by the process that the file names.
            if busy or (found and _alive(int(found[1]))):
                raise PublishingFault(self._held(file)) from None

    def _held(self, file: int) -> str:
        found = None
        for _ in range(10):  # the other build may be about to write who it is
            found = HOLDER.fullmatch(self._read(file))
            if found:
                break
            time.sleep(0.02)
        who = f"process {found[1]}, since {found[2]}" if found else "a process that has just started"
        return (
            f"{self.site}: another build is at work on this site ({who}); "
            "wait until it ends and build again, or give this build a folder of its own with --site-dir"
        )

    @staticmethod
    def _read(file: int) -> str:
        with contextlib.suppress(OSError):
            os.lseek(file, 0, os.SEEK_SET)
            return os.read(file, 200).decode(errors="replace")
        return ""

    def _is_mine(self, file: int) -> bool:
        """Say whether the file is still the one beside the site: its last holder removes it."""
        try:
            return os.path.samestat(os.fstat(file), os.stat(self.path, follow_symlinks=False))
        except FileNotFoundError:
            return False

    def free(self) -> None:
        """Let the next build in."""
        if self._file < 0:
            return
        if fcntl:
            self.path.unlink(missing_ok=True)
        os.close(self._file)
        self._file = -1
        if not fcntl:  # Windows removes no open file; if another build has it by now, it stays
            with contextlib.suppress(OSError):
                self.path.unlink()


class Publication:
    """One build on its way to its place.

    Attributes:
        site: where readers find the site.
        staging: where this build writes.
    """

    def __init__(self, site: Path) -> None:
        """Keep other builds out, mend what a killed one left, and make the folder to build in.

        Raises:
            PublishingFault: the place is taken, held, or cannot be replaced as a whole.
        """
        self.site = Path(os.path.abspath(site))
        _refuse_place(self.site)
        try:
            self.site.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise PublishingFault(f"{self.site.parent}: cannot be made ({error.strerror})") from None
        self._lock = Lock(self.site)
        self._lock.take()
        try:
            self._recover()
            self.staging = self._new("building")
            self.staging.mkdir()
        except OSError as error:
            self._lock.free()
            raise PublishingFault(
                f"{self.site}: no folder to build in can be made beside it ({error.strerror}); "
                f"make {self.site.parent} writable or build elsewhere with --site-dir"
            ) from None
        self._open = True

    def publish(self) -> list[str]:
        """Let the finished build take the earlier site's place; return what else a person should know.

        Raises:
            PublishingFault: it could not; the earlier site stays, and the text says where the new one is.
        """
        self._open = False
        try:
            old = self._swap()
        except (OSError, shutil.Error, PublishingFault) as error:
            raise PublishingFault(self._not_published(error)) from None
        notices = []
        for left in (old, *self._left("unpublished")):
            if left and not _removed(left):
                notices.append(f"{left}: could not be removed; the next build tries again")
        self._lock.free()
        return notices

    def abandon(self) -> None:
        """Leave nothing of this build behind; without effect once it is published."""
        if self._open:
            self._open = False
            _removed(self.staging)
            self._lock.free()

    def _swap(self) -> Path | None:
        """Put the new folder in and return where the old one is now."""
        if not self.staging.is_dir() or self.staging.is_symlink():
            raise PublishingFault(f"{self.staging}: the folder of this build is gone")
        _refuse_place(self.site)
        if not os.path.lexists(self.site):
            os.rename(self.staging, self.site)
            return None
        self._carry_hidden()
        if _exchange(self.staging, self.site):
            return self.staging
        aside = self._new("old")
        os.rename(self.site, aside)
        try:
            os.rename(self.staging, self.site)
        except BaseException:
            os.rename(aside, self.site)
            raise
        return aside

    def _carry_hidden(self) -> None:
        """Give the new site the dot files of the earlier one, such as a repository's: no build makes them."""
        shutil.copymode(self.site, self.staging)
        for entry in _entries(self.site):
            to = self.staging / entry.name
            if not entry.name.startswith(".") or os.path.lexists(to):
                continue
            if entry.is_dir(follow_symlinks=False):
                shutil.copytree(entry.path, to, symlinks=True, copy_function=_link)
            else:
                _link(entry.path, to)

    def _not_published(self, error: Exception) -> str:
        """Keep the finished build out of the next one's way, and say what is where."""
        kept = self._new("unpublished")
        try:
            os.rename(self.staging, kept)
        except OSError:
            kept = self.staging
        why = getattr(error, "strerror", None) or str(error)
        aside = self._left("old")
        if os.path.lexists(self.site):
            stays = "the earlier one stays"
        elif aside:
            stays = f"the earlier one is in {aside[-1]}, and the next build puts it back"
        else:
            stays = "there was none before"
        self._lock.free()
        return (
            f"{self.site}: the new site could not take its place ({why}); {stays}, "
            f"and the new one is kept in {kept} until a later build is published"
        )

    def _recover(self) -> None:
        """Put back the site that a kill left aside; remove what dead builds left."""
        aside = self._left("old")
        if aside and not os.path.lexists(self.site):
            os.rename(aside.pop(), self.site)
        for left in (*aside, *self._left("building")):
            _removed(left)

    def _left(self, kind: str) -> list[Path]:
        """Return the folders of a kind that dead builds left, oldest first; never a symbolic link."""
        form = re.compile(rf"{re.escape(self.site.name)}\.{kind}-{BUILD}")
        found = []
        for entry in _entries(self.site.parent):
            named = form.fullmatch(entry.name)
            if named and entry.is_dir(follow_symlinks=False):
                alive = int(named[1]) != os.getpid() and not self._lock.sure and _alive(int(named[1]))
                found += [] if alive else [Path(entry.path)]
        return sorted(found)

    def _new(self, kind: str) -> Path:
        """Return a name of this build that nothing has."""
        name = f"{self.site.name}.{kind}-{datetime.now():%Y%m%dT%H%M%S}-{os.getpid()}"
        path, count = self.site.with_name(name), 1
        while os.path.lexists(path):
            count += 1
            path = self.site.with_name(f"{name}-{count}")
        return path


def _refuse_place(site: Path) -> None:
    """Refuse a place that cannot be replaced as a whole, or that is somebody else's."""
    if site.is_symlink():
        raise PublishingFault(
            f"{site}: is a symbolic link, and the folder it leads to may be anybody's; "
            f"build into that folder itself with --site-dir, or remove the link"
        )
    if os.path.lexists(site) and not site.is_dir():
        raise PublishingFault(f"{site}: is no folder, and the site needs its place; move it away")
    mounted = _mounted(site)
    if mounted == site:
        raise PublishingFault(
            f"{site}: is a mount point, so it cannot be replaced as a whole, and a build that broke off "
            f"would leave half a site; build into a folder below it, as in --site-dir {site / 'site'}"
        )
    if mounted:
        raise PublishingFault(
            f"{mounted}: is a mount point inside the site {site}, which is replaced as a whole; unmount it"
        )


def _mounted(site: Path) -> Path | None:
    """Return the mount point at or below a place, if there is one."""
    if not site.is_dir():
        return None
    try:
        with open("/proc/self/mountinfo", encoding="utf-8", errors="surrogateescape") as file:
            fields = [line.split(" ")[4] for line in file]
    except OSError:
        return site if os.path.ismount(site) else None
    real = os.path.realpath(site)
    for field in fields:
        place = re.sub(r"\\([0-7]{3})", lambda found: chr(int(found[1], 8)), field)
        if place == real or place.startswith(real.rstrip("/") + "/"):
            return site / os.path.relpath(place, real)
    return None


def _entries(folder: Path) -> list[os.DirEntry]:
    with os.scandir(folder) as entries:
        return list(entries)


def _exchange(one: Path, other: Path) -> bool:
    """Let two folders change names in one step; say whether the system could."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        renameat2 = ctypes.CDLL(None).renameat2
    except (OSError, AttributeError):
        return False
    return renameat2(AT_FDCWD, os.fsencode(one), AT_FDCWD, os.fsencode(other), RENAME_EXCHANGE) == 0


def _link(source: str, to: str | Path) -> str | Path:
    """Give a file a second name, which takes no time and no space; copy it where that cannot be."""
    try:
        os.link(source, to, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(source, to, follow_symlinks=False)
    return to


def _removed(folder: Path) -> bool:
    """Remove a folder, also with parts that its owner may not write; say whether it is gone."""
    for _ in range(2):
        shutil.rmtree(folder, ignore_errors=True)
        if not os.path.lexists(folder):
            return True
        for place, inner, _ in os.walk(folder):
            for path in (place, *(os.path.join(place, name) for name in inner)):
                if not os.path.islink(path):
                    with contextlib.suppress(OSError):
                        os.chmod(path, os.stat(path).st_mode | stat.S_IRWXU)
    return False


def _alive(process: int) -> bool:
    """Say whether a process runs here; asked only where the system holds no locks."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True
