"""First-aid cards and bottle labels, printed from the register of substances and the house standard."""

from functools import cache

from handbook_calc.compatibility import AGENTS, judged
from handbook_calc.engine.cards import Card, Part, deck
from handbook_calc.engine.data import rows
from handbook_calc.engine.house import House
from handbook_calc.risk import in_use, named, sentence
from handbook_calc.substances import BARE, SYMBOLS, Substance, register, symbols_of

STAGE = "waste"

WAYS = {"eye": "Eye", "skin": "Skin", "breath": "Breathed in", "swallowed": "Swallowed"}
CONTACTS = {
    "emergency": "Emergency service",
    "poison": "Poison service",
    "doctor": "Doctor or hospital",
    "second_person": "Second person",
    "carrier": "Waste carrier",
}
ON_A_LABEL = ("emergency", "poison")
WRITE_IT_HERE = "not set by this house: write it here"
NOT_LOOKED_AT = "Whatever is not named here stays apart as well, until both data sheets have been read."
APART = "All else stands apart as well, until both data sheets have been read."
RUNNING = "Running water"
NEVER = "never"


@cache
def never_joins(name: str) -> tuple[str, ...]:
    """Return what the register says never meets an entry, substances first and then conditions and pieces."""
    found = [other for other in AGENTS if other != name and judged(name, other)[0] == NEVER]
    return tuple(sorted(found, key=lambda other: (register()[other].kind in BARE, other)))


def _contacts(house: House, keys=tuple(CONTACTS)) -> list[Part]:
    """Return a line for each telephone number, with room to write one that the house has not set."""
    return [
        Part(CONTACTS[key], WRITE_IT_HERE, write=1)
        if house[f"contacts.{key}"] is None
        else Part(CONTACTS[key], f"{{{{ value contacts.{key} }}}}")
        for key in keys
    ]


def _helped(text: str) -> str:
    """Return a first aid with the shortest time in running water, where it asks for running water."""
    return f"{text}. At least {{{{ value safety.eye_rinse }}}}." if text.startswith(RUNNING) else f"{text}."


def _first_aid_card(house: House, entry: Substance) -> Card:
    never = never_joins(entry.name)
    parts = [
        Part("What it does", f"{entry.hazards()}."),
        *(Part(head, _helped(entry.first_aid[way])) for way, head in WAYS.items()),
        Part("Spilled", f"{sentence(entry.texts['spill'])}."),
        Part("It burns", f"{sentence(entry.texts['fire'])}."),
        Part("Worn", f"{sentence(entry.texts['glove'])}; {entry.texts['eye']}; {entry.texts['breathing']}."),
        Part("Never joins", f"{sentence(', '.join(never))}. {NOT_LOOKED_AT}" if never else NOT_LOOKED_AT),
        *_contacts(house),
    ]
    return Card(_slug(entry.name), sentence(entry.name), parts, _signal(entry))


def _signal(entry: Substance) -> str:
    return "No signal word" if entry.signal == "none" else entry.signal


def _slug(name: str) -> str:
    return "".join(sign if sign.isalnum() else "-" for sign in name)


@deck("first-aid", title="First aid and spill", paper="card")
def first_aid_cards(house: House) -> list[Card]:
    """One card for each substance that a procedure of this house works with."""
    return [_first_aid_card(house, entry) for entry in in_use(house)]


@deck("first-aid-others", title="First aid and spill", paper="card")
def other_first_aid_cards(house: House) -> list[Card]:
    """One card for each other substance of the register."""
    used = {entry.name for entry in in_use(house)}
    others = sorted(name for name, entry in register().items() if entry.texts and name not in used)
    return [_first_aid_card(house, register()[name]) for name in others]


def bench_agents(house: House) -> set[str]:
    """Return what a bottle can meet on this bench: what is worked with, every condition, every piece."""
    return {entry.name for entry in in_use(house)} | {
        name for name, entry in register().items() if entry.kind in BARE
    }


def _label(house: House, row: dict[str, str], entry: Substance) -> Card:
    here = bench_agents(house)
    never = [name for name in never_joins(entry.name) if name in here]
    signs = [f"{name} ({SYMBOLS[name]})" for name in symbols_of(entry.statements)]
    cap = row["cap"] or f"{entry.container}, {entry.cap}"
    strength = row["strength"].replace("<solvent>", str(house["drying.solvent"]))
    first = "Filled from, to" if row["kind"] == "waste" else "Made on, by"
    last = "Handed over by" if row["kind"] == "waste" else "Discard by"
    parts = [
        Part("Holds", f"{entry.name}: {strength}"),
        Part(first, write=1),
        Part(last, row["discard"] or WRITE_IT_HERE, write=1),
        Part("Signs", f"{sentence('; '.join(signs))}." if signs else "None."),
        Part("Hazards", f"{'. '.join(_words(entry))}." if entry.statements else "No hazard statement."),
        Part("Cap", f"{sentence(cap)}."),
        Part("Never joins", f"{sentence(', '.join(never))}. {APART}" if never else APART),
        *_contacts(house, ON_A_LABEL),
    ]
    return Card(row["label"], row["name"], parts, _signal(entry))


def _words(entry: Substance) -> list[str]:
    return [part for part in entry.hazards().split(". ") if part != entry.signal]


@deck("bottle-labels", title="Label", paper="label")
def bottle_labels(house: House) -> list[Card]:
    """One label for each stock, bath and container of waste that this house keeps or makes."""
    cards = []
    for row in rows("labels"):
        entry = named(house, row["substance"])
        if entry and _made_here(house, row):
            cards.append(_label(house, row, entry))
    return cards


def _made_here(house: House, row: dict[str, str]) -> bool:
    """Say whether the house makes it: lacquer is dissolved here only where the brush kind is acrylic."""
    return row["label"] != "lacquer" or house["coating.brush_kind"] == "acrylic-brush"
