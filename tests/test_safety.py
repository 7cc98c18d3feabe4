"""Cautions stand where the hazard is: every procedure, and the hazard pages themselves."""

import re
from dataclasses import dataclass

import pytest
from support import ASKED, ROOT
from test_pages import PROCEDURES, hand_typed

from handbook_calc.substances import substance

SAFETY = sorted((ROOT / "docs" / "safety").glob("*.md"))
HAZARD_PAGES = [path for path in SAFETY if path.stem != "index"]
HAZARD_SECTIONS = [
    "What it does to you",
    "Signs",
    "How it starts",
    "Where in this handbook",
    "How to keep it from happening",
    "First steps in an accident",
    "Storage",
    "Waste",
    "What the data sheet and local code decide",
    "Sources",
]


@dataclass(frozen=True)
class Hazard:
    """Words that bring a hazard up in Steps, and what must then be on the page.

    Either a danger or a warning that holds one of the words of `caution`, or a link to one of `pages`.
    """

    name: str
    steps: str
    caution: str
    pages: tuple[str, ...]


HAZARDS = (
    Hazard(
        "acid",
        r"acids?|nitric|nital|etchant|ferric chloride",
        r"acids?|nitric|nital|etchant",
        ("ferric-chloride", "nitric-acid"),
    ),
    Hazard(
        "alkali",
        # What alkali does to a reading is no work with alkali.
        r"caustic|alkali(?! hides)|hydroxide|lye",
        r"caustic|alkali|alkaline|hydroxide",
        ("alkali",),
    ),
    Hazard("hydrogen", r"hydrogen", r"hydrogen", ("hydrogen",)),
    Hazard(
        "solvent",
        r"solvents?|alcohol|ethanol|2-propanol|acetone|lacquer|white spirit",
        r"vapour|flammable|burns|flames?|sparks?|ignition",
        ("alcohols",),
    ),
    Hazard("isocyanate", r"isocyanates?|urethane", r"isocyanates?|urethane", ("isocyanates",)),
    # Not a dust cover, nor dust kept off a bath, nor the black dust that stays in it.
    Hazard(
        "dust",
        r"(?<!against )(?<!graphite )dust(?! cover)|dusty|sanding|grind|grinding|swarf",
        r"dust|nickel|grit|swarf",
        ("dust",),
    ),
    Hazard(
        "heat",
        r"ovens?|hot plate|hot-air gun|hot iron",
        r"ovens?|hot|heat|burns?|warm",
        ("ovens",),
    ),
    Hazard(
        "electricity",
        r"supply|mains|current|volts?",
        r"supply|mains|current|spark|electric\w*|switch\w*",
        ("electricity",),
    ),
    Hazard("blade", r"blade|saw|sawing|band saw|grinder", r"blade|saw|wheel|machine", ("dust",)),
    Hazard("silver", r"silver nitrate", r"silver", ("silver-nitrate",)),
    Hazard(
        "hydrogen sulphide",
        r"rotten eggs?|bad eggs?|rotten-egg|etch(?:ed|ing)? around",
        r"bad[- ]eggs?|rotten[- ]eggs?|hydrogen sulphide|sulphide",
        ("hydrogen-sulphide",),
    ),
    Hazard("compressed air", r"compressed air", r"compressed air", ("dust",)),
)


def words(pattern: str) -> re.Pattern:
    return re.compile(rf"\b(?:{pattern})\b", re.IGNORECASE)


def read_as_text(markdown: str) -> str:
    """Drop directives, and keep of a link only what the reader sees."""
    return re.sub(r"\]\([^)]*\)", "]", ASKED.sub(" ", markdown))


def section_of(markdown: str, name: str) -> str:
    found = re.search(rf"^## {re.escape(name)}\n([\s\S]*?)(?=^## |\Z)", markdown, re.MULTILINE)
    return found[1] if found else ""


def cautions(markdown: str) -> list[str]:
    """Return the text of every danger and warning, heading and body."""
    found = []
    lines = markdown.split("\n")
    for number, line in enumerate(lines):
        opened = re.match(r'^(\s*(?:\d+\.\s+)?)!!! (?:danger|warning)\b(?: "(.*)")?', line)
        if not opened:
            continue
        inside = len(opened[1]) + 4
        body = []
        for later in lines[number + 1 :]:
            if later.strip() and len(later) - len(later.lstrip()) < inside:
                break
            body.append(later)
        found.append(read_as_text("\n".join([opened[2] or "", *body])))
    return found


def uncautioned(markdown: str) -> list[str]:
    """Return the hazards that Steps bring up and nothing on the page warns of.

    A table row that sends the reader to another procedure is left out: its caution stands there.
    """
    steps = re.sub(r"^\s*\|.*\]\([\w-]+\.md.*$", "", section_of(markdown, "Steps"), flags=re.MULTILINE)
    steps = read_as_text(steps)
    given = cautions(markdown)
    linked = set(re.findall(r"\]\(\.\./safety/([\w-]+)\.md", markdown))
    return [
        hazard.name
        for hazard in HAZARDS
        if words(hazard.steps).search(steps)
        and not linked.intersection(hazard.pages)
        and not any(words(hazard.caution).search(caution) for caution in given)
    ]


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_every_hazard_of_the_steps_has_its_caution(path):
    assert uncautioned(path.read_text(encoding="utf-8")) == []


WET = {"acid", "alkali", "solvent", "silver"}
# No liquid stands open there: solvent is named to keep it away, the acid is that of a bead.
DRY = {"decide", "monitor", "oven-dry", "store", "survey"}


def brings_up(markdown: str) -> set[str]:
    """Return the hazards that Steps bring up."""
    steps = read_as_text(section_of(markdown, "Steps"))
    return {hazard.name for hazard in HAZARDS if words(hazard.steps).search(steps)}


def tells_of_a_spill(markdown: str) -> bool:
    """Say whether a row of What goes wrong, by what is seen or by its cause, or a part of Steps is about a spill."""
    rows = re.findall(r"^\|([^|]*)\|([^|]*)\|", section_of(markdown, "What goes wrong"), re.MULTILINE)
    told = [" ".join(row) for row in rows] + re.findall(r"^### .*$", markdown, re.MULTILINE)
    return any(words(r"spills?|spilled|runs out").search(text) for text in told)


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_a_wet_procedure_says_what_to_do_with_a_spill(path):
    markdown = path.read_text(encoding="utf-8")
    assert tells_of_a_spill(markdown) or path.stem in DRY or not WET & brings_up(markdown)


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_what_is_worn_at_a_liquid_lies_ready(path):
    markdown = path.read_text(encoding="utf-8")
    brought = brings_up(markdown) & WET
    if not brought or path.stem in DRY:
        return
    ready = section_of(markdown, "You need").lower()
    worn = {"goggles", "gloves"} | ({"apron"} if brought & {"acid", "alkali", "silver"} else set())
    assert {gear for gear in worn if gear not in ready} == set()


def test_a_page_without_its_spill_is_seen():
    page = "## Steps\n\n1. Pour the acid.\n\n## What goes wrong\n\n| Brown | Acid | Do not spill it |\n"
    assert brings_up(page) == {"acid"}
    assert not tells_of_a_spill(page)
    assert tells_of_a_spill(page.replace("| Brown |", "| Spill of acid |"))


FIGURES = sorted(
    path for folder in ("tables", "calculators") for path in (ROOT / "docs" / folder).glob("*.md")
)
HARMLESS = {"index", "specimen", "storage"}  # what is measured and kept dry


@pytest.mark.parametrize("path", FIGURES, ids=lambda path: f"{path.parent.stem}-{path.stem}")
def test_a_page_of_figures_sends_to_the_cautions_first(path):
    markdown = path.read_text(encoding="utf-8")
    if path.stem in HARMLESS:
        return
    (told,) = cautions(markdown)
    assert "safety data sheet" in " ".join(told.split())
    assert markdown.index("!!! danger") < markdown.index("\n{{ ")


EVERY_PAGE = sorted((ROOT / "docs").rglob("*.md"))
EGGS = re.compile(r"(?:rotten|bad)[ -]eggs?", re.IGNORECASE)


@pytest.mark.parametrize("path", EVERY_PAGE, ids=lambda path: path.stem)
def test_rotten_eggs_send_everybody_out_at_once(path):
    """A row or a caution about the smell says so; the nose soon stops telling, so no sniffing and no finishing."""
    markdown = path.read_text(encoding="utf-8")
    rows = [line for line in markdown.split("\n") if re.match(r"\s*\|[^|]*eggs?", line) and EGGS.search(line)]
    told = [text for text in cautions(markdown) if EGGS.search(text.split("\n")[0])]
    assert [text for text in (*rows, *told) if not re.search(r"\b[Oo]ut\s+at\s+once|Out at once", text)] == []


@pytest.mark.parametrize("path", EVERY_PAGE, ids=lambda path: path.stem)
def test_a_shield_is_worn_over_goggles_and_never_instead(path):
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"goggles or (?:a )?(?:face )?shield|shield or goggles", text, re.IGNORECASE)
    for line in text.split("\n"):
        if re.search(r"nitrile", line, re.IGNORECASE) and re.search(r"concentrated|strong nitric", line):
            assert re.search(
                r"\b(?:no|not|never|no barrier|no protection)\b|Not for", line
            ) or line.startswith("| Thin")


def test_who_stays_out_is_told_and_found_from_the_start():
    text = (ROOT / "docs" / "safety" / "index.md").read_text(encoding="utf-8")
    told = section_of(text, "Who stays out")
    for who in ("Children and pets", "pregnant", "asthma", "alone", "Young people"):
        assert who in told
    for page in ("index.md", "procedures/decide.md"):
        assert "safety/index.md#who-stays-out" in (ROOT / "docs" / page).read_text(encoding="utf-8")


@pytest.mark.parametrize("page", ["safety/ovens.md", "safety/dust.md", "procedures/store.md"])
def test_what_cobalt_does_is_said_from_the_register_and_no_oven_takes_it(page):
    text = (ROOT / "docs" / page).read_text(encoding="utf-8")
    assert "{{ value cobalt-gel.hazards }}" in text
    assert "cancer" in substance("cobalt gel").hazards()
    assert re.search(r"not in any oven|into no oven|do not dry it in an\s+oven", " ".join(text.split()))


# --- a caution stands before the step it is about -------------------------------------------------

WORK = ("Set up", "Steps")
STARTS_ITEM = re.compile(r"^\d+\.\s")
CAUTION = re.compile(r"^\s*(?:\d+\.\s+)?!!! (?:danger|warning)\b")


def after_their_step(markdown: str) -> list[str]:
    """Return the cautions of Set up and Steps that a reader meets after what they are about.

    In a step nothing but another caution may stand before one. A caution at the margin stands before the
    list that it is about, never after one: the steps behind it are done by then.
    """
    found = []
    for name in WORK:
        said = listed = False  # whether the step, or the part under a heading, has told what to do
        for line in section_of(markdown, name).split("\n"):
            if line.startswith("#"):
                said = listed = False
            elif CAUTION.match(line):
                if listed if line.startswith("!") else said and not STARTS_ITEM.match(line):
                    found.append(line.strip())
                said = said and not STARTS_ITEM.match(line)
            elif STARTS_ITEM.match(line):
                said = listed = True
            elif line.startswith("    ") and line.strip():
                said = said or not line.startswith("        ")
    return found


def first_caution(markdown: str, hazard: Hazard) -> int:
    """Return the line in which a page first warns of a hazard, or links its page from a caution; else its end."""
    lines = markdown.split("\n")
    for number, line in enumerate(lines):
        if CAUTION.match(line):
            title, body = line.partition("!!! ")[2], "\n".join(within(lines, number))
            warned = words(hazard.caution).search(read_as_text(f"{title}\n{body}"))
            if warned or any(f"../safety/{page}.md" in body for page in hazard.pages):
                return number
    return len(lines)


def within(lines: list[str], number: int) -> list[str]:
    """Return the lines of the body of a caution."""
    found = re.match(r"\s*(?:\d+\.\s+)?", lines[number])
    margin = len(found[0]) + 4 if found else 4
    body = []
    for later in lines[number + 1 :]:
        if later.strip() and len(later) - len(later.lstrip()) < margin:
            break
        body.append(later)
    return body


def late(markdown: str) -> list[str]:
    """Return the hazards that Set up or Steps bring up before the page has warned of them."""
    at_work, work = False, []
    for number, line in enumerate(markdown.split("\n")):
        if line.startswith("## "):
            at_work = line.removeprefix("## ") in WORK
        # A row that sends to another procedure, or to its caution, is no work here.
        elif at_work and not re.match(r"\s*\|.*\]\([\w-]+\.md", line):
            work.append((number, read_as_text(line)))
    return [
        hazard.name
        for hazard in HAZARDS
        if (brought := [number for number, line in work if words(hazard.steps).search(line)])
        and brought[0] < first_caution(markdown, hazard)
    ]


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_a_caution_stands_before_its_step(path):
    assert after_their_step(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_a_hazard_is_warned_of_before_it_comes_up(path):
    assert late(path.read_text(encoding="utf-8")) == []


BEFORE = '## Steps\n\n1.  Open it.\n\n2.  !!! danger "Acid"\n\n        Goggles.\n\n    Pour the acid.\n'


@pytest.mark.parametrize(
    "page",
    [
        '## Steps\n\n1.  Pour the acid.\n\n    !!! danger "Acid"\n\n        Goggles.\n',
        '## Steps\n\n1.  Pour the acid.\n\n!!! danger "Acid"\n\n    Goggles.\n',
        '## Set up\n\n1. Pour the acid.\n    !!! warning "Acid"\n\n        Goggles.\n',
        '## Steps\n\n1.  !!! note "So"\n\n        Goggles.\n\n    Pour.\n\n    !!! danger "Acid"\n\n        Goggles.\n',
    ],
)
def test_a_caution_after_its_step_is_seen(page):
    assert len(after_their_step(page)) == 1


@pytest.mark.parametrize(
    "page",
    [
        BEFORE,
        BEFORE.replace("    Pour", '    !!! warning "And"\n\n        Gloves.\n\n    Pour'),
        '## Steps\n\n!!! danger "Acid"\n\n    Goggles.\n\n1.  Pour the acid.\n',
        '## Steps\n\n1.  Look.\n\n### Acid\n\n!!! danger "Acid"\n\n    Goggles.\n\n1.  Pour the acid.\n',
        '## Steps\n\n1.  Pour the acid.\n\n    !!! note "So"\n\n        It etches.\n',
    ],
)
def test_a_caution_before_its_step_is_left_alone(page):
    assert after_their_step(page) == []


def test_a_warning_that_comes_too_late_is_seen():
    assert late(BEFORE) == []
    assert late(BEFORE.replace("Open it.", "Pour the acid out.")) == ["acid"]
    assert late(BEFORE.replace("Open it.", "Wipe it with acetone.")) == ["solvent"]
    told = '## Cautions\n\n!!! danger "Vapour"\n\n    Flammable.\n\n'
    assert late(told + BEFORE.replace("Open it.", "Wipe it with acetone.")) == []


STEP = {
    "acid": "Pour the nitric acid.",
    "alkali": "Stir the hydroxide in.",
    "hydrogen": "Wait until the hydrogen has gone.",
    "solvent": "Wipe it with acetone.",
    "isocyanate": "Mix the urethane.",
    "dust": "Brush the dust off.",
    "heat": "Put it into the oven.",
    "electricity": "Switch the supply on.",
    "blade": "Lower the saw.",
    "silver": "Add silver nitrate.",
    "hydrogen sulphide": "Stop at a smell of bad eggs.",
    "compressed air": "Use compressed air.",
}
UNRELATED = '!!! danger "Wet floor"\n\n    Wipe it up.\n'


@pytest.mark.parametrize("hazard", HAZARDS, ids=lambda hazard: hazard.name)
def test_a_page_without_the_caution_is_seen(hazard):
    bad = f"# Bad\n\n## Cautions\n\n{UNRELATED}\n## Steps\n\n1. {STEP[hazard.name]}\n\n## Record\n\nAll.\n"
    assert hazard.name in uncautioned(bad)
    linked = bad.replace("Wipe it up.", f"See [there](../safety/{hazard.pages[0]}.md).")
    assert hazard.name not in uncautioned(linked)


def test_a_caution_beside_the_step_is_enough():
    page = (
        '## Steps\n\n1.  Wipe it with acetone.\n\n    !!! danger "Vapour"\n\n        No flame.\n\n2.  Wait.\n'
    )
    assert uncautioned(page) == []


@pytest.mark.parametrize(
    "page",
    [
        '## Cautions\n\n!!! note "No flame"\n\n    Vapour burns.\n\n## Steps\n\n1. Wipe with acetone.\n',
        '## Cautions\n\n!!! danger "Wet floor"\n\n    Slippery.\n\nNo flame.\n\n## Steps\n\n1. Wipe with acetone.\n',
        "## Steps\n\n1. Wipe with acetone. No flame.\n",
        "## Steps\n\n1. Wipe with acetone.\n\n## Sources\n\n[Dust](../safety/dust.md)\n",
    ],
    ids=["a note", "text after a caution", "plain text", "another hazard's page"],
)
def test_what_is_no_caution(page):
    assert uncautioned(page) == ["solvent"]


def test_only_a_row_that_sends_elsewhere_is_left_out():
    row = "## Steps\n\n| You see | Do |\n|---|---|\n| Beads | Hydroxide soak{} |\n"
    assert uncautioned(row.format(": [Electrolysis](electrolysis.md)")) == []
    assert uncautioned(row.format("")) == ["alkali"]


def test_hazards_outside_the_steps_ask_for_nothing():
    assert uncautioned("## You need\n\n- Acetone, a saw.\n\n## Steps\n\n1. Look at it.\n") == []


@pytest.mark.parametrize("path", HAZARD_PAGES, ids=lambda path: path.stem)
def test_a_hazard_page_says_all_of_it(path):
    text = path.read_text(encoding="utf-8")
    assert re.findall(r"^## (.+)$", text, re.MULTILINE) == HAZARD_SECTIONS
    places = section_of(text, "Where in this handbook")
    stems = {stem for stem in re.findall(r"\.\./procedures/([\w-]+)\.md", places)}
    assert stems, "names no procedure"
    assert stems <= {procedure.stem for procedure in PROCEDURES}
    first = section_of(text, "First steps in an accident").lower()
    assert "emergency service" in first
    assert "comes before this list" in first or "come before this list" in first
    assert "../procedures/waste.md" in section_of(text, "Waste")
    assert "sources-and-checks.md" in section_of(text, "Sources")


@pytest.mark.parametrize("path", HAZARD_PAGES, ids=lambda path: path.stem)
def test_a_hazard_page_is_found_from_the_start_and_from_the_work(path):
    index = (ROOT / "docs" / "safety" / "index.md").read_text(encoding="utf-8")
    assert f"]({path.name}" in index
    linking = [page for page in PROCEDURES if f"../safety/{path.name}" in page.read_text(encoding="utf-8")]
    assert linking


@pytest.mark.parametrize("path", SAFETY, ids=lambda path: path.stem)
def test_no_hand_typed_quantity_on_a_safety_page(path):
    assert hand_typed(path.read_text(encoding="utf-8")) == []


def test_the_first_page_puts_others_before_itself():
    text = (ROOT / "docs" / "safety" / "index.md").read_text(encoding="utf-8")
    notice = " ".join(cautions(text)[0].split())
    for other in ("safety data sheet", "local code", "licensed person"):
        assert other in notice
    assert "Emergency numbers differ" in text
