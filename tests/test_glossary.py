"""The glossary, its tooltips on pages, and that no abbreviation is left to be guessed."""

import re

from support import ROOT, for_each

from handbook_calc.engine.registers import REGISTERS
from handbook_calc.engine.tables import TABLES, Banner, shown

GLOSSARY = ROOT / "docs" / "reference" / "glossary.md"
ENTRIES = re.findall(r"^(\S.*)\n:   (.+)$", GLOSSARY.read_text(encoding="utf-8"), re.MULTILINE)
CODE = re.compile(r"```.*?```|`[^`\n]*`|\{\{.*?\}\}|\]\([^)]*\)", re.DOTALL)
# Part of the bench's piece numbers, and a country.
NO_ABBREVIATION = {"LY", "US"}


def abbreviations(text: str) -> set[str]:
    return set(re.findall(r"\b[A-Z]{2,}\b", CODE.sub(" ", text))) - NO_ABBREVIATION


def left_to_be_guessed(text: str) -> set[str]:
    """Return the abbreviations that neither the glossary nor the text itself explains."""
    known = {term for term, _ in ENTRIES}
    return {short for short in abbreviations(text) if short not in known and f"({short})" not in text}


def plain(term: str) -> str:
    return term.strip("*").lower().replace("ä", "a").replace("é", "e")


def test_about_eighty_terms_in_alphabetical_order_each_once():
    terms = [plain(term) for term, _ in ENTRIES]
    assert len(terms) >= 75
    assert terms == sorted(set(terms))


@for_each("term, meaning", ENTRIES)
def test_a_meaning_is_one_short_sentence_without_figures_or_markup(term, meaning):
    assert len(meaning) <= 140
    assert meaning.endswith(".")
    assert ". " not in meaning
    assert not re.search(r"[\d*_`\[\]{}<>]", meaning)


@for_each("path", sorted((ROOT / "docs").rglob("*.md")))
def test_every_abbreviation_of_a_page_is_explained(path):
    assert left_to_be_guessed(path.read_text(encoding="utf-8")) == set()


@for_each("name", [name for name in TABLES if name not in REGISTERS])
def test_every_abbreviation_of_a_table_is_explained(name, filled):
    filled = filled(name)
    cells = [
        shown(cell, column)
        for row in filled.rows
        if not isinstance(row[0], Banner)
        for cell, column in zip(row, filled.columns, strict=True)
    ]
    heads = [f"{column.group} {column.title}" for column in filled.columns]
    assert left_to_be_guessed(" ".join([filled.title, *heads, *cells, *filled.notes])) == set()


def test_an_abbreviation_nobody_explains_is_seen():
    assert left_to_be_guessed("Keep the VOC low and the RH too.") == {"VOC"}
    assert left_to_be_guessed("Volatile organic compounds (VOC); VOC again, and `CODE`.") == set()


def test_terms_have_a_tooltip_on_a_page_and_common_words_have_none(site):
    site.config(markdown_extensions="[abbr, def_list, attr_list, md_in_html, tables]")
    site.page(
        "reference/glossary.md",
        "# Glossary\n\nbead\n:   A drop of salty liquid.\n\n*chloride*\n:   A salt.\n\nnital\n:   Acid in ethanol.\n",
    )
    site.page("p.md", "# Etch\n\nNital is mixed fresh. A nital bath, `nital`, chloride, nitals, unital.\n")
    built = site.build()
    assert built.returncode == 0, built.stderr
    html = site.html("p.html")
    tip = '<abbr title="Acid in ethanol.">{}</abbr>'
    for form in ("Nital", "nital", "nitals"):
        assert html.count(tip.format(form)) == 1
    assert "<code>nital</code>" in html
    assert html.count("<abbr") == 3
    assert "<abbr" not in site.html("reference/glossary.html")


def test_the_real_glossary_explains_an_isotherm_and_not_chloride(site):
    site.config(markdown_extensions="[abbr, def_list, attr_list, md_in_html, tables]")
    site.page(
        "reference/glossary.md",
        GLOSSARY.read_text(encoding="utf-8").replace("../keeper/house-standard.md", "../index.md"),
    )
    site.page("p.md", "# Store\n\nAn isotherm, and chloride, at some RH.\n")
    built = site.build()
    assert built.returncode == 0, built.stderr
    html = site.html("p.html")
    meanings = dict(ENTRIES)
    assert f'<abbr title="{meanings["isotherm"]}">isotherm</abbr>, and chloride' in html
    assert f'<abbr title="{meanings["RH"]}">RH</abbr>' in html
    assert site.html("reference/glossary.html").count("<dt>") == len(ENTRIES)
