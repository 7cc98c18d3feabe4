"""The keeper's desk: other values put into a file of house values, comments kept; and why a number is what it is.

What the page writes is read again by a YAML library, which shares nothing with it.
"""

import json
import random

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from py_mini_racer import MiniRacer
from support import ROOT, STANDARD, examples

from handbook_calc import desk, editions, reasons
from handbook_calc.engine import house as house_module
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.registers import REGISTERS
from handbook_calc.engine.rules import RULES

TEXT = STANDARD.read_text("utf-8")


@pytest.fixture(scope="module")
def patch():
    machine = MiniRacer()
    machine.eval("var window = this;")
    machine.eval((ROOT / "docs" / "assets" / "patch.js").read_text("utf-8"))

    def patched(text: str, *changes: tuple[str, str, str]) -> dict:
        written = [dict(zip(("key", "text", "reason"), change, strict=True)) for change in changes]
        call = f"JSON.stringify(HB.patched({json.dumps(text)}, {json.dumps(written)}))"
        return json.loads(str(machine.eval(call)))

    def entries(text: str) -> list:
        listed = f"[...HB.entriesOf({json.dumps(text)})].map(([k, e]) => [k, e.value, e.odd])"
        return json.loads(str(machine.eval(f"JSON.stringify({listed})")))

    patched.entries = entries
    return patched


def flat(node, path="") -> dict[str, object]:
    """Return every value of a YAML text by its path, as texts and lists of texts, as the standard reads it."""
    if isinstance(node, yaml.MappingNode):
        found = {}
        for key, value in node.value:
            found |= flat(value, f"{path}.{key.value}" if path else key.value)
        return found
    return {path: [n.value for n in node.value] if isinstance(node, yaml.SequenceNode) else node.value}


def values(text: str) -> dict[str, object]:
    return flat(yaml.compose(text))


def comments(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip().startswith("#")]


def test_every_value_of_the_standard_is_found_where_it_stands(patch):
    found = {key: value for key, value, odd in patch.entries(TEXT) if value}
    expected = {key: f"[{', '.join(v)}]" if isinstance(v, list) else v for key, v in values(TEXT).items()}
    assert found == expected
    assert not any(odd for _, _, odd in patch.entries(TEXT))


def test_one_value_changes_one_line_and_its_own_comment(patch):
    after = patch(TEXT, ("drying.oven_temperature", "90 degC", "Measured: the new oven."))
    assert after["fault"] == ""
    before, now = values(TEXT), values(after["text"])
    assert {key for key in before if before[key] != now[key]} == {"drying.oven_temperature"}
    assert now["drying.oven_temperature"] == "90 degC"
    gone = set(comments(TEXT)) - set(comments(after["text"]))
    assert set(comments(after["text"])) - set(comments(TEXT)) == {"# Measured: the new oven."}
    assert all("conservators dry iron" in line or "boiling" in line for line in gone)
    assert len(gone) <= 3


def test_without_a_reason_every_comment_stays(patch):
    after = patch(TEXT, ("rinsing.bath", "600 mL", ""))
    assert comments(after["text"]) == comments(TEXT)
    assert len(after["text"].splitlines()) == len(TEXT.splitlines())


@pytest.mark.long
def test_any_values_of_the_standard_can_be_changed_at_once(patch):
    dice = random.Random(8)
    keys = list(values(TEXT))
    for _ in range(12):
        chosen = dice.sample(keys, 6)
        changes = [
            (key, f"{dice.randrange(1, 99)} x", f"Chosen: {dice.randrange(9)}." * dice.randrange(3))
            for key in chosen
        ]
        after = patch(TEXT, *changes)
        assert after["fault"] == ""
        assert values(after["text"]) == values(TEXT) | {key: text for key, text, _ in changes}


@given(
    text=st.text(
        st.characters(exclude_categories=["C", "Z"], include_characters=" "), min_size=1, max_size=20
    )
)
@examples(60)
def test_any_text_reads_back_as_itself(patch, text):
    text = text.strip()
    if not text or (text.startswith("[") and text.endswith("]")):
        return
    after = patch("house:\n  # Chosen: so.\n  name: A\n  # kept\n  keeper: B\n", ("house.name", text, ""))
    assert after["fault"] == ""
    assert values(after["text"]) == {"house.name": text, "house.keeper": "B"}
    assert values(patch("", ("house.name", text, "Chosen: so."))["text"]) == {"house.name": text}


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
@pytest.mark.parametrize("end", ["", "NEWLINE"])
def test_ends_of_lines_stay_as_they_are(patch, newline, end):
    text = newline.join(
        ["# Head.", "", "a:", "  # why", "  b: 1 # old", "  c: 'x # y'", "d: [e, f]"]
    ) + end.replace("NEWLINE", newline)
    after = patch(
        text, ("a.b", "2", "Chosen: new."), ("a.n", "3", "Chosen: more."), ("z.y.x", "4", "Chosen: far.")
    )
    assert after["fault"] == ""
    assert values(after["text"]) == {"a.b": "2", "a.c": "x # y", "d": ["e", "f"], "a.n": "3", "z.y.x": "4"}
    assert after["text"].replace(newline, "").count("\n") == 0
    assert "# Head." in after["text"]
    assert "# old" not in after["text"]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a:\n  b: |\n    long\n    text\n", 2),
        ("a:\n  b: one\n    two\n", 2),
        ("a:\n  b:\n    - x\n    - y\n", 2),
        ("a: {b: 1, c: 2}\n", 1),
        ("a:\n  b: &anchor 1\n", 2),
        ("a:\n  b: [x,\n    y]\n", 2),
        ("a:\n  b: 1\n  b: 2\n", 3),
    ],
)
def test_what_is_written_otherwise_is_refused_and_nothing_changes(patch, text, line):
    after = patch(text, ("a.b", "5", ""))
    assert after["text"] == text
    assert after["fault"].startswith(f"line {line}: a.b is written in a way that is not changed here")


def test_a_new_value_stands_in_its_section(patch):
    text = "rinsing:\n  # Chosen: so.\n  bath: 1 L\n\n# The oven.\ndrying:\n    # Chosen: so.\n    solvent: ethanol\n"
    after = patch(
        text, ("rinsing.film", "200 mL/m^2", "Guess: between."), ("drying.bath", "1 L", "Chosen: so.")
    )
    assert after["text"] == (
        "rinsing:\n  # Chosen: so.\n  bath: 1 L\n  # Guess: between.\n  film: 200 mL/m^2\n\n# The oven.\ndrying:\n"
        "    # Chosen: so.\n    solvent: ethanol\n    # Chosen: so.\n    bath: 1 L\n"
    )


# --- the data ----------------------------------------------------------------------------------


def data_of(script: str, name: str) -> dict:
    machine = MiniRacer()
    machine.eval("var window = this;")
    machine.eval(script)
    return json.loads(str(machine.eval(f"JSON.stringify(HB.{name})")))


def test_the_desk_knows_every_value_and_every_rule(house):
    data = data_of(desk.script(house), "desk")
    assert set(data["values"]) | set(data["facts"]) == set(house.entries)
    assert {key.partition(".")[0] for key in data["facts"]} == {"piece", "wanted"}
    assert not any(key.startswith(("piece.", "wanted.")) for key in data["values"])
    carried = {tuple(pair) for pair in data["pairs"]}
    assert carried == {pair for rule in RULES.values() for pair in rule.pairs}
    assert len(data["reckoned"]) == sum(1 for rule in RULES.values() if not rule.pairs)
    for rule in data["reckoned"]:
        assert rule["says"]
        assert "\n" not in rule["says"]


@pytest.mark.parametrize("rule", [rule for rule in RULES.values() if rule.pairs], ids=lambda rule: rule.name)
def test_the_pairs_of_a_rule_say_what_its_check_says(house, rule):
    """A pair that is turned round is complained of by the rule, and one that holds is not."""
    signs = {
        "<": lambda a, b: a < b,
        "<=": lambda a, b: a <= b,
        ">": lambda a, b: a > b,
        ">=": lambda a, b: a >= b,
    }
    assert list(rule.check(house)) == []
    for key, sign, other, because in rule.pairs:
        mine, theirs = house.entry(key), house.entry(other)
        if mine.value is None or theirs.value is None:
            continue
        from handbook_calc.engine import quantities

        bound = quantities.convert(theirs.value, theirs.field.unit, mine.field.unit)
        assert signs[sign](mine.value, bound) or mine.value == pytest.approx(bound)
        entries = dict(house.entries)
        wrong = bound * (3 if sign.startswith("<") else 0.3) + (1 if sign.startswith("<") else -1)
        entries[key] = type(mine)(key, wrong, f"{wrong:g}", mine.file, mine.line, mine.reason, mine.field)
        told = list(rule.check(house_module.House(entries, house.files)))
        assert [because in text for _, text in told].count(True) >= 1


def test_every_calculator_that_answers_starts_at_the_desk_as_on_its_page(house):
    data = data_of(desk.script(house), "desk")
    assert set(data["starts"]) == set(CATALOGUE)


@pytest.fixture(scope="module")
def why(house):
    renderer = editions.rendered(house, ROOT / "docs")
    return renderer, data_of(reasons.script(renderer), "why")


@pytest.mark.long
def test_every_figure_of_every_page_is_explained(why, house):
    renderer, data = why
    for page, directives in renderer.asked.items():
        for asked in directives:
            html = renderer.html_of(asked) if asked.verb == "value" else ""
            if "data-why" in html:
                known = asked.written in data["figures"] or asked.name in data["values"]
                assert known, f"{page}: {asked.written}"
            if asked.verb == "table" and asked.name not in REGISTERS:
                assert data["tables"][asked.name]["title"]


def test_what_is_told_of_a_figure_can_be_followed(why, house):
    _, data = why
    for figure in data["figures"].values():
        assert figure["calculation"] in data["calculations"]
        assert set(figure["values"]) <= set(data["values"])
        assert set(figure["sources"]) <= set(data["sources"])
        assert figure["about"]
    for table in data["tables"].values():
        assert set(table["values"]) <= set(data["values"])
        assert set(table["calculations"]) <= set(data["calculations"])


def test_a_fact_leads_to_the_plan_of_its_piece_and_a_house_value_to_the_standard(why):
    renderer, without = why
    data = data_of(reasons.script(renderer, "pieces/LY-014.html"), "why")
    for key, value in data["values"].items():
        assert value["fact"] == key.startswith(("piece.", "wanted."))
        assert without["values"][key]["address"] == f"keeper/house-standard.html#house-{key}"
        plan = f"pieces/LY-014.html#fact-{key}"
        assert value["address"] == (plan if value["fact"] else without["values"][key]["address"])


def test_the_dependants_of_a_house_value_are_computed(why):
    renderer, data = why
    told = data["values"]["drying.oven_temperature"]
    assert "oven-solvent" in [name for name, _ in told["tables"]]
    assert "procedures/oven-dry.html" in [url for _, url in told["pages"]]
    assert "oven-vapour" in told["calculations"]
    assert set(told["calculations"]) <= set(data["calculations"])
    for key, value in data["values"].items():
        tables = {name for name in renderer.usage.value_tables.get(key, ()) if name not in REGISTERS}
        assert {name for name, _ in value["tables"]} == tables & set(renderer.usage.table_pages)
