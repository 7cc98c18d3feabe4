"""The house standard: what is accepted, and the exact words of each fault."""

import pytest
from support import STANDARD, changed_standard

from handbook_calc.engine import house as house_module
from handbook_calc.engine.faults import HouseFaults

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
    assert all(entry.reason for entry in house.entries.values())


def test_values_keep_how_they_were_written(house):
    assert house.entry("rinsing.film").show() == "215\u00a0mL/m²"
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
        ("house.date", "2026-13-45", "2026-13-45 does not fit; allowed is text like 2026-11-25"),
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
    text, line = changed_standard(TEXT, "rinsing.film", "215 mL/m^2")
    lines = text.split("\n")
    del lines[line - 2]
    (fault,) = standard("\n".join(lines))
    assert f"{SHOWN}:{line - 1}: rinsing.film: 215 mL/m^2 has no reason" in fault


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
    text, first = changed_standard(TEXT, "piece.mass", "186 mm")
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
