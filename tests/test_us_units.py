"""The switch to US units: figures in running text, ticks of plots, menus of fields."""

import json
import re

import pytest
from support import ROOT

from handbook_calc.engine import forms, quantities
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE, Reasons, Verdict
from handbook_calc.engine.chart import Chart, Line, Scale
from handbook_calc.engine.examples import example
from handbook_calc.engine.fields import Quantity
from handbook_calc.engine.quantities import US_UNITS
from handbook_calc.engine.sources import sources


@pytest.fixture(scope="module")
def v8():
    """V8 with the script that turns texts, as the site publishes it, on a page that never comes."""
    from py_mini_racer import MiniRacer

    engine = MiniRacer()
    engine.eval("var window = this, document = {};")
    engine.eval(quantities.us_script() + (ROOT / "docs" / "assets" / "us.js").read_text(encoding="utf-8"))
    yield engine
    engine.close()


# US customary: NIST SP 811 (2008), appendix B.8: foot, inch and pound are exact by definition.
EXACT = {
    "mm": ("in", 1 / 25.4, 0), "m": ("ft", 1 / 0.3048, 0), "kg": ("lb", 1 / 0.45359237, 0),
    "g": ("oz (avoirdupois)", 16 / 453.59237, 0), "L": ("gal", 1 / 3.785411784, 0), "°C": ("°F", 1.8, 32),
}  # fmt: skip


def test_the_page_turns_by_the_units_of_the_table(v8):
    found = json.loads(v8.eval("JSON.stringify(HB.twins)"))
    assert {quantities.label(unit) for unit in US_UNITS} == found.keys()
    for unit, other in US_UNITS.items():
        assert found[quantities.label(unit)][0] == quantities.label(other)
    for label, (other, factor, offset) in EXACT.items():
        assert found[label] == [other, pytest.approx(factor, rel=1e-11), offset]


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("a crack of 4 mm", "a crack of 0.157 in"),
        ("4\u00a0mm (2 to 8)", "0.157\u00a0in (0.0787 to 0.315)"),
        ("2 to 8 mm, then", "0.0787 to 0.315 in, then"),
        ("a box of 90 x 60 x 6 mm", "a box of 3.54 x 2.36 x 0.236 in"),
        ("baths of 20 °C", "baths of 68 °F"),
        ("−10 to 60\u00a0°C", "14 to 140\u00a0°F"),
        ("up to 8×10⁻⁵ m³/h", "up to 0.0000471 ft³/min"),
        ("500 mL of 2 L.", "500 mL of 0.528 gal."),  # what is measured by the millilitre is so there, too
        # differences of temperature
        ("a thermometer 5 °C wrong", "a thermometer 9 °F wrong"),
        ("The surface is 3 °C above the dew point of 10 °C", "The surface is 5.4 °F above the dew point of 50 °F"),
        ("doubles for each 10 °C colder", "doubles for each 18 °F colder"),
        ("collections below 40 °C differ by less than 0.1 °C", "collections below 104 °F differ by less than 0.18 °F"),
        # what stays: a ratio, another unit, what is told twice, a name
        ("g of resin in 100 mL of solution", "g of resin in 100 mL of solution"),
        ("20 g/L, 0.05 mA/cm² and 98 kPa", "20 g/L, 0.05 mA/cm² and 98 kPa"),
        ("at 60\u00a0°C (140\u00a0°F)", "at 60\u00a0°C (140\u00a0°F)"),
        ("P120 and G3, 12 h", "P120 and G3, 12 h"),
        ("5 mL for each 100 cm²", "5 mL for each 15.5 in²"),
        ("from 0.2 to 20 g for each litre, and 5 g of salt a litre", "from 0.2 to 20 g for each litre, and 5 g of salt a litre"),
        ("liquid at 60 °F (15.6 °C)", "liquid at 60 °F (15.6 °C)"),
        ("an ounce has 28.35 g, a troy ounce 31.10 g", "an ounce has 28.35 g, a troy ounce 31.10 g"),
        ("ANSI 500: 18 to 20 µm", "ANSI 500: 18 to 20 µm"),
        ("papers take 322 µm off", "papers take 12.7 mil off"),
        # a figure keeps its digits, and a whole degree comes out
        ("0 h 186.412 g; 24 h 186.397 g", "0 h 6.57549 oz (avoirdupois); 24 h 6.57496 oz (avoirdupois)"),
        ("about 78 °C, 21 °C, 15.6 °C, 93 °C", "about 172.4 °F, 69.8 °F, 60.1 °F, 199.4 °F"),
        ("a step of 1×10⁻⁶ to 100 g", "a step of 3.53×10⁻⁸ to 3.53 oz (avoirdupois)"),
        # a limit is rounded to its safe side, a range that is allowed to its inside
        ("allowed is 101.8 L or more", "allowed is 26.9 gal or more"),
        ("allowed is 1 mm or less", "allowed is 0.0393 in or less"),
        ("at most 2 L and at least 2 mm", "at most 0.528 gal and at least 0.0788 in"),
        ("mass: 0.01 to 100000 g", "mass: 0.000353 to 3520 oz (avoirdupois)"),
        ("liquid: 0.01 to 500 L", "liquid: 0.00265 to 132 gal"),
    ],
)  # fmt: skip
def test_figures_in_a_sentence(v8, metric, us):
    assert v8.call("HB.wordsInUS", metric) == us


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        # a limit stays on its safe side: 0.1 mm is 0.003937 in, 20 mm 0.7874 in, 2.1 °C a rise of 3.78 °F
        ("flat within 0.1 mm", "flat within 0.00393 in"),
        ("no thicker than 20 mm", "no thicker than 0.787 in"),
        ("not thinner than 20 mm", "not thinner than 0.788 in"),
        ("no faster than 30 °C/h", "no faster than 54 °F/h"),
        ("At most 0.1 mm", "At most 0.00393 in"),
        ("No more than about 0.1 mm", "No more than about 0.00393 in"),
        ("never more than 0.1 mm", "never more than 0.00393 in"),
        ("must not exceed 0.1 mm", "must not exceed 0.00393 in"),
        ("0.1 mm at most", "0.00393 in at most"),
        ("At least 20 mm", "At least 0.788 in"),
        ("20 mm at least", "0.788 in at least"),
        ("Never less than 20 mm", "Never less than 0.788 in"),
        ("an air speed of 0.3 m/s", "an air speed of 59.1 ft/min"),
        ("paper takes 3.7 µm/min", "paper takes 0.146 mil/min"),
    ],
)
def test_a_limit_or_a_rate_in_a_sentence(v8, metric, us):
    assert v8.call("HB.wordsInUS", metric) == us


TREE = """
var walked = (text, side) => {
  const beside = (words) => words ? {textContent: words} : null;
  const [number, unit, before, behind] = text;
  const node = {
    parentElement: null, previousSibling: beside(before), nextSibling: beside(behind), kept: {},
    getAttribute(name) { return {"data-q": number, "data-scale": unit, "data-l": "u"}[name] || null; },
    hasAttribute() { return false; }, setAttribute() {}, closest() { return null; }, textContent: "",
  };
  HB.all = (selector) => selector === "[data-q]" ? [node] : [];
  HB.prefersUS = () => true;
  globalThis.Event = function () {};
  document.dispatchEvent = () => {};
  HB.pageIn(true);
  return node.textContent;
};
"""


@pytest.mark.parametrize(
    ("value", "before", "behind", "shown"),
    [
        ("0.1", "flat within ", "", "0.00393"),
        ("0.1", "the face is ", " or less", "0.00393"),
        ("0.1", "at least ", "", "0.00394"),
        ("0.1", "about ", " of metal", "0.00394"),
        ("20", "", " or more", "0.788"),
        ("25.4", "at most ", "", "1.00"),
    ],
)
def test_a_house_value_in_a_sentence_is_rounded_to_its_safe_side(v8, value, before, behind, shown):
    v8.eval(TREE)
    _, factor, offset = quantities.twin("mm")
    assert v8.call("walked", [value, f"{factor} {offset}", before, behind]) == f"{shown}\u00a0u"


@pytest.mark.parametrize(
    ("unit", "given", "shown"),
    [
        ("g", "186.412", "6.57549"),  # a weighing keeps its digits
        ("g", "28.349523125", "1"),  # NIST SP 811, appendix B.8
        ("g", "1 lb", "1 lb"),  # what carries another unit stays as it was typed
        ("g", "2.5 oz_avdp", "2.5"),
        ("g", "a lump", "a lump"),
        ("L", "3.785411784", "1"),
        ("h", "24", "24"),
    ],
)
def test_a_cell_of_rows_in_the_readers_unit(v8, house, unit, given, shown):
    scripts = forms.scripts(house)
    v8.eval(scripts[forms.READER])
    v8.eval((ROOT / "docs" / "assets" / "bench" / "read.js").read_text(encoding="utf-8"))
    column = {"form": "quantity", "unit": unit, "low": 0, "high": 1e6}
    assert v8.call("HB.cellInUS", column, given) == shown
    told = v8.call("HB.cellFromUS", column, "2.5")
    assert told == (f"2.5 {US_UNITS[unit]}" if unit in US_UNITS else "2.5")


def sentences():
    """Each sentence that a calculation can say with temperatures, filled with ones that are known."""
    for calculation in CATALOGUE.values():
        units = {d.name: d.unit for d in (*calculation.results, *calculation.inputs)}
        told = list(calculation.refusals.values())
        for result in calculation.results:
            if isinstance(result, Verdict):
                told += result.words.values()
            elif isinstance(result, Reasons):
                told += result.sentences.values()
        for sentence in told:
            kinds = []

            def filled(found, units=units, kinds=kinds):
                unit = found[2] or units.get(found[1], "")
                if unit not in ("degC", "delta_degC"):
                    return "some"
                kinds.append(unit)
                return "20\u00a0°C"

            text = re.sub(r"\{(\w+)(?: ([^}]+))?\}", filled, sentence)
            if kinds:
                yield text, kinds


def test_a_difference_of_temperature_in_a_sentence_is_told_from_a_temperature(v8):
    told = list(sentences())
    assert {kind for _, kinds in told for kind in kinds} == {"degC", "delta_degC"}
    wrong = {}
    for text, kinds in told:
        turned = v8.call("HB.wordsInUS", text)
        figures = re.findall(r"(68|36)\u00a0°F", turned)
        if figures != [{"degC": "68", "delta_degC": "36"}[kind] for kind in kinds]:
            wrong[text] = turned
    assert wrong == {}


def ticks(svg, kind):
    """The numbers and places of the words below the x axis, of one kind of unit."""
    (group,) = re.findall(rf'<g class="hb-in-{kind}"[^>]*>(.*?)</g>', svg)
    found = re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]+)</text>', group)
    return [
        (float(x), float(word)) for x, y, word in found if y == "209" and re.fullmatch(r"[\d.−-]+", word)
    ], group


@pytest.mark.parametrize(
    ("scale", "unit", "heading"),
    [
        (Scale("Depth", "mm", 0.0, 8.0), "in", "Depth, in"),
        (Scale("Air", "degC", 0.0, 40.0), "degF", "Air, °F"),
        (Scale("Depth", "mm", 0.5, 20.0, log=True), "in", "Depth, in"),
    ],
)
def test_a_plot_has_round_ticks_in_both_kinds_of_unit_at_the_same_places(scale, unit, heading):
    chart = Chart(scale, Scale("Time", "h", 0.0, 10.0), [Line("soak", [(1.0, 2.0), (8.0, 9.0)])])
    svg = chart.svg("x", "X")
    metric, _ = ticks(svg, "metric")
    us, group = ticks(svg, "us")
    assert heading in group
    assert len(us) >= 2
    drawn = {x: word for x, word in metric}
    ends = sorted(drawn)
    for x, word in us:
        share = scale.share(quantities.convert(word, unit, scale.unit))
        first, last = (scale.share(drawn[end]) for end in (ends[0], ends[-1]))
        place = ends[0] + (ends[-1] - ends[0]) * (share - first) / (last - first)
        assert x == pytest.approx(place, abs=0.2)


def test_an_axis_without_another_unit_is_drawn_once():
    chart = Chart(Scale("Water", "%", 0.0, 5.0), Scale("Size", "um", 1.0, 90.0, log=True, metric=True),
                  [Line("a", [(1.0, 2.0), (4.0, 9.0)])])  # fmt: skip
    assert "hb-in-us" not in chart.svg("x", "X")


def told_of(x, y, points):
    svg = Chart(x, y, [Line("soak", points)], says="Of a hairline.").svg("x", "X")
    (told,) = re.findall(r"<desc[^>]*>(.*?)</desc>", svg)
    return svg, told


def test_what_is_read_aloud_of_a_plot_turns_with_its_ticks(v8):
    svg, told = told_of(Scale("Depth", "mm"), Scale("Time", "h"), [(25.4, 2.0), (50.8, 9.0)])
    assert told == "Time, h, over Depth. Of a hairline. soak: 2.00 at 25.4\u00a0mm, 9.00 at 50.8\u00a0mm."
    assert "2.00 at 1\u00a0in, 9.00 at 2\u00a0in." in v8.call("HB.wordsInUS", told)
    assert " data-d" not in svg
    svg, _ = told_of(Scale("Warmer by", "delta_degC"), Scale("Time", "h"), [(1.0, 2.0), (4.0, 9.0)])
    assert " data-d aria-labelledby" in svg
    _, told = told_of(Scale("Size", "um", metric=True), Scale("Time", "h"), [(1.0, 2.0), (4.0, 9.0)])
    assert v8.call("HB.wordsInUS", told) == told  # the size of a grit


def test_a_menu_offers_what_a_person_would_write(house):
    for calculation in CATALOGUE.values():
        answer = example(calculation, Bench(house))
        for declared in calculation.inputs:
            value = answer.inputs[declared.name]
            if not isinstance(declared, Quantity) or not value or "deg" in declared.unit:
                continue
            for unit in forms.units_beside(declared, value):
                number = abs(quantities.convert(value, declared.unit, unit))
                assert forms.LEAST_IN_US <= number <= forms.MOST_SHOWN, (
                    calculation.name,
                    declared.name,
                    unit,
                )


def test_the_units_that_fit_go_by_the_size_of_the_value():
    mass = Quantity("mass", "", unit="g", low=0, high=1e5)
    assert forms.units_beside(mass, 186.0) == ("kg", "oz_avdp", "lb")
    assert forms.units_beside(mass, 0.3) == ("mg", "oz_avdp")
    assert forms.units_beside(mass, None) == forms.UNIT_MENUS["g"]
    assert forms.units_beside(Quantity("warm", "", unit="degC", low=0, high=9), 0.001) == ("degF",)


@pytest.mark.parametrize("name", CATALOGUE)
def test_what_readers_see_of_a_calculation_has_units_as_they_are_printed(name):
    calculation = CATALOGUE[name]
    columns = [column for part in calculation.results for column in getattr(part, "columns", ())]
    columns += [column for part in calculation.inputs for column in getattr(part, "columns", ())]
    told = [calculation.title, *calculation.assumes]
    told += [declared.about for declared in (*calculation.inputs, *calculation.results, *columns)]
    told += [getattr(declared, "why", "") for declared in calculation.inputs]
    told += [sources()[key].title for key in calculation.sources]
    for text in told:
        assert not re.search(r"deg[CF]|\w\^\d|\d[eE]-\d|\d um\b", text), text
