"""The handbook says nothing false for any permitted choice of salt, solvent, coating, anode or tub.

Every page is filled as a reader sees it, once for each choice; what would be false of that choice must not
stand on any page.
"""

import re
from functools import cache

import pytest
from range_walk import kept
from support import ROOT, changed_house

from handbook_calc.electrolysis import SALTS
from handbook_calc.engine import directives
from handbook_calc.engine.data import rows
from handbook_calc.engine.drawings import Drawings
from handbook_calc.engine.faults import HouseFaults
from handbook_calc.engine.render import PageFault, Renderer
from handbook_calc.solvents import FLAMMABLE
from handbook_calc.substances import ROLES, register, substance

PAGES = sorted((ROOT / "docs").rglob("*.md"))
COATINGS = ("acrylic-brush", "acrylic-aerosol", "urethane-brush", "alkyd-brush", "microcrystalline-wax")


def permitted(role: str) -> list[str]:
    return [
        row["material"] for row in rows("bath_materials") if (row["role"], row["verdict"]) == (role, "use")
    ]


CHOICES = [
    *(("electrolysis.salt", salt) for salt in SALTS),
    *(("drying.solvent", solvent) for solvent in FLAMMABLE),
    *(("coating.kind", kind) for kind in COATINGS),
    *(("coating.brush_kind", kind) for kind in COATINGS if kind.endswith("-brush")),
    ("coating.spray_kind", "acrylic-aerosol"),
    ("etching.alcohol", "ethanol"),
    *(("electrolysis.anode", anode) for anode in permitted("anode")),
    *(("electrolysis.tub", tub) for tub in permitted("tub")),
]
TAG = re.compile(r"<[^>]+>")


def chosen(folder, key: str, value: str):
    """Return a house with one choice changed, and what a choice must bring with it."""
    return changed_house(folder, {key: value, **dict(BRINGS.get((key, value), ()))})


# What a house that chooses so must set besides, or the standard itself is refused.
BRINGS = {
    ("drying.solvent", "acetone"): (("drying.diffusivity", "2000 um^2/s (750 to 4680)"),),
    ("drying.solvent", "ethanol"): (("drying.diffusivity", "500 um^2/s (250 to 1240)"),),
}


@cache
def asked(page) -> tuple[str, tuple[directives.Directive, ...]]:
    markdown = page.read_text(encoding="utf-8")
    return markdown, directives.find(markdown)


def read_as_text(renderer: Renderer, page) -> str:
    """Return a page as a reader sees its sentences and cards; tables and calculators are filled and left out.

    Raises:
        PageFault: something on the page cannot be filled for this house.
    """
    markdown, found = asked(page)
    lines = markdown.split("\n")
    for one in sorted(found, key=lambda d: (d.line, d.start), reverse=True):
        line = lines[one.line - 1]
        html = renderer.html_of(one)
        text = TAG.sub("", html) if one.verb in ("value", "cards") else ""
        lines[one.line - 1] = line[: one.start] + text + line[one.end :]
    return " ".join("\n".join(lines).split())


def named(entry) -> str:
    """Return a pattern for a substance by any of its names, and only as a whole word."""
    return rf"\b(?:{'|'.join(map(re.escape, (entry.name, *entry.other)))})\b"


def false_of(house) -> list[tuple[str, re.Pattern]]:
    """Return what would be false of this house: what is wrong, and how it would read."""
    found = []

    def never(why: str, pattern: str) -> None:
        found.append((why, re.compile(pattern, re.IGNORECASE)))

    for role, key in ROLES.items():
        try:
            entry = substance(str(house[key]))
        except KeyError:
            continue
        name = named(entry)
        if "isocyanate" in entry.classes:
            never(
                "holds isocyanate",
                rf"{name}[^.;|]{{0,30}}\bholds none|{name}, (?:harmless|without isocyanate)",
            )
            never("does not come off", rf"{name}, which comes off again")
        else:
            never("holds no isocyanate", rf"{name}, which holds isocyanate")
        if "drying oil" in entry.classes:
            never("does not come off", rf"{name}, which comes off again")
        if "strong base" in entry.classes:
            never("is not mild", rf"{name}[,;]? (?:is )?(?:milder|mild)\b|{name}, which irritates")
            never("is used here", rf"{name}; hydroxide only where")
        if "carbonate" in entry.classes:
            never("does not burn", rf"{name}, which burns")
        if role == "salt":
            others = "|".join(s for s in SALTS if s != entry.name)
            never(
                "another salt is named as the house's",
                rf"\bhouse(?:'s)? (?:salt|bath)(?: is| of)? (?:{others})\b",
            )
        if role == "solvent":
            others = "|".join(s for s in FLAMMABLE if s != entry.name)
            never(
                "another solvent is named as the house's", rf"\bhouse(?:'s)? solvent(?:,| is)? (?:{others})\b"
            )
    return found


def falsehoods(house) -> list[str]:
    # What a choice does not change is computed once.
    renderer = Renderer(house, kept(), drawings=Drawings(ROOT / "docs" / "drawings").found)
    wrong = []
    for page in PAGES:
        try:
            text = read_as_text(renderer, page)
        except PageFault as fault:
            wrong.append(f"{page.name}: {fault}")
            continue
        wrong += [
            f"{page.name}: {why}: {match[0]}"
            for why, pattern in false_of(house)
            if (match := pattern.search(text))
        ]
    return wrong


@pytest.mark.parametrize(("key", "value"), CHOICES, ids=lambda text: str(text))
@pytest.mark.long
def test_no_page_is_false_for_a_permitted_choice(tmp_path, key, value):
    assert falsehoods(chosen(tmp_path, key, value)) == []


@pytest.mark.parametrize(
    ("key", "value", "sentence"),
    [
        ("coating.kind", "urethane-brush", "The house's is urethane-brush, which holds none."),
        ("coating.kind", "urethane-brush", "by consent, urethane-brush, which comes off again"),
        ("coating.kind", "alkyd-brush", "by consent, alkyd-brush, which comes off again"),
        ("electrolysis.salt", "sodium hydroxide", "The house bath is sodium hydroxide, milder to handle."),
        (
            "electrolysis.salt",
            "sodium hydroxide",
            "On this bench sodium hydroxide; hydroxide only where asked.",
        ),
        ("electrolysis.salt", "sodium carbonate", "The house bath is potassium carbonate."),
        ("drying.solvent", "acetone", "The house's solvent, 2-propanol, is dry."),
    ],
)
def test_a_false_sentence_would_be_seen(tmp_path, key, value, sentence):
    house = chosen(tmp_path, key, value)
    assert [why for why, pattern in false_of(house) if pattern.search(sentence)]


def test_no_page_types_a_choice_as_the_houses():
    """A choice belongs into a directive: a typed one is false as soon as the house chooses another."""
    names = "|".join(re.escape(name) for name in {*SALTS, *FLAMMABLE, *COATINGS, *register()})
    typed = re.compile(
        rf"\b(?:this bench uses|the house uses|the house's(?: \w+)? is) (?:{names})\b", re.IGNORECASE
    )
    found = [
        f"{page.name}: {match[0]}"
        for page in PAGES
        if (match := typed.search(" ".join(page.read_text(encoding="utf-8").split())))
    ]
    assert found == []


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("electrolysis.anode", "stainless steel"),
        ("electrolysis.tub", "aluminium"),
        ("drying.solvent", "methanol"),
    ],
)
def test_what_is_not_permitted_is_refused_before_any_page(tmp_path, key, value):
    with pytest.raises(HouseFaults, match="allowed is"):
        chosen(tmp_path, key, value)
