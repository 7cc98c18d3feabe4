"""A piece's file: what it holds, what follows where a fact is open, and what is refused whole."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from support import PIECE, STANDARD, changed_files, changed_piece, changed_standard, examples

from handbook_calc.__main__ import main
from handbook_calc.engine import house as house_module
from handbook_calc.engine import places
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.faults import HouseFaults
from handbook_calc.piece import check_facts

TEXT = PIECE.read_text(encoding="utf-8")


def load(folder, values, asking=True):
    """Load the standard with the example changed."""
    return house_module.load(piece=changed_piece(folder, values), root=folder, asking=asking)


def faults_of(folder, text) -> list[str]:
    """Return the faults of a piece's file with this text."""
    path = folder / "LY-1.yml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(HouseFaults) as caught:
        house_module.load(piece=path, root=folder, asking=True)
    return [str(fault) for fault in caught.value.faults]


def without(key: str) -> str:
    """Return the example without a line."""
    text, line = changed_standard(TEXT, key, "x")
    lines = text.split("\n")
    del lines[line - 1]
    return "\n".join(lines)


# --- two files ---------------------------------------------------------------------------------


def test_facts_are_asked_for_as_house_values_are(house):
    bench = Bench(house)
    assert bench.value("piece.mass") == 186
    assert bench.value("piece.crack_depth").leaf.low == 2
    assert house["wanted.etchant"] == "nital"
    assert house.entry("piece.kind").file == "docs/pieces/LY-014.yml"


def test_a_piece_is_no_part_of_the_edition(tmp_path, house):
    assert load(tmp_path, {"piece.mass": "12 g", "piece.number": "X"}).edition == house.edition
    base = changed_files(tmp_path, {"rinsing.bath": "501 mL"})
    assert house_module.load(base).edition != house.edition


def test_a_house_file_with_a_piece_is_told_once_where_it_belongs(tmp_path):
    path = tmp_path / "ours.yml"
    path.write_text(
        "rinsing:\n  # why\n  bath: 500 mL\npiece:\n  mass: 3 g\n  length: no\n", encoding="utf-8"
    )
    with pytest.raises(HouseFaults) as caught:
        house_module.load(overlay=path, root=tmp_path)
    (fault,) = map(str, caught.value.faults)
    assert fault.startswith(
        "ours.yml:4: piece: is no part of the house standard; write it into a file of its own"
    )
    assert "--piece" in fault


def test_a_piece_file_with_a_house_value_is_told_where_that_belongs(tmp_path):
    (fault,) = faults_of(tmp_path, f"{TEXT}rinsing:\n  # why\n  bath: 500 mL\n")
    assert fault.startswith(f"LY-1.yml:{TEXT.count(chr(10)) + 1}: rinsing: belongs to the house standard")


def test_a_base_without_pieces_beside_it_gets_the_projects_example(tmp_path):
    path = tmp_path / "house-standard.yml"
    path.write_bytes(STANDARD.read_bytes())
    assert house_module.load(path)["piece.number"] == "LY-014"


def test_a_bench_without_the_projects_example_takes_its_own_first_piece(tmp_path, monkeypatch):
    base = changed_files(tmp_path, {"piece.number": "X-2"})
    (tmp_path / "pieces" / PIECE.name).rename(tmp_path / "pieces" / "X-2.yml")
    monkeypatch.setattr(places, "PACKAGE", tmp_path / "elsewhere" / "handbook_calc")
    assert house_module.load(base)["piece.number"] == "X-2"
    (tmp_path / "pieces" / "X-2.yml").unlink()
    with pytest.raises(HouseFaults, match=r"LY-014.yml:1: there is no such piece file"):
        house_module.load(base)


# --- what the bench cannot do ------------------------------------------------------------------

MISFITS = [
    ({"piece.crack_depth": "12 mm"}, "drying.air_dry"),
    ({"piece.area": "900 cm^2"}, "etching.etchant_volume"),
    ({"piece.crack_volume": "40 mL"}, "drying.bath"),
    ({"piece.crack_volume": "0.001 mL"}, "drying.mass_drift"),
]


@pytest.mark.parametrize(("facts", "key"), MISFITS, ids=[key for _, key in MISFITS])
def test_what_the_bench_cannot_do_stops_the_example_and_answers_another_piece(tmp_path, facts, key):
    with pytest.raises(HouseFaults, match=f": {key}: "):
        load(tmp_path, facts, asking=False)
    standard = load(tmp_path, facts)
    assert key in [fault.text.partition(":")[0] for fault in standard.misfits]


@pytest.mark.long
def test_check_notes_what_the_bench_cannot_do(tmp_path, capsys):
    path = changed_piece(tmp_path, {"piece.crack_depth": "12 mm", "piece.number": "LY-77"})
    assert main(["check", "--piece", str(path)]) == 0
    printed = capsys.readouterr().out
    assert "note: this bench cannot do it for LY-77: docs/house-standard.yml:" in printed
    assert "12 mm (piece.crack_depth)" in printed


@pytest.mark.long
def test_check_reads_every_piece_of_the_bench(tmp_path, capsys, monkeypatch):
    docs = tmp_path / "docs"
    docs.mkdir()
    changed_files(docs, {})
    text = changed_standard(TEXT, "piece.mass", "20 kg")[0]
    (docs / "pieces" / "LY-1.yml").write_text(text, encoding="utf-8")
    (docs / "pieces" / "LY-2.yml").write_text("piece:\n  number: 1\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["check"]) == 2
    told = capsys.readouterr().err
    assert (
        f"docs/pieces/LY-1.yml:{row('thickness:')}: piece.thickness: 6 mm does not go with the rest" in told
    )
    assert "docs/pieces/LY-2.yml:1: piece.mass: is missing" in told


@pytest.mark.long
def test_the_command_line_answers_for_the_piece_that_it_is_given(tmp_path, capsys):
    path = changed_piece(tmp_path, {"piece.area": "49 cm^2"})
    assert main(["table", "rinse-series", "--json", "--piece", str(path)]) == 0
    half = capsys.readouterr().out
    assert main(["table", "rinse-series", "--json"]) == 0
    assert capsys.readouterr().out != half


# --- open facts --------------------------------------------------------------------------------


@pytest.mark.parametrize("key", sorted(k for k in house_module.SETTINGS if house_module.is_of_piece(k)))
def test_unknown_is_an_answer_that_says_what_it_costs_or_is_refused(tmp_path, key):
    field = house_module.SETTINGS[key]
    if field.instead_of("unknown") is None:
        if key in ("piece.number",):
            return  # any word is a number
        with pytest.raises(HouseFaults, match=f": {key}: unknown "):
            load(tmp_path, {key: "unknown"})
        return
    entry = load(tmp_path, {key: "unknown"}).entry(key)
    assert entry.instead is not None
    assert entry.instead.costs.endswith(".")
    assert entry.grade == "Guess"
    assert entry.show()


@pytest.mark.parametrize("key", ["piece.area", "piece.crack_volume", "piece.return_days", "piece.treatments"])
def test_what_the_catalogue_calls_optional_may_be_left_out(tmp_path, key):
    path = tmp_path / "LY-1.yml"
    path.write_text(without(key), encoding="utf-8")
    assert house_module.load(piece=path, asking=True).entry(key).instead is not None


@pytest.mark.parametrize("key", ["piece.mass", "piece.beads", "piece.kind", "wanted.box", "wanted.etchant"])
def test_another_fact_that_is_missing_is_told_with_what_is_allowed(tmp_path, key):
    (fault,) = faults_of(tmp_path, without(key))
    assert fault.startswith(f"LY-1.yml:1: {key}: is missing (")
    assert "allowed is" in fault


def test_the_surface_follows_from_shape_and_sides(tmp_path):
    """A ball of 6 cm radius, smooth: 4 pi r^2 by hand; half of it: 3 pi r^2; a slab: its six faces."""
    sides = {f"piece.{side}": "120 mm" for side in ("length", "width", "thickness")}
    ball = {"piece.shape": "whole", "piece.area": "unknown", "piece.mass": "7 kg"} | sides
    smooth = changed_piece(tmp_path, ball)
    over = tmp_path / "ours.yml"
    over.write_text("specimen:\n  # why\n  roughness: 1\n  # why\n  outline: 1\n", encoding="utf-8")

    def area(facts):
        path = changed_piece(tmp_path, ball | facts)
        return house_module.load(overlay=over, piece=path, asking=True)["piece.area"]

    assert smooth.is_file()
    assert math.isclose(area({}), 4 * math.pi * 36, rel_tol=1e-9)
    assert math.isclose(
        area({"piece.shape": "end piece", "piece.thickness": "60 mm"}), 3 * math.pi * 36, rel_tol=1e-9
    )
    assert math.isclose(
        area({"piece.shape": "slice", "piece.thickness": "6 mm"}), 288 + 4 * 12 * 0.6, rel_tol=1e-9
    )


def test_a_surface_from_a_guessed_outline_has_a_span(tmp_path):
    entry = load(tmp_path, {"piece.area": "unknown"}).entry("piece.area")
    assert entry.span is not None
    low, high = entry.span
    assert low < entry.value < high
    assert low < 98 < high  # what squared paper gave


def test_mass_and_sides_answer_for_each_other(tmp_path):
    whole = {"piece.shape": "whole", "piece.area": "unknown"}
    mass = load(tmp_path, whole | {"piece.mass": "unknown"})["piece.mass"]
    back = load(tmp_path, whole | {"piece.mass": f"{mass} g", "piece.width": "unknown"})
    assert math.isclose(back["piece.width"], 46, rel_tol=1e-9)
    (fault,) = faults_of(
        tmp_path,
        changed_standard(changed_standard(TEXT, "piece.mass", "unknown")[0], "piece.width", "unknown")[0],
    )
    assert "piece.mass: is left open, and what is computed for it needs all three sides" in fault
    everything = whole | dict.fromkeys(("piece.length", "piece.width", "piece.thickness"), "unknown")
    cube = load(tmp_path, everything)
    assert math.isclose(cube["piece.length"] ** 3 / 1000 * 0.5 * cube["abrasives.density"], 186, rel_tol=1e-9)


def test_no_crack_seen_is_a_tenth_of_a_millimetre(tmp_path):
    for text in ("none", "0 mm"):
        assert load(tmp_path, {"piece.crack_depth": text})["piece.crack_depth"] == 0.1


def test_a_wished_coating_must_be_one_of_the_house(tmp_path):
    with pytest.raises(
        HouseFaults, match=r"wanted.coating: shellac is no coating of this house; allowed is none, "
    ):
        load(tmp_path, {"wanted.coating": "shellac"})


def test_a_slip_of_units_is_no_piece(tmp_path):
    """0.42 oz, of 1.1 x 0.9 inch and 2 mm, is more than fits: the job's second scenario."""
    facts = {"piece.mass": "0.42 oz_avdp", "piece.length": "1.1 inch", "piece.width": "0.9 inch",
             "piece.thickness": "2 mm", "piece.area": "unknown", "piece.crack_volume": "unknown"}  # fmt: skip
    standard = load(tmp_path, facts)
    with pytest.raises(HouseFaults, match=r"piece.thickness: 2 mm does not go with the rest: .*1\.1"):
        check_facts(standard)


@given(ounces=st.floats(0.1, 900))
@example(ounces=6.5)
@examples(15)
@pytest.mark.long
def test_ounces_give_what_grams_give(tmp_path_factory, ounces):
    folder = tmp_path_factory.mktemp("ounces")
    keys = ("piece.mass", "piece.area", "piece.crack_volume")
    open_facts = {"piece.area": "unknown", "piece.crack_volume": "unknown"}
    imperial = load(folder, open_facts | {"piece.mass": f"{ounces!r} oz_avdp", "piece.length": "3.5 inch"})
    metric = load(
        folder, open_facts | {"piece.mass": f"{ounces * 28.349523125!r} g", "piece.length": "88.9 mm"}
    )
    for key in keys:
        assert math.isclose(imperial[key], metric[key], rel_tol=1e-12)


# --- hostile files -----------------------------------------------------------------------------


def row(start: str) -> int:
    """Return the line of the example that begins with a key."""
    return next(n for n, line in enumerate(TEXT.split("\n"), 1) if line.strip().startswith(start))


BOMB = "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\npiece: *c\n"
HOSTILE = [
    ("<script>alert(1)</script>\n", 1, "is no section of 'key: value' lines"),
    (TEXT.replace("number: LY-014", "number: LY\u202e410"), row("number:"), "U+202E"),
    (TEXT.replace("mass: 186 g", "mass: 186 g\n  mass: 187 g"), row("mass:") + 1, "is set twice"),
    (TEXT.replace("mass: 186 g", "mass: [186 g]"), row("mass:"), "is a list where one value is wanted"),
    (TEXT.replace("mass: 186 g", "mass: {g: 186}"), row("mass:"), "is a section where one value is wanted"),
    (TEXT.replace("mass: 186 g", "mass: 1e400 g"), row("mass:"), "piece.mass: 1e400 g"),
    (TEXT.replace("mass: 186 g", "mass: nan g"), row("mass:"), "piece.mass: nan g"),
    (TEXT.replace("mass: 186 g", "mass: -186 g"), row("mass:"), "is out of range"),
    (TEXT.replace("mass: 186 g", "mass: 186 mm"), row("mass:"), "piece.mass: 186 mm"),
    (
        TEXT.replace("mass: 186 g", "mass: !!python/object/apply:os.system [id]"),
        row("mass:"),
        "holds the tag",
    ),
    (TEXT.replace("kind: iron", "kind: cheese"), row("kind:"), "is not a known kind of piece"),
    (TEXT.replace("beads: no", "beads: maybe"), row("beads:"), "is neither; allowed is yes or no"),
    (TEXT.replace("start: 2026-12-01", "start: 2026-02-30"), row("start:"), "is no day of the calendar"),
    (TEXT.replace("glued: no", "gleud: no"), row("glued:"), "piece.gleud: unknown key"),
    (BOMB, 1, "holds a mark with '&' or '*'"),
    ("piece: " + "[" * 4000 + "]" * 4000, 1, "nest"),
    ("piece: " + "[" * 40 + "]" * 40, 1, "is nested too deep"),
    ("piece: {" * 2000, 1, "nest"),
    ("piece:\n  number: [", 3, "not readable as YAML"),
    (TEXT + "---\n" + TEXT, TEXT.count("\n") + 1, "not readable as YAML"),
    (b"piece:\n  number: \xff\n", 2, "is not UTF-8 text"),
    ("# " + "x" * 70_000, 1, "allowed is a piece's file of at most 65536"),
    ("", 1, "holds no value"),
    ("\0", 1, "not readable as YAML"),
]


@pytest.mark.parametrize(("text", "line", "says"), HOSTILE, ids=[says[:30] for *_, says in HOSTILE])
@pytest.mark.long
def test_a_hostile_file_is_refused_whole_with_line_and_reason(tmp_path, text, line, says, capsys):
    faults = faults_of(tmp_path, text)
    assert [fault for fault in faults if fault.startswith(f"LY-1.yml:{line}:") and says in fault], faults
    assert max(map(len, faults)) < 600
    assert main(["check", "--piece", str(tmp_path / "LY-1.yml")]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_file_that_is_not_there_or_no_file(tmp_path):
    for path in (tmp_path / "none.yml", tmp_path):
        with pytest.raises(HouseFaults, match=r"there is no such piece file|name a file of facts of a piece"):
            house_module.load(piece=path, root=tmp_path)
