"""The real pages, as text: sections in order, no hand-typed quantity, nothing unfinished."""

import re

import pytest
from support import ROOT

from handbook_calc.engine.directives import ASKED, find

DOCS = ROOT / "docs"
PROCEDURES = sorted((DOCS / "procedures").glob("*.md"))
SECTIONS = [
    "Purpose",
    "When to use it, and when not",
    "Cautions",
    "You need",
    "Set up",
    "Steps",
    "Hold point",
    "What goes wrong",
    "Record",
    "Waste",
    "Sources",
]
NAMES_WITH_DIGITS = re.compile(r"\b(?:2-propanol|G[0-5]|CO2|H2|pH)\b")
NUMBER_WORDS = (
    "one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|thirty|forty|fifty|"
    "sixty|ninety|hundred|thousand|half an?|a quarter of an?|a couple of|several|a few"
)
UNIT_WORDS = (
    "seconds?|minutes?|hours?|days?|weeks?|months?|years?|degrees?|percent|per cent|"
    "millimetres?|centimetres?|metres?|inch(?:es)?|micrometres?|grams?|kilograms?|milligrams?|ounces?|"
    "pounds?|litres?|millilitres?|drops?|volts?|amps?|amperes?|watts?"
)
WORDED = re.compile(rf"\b(?:{NUMBER_WORDS})[ -](?:{UNIT_WORDS})\b", re.IGNORECASE)


def hand_typed(markdown: str) -> list[str]:
    """Return every quantity of a page that does not come from a directive, with its line."""
    asked_lines = {asked.line for asked in find(markdown)}
    found = []
    in_front_matter = markdown.startswith("---\n")
    for number, line in enumerate(markdown.split("\n"), 1):
        if in_front_matter:
            in_front_matter = not (number > 1 and line == "---")
            continue
        text = ASKED.sub(" ", line) if number in asked_lines else line
        text = re.sub(r'<span class="as-printed">.*?</span>', " ", text)
        text = re.sub(r"\]\([^)]*\)|\{[^}]*\}|`[^`]*`", " ", text)
        text = re.sub(r"^\s*(?:\d+[.)]|[-*])\s", " ", text)
        text = NAMES_WITH_DIGITS.sub(" ", text)
        if re.search(r"\d", text) or WORDED.search(text):
            found.append(f"{number}: {line.strip()}")
    return found


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_no_hand_typed_quantity(path):
    assert hand_typed(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    "line",
    [
        "Heat to 105 °C.",
        "Wait two hours.",
        "Sand with P400.",
        "Leave it for half an hour.",
        "Use 3 baths of {{ value rinsing.bath }}.",
        "| dry | 24 h |",
        "Take a few drops.",
    ],
)
def test_a_hand_typed_quantity_is_seen(line):
    assert hand_typed(f"# T\n\n{line}\n") == [f"3: {line}"]


@pytest.mark.parametrize(
    "line",
    [
        "1. Heat to {{ value drying.oven_temperature }} with two people.",
        'Ordinary <span class="as-printed">96 %</span> spirit, or 2-propanol.',
        "Grade G3 or worse: see [the page](x-2.md#part-3).",
        '{{ calc rinse-baths drag_out="2 mL" }}',
    ],
)
def test_what_is_no_hand_typed_quantity(line):
    assert hand_typed(f"# T\n\n{line}\n") == []


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_sections_stand_in_their_order(path):
    headings = re.findall(r"^## (.+)$", path.read_text(encoding="utf-8"), re.MULTILINE)
    assert headings == SECTIONS


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_a_procedure_can_be_followed(path):
    text = path.read_text(encoding="utf-8")
    part = {name: body for name, body in re.findall(r"^## (.+)\n([\s\S]*?)(?=^## |\Z)", text, re.MULTILINE)}
    assert len(re.findall(r"^\d+\. ", part["Steps"], re.MULTILINE)) >= 5
    assert "On no" in part["Hold point"]
    assert re.search(r"^!!! (danger|warning)", part["Cautions"], re.MULTILINE)
    assert re.search(r"^\s+!!! (danger|warning)", part["Steps"], re.MULTILINE), "no caution beside a step"
    assert "safety data sheet" in text
    assert "edition" in part["Record"]
    assert "sources-and-checks.md" in part["Sources"]
    assert len(find(text)) >= 5


@pytest.mark.parametrize("path", sorted(DOCS.rglob("*.md")), ids=lambda path: path.stem)
def test_nothing_is_unfinished_and_nothing_is_promised(path):
    text = path.read_text(encoding="utf-8").lower()
    for word in ("todo", "fixme", "lorem ipsum", "coming soon", "placeholder", "rust-free", "guarantee"):
        assert word not in text
    assert text.startswith("# ") or text.startswith("---\n")


@pytest.mark.parametrize("path", sorted((DOCS / "reference").glob("*.md")), ids=lambda path: path.stem)
def test_no_hand_typed_quantity_in_reference(path):
    assert hand_typed(path.read_text(encoding="utf-8")) == []


def test_each_disagreement_says_claim_evidence_and_what_this_house_does():
    text = (DOCS / "reference" / "disagreements.md").read_text(encoding="utf-8")
    quarrels = re.findall(r"^### (.+)\n([\s\S]*?)(?=^##|\Z)", text, re.MULTILINE)
    assert len(quarrels) >= 15
    for title, told in quarrels:
        assert title.endswith("?")
        parts = re.findall(r"^- \*\*(\w+)\.\*\* ", told, re.MULTILINE)
        assert parts[:3] == ["Claimed", "Evidence", "Here"], title


def test_spelling():
    """Common misspellings, by the word list of codespell; invented names and our own terms are fine."""
    import subprocess
    import sys

    places = [
        ROOT / "docs",
        ROOT / "handbook_calc",
        ROOT / "hooks",
        ROOT / "README.md",
        ROOT / "DEVELOPERS.md",
    ]
    command = [
        sys.executable,
        "-m",
        "codespell_lib",
        "--skip=*.js,*.png,*.svg,*.pyc",
        "-L",
        "sting,stings,nevers,fo",
        *map(str, places),
    ]
    found = subprocess.run(command, capture_output=True, text=True, check=False)
    assert found.stdout == ""
