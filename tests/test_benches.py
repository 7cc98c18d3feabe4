"""Several benches on one standard, plans in the record, and what of a bench is told instead of passed over.

What a plan must do when a value changes is worked out here from the facts of the piece; the benches are those of
the demonstration, and invented ones.
"""

import csv
import io
import re
import shutil
import sys

import pytest
from support import PIECE, ROOT, STANDARD, changed_standard, copy_of_the_project, run
from test_editions import TEXT, Bench, told

from handbook_calc import benches, changes, editions, folders, keeper
from handbook_calc.changes import LONGER, NEWLY_REFUSED, UNSAFE, Changes
from handbook_calc.editions import Line, Record
from handbook_calc.engine import house, planning
from handbook_calc.engine.faults import HouseFaults
from handbook_calc.engine.tables import TABLES, Mark

PIECES = ("LY-014", "LY-003")


@pytest.fixture(scope="module")
def planned(tmp_path_factory) -> Bench:
    """A bench with two pieces, whose edition is recorded; read only."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("planned")
        patch.chdir(folder)
        made = Bench(folder)
        (made.docs / "pieces").mkdir()
        for name in PIECES:
            shutil.copy(PIECE.with_name(f"{name}.yml"), made.docs / "pieces")
        standard = house.load(made.docs / "house-standard.yml")
        editions.save(keeper.state_of(standard), made.docs)
    return made


@pytest.fixture
def later(planned, tmp_path, monkeypatch) -> Bench:
    """The same bench a year later, to be changed."""
    folder = tmp_path / "later"
    shutil.copytree(planned.folder, folder)
    monkeypatch.chdir(folder)
    bench = Bench.__new__(Bench)
    bench.folder, bench.docs = folder, folder / "docs"
    bench.raised()
    return bench


def differences(bench: Bench) -> Changes:
    standard = house.load(bench.docs / "house-standard.yml")
    return Changes(bench.record("2026.1"), keeper.state_of(standard), standard["approval.notable"] / 100)


def fact(bench: Bench, piece: str, key: str, value: str) -> None:
    path = bench.docs / "pieces" / f"{piece}.yml"
    path.write_text(changed_standard(path.read_text("utf-8"), key, value)[0], "utf-8")


# --- plans in the record -----------------------------------------------------------------------


@pytest.mark.long
def test_a_record_holds_all_that_each_plan_comes_to(planned):
    lines = planned.record("2026.1").lines
    for name in PIECES:
        file = planned.docs / "pieces" / f"{name}.yml"
        plan = planning.plan_of(house.load(planned.docs / "house-standard.yml", piece=file, asking=True))
        takes = lines[f"plan {name} | takes"]
        assert (float(takes.value), takes.unit) == (pytest.approx(plan.takes.value), "d")
        assert float(takes.low) <= float(takes.value) <= float(takes.high)
        assert (lines[f"plan {name} | route"].state == "refused") == bool(plan.refused)
        for material, amount in plan.totals.items():
            assert float(lines[f"plan {name} | total of {material}"].value) == pytest.approx(amount.value)
        for step in plan.steps:
            verdict = lines[f"plan {name} | {step.step.id} | verdict"]
            assert (verdict.state == "refused") == bool(step.refused)
            assert (step.refused or step.why).split()[0] in verdict.text
            for figure, amount in step.figures.items() if step.applies else ():
                line = lines[f"plan {name} | {step.step.id} | {figure}"]
                assert float(line.value) == pytest.approx(amount.value)
        for key in plan.house.entries:
            assert (f"fact {name}/{key}" in lines) == key.startswith(("piece.", "wanted."))


def test_the_same_pieces_give_the_same_bytes(planned, monkeypatch):
    monkeypatch.chdir(planned.folder)
    standard = house.load(planned.docs / "house-standard.yml")
    assert keeper.state_of(standard).text() == editions.path_of(planned.docs, "2026.1").read_text("utf-8")


@pytest.mark.long
def test_a_watch_that_is_longer_makes_every_plan_longer_by_as_much(later):
    """The watch is waited out whole: five days more of it are five days more of the plan."""
    later.set(specimen__watch="25 d")
    shorter = differences(later)
    found = Changes(shorter.after, shorter.before, shorter.notable)
    assert {became for became, _ in shorter.plans.values()} == {"shorter"}
    assert set(found.plans) == set(PIECES)
    for name, (became, listed) in found.plans.items():
        assert became == LONGER
        (takes,) = (change for change in listed if change.line.key == f"plan {name} | takes")
        assert takes.was
        assert takes.now
        assert float(takes.now.value) - float(takes.was.value) == pytest.approx(5, abs=0.01)
        assert takes.rank == changes.NOTABLE
        assert takes.because == ("specimen.watch",)
    assert "What became of each plan:" in found.text()
    assert found.plain()["plans"] == dict.fromkeys(found.plans, LONGER)


@pytest.mark.long
def test_a_fact_of_one_piece_changes_the_plan_of_that_piece_alone(later):
    fact(later, "LY-003", "piece.rusted_share", "0.8 %")
    found = differences(later)
    assert {change.line.pages[0] for change in found.all} == {"pieces/LY-003.md"}
    assert found.same_plans == ["LY-014"]
    assert {key for change in found.all for key in change.because} == {"LY-003/piece.rusted_share"}


@pytest.mark.long
def test_a_piece_more_is_told_in_two_lines_and_not_in_a_hundred(later):
    shutil.copy(PIECE.with_name("LY-009.yml"), later.docs / "pieces")
    found = differences(later)
    assert {change.line.key for change in found.all} == {"plan LY-009 | route", "plan LY-009 | takes"}
    assert found.plans["LY-009"][0] == "new"
    assert found.same_values == sum(
        1 for line in found.before.lines.values() if line.kind not in ("sheet", *editions.GIVEN)
    )


def plan_record(edition: str, *plans: tuple[str, str, str, str]) -> Record:
    lines = []
    for name, text, state, days in plans:
        page = f"pieces/{name}.md"
        lines.append(Line(f"plan {name}", page, f"piece {name}"))
        lines.append(Line(f"plan {name} | route", page, text, state=state))
        lines.append(Line(f"plan {name} | takes", page, f"{days} d", days, unit="d"))
    return Record(edition, "x", "2026-01-01", "approved", "1", "Bench", lines)


def test_what_is_newly_refused_stands_before_what_takes_longer_and_that_before_the_rest():
    can = "can be done"
    was = plan_record(
        "1", ("A", can, "", "10"), ("B", can, "", "10"), ("C", can, "", "10"), ("D", can, "", "9")
    )
    now = plan_record(
        "2", ("A", can, "", "9"), ("B", can, "", "10.1"), ("C", "refused: no tub", "refused", "10"),
        ("D", can, "", "9"),
    )  # fmt: skip
    found = Changes(was, now, 0.05)
    assert [(name, became) for name, (became, _) in found.plans.items()] == [
        ("C", NEWLY_REFUSED), ("B", LONGER), ("A", "shorter"),
    ]  # fmt: skip
    assert list(found.of_rank(UNSAFE)) == ["pieces/C.md"]
    assert found.same_plans == ["D"]
    assert "B" in "".join(found.of_rank(changes.NOTABLE)), "longer by one per cent is told with what matters"
    back = Changes(now, was, 0.05)
    assert {name: became for name, (became, _) in back.plans.items()} == {
        "A": LONGER, "B": "shorter", "C": "no longer refused",
    }  # fmt: skip


def test_a_piece_at_fault_is_told_with_file_and_line_and_nothing_is_recorded(later, capsys):
    fact(later, "LY-003", "piece.mass", "-1 kg")
    status, out, err = told(capsys, "record", "2027.1")
    assert (status, out) == (2, "")
    assert "docs/pieces/LY-003.yml:" in err
    assert "piece.mass" in err
    assert not (later.docs / "editions" / "2027.1.csv").exists()


# --- the record itself -------------------------------------------------------------------------


def test_a_record_cut_short_at_any_line_is_refused_with_that_line(later, capsys):
    path = editions.path_of(later.docs, "2026.1")
    lines = path.read_text("utf-8").splitlines(keepends=True)
    for kept in (2, 3, len(lines) // 2, len(lines) - 1):
        path.write_text("".join(lines[:kept]), "utf-8")
        status, _, err = told(capsys, "changes", "--since", "2026.1")
        assert status == 2
        assert f"editions/2026.1.csv:{kept}: is cut short here: {kept - 2:,} of {len(lines) - 2:,}" in err
        assert "restore the file" in err
    path.write_text("".join(lines)[:-3], "utf-8")
    assert f"2026.1.csv:{len(lines)}: " in told(capsys, "changes", "--since", "2026.1")[2]


def test_a_record_without_a_count_is_read_as_before(later):
    path = editions.path_of(later.docs, "2026.1")
    rows = list(csv.reader(io.StringIO(path.read_text("utf-8"))))
    rows[0] = ["record", "1", *rows[0][2:-1]]
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    path.write_text(out.getvalue(), "utf-8")
    assert len(editions.read(path).lines) == len(rows) - 2


# --- temperatures ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("was", "now", "says"), [(80, 90, "+10\u00a0°C"), (1, 2, "+1\u00a0°C"), (0, -5, "-5\u00a0°C")]
)
def test_a_temperature_moves_by_degrees_and_never_by_a_share(was, now, says):
    """0 degC is where water freezes, not nothing: 2 degC is not twice as warm as 1 degC."""
    then, later = (
        Record(name, "x", "2026-01-01", "approved", "1", "Bench",
               [Line("table t | row | T", "oven.md", f"{n}", f"{n}", unit="degC")])
        for name, n in (("1", was), ("2", now))
    )  # fmt: skip
    found = Changes(then, later, 0.05)
    (change,) = found.all
    assert change.moved.replace(" ", "\u00a0") == says
    assert "%" not in change.sentence()
    assert change.rank == changes.NOTABLE
    (plain,) = found.plain()["changes"]
    assert (plain["moved"], plain["degrees"]) == (None, now - was)


# --- files that are passed over ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("file", "says"),
    [
        ("house/other.yaml", "house/other.yaml is not read: rename it to house/other.yml"),
        ("house/other.YML", "house/other.YML is not read: rename it to house/other.yml"),
        ("data/grit.csv", "data/grit.csv is not read; did you mean 'grits.csv'?"),
        ("data/Exposure_Limits.csv", "is not read; did you mean 'exposure_limits.csv'?"),
        ("data/never_named.txt", "data/never_named.txt is not read; did you mean 'never_named.csv'?"),
    ],
)
def test_a_file_with_nearly_the_name_of_one_that_is_read_is_told(tmp_path, file, says):
    for name in ("house/bench.yml", "data/grits.csv", "data/.hidden", file):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text("", "utf-8")
    (note,) = folders.notes(tmp_path)
    assert note.startswith("warning: ")
    assert says in note


@pytest.mark.long
def test_a_bench_whose_only_file_has_the_wrong_ending_is_told(tmp_path, monkeypatch, capsys):
    (tmp_path / "house").mkdir()
    (tmp_path / "house" / "bench.yaml").write_text("drying:\n  oven_temperature: 70 degC\n", "utf-8")
    monkeypatch.chdir(tmp_path)
    status, out, _ = told(capsys, "check")
    assert status == 0
    assert "warning: house/bench.yaml is not read: rename it to house/bench.yml" in out


# --- several benches ---------------------------------------------------------------------------

ONE = "house:\n  # Chosen: ours.\n  name: One\ndrying:\n  # Chosen: slow here.\n  soak: 20 h\n"
OTHER = (
    "house:\n  # Chosen: ours.\n  name: Other\ndrying:\n  # Chosen: so.\n  soak: 24 h\n"
    "  # Chosen: no fan.\n  safety_share: 15 %\n  # Chosen: small room.\n  open_solvent: 55 mL\n"
)


def written(folder, **files: str):
    """Write files of differences over the standard; return the folder."""
    (folder / "docs").mkdir()
    (folder / "docs" / "house-standard.yml").write_text(TEXT, "utf-8")
    shutil.copytree(PIECE.parent, folder / "docs" / "pieces")
    (folder / "house").mkdir()
    for name, text in files.items():
        (folder / "house" / f"{name}.yml").write_text(text, "utf-8")
    return folder


def compared(folder):
    return benches.load(folder / "docs" / "house-standard.yml", benches.files_in(folder), folder)


def test_benches_stand_side_by_side_value_by_value(tmp_path, monkeypatch):
    folder = written(tmp_path, one=ONE, other=OTHER)
    monkeypatch.chdir(folder)
    found = compared(folder)
    assert found.files == ("house/one.yml", "house/other.yml")
    assert set(found.keys) == {"drying.soak", "drying.safety_share", "drying.open_solvent"}
    computed = TABLES["bench-differences"].compute(found.base)
    assert [column.title for column in computed.columns][2:] == ["Standard", "One", "Other"]
    rows = {row[0].word: row[2:] for row in computed.rows if len(row) > 1}
    spaced = {
        key: [getattr(cell, "word", cell).replace("\u00a0", " ") for cell in row] for key, row in rows.items()
    }
    assert spaced["drying.soak"] == ["12 h", "20 h", "24 h"]
    assert spaced["drying.safety_share"] == ["25 %", "as the standard", "15 %, tighter"]
    assert spaced["drying.open_solvent"] == ["50 mL", "as the standard", "55 mL, looser"]
    assert [rows["drying.safety_share"][2].state, rows["drying.open_solvent"][2].state] == ["go", "stop"]
    assert not any(isinstance(cell, Mark) for cell in rows["drying.soak"])
    values = sum(
        1 for key in found.base.entries if not key.startswith(("house.", "approval.", "piece.", "wanted."))
    )
    assert f"{values - 3} values are the same" in " ".join(computed.notes)
    reasons = TABLES["bench-reasons"].compute(found.base).text()
    assert "Slow here" in reasons
    assert "house/other.yml:8" in reasons


def test_a_limit_that_is_a_least_is_tighter_when_it_is_more(tmp_path):
    text = "house:\n  # Chosen: ours.\n  name: Third\nabrasives:\n  # Chosen: so.\n  thin_limit: 2.5 mm\n"
    found = compared(written(tmp_path, one=ONE, third=text))
    assert found.became(found.houses[1], "abrasives.thin_limit") == benches.TIGHTER


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (OTHER.replace("24 h", "24 kg"), "house/other.yml:6: drying.soak"),
        (OTHER.replace("15 %", "30 %"), "house/other.yml:8: drying.safety_share"),
        (OTHER.replace("soak", "soke"), "house/other.yml:6: drying.soke"),
        (OTHER.replace("Other", "One"), "house/other.yml:3: house.name: One is the name of the bench of"),
        ("drying: [", "house/other.yml:"),
    ],
)
def test_a_faulty_bench_is_told_with_file_and_line(tmp_path, text, says):
    folder = written(tmp_path, one=ONE, other=text)
    with pytest.raises(HouseFaults) as raised:
        compared(folder)
    assert says in str(raised.value)


def test_one_bench_is_compared_with_nobody(tmp_path, monkeypatch):
    folder = written(tmp_path, one=ONE)
    monkeypatch.chdir(folder)
    assert benches.files_in(folder) == []
    assert "has one bench" in TABLES["bench-differences"].compute(house.load()).text()


def test_the_benches_of_the_demonstration_differ_with_reasons_and_loosen_no_limit(monkeypatch):
    monkeypatch.chdir(ROOT)
    found = benches.load(STANDARD, benches.files_in(ROOT), ROOT)
    assert len(found.houses) >= 2
    for laid in found.houses:
        differ = [key for key in found.keys if found.differs(laid, key)]
        assert differ
        assert all(found.became(laid, key) != benches.LOOSER for key in differ)
        assert any(found.became(laid, key) == benches.TIGHTER for key in differ)
        assert all(laid.entries[key].grade for key in differ)
    editions_of = [found.base["house.edition"], *(laid["house.edition"] for laid in found.houses)]
    assert len(set(editions_of)) == len(editions_of), "their records would take each other's place"


def built(folder, *arguments: str):
    return run([sys.executable, "-m", "mkdocs", "build", "-q", *arguments], folder)


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    folder = copy_of_the_project(tmp_path_factory.mktemp("project"))
    # The settings of a bench as its page tells a keeper to write them.
    page = (ROOT / "docs" / "keeper" / "benches.md").read_text("utf-8")
    (settings,) = re.findall(r"```yaml\n(.*?)```", page, re.DOTALL)
    (folder / "cold-room.yml").write_text(settings, "utf-8")
    return folder


@pytest.mark.long
def test_each_bench_builds_its_own_site_with_one_command(project):
    made = built(project, "-f", "cold-room.yml")
    assert made.returncode == 0, made.stderr
    site = project / "site-cold-room"
    page = (site / "keeper" / "benches.html").read_text("utf-8")
    assert "Stony-iron bench" in page
    assert "tighter" in page
    assert "2026.1-cold" in (site / "keeper" / "house-standard.html").read_text("utf-8")
    assert not (project / "site").exists(), "the site of the other bench is left alone"


@pytest.mark.parametrize(
    ("benches_line", "file", "text", "says"),
    [
        (
            "",
            "stony-irons.yml",
            "drying:\n  # Chosen: x.\n  soak: 24 kg\n",
            "docs/benches/stony-irons.yml:3: drying.soak",
        ),
        ("[house/none.yml]", "", "", "house/none.yml"),
        ("docs/benches/cold-room.yml", "", "", "mkdocs.yml: extra: handbook: "),
        ("[1]", "", "", "mkdocs.yml: extra: handbook: "),
    ],
)
@pytest.mark.long
def test_a_faulty_bench_stops_the_build(project, tmp_path, benches_line, file, text, says):
    folder = tmp_path / "copy"
    shutil.copytree(project, folder, ignore=shutil.ignore_patterns("site*", ".cache"))
    if file:
        (folder / "docs" / "benches" / file).write_text(text, "utf-8")
    if benches_line:
        path = folder / "mkdocs.yml"
        path.write_text(
            path.read_text("utf-8").replace(
                '    piece: ""\n', f'    piece: ""\n    benches: {benches_line}\n'
            ),
            "utf-8",
        )
    made = built(folder)
    assert made.returncode != 0
    assert says in made.stderr
    assert "Traceback" not in made.stderr
    assert not (folder / "site").exists()
