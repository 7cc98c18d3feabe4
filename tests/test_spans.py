"""Spans through calculations, tables and pages: chains, shared inputs, and what prints without an interval."""

import math
import re

import pytest
from support import changed_piece

from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.directives import find
from handbook_calc.engine.house import load
from handbook_calc.engine.interval import propagate
from handbook_calc.engine.known import Derived, HouseNumber, Known, scaled
from handbook_calc.engine.render import Renderer
from handbook_calc.engine.tables import TABLES, Banner, Column, Span, capped, shown

# Columns of figures that rest on spans and print none, and why.
SLOW = ("rinse-series", "soak-series")  # one span alone is followed, because a sequence takes milliseconds
WITHOUT = {
    "bath-schedule": "the days and readings are those of one plan, the one for the best guesses; what is spread "
    "is the share that is out by its days",
}


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


def tables_with_spans(house):
    for table in TABLES.values():
        bench = Recording(house)
        sheet = table.make(bench)
        if bench.calls:
            yield table.id, bench.calls, [cell for row in sheet.rows for cell in row]


def test_no_table_loses_the_spans_on_its_way(house):
    """Each run on a span must reach a cell as it is, so that the cell prints an interval."""
    lost = set()
    for name, calls, cells in tables_with_spans(house):
        used = {run for cell in cells if hasattr(cell, "call") for run in behind(cell.call)}
        if set(calls) - used:
            lost.add(name)
    assert lost <= {
        *WITHOUT,
        "thickness-after",
        *SLOW,
    }  # its depth goes through a range that some rows are out of
    assert set(WITHOUT) <= lost


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


def test_another_unit_keeps_the_origin(house):
    bench = Bench(house)
    time = bench("extraction-time", depth=4.0, fraction=95.0)
    hours = scaled(time, 24.0)
    assert hours == time * 24
    assert hours.interval.high == pytest.approx(time.interval.high * 24)
    assert type(time * 24) is float
    assert scaled(None, 24.0) is None
    assert capped(time, 5.0).high == 5.0


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
