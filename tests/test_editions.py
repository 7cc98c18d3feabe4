"""The life of a standard: recorded, changed, compared, raised.

What a change does is worked out here from the formulas of the trade, with numbers typed from the standard, and
compared with what the record of the changed handbook says. The sources of the formulas are named beside them.
"""

import csv
import io
import json
import random
import re
import shutil
import sys
from pathlib import Path

import pytest
from support import PIECE, STANDARD, changed_piece, changed_standard, run

from handbook_calc import editions
from handbook_calc.__main__ import main
from handbook_calc.changes import NOTABLE, UNSAFE, Changes
from handbook_calc.editions import COLUMNS, Line, Record
from handbook_calc.engine import house as house_module

TEXT = STANDARD.read_text("utf-8")
PAGES = {
    "index.md": "# Start\n\nEdition {{ value house.edition }}.\n",
    "electrolysis.md": "# Electrolysis\n\nIn {{ value electrolysis.salt }}.\n\n{{ table salt-amounts }}\n\n{{ table cell-currents }}\n",
    "oven.md": "# Oven\n\nAt {{ value drying.oven_temperature }}.\n\n{{ table heat-up-times }}\n\n{{ table oven-solvent }}\n\n"
    "{{ calc oven-solvent }}\n",
    "sand.md": "# Sand\n\nTo {{ value abrasives.finish }}.\n\n{{ table grit-progression }}\n",
    "store.md": "# Store\n\n{{ table humidity-limits }}\n\n{{ table inspection-dates }}\n",
    "coat.md": "# Coat\n\nWith {{ value coating.kind }}.\n\n{{ table coating-kinds }}\n\n{{ table wet-film }}\n",
}


class Bench:
    """A bench in a folder of its own, with a few pages; commands run in it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.docs = folder / "docs"
        self.docs.mkdir()
        (self.docs / "house-standard.yml").write_text(TEXT, "utf-8")
        for name, text in PAGES.items():
            (self.docs / name).write_text(text, "utf-8")

    def set(self, **values: str) -> None:
        path = self.docs / "house-standard.yml"
        text = path.read_text("utf-8")
        for key, value in values.items():
            text, _ = changed_standard(text, key.replace("__", "."), value)
        path.write_text(text, "utf-8")

    def raised(self, edition="2027.1", date="2027-11-25") -> None:
        self.set(house__edition=edition, house__date=date)

    def state(self) -> Record:
        standard = house_module.load(self.docs / "house-standard.yml")
        return editions.state_of(editions.rendered(standard, self.docs))

    def record(self, name: str) -> Record:
        return editions.read(editions.path_of(self.docs, name))


@pytest.fixture
def bench(tmp_path, monkeypatch) -> Bench:
    monkeypatch.chdir(tmp_path)
    return Bench(tmp_path)


@pytest.fixture(scope="module")
def recorded(tmp_path_factory) -> Bench:
    """A bench whose edition 2026.1 is recorded; read only."""
    made = Bench(tmp_path_factory.mktemp("recorded"))
    editions.save(made.state(), made.docs)
    return made


@pytest.fixture
def later(recorded, tmp_path, monkeypatch) -> Bench:
    """The same bench a year later, to be changed."""
    folder = tmp_path / "later"
    shutil.copytree(recorded.folder, folder)
    monkeypatch.chdir(folder)
    bench = Bench.__new__(Bench)
    bench.folder, bench.docs = folder, folder / "docs"
    bench.raised()
    return bench


def differences(bench: Bench, share: float = 0.05) -> Changes:
    return Changes(bench.record("2026.1"), bench.state(), share)


def told(capsys, *arguments: str) -> tuple[int, str, str]:
    status = main(list(arguments))
    printed = capsys.readouterr()
    return status, printed.out, printed.err


# --- the record --------------------------------------------------------------------------------


@pytest.mark.long
def test_the_same_handbook_gives_the_same_bytes_whatever_the_process(recorded, tmp_path):
    before = editions.path_of(recorded.docs, "2026.1").read_bytes()
    for seed in ("0", "1"):
        folder = tmp_path / seed
        shutil.copytree(recorded.folder, folder)
        shutil.rmtree(folder / "docs" / "editions")
        made = run(
            ["env", f"PYTHONHASHSEED={seed}", sys.executable, "-m", "handbook_calc", "record", "2026.1"],
            folder,
        )
        assert made.returncode == 0, made.stderr
        assert (folder / "docs" / "editions" / "2026.1.csv").read_bytes() == before


def test_a_record_begins_with_what_it_is_and_is_sorted_with_unique_keys(recorded):
    text = editions.path_of(recorded.docs, "2026.1").read_text("utf-8")
    head, columns, *rows = csv.reader(io.StringIO(text))
    assert head[:3] == ["record", "2", "2026.1"]
    assert head[-2:] == ["Lantern Yard bench", str(len(rows))]
    assert tuple(columns) == COLUMNS
    keys = [row[0] for row in rows]
    assert keys == sorted(set(keys))
    assert "\r" not in text
    assert editions.read(editions.path_of(recorded.docs, "2026.1")).text() == text


def test_a_record_holds_every_value_that_readers_see(recorded):
    standard = house_module.load(recorded.docs / "house-standard.yml")
    lines = recorded.record("2026.1").lines
    own = {key for key in standard.entries if key.startswith(("piece.", "wanted."))}
    assert {line.name for line in recorded.record("2026.1").of_kind("house")} == set(standard.entries) - own
    assert {line.name for line in recorded.record("2026.1").of_kind("piece")} == own
    from handbook_calc.engine.tables import TABLES, Banner

    for name in ("salt-amounts", "heat-up-times", "humidity-limits", "coating-kinds"):
        computed = TABLES[name].compute(standard)
        cells = sum(len(row) - 1 for row in computed.rows if not isinstance(row[0], Banner))
        mine = [key for key in lines if key.startswith(f"table {name} | ") and "| note " not in key]
        assert len(mine) == cells, name
    assert lines["page oven.md | value drying.oven_temperature"].text == "80 °C"
    assert lines["page oven.md | calc oven-solvent | mass"].value
    assert lines["table oven-solvent"].source.split()[0].startswith("drying.")
    assert {key for key in lines if key.startswith("sheet ")} == {f"sheet {page}" for page in PAGES}
    spanned = lines["piece piece.crack_depth"]
    assert float(spanned.low) < float(spanned.value) < float(spanned.high)


@pytest.mark.long
def test_the_names_of_the_cells_of_every_table_are_unique(house):
    from handbook_calc.engine.tables import TABLES

    for name, declared in TABLES.items():
        names = [cell for row in declared.compute(house).cell_names for cell in row if cell]
        assert len(names) == len(set(names)), name


def test_recording_again_changes_nothing_and_another_state_is_not_written_over(later, capsys):
    later.set(house__edition="2026.1")
    path = editions.path_of(later.docs, "2026.1")
    before = path.read_bytes()
    later.set(house__date="2026-11-25")
    assert told(capsys, "record", "2026.1")[1].startswith("recorded already, and the same: ")
    later.set(drying__oven_temperature="90 degC", house__status="draft")
    status, out, err = told(capsys, "record", "2026.1")
    assert (status, out) == (2, "")
    assert err.startswith("edition 2026.1 is recorded already, and this is not the same; raise house.edition")
    assert path.read_bytes() == before
    assert told(capsys, "record", "2026.1", "--again")[0] == 0
    assert "90 °C" in path.read_text("utf-8")


@pytest.mark.parametrize(
    ("edition", "says"),
    [
        (
            "2026.2",
            "docs/house-standard.yml:12: house.edition: is 2026.1, and edition 2026.2 is to be recorded",
        ),
        ("../x", "edition '../x' is no name of an edition"),
        ("..", "edition '..' is no name of an edition"),
        ("a" * 21, "is no name of an edition"),
    ],
)
def test_an_edition_that_cannot_be_recorded_is_one_clear_line(bench, capsys, edition, says):
    status, out, err = told(capsys, "record", edition)
    assert (status, out) == (2, "")
    assert says in err
    assert len(err.splitlines()) == 1
    assert not (bench.docs / "editions").exists()


@pytest.mark.parametrize(
    ("harm", "says"),
    [
        (lambda text: "", "2026.1.csv:1: is no record of an edition"),
        (lambda text: text.replace("record,2", "record,9", 1), "2026.1.csv:1: is a record of form 9"),
        (lambda text: text.replace("key,page", "page,key", 1), "2026.1.csv:2: has other columns"),
        (lambda text: "\n".join([*text.split("\n")[:9], *text.split("\n")[8:]]), "2026.1.csv:10: 'house"),
        (
            lambda text: text.replace("\nhouse abrasives.density,", "\nhouse abrasives.density,,", 1),
            "2026.1.csv:3: has 10",
        ),
        (
            lambda text: text.replace(",2026.1,", ",2020.9,", 1),
            "2026.1.csv:1: is the record of edition 2020.9",
        ),
        (lambda text: text.replace(",approved,", ",perhaps,", 1), "perhaps; allowed is a day, and draft or"),
        (
            lambda text: text.replace("7.88,,,g/cm^3", "inf,,,g/cm^3", 1),
            "2026.1.csv:3: value = inf is no number",
        ),
        (
            lambda text: text.replace("7.88,,,g/cm^3", f"{'9' * 5000},,,g/cm^3", 1),
            "2026.1.csv:3: value = 999",
        ),
        (
            lambda text: text.replace("g/cm^3,,", "g/cm^3,maybe,", 1),
            "2026.1.csv:3: state = maybe; allowed is",
        ),
        (
            lambda text: re.sub(r",[0-9a-f]{8} [0-9a-f]{8}\n", ",x\n", text, count=1),
            "is not the two digests of a sheet",
        ),
        (lambda text: text.replace("7.88 g", "\x1b[2J7.88 g", 1), "2026.1.csv:3: holds the sign U+001B"),
        (lambda text: text.replace("7.88 g", "\u202e7.88 g", 1), "2026.1.csv:3: holds the sign U+202E"),
        (
            lambda text: text.replace("7.88 g", f"{'7' * 200_000} g", 1),
            "2026.1.csv:3: is no row of a CSV file",
        ),
        (lambda text: f'{text}"', "is no row of a CSV file"),
    ],
)
@pytest.mark.long
def test_a_harmed_record_is_told_with_file_and_line(later, capsys, harm, says):
    path = editions.path_of(later.docs, "2026.1")
    path.write_text(harm(path.read_text("utf-8")), "utf-8")
    status, _, err = told(capsys, "changes", "--since", "2026.1")
    assert status == 2
    assert says in err
    assert "restore the file" in err
    assert len(err.splitlines()) == 1


@pytest.mark.long
def test_a_record_saved_by_a_spreadsheet_is_read_and_not_passed_over(later, capsys):
    """A mark before the text, or other ends of lines, must not make a changed standard pass as unrecorded."""
    path = editions.path_of(later.docs, "2026.1")
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    later.raised("2026.1", "2026-11-25")
    later.set(drying__safety_share="20 %")
    status, _, err = told(capsys, "check")
    assert status == 2
    assert "drying.safety_share: is 20" in err


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("2025.1.csv", b"", "2025.1.csv:1: is no record of an edition"),
        ("2025.1.csv", b"\xff\xfer\0e\0c\0", "2025.1.csv:1: is not UTF-8 text; save it as UTF-8"),
        ("2026.1 (2).csv", None, "edition '2026.1 (2)' is no name of an edition"),
        ("2\u00b2.csv", None, "is the record of edition 2026.1, which is kept in 2026.1.csv"),
        (f"{'9' * 100}.csv", None, "is no name of an edition"),
        ("2025.1.csv", "folder", "2025.1.csv:1: cannot be read: Is a directory"),
    ],
)
@pytest.mark.long
def test_a_stranger_among_the_records_is_one_clear_line(later, capsys, name, content, says):
    path = editions.path_of(later.docs, "2026.1").with_name(name)
    if content == "folder":
        path.mkdir()
    else:
        path.write_bytes(editions.path_of(later.docs, "2026.1").read_bytes() if content is None else content)
    status, out, err = told(capsys, "check")
    assert (status, out) == (2, "")
    assert says in err
    assert len(err.splitlines()) == 1


def test_an_edition_that_is_not_recorded_is_told_with_those_that_are(later, capsys):
    status, _, err = told(capsys, "changes", "--since", "2020.1")
    assert (status, err) == (2, "no record of edition '2020.1'; recorded are: 2026.1\n")


# --- what changed: a fixture of every kind, and its whole text --------------------------------------


def made(lines: list[Line], edition="1") -> Record:
    return Record(edition, "abcd", f"2026-01-0{edition}", "approved", "0.1.0", "Bench", lines)


def cell(name: str, text: str, value: str = "", state: str = "", unit: str = "h") -> Line:
    return Line(f"table t | {name}", "p.md", text, value, unit=unit if value else "", state=state)


BEFORE = made(
    [
        Line("house a.b", "h.md", "80 °C", "80", unit="degC", source="Chosen: so."),
        Line("house a.c", "h.md", "1", "1", source="Chosen: so."),
        Line("house a.limit", "h.md", "25 %", "25", unit="%", state="most", source="Chosen: so."),
        Line("sheet p.md", "p.md", "AAA-AAA", source="1 1"),
        Line("sheet q.md", "q.md", "AAA-AAB", source="1 1"),
        Line("sheet gone.md", "gone.md", "AAA-AAC", source="1 1"),
        Line("table t", "p.md", "T", source="a.b"),
        Line("table u", "q.md", "U", source="a.c"),
        cell("moved", "20", "20"),
        cell("moved far", "20", "20"),
        cell("moved unseen", "20", "20.001"),
        cell("gone", "3", "3"),
        cell("stops", "5", "5"),
        cell("went on", "stop: no", state="stop"),
        cell("waits", "go", state="go"),
        Line("table u | same", "q.md", "7", "7"),
    ]
)
AFTER = made(
    [
        Line("house a.b", "h.md", "90 °C", "90", unit="degC", source="Chosen: so."),
        Line("house a.c", "h.md", "1", "1", source="Chosen: otherwise."),
        Line("house a.limit", "h.md", "50 %", "50", unit="%", state="most", source="Chosen: so."),
        Line("sheet new.md", "new.md", "AAA-AAD", source="1 1"),
        Line("sheet p.md", "p.md", "AAA-AAE", source="2 2"),
        Line("sheet q.md", "q.md", "AAA-AAF", source="1 1"),
        Line("table t", "p.md", "T", source="a.b"),
        Line("table u", "q.md", "U", source="a.c"),
        cell("moved", "21", "21"),
        cell("moved far", "21.1", "21.1"),
        cell("moved unseen", "20", "20.002"),
        cell("new", "4", "4"),
        cell("stops", "stop: too hot", state="stop"),
        cell("went on", "6", "6"),
        cell("waits", "wait", state="wait"),
        Line("table u | same", "q.md", "7", "7"),
    ],
    "2",
)
WHOLE = """\
from edition 1 (abcd) to 2 (abcd): 2 house values and 7 values made from them changed, on 1 page; 2 unsafe or newly refused

Unsafe or newly refused: 2
  h.md
    house a.limit: was 25 %, is 50 % (+100 %)
  p.md
    table t, stops: was 5 h, is stop: too hot (other words), because of a.b

Moved by more than 5 %, verdicts, new and gone: 6
  h.md
    house a.b: was 80 °C, is 90 °C (+10 °C)
  p.md
    table t, gone: gone; was 3 h, because of a.b
    table t, moved far: was 20 h, is 21.1 h (+5.5 %), because of a.b
    table t, new: new: 4 h, because of a.b
    table t, waits: was go, is wait (other words), because of a.b
    table t, went on: was stop: no, is 6 h (other words), because of a.b

The rest: 1
  p.md
    table t, moved: was 20 h, is 21 h (+5 %), because of a.b

Only the reason was rewritten: a.c

The words of the page were rewritten: p.md

Unchanged:
  4 values as before
  1 page that show the same: q.md
  1 table that show the same: u"""


def test_changes_are_told_in_the_order_in_which_they_must_be_known():
    assert Changes(BEFORE, AFTER, 0.05).text().replace("\u00a0", " ") == WHOLE


def test_the_house_says_from_which_share_a_change_is_told_first():
    def names(share):
        return {c.name for c in Changes(BEFORE, AFTER, share).all if c.rank == NOTABLE}

    assert names(0.04) - names(0.05) == {"table t, moved"}
    assert names(0.05) - names(0.06) == {"table t, moved far"}


def test_the_way_back_tells_the_same_values():
    there, back = Changes(BEFORE, AFTER, 0.05), Changes(AFTER, BEFORE, 0.05)
    assert {c.name for c in there.all} == {c.name for c in back.all}
    assert [c.name for c in back.all if c.rank == UNSAFE] == ["table t, went on"]


def test_nothing_changes_against_itself():
    same = Changes(BEFORE, BEFORE, 0.05)
    assert same.all == ()
    assert same.sheets == {}
    assert "nothing changed" in same.text()


def test_no_key_is_lost_whatever_is_taken_away_or_added():
    """Random lines taken, added and changed: each is told once, and nothing else is."""
    dice = random.Random(8)
    for _ in range(200):
        keys = [f"table t | {n}" for n in range(30)]
        then = {key: Line(key, "p.md", str(dice.randrange(3))) for key in keys if dice.random() < 0.8}
        now = {key: Line(key, "p.md", str(dice.randrange(3))) for key in keys if dice.random() < 0.8}
        expected = {k for k in then | now if k not in then or k not in now or then[k].text != now[k].text}
        found = Changes(made(list(then.values())), made(list(now.values()), "2"), 0.05).all
        assert sorted(change.line.key for change in found) == sorted(expected)


# --- the six kinds of change that houses make, worked out independently ------------------------------


def moved(found: Changes, start: str) -> dict[str, tuple[float, float]]:
    """Return the numbers of a table that changed, by the rest of their key: was, is."""
    return {
        c.line.key[len(start) :]: (float(c.was.value), float(c.now.value))
        for c in found.all
        if c.line.key.startswith(start) and c.was and c.now and c.was.value and c.now.value
    }


def pages_of(found: Changes) -> set[str]:
    return {page for page, what in found.sheets.items() if "values" in what}


def test_another_oven_temperature(later):
    """The vapour of a drop of solvent takes up a room in proportion to the kelvins: pV = nRT (gas law)."""
    later.set(drying__oven_temperature="90 degC")
    found = differences(later)
    assert set(found.house_values) == {"drying.oven_temperature"}
    # The amount that makes a share of the lower limit: less by 353.15/363.15, and by the limit itself, which
    # falls by 0.75/(heat of combustion) for each kelvin (Zabetakis 1965): some per cent at most.
    cells = moved(found, "table oven-solvent | ")
    assert cells
    for was, now in cells.values():
        assert 0.90 < now / was < 353.15 / 363.15
    assert pages_of(found) == {"oven.md"}
    assert "electrolysis.md" in found.same_pages
    assert all(c.because == ("drying.oven_temperature",) for c in found.all if c.line.kind != "house")


def test_another_salt(later):
    """A bath of as many grams in a litre of another salt: other resistance, other hydroxide, the same grams."""
    later.set(electrolysis__salt="sodium hydroxide")
    found = differences(later)
    assert "electrolysis.md" in pages_of(found)
    assert {"store.md", "sand.md"} <= set(found.same_pages)
    named = found.change("page electrolysis.md | value electrolysis.salt")
    assert named
    assert named.texts == ("potassium carbonate", "sodium hydroxide")
    # Hydroxide conducts far better than carbonate at the same strength (handbooks of chemistry: 20 g/L NaOH
    # about 100 mS/cm, 20 g/L K2CO3 about 27 mS/cm), so more current flows, or the cell is refused.
    cells = moved(found, "table cell-currents | ")
    assert cells
    for was, now in cells.values():
        assert 2.5 < now / was < 5
    assert [c for c in found.all if c.rank == UNSAFE and c.line.key.startswith("table cell-currents")]


def test_another_finish(later):
    """A coarser finish leaves out the last papers and moves nothing that is not of the face."""
    later.set(abrasives__finish="P600")
    found = differences(later)
    gone = {
        c.line.key for c in found.all if c.now is None and c.line.key.startswith("table grit-progression")
    }
    # From P80 up, each paper at least doubles the one before: P1200 is behind P600 and its row is gone.
    assert any("| P1200 |" in key for key in gone)
    assert not any("| P80 |" in key or "| P180 |" in key for key in gone)
    assert pages_of(found) == {"sand.md"}


def test_a_limit_by_grade(later):
    """The limit of humidity for doubtful pieces moves its own row and no other grade's."""
    was = house_module.load(later.docs / "house-standard.yml")["storage.limit_doubtful"]
    later.set(storage__limit_doubtful=f"{was - 2:g} %")
    found = differences(later)
    cells = [c for c in found.all if c.line.key.startswith("table humidity-limits | ")]
    assert cells
    assert pages_of(found) == {"store.md"}
    for change in cells:
        assert "storage.limit_doubtful" in change.because
        if change.share is not None:
            assert change.now
            assert change.was
            assert float(change.now.value) - float(change.was.value) == pytest.approx(-2)


def test_a_share(later):
    """Half the safety share allows half the solvent: the amount is in proportion (LFL share, NFPA 86)."""
    later.set(drying__safety_share="12.5 %")
    found = differences(later)
    cells = moved(found, "table oven-solvent | ")
    assert len(cells) >= 15
    for was, now in cells.values():
        assert now == pytest.approx(was / 2, rel=1e-9)
    assert all(c.rank == NOTABLE for c in found.all if c.line.key.startswith("table oven-solvent | 1"))
    mass = found.change("page oven.md | calc oven-solvent | mass")
    assert mass
    assert mass.now
    assert mass.was
    assert float(mass.now.value) == pytest.approx(float(mass.was.value) / 2)


def test_another_coating(later):
    """A coating more is one row more, all of it new, and changes no other row."""
    path = later.docs / "house-standard.yml"
    lines = path.read_text("utf-8").split("\n")
    start = lines.index("    acrylic-brush:", lines.index("coating:"))
    end = next(row for row in range(start + 1, len(lines)) if not lines[row].startswith("      "))
    path.write_text(
        "\n".join([*lines[:end], "    bench-lacquer:", *lines[start + 1 : end], *lines[end:]]), "utf-8"
    )
    found = differences(later)
    told_of = [c for c in found.all if c.line.key.startswith("table coating-kinds | ")]
    assert told_of
    for change in told_of:
        assert "| bench-lacquer" in change.line.key
        assert change.was is None
        assert change.rank == NOTABLE
    assert {key.rpartition(".")[0] for key in found.house_values} == {"coating.kinds.bench-lacquer"}


def test_what_the_changed_cells_say_is_what_the_tables_say(later):
    """Each change told is the difference of the two CSV files of its table, worked out from those alone."""
    from handbook_calc.engine.tables import TABLES

    before = house_module.load(STANDARD)
    later.set(drying__safety_share="20 %", drying__oven_volume="60 L")
    now = house_module.load(later.docs / "house-standard.yml")
    found = differences(later)
    for name in ("oven-solvent", "heat-up-times", "salt-amounts"):
        old, new = (
            [line.split(",") for line in TABLES[name].compute(standard).csv().splitlines()]
            for standard in (before, now)
        )
        pairs = [
            (a, b) for x, y in zip(old[1:], new[1:], strict=True) for a, b in zip(x[1:], y[1:], strict=True)
        ]
        differing = sum(1 for a, b in pairs if a != b and f"{float(a):.2g}" != f"{float(b):.2g}")
        cells = [
            c for c in found.all if c.line.key.startswith(f"table {name} | ") and "| note " not in c.line.key
        ]
        assert len(cells) >= differing, name
        assert len(cells) <= sum(1 for a, b in pairs if a != b), name


# --- on the command line ------------------------------------------------------------------------------


def test_changes_as_text_and_as_data(later, capsys):
    later.set(drying__safety_share="20 %")
    status, out, _ = told(capsys, "changes")
    assert status == 0
    assert out.startswith("from edition 2026.1 (")
    assert "house drying.safety_share: was 25 %, is 20 % (-20 %)" in out.replace("\u00a0", " ")
    status, out, _ = told(capsys, "changes", "--since", "2026.1", "--json")
    plain = json.loads(out)
    assert plain["since"]["edition"] == "2026.1"
    assert plain["now"]["edition"] == "2027.1"
    keys = [change["key"] for change in plain["changes"]]
    assert "house drying.safety_share" in keys
    assert plain["pages"] == {"oven.md": "values"}
    assert "sand.md" in plain["unchanged"]["pages"]


@pytest.mark.long
def test_a_value_that_is_only_tried_changes_no_file(later, capsys):
    before = (later.docs / "house-standard.yml").read_bytes()
    status, out, _ = told(capsys, "changes", "--set", "drying.safety_share=20 %", "--json")
    assert status == 0
    tried = {c["key"]: c["is"] for c in json.loads(out)["changes"]}
    assert (later.docs / "house-standard.yml").read_bytes() == before
    later.set(drying__safety_share="20 %")
    saved = {c.line.key: c.now for c in differences(later).all}
    assert {key: value["text"] for key, value in tried.items()} == {
        key: line.text for key, line in saved.items() if line
    }
    status, out, _ = told(capsys, "changes", "--set", "drying.oven_temperature=90 degC")
    found = re.search(r"docs/house-standard.yml, line (\d+):\n  oven_temperature: 90 degC\n", out)
    assert found
    assert before.decode().split("\n")[int(found[1]) - 1].strip().startswith("oven_temperature:")


@pytest.mark.parametrize(
    ("tried", "says"),
    [
        (
            "drying.oven_temperature=900 degC",
            "--set:1: drying.oven_temperature: 900 degC is out of range; allowed is",
        ),
        (
            "drying.oven_temprature=90 degC",
            "--set:1: drying.oven_temprature: is no house value, and no fact of a piece; did you",
        ),
        ("drying.oven_temperature", "--set drying.oven_temperature: is not written KEY=VALUE"),
        ("drying.oven_temperature=", "--set:1: drying.oven_temperature: has no value; allowed is"),
        (
            "drying.oven_temperature=110 degC",
            "drying.oven_proof: 105 degC is below drying.oven_temperature, 110 degC",
        ),
    ],
)
def test_a_value_that_cannot_be_tried_is_one_clear_line(later, capsys, tried, says):
    status, out, err = told(capsys, "changes", "--set", tried)
    assert (status, out) == (2, "")
    assert says in err
    assert len(err.splitlines()) == 1


@pytest.mark.long
def test_a_fact_that_is_only_tried_is_kept_in_the_pieces_file(later, capsys):
    changed_piece(later.docs / "pieces", {})
    status, out, _ = told(capsys, "changes", "--set", "piece.crack_depth=4.1 mm")
    assert status == 0
    assert "0 house values, 1 fact of the piece and " in out
    found = re.search(r"write in docs/pieces/LY-014.yml, line (\d+):\n  crack_depth: 4.1 mm\n?$", out)
    assert found
    assert PIECE.read_text("utf-8").split("\n")[int(found[1]) - 1].startswith("  crack_depth:")
    text = PIECE.read_text("utf-8").replace("  warp: 0.05 mm\n", "")
    (later.docs / "pieces" / PIECE.name).write_text(text, "utf-8")
    status, out, _ = told(capsys, "changes", "--set", "piece.warp=0.5 mm")
    assert status == 0
    assert out.endswith("write in docs/pieces/LY-014.yml, in the section piece:\n  warp: 0.5 mm\n")


def test_an_edition_is_recorded_and_compared_with_the_piece_that_is_named(later, capsys, tmp_path):
    path = str(changed_piece(tmp_path / "other", {"piece.mass": "190 g", "piece.number": "LY-77"}))
    status, out, _ = told(capsys, "changes", "--piece", path)
    assert status == 0
    assert "piece piece.mass: was 186 g, is 190 g" in out.replace("\u00a0", " ")
    assert told(capsys, "record", "2027.1", "--piece", path)[0] == 0
    assert later.record("2027.1").lines["piece piece.number"].text == "LY-77"
    for command in (["changes"], ["sheets"], ["record", "2027.1", "--again"]):
        odd = str(changed_piece(tmp_path / "odd", {"piece.mass": "2 kg"}))
        status, out, err = told(capsys, *command, "--piece", odd)
        assert (status, out) == (2, "")
        assert ": piece.thickness: 6 mm does not go with the rest" in err
        assert len(err.splitlines()) == 1
    status, _, err = told(capsys, "changes", "--between", "a.yml", "b.yml", "--piece", path)
    assert status == 2
    assert "leave out --since, --house, --piece and --set" in err


# --- is the edition raised? ---------------------------------------------------------------------------


@pytest.mark.long
def test_a_changed_standard_must_raise_its_edition_and_date(later, capsys):
    later.set(
        house__edition="2026.1",
        house__date="2026-11-25",
        drying__safety_share="20 %",
        rinsing__least_baths="4",
    )
    status, _, err = told(capsys, "check")
    assert status == 2
    told_keys = [line.split(": ")[1] for line in err.splitlines()]
    assert sorted(told_keys) == ["drying.safety_share", "rinsing.least_baths"]
    assert "is 20 %, and the record of edition 2026.1 has 25 %; raise house.edition and house.date" in err
    later.set(house__edition="2026.2")
    status, _, err = told(capsys, "check")
    assert status == 2
    assert ": house.date: 2026-11-25 is not after 2026-11-25, the day of edition 2026.1, from which " in err
    later.set(house__date="2026-11-26")
    assert told(capsys, "check")[0] == 0


@pytest.mark.long
def test_a_draft_may_change_under_its_name(later, capsys):
    later.set(house__edition="2026.1", house__status="draft", drying__safety_share="20 %")
    status, out, _ = told(capsys, "check")
    assert status == 0
    assert ", a draft, not for the bench (" in out


@pytest.mark.long
def test_the_record_of_another_bench_says_nothing_about_this_one(later, capsys):
    later.set(house__name="Another bench", house__edition="2026.1", drying__safety_share="20 %")
    assert told(capsys, "check")[0] == 0
    assert "no edition of Another bench is recorded" in told(capsys, "changes")[2]


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"approval__proposed_on": "none"}, "approval.proposed_on: none is not set, and house.status is approved"),
        ({"approval__checked_on": "none"}, "approval.checked_on: none is not set, and house.status is approved"),
        ({"approval__checked_on": "2026-11-01"}, "approval.checked_on: 2026-11-01 is before 2026-11-09, the day it was proposed"),
        ({"house__date": "2026-11-19"}, "house.date: 2026-11-19 is before 2026-11-20, the day it was checked"),
        ({"house__status": "perhaps"}, "house.status: perhaps is not a known status"),
        (
            {"approval__checked_on": "2026-11-09", "approval__checked_by": "keeper of the standard"},
            "approval.checked_on: 2026-11-09 is the day it was proposed, by the same role",
        ),
    ],
)  # fmt: skip
def test_an_edition_is_proposed_then_checked_then_approved(bench, capsys, values, says):
    bench.set(**values)
    status, _, err = told(capsys, "check")
    assert status == 2
    assert says in err
    assert len(err.splitlines()) == 1


@pytest.mark.long
def test_two_editions_a_year_apart(bench, capsys):
    """Recorded, changed, refused, raised, recorded again: both can be compared ever after."""
    assert told(capsys, "record", "2026.1")[0] == 0
    bench.set(drying__safety_share="20 %")
    assert told(capsys, "check")[0] == 2
    assert told(capsys, "record", "2026.1")[0] == 2
    bench.raised()
    assert told(capsys, "check")[0] == 0
    assert told(capsys, "record", "2027.1")[0] == 0
    assert editions.names(bench.docs) == ["2026.1", "2027.1"]
    first = told(capsys, "changes")[1]
    assert first.startswith("from edition 2026.1 (")
    assert "because of drying.safety_share" in first
    bench.raised("2028.1", "2028-11-25")
    bench.set(drying__safety_share="25 %")
    assert "was 20 %, is 25 %" in told(capsys, "changes")[1].replace("\u00a0", " ")
    nothing = told(capsys, "changes", "--since", "2026.1")[1]
    assert "nothing changed" in nothing  # the edition's own name on a page is no change


def test_editions_are_sorted_by_their_numbers(bench):
    (bench.docs / "editions").mkdir()
    for name in ("2026.10", "2026.9", "2026.1"):
        (bench.docs / "editions" / f"{name}.csv").write_text("record,1\n", "utf-8")
    (bench.docs / "editions" / "printed.csv").write_text("sheet,copy\n", "utf-8")
    assert editions.names(bench.docs) == ["2026.1", "2026.9", "2026.10"]


def test_house_texts_are_harmless_to_a_spreadsheet(bench):
    bench.set(house__name='"=HYPERLINK(1)"')
    state = bench.state()
    assert state.lines["house house.name"].text == "'=HYPERLINK(1)"
