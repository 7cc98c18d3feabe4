"""The real pages, as text: sections in order, no hand-typed quantity, nothing unfinished."""

import re

import pytest
from support import ASKED, ROOT
from test_glossary import left_to_be_guessed

from handbook_calc.engine.directives import find

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


UNFINISHED = ("todo", "fixme", "lorem ipsum", "coming soon", "placeholder")
PROMISES = ("rust-free", "guarantee")


def broken_rules(markdown: str) -> list[str]:
    """Return every rule that any page breaks, in the words of DEVELOPERS.md."""
    low = markdown.lower()
    found = [f"holds '{word}': finish it" for word in UNFINISHED if word in low]
    found += [f"holds '{word}': promise nothing" for word in PROMISES if word in low]
    if not markdown.startswith(("# ", "---\n")):
        found.append("does not start with '# Title', or with '---' above it")
    found += [f"abbreviation {word} is explained nowhere" for word in sorted(left_to_be_guessed(markdown))]
    return found


def broken_procedure_rules(markdown: str) -> list[str]:
    """Return every rule that a procedure page breaks, all at once."""
    found = broken_rules(markdown)
    found += [f"hand-typed quantity in line {line}" for line in hand_typed(markdown)]
    headings = re.findall(r"^## (.+)$", markdown, re.MULTILINE)
    if headings != SECTIONS:
        found.append(f"sections are {', '.join(headings)}; they are {', '.join(SECTIONS)}, in this order")
    part = dict.fromkeys(SECTIONS, "")
    part |= dict(re.findall(r"^## (.+)\n([\s\S]*?)(?=^## |\Z)", markdown, re.MULTILINE))
    caution = re.compile(r"^!!! (danger|warning)", re.MULTILINE)
    beside = re.compile(r"^(?:\s+|\d+\.\s+)!!! (danger|warning)", re.MULTILINE)
    for kept, rule in (
        (len(re.findall(r"^\d+\. ", part["Steps"], re.MULTILINE)) >= 5, "Steps has fewer than five steps"),
        (beside.search(part["Steps"]), "Steps has no indented '!!! warning' or '!!! danger' beside a step"),
        (caution.search(part["Cautions"]), "Cautions has no '!!! warning' or '!!! danger'"),
        ("On no" in part["Hold point"], "Hold point does not say what to do 'On no'"),
        ("edition" in part["Record"], "Record does not ask for the edition of the standard"),
        ("sources-and-checks.md" in part["Sources"], "Sources does not link sources-and-checks.md"),
        ("safety data sheet" in markdown, "nothing defers to the safety data sheet"),
        (any(asked.verb == "picture" for asked in find(markdown)), "shows no picture"),
        (len(find(markdown)) >= 5, "fewer than five values, tables or calculators are asked for"),
    ):
        if not kept:
            found.append(rule)
    from test_safety import after_their_step, late, uncautioned  # which read the pages by the rules above

    found += [f"hazard '{name}' of Steps has no caution" for name in uncautioned(markdown)]
    found += [f"hazard '{name}' comes up before its caution" for name in late(markdown)]
    return found + [f"stands after the step it is about: {line}" for line in after_their_step(markdown)]


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_a_procedure_keeps_every_rule(path):
    assert broken_procedure_rules(path.read_text(encoding="utf-8")) == []


OTHERS = [path for path in sorted(DOCS.rglob("*.md")) if path not in PROCEDURES]


@pytest.mark.parametrize("path", OTHERS, ids=lambda path: path.relative_to(DOCS).as_posix())
def test_a_page_keeps_every_rule(path):
    assert broken_rules(path.read_text(encoding="utf-8")) == []


def test_every_broken_rule_of_a_page_is_told_at_once():
    page = "Heat it.\n\n## Steps\n\n1. Wipe with acetone for 5 min, TODO, by VOC.\n"
    told = broken_procedure_rules(page)
    for rule in (
        "holds 'todo'", "does not start", "abbreviation VOC", "hand-typed quantity in line 5: ", "sections are Steps;",
        "fewer than five steps", "beside a step", "Cautions has no", "'On no'", "the edition", "sources-and-checks.md",
        "safety data sheet", "shows no picture", "fewer than five values", "hazard 'solvent'",
    ):  # fmt: skip
        assert any(rule in line for line in told), rule


def test_each_rule_of_a_page_is_written_down_for_who_adds_one():
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for section in SECTIONS:
        assert f"| {section} |" in told
    for word in (
        *UNFINISHED,
        *PROMISES,
        "`On no`",
        "safety data sheet",
        "hand-typed",
        "as-printed",
        "glossary",
    ):
        assert word in told.lower() or word in told, word


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
        "sting,stings,nevers,fo,notin,crate,rouge,singed,tung",
        *map(str, places),
    ]
    found = subprocess.run(command, capture_output=True, text=True, check=False)
    assert found.stdout == ""
