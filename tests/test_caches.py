"""A cache costs time when it is lost, and nothing else."""

import subprocess

import pytest

PAGE = "# P\n\nIn {{ value rinsing.bath }}.\n"


def damaged(cache):
    files = sorted((cache / "templates").iterdir())
    assert len(files) > 5
    for number, path in enumerate(files):
        kept = path.read_bytes()
        path.write_bytes(
            (b"", kept[:50], kept[:-9], kept[:40] + b"\xff" * 40 + kept[80:], b"junk")[number % 5]
        )


def a_file_in_its_place(cache):
    _emptied(cache)
    cache.rmdir()
    cache.write_text("mine", encoding="utf-8")


def a_file_in_the_place_of_its_folder(cache):
    _emptied(cache)
    (cache / "templates").write_text("mine", encoding="utf-8")


def folders_in_the_place_of_its_files(cache):
    for path in list((cache / "templates").iterdir()):
        path.unlink()
        path.mkdir()


def a_link_that_leads_nowhere(cache):
    _emptied(cache)
    (cache / "templates").symlink_to(cache / "nowhere" / "at" / "all")


def _emptied(cache):
    for path in (cache / "templates").iterdir():
        path.unlink()
    (cache / "templates").rmdir()


@pytest.mark.parametrize(
    "harm",
    [
        damaged,
        a_file_in_its_place,
        a_file_in_the_place_of_its_folder,
        folders_in_the_place_of_its_files,
        a_link_that_leads_nowhere,
    ],
)
def test_a_harmed_cache_of_templates_changes_nothing(site, harm):
    site.page("index.md", PAGE)
    assert site.build().returncode == 0
    before = site.snapshot()
    harm(site.folder / ".cache")
    for _ in range(2):
        built = site.build()
        assert built.returncode == 0, built.stderr
        assert "Traceback" not in built.stderr
        assert site.snapshot() == before


def test_a_cache_that_cannot_be_written_changes_nothing(site):
    from publishing import attack

    site.page("index.md", PAGE)
    assert site.build().returncode == 0
    before = site.snapshot()
    try:
        with attack.mounted(site.folder / ".cache"):
            subprocess.run(["mount", "-o", "remount,ro", str(site.folder / ".cache")], check=True)
            built = site.build()
    except attack.Skipped as reason:
        pytest.skip(str(reason))
    assert built.returncode == 0, built.stderr
    assert site.snapshot() == before
