"""Troubleshooting: enough of it, no figure typed in it, and every remedy leads to a section that is there."""

import re

from markdown.extensions.toc import slugify
from support import ROOT, for_each

from handbook_calc.engine.data import rows
from handbook_calc.engine.registers import questions_table
from handbook_calc.engine.tables import TABLES, Link

ROWS = rows("troubleshooting")


def test_there_are_enough_rows_and_none_stands_twice():
    assert len(ROWS) >= 55
    seen = [(row["stage"], row["seen"]) for row in ROWS]
    assert len(seen) == len(set(seen))


@for_each("row", ROWS)
def test_a_row_is_whole_and_holds_no_figure(row):
    for cell in ("stage", "seen", "cause", "check", "remedy"):
        assert row[cell].strip() == row[cell] != ""
        assert not re.search(r"\d", row[cell]), "a figure stands on the page that the row leads to"
        assert not row[cell].endswith(".")


@for_each("target", sorted({row["page"] for row in ROWS}))
def test_a_remedy_leads_to_a_section(target):
    page, _, anchor = target.partition("#")
    text = (ROOT / "docs" / page.replace(".html", ".md")).read_text(encoding="utf-8")
    headings = re.findall(r"^#{1,4} (.+)$", text, re.MULTILINE)
    assert not anchor or anchor in [slugify(heading, "-") for heading in headings]


def test_every_wet_or_hot_stage_is_in_the_table():
    stages = {row["stage"] for row in ROWS}
    assert stages >= {
        "Electrolysis and soak", "Chloride test", "Rinse", "Dehydrate", "Oven dry", "Etch", "Neutralise", "Coat",
        "Store",
    }  # fmt: skip


def test_the_table_can_be_narrowed_by_stage_and_by_what_is_seen(house):
    filled = TABLES["troubleshooting"].compute(house)
    assert [filled.columns[i].title for i in filled.filters] == ["Stage", "What you see"]
    assert all(isinstance(row[-1], Link) and row[-1].href for row in filled.rows)


def test_nothing_is_touched_where_touching_harms():
    for row in ROWS:
        if re.search(r"bulges|hisses|oven warms", row["seen"]):
            assert re.match(r"Do not touch it|None", row["check"])


def test_the_question_stands_in_the_look_up(house):
    class Bench:
        usage = None

    words = [row[0].word for row in questions_table(Bench()).rows]
    assert TABLES["troubleshooting"].question in words
