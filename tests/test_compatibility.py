"""Compatibility: every pair of the register has a named answer, and a person has read it.

`approved_pairs.txt` holds all pairs with verdict and rule. A new substance or rule changes it:
``python tests/test_compatibility.py`` writes it anew, and the lines that changed are read before they are kept.
"""

from collections import Counter
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import examples, for_each

from handbook_calc.compatibility import (
    AGENTS,
    CAPS,
    CLASSES,
    PAIR_FIRST,
    PAIR_SECOND,
    PAIR_VERDICT,
    QUIET,
    RULE_FIRST,
    RULE_SECOND,
    RULE_VERDICT,
    STORED,
    cupboard_plan,
    named_pair,
    never_together,
    place_of,
    worst_rule,
)
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.data import rows
from handbook_calc.engine.faults import BadInput, Refusal
from handbook_calc.substances import register

APPROVED = Path(__file__).with_name("approved_pairs.txt")
PAIRS = list(combinations(AGENTS, 2))


def decided_by(one: str, two: str) -> str:
    """Return which row decides a pair: the named one, or the rule of two classes."""
    at = place_of(one), place_of(two)
    if named_pair(*at) >= 0:
        return "named"
    rule = worst_rule(*at)
    return f"{CLASSES[RULE_FIRST[rule]]} x {CLASSES[RULE_SECOND[rule]]}" if rule >= 0 else "no rule"


def all_pairs() -> list[str]:
    return [
        f"{one} + {two}: {never_together(one, two)['verdict']} ({decided_by(one, two)})" for one, two in PAIRS
    ]


def test_every_pair_is_as_approved():
    approved = APPROVED.read_text(encoding="utf-8").splitlines()
    ours = all_pairs()
    changed = sorted(set(ours) ^ set(approved))
    assert not changed, f"{len(changed)} lines differ from approved_pairs.txt, the first: {changed[:6]}"
    assert ours == approved


def test_the_verdicts_are_counted():
    assert Counter(never_together(*pair)["verdict"] for pair in PAIRS) == COUNTS


COUNTS = {"not listed": 1828, "never": 870, "none needed": 340, "only as written": 122}


def test_a_pair_is_the_same_in_either_order():
    for one, two in PAIRS:
        assert never_together(one, two) == never_together(two, one)


def test_no_two_rows_of_a_rank_are_about_the_same_pair():
    named = Counter(frozenset(pair) for pair in zip(PAIR_FIRST, PAIR_SECOND, strict=True))
    rules = Counter(frozenset(pair) for pair in zip(RULE_FIRST, RULE_SECOND, strict=True))
    assert [pair for pair, count in (named + rules).items() if named[pair] > 1 or rules[pair] > 1] == []
    assert all(len(pair) == 2 for pair in named)


def test_no_rule_is_unused_and_no_named_pair_is_shadowed():
    deciding = {
        worst_rule(place_of(one), place_of(two))
        for one, two in PAIRS
        if named_pair(place_of(one), place_of(two)) < 0
    }
    idle = [
        (CLASSES[RULE_FIRST[i]], CLASSES[RULE_SECOND[i]]) for i in range(len(RULE_FIRST)) if i not in deciding
    ]
    assert idle == []
    for one, two in zip(PAIR_FIRST, PAIR_SECOND, strict=True):
        assert decided_by(AGENTS[one], AGENTS[two]) == "named"


ORDER = ("none needed", "not listed", "only as written", "never")
# A named pair may be milder than its classes only where a step of this handbook is written for it.
MILDER = {
    ("nitric acid", "ethanol"),
    ("ferric chloride", "closed bottle"),
    ("dilute nitric acid", "silver nitrate"),
    ("nital", "pallasite or mesosiderite"),
}


def test_a_named_pair_is_milder_than_its_classes_only_where_a_step_is_written_for_it():
    milder = set()
    for i in range(len(PAIR_FIRST)):
        rule = worst_rule(PAIR_FIRST[i], PAIR_SECOND[i])
        verdict = RULE_VERDICT[rule] if rule >= 0 else "not listed"
        if ORDER.index(PAIR_VERDICT[i]) < ORDER.index(verdict):
            milder.add((AGENTS[PAIR_FIRST[i]], AGENTS[PAIR_SECOND[i]]))
    assert milder <= MILDER


def test_every_class_has_a_rule_or_says_why_none_is_needed():
    ruled = {*RULE_FIRST, *RULE_SECOND}
    held = {kind for entry in register().values() for kind in entry.classes}
    for place, name in enumerate(CLASSES):
        assert (place in ruled) != (place in QUIET), name
        assert name in held, f"no substance is of class {name}"
    assert held == set(CLASSES)


def test_each_row_gives_reason_and_remedy():
    for row in (*rows("never_named"), *rows("reactivity")):
        assert len(row["reason"]) > 9, row
        assert len(row["instead"]) > 9, row
        assert row["verdict"] in ("never", "only as written", "none needed")


SOLVENTS = [entry.name for entry in register().values() if entry.kind == "solvent"]
ACIDS = [entry.name for entry in register().values() if "acid" in entry.classes and entry.kind != "gas"]
# Each line of the issue: what must never be a go, one substance against several.
DANGEROUS = {
    "nitric acid": [
        "hydrochloric acid", "ferric chloride", "table salt", "calcium chloride", "ammonia", "hydrogen peroxide",
        "aluminium", "zinc or galvanised", "sodium carbonate", "potassium carbonate", *SOLVENTS,
    ],
    "carbonate with acid": ["closed bottle"],
    "nital": [
        "sulphide-rich piece", "hypochlorite bleach", "hydrogen peroxide", "sodium hydroxide",
        "potassium hydroxide", "paper or rags", "drying-oil rags", "methanol", "closed bottle",
    ],
    "hypochlorite bleach": [*SOLVENTS, *ACIDS, "hydrogen peroxide", "silver nitrate", "ammonia"],
    "silver nitrate": ["2-propanol", "acetone", "sodium carbonate", "potassium carbonate", "sodium bicarbonate"],
    "hydrogen peroxide": [*ACIDS, *SOLVENTS],
    "electrolysis current": [*SOLVENTS, "closed bottle", "solvent-wet piece", "table salt", "stainless steel"],
    "oven or hot plate": [*SOLVENTS, "uncured urethane", "pallasite or mesosiderite", "solvent-wet piece", "nital"],
    "alcohol with caustic": ["aluminium", "zinc or galvanised"],
    "chlorinated solvent": ["aluminium", "sodium hydroxide", "acetone"],
    "alkaline sulphite bath": ACIDS,
    "urethane hardener": ["water", "ethanol", "2-propanol", "sodium hydroxide", "ammonia", "epoxy hardener"],
    "superglue": ["paper or rags"],
}  # fmt: skip
MUST_NEVER = [(one, two) for one, others in DANGEROUS.items() for two in dict.fromkeys(others) if one != two]


@for_each("pair", MUST_NEVER)
def test_dangerous_pairs_are_never(pair):
    found = never_together(*pair)
    assert found["verdict"] == ("only as written" if pair in WRITTEN else "never"), found


WRITTEN = {("nitric acid", "ethanol")}  # nital, as its own step says


def test_what_the_register_does_not_know_is_treated_as_incompatible():
    bench = Bench(None)
    with pytest.raises(BadInput, match="treat it as incompatible with everything"):
        bench.ask("never-together", agent="benzol", other="acetone")
    with pytest.raises(BadInput, match="treat it as incompatible with everything"):
        bench.ask("cupboard-plan", bottles="acetone, benzol")
    with pytest.raises(BadInput) as caught:
        bench.ask("never-together", agent="benzol", other="acetone")
    assert "did you mean" not in str(caught.value)  # another substance is no spelling of this one


def test_a_known_pair_without_a_rule_is_kept_apart():
    answer = Bench(None).ask("never-together", agent="citric acid", other="Ethyl alcohol")
    assert answer.results["verdict"] == "not listed"
    assert answer.calculation.result("verdict").words["not listed"] == "nobody has looked: keep apart"
    assert "nobody has looked" in answer.results["reason"]


def test_other_names_are_read():
    ask = Bench(None).ask
    assert ask("never-together", agent="bleach", other="muriatic acid").results["verdict"] == "never"
    assert ask("never-together", agent="Lye", other="aluminium foil").results["verdict"] == "never"


# Cupboard

KEPT = [name for name in STORED if CAPS[place_of(name)] != "never kept"]


@given(st.lists(st.sampled_from(KEPT), min_size=1, max_size=9, unique=True))
@examples(60)
def test_a_shelf_holds_only_what_is_declared_safe_together(bottles):
    found = cupboard_plan(tuple(bottles))
    shelf = {line[0]: line[1] for line in found["plan"]}
    assert set(shelf) == set(bottles)
    assert found["shelves"] == max(shelf.values()) == len(set(shelf.values()))
    told = {frozenset(line[:2]) for line in found["apart"]}
    for one, two in combinations(bottles, 2):
        safe = never_together(one, two)["verdict"] == "none needed"
        assert (frozenset((one, two)) in told) != safe
        assert safe or shelf[one] != shelf[two]
    for bottle, _, container, cap, place in found["plan"]:
        entry = register()[bottle]
        assert (container, cap, place) == (entry.container, entry.cap, entry.texts["store"])


def test_gas_makers_are_vented_and_solvents_closed():
    cap = {line[0]: line[3] for line in cupboard_plan(("nitric acid", "ferric chloride", "acetone"))["plan"]}
    assert cap == {"nitric acid": "vented", "ferric chloride": "vented", "acetone": "closed"}
    for entry in register().values():
        if "sealed gas maker" in entry.classes and entry.name != "urethane hardener":
            assert entry.cap in ("vented", "never kept"), entry.name


@pytest.mark.parametrize(
    ("bottle", "code"),
    [
        ("nital", "nital"),
        ("hypochlorite bleach", "house-cleaner"),
        ("hydrogen peroxide", "house-cleaner"),
        ("chlorinated solvent", "chlorinated"),
        ("uncured urethane", "mixed-urethane"),
        ("ammonia", "not-kept"),
        ("cobalt gel", "not-kept"),
    ],
)
def test_what_is_never_kept_has_no_shelf(bottle, code):
    with pytest.raises(Refusal) as caught:
        cupboard_plan(("acetone", bottle))
    assert caught.value.code == code


def test_pairs_that_nobody_looked_at_are_told():
    codes = {reason[0] for reason in cupboard_plan(("citric acid", "acetone"))["cautions"]}
    assert codes == {"trays", "unlooked", "code"}
    assert {reason[0] for reason in cupboard_plan(("nitric acid",))["cautions"]} == {
        "trays",
        "vented",
        "code",
    }


if __name__ == "__main__":
    APPROVED.write_text("\n".join(all_pairs()) + "\n", encoding="utf-8")
