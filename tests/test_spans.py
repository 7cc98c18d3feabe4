"""Spans through calculations, tables and pages: chains, shared inputs, and what prints without an interval."""

import dataclasses
import math
import operator
import re

import pytest
from support import changed_piece

from handbook_calc.engine import forms, render
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.directives import find
from handbook_calc.engine.fields import Quantity
from handbook_calc.engine.house import load
from handbook_calc.engine.interval import Leaf, propagate
from handbook_calc.engine.known import Derived, HouseNumber, Judged, Known, combined, judged, scaled
from handbook_calc.engine.render import Renderer
from handbook_calc.engine.tables import (
    TABLES,
    Banner,
    Column,
    Mark,
    Sheet,
    Span,
    Table,
    against,
    capped,
    figure,
    shown,
)

# Tables with a run on spans that reaches no cell as it is, and why.
WITHOUT = {
    "bath-schedule": "its days are those of one plan, the one for the best guesses; share and reading on these "
    "days are spread",
    "thickness-after": "its depth is out of range for the thinnest slices",
}
# Ranges of other meaning, filled in by hand.
BY_HAND = ("hygrometer-salts",)
# Marks on what no span moves: kinds, words of a plan, a choice beside the house's.
BARE = ("current-settings", "strip-ranges", "wire-drops", "grit-progression", "waste-containers")


class Recording(Bench):
    """Remembers every run in which an input had a span."""

    def __init__(self, standard) -> None:
        super().__init__(standard)
        self.calls = []

    def _run(self, calculation, values):
        results, call = super()._run(calculation, values)
        self.calls += [call] if call else []
        return results, call


def behind(call):
    """Yield a run and those that it was computed from."""
    yield call
    for source in call.sources.values():
        if hasattr(source, "call"):
            yield from behind(source.call)


def origins(cell):
    """Yield the runs that a cell comes from, also those behind a mark."""
    call = getattr(cell.of if isinstance(cell, Mark) else cell, "call", None)
    if call is not None:
        yield from behind(call)


def tables_with_spans(house):
    for table in TABLES.values():
        bench = Recording(house)
        sheet = table.make(bench)
        if bench.calls:
            yield table.id, bench.calls, [cell for row in sheet.rows for cell in row]


@pytest.mark.long
def test_no_table_loses_the_spans_on_its_way(house):
    """Each run on a span must reach a cell as it is, so that the cell prints an interval."""
    lost = set()
    for name, calls, cells in tables_with_spans(house):
        used = {run for cell in cells for run in origins(cell)}
        if set(calls) - used:
            lost.add(name)
    assert lost <= set(WITHOUT)


@pytest.mark.long
def test_tables_print_their_intervals(house):
    for name, _, cells in tables_with_spans(house):
        filled = TABLES[name].compute(house)
        spans = [cell for row in filled.rows if not isinstance(row[0], Banner) for cell in row]
        spans = [cell for cell in spans if isinstance(cell, Span)]
        if any(hasattr(cell, "call") for cell in cells):
            assert spans, name
        for cell in spans:
            assert cell.low <= cell.high
        low = [i for i, line in enumerate(filled.csv().splitlines()[0].split(",")) if " low" in line]
        assert bool(low) == bool(spans)


def test_a_chain_is_propagated_as_one_formula(house):
    """drag-out, then rinse-baths: the same as the two composed by hand."""
    bench = Bench(house)
    carried = bench("drag-out", area=98.0, crack_volume=0.0)
    baths = bench("rinse-baths", drag_out=carried, limit=0.001, start=20.0, bath=500.0)
    leaf = house.entry("rinsing.film").leaf

    def composed(values):
        film = CATALOGUE["drag-out"](area=98.0, film=values[leaf.name], crack_volume=0.0)
        return {"baths": CATALOGUE["rinse-baths"](start=20.0, limit=0.001, drag_out=film, bath=500.0)}

    by_hand = propagate(composed, [leaf], {"baths": int(baths)}).intervals["baths"]
    assert (baths.interval.low, baths.interval.high) == (by_hand.low, by_hand.high)
    assert by_hand.low < by_hand.high


def test_an_input_that_enters_twice_is_one_and_the_same(house):
    """The time for a depth, and the share out after it: the depth cancels, whatever it is."""
    bench = Bench(house)
    depth = bench.value("piece.crack_depth")
    time = bench("extraction-time", depth=depth, fraction=95.0, diffusivity=1e-11)
    out = bench("extracted-fraction", depth=depth, time=time, diffusivity=1e-11)
    share = out["share"] if isinstance(out, dict) else out
    assert time.interval.low == pytest.approx(time / 4, rel=1e-6)
    assert share.interval.low == pytest.approx(95, rel=1e-4)
    assert share.interval.high == pytest.approx(95, rel=1e-4)


def spanned_number(value, low, high, name="x"):
    return Known(value, Leaf(name, value, low, high), "1")


def test_what_a_function_makes_of_numbers_remembers_them():
    """The difference of a number and itself is nothing; of two it has the ends of the theory."""
    first, other = spanned_number(5.0, 4.0, 6.0), spanned_number(5.0, 4.0, 6.0, "y")
    nothing = combined(operator.sub, first, first)
    assert (nothing.interval.low, nothing.interval.high) == (0, 0)
    ratio = combined(operator.truediv, first, other)
    # the logarithms of independent factors add by their squares
    both = math.hypot(math.log(6 / 5), math.log(5 / 4))
    assert ratio.interval.high == pytest.approx(math.exp(both), rel=0.01)
    assert set(ratio.interval.dominant) == {"x", "y"}
    assert type(combined(operator.add, 1.0, 2.0)) is float


def test_combining_results_is_the_same_as_one_formula(house):
    """Twice a drag-out is a drag-out of twice the area."""
    bench = Bench(house)
    once = bench("drag-out", area=50.0, crack_volume=0.0)
    twice = bench("drag-out", area=100.0, crack_volume=0.0)
    added = combined(operator.add, once, once)
    assert added == pytest.approx(twice)
    assert added.interval.low == pytest.approx(twice.interval.low)
    assert added.interval.high == pytest.approx(twice.interval.high)


def test_a_word_judged_from_numbers_says_where_another_would_stand():
    word = judged(lambda x: "go" if x <= 10 else "stop", spanned_number(8.0, 6.0, 13.0, "house.crack_depth"))
    assert str(word) == "go"
    assert word.flips == ("go, but not if crack depth is more than 10 (then stop)",)
    assert judged(lambda x: "go", spanned_number(8.0, 6.0, 9.0)).flips == ()
    assert type(judged(lambda x: "go", 8.0)) is str


def test_a_mark_that_flips_says_so_in_every_form(house):
    """In text, HTML, CSV and JSON."""
    sheet = Sheet(
        [Column("Case"), Column("Number", "mm"), Column("Here")],
        [["wide", n := spanned_number(8.0, 6.0, 13.0, "piece.crack_depth"), against(10.0, n)],
         ["exact", 8.0, against(10.0, 8.0)]],
    )  # fmt: skip
    filled = Table("x", "t", "q", lambda bench: sheet, "rinsing").compute(None)
    sentence = "at or below the limit, but not if crack depth is more than 10 (then above the limit)"
    assert "at or below the limit, but" in filled.text()
    assert f"row wide: {sentence}" in filled.text()
    assert filled.csv().splitlines()[0] == "Case,Number [mm],Number low [mm],Number high [mm],Here,Here but"
    assert filled.csv().splitlines()[2] == "exact,8,,,at or below the limit,"
    assert sentence in filled.csv()
    assert filled.plain()["rows"][0][2] == {"value": "at or below the limit", "flips": [sentence]}
    assert filled.plain()["rows"][1][2] == "at or below the limit"
    html = render._table_html(filled, Renderer(house), {})
    assert "at or below the limit, but<sup>a</sup>" in html
    assert f"<sup>a</sup> {sentence}" in html


@pytest.mark.parametrize(("mark", "letter"), [(1, "a"), (26, "z"), (27, "aa"), (28, "ab"), (53, "ba")])
def test_notes_below_a_table_have_letters(mark, letter):
    assert render._letter(mark) == letter


@pytest.mark.long
def test_json_of_a_table_names_what_dominates(house):
    for name, *_ in tables_with_spans(house):
        for row in TABLES[name].compute(house).plain()["rows"]:
            for cell in row:
                if isinstance(cell, dict) and "low" in cell and name not in BY_HAND:
                    assert 1 <= len(cell["dominant"]) <= 2, (name, cell)


@pytest.mark.long
def test_every_mark_on_a_verdict_or_a_limit_remembers_it(wide_house):
    """With a span on every house value: a mark with a run behind it must not be a bare word."""
    for name, _, cells in tables_with_spans(wide_house):
        marks = [cell for cell in cells if isinstance(cell, Mark)]
        assert not marks or any(isinstance(mark.of, Judged) for mark in marks) or name in BARE, name


@pytest.fixture(scope="module")
def wide_house():
    standard = load()
    for key, entry in standard.entries.items():
        declared = entry.field
        if not isinstance(declared, Quantity) or declared.limit or not declared.spans or entry.value is None:
            continue
        low, high = sorted((entry.value * 0.98, entry.value * 1.02))
        if declared.low <= low < high <= declared.high and entry.span is None:
            standard.entries[key] = dataclasses.replace(entry, span=(low, high))
    return standard


def test_figures_in_notes_print_their_interval():
    assert figure(spanned_number(4.0, 2.0, 8.0), "mm") == "4.0\u00a0mm (2.0 to 8.0)"
    assert figure(4.0, "mm") == "4.0\u00a0mm"


def test_cells_of_a_listing_have_their_intervals(house):
    """The last row is the result itself."""
    answer = Bench(house).ask("soak-sequence", depth="4 mm (2 to 8)", times="12 h; 12 h; 12 h")
    plain = answer.plain()["results"]
    assert len(plain["baths"]["intervals"]) == len(plain["baths"]["value"]) == 3
    assert plain["baths"]["intervals"][2]["left"] == {
        key: plain["left"][key] for key in ("low", "high", "dominant")
    }
    assert "bath" not in plain["baths"]["intervals"][0]
    assert answer.show("left").partition("\u00a0")[0] in answer.show("baths")
    assert answer.notes("baths") == ["5 to 95 %, most of it from depth and diffusivity"]
    html = forms._result_html(answer.calculation.result("baths"), answer, answer.given())
    assert re.search(r"<td>15 \([\d.]+ to 58\)</td>", html)


def test_another_unit_keeps_the_origin(house):
    bench = Bench(house)
    time = bench("extraction-time", depth=4.0, fraction=95.0)
    hours = scaled(time, 24.0)
    assert hours == time * 24
    assert isinstance(hours, Derived)
    assert hours.interval is not None
    assert hours.interval.high == pytest.approx(time.interval.high * 24)
    assert type(time * 24) is float
    assert scaled(None, 24.0) is None
    assert getattr(capped(time, 5.0), "high", None) == 5.0


def test_what_varies_along_an_axis_has_no_span(house):
    filled = TABLES["soak-times"].compute(house)
    alone = Bench(house)("soak-time", depth=4.0, temperature=20.0)
    alone = alone["time"] if isinstance(alone, dict) else alone
    (row,) = [row for row in filled.rows if row[0] == 4]
    assert row[2] == Span(alone.interval.low, float(alone), alone.interval.high)


def test_a_copy_is_a_plain_number(house):
    import copy

    number = Bench(house).value("piece.crack_depth")
    assert isinstance(number, HouseNumber)
    assert type(copy.deepcopy(number)) is float
    assert number.ends == (2, 8)


def test_formulas_see_plain_floats(house):
    bench = Recording(house)
    bench("soak-time", depth=bench.value("piece.crack_depth"))
    assert all(type(value) is not Known for value in bench.calls[0].values.values())
    assert {type(value) for value in bench.calls[0].values.values()} <= {float, int, str, bool, type(None)}


@pytest.mark.parametrize("name", ["soak-time", "cure-window", "drag-out"])
def test_a_house_without_spans_gives_what_a_house_with_spans_gives_at_its_best_values(house, name, tmp_path):
    from handbook_calc.engine import examples

    calculation = CATALOGUE[name]
    answer = examples.example(calculation, Bench(house))
    assert answer.call
    plain = calculation.by_name(calculation(**answer.inputs))
    assert answer.results == plain


# --- as printed ---------------------------------------------------------------------------------


def test_a_sentence_prints_the_interval_and_says_what_it_comes_from(house):
    (asked,) = find('It takes {{ value extraction-time depth="4 mm" fraction=electrolysis.extract }}.')
    html = Renderer(house).html_of(asked)
    text = re.sub("<[^>]*>", "", html).replace("\u00a0", " ")
    assert re.fullmatch(r"[\d.]+ \w+ \([\d.]+ to [\d.]+\)", text)
    assert "5 to 95 %, most of it from diffusivity" in html


def test_a_literal_with_a_span_in_a_sentence(house):
    (asked,) = find('{{ value drag-out area="100 cm^2 (80 to 120)" film="200 mL/m^2" crack_volume="0 mL" }}')
    text = re.sub("<[^>]*>", "", Renderer(house).html_of(asked)).replace("\u00a0", " ")
    assert text.endswith("2.00 mL (1.60 to 2.40)")


def test_a_house_value_with_a_span_for_the_unit_switch(house):
    (asked,) = find("{{ value piece.crack_depth }}")
    html = Renderer(house).html_of(asked)
    assert 'data-q="4 2 8"' in html
    assert "4\u00a0mm (2 to 8)" in html


def test_a_verdict_that_flips_says_where(house):
    """The house allows baths up to 20 degC."""
    given = {"depth": "4 mm", "diffusivity": "300 um^2/s", "fraction": "99 %"}
    answer = Bench(house).ask("soak-time", temperature="18 degC (15 to 25)", **given)
    (flip,) = answer.notes("verdict")
    assert flip == "go, but not if temperature is more than 20\u00a0°C (then stop)"
    assert Bench(house).ask("soak-time", temperature="18 degC (15 to 19)", **given).notes("verdict") == []


def test_a_refused_share_is_told(house):
    """A bath no larger than what the piece brings is refused: above the 90th per cent of what it may bring."""
    given = {"start": "20 mg/L", "limit": "0.05 mg/L", "bath": "500 mL"}
    answer = Bench(house).ask("rinse-baths", drag_out="250 mL (100 to 608.8)", **given)
    assert answer.spread.refused == pytest.approx(0.10, abs=0.003)
    assert answer.refused_share().startswith("10 % of what the inputs may be has no answer: a bath of 500")
    assert answer.plain()["refused"]["share"] == answer.spread.refused


def test_cells_of_counts_and_of_narrow_spans():
    assert shown(Span(2, 3, 5), Column("x")) == "3 (2 to 5)"
    assert shown(Span(3.0, 3.0, 3.0), Column("x", "mm", 3)) == "3.00"
    assert shown(Span(1.9, 20.0, 160.0), Column("x", "d", 2)) == "20 (2 to 160)"


def test_derived_numbers_are_numbers(house):
    time = Bench(house)("extraction-time", depth=4.0, fraction=95.0)
    assert isinstance(time, Derived)
    assert math.isclose(time, float(time))
    assert f"{time:.3g}" == f"{float(time):.3g}"


def test_the_span_of_a_house_is_read_by_those_who_lay_their_own_values_over(tmp_path):
    bench = Bench(load(piece=changed_piece(tmp_path, {"piece.crack_depth": "5 mm"})))
    assert bench.value("piece.crack_depth").leaf is None
