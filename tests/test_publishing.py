"""Publishing: the earlier or the new site, whole. The full attack is ``tests/publishing/attack.py``."""

import errno
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from handbook_site import publishing
from handbook_site.publishing import Publication, PublishingFault
from publishing import attack
from publishing.attack import EARLIER, NEW, digest, earlier_site, leftovers, new_site, write

STAMP = "20260101T000000"


@pytest.fixture
def whole(tmp_path):
    """The digests of the earlier and of the new site."""
    return digest(earlier_site(tmp_path / "as-was")), digest(new_site(tmp_path / "as-will-be"))


@pytest.fixture(scope="module")
def projects(tmp_path_factory):
    """Two tiny projects to build."""
    return attack.Projects(tmp_path_factory.mktemp("projects"))


def published(site, text=NEW):
    publication = Publication(site)
    write(publication.staging, text)
    assert publication.publish() == []


def dead_process() -> int:
    ended = subprocess.Popen([sys.executable, "-S", "-c", ""])
    ended.wait()
    return ended.pid


@pytest.mark.parametrize("in_two", [False, True], ids=["at once", "in two steps"])
@pytest.mark.long
def test_a_kill_before_any_step_leaves_a_whole_site(tmp_path, in_two):
    assert attack.kill_at_each_step(tmp_path, in_two, every=3) > 30


@pytest.mark.long
def test_a_kill_of_a_first_publication_leaves_a_whole_site_or_none(tmp_path):
    assert attack.kill_first_publication(tmp_path) > 10


@pytest.mark.long
def test_builds_killed_and_started_at_once_leave_a_whole_site(projects):
    attack.kill_builds(projects, 4)
    attack.build_at_once(projects, 2)


def test_links_are_never_followed(tmp_path):
    attack.links_in_every_place(tmp_path)


@pytest.mark.parametrize("how", [attack.fill_the_disk, attack.lock_the_disk, attack.mount_at_the_site])
@pytest.mark.long
def test_disks_and_mounts(projects, how):
    try:
        how(projects)
    except attack.Skipped as reason:
        pytest.skip(str(reason))


@pytest.mark.parametrize("in_two", [False, True], ids=["at once", "in two steps"])
def test_a_site_is_replaced_and_keeps_dot_files(tmp_path, whole, in_two, monkeypatch):
    if in_two:
        monkeypatch.setattr(publishing, "_exchange", lambda one, other: False)
    site = earlier_site(tmp_path)
    (site / "gone.html").write_text("x", encoding="utf-8")
    (site / ".link").symlink_to("index.html")
    published(site)
    assert (site / ".link").is_symlink()
    (site / ".link").unlink()
    assert digest(site) == whole[1]
    assert leftovers(site) == []


@pytest.mark.long
def test_a_reader_meets_a_whole_site_at_every_moment(tmp_path):
    if not sys.platform.startswith("linux"):
        pytest.skip("only here can two folders change places at once")
    site = earlier_site(tmp_path)
    reader = subprocess.Popen(
        [sys.executable, "-S", "-c",
         "import sys, os\nfor line in iter(lambda: os.path.exists(sys.argv[2]), True):\n open(sys.argv[1]).read()\n",
         str(site / "index.html"), str(tmp_path / "end")],
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    for turn in range(100):
        published(site, f"turn {turn}")
    (tmp_path / "end").touch()
    assert reader.communicate(timeout=30)[1] == ""


def test_a_second_build_is_told_who_holds_the_site(tmp_path):
    site = earlier_site(tmp_path)
    holder = Publication(site)
    with pytest.raises(PublishingFault) as told:
        Publication(site)
    assert re.search(
        rf"another build is at work on this site \(process {os.getpid()}, since \d{{4}}-\d\d-\d\d \d\d:\d\d:\d\d.*\); "
        "wait until it ends",
        str(told.value),
    )
    holder.abandon()
    published(site)


@pytest.mark.parametrize("locks", [True, False], ids=["locks", "no locks on this file system"])
def test_the_lock_of_a_dead_process_is_taken_over(tmp_path, whole, locks, monkeypatch):
    if not locks:
        monkeypatch.setattr(publishing.fcntl, "flock", _no_locks)
    site = earlier_site(tmp_path)
    (tmp_path / "site.lock").write_text(f"process {dead_process()} since yesterday\n", encoding="utf-8")
    published(site)
    assert digest(site) == whole[1]
    assert leftovers(site) == []


def _no_locks(file, how):
    raise OSError(errno.ENOLCK, "No locks available")


def test_without_locks_the_process_that_is_named_counts_while_it_lives(tmp_path, monkeypatch):
    monkeypatch.setattr(publishing.fcntl, "flock", _no_locks)
    site = earlier_site(tmp_path)
    mine = tmp_path / f"site.building-{STAMP}-{os.getppid()}"
    mine.mkdir()
    (tmp_path / "site.lock").write_text(f"process {os.getppid()} since today\n", encoding="utf-8")
    with pytest.raises(PublishingFault, match=f"process {os.getppid()}, since today"):
        Publication(site)
    (tmp_path / "site.lock").unlink()
    published(site)
    assert mine.is_dir(), "the folder of a build that may be alive stays"


def test_what_kills_left_is_mended_by_the_next_build(tmp_path, whole):
    dead = dead_process()
    site = earlier_site(tmp_path)
    site.rename(tmp_path / f"site.old-{STAMP}-{dead}")
    write(tmp_path / f"site.old-20250101T000000-{dead}", "older still")
    write(tmp_path / f"site.building-{STAMP}-{dead}", "half")
    write(tmp_path / "site.building-mine", "somebody's")
    Publication(site).abandon()
    assert digest(site) == whole[0]
    assert leftovers(site) == ["site.building-mine"]


@pytest.mark.parametrize("fails", ["new in", "old aside"])
def test_a_swap_that_fails_keeps_both_sites_and_says_where(tmp_path, whole, fails, monkeypatch):
    site = earlier_site(tmp_path)
    publication = Publication(site)
    write(publication.staging, NEW)
    rename = os.rename

    def failing(source, to):
        held = publication.staging if fails == "new in" else site
        if (Path(source) == held and Path(to) == site) or Path(source) == site == held:
            raise PermissionError(errno.EACCES, "Permission denied")
        rename(source, to)

    monkeypatch.setattr(publishing, "_exchange", lambda one, other: False)
    monkeypatch.setattr(os, "rename", failing)
    with pytest.raises(PublishingFault) as told:
        publication.publish()
    monkeypatch.undo()
    assert "could not take its place (Permission denied); the earlier one stays" in str(told.value)
    (kept,) = map(Path, re.findall(r"kept in (\S+) until", str(told.value)))
    assert (kept / "index.html").read_text(encoding="utf-8").startswith(NEW)
    assert digest(site) == whole[0]
    Publication(site).abandon()
    assert kept.is_dir(), "a build that is not published takes nothing away"
    published(site)
    assert leftovers(site) == []


def test_where_the_earlier_site_cannot_be_put_back_it_is_named_and_the_next_build_does(
    tmp_path, whole, monkeypatch
):
    site = earlier_site(tmp_path)
    publication = Publication(site)
    write(publication.staging, NEW)
    rename = os.rename

    def failing(source, to):
        if Path(to) == site:
            raise OSError(errno.EIO, "Input/output error")
        rename(source, to)

    monkeypatch.setattr(publishing, "_exchange", lambda one, other: False)
    monkeypatch.setattr(os, "rename", failing)
    with pytest.raises(
        PublishingFault, match=r"the earlier one is in \S+site\.old-\S+, and the next build puts"
    ):
        publication.publish()
    monkeypatch.undo()
    Publication(site).abandon()
    assert digest(site) == whole[0]


def test_a_disk_that_fills_while_dot_files_are_carried_over_loses_nothing(tmp_path, whole, monkeypatch):
    site = earlier_site(tmp_path)
    publication = Publication(site)
    write(publication.staging, NEW)

    def full(*_, **__):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "link", full)
    monkeypatch.setattr(publishing.shutil, "copy2", full)
    with pytest.raises(PublishingFault, match="No space left on device"):
        publication.publish()
    assert digest(site) == whole[0]


def test_parts_that_their_owner_may_not_write_are_replaced_too(tmp_path, whole):
    site = earlier_site(tmp_path)
    (site / "a").chmod(0o500)
    published(site)
    assert digest(site) == whole[1]
    assert leftovers(site) == []


@pytest.mark.parametrize("name", ["site", "site.lock"])
@pytest.mark.parametrize("kind", ["file", "folder", "pipe"])
def test_what_stands_in_the_place_of_the_site_or_its_lock_is_kept_and_told(tmp_path, name, kind):
    if (name, kind) == ("site", "folder"):
        pytest.skip("that is where a site belongs")
    place = tmp_path / name
    if kind == "file":
        place.write_text("mine", encoding="utf-8")
    elif kind == "folder":
        place.mkdir()
    else:
        os.mkfifo(place)
    with pytest.raises(PublishingFault, match="move it away"):  # and not waited for: a pipe never answers
        Publication(tmp_path / "site")
    assert os.path.lexists(place)
    assert kind != "file" or place.read_text(encoding="utf-8") == "mine"


def test_a_place_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(PublishingFault, match="cannot be made"):
        Publication(tmp_path / "file" / "site")
    Publication(tmp_path / "deep" / "er" / "site").abandon()
    assert os.listdir(tmp_path / "deep" / "er") == []


def test_an_abandoned_build_leaves_nothing(tmp_path, whole):
    site = earlier_site(tmp_path)
    publication = Publication(site)
    write(publication.staging, NEW)
    publication.abandon()
    publication.abandon()
    assert digest(site) == whole[0]
    assert leftovers(site) == []


def test_the_words_of_a_kind_name_no_other(tmp_path):
    write(tmp_path / "site.old", EARLIER)
    write(tmp_path / f"other.old-{STAMP}-1", EARLIER)
    published(tmp_path / "site")
    assert (tmp_path / "site.old").is_dir()
    assert (tmp_path / f"other.old-{STAMP}-1").is_dir()
