"""Compatibility: what never meets what, answered from classes, and what follows for a cupboard.

Three ranks, the first that says anything wins: a named pair (`never_named.csv`), the worst rule between a
class of the one and a class of the other (`reactivity.csv`), and nobody has looked. That nothing is needed is
said only between the main classes of both, the first of each substance in the register.
"""

from dataclasses import dataclass

from handbook_calc.engine.calculation import (
    Label,
    Listing,
    Reasons,
    Verdict,
    Whole,
    because,
    calculation,
    place_in_list,
    refuse,
)
from handbook_calc.engine.data import column, rows
from handbook_calc.engine.fields import Choice, Several, reads
from handbook_calc.engine.tables import Column, Mark, Sheet, table
from handbook_calc.substances import names, register

STAGE = "waste"

CLASSES = column("reactivity_classes", "class")
AGENTS = tuple(sorted(register()))
# Classes of all entries in a row, main class first, and where each entry's begin; all by their places.
MEMBER = [CLASSES.index(kind) for name in AGENTS for kind in register()[name].classes]
BEGINS = [sum(len(register()[name].classes) for name in AGENTS[:place]) for place in range(len(AGENTS) + 1)]

PAIR_FIRST = [AGENTS.index(name) for name in column("never_named", "first")]
PAIR_SECOND = [AGENTS.index(name) for name in column("never_named", "second")]
PAIR_VERDICT = column("never_named", "verdict")
PAIR_REASON = column("never_named", "reason")
PAIR_INSTEAD = column("never_named", "instead")

RULE_FIRST = [CLASSES.index(name) for name in column("reactivity", "first")]
RULE_SECOND = [CLASSES.index(name) for name in column("reactivity", "second")]
RULE_VERDICT = column("reactivity", "verdict")
RULE_REASON = column("reactivity", "reason")
RULE_INSTEAD = column("reactivity", "instead")

QUIET = [CLASSES.index(row["class"]) for row in rows("reactivity_classes") if row["none_needed"]]
QUIET_REASON = [row["none_needed"] for row in rows("reactivity_classes") if row["none_needed"]]

STORED = tuple(name for name in AGENTS if register()[name].cap)
# As AGENTS; empty for what is no substance.
CONTAINERS = [register()[name].container for name in AGENTS]
CAPS = [register()[name].cap for name in AGENTS]
PLACES = [register()[name].texts.get("store", "") for name in AGENTS]

NOBODY_LOOKED = "nobody has looked at this pair: keep apart; that it is not named does not make it safe"
# What a field calls its entries, and thereby what is told of anything else, here and on the page.
ENTRY = "entry of the register: treat it as incompatible with everything and keep it apart"
READ_BOTH = "read section 10 of both safety data sheets before the two come near each other"


@reads(sorted(set(names()) - {name.lower() for name in AGENTS}))
def known_name(text: str) -> str:
    """Return the register's name for what a person typed; what it does not know is left for the field."""
    return names().get(text.lower(), text.lower())


def not_known(text: str, options) -> str:
    """Say that nothing is known of a thing, which is no leave to bring it near anything."""
    # No hint at a name that is written nearly alike: a neighbour in spelling is another substance.
    return (
        f"is not a known {ENTRY}; "
        f"allowed is one of {', '.join(options[:5])}, ... {options[-1]} ({len(options)} in all)"
    )


@dataclass(frozen=True)
class OfRegister(Choice):
    """A field for one entry of the register; anything else is refused as not known."""

    def check(self, value) -> None:
        if value not in self.names():
            raise ValueError(not_known(str(value), self.names()))


@dataclass(frozen=True)
class SeveralOfRegister(Several):
    """A field for entries of the register, each at most once; anything else is refused as not known."""

    part = OfRegister

    def check(self, value) -> None:
        for name in value if isinstance(value, list | tuple) else ():
            if name not in self.names():
                raise ValueError(f"holds '{name}', which {not_known(str(name), self.names())}")
        super().check(value)


@place_in_list
def named_pair(one, two):
    """Return the place of a named pair of the entries at two places, in either order, or -1."""
    for i in range(len(PAIR_FIRST)):
        if PAIR_FIRST[i] == one and PAIR_SECOND[i] == two:
            return i
        if PAIR_FIRST[i] == two and PAIR_SECOND[i] == one:
            return i
    return -1


@place_in_list
def place_of(agent):
    """Return the place of an entry in the register, or -1."""
    for i in range(len(AGENTS)):
        if AGENTS[i] == agent:
            return i
    return -1


def in_class(place, wanted):
    """Say whether a class is one of those of the entry at a place."""
    found = False
    for i in range(BEGINS[place], BEGINS[place + 1]):
        if MEMBER[i] == wanted:
            found = True
    return found


def matches(rule, one, two):
    """Say whether a rule between two classes holds for the entries at two places, in either order."""
    first = RULE_FIRST[rule]
    second = RULE_SECOND[rule]
    if RULE_VERDICT[rule] == "none needed":
        main = MEMBER[BEGINS[one]]
        other = MEMBER[BEGINS[two]]
        return (main == first and other == second) or (main == second and other == first)
    if in_class(one, first) and in_class(two, second):
        return True
    return in_class(one, second) and in_class(two, first)


@place_in_list
def worst_rule(one, two):
    """Return the place of the worst rule between the entries at two places, the first of equals, or -1."""
    lesser = -1
    for i in range(len(RULE_FIRST)):
        if matches(i, one, two):
            if RULE_VERDICT[i] == "never":
                return i
            if lesser < 0 or (RULE_VERDICT[lesser] == "none needed" and RULE_VERDICT[i] != "none needed"):
                lesser = i
    return lesser


@place_in_list
def quiet_class(place):
    """Return the place of an entry's main class among those that need no rule, or -1."""
    for i in range(len(QUIET)):
        if QUIET[i] == MEMBER[BEGINS[place]]:
            return i
    return -1


def judged(agent, other):
    """Return verdict, reason and what to do instead, of a pair."""
    one = place_of(agent)
    two = place_of(other)
    named = named_pair(one, two)
    if named >= 0:
        return [PAIR_VERDICT[named], PAIR_REASON[named], PAIR_INSTEAD[named]]
    rule = worst_rule(one, two)
    if rule >= 0:
        return [RULE_VERDICT[rule], RULE_REASON[rule], RULE_INSTEAD[rule]]
    quiet = quiet_class(one)
    also = quiet_class(two)
    if quiet >= 0 and also >= 0:
        return ["none needed", QUIET_REASON[min(quiet, also)], READ_BOTH]
    return ["not listed", NOBODY_LOOKED, READ_BOTH]


def one_agent(name: str, about: str, example: str) -> Choice:
    """Return the field for one entry of the register."""
    return OfRegister(
        name, about, options=AGENTS, normal=known_name, kind=ENTRY, hints=False, example=example
    )


SOURCES = (
    "acs-incompatible", "trade-incompatible", "asm-lab-safety", "silver-ethanol", "cameo-pairs",
    "glasgow-incompatible", "reactivity-remembered", "bench-practice",
)  # fmt: skip


@calculation(
    "never-together",
    title="May these two meet?",
    inputs=(
        one_agent("agent", "a liquid, a thing or a condition", example="nitric acid"),
        one_agent("other", "what it would meet", example="acetone"),
    ),
    results=(
        Verdict(
            "verdict",
            "what the register says",
            stops=("never", "not listed"),
            words={
                "never": "never",
                "only as written": "only in the step that is written for it, within its limits",
                "not listed": "nobody has looked: keep apart",
                "none needed": "nothing is known against it, each in its own labelled container",
            },
        ),
        Label("reason", "why"),
        Label("instead", "what to do instead"),
    ),
    assumes=(
        "the register covers this bench only; safety data sheets are complete",
        "each is what its label says, in the strength that this bench holds",
    ),
    sources=SOURCES,
    refusals={
        "same-twice": "{agent} is named twice; name the other thing that it would meet",
    },
)
def never_together(agent, other):
    """A named pair first, then the worst rule between a class of the one and a class of the other."""
    if agent == other:
        refuse("same-twice")
    found = judged(agent, other)
    return {"verdict": found[0], "reason": found[1], "instead": found[2]}


def stands_with(bottle, others, shelves, shelf):
    """Say whether a bottle may stand on a shelf: with everything there, nothing is needed."""
    for i in range(len(shelves)):
        if shelves[i] == shelf:
            found = judged(bottle, others[i])
            if found[0] != "none needed":
                return False
    return True


def free_shelf(bottle, others, shelves):
    """Return the first shelf on which a bottle may stand; a new one where there is none."""
    shelf = 1
    while not stands_with(bottle, others, shelves, shelf):
        shelf = shelf + 1
    return shelf


def refuse_unkept(bottles):
    """Refuse what is never kept: it has no shelf."""
    for i in range(len(bottles)):
        bottle = bottles[i]
        at = place_of(bottle)
        if CAPS[at] == "never kept":
            if bottle == "nital":
                refuse("nital")
            if bottle == "hypochlorite bleach" or bottle == "hydrogen peroxide":
                refuse("house-cleaner")
            if bottle == "chlorinated solvent":
                refuse("chlorinated")
            if bottle == "uncured urethane":
                refuse("mixed-urethane")
            refuse("not-kept")


@calculation(
    "cupboard-plan",
    title="Which bottles stand together",
    inputs=(
        SeveralOfRegister(
            "bottles",
            "what is to be stored, by name",
            options=STORED,
            normal=known_name,
            kind=ENTRY,
            hints=False,
            example="nitric acid, 2-propanol, acetone, sodium hydroxide, citric acid, ferric chloride",
        ),
    ),
    results=(
        Whole("shelves", "1", "shelves or trays, none of which can leak into another"),
        Listing(
            "plan",
            "where each bottle stands",
            columns=(
                Label("bottle", "bottle"),
                Whole("shelf", "1", "shelf"),
                Label("container", "container"),
                Label("cap", "cap"),
                Label("place", "place"),
            ),
        ),
        Listing(
            "apart",
            "what stands apart, and why",
            columns=(
                Label("first", "this"),
                Label("second", "and this"),
                Label("verdict", "may they meet"),
                Label("reason", "why"),
            ),
        ),
        Reasons(
            "cautions",
            "what to keep to",
            {
                "trays": "A shelf is a tray that holds all that stands in it: bottles leak at night.",
                "vented": "A vented cap stays vented, upright and in moving air: its gas must not collect.",
                "unlooked": "Some stand apart because nobody has looked at the pair: the data sheets may let "
                "them closer, this plan does not.",
                "code": "The local code on storing together, and how much of each, goes before this plan.",
            },
        ),
    ),
    assumes=(
        "bottles share a shelf only where that is declared safe, pair by pair",
        "each bottle is closed, labelled and whole, in the container named for it",
    ),
    sources=(*SOURCES, "store-remembered"),
    refusals={
        "nital": "nital is never stored: it makes gas, and can burst any bottle; make the day's need, use it "
        "open, make it harmless the same day",
        "house-cleaner": "bleach and peroxide have no shelf in this workshop: with most of what stands here "
        "they give poisonous gas, fire or worse; take them out of the house of the bench",
        "chlorinated": "solvents with chlorine have no shelf in this workshop: with alkali and with light "
        "metals they can burn or explode; hand them to the carrier as they are",
        "mixed-urethane": "urethane that is mixed is not stored: it makes gas and sets; let it harden in an "
        "open pot out of doors, and store the hardener alone in the maker's can",
        "not-kept": "one of these is never kept in this workroom: the register says so under its name; hand "
        "it to the carrier, and ask again without it",
    },
)  # fmt: skip
def cupboard_plan(bottles):
    """Bottle by bottle onto the first shelf where nothing is known against all that stands there."""
    refuse_unkept(bottles)
    shelves = []
    plan = []
    apart = []
    placed = []
    most = 0
    vented = False
    unlooked = False
    for i in range(len(bottles)):
        bottle = bottles[i]
        for k in range(len(placed)):
            found = judged(placed[k], bottle)
            if found[0] != "none needed":
                apart.append([placed[k], bottle, found[0], found[1]])
            if found[0] == "not listed":
                unlooked = True
        shelf = free_shelf(bottle, placed, shelves)
        shelves.append(shelf)
        placed.append(bottle)
        most = max(most, shelf)
        at = place_of(bottle)
        if CAPS[at] == "vented":
            vented = True
        plan.append([bottle, shelf, CONTAINERS[at], CAPS[at], PLACES[at]])
    cautions = [because("trays")]
    if vented:
        cautions.append(because("vented"))
    if unlooked:
        cautions.append(because("unlooked"))
    cautions.append(because("code"))
    return {"shelves": most, "plan": plan, "apart": apart, "cautions": cautions}


def _marked(verdict: str) -> Mark:
    return Mark({"never": "stop", "only as written": "wait", "none needed": "go"}[verdict], verdict)


COLUMNS = (Column("This"), Column("and this"), Column("May they meet?"), Column("Why"), Column("Instead"))


@table(
    "never-together",
    title="What never meets what, by name",
    question="May these two meet?",
    notes=(
        "A pair that is in no list is not thereby safe: keep apart, and read both safety data sheets.",
        "These are named one by one; the next table holds for whole classes.",
    ),
)
def never_together_table(bench):
    """The pairs that are named."""
    lines = []
    for row in rows("never_named"):
        first, second = row["first"], row["second"]
        found = bench("never-together", agent=first, other=second)
        lines.append([first, second, _marked(found["verdict"]), found["reason"], found["instead"]])
    return Sheet(list(COLUMNS), lines)


@table(
    "never-classes",
    title="What never meets what, by class",
    question="May these two kinds of thing meet?",
    notes=(
        "The worst rule wins; a pair that is named in the list before goes before its class.",
        "Rules from handbooks that were not at hand are remembered; the data sheet has the last word.",
    ),
    sources=tuple(dict.fromkeys(column("reactivity", "source"))),
    filters=("This", "and this"),
)
def never_classes_table(bench):
    """The rules between classes, the worst first."""
    order = ("never", "only as written", "none needed")
    lines = [
        [row["first"], row["second"], _marked(row["verdict"]), row["reason"], row["instead"]]
        for verdict in order
        for row in rows("reactivity")
        if row["verdict"] == verdict
    ]
    return Sheet(list(COLUMNS), lines)


@table(
    "classes-of-substances",
    title="Which class each thing belongs to",
    question="What kind of thing is this?",
    notes=("The first class is what it mainly is.",),
    sources=("bench-practice",),
)
def classes_table(bench):
    """Names, other names and classes of all that the register knows."""
    return Sheet(
        [Column("Thing"), Column("Also called"), Column("Classes")],
        [
            [entry.name, ", ".join(entry.other) or "–", ", ".join(entry.classes)]
            for entry in (register()[name] for name in AGENTS)
        ],
    )
