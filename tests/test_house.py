"""The house standard: what is accepted, and the exact words of each fault."""

import contextlib
import dataclasses
import inspect
import random

import pytest
from support import STANDARD, changed_standard, is_of_piece, steps

from handbook_calc.engine import house as house_module
from handbook_calc.engine import rules
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import HouseFaults
from handbook_calc.engine.fields import Choice, Count, Quantity, Several

TEXT = STANDARD.read_text(encoding="utf-8")
SHOWN = "docs/house-standard.yml"


@pytest.fixture
def standard(tmp_path):
    """A function that loads a standard (and an overlay) from texts and returns its faults."""

    def faults_of(text, overlay=None):
        folder = tmp_path / "docs"
        folder.mkdir(exist_ok=True)
        base = folder / "house-standard.yml"
        base.write_text(text, encoding="utf-8")
        over = None
        if overlay is not None:
            over = tmp_path / "our-bench.yml"
            over.write_text(overlay, encoding="utf-8")
        try:
            house_module.load(base, over, tmp_path)
        except HouseFaults as faults:
            return [str(fault) for fault in faults.faults]
        return []

    return faults_of


def without(key):
    text, line = changed_standard(TEXT, key, "x")
    lines = text.split("\n")
    del lines[line - 1]
    return "\n".join(lines)


def test_the_projects_own_standard_is_sound(house):
    assert house["rinsing.film"] == 215
    assert house.edition.startswith("2026.1 (")
    assert all(entry.reason or is_of_piece(key) for key, entry in house.entries.items())


def test_values_keep_how_they_were_written(house):
    assert house.entry("rinsing.bath").show() == "500\u00a0mL"
    assert house.entry("rinsing.film").show() == "215\u00a0mL/m² (100 to 400)"
    assert house.entry("rinsing.least_baths").show() == "3"


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        (
            "rinsing.bath",
            "500 g",
            "500 g is in 'g', which does not convert to 'mL'; allowed is 50 to 50000 mL",
        ),
        ("rinsing.bath", "500", "500 has no unit; write for example '500 mL'; allowed is 50 to 50000 mL"),
        ("rinsing.bath", "9 oz", "'oz' can be three units"),
        ("rinsing.bath", "5 mL", "5 mL is out of range; allowed is 50 to 50000 mL"),
        ("rinsing.bath", "some", "some is not a number with a unit; allowed is 50 to 50000 mL"),
        ("rinsing.bath", "no", "no is not a number with a unit; allowed is 50 to 50000 mL"),
        ("rinsing.bath", "12:30", "12:30 has the unknown unit ':30'"),
        ("rinsing.bath", "[1 mL, 2 mL]", "is a list where one value is wanted"),
        ("rinsing.bath", "", "has no value; allowed is 50 to 50000 mL"),
        ("rinsing.least_baths", "2.5", "2.5 is not a whole number; allowed is 1 to 12"),
        ("rinsing.bath", "[[1 mL]]", "is a section where one value is wanted"),
        ("rinsing.bath", '"500 mL\\n5"', "500 mL 5 is not one number"),
        ("rinsing.bath", "٥٠٠ mL", "is not a number with a unit"),
        ("rinsing.bath", "\u2212500 mL", "\u2212500 mL is out of range"),
        ("abrasives.stocked", "[{a: b}]", "is a section where one value is wanted"),
        ("abrasives.stocked", "&a [*a]", "is a section where one value is wanted"),
        ("abrasives.stocked", "[]", "needs at least 1"),
        ("house.date", "2026-13-45", "2026-13-45 is no day of the calendar; allowed is text like 2026-11-25"),
        ("house.date", "tomorrow", "tomorrow does not fit; allowed is text like 2026-11-25"),
        ("rinsing.limit", "20 mg/L", "20 mg/L is not below rinsing.start"),
    ],
)
def test_each_fault_names_line_key_value_and_what_is_allowed(standard, key, value, says):
    text, line = changed_standard(TEXT, key, value)
    (fault,) = standard(text)
    assert fault.startswith(f"{SHOWN}:{line}: {key}: ")
    assert says in fault
    assert "allowed is" in fault


def test_numbers_are_read_as_written_not_as_yaml_types(standard):
    assert standard(changed_standard(TEXT, "rinsing.bath", "5e2 mL")[0]) == []
    assert standard(changed_standard(TEXT, "rinsing.bath", "0.5 L")[0]) == []
    assert standard(changed_standard(TEXT, "rinsing.bath", "17 floz")[0]) == []


def test_unknown_key_suggests_the_nearest(standard):
    (fault,) = standard(TEXT.replace("  least_baths: 3", "  least_baths: 3\n  # why\n  leest_bath: 3"))
    assert "rinsing.leest_bath: unknown key; did you mean 'rinsing.least_baths'?" in fault
    assert "allowed here is film, bath" in fault


def test_unknown_section(standard):
    (fault,) = standard(TEXT + "\nrinsin:\n  # why\n  film: 1 mL/m^2\n")
    assert "rinsin: unknown key; did you mean 'rinsing'?" in fault


def test_missing_key(standard):
    (fault,) = standard(without("rinsing.bath"))
    assert fault.startswith(f"{SHOWN}:1: rinsing.bath: is missing (water in one rinse bath); allowed is")


def test_duplicate_key(standard):
    text, line = changed_standard(TEXT, "rinsing.film", "215 mL/m^2")
    lines = text.split("\n")
    lines.insert(line, "  film: 100 mL/m^2  # again")
    (fault,) = standard("\n".join(lines))
    assert fault == (
        f"{SHOWN}:{line + 1}: rinsing.film: is set twice, first in line {line}; keep one of them"
    )


def test_a_value_without_its_reason(standard):
    text, line = changed_standard(TEXT, "rinsing.bath", "500 mL")
    lines = text.split("\n")
    del lines[line - 2]
    (fault,) = standard("\n".join(lines))
    assert f"{SHOWN}:{line - 1}: rinsing.bath: 500 mL has no reason" in fault


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("rinsing.bath", "rinsing.bath: is no key"),
        ("<<", "<<: is no key"),
        ("? [a]\n", "a list or section: is no key"),
        ('""', ": is no key"),
    ],
)
def test_a_key_is_one_plain_name(standard, key, said):
    (fault,) = standard(f"{TEXT}{key}: 300 mL\n")
    assert said in fault
    assert "allowed is one name of letters" in fault


def test_a_fault_never_buries_its_message_in_a_long_value(standard):
    (fault,) = standard(changed_standard(TEXT, "rinsing.bath", "x" * 5000)[0])
    assert "x... is not a number with a unit; allowed is 50 to 50000 mL" in fault
    assert len(fault) < 300
    (fault,) = standard(f"{TEXT}\0")
    assert "\n" not in fault
    assert "control characters are not allowed" in fault


def test_broken_yaml_is_one_fault_with_its_line(standard):
    text, line = changed_standard(TEXT, "rinsing.bath", "[500 mL")
    (fault,) = standard(text)
    assert fault.startswith(f"{SHOWN}:")
    assert line <= int(fault.split(":")[1]) <= line + 3
    assert "not readable as YAML" in fault


@pytest.mark.parametrize("text", ["", "- a\n- b\n", "just words\n"])
def test_a_file_that_is_no_standard(standard, text):
    faults = standard(text)
    assert faults[0].startswith(f"{SHOWN}:1: ")


def test_a_file_in_another_encoding_names_the_line(tmp_path):
    path = tmp_path / "house.yml"
    path.write_bytes("a: b\n# größe\n".encode("latin-1"))
    with pytest.raises(HouseFaults, match=r"^house\.yml:2: is not UTF-8 text; save it as UTF-8$"):
        house_module.load(path, None, tmp_path)
    with pytest.raises(HouseFaults, match=r"cannot be read: Is a directory"):
        house_module.load(STANDARD, tmp_path, tmp_path)


def test_all_faults_in_one_run_in_order_of_line(standard):
    text, first = changed_standard(TEXT, "specimen.kerf", "186 g")
    text, second = changed_standard(text, "rinsing.bath", "5 mL")
    text, third = changed_standard(text, "rinsing.ph_margin", "wide")
    faults = standard(text)
    assert [int(fault.split(":")[1]) for fault in faults] == [first, second, third]


def test_overlay_changes_a_value_and_faults_name_its_file(standard, tmp_path):
    assert standard(TEXT, "rinsing:\n  # our beakers are small\n  bath: 250 mL\n") == []
    merged = house_module.load(tmp_path / "docs" / "house-standard.yml", tmp_path / "our-bench.yml")
    assert merged["rinsing.bath"] == 250
    assert merged["rinsing.film"] == 215
    assert merged.entry("rinsing.bath").file.endswith("our-bench.yml")
    (fault,) = standard(TEXT, "rinsing:\n  # why\n  bath: 5 mL\n")
    assert fault.startswith("our-bench.yml:3: rinsing.bath: 5 mL is out of range")


def test_overlay_may_add_an_entry_to_a_family_or_change_one_field_of_one(standard, tmp_path):
    changed = "coating:\n  kinds:\n    acrylic-brush:\n      # slow room\n      touch_dry: 45 min\n"
    assert standard(TEXT, changed) == []
    faults = standard(TEXT, changed.replace("acrylic-brush", "shellac"))
    assert faults
    assert all(fault.startswith("our-bench.yml:5: coating.kinds.shellac.") for fault in faults)
    (fault,) = standard(TEXT, "coating:\n  kinds:\n    shellac: {}\n")
    assert fault == "our-bench.yml:3: coating.kinds.shellac: is no section of 'key: value' lines"
    (fault,) = standard(TEXT, changed.replace("touch_dry", "touch_dy"))
    assert "our-bench.yml:5: coating.kinds.acrylic-brush.touch_dy: unknown key" in fault
    (fault,) = standard(TEXT, changed.replace("acrylic-brush", "two words"))
    assert "coating.kinds.two words: is no key" in fault


def test_overlay_that_is_not_there(standard, tmp_path):
    with pytest.raises(HouseFaults) as caught:
        house_module.load(STANDARD, tmp_path / "none.yml", tmp_path)
    assert "none.yml:1: there is no such house standard file" in str(caught.value)


def test_the_edition_follows_every_value(standard, tmp_path, house):
    standard(changed_standard(TEXT, "rinsing.bath", "501 mL")[0])
    changed = house_module.load(tmp_path / "docs" / "house-standard.yml")
    assert changed.edition != house.edition
    standard(TEXT.replace("# Common practice: three", "# Other words: three"))
    reworded = house_module.load(tmp_path / "docs" / "house-standard.yml")
    assert reworded.edition == house.edition


def test_an_unknown_house_value_suggests_the_nearest(house):
    with pytest.raises(KeyError, match=r"no house value 'rinsing\.flim'; did you mean 'rinsing\.film'"):
        house["rinsing.flim"]


# --- rules -------------------------------------------------------------------------------------


@pytest.fixture
def only_rules():
    """Declare rules of a test alone; the stages' own come back afterwards."""
    before = dict(rules.RULES)
    rules.RULES.clear()
    yield
    rules.RULES.clear()
    rules.RULES.update(before)


@pytest.mark.parametrize(
    ("declare", "fails", "holds", "says"),
    [
        (rules.below, "20 mg/L", "19.9 mg/L", "is not below rinsing.start, 20 mg/L: why; allowed is less than"),
        (rules.at_most, "20.1 mg/L", "20 mg/L", "is above rinsing.start, 20 mg/L: why; allowed is up to"),
        (rules.above, "20 mg/L", "20.1 mg/L", "is not above rinsing.start, 20 mg/L: why; allowed is more than"),
        (rules.at_least, "19.9 mg/L", "20 mg/L", "is below rinsing.start, 20 mg/L: why; allowed is at least"),
    ],
)  # fmt: skip
def test_a_rule_about_a_pair_is_one_line(standard, only_rules, declare, fails, holds, says):
    declare("rinsing.limit", "rinsing.start", because="why")
    text = changed_standard(TEXT, "rinsing.start", "20 mg/L")[0]
    assert standard(changed_standard(text, "rinsing.limit", holds)[0]) == []
    text, line = changed_standard(text, "rinsing.limit", fails)
    (fault,) = standard(text)
    assert fault == f"{SHOWN}:{line}: rinsing.limit: {fails} {says} 20 mg/L"


def test_a_value_between_two_others(standard, only_rules):
    keys = ("storage.limit_doubtful", "storage.limit_active", "storage.limit_stable")
    rules.between(*keys, because="why")
    low, high = (changed_standard(TEXT, key, "15 %")[0] for key in keys[1:])
    low = changed_standard(low, keys[2], "20 %")[0]
    assert standard(changed_standard(low, keys[0], "15 %")[0]) == []
    (fault,) = standard(changed_standard(low, keys[0], "14.9 %")[0])
    assert "is below storage.limit_active, 15 %: why; allowed is at least 15 %" in fault
    (fault,) = standard(changed_standard(high, keys[0], "15.1 %")[0])
    assert "is above storage.limit_stable, 15 %: why; allowed is up to 15 %" in fault
    (fault,) = standard(changed_standard(low, keys[2], "10 %")[0])
    assert "storage.limit_active: 15 % is above storage.limit_stable, 10 %" in fault


def test_a_pair_is_compared_whatever_the_units_it_is_written_in(standard, only_rules):
    rules.below("rinsing.limit", "rinsing.start", because="why")
    text = changed_standard(TEXT, "rinsing.start", "0.02 g/L")[0]
    assert standard(changed_standard(text, "rinsing.limit", "19000 ug/L")[0]) == []
    (fault,) = standard(changed_standard(text, "rinsing.limit", "20 mg/L")[0])
    assert "20 mg/L is not below rinsing.start, 0.02 g/L" in fault
    # Fields declared in different units: a wait in days against one in hours.
    rules.RULES.clear()
    rules.at_least("coating.watch", "drying.air_dry", because="why")
    text = changed_standard(TEXT, "drying.air_dry", "168 h")[0]
    assert standard(changed_standard(text, "coating.watch", "7 d")[0]) == []
    rules.RULES.clear()
    rules.above("coating.watch", "drying.air_dry", because="why")
    (fault,) = standard(changed_standard(text, "coating.watch", "7 d")[0])
    assert "is not above drying.air_dry, 168 h" in fault


def test_a_value_without_its_unit_is_told_with_it(standard, only_rules):
    rules.below("drying.solvent_water", "drying.water_limit", because="why")
    text = changed_standard(TEXT, "drying.water_limit", "2")[0]
    (fault,) = standard(changed_standard(text, "drying.solvent_water", "3 %")[0])
    assert "is not below drying.water_limit, 2 %: why; allowed is less than 2 %" in fault


def breaks_off(house):
    """A rule that raises."""
    yield from ()
    raise ZeroDivisionError("division by zero")


def misspells(house):
    """A rule that asks for what no stage declares."""
    if house["rinsing.flim"] > 0:
        yield "rinsing.film", "is wrong"


def complains_of_nothing_known(house):
    """A rule whose complaint is about a key that is not there."""
    yield "rinsing.flim", "is wrong"


def says_too_little(house):
    """A rule that forgets the key."""
    yield "is wrong"


def returns_nothing(house):
    """A rule that is no generator."""


def refuses(house):
    """A rule that lets a refusal out."""
    yield "rinsing.film", CATALOGUE["soaks-needed"](1.0, 0.5, 1.0, 0.0)


@pytest.mark.parametrize(
    ("broken", "says"),
    [
        (breaks_off, "ZeroDivisionError: division by zero"),
        (misspells, "no house value 'rinsing.flim'; did you mean 'rinsing.film'?"),
        (complains_of_nothing_known, "no house value 'rinsing.flim'"),
        (says_too_little, "ValueError"),
        (returns_nothing, "TypeError"),
        (refuses, "soaks-needed"),
    ],
)
def test_a_rule_that_fails_is_a_fault_with_its_name_and_place(standard, only_rules, broken, says):
    rules.rule("rinsing.film", "rinsing.bath")(broken)
    line = broken.__code__.co_firstlineno
    (fault,) = standard(TEXT)
    assert fault.startswith(
        f"tests/test_house.py:{line}: rule {broken.__name__}: fails instead of complaining"
    )
    assert says in fault
    assert fault.endswith("mend the rule, which reads rinsing.film, rinsing.bath")
    # It hides no fault of a value.
    assert len(standard(changed_standard(TEXT, "specimen.kerf", "186 g")[0])) == 2


def test_a_rule_about_a_key_that_no_stage_declares_is_a_fault(standard, only_rules):
    rules.below("rinsing.limit", "rinsing.strat", because="why")
    line = inspect.stack()[0].lineno - 1
    (fault,) = standard(TEXT)
    assert fault.startswith(f"tests/test_house.py:{line}: rule rinsing.limit less than rinsing.strat: ")
    assert "reads rinsing.strat, which no stage declares" in fault
    rules.RULES.clear()
    rules.below("rinsing.bath", "specimen.two_people", because="litres against grams")
    (fault,) = standard(TEXT)
    assert "ValueError" in fault
    assert "does not convert" in fault


@pytest.mark.long
def test_a_rule_waits_for_values_that_are_themselves_faulty(standard):
    """Each value of the standard in turn is faulty: never a fault of a rule, always that of the value."""
    for key in house_module.SETTINGS:
        if is_of_piece(key):
            continue
        text, line = changed_standard(TEXT, key, "[[a]]")
        faults = standard(text)
        assert faults[0].startswith(f"{SHOWN}:{line}: {key}: "), key
        assert not [fault for fault in faults if "fails instead" in fault], key


@pytest.mark.long
def test_no_values_within_their_ranges_make_a_rule_fail(house):
    """House values anywhere in their ranges, ends included: rules complain, and none fails."""
    draw = random.Random(2026)
    for _ in range(300):
        entries = {}
        for key, entry in house.entries.items():
            value = entry.value if draw.random() < 0.5 else anything(draw, entry.field, entry.value)
            entries[key] = dataclasses.replace(entry, value=value)
        faults = rules.apply(house_module.House(entries, []), house_module._is_declared, sound=True)
        assert not [str(fault) for fault in faults if "fails instead" in fault.text]


def anything(draw, field, value):
    """Return a value that a field allows."""
    if field.optional and draw.random() < 0.3:
        return None
    if isinstance(field, Count):
        return draw.randint(int(field.low), int(field.high))
    if isinstance(field, Quantity):
        return draw.choice([field.low, field.high, draw.uniform(field.low, field.high)])
    if isinstance(field, Several):
        return draw.sample(list(field.names()), draw.randint(1, len(field.names())))
    if isinstance(field, Choice):
        return draw.choice(list(field.names()))
    return value


LONG_OVERLAYS = {
    "unknown sections": lambda count: "".join(f"key{i}: 3 mm\n" for i in range(count)),
    "unknown keys": lambda count: "rinsing:\n" + "".join(f"  film{i}: 3 mm\n" for i in range(count)),
    "entries of a family": lambda count: (
        "coating:\n  kinds:\n" + "".join(f"    kind{i}:\n      wet_limit: 60 um # x\n" for i in range(count))
    ),
    "a family on one line": lambda count: (
        "coating: {kinds: {" + ", ".join(f"kind{i}: {{wet_limit: 60 um}}" for i in range(count)) + "}} # x\n"
    ),
    "one key again and again": lambda count: "rinsing:\n" + "  film: 100 mL/m^2 # x\n" * count,
    "comments": lambda count: "rinsing:\n" + "  # reason\n" * count + "  film: 100 mL/m^2\n",
}


@pytest.mark.parametrize("kind", LONG_OVERLAYS)
@pytest.mark.long
def test_a_long_overlay_takes_work_in_proportion_to_its_length(kind, tmp_path):
    def work(count):
        path = tmp_path / f"{count}.yml"
        path.write_text(LONG_OVERLAYS[kind](count), encoding="utf-8")

        def load():
            with contextlib.suppress(HouseFaults):  # most of these overlays are nothing but faults
                house_module.load(STANDARD, path, tmp_path)

        return steps(load)

    most = 40 if "family" in kind else 320  # each entry of a family lacks twenty values
    work(1)  # what the process remembers from here on is no work of any overlay
    base = work(1)
    short, long = work(most // 8) - base, work(most) - base
    assert 0 < long < 12 * short, (base, short, long)  # eight times the lines; 64 were quadratic


# --- spans, and what a value rests on ---------------------------------------------------------


def overlaid(folder, text):
    path = folder / "ours.yml"
    path.write_text(text, encoding="utf-8")
    return house_module.load(overlay=path)


def test_a_value_with_its_span(house):
    entry = house.entry("electrolysis.diffusivity")
    assert (entry.value, entry.span) == (1e-11, (2e-12, 1e-10))
    assert entry.show() == "1×10⁻¹¹\u00a0m²/s (2×10⁻¹² to 1×10⁻¹⁰)"
    assert house.entry("rinsing.bath").span is None


def test_a_span_is_shown_in_the_unit_it_was_written_in(tmp_path):
    entry = overlaid(tmp_path, "rinsing:\n  # Guess: why\n  bath: 1 L (0.5 L to 2000 mL)\n").entry(
        "rinsing.bath"
    )
    assert entry.show() == "1\u00a0L (0.5 to 2)"
    assert entry.span == pytest.approx((500, 2000))


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("rinsing.bath", "500 mL (600 to 900)", "is not between the ends of its span"),
        ("rinsing.bath", "500 mL (5 to 900)", "has a span whose low end is out of range; allowed is 50 to"),
        ("rinsing.bath", "500 mL (100 to 90000)", "has a span whose high end is out of range"),
        ("rinsing.bath", "500 mL (100 mL to 900 g)", "has a span whose high end is in 'g'"),
        ("rinsing.least_baths", "3 (2 to 4)", "is a value with a span, where one value is wanted"),
    ],
)
def test_a_span_that_cannot_be(standard, key, value, says):
    (fault,) = standard(changed_standard(TEXT, key, f'"{value}"')[0])
    assert says in fault


def test_every_value_of_the_standard_says_what_it_rests_on(house):
    silent = [key for key, entry in house.entries.items() if not entry.grade and not is_of_piece(key)]
    assert silent == []
    grades = {entry.grade for key, entry in house.entries.items() if not is_of_piece(key)}
    assert grades == set(house_module.GRADES)


def test_what_has_a_span_is_no_decision(house):
    spanned = [entry for entry in house.entries.values() if entry.span]
    assert len(spanned) > 10
    assert "Chosen" not in {entry.grade for entry in spanned}


def test_the_edition_knows_the_spans(tmp_path, house):
    text = "rinsing:\n  # Guess: why\n  bath: 500 mL (400 to 600)\n"
    assert overlaid(tmp_path, text).edition != house.edition
