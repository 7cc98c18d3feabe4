"""Assessments of risk: one sheet a procedure, from the steps and hazards that are declared for it.

`data/risk_steps.csv` says which step of a procedure brings which hazard, with which substance of the register
and how much; `data/risk_hazards.csv` says once for each hazard what it does, what keeps it away, what remains
and for whom. What a substance does and what is worn against it comes from the register, amounts from the
house standard. What a hazard does is said where no substance is named, and beside the register's words only
where it is true of every substance that brings the hazard.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from handbook_calc.engine.cards import Card, Grid, Part, deck
from handbook_calc.engine.data import rows
from handbook_calc.engine.house import House
from handbook_calc.substances import ROLES, Substance, substance

STAGE = "waste"

OUT_OF_THE_ROOM = (
    "Not in the room: children, animals, and whoever is pregnant where acid, solvent or dust is open."
)


@dataclass(frozen=True)
class Step:
    """A hazard of a procedure: with which substances or roles, how much, at which step, what else helps."""

    procedure: str
    hazard: str
    substances: tuple[str, ...]
    amount: str
    step: str
    control: str


@cache
def steps() -> dict[str, tuple[Step, ...]]:
    """Return the declared steps by procedure, the last part of its address."""
    found: dict[str, list[Step]] = {}
    for row in rows("risk_steps"):
        names = tuple(name for name in row["substance"].split("|") if name)
        step = Step(row["procedure"], row["hazard"], names, row["amount"], row["step"], row["control"])
        found.setdefault(step.procedure, []).append(step)
    return {name: tuple(listed) for name, listed in found.items()}


@cache
def hazards() -> dict[str, dict[str, str]]:
    """Return what is said of each hazard, by its name."""
    return {row["hazard"]: row for row in rows("risk_hazards")}


def named(house: House, name: str) -> Substance | None:
    """Return a substance of the register, or the one that the house chose for a role.

    Nothing for a choice of the house's that the register does not know: its data sheet decides.

    Raises:
        KeyError: a name that is neither a role nor in the register.
    """
    if name not in ROLES:
        return substance(name)
    try:
        entry = substance(str(house[ROLES[name]]))
    except KeyError:
        return None
    return entry if entry.texts else None


def in_use(house: House) -> list[Substance]:
    """Return every substance that some procedure of this house works with, in order of name."""
    found = {
        entry.name: entry
        for listed in steps().values()
        for step in listed
        for name in step.substances
        if (entry := named(house, name))
    }
    return [found[name] for name in sorted(found)]


def _substances(house: House, step: Step) -> Iterator[Substance]:
    seen = set()
    for name in step.substances:
        entry = named(house, name)
        if entry and entry.name not in seen:
            seen.add(entry.name)
            yield entry


def _what(house: House, step: Step) -> str:
    names = [entry.name for entry in _substances(house, step)]
    return f"{' or '.join(names)}: {step.amount}" if names else step.amount


def _harm(house: House, step: Step) -> str:
    entries = list(_substances(house, step))
    named_hazards = [
        (f"{sentence(entry.name)}: " if len(entries) > 1 else "") + sentence(entry.hazards())
        for entry in entries
    ]
    # Of what the house chose and the register does not know, the fact itself says what decides.
    named_hazards += [f"{{{{ value {name}.hazards }}}}" for name in step.substances if not named(house, name)]
    said = hazards()[step.hazard]
    # What is true of a strong acid is false of a mild one: there the register alone speaks.
    if said["beside_register"] or not named_hazards:
        named_hazards.append(sentence(said["harm"]))
    return ". ".join(named_hazards)


def _worn(house: House, step: Step) -> list[str]:
    worn: dict[str, None] = {}
    for entry in _substances(house, step):
        for kind in ("glove", "eye", "breathing"):
            worn[entry.texts[kind]] = None
    return [text for text in worn if not text.startswith("none")]


def _control(house: House, step: Step) -> str:
    worn = _worn(house, step)
    parts = [hazards()[step.hazard]["control"], step.control, f"worn: {'; '.join(worn)}" if worn else ""]
    return ". ".join(sentence(part) for part in parts if part)


def sentence(text: str) -> str:
    """Return a text as a sentence begins."""
    return text[:1].upper() + text[1:]


@cache
def titles() -> dict[str, str]:
    """Return the title of each procedure, in the order of the work."""
    return {row["procedure"]: row["title"] for row in rows("risk_titles")}


@deck("risk", title="Assessment of risks", paper="sheet")
def assessments(house: House) -> list[Card]:
    """One sheet a procedure, in the order of the work."""
    cards = []
    for procedure, title in titles().items():
        grid = Grid(
            "What can happen, step by step",
            ("Step", "What, and how much", "What it can do", "What keeps it away", "What remains", "To whom"),
            [
                (
                    sentence(step.step),
                    sentence(_what(house, step)),
                    sentence(_harm(house, step)),
                    _control(house, step),
                    sentence(hazards()[step.hazard]["remains"]),
                    sentence(hazards()[step.hazard]["persons"]),
                )
                for step in steps()[procedure]
            ],
        )
        signed = (
            Part("Who else", OUT_OF_THE_ROOM),
            Part("Different here, and what is done about it", write=1),
            Part("Read again", "after {{ value inspection.risk }} at the latest, after each accident, and "
                 "when the standard changes; next on", write=1),
            Part("Assessed by, date", write=1),
            Part("Second person, date", write=1),
        )  # fmt: skip
        cards.append(Card(procedure, title, (grid, *signed)))
    return cards
