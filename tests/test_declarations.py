"""What a wrong declaration is told: one line with the place, wherever the package is loaded."""

import re
import shlex
import subprocess
import sys
from collections.abc import Iterator

import pytest
from support import ROOT, for_each, run

import handbook_calc
from handbook_calc.__main__ import main
from handbook_calc.engine import declarations, fields, house, stages
from handbook_calc.engine.bench import Bench, HouseNumber
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.defaults import from_house, house_field
from handbook_calc.engine.directives import find
from handbook_calc.engine.examples import example, starting_values
from handbook_calc.engine.faults import BadDeclaration, BadInput
from handbook_calc.engine.fields import Quantity
from handbook_calc.engine.house import FAMILIES, SETTINGS
from handbook_calc.engine.registers import REGISTERS
from handbook_calc.engine.render import PageFault, Renderer
from handbook_calc.engine.rules import RULES
from handbook_calc.engine.stages import STAGES
from handbook_calc.engine.tables import TABLES

GOOD = '''"""A trial stage."""

from handbook_calc.engine.calculation import Number, Reasons, Verdict, because, calculation, refuse
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.fields import Quantity


def too_wet(share):
    """Refuse what is wet."""
    if share > 90:
        refuse("wet")


@calculation(
    "trial-film",
    title="A trial",
    inputs=(
        Quantity("area", "a surface", unit="cm^2", low=0.1, high=20_000, example="{piece.area}"),
        Quantity("share", "a share", unit="%", low=0, high=100, example="20 %"),
        from_house("rinsing.film"),
    ),
    results=(
        Number("volume", "mL", "liquid on it"),
        Verdict("verdict", "is it much", stops=(), words={"much": "{volume} is much", "little": "{volume} is little"}),
        Reasons("reasons", "why", {"share": "The share is {share}."}),
    ),
    sources=("mass-balance",),
    refusals={"wet": "{share} is wet; dry it", "large": "{area} is large; use {0 mL} less"},
    curve="area",
)
def trial_film(area, share, film):
    """The film on the share of the surface."""
    too_wet(share)
    volume = area / 10_000 * film * share / 100
    if volume > 400:
        refuse("large", volume - 400)
    verdict = "much" if volume > 10 else "little"
    reasons = []
    if share > 50:
        reasons.append(because("share"))
    return {"volume": volume, "verdict": verdict, "reasons": reasons}
'''
# What a newcomer slips on: the text to change, what it becomes, the line of the fault, what is said.
SLIPS = {
    "swapped arguments": (
        "def trial_film(area, share, film)", "def trial_film(share, area, film)", "@calculation(",
        "the function takes share, area, film; the declaration names area, share, film, in another order",
    ),
    "misspelt argument": (
        "def trial_film(area, share, film)", "def trial_film(area, shore, film)", "@calculation(",
        "the function takes area, shore, film; the declaration names area, share, film",
    ),
    "misspelt house key": (
        'from_house("rinsing.film")', 'from_house("rinsing.flim", name="film")', "from_house(\"rinsing.flim",
        "no house value 'rinsing.flim'; did you mean 'rinsing.film'?",
    ),
    "misspelt house key of an example": (
        "{piece.area}", "{piece.aera}", "@calculation(", "area: its example names no house value 'piece.aera'",
    ),
    "unknown unit of an input": (
        'unit="cm^2"', 'unit="cm^22"', "@calculation(",
        "area has the unknown unit 'cm^22'; did you mean 'cm^2'?; data/units.csv has every unit",
    ),
    "unknown unit of a result": (
        '"mL", "liquid', '"mgg", "liquid', "@calculation(", "volume has the unknown unit 'mgg'; did you mean",
    ),
    "unknown unit of a figure": (
        "{0 mL}", "{0 mll}", "@calculation(", "prints in the unknown unit 'mll'",
    ),
    "unit of another kind than the example's": (
        'unit="cm^2"', 'unit="cm"', "@calculation(", "area: its example piece.area is in 'cm^2', and it wants 'cm'",
    ),
    "undeclared code": (
        'refuse("large"', 'refuse("lorge"', 'refuse("lorge"',
        "refuse('lorge') is not declared among its refusals; did you mean 'large'?",
    ),
    "undeclared code in a helper": (
        'refuse("wet")', 'refuse("wett")', 'refuse("wett")', "refuse('wett') is not declared among its refusals",
    ),
    "code that is never raised": (
        '"large": "{area}', '"larger": "", "large": "{area}', "@calculation(",
        "'larger' is declared among its refusals and never raised by the formula",
    ),
    "undeclared reason": (
        'because("share")', 'because("shares")', 'because("shares")',
        "because('shares') is not declared among the sentences of its Reasons; did you mean 'share'?",
    ),
    "undeclared word of a verdict": (
        'if volume > 10 else "little"', 'if volume > 10 else "litle"', "return {",
        "verdict 'litle' is none of its declared words; did you mean 'little'?",
    ),
    "verdict that leaves its stops open": (
        " stops=(),", "", "@calculation(", "the verdict verdict does not say which words are stops",
    ),
    "stop that is no word of its verdict": (
        "stops=()", 'stops=("muck",)', "@calculation(", "no word 'muck'; did you mean 'much'?",
    ),
    "limit without a reason": (
        'high=100, example="20 %"', 'high=100, limit="most", example="20 %"', "@calculation(",
        "share is a limit without a reason for its ceiling; say why with why=",
    ),
    "limit made laxer": (
        'from_house("rinsing.film")',
        'from_house("drying.safety_share", name="film", high=50, because="an instrument measures it")',
        'from_house("drying.safety_share"',
        "takes up to 50 %, and 25 % is the ceiling of a limit, which is only ever tightened",
    ),
    "word of a verdict that is never given": (
        '"much": "{volume} is much"', '"much": "{volume} is much", "none": ""', "@calculation(",
        "verdict 'none' is declared and never given by the formula",
    ),
    "misspelt result": (
        '"volume": volume', '"volumes": volume', "return {",
        "the formula gives volumes, verdict, reasons; the declaration names the results volume, verdict, reasons",
    ),
    "unknown source": (
        '"mass-balance"', '"mass-balanse"', "@calculation(",
        "no source 'mass-balanse'; did you mean 'mass-balance'?; data/sources.yml has every source",
    ),
    "source that is no tuple": (
        '("mass-balance",)', '("mass-balance")', "@calculation(", "sources and assumes are tuples of texts",
    ),
    "curve over no input": (
        'curve="area"', 'curve="arae"', "@calculation(",
        "draws a curve over 'arae', which is no input; did you mean 'area'?",
    ),
    "limit that is no input": (
        'curve="area"', 'curve="area", limit="flm"', "@calculation(",
        "has the limit 'flm', which is no input and no house value; did you mean 'film'?",
    ),
    "limit that is no house value": (
        'curve="area"', 'curve="area", limit="rinsing.flm"', "@calculation(",
        "its limit names no house value 'rinsing.flm'",
    ),
    "limit in another unit": (
        'curve="area"', 'curve="area", limit="rinsing.film"', "@calculation(",
        "its limit rinsing.film is in 'mL/m^2', and volume is in 'mL'",
    ),
    "limit without a curve": (
        'curve="area"', 'limit="area"', "@calculation(",
        "has the limit 'area' and no curve to draw it across",
    ),
    "sentence about no input": (
        "{share} is wet", "{shore} is wet", "@calculation(",
        "the sentence '{shore} is wet; dry it' names 'shore', which is no input; did you mean 'share'?",
    ),
    "example out of range": (
        'example="20 %"', 'example="120 %"', "@calculation(",
        "share: its example 120 % is out of range; allowed is 0 to 100 %",
    ),
    "no example": (
        ', example="20 %"', "", "@calculation(", "share has no house value and no example",
    ),
    "range that leaves out what a house may choose": (
        'from_house("rinsing.film")', 'from_house("rinsing.film", low=20, because="so")', "from_house(",
        "takes 20 to 1000 mL/m^2, and a house may choose 10 to 1000",
    ),
    "range of its own without a reason": (
        'from_house("rinsing.film")', 'from_house("rinsing.film", low=1)', "from_house(",
        "has a range of its own without a reason",
    ),
    "house value as a default by hand": (
        'example="20 %"', 'house="rinsing.film"', "@calculation(",
        "share has a house value as its default: write from_house('rinsing.film')",
    ),
    "no end of a range": ("low=0, high=100", "low=0", "@calculation(", "share has no finite range"),
    "range upside down": ("low=0, high=100", "low=100, high=0", "@calculation(", "low is below high"),
    "no docstring": ('    """The film on the share of the surface."""\n', "", "@calculation(", "has no docstring"),
    "name that is there already": ('"trial-film"', '"drag-out"', "@calculation(", "is declared in rinsing already"),
    "name that is no name": ('"trial-film"', '"Trial Film"', "@calculation(", "its name is not made of small letters"),
    "python that does not parse": ("refusals={", "refusals={{", "", "handbook_calc cannot be loaded"),
    "name that is not there": ("        Number(", "        Figur(", "Figur(", "name 'Figur' is not defined"),
}  # fmt: skip


@pytest.fixture
def trial(tmp_path, monkeypatch) -> Iterator:
    """Write a stage module that is loaded with the others; yields a function of its text."""
    kept: list[tuple[dict, dict]] = [
        (registry, dict(registry)) for registry in (CATALOGUE, SETTINGS, FAMILIES, RULES, TABLES)
    ]
    folder = tmp_path / "stages"
    folder.mkdir()
    monkeypatch.setattr(handbook_calc, "__path__", [*handbook_calc.__path__, str(folder)])
    monkeypatch.setattr(stages, "STAGES", (*STAGES, "trial"))

    def write(text):
        path = folder / "trial.py"
        path.write_text(text, encoding="utf-8")
        return path

    yield write
    sys.modules.pop("handbook_calc.trial", None)
    if hasattr(handbook_calc, "trial"):
        delattr(handbook_calc, "trial")
    for registry, entries in kept:
        registry.clear()
        registry.update(entries)


def slipped(name: str) -> tuple[str, int, str]:
    """Return a module with one slip, the line of its fault (0 where that is not told), what is said."""
    old, new, mark, says = SLIPS[name]
    assert GOOD.count(old) >= 1
    text = GOOD.replace(old, new, 1)
    line = next((n for n, row in enumerate(text.splitlines(), 1) if mark and mark in row), 0)
    return text, line, says


def test_the_trial_itself_is_in_order(trial, capsys):
    trial(GOOD)
    assert main(["calc", "trial-film", "area=100 cm^2", "share=10 %"]) == 0
    assert capsys.readouterr().out.startswith("volume: 0.22\u00a0mL (0.10 to 0.40)")


@pytest.mark.parametrize("command", [["check"], ["calc", "--list"]], ids=lambda command: command[0])
@pytest.mark.parametrize("name", SLIPS)
@pytest.mark.long
def test_a_slip_is_one_line_with_its_place(trial, capsys, name, command):
    text, line, says = slipped(name)
    path = trial(text)
    assert main(command) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    (told,) = printed.err.splitlines()
    assert says in told
    assert told.startswith(f"{path}:{line or ''}")
    assert "Traceback" not in told


def test_all_faults_of_a_module_are_told_at_once(trial, capsys):
    text = GOOD
    for name in ("misspelt house key", "undeclared code", "misspelt result"):
        text = text.replace(*SLIPS[name][:2], 1)
    trial(text)
    assert main(["check"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 3


@pytest.mark.parametrize("name", ["swapped arguments", "misspelt house key", "undeclared code"])
@pytest.mark.long
def test_a_slip_stops_the_build_with_the_same_line(site, tmp_path, name):
    text, line, says = slipped(name)
    (tmp_path / "trial.py").write_text(text, encoding="utf-8")
    starting = (
        "import handbook_calc; from handbook_calc.engine import stages; from mkdocs.__main__ import cli;"
        f"handbook_calc.__path__.append({str(tmp_path)!r}); stages.STAGES += ('trial',); cli(['build'])"
    )
    built: subprocess.CompletedProcess = run([sys.executable, "-c", starting], site.folder)
    assert built.returncode != 0
    assert f"trial.py:{line}: " in built.stderr + built.stdout
    assert says in built.stderr + built.stdout
    assert "Traceback" not in built.stderr
    assert not (site.folder / "site").exists()


@pytest.mark.parametrize(
    ("declare", "says"),
    [
        (lambda: house.section("trial", Quantity("a", "a", unit="mgg", low=0, high=1)), "unknown unit 'mgg'"),
        (lambda: house.section("trial", Quantity("a", "a", unit="mg", low=0)), "a has no finite range"),
        (lambda: house.family("trial.kinds", "k", Quantity("a", "a", low=2, high=1)), "low is below high"),
    ],
)
def test_a_house_value_is_checked_where_it_is_declared(declare, says):
    with pytest.raises(BadDeclaration, match=says) as caught:
        declare()
    assert re.match(r"tests/test_declarations\.py:\d+: house values of 'trial", str(caught.value))


# --- inputs and the house values behind them ---------------------------------------------------


DEFAULTED = [
    (calculation.name, entry)
    for calculation in CATALOGUE.values()
    for entry in calculation.inputs
    if entry.house
]


@for_each("name, entry", DEFAULTED)
def test_what_a_house_may_choose_every_calculation_takes(name, entry):
    behind = house_field(entry.house)
    assert behind is not None
    assert entry.unit == behind.unit
    assert type(entry) is type(behind)
    if isinstance(behind, Quantity):
        for end in (behind.low, behind.high):
            entry.check(end)
    elif isinstance(behind, fields.Choice):
        assert isinstance(entry, fields.Choice)
        assert set(behind.names()) <= set(entry.names())


def test_a_key_with_a_place_stands_for_every_entry():
    entry = from_house("coating.kinds.{coating}.dry_film").field
    assert (entry.name, entry.unit) == ("dry_film", "um")
    assert house_field("coating.kinds.{coating}.film") is None
    limit = house_field("ventilation.exposure_limit.{solvent}")
    assert limit is not None
    assert limit.unit == "ppm"


@pytest.mark.parametrize("name", ["current", "pressure"])
def test_ventilation_takes_what_electrolysis_may_have(name):
    taken = CATALOGUE["hydrogen-airflow"].input(name)
    assert isinstance(taken, Quantity)
    for calculation in CATALOGUE.values():
        if calculation.stage in ("electrolysis", "chloride") and name in calculation.names:
            given = calculation.input(name)
            assert isinstance(given, Quantity)
            assert taken.unit == given.unit
            assert taken.low <= given.low
            assert taken.high >= given.high, calculation.name


@pytest.mark.parametrize("share", [1.0, 25.0])
@pytest.mark.parametrize("current", [0.0001, 200.0])
def test_openings_are_told_for_every_airflow(share, current):
    for temperature, pressure in ((-10.0, 115.0), (50.0, 50.0)):
        flow = CATALOGUE["hydrogen-airflow"](current, share, temperature, pressure)
        assert CATALOGUE["hydrogen-openings"](flow) > 0


def test_a_house_number_of_another_unit_is_refused(house):
    bench = Bench(house)
    length = bench.value("piece.length")
    assert isinstance(length, HouseNumber)
    assert length == 90.0
    assert type(length / 10) is float
    with pytest.raises(BadInput, match=r"house value piece\.length is in 'mm', and length wants 'cm'"):
        bench("bath-volume", length=length, width=5.0, depth=3.0, piece_volume=0.0)
    assert bench("bath-volume", length=length / 10, width=5.0, depth=3.0, piece_volume=0.0) > 0


def test_a_house_value_is_converted_for_an_input_or_refused(house):
    bench = Bench(house)
    wanted = CATALOGUE["bath-volume"].input("length")
    assert bench.value_in("piece.length", wanted) == 9.0
    assert list(bench.used_values) == ["piece.length"]
    for key in ("piece.mass", "piece.number"):
        with pytest.raises(BadInput, match=f"house value {key} is in '.*', and length wants 'cm'"):
            bench.value_in(key, wanted)


# --- what a calculator opens with --------------------------------------------------------------


@for_each("name", CATALOGUE)
def test_a_calculator_opens_with_an_answer(house, name):
    answer = example(CATALOGUE[name], Bench(house))
    assert all(
        value is not None or CATALOGUE[name].input(key).optional for key, value in answer.inputs.items()
    )


def test_a_calculator_opens_with_the_house_and_not_with_less():
    """An oven at 25 degC would allow a third more solvent than the same oven at work."""
    for name in CATALOGUE:
        for entry in CATALOGUE[name].inputs:
            assert not (entry.house and entry.example), f"{name}: {entry.name} has both"
    for name in ("oven-solvent", "oven-vapour", "flammable-limit"):
        assert CATALOGUE[name].input("temperature").example == "{drying.oven_temperature}"


def test_what_is_given_goes_before_the_example(house):
    bench = Bench(house)
    started = starting_values(CATALOGUE["soak-time"], bench, {"depth": 2.0})
    assert started == {"depth": 2.0}
    assert not bench.used_values


@for_each("name", CATALOGUE)
@pytest.mark.long
def test_the_example_of_a_docstring_is_what_the_command_prints(capsys, name):
    *_, shown = (CATALOGUE[name].__doc__ or "").partition("\nExample:\n")
    command, *results = [line.strip() for line in shown.splitlines()]
    assert results
    assert main(shlex.split(command)) in (0, 3)
    printed = capsys.readouterr().out.splitlines()
    for line in results:
        assert line in printed


def test_every_declaration_in_the_catalogue_holds():
    declarations.check()
    assert len(CATALOGUE) > 100


def test_nothing_that_is_needed_to_build_lies_with_the_tests():
    for path in (ROOT / "handbook_calc").rglob("*.py"):
        assert '"tests"' not in path.read_text(encoding="utf-8"), path.name


class Recording(Bench):
    """Remembers every number that a calculation gave, and where it was handed on."""

    def __init__(self, standard) -> None:
        super().__init__(standard)
        self.given: dict[int, tuple] = {}
        self.handed: set[tuple] = set()

    def __call__(self, name, /, **values):
        calculation = self.find(name)
        for argument, value in values.items():
            if isinstance(value, float) and id(value) in self.given:
                self.handed.add((*self.given[id(value)][1:], calculation.name, argument))
        results = super().__call__(name, **values)
        for result, value in calculation.by_name(results).items():
            if isinstance(value, float):
                self.given[id(value)] = (
                    value,
                    calculation.name,
                    result,
                )  # kept, so that the id stays its own
        return results


def test_what_a_table_hands_from_one_calculation_to_the_next_is_in_its_unit(house):
    handed = set()
    for table in TABLES.values():
        if table.id not in REGISTERS:
            bench = Recording(house)
            table.make(bench)
            handed |= bench.handed
    assert len(handed) >= 10
    for giver, result, taker, name in handed:
        given, wanted = CATALOGUE[giver].result(result), CATALOGUE[taker].input(name)
        assert given.unit == wanted.unit, f"{giver}.{result} is handed to {taker}.{name}"


@pytest.mark.parametrize("key", ["piece.length", "piece.width"])
def test_a_page_hands_a_house_value_on_in_the_unit_of_the_input(house, key):
    page = '{{ value bath-volume length=KEY width=KEY depth="20 cm" piece_volume="0 mL" }}'.replace(
        "KEY", key
    )
    (asked,) = find(page)
    side = house[key] / 10
    assert f'data-q="{side * side * 20 / 1000:.6g}"' in Renderer(house).html_of(asked)


def test_a_page_that_hands_on_another_kind_of_value_is_told(house):
    (asked,) = find("{{ value soak-time depth=piece.mass }}")
    with pytest.raises(
        PageFault, match=r"house value piece\.mass is in 'g', and depth wants 'mm'; allowed is"
    ):
        Renderer(house).html_of(asked)


def test_a_fault_of_a_step_is_told_under_the_name_that_was_asked_for(trial, capsys):
    text = GOOD.replace(
        "from handbook_calc.engine.fields import Quantity",
        "from handbook_calc.engine.fields import Quantity\nfrom handbook_calc.rinsing import rinse_baths",
    )
    trial(
        text.replace("    too_wet(share)\n", "    too_wet(share)\n    rinse_baths(share, 1.0, area, film)\n")
    )
    assert main(["calc", "trial-film", "area=20000 cm^2", "share=10 %"]) == 2
    told = capsys.readouterr().err.replace("\u00a0", " ")
    assert told.startswith(
        "trial-film: in its step rinse-baths: drag_out = 20000 mL is out of range; allowed is"
    )
    assert main(["calc", "trial-film", "area=1000 cm^2", "share=10 %"]) == 2
    told = capsys.readouterr().err.replace("\u00a0", " ")
    assert told.startswith("trial-film: a bath of 215 mL is not larger than the 1000 mL")
