"""The command line, as a person and as a script use it."""

import csv
import io
import json
import sys

import pytest
from support import ROOT, STANDARD, changed_standard, for_each, run

from handbook_calc import __main__ as command
from handbook_calc.__main__ import main
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import BadInput
from handbook_calc.engine.tables import TABLES, Table


def test_check_says_ok_and_the_edition(capsys):
    assert main(["check"]) == 0
    assert capsys.readouterr().out.startswith("ok: ")


def test_check_lists_every_fault_of_the_differences_file(capsys, tmp_path):
    path = tmp_path / "ours.yml"
    path.write_text("rinsing:\n  # why\n  bath: 5 mL\n  # why\n  film: wet\n", encoding="utf-8")
    assert main(["check", "--house", str(path)]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert [line.split(": ")[1] for line in printed.err.splitlines()] == ["rinsing.bath", "rinsing.film"]


@pytest.mark.long
def test_check_names_the_house_values_of_a_table_that_cannot_be_computed(capsys, tmp_path):
    path = tmp_path / "ours.yml"
    path.write_text("electrolysis:\n  # Chosen: for the test.\n  strength: 4 g/L\n", encoding="utf-8")
    assert main(["check", "--house", str(path)]) == 0
    line, ok = capsys.readouterr().out.replace("\u00a0", " ").splitlines()
    assert line.startswith("note: table 'cell-currents' is refused in its place: electrolyte-conductivity: ")
    assert f"electrolysis.strength = 4 g/L ({path}:3)" in line
    assert ok.startswith("ok: ")


def test_check_uses_the_standard_of_the_working_folder(capsys, tmp_path, monkeypatch):
    (tmp_path / "docs").mkdir()
    text, line = changed_standard(STANDARD.read_text("utf-8"), "rinsing.bath", "5 mL")
    (tmp_path / "docs" / "house-standard.yml").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["check"]) == 2
    assert capsys.readouterr().err.startswith(f"docs/house-standard.yml:{line}: rinsing.bath: 5 mL")


def test_calc_prints_json(capsys):
    arguments = ["start=1 g/L", "limit=0.125 mg/L", "drag_out=50 mL", "bath=0.95 L"]
    assert main(["calc", "rinse-baths", *arguments, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["result"] == {"value": 3, "unit": "1"}
    assert answer["inputs"]["start"]["value"] == pytest.approx(1000)
    assert answer["working"][0].startswith("share kept = drag-out ÷ (drag-out + bath)")
    assert answer["source"] == ["mass-balance"]


@pytest.mark.parametrize(
    "arguments",
    [
        ["calc", "drag-out", "--json", "area=100 cm^2", "film=200 mL/m^2", "crack_volume=0 mL"],
        ["calc", "--json", "drag-out", "area=100 cm^2", "film=200 mL/m^2", "crack_volume=0 mL"],
        ["calc", "drag-out", "area=100 cm^2", "--json", "film=200 mL/m^2", "crack_volume=0 mL"],
    ],
)
def test_options_of_calc_stand_anywhere(capsys, arguments):
    assert main(arguments) == 0
    assert json.loads(capsys.readouterr().out)["result"] == {"value": pytest.approx(2.0), "unit": "mL"}


def test_an_unknown_option_is_refused(capsys):
    for arguments in (["calc", "drag-out", "--jsn", "area=1 cm^2"], ["check", "more"], ["table", "--all"]):
        with pytest.raises(SystemExit) as caught:
            main(arguments)
        assert caught.value.code == 2
        assert "unrecognized arguments: " in capsys.readouterr().err


@for_each("name", CATALOGUE)
def test_what_no_input_takes_is_told_with_what_is_allowed(house, name):
    for declared in CATALOGUE[name].inputs:
        for text in ("\x1b[31m5 \u202efurlongz", "", "[[", "1e999 mm"):
            if text and declared.form == "words":
                continue
            with pytest.raises(BadInput) as caught:
                Bench(house).ask(name, **{declared.name: text})
            told = str(caught.value)
            assert told.startswith(f"{name}: {declared.name} = ")
            assert "allowed is" in told
            assert told.replace("\u00a0", " ").isprintable()


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["bath-material", "material=zinc", "role=anode"], 3),
        (["bath-material", "material=mild steel", "role=anode"], 0),
        (["bath-material", "material=zinc", "role=roof"], 2),
        (["oven-vapour", "solvent=2-propanol", "solvent_mass=2 g", "temperature=80 degC"], 3),
        (["oven-vapour", "solvent=2-propanol", "solvent_mass=0.01 g", "temperature=80 degC"], 0),
        (["nital-percent", "molarity=1 mol/L"], 3),
        (["nital-acid", "volume=100 mL", "percent=6 %"], 2),
    ],
)
@pytest.mark.parametrize("form", [[], ["--json"]])
def test_the_exit_status_tells_a_go_from_a_refusal_and_a_stop(capsys, arguments, status, form):
    assert main(["calc", *arguments, *form]) == status
    printed = capsys.readouterr()
    assert bool(printed.out) == (status != 2)
    assert bool(printed.err) == (status == 2)
    if form and status != 2:
        assert json.loads(printed.out)["name"] == arguments[0]


def test_calc_prints_text(capsys):
    assert main(["calc", "drag-out", "area=100 cm^2", "film=200 mL/m^2", "crack_volume=0 mL"]) == 0
    assert capsys.readouterr().out.startswith("volume: 2.00\u00a0mL\nworking:\n")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["rinse-bath"], "no calculation 'rinse-bath'; did you mean 'rinse-baths'?"),
        (["rinse-baths"], "rinse-baths: drag_out is missing"),
        (["rinse-baths", "drag_out"], "'drag_out' is not written key=value"),
        (["rinse-baths", "drag_out=2 mL", "drag_out=2 mL"], "drag_out is given twice"),
        (["rinse-baths", "drag_out=2 oz"], "drag_out = 2 oz is ambiguous"),
        (["rinse-baths", "drag_out=2"], "drag_out = 2 has no unit"),
        (["rinse-baths", "drag=2 mL"], "no argument 'drag'; did you mean 'drag_out'?"),
        (["rinse-baths", "drag_out=600 mL"], "that is no rinse"),
        ([], "name a calculation"),
        (["drag-out", "area=nan cm^2"], "is not a number with a unit; allowed is 0.1 to 20000 cm²"),
        (["drag-out", "area=9\n8 cm^2"], "area = 9 8 cm^2 is not one number"),
        (["drag-out", f"area={'9' * 5000} cm^2"], "9... is not a finite number"),
        (["x" * 5000], "x...'"),
        (["constant-mass", f"weighings={'[' * 100_000}"], "is not readable as a JSON list of rows"),
        (["constant-mass", f"weighings=[[{'9' * 5000}, 1]]"], "is not readable as a JSON list of rows"),
        (["constant-mass", "weighings=[[null, 1]]"], "in row 1 time = None, which is not a number"),
        (["drag-out", "area=9\x1b[31m cm^2"], r"area = 9\x1b[31m cm^2 "),
        (["drag-out", "ar\x07ea=9 cm^2"], r"no argument 'ar\x07ea'"),
        (["drag-\x1bout"], r"no calculation 'drag-\x1bout'"),
        (["etchant-rinses", "drag_out=600 mL"], "etchant-rinses: a bath of 500\u00a0mL is not larger"),
    ],
)
@pytest.mark.long
def test_calc_faults_are_one_line_and_status_2(capsys, arguments, says):
    assert main(["calc", *arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert says in printed.err
    assert printed.err.count("\n") == 1
    assert len(printed.err) < 600


@pytest.mark.long
def test_an_argument_that_is_no_text_is_told_and_not_raised():
    command = [sys.executable, "-m", "handbook_calc", "calc", "drag-out", b"area=\xff cm^2"]
    told = run(command, ROOT)
    assert told.returncode == 2
    assert told.stderr.startswith(r"drag-out: area = \udcff cm^2 is not a number with a unit")


def test_calc_list_names_every_calculation_with_units_and_ranges(capsys):
    assert main(["calc", "--list", "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)
    assert [entry["name"] for entry in listed] == list(CATALOGUE)
    for entry in listed:
        for declared in entry["inputs"]:
            assert declared["allowed"]
            assert "unit" in declared
    assert main(["calc", "--list"]) == 0
    text = capsys.readouterr().out
    assert "rinse-baths: Rinse baths needed\n  start [mg/L]: 0 to 450000 mg/L; default rinsing.start" in text


@pytest.fixture
def computed_once(monkeypatch, house, filled):
    """The command line with a standard that is loaded, and with every table filled for it."""
    made = {name: filled(name) for name in TABLES}
    monkeypatch.setattr(command.stages, "load", lambda: None)
    monkeypatch.setattr(command.house, "load", lambda overlay=None: house)
    monkeypatch.setattr(Table, "compute", lambda table, house: made[table.id])


@pytest.mark.long
def test_a_table_is_filled_for_the_house_that_is_asked_for(capsys, tmp_path):
    path = tmp_path / "ours.yml"
    path.write_text("rinsing:\n  # Chosen: for the test.\n  bath: 600 mL\n", encoding="utf-8")
    assert main(["table", "rinse-series", "--csv"]) == 0
    own = capsys.readouterr().out
    assert main(["table", "rinse-series", "--csv", "--house", str(path)]) == 0
    assert capsys.readouterr().out != own


@for_each("name", TABLES)
@pytest.mark.long
def test_table_in_three_forms(capsys, computed_once, name):
    assert main(["table", name]) == 0
    assert capsys.readouterr().out.startswith(TABLES[name].title)
    assert main(["table", name, "--csv"]) == 0
    lines = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    assert main(["table", name, "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert len(plain["rows"]) == len(lines) - 1


def test_table_faults(capsys):
    assert main(["table", "rinse-bath"]) == 2
    assert capsys.readouterr().err == "no table 'rinse-bath'; did you mean 'rinse-baths'?; see table --list\n"
    assert main(["table"]) == 2
    assert main(["table", "--list"]) == 0
    assert "rinse-baths: How many rinses?" in capsys.readouterr().out


@pytest.mark.long
def test_check_says_how_many_values_do_not_say_what_they_rest_on(capsys, tmp_path):
    path = tmp_path / "ours.yml"
    path.write_text("rinsing:\n  # why\n  bath: 600 mL\n", encoding="utf-8")
    assert main(["check", "--house", str(path)]) == 0
    assert "; 1 of them do not say what they rest on" in capsys.readouterr().out
    assert main(["check"]) == 0
    assert "rest on" not in capsys.readouterr().out


def test_calc_takes_spans_and_says_what_they_make_of_it(capsys):
    arguments = ["depth=4 mm", "fraction=99 %", "temperature=20 degC", "activation_energy=22.16 kJ/mol"]
    assert main(["calc", "soak-time", *arguments, "diffusivity=300 um^2/s (150 to 600)"]) == 0
    printed = capsys.readouterr().out.replace("\u00a0", " ")
    assert printed.startswith("time: 31 h (16 to 62)\n  5 to 95 %, most of it from diffusivity\n")
    assert main(["calc", "soak-time", *arguments, "diffusivity=300 um^2/s (150 to 600)", "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    result = plain["result"]
    # The time is inverse to the diffusivity, so the ends of the one are the ends of the other.
    assert result["low"] == pytest.approx(result["value"] / 2, rel=1e-6)
    assert result["high"] == pytest.approx(result["value"] * 2, rel=1e-6)
    assert result["dominant"] == ["diffusivity"]
    assert plain["inputs"]["diffusivity"] == {"value": 300, "unit": "um^2/s", "low": 150, "high": 600}


def test_calc_without_a_span_prints_no_interval(capsys):
    arguments = ["depth=4 mm", "fraction=99 %", "temperature=20 degC", "activation_energy=22.16 kJ/mol"]
    assert main(["calc", "soak-time", *arguments, "diffusivity=300 um^2/s"]) == 0
    assert capsys.readouterr().out.startswith("time: 30.8\u00a0h\nverdict: go\n")
    assert main(["calc", "soak-time", *arguments, "diffusivity=300 um^2/s", "--json"]) == 0
    assert set(json.loads(capsys.readouterr().out)["result"]) == {"value", "unit"}
