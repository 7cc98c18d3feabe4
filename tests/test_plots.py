"""Plots: known points on their lines, bytes that stay, refusals in their place, and the writer's ticks."""

import math
import re
import time
from dataclasses import replace
from html import escape
from xml.etree import ElementTree

import pytest
from handbook_site import preparation
from hypothesis import assume, example, given
from hypothesis import strategies as st
from support import ROOT, changed_house, examples

from handbook_calc.engine import chart
from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.chart import Chart, Limit, Line, Scale, Zone
from handbook_calc.engine.data import rows
from handbook_calc.engine.directives import find
from handbook_calc.engine.faults import CalculationFault
from handbook_calc.engine.numerals import round_step
from handbook_calc.engine.plot import PLOTS, spaced, trace
from handbook_calc.engine.render import PageFault, Renderer
from handbook_calc.engine.tables import TABLES, Refused


def made(name, house):
    """Return the chart of a plot, and its lines as dicts of points by label."""
    found = PLOTS[name].make(Bench(house))
    return found, {line.label: dict(line.drawn()) for line in found.lines}


def changed(tmp_path, *changes):
    """Return the house standard with some values changed."""
    return changed_house(tmp_path, dict(changes))


@pytest.mark.parametrize("name", PLOTS)
def test_a_plot_is_whole(name, house):
    drawn = PLOTS[name].compute(house)
    assert drawn.refused == ""
    assert drawn.table in TABLES
    assert drawn.values
    assert drawn.sources
    assert f'aria-labelledby="plot-{name}-title plot-{name}-desc"' in drawn.svg
    assert (
        f'<title id="plot-{name}-title">{escape(drawn.title)}</title><desc id="plot-{name}-desc">'
        in drawn.svg
    )
    assert len(drawn.words) > 60
    assert not re.search(r"[ ML](?:nan|-?inf)", drawn.svg)
    assert " style=" not in drawn.svg
    for x, y in texts_at(drawn.svg):
        assert 0 <= x <= chart.WIDTH
        assert 8 <= y <= chart.HEIGHT
    paints = set(re.findall(r' (?:fill|stroke)="([^"]*)"', drawn.svg))
    assert {paint for paint in paints if not paint.startswith("url(#plot-")} <= {"none", "currentColor"}


def texts_at(svg):
    """Return where the texts of a drawing stand."""
    return [
        (float(node.attrib["x"]), float(node.attrib["y"]))
        for node in ElementTree.fromstring(svg).iter("text")
    ]


def test_the_whole_set_is_quick_and_the_same_to_the_byte(house):
    # Worked out anew each time: what a house keeps of earlier intervals would hide the work.
    start = time.process_time()
    first = [plot.compute(replace_spreads(house)).svg for plot in PLOTS.values()]
    took = time.process_time() - start
    assert first == [plot.compute(replace_spreads(house)).svg for plot in PLOTS.values()]
    assert took < 1.0, "0.15 s on a quiet machine; the bound is for a busy one"


def replace_spreads(house):
    return house_module.House(house.entries, house.files)


# --- known points ------------------------------------------------------------------------------


def test_the_extraction_line_reaches_the_share_when_the_table_says(house):
    _, lines = made("extraction", house)
    share = house["electrolysis.extract"]
    bench = Bench(house)
    for label, points in lines.items():
        days = float(bench("extraction-time", fraction=share, depth=float(label.split()[0])))
        if days > max(points):
            assert max(points.values()) < share
            continue
        after = min(day for day, out in points.items() if out >= share)
        before = max(day for day, out in points.items() if out < share)
        assert before < days <= after


def test_the_deeper_the_crack_the_later(house):
    _, lines = made("extraction", house)
    assert list(lines) == ["2 mm", "4 mm", "8 mm"]
    shallow, middle, deep = lines.values()
    for day in list(shallow)[1:]:
        assert shallow[day] >= middle[day] > deep[day]


def test_drying_goes_with_the_square_of_the_depth(house):
    """Crank, The Mathematics of Diffusion: times of one shape go as the square of its length."""
    _, lines = made("drying", house)
    for points in lines.values():
        depths = list(points)
        ratio = (depths[-1] / depths[0]) ** 2
        assert points[depths[-1]] / points[depths[0]] == pytest.approx(ratio, rel=1e-6)


def test_the_gel_line_passes_through_the_published_points(house):
    """Published uptakes at 25 degC, `data/gel_isotherm.csv`; saturated vapour there has 3169.9 Pa (IAPWS)."""
    _, lines = made("gel", house)
    line = lines["gel"]
    tried = 0
    for row in rows("gel_isotherm"):
        humidity = 100 * float(row["pressure"]) / 3169.9
        if not 2 < humidity < 78:
            continue
        before, after = max(h for h in line if h <= humidity), min(h for h in line if h > humidity)
        share = (humidity - before) / (after - before)
        drawn = line[before] + share * (line[after] - line[before])
        assert drawn == pytest.approx(float(row["water"]) / 10, rel=0.03)
        tried += 1
    assert tried >= 8


def test_the_ladder_holds_the_printed_sizes(house):
    """Median grain sizes of the P scale, `data/grits.csv`."""
    found, lines = made("grit-ladder", house)
    sizes = {row["grit"]: float(row["size"]) for row in rows("grits")}
    for i, name in enumerate(found.x.names):
        assert lines["grain size"][i] == pytest.approx(sizes[name])


def test_cure_at_the_base_temperature_is_what_the_house_wrote(house):
    kind = house["coating.kind"]
    base = house[f"coating.kinds.{kind}.base_temperature"]
    _, lines = made("cure", house)
    points = lines["full cure"]
    below, above = max(t for t in points if t <= base), min(t for t in points if t >= base)
    assert points[above] <= house[f"coating.kinds.{kind}.full_cure"] <= points[below]


def test_half_the_solids_ask_for_twice_the_wet_film(house):
    found, lines = made("film", house)
    for line in found.lines:
        share = float(line.label.split()[0])
        for dry, wet in line.drawn():
            assert wet == pytest.approx(dry * 100 / share * (1 + house["coating.thinner"] / 100))
    assert len(lines) >= 3


@pytest.mark.parametrize(("humidity", "dew_point"), [(50.0, 10.2), (60.0, 12.9), (70.0, 15.3)])
def test_the_dew_point_line_is_that_of_the_tables(house, humidity, dew_point):
    """Dew points at 21 degC as printed in psychrometric tables, to their tenth."""
    _, lines = made("dew-point-field", house)
    assert lines["dew point"][humidity] == pytest.approx(dew_point, abs=0.11)


def test_the_field_says_what_the_check_says(house):
    found, _ = made("dew-point-field", house)
    bench = Bench(house)
    air = house["coating.room_temperature"]
    seen = set()
    for zone in found.zones:
        for humidity, low, high in zone.columns[1:-1:3]:
            for share in (0.1, 0.5, 0.9):
                at = low + share * (high - low)
                said = bench("spray-check", air_temperature=air, humidity=humidity, surface_temperature=at)
                assert said["verdict"] == zone.word
                seen.add(zone.word)
    assert seen == {"go", "wait", "stop"}


# --- what depends on the house -----------------------------------------------------------------


def test_a_plot_follows_the_house(tmp_path, house):
    before = PLOTS["extraction"].compute(house)
    after = PLOTS["extraction"].compute(changed(tmp_path, ("electrolysis.extract", "90 %")))
    assert "house share, 95 %" in before.svg
    assert "house share, 90 %" in after.svg
    assert "electrolysis.extract" in before.values
    assert before.values == after.values


def test_a_plot_that_the_house_gives_no_answer_for_says_so_in_its_place(monkeypatch, house):
    def too_hot(bench):
        kind = bench.value("coating.kind")
        points = trace(
            [40.0, 50.0], lambda t: bench("cure-window", coating=kind, temperature=t, humidity=50.0)
        )
        return Chart(Scale("Air", "degC"), Scale("Time", "h"), [Line("touch dry", points)])

    monkeypatch.setitem(PLOTS, "cure", replace(PLOTS["cure"], make=too_hot))
    drawn = PLOTS["cure"].compute(house)
    assert drawn.svg == ""
    assert "house values read last: coating." in drawn.refused
    assert drawn.places_refused() == [drawn.refused]
    renderer = Renderer(house)
    html = renderer.html_of(find("{{ plot cure }}")[0])
    assert "Nothing drawn for these house values: " in html
    assert "<svg" not in html
    assert any(told.startswith("plot cure: ") for told in renderer.refused)


def test_a_plot_that_cannot_be_computed_is_told_where_it_is_filled(monkeypatch, house):
    def broken(bench):
        return bench("no-such-calculation")

    monkeypatch.setitem(PLOTS, "cure", replace(PLOTS["cure"], make=broken))
    renderer = Renderer(house)
    asked = find("{{ plot cure }}")
    renderer.read_page("page.md", asked)
    with pytest.raises(CalculationFault, match="plot 'cure' cannot be computed: no calculation"):
        renderer.html_of(asked[0])


def test_a_build_draws_the_plots_that_pages_ask_for_and_no_other(monkeypatch, house):
    def broken(bench):
        raise CalculationFault("not to be drawn")

    for name in PLOTS.keys() - {"cure"}:
        monkeypatch.setitem(PLOTS, name, replace(PLOTS[name], make=broken))
    pages = [("docs/page.md", "page.md", 0, find("{{ plot cure }}"))]
    assert preparation.computed_faults(Renderer(house), ROOT, pages) == []
    pages.append(("docs/other.md", "other.md", 0, find("{{ plot gel }}")))
    (told,) = preparation.computed_faults(Renderer(house), ROOT, pages)
    assert "plot 'gel' cannot be computed: not to be drawn" in told


def test_a_line_is_broken_where_there_is_no_answer():
    points = [(0.0, 1.0), (1.0, Refused("too cold", "refused")), (2.0, 3.0), (3.0, 4.0)]
    drawn = Chart(Scale("x"), Scale("y"), [Line("a", points)]).svg("t", "T")
    (way,) = re.findall(r'<path d="(M[^"]*)" fill="none" stroke="currentColor" stroke-width="2"', drawn)
    assert way.count("M") == 2


def test_reasons_of_gaps_are_printed_once(house):
    def refuse(x):
        return Refused("too damp", "refused") if x > 2 else x

    found = Chart(Scale("x", "h"), Scale("y"), [Line("a", trace(spaced(0, 4, 4), refuse))])
    plot = replace(PLOTS["gel"], make=lambda bench: found, notes=())
    assert plot.compute(house).notes == ("No line at some points from 3\u00a0h to 4\u00a0h: too damp",)


def test_a_page_asks_for_plots_by_name(house):
    renderer = Renderer(house)
    (asked,) = find("{{ plot gel }}")
    html = renderer.html_of(asked)
    assert html.startswith('<figure class="hb-plot" id="plot-gel">')
    assert TABLES["gel-isotherm"].title in html
    renderer.note(asked, "tables/storage.md")
    assert renderer.usage.value_pages["storage.limit_active"] == {"tables/storage.md": None}
    with pytest.raises(PageFault, match="no plot 'gle'; did you mean 'gel'"):
        renderer.html_of(find("{{ plot gle }}")[0])


# --- the writer --------------------------------------------------------------------------------


def test_points_stand_where_they_belong():
    svg = Chart(
        Scale("x", low=0, high=10), Scale("y", low=0, high=100), [Line("a", [(0, 0), (10, 100)])]
    ).svg("t", "T")
    right = chart.WIDTH - max(14.0, 10 + chart.WIDE)
    foot = chart.HEIGHT - chart.BOTTOM
    assert f'd="M{chart.LEFT} {foot}L{right:.1f} {chart.TOP}"' in svg


def test_limits_bands_and_zones_are_told_by_more_than_colour(house):
    svg = PLOTS["dew-point-field"].compute(house).svg
    for word in ("go", "wait", "stop"):
        assert f">{word}</text>" in svg
    assert 'fill="url(#plot-dew-point-field-stop)"' in svg
    assert 'fill="url(#plot-dew-point-field-wait)"' in svg
    dashes = re.findall(
        r'stroke-width="2"( stroke-dasharray="[^"]*")?/>', PLOTS["extraction"].compute(house).svg
    )
    assert len(set(dashes)) == 3
    assert "fill-opacity" in PLOTS["extraction"].compute(house).svg


@given(low=st.floats(-1e4, 1e4), span=st.floats(1e-3, 1e5))
@examples(200)
def test_steps_are_one_two_or_five(low, span):
    high = low + span
    assume(high > low)
    step = round_step(high - low, chart.MOST_TICKS)
    leading = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(leading - m) for m in (1, 2, 5, 10)) < 1e-6
    ticks = chart.rounds(low, high)
    assert 2 <= len(ticks) <= chart.MOST_TICKS + 1
    assert all(low - 1e-6 * span <= tick <= high + 1e-6 * span for tick in ticks)


@given(low=st.floats(1e-6, 1e5), decades=st.floats(0.5, 12))
@examples(200)
def test_ticks_of_ratios(low, decades):
    high = low * 10**decades
    ticks = chart.decades(low, high)
    assert 1 <= len(ticks) <= chart.MOST_TICKS + 1
    assert ticks == sorted(ticks)


@given(
    ys=st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=12),
    log=st.booleans(),
)
@example([0.0, 5e-324], False)
@example([1e6, 1e6], False)
@examples(100)
def test_everything_is_drawn_inside(ys, log):
    ys = [abs(y) + 1e-3 for y in ys] if log else ys
    found = Chart(
        Scale("x", "h"),
        Scale("y", "mm", log=log),
        [Line("first", list(enumerate(ys))), Line("second", [(x, y / 2) for x, y in enumerate(ys)])],
        [Limit("limit", ys[0])],
        [Zone("stop", [(0, min(ys), max(ys)), (1, min(ys), max(ys))])] if max(ys) > min(ys) else (),
    ).svg("t", "T")
    for number in re.findall(
        r"(?<![\w.-])-?\d+(?:\.\d+)?(?= )", " ".join(re.findall(r' d="M([^"]*)"', found))
    ):
        assert -1 <= float(number) <= chart.WIDTH
    for _, y in texts_at(found):
        assert 0 <= y <= chart.HEIGHT
