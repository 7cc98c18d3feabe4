"""A cache costs time when it is lost, and nothing else."""

import functools
import hashlib
import json
import shutil
import subprocess
import sys

import pytest
from support import STANDARD, run

from handbook_calc.engine import house as house_module
from handbook_calc.engine import known, planning
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.interval import Interval, Spread
from handbook_calc.engine.memory import Memory
from handbook_calc.engine.planning import plan_of
from handbook_calc.engine.registers import REGISTERS
from handbook_calc.engine.tables import TABLES

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
    shutil.rmtree(cache)
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
@pytest.mark.long
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


def cut_short(file):
    file.write_bytes(file.read_bytes()[:-40])


def one_digit_changed(file):
    file.write_bytes(file.read_bytes().replace(b"1.", b"2."))


def of_other_code(file):
    kept = json.loads(file.read_bytes().split(b"\n", 1)[1])
    data = json.dumps(kept | {"code": "another"}).encode()
    file.write_bytes(hashlib.sha256(data).hexdigest().encode() + b"\n" + data)


def no_json(file):
    file.write_bytes(hashlib.sha256(b"junk").hexdigest().encode() + b"\njunk")


def emptied(file):
    file.write_bytes(b"")


def a_folder(file):
    file.unlink()
    file.mkdir()


@pytest.mark.long
def test_a_harmed_memory_of_what_was_computed_changes_nothing(site):
    site.page("index.md", "# P\n\n{{ table soak-times }}\n")
    command = [
        sys.executable,
        "-m",
        "mkdocs",
        "build",
    ]  # a fork would know from its process what is in the file
    assert run(command, site.folder).returncode == 0
    before = site.snapshot()
    for harm in (cut_short, one_digit_changed, of_other_code, no_json, emptied, a_folder):
        harm(site.folder / ".cache" / "computed")
        built = run(command, site.folder)
        assert built.returncode == 0, (harm.__name__, built.stderr)
        assert "Traceback" not in built.stderr
        assert site.snapshot() == before, harm.__name__


def remembering(path, code="this"):
    """Return a standard that remembers in a file, and the memory."""
    memory = Memory(path, code)
    return house_module.load(STANDARD, memory=memory), memory


@pytest.mark.long
def test_every_table_and_a_plan_from_memory_are_the_same_to_the_last_digit(tmp_path, monkeypatch):
    def digests(house):
        return {name: table.compute(house).digest for name, table in TABLES.items() if name not in REGISTERS}

    house, memory = remembering(tmp_path / "computed")
    before, plan = digests(house), plan_of(house)
    memory.save()

    again = []
    propagate = known.propagate
    monkeypatch.setattr(
        known, "propagate", lambda *given, **named: again.append(1) or propagate(*given, **named)
    )
    monkeypatch.setattr(planning, "_ends", None)
    house, _ = remembering(tmp_path / "computed")
    assert digests(house) == before
    assert len(again) < 40  # what holds more than plain numbers, of more than a thousand
    remembered = plan_of(house)
    assert (remembered.takes, remembered.totals) == (plan.takes, plan.totals)
    assert [step.figures for step in remembered.steps] == [step.figures for step in plan.steps]


def test_other_code_or_another_value_is_computed_anew(tmp_path):
    made = []

    def make():
        made.append(1)
        return Spread({"x": Interval(1.0, 0.5, 2.0, ("depth",), 0.0)}, {}, 0.0, "")

    first = Memory(tmp_path / "computed", "this")
    assert first.spread("x(1)", make) is first.spread("x(1)", make)
    first.save()
    assert len(made) == 1
    for code, key, times in (("this", "x(1)", 1), ("this", "x(2)", 2), ("other", "x(1)", 3)):
        assert Memory(tmp_path / "computed", code).spread(key, make) == make()
        made.pop()
        assert len(made) == times, (code, key)


def test_what_only_this_process_can_name_is_never_kept(tmp_path):
    """A function that holds more than plain numbers is told by a number that another process gives to another."""
    memory = Memory(tmp_path / "computed", "this")
    house, _ = remembering(tmp_path / "none")
    holds = [1.0]
    depth = known.combined(lambda depth: depth, Bench(house).value("piece.crack_depth"))
    for function in (lambda x: x + holds[0], functools.partial(max, 1.0), abs):
        combination = known.Combination(function, (depth,))
        combination.memory = memory
        assert combination.spread.intervals
    memory.save()
    assert json.loads((tmp_path / "computed").read_bytes().split(b"\n", 1)[1])["found"] == {}
    two, three = 2.0, 3.0
    for factor in (two, three):
        combination = known.Combination(lambda x, factor=None, by=factor: x * by, (depth,))
        combination.memory = memory
        assert combination.spread.intervals["value"].value == depth * factor


def test_a_memory_keeps_nothing_of_what_is_no_longer_asked_for(tmp_path):
    def make():
        return Spread({"x": Interval(1.0, 0.5, 2.0)})

    for keys in ("abc", "b"):
        memory = Memory(tmp_path / "computed", "this")
        for key in keys:
            memory.spread(key, make)
        memory.save()
    kept = json.loads((tmp_path / "computed").read_bytes().split(b"\n", 1)[1])
    assert len(kept["found"]) == 1


@pytest.mark.long
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
