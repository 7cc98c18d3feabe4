"""Every check value against ours, and its grade told truly: outside, rederived, habit or memory."""

import re
from collections import Counter

from support import ROOT, for_each

from handbook_calc.engine.calculation import CATALOGUE, Number
from handbook_calc.engine.checks import checks, unchecked
from handbook_calc.engine.sources import GRADE_OF_ORIGIN, GRADES, ORIGINS, sources

ALL = checks()
# What is printed, or defined, to more digits than a measurement has.
MANY_DIGITS = {"cover-gallon", "salt-gallon", "ellipsoid-exact", "earth"}
# Words with which a row says that its number was worked out here.
WORKED_OUT_HERE = re.compile(
    r"work(ed)? (out|back) here|worked back|solved here|computed here|fitted to this row"
)


@for_each("check", ALL)
def test_ours_agrees(check):
    ours = check.ours()
    title = sources()[check.source].title
    assert check.holds(ours), (
        f"{check}: {check.calculation} gives {ours} {check.unit}, "
        f"{title} ({check.place}; {check.grade}) has {check.expected} +- {check.tolerance}"
    )


def test_every_row_says_where_it_is_from_and_why_its_tolerance():
    for check in ALL:
        assert check.place, check
        assert check.why, check
    assert [name for name, count in Counter((c.file, c.id) for c in ALL).items() if count > 1] == []


def test_every_origin_has_a_grade():
    assert set(GRADE_OF_ORIGIN) == set(ORIGINS)
    assert set(GRADE_OF_ORIGIN.values()) == set(GRADES)


def test_a_number_worked_out_here_is_no_outside_one():
    """Not even where the source that it is worked out from is published."""
    assert [
        str(c) for c in ALL if c.grade == "outside" and WORKED_OUT_HERE.search(f"{c.place} {c.why}")
    ] == []


def test_what_was_worked_out_from_a_published_source_says_so():
    """A rederived row under a published source tells what is the source's and what is ours."""
    silent = [
        str(c)
        for c in ALL
        if c.grade == "rederived" and c.tolerance and sources()[c.source].origin == "published"
        if not re.search(r"\bhere\b|\bformula\b", f"{c.place} {c.why}")
    ]
    assert silent == []


@for_each("check", [c for c in ALL if c.origin == "published" and c.tolerance])
def test_a_printed_number_has_the_digits_of_print(check):
    """More digits than anybody prints are a sign that the number was computed here."""
    digits = re.sub(r"e.*$", "", check.expected).replace(".", "").strip("-0")
    assert len(digits) <= 6 or check.id in MANY_DIGITS, check


@for_each("name", CATALOGUE)
def test_every_calculation_is_checked_outside_or_says_why_not(name):
    found = [check for check in ALL if check.calculation == name]
    assert len(found) >= 2
    outside = [check for check in found if check.bears_weight]
    if name in unchecked():
        assert outside == [], f"{name} has an outside number: take it off data/unchecked.csv"
    else:
        assert outside, f"{name} has no outside number: give it one, or a reason in data/unchecked.csv"


def test_only_calculations_stand_in_the_list_of_those_without_an_outside_number():
    assert set(unchecked()) - set(CATALOGUE) == set()


@for_each("name", unchecked())
def test_an_answer_in_words_is_not_the_reason_where_there_are_numbers(name):
    if unchecked()[name].startswith("answers in words"):
        assert [r.name for r in CATALOGUE[name].results if isinstance(r, Number)] == []


def test_every_citation_tells_its_edition_and_its_place():
    """Where it cannot, it says that it was not at hand, undated or worked here."""
    assert [s.key for s in sources().values() if s.edition.strip(" -.") == ""] == []
    assert [s.key for s in sources().values() if s.place.strip(" -.") == ""] == []


def test_facts_of_the_trade_for_tests_stay_in_the_tests():
    told = re.compile(
        r"\b2(\.0)? (US )?fl ?oz\b|two (US )?(fluid )?ounces|\b0\.02 A\b|\b2\.2 A\b|about a week for", re.I
    )
    for folder in ("docs", "handbook_calc"):
        for path in (ROOT / folder).rglob("*"):
            if path.suffix in {".md", ".yml", ".csv", ".py"}:
                assert told.findall(path.read_text(encoding="utf-8")) == [], path


def test_a_wrong_value_would_be_seen():
    check = next(check for check in ALL if check.id == "three-rinses")
    assert check.holds(0.125)
    assert not check.holds(0.125 * 1.001)
    assert not check.holds("refused small-bath")
