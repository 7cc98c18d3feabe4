"""What a page loads of ours, in bytes: before it is touched, and once its calculators are used.

The book is left out: it is one file with everything, and has a limit of its own.
"""

import re

import pytest
from support import ROOT

from handbook_calc import desk, own, reasons
from handbook_calc.engine import forms

UNTOUCHED = 60_000  # the scripts and data that a page names
PARTS = 60_000  # formulas and declarations of all calculators of a page, each opened
# Two calculators of this page hold every pair of substances that must not meet, each with its sentence.
MORE_PARTS = {"calculators/waste.html": 80_000}
# Reader of what is typed, units, checks, intervals, fields and answers: the same for every calculator.
ENGINE = 98_000
US = 15_500  # what turns a page into US units
SOMETIMES = 13_000  # rows to fill in, and curves
LATER = {
    *forms.WITH_WHOLE, own.SCRIPT, reasons.SCRIPT, desk.SCRIPT, "desk.js", "patch.js", "us.js",
    "plan.js", "plan-data.js", "log.js", "log-data.js", *(f"bench/{name}" for name in forms.ALONE if name != "today.js"),
}  # fmt: skip


def pages(built):
    return [path for path in sorted(built.rglob("*.html")) if path.name != "handbook.html"]


def named_scripts(built, path) -> list[str]:
    """Return our scripts that a page names, by their way from the folder of assets."""
    assets = (built / "assets").resolve()
    named = re.findall(r'<script\b[^>]*\ssrc="([^"]+)"', path.read_text(encoding="utf-8"))
    scripts = [(path.parent / name).resolve().relative_to(assets).as_posix() for name in named]
    return [name for name in scripts if not name.startswith("javascripts/")]  # those are the theme's


def weight(built, names) -> int:
    return sum((built / "assets" / name).stat().st_size for name in names)


def calculators(path) -> set[str]:
    return set(re.findall(r'data-calculation="([^"]+)"', path.read_text(encoding="utf-8")))


def test_every_page_is_light_before_it_is_touched_and_names_nothing_that_is_for_later(real_site):
    heavy = {}
    for path in pages(real_site):
        names = named_scripts(real_site, path)
        assert not LATER & set(names), path
        assert names.count(forms.BEGIN) == bool(calculators(path)), path
        heavy[path.relative_to(real_site).as_posix()] = weight(real_site, names)
    assert len(heavy) > 80
    assert {name: size for name, size in heavy.items() if size > UNTOUCHED} == {}


def test_the_calculators_of_a_page_are_light_once_each_is_used(real_site):
    sizes = {}
    for path in pages(real_site):
        if calculators(path):
            name = path.relative_to(real_site).as_posix()
            sizes[name] = weight(real_site, map(forms.part_name, calculators(path)))
    assert len(sizes) > 30
    assert {name: size for name, size in sizes.items() if size > MORE_PARTS.get(name, PARTS)} == {}
    for name in MORE_PARTS:
        assert sizes[name] > PARTS, f"{name} needs no limit of its own any more"


def test_what_works_every_calculator_is_of_a_stated_weight(real_site):
    engine = weight(real_site, [forms.READER, forms.JOINED])
    assert 0.9 * ENGINE < engine < ENGINE
    assert weight(real_site, [f"bench/{name}" for name in forms.SOMETIMES]) < SOMETIMES


def test_what_turns_a_page_into_us_units_is_of_a_stated_weight(real_site):
    assert weight(real_site, ["us.js"]) < US


@pytest.fixture(scope="module")
def published(real_site):
    return [path for path in (real_site / "assets").rglob("*.js") if "javascripts" not in path.parts]


def test_scripts_are_published_without_comments_of_their_own_lines_and_without_indents(published):
    assert len(published) > 150
    for path in published:
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"^(?:\s|/\*[^\n]*\*/$|//)", text, re.MULTILINE), path.name


def test_no_text_of_a_script_goes_over_several_lines():
    """Publishing takes the indents off, which would change it."""
    for path in [
        *(ROOT / "docs" / "assets").glob("*.js"),
        *(ROOT / "docs" / "assets" / "bench").glob("*.js"),
    ]:
        for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), 1):
            marks = line.replace("@`]", "").count("`")  # which stands in two patterns
            assert marks % 2 == 0, f"{path.name}:{number}"
