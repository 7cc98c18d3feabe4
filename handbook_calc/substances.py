"""The register of substances: what each is, what it does to people, what helps, and which limits hold.

Everything about a substance stands in `data/substances.csv`; texts that several share stand once, in
`data/safety_texts.csv` and `data/first_aid.csv`. Pages print from here, so a fact about a substance is never
typed into a page. The data sheet of the bottle goes before the register.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from handbook_calc.engine.data import rows
from handbook_calc.engine.faults import unknown
from handbook_calc.engine.tables import Column, Sheet, table

STAGE = "waste"

# What a kind of text is called in `safety_texts.csv`, as the columns of a substance.
TEXTS = ("glove", "eye", "breathing", "spill", "fire", "store", "waste")
FIRST_AID = ("eye", "skin", "breath", "swallowed")
REMEMBERED = "remembered"
# What is no substance has classes and nothing else.
BARE = ("condition", "piece")
LIMIT_TYPES = {
    "day": "over a working day",
    "short": "over a short time, as a rule a quarter of an hour",
    "ceiling": "never above",
    "peak": "a single peak",
    "action": "from which measures are due",
    "dangerous": "immediately dangerous",
}
# g/mol, by which limits in volume and in mass are compared; from the abridged standard atomic weights.
MOLAR_MASS = {
    "hexamethylene diisocyanate": 168.196,
    "white spirit": 140.0,  # a mixture; usual for its boiling range
    "nitric acid": 63.012,
    "dimethyl ether": 46.069,
}
MOLAR_VOLUME = 24.055  # L/mol at 20 degC; the stricter reading, since that at 25 degC is larger


@dataclass(frozen=True)
class Substance:
    """One entry of the register.

    Attributes:
        name, kind, other: what it is and how else it is called.
        classes: classes of reactivity, the main one first.
        signal: signal word of the Globally Harmonized System, ``none`` where it has none, empty for what is
            no substance.
        statements: codes of its hazard statements.
        texts: glove, eye, breathing, spill, fire, store, waste as sentences.
        first_aid: eye, skin, breath, swallowed as sentences.
        container, cap: how it is kept; the cap is ``closed``, ``vented`` or ``never kept``.
        flash: flash point in degC; lower, upper: flammable limits in percent by volume; None where unknown.
        limit: under which name its exposure limits stand, or empty.
        origin, source: how the classification was obtained, and its citation.
        vapour_origin, vapour_source: the same of flash point and flammable limits.
    """

    name: str
    kind: str
    other: tuple[str, ...]
    classes: tuple[str, ...]
    signal: str
    statements: tuple[str, ...]
    texts: dict[str, str]
    first_aid: dict[str, str]
    container: str
    cap: str
    flash: float | None
    lower: float | None
    upper: float | None
    limit: str
    origin: str
    source: str
    vapour_origin: str
    vapour_source: str

    def hazards(self) -> str:
        """Return signal word and hazard statements, in the words of the standard."""
        if not self.statements:
            return "no hazard statement"
        words = ". ".join(statements()[code] for code in self.statements)
        return words if self.signal == "none" else f"{self.signal}. {words}"

    @property
    def remembered(self) -> bool:
        """Whether the classification is from memory."""
        return self.origin == "memory"


@dataclass(frozen=True)
class Limit:
    """One published exposure limit: value in `unit`, of which body, kind and year, and whether it holds."""

    substance: str
    body: str
    country: str
    type: str
    value: float
    unit: str
    year: str
    status: str
    origin: str
    source: str
    note: str

    def comparable(self) -> float:
        """Return the limit in mg/m3 where the molar mass is known, as it stands otherwise."""
        mass = MOLAR_MASS.get(self.substance)
        return self.value * mass / MOLAR_VOLUME if mass and self.unit == "ppm" else self.value

    def shown(self) -> str:
        """Return body, country and year as a table prints them, and whether it is from memory."""
        year = f" {self.year}" if self.year else ""
        kept = f", {REMEMBERED}" if self.origin == "memory" else ""
        held = "" if self.status == "in force" else f", {self.status}"
        return f"{self.country}, {self.body}{year}{held}{kept}"


@cache
def statements() -> dict[str, str]:
    """Return code -> hazard statement."""
    return {row["code"]: row["statement"] for row in rows("hazard_statements")}


# What each symbol of the Globally Harmonized System warns of, in words; no drawing is printed.
SYMBOLS = {
    "flame": "catches fire",
    "flame over circle": "feeds fire",
    "gas cylinder": "gas under pressure",
    "corrosion": "eats skin, eyes and metal",
    "skull and crossbones": "poisonous in small amounts",
    "health hazard": "harms inside, perhaps years later",
    "exclamation mark": "irritates, makes drowsy or allergic",
    "environment": "poisons water life",
}
IRRITATION = ("H315", "H319")  # of skin and eyes


def symbols_of(codes: Iterable[str]) -> list[str]:
    """Return the symbols of hazard statements, without those that a graver one makes needless.

    The skull leaves out the exclamation mark; corrosion leaves it out where it stands for irritated skin or
    eyes, and so does an allergy of the airways, which also leaves it out for an allergy of the skin.
    """
    symbol = {row["code"]: row["symbol"] for row in rows("hazard_statements")}
    codes = list(codes)
    found = {symbol[code] for code in codes}
    covered = set(IRRITATION) if "corrosion" in found else set()
    if "H334" in codes:
        covered |= {*IRRITATION, "H317"}
    if "skull and crossbones" in found or all(
        code in covered for code in codes if symbol[code] == "exclamation mark"
    ):
        found.discard("exclamation mark")
    return [name for name in SYMBOLS if name in found]


@cache
def _texts() -> dict[tuple[str, str], str]:
    return {(row["kind"], row["key"]): row["text"] for row in rows("safety_texts")}


@cache
def _first_aid() -> dict[str, dict[str, str]]:
    return {row["key"]: {way: row[way] for way in FIRST_AID} for row in rows("first_aid")}


def _number(text: str) -> float | None:
    return float(text) if text else None


def _listed(text: str, sign: str = "|") -> tuple[str, ...]:
    return tuple(part for part in text.split(sign) if part)


@cache
def register() -> dict[str, Substance]:
    """Return every entry of the register by name.

    Raises:
        KeyError: a row names a text, a first aid or a statement that is not there.
    """
    found = {}
    for row in rows("substances"):
        bare = row["kind"] in BARE
        found[row["name"]] = Substance(
            row["name"],
            row["kind"],
            _listed(row["other"]),
            _listed(row["classes"]),
            row["signal"],
            _listed(row["statements"], " "),
            {} if bare else {kind: _texts()[kind, row[kind]] for kind in TEXTS},
            {} if bare else _first_aid()[row["first_aid"]],
            row["container"],
            row["cap"],
            _number(row["flash"]),
            _number(row["lower"]),
            _number(row["upper"]),
            row["limit"],
            row["origin"],
            row["source"],
            row["vapour_origin"],
            row["vapour_source"],
        )
    return found


@cache
def names() -> dict[str, str]:
    """Return every name, in small letters, -> the name in the register."""
    found = {name.lower(): name for name in register()}
    for entry in register().values():
        found |= dict.fromkeys((other.lower() for other in entry.other), entry.name)
    return found


def substance(name: str) -> Substance:
    """Return an entry by any of its names.

    Raises:
        KeyError: there is none; the text says to treat it as incompatible.
    """
    found = names().get(" ".join(name.lower().split()))
    if found is None:
        raise KeyError(f"{unknown('substance', name, register())}; what is not known is kept apart from all")
    return register()[found]


@cache
def limits() -> tuple[Limit, ...]:
    """Return every published exposure limit of the register."""
    return tuple(
        Limit(
            row["substance"], row["body"], row["country"], row["type"], float(row["value"]), row["unit"],
            row["year"], row["status"], row["origin"], row["source"], row["note"],
        )
        for row in rows("exposure_limits")
    )  # fmt: skip


def limits_of(name: str, kind: str | None = None, status: str = "in force") -> list[Limit]:
    """Return the limits of a substance of one kind (`LIMIT_TYPES`) that have a status."""
    return [
        limit
        for limit in limits()
        if limit.substance == name and limit.status == status and kind in (None, limit.type)
    ]


def strictest(name: str, kind: str, read: bool = False) -> Limit | None:
    """Return the strictest limit in force of a substance, of one kind, or None where none is listed.

    A proposal, a limit of later and one that was replaced never win. Where one figure stands in several
    lists, one that was read goes before one that is remembered. With `read` only what was read counts.

    Raises:
        ValueError: limits in volume and in mass that cannot be compared.
    """
    found = [limit for limit in limits_of(name, kind) if not read or limit.origin == "read"]
    if len({limit.unit for limit in found}) > 1 and name not in MOLAR_MASS:
        raise ValueError(f"limits of {name} stand in several units, and its molar mass is not given")
    return min(found, key=lambda limit: (limit.comparable(), limit.origin == "memory"), default=None)


# What a page may print of what the house has chosen: {{ value salt.hazards }}

ROLES = {
    "salt": "electrolysis.salt",
    "solvent": "drying.solvent",
    "etch-alcohol": "etching.alcohol",
    "coating": "coating.kind",
    "brushed": "coating.brush_kind",
    "sprayed": "coating.spray_kind",
    "wiped": "coating.wipe_kind",
    "anode": "electrolysis.anode",
    "tub": "electrolysis.tub",
}


def _holds(name: str, text: str, otherwise: str):
    def told(entry: Substance) -> str:
        return text if name in entry.classes else otherwise

    return told


def _by_class(texts: dict[str, str], otherwise: str):
    def told(entry: Substance) -> str:
        return next((text for kind, text in texts.items() if kind in entry.classes), otherwise)

    return told


FACTS = {
    "hazards": Substance.hazards,
    "signal": lambda entry: entry.signal,
    **{kind: lambda entry, kind=kind: entry.texts[kind] for kind in TEXTS},
    **{f"first-{way}": lambda entry, way=way: entry.first_aid[way] for way in FIRST_AID},
    "isocyanate": _holds("isocyanate", "which holds isocyanate", "which holds none"),
    "rags": _holds(
        "drying oil",
        "Its rags warm themselves and can burn: wet, in a lidded metal can out of doors, the same day",
        "Its rags go wet or dry into the lidded metal can out of doors",
    ),
    "compared": _holds(
        "strong base",
        "the same kind as in those texts, and it burns skin and eyes",
        "milder to handle; nobody has shown that it draws as much",
    ),
    "removal": _by_class(
        {
            "isocyanate": "which does not come off again without harm to the piece",
            "drying oil": "which comes off badly once it has aged",
        },
        "which comes off again",
    ),
    "burns": _holds("strong base", "which burns skin and eyes", "which irritates skin and eyes"),
}


@cache
def slugs() -> dict[str, str]:
    """Return each substance's name as a page writes it, ``nitric-acid`` -> the name."""
    return {entry.name.replace(" ", "-"): entry.name for entry in register().values() if entry.texts}


def fact_names() -> list[str]:
    """Return every fact that a page may ask for."""
    return [f"{role}.{fact}" for role in (*ROLES, *slugs()) for fact in FACTS]


def is_fact(name: str) -> bool:
    """Say whether a name is ``role.fact`` or ``substance.fact``."""
    role, _, asked = name.partition(".")
    return (role in ROLES or role in slugs()) and asked in FACTS


def followed(name: str) -> str:
    """Return the house value that a fact follows, or nothing where the page names the substance."""
    return ROLES.get(name.partition(".")[0], "")


def fact(house, name: str) -> tuple[str, str]:
    """Return what is printed for ``role.fact`` or ``substance.fact``, and the house value that it follows.

    What the house has chosen and the register does not know is no fact: it is named as not known.
    """
    role, _, asked = name.partition(".")
    if role in slugs():
        return FACTS[asked](register()[slugs()[role]]), ""
    key = ROLES[role]
    try:
        entry = substance(str(house[key]))
    except KeyError:
        return "not in the register: its data sheet decides, and it is kept apart from all else", key
    if not entry.texts:
        return "its data sheet decides", key
    return FACTS[asked](entry), key


# Tables: one a kind of fact, so that each fits a phone.

KINDS = ("salt", "acid", "solvent", "etchant", "coating", "cleaner", "gas", "metal", "material", "waste")


def _entries() -> list[Substance]:
    known = [entry for entry in register().values() if entry.kind not in BARE]
    return sorted(known, key=lambda entry: (KINDS.index(entry.kind), entry.name))


# How a figure or a classification was obtained, in a reader's word.
ORIGINS = {
    "read": "read",
    "memory": REMEMBERED,
    "computed": "computed from its parts",
    "common practice": "bench practice",
}


def _told(entry: Substance) -> str:
    return ORIGINS[entry.origin]


SHEET_FIRST = "The safety data sheet of the bottle in hand goes before every line here."


def _sources(*files: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row["source"] for file in files for row in rows(file)))


def _texts_table(name: str, title: str, question: str, columns: dict, notes=(), files=("safety_texts",)):
    """Declare a table of one text or more a substance."""

    def make(bench) -> Sheet:
        lines = [[entry.name, *(told(entry) for told in columns.values())] for entry in _entries()]
        return Sheet([Column("Substance"), *map(Column, columns)], lines)

    declared = table(
        name, title=title, question=question, notes=(SHEET_FIRST, *notes), sources=_sources(*files)
    )
    declared(make)


_texts_table(
    "substance-hazards",
    "What each substance does",
    "What does this do to me?",
    {"Hazards": Substance.hazards, "How it was obtained": _told},
    (
        "Signal words and statements are those of the Globally Harmonized System; a weaker grade may carry "
        "fewer.",
        "The words of the label miss some of it: nital and its gas, rags of drying oil, dust of silica.",
    ),
    ("substances", "hazard_statements"),
)
_texts_table(
    "substance-gloves",
    "What to wear with each substance",
    "Which glove, goggles, mask?",
    {
        "Glove": lambda entry: entry.texts["glove"],
        "Eyes": lambda entry: entry.texts["eye"],
        "Breathing": lambda entry: entry.texts["breathing"],
    },
    ("Gloves are remembered by material; the chart of the glove bought decides how long it holds.",),
)
_texts_table(
    "substance-first-aid",
    "First aid, substance by substance",
    "What do I do first?",
    {
        title: lambda entry, way=way: entry.first_aid[way]
        for way, title in zip(FIRST_AID, ("Eye", "Skin", "Breath", "Swallowed"), strict=True)
    },
    ("The emergency service and the poison service come before this list.",),
    ("first_aid",),
)
_texts_table(
    "substance-spills",
    "Spill and fire, substance by substance",
    "It is on the floor, or burns: what now?",
    {"Spill": lambda entry: entry.texts["spill"], "Fire": lambda entry: entry.texts["fire"]},
    ("A fire larger than a dish is not yours: out, door shut, emergency service.",),
)
_texts_table(
    "substance-storage",
    "Store and waste, substance by substance",
    "Where does it stand, and where does it go?",
    {
        "Store": lambda entry: entry.texts["store"],
        "Container": lambda entry: entry.container,
        "Cap": lambda entry: entry.cap,
        "Waste": lambda entry: entry.texts["waste"],
    },
)


@table(
    "substance-flammability",
    title="Flash point and flammable limits",
    question="Will its vapour burn here?",
    notes=(
        SHEET_FIRST,
        "Of two published figures the lower flash point and the wider limits stand.",
        "The edition that these figures are from has been replaced; the new one was not at hand.",
    ),
    sources=("iec-60079-20-1", "iec-80079-20-1", "nfpa-497", "vapour-remembered"),
)
def flammability_table(bench):
    """What burns, with the figures of its vapour."""
    lines = [
        [entry.name, entry.flash, entry.lower, entry.upper, ORIGINS[entry.vapour_origin]]
        for entry in _entries()
        if entry.flash is not None or entry.lower is not None
    ]
    columns = [
        Column("Substance"), Column("Flash point", "degC", 0), Column("Lower limit", "%", 0),
        Column("Upper limit", "%", 0), Column("How it was obtained"),
    ]  # fmt: skip
    return Sheet(columns, lines)


@table(
    "strictest-limits",
    title="The strictest limits in force that are known here",
    question="How little of it is too much?",
    notes=(
        "Strictest of all bodies and countries listed; the law of the place comes first. A dash: none.",
        "What is marked remembered was not looked up again. It stands as a precaution, stricter than all "
        "that was read: read the list itself before you rely on it.",
    ),
    sources=_sources("exposure_limits"),
)
def strictest_limits_table(bench):
    """Each substance with limits, and who set the strictest."""
    lines = []
    for name in dict.fromkeys(limit.substance for limit in limits()):
        line: list = [name]
        for kind in ("day", "short"):
            found = strictest(name, kind) or (strictest(name, "ceiling") if kind == "short" else None)
            line += [
                "–" if found is None else f"{found.value:g} {_unit(found)}",
                found.shown() if found else "–",
            ]
        lines.append(line)
    columns = [
        Column("In the air"), Column("Working day"), Column("Whose limit"),
        Column("Short time or never above"), Column("Whose"),
    ]  # fmt: skip
    return Sheet(columns, lines)


def _unit(limit: Limit) -> str:
    return limit.unit.replace("^3", "³")
