"""The `@step` declaration: one step of the way of a piece across the bench, and what a plan makes of all.

A step looks like a calculation: what it says stands in its declaration, what it reckons in its body. The body
is a plain function in the formulas' own subset, of the facts by key and of what the steps before it gave,
so that the page runs the same plan. All steps are checked whole when they are loaded.
"""

import ast
import inspect
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache

from handbook_calc.engine import kernels, quantities
from handbook_calc.engine.faults import BadDeclaration, declared_at, nearest
from handbook_calc.engine.house import FAMILIES, SETTINGS
from handbook_calc.engine.subset import complaints

# What a step may take from the bench or leave behind, and the unit it is counted in; `totals` adds them up.
MATERIALS = {
    "water": "L",
    "salt": "g",
    "solvent": "L",
    "papers": "1",
    "etchant": "mL",
    "acid": "mL",
    "bicarbonate": "g",
    "coating": "mL",
    "gel": "g",
    "alkaline waste": "L",
    "rinse water": "L",
    "solvent waste": "L",
    "acid waste": "L",
}
ALIAS = "coat."  # facts of the coating that is wanted, whatever its name in the house
RESULT = ("applies", "why", "refused", "figures", "segments", "attended", "uses", "holds", "says")


@dataclass(frozen=True)
class Figure:
    """A number that a step gives: its unit, and what it is in a few words."""

    unit: str
    about: str
    digits: int = 3


@dataclass(frozen=True)
class Step:
    """A declared step.

    Attributes:
        id: name of the procedure page that says how it is done.
        title: what is done, in a few words.
        kernel: from facts and the results of earlier steps to a dict of `RESULT`.
        figures: name -> what the number is.
        why: code -> sentence: why the step is done, or left out.
        refusals: code -> sentence: why it is refused, and the way out.
        holds: code -> sentence: what must be true before the work goes on.
        cautions: names of the safety pages that are read first.
        record: lines to be filled in on the printed sheet.
        after: the step that it follows; steps of one plan are done one after the other.
        beside: the step during which it is done; it takes no days of its own.
        needed: without it the whole route is refused.
        place: file and line of the declaration.
    """

    id: str
    title: str
    kernel: Callable[[dict, dict], dict]
    figures: Mapping[str, Figure]
    why: Mapping[str, str]
    refusals: Mapping[str, str] = field(default_factory=dict)
    holds: Mapping[str, str] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    record: tuple[str, ...] = ()
    after: str = ""
    beside: str = ""
    needed: bool = False
    place: str = ""

    def sentence(self, code: str) -> str:
        """Return the sentence of a code, whichever list declares it."""
        return {**self.why, **self.refusals, **self.holds}[code]


STEPS: dict[str, Step] = {}


def step(
    id: str,
    *,
    title: str,
    why: Mapping[str, str],
    figures: Mapping[str, Figure] | None = None,
    refusals: Mapping[str, str] | None = None,
    holds: Mapping[str, str] | None = None,
    cautions: tuple[str, ...] = (),
    record: tuple[str, ...] = (),
    after: str = "",
    beside: str = "",
    needed: bool = False,
):
    """Declare the function below as a step of the plan; the arguments are the attributes of `Step`.

    Raises:
        BadDeclaration: the declaration does not hold by itself.
    """
    place = declared_at()

    def declare(kernel):
        declared = Step(
            id, title, kernel, dict(figures or {}), dict(why), dict(refusals or {}), dict(holds or {}),
            cautions, record, after, beside, needed, place,
        )  # fmt: skip
        for told in _complaints(declared):
            raise BadDeclaration(f"{place}: step '{id}': {told}")
        STEPS[id] = declared
        return kernel

    return declare


def _complaints(declared: Step) -> Iterator[str]:
    """Say what is wrong with a step by itself."""
    if list(inspect.signature(declared.kernel).parameters) != ["v", "done"]:
        yield "its function takes v, the facts, and done, what the steps before it gave"
    if not declared.kernel.__doc__:
        yield "has no docstring"
    for name, figure in declared.figures.items():
        if figure.unit not in quantities.known_units():
            near = nearest(figure.unit, quantities.known_units())
            yield f"{name} has the unknown unit '{figure.unit}'{near}"
    for sentences in (declared.why, declared.refusals, declared.holds):
        for code, text in sentences.items():
            if not text.endswith((".", "?")):
                yield f"the sentence of '{code}' does not end with a stop"


def check() -> None:
    """Check all steps together.

    Raises:
        BadDeclaration: a step that follows none, two that follow one, a step done beside none, a code that
            is not declared or never given, a fact that nothing declares, code outside the subset.
    """
    told = [f"{declared.place}: step '{declared.id}': {text}" for declared in STEPS.values()
            for text in (*_order(declared), *_codes(declared), *_facts(declared))]  # fmt: skip
    told += [f"handbook_calc/{text}" for s in STEPS.values() for text in complaints(s.kernel)]
    if told:
        raise BadDeclaration("\n".join(dict.fromkeys(told)))


def _order(declared: Step) -> Iterator[str]:
    ids = list(STEPS)
    at = ids.index(declared.id)
    for named, what in ((declared.after, "follows"), (declared.beside, "is done beside")):
        if named and named not in STEPS:
            yield f"{what} '{named}', which is no step{nearest(named, ids)}"
        elif named and ids.index(named) >= at:
            yield f"{what} '{named}', which is declared after it: a plan would go round in a circle"
    if at and not declared.after:
        yield "follows no step; name the one before it with after="
    twins = [s.id for s in STEPS.values() if s.after == declared.after and s.id != declared.id and s.after]
    if twins:
        yield f"follows '{declared.after}' as '{twins[0]}' does; one of them comes first"


def _codes(declared: Step) -> Iterator[str]:
    said = kernels.said(declared.kernel)
    known = {*declared.why, *declared.refusals, *declared.holds}
    used = {*said.codes["because"], *said.codes["refuse"]}
    for code in sorted(used - known):
        yield f"gives the code '{code}', which it does not declare{nearest(code, known)}"
    for code in sorted(known - used):
        yield f"declares the code '{code}', which it never gives"


def _facts(declared: Step) -> Iterator[str]:
    for key in keys_read(declared.kernel):
        if key.startswith(ALIAS):
            fields = [f.name for f in FAMILIES["coating.kinds"].fields]
            if key.removeprefix(ALIAS) not in fields:
                yield f"reads {key}, and a coating has no such value"
        elif key not in SETTINGS:
            yield f"reads {key}, which nothing declares{nearest(key, SETTINGS)}"


@cache
def keys_read(kernel) -> tuple[str, ...]:
    """Return the facts that a step reads, itself or in a function that takes the facts from it."""
    found: dict[str, None] = {}
    waiting, seen = [kernel], {kernel}
    while waiting:
        function = waiting.pop()
        parsed, _, _ = kernels.tree(function)
        for node in ast.walk(parsed):
            if isinstance(node, ast.Subscript) and getattr(node.value, "id", "") == "v":
                found[ast.literal_eval(node.slice)] = None
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                called = function.__globals__.get(node.func.id)
                if inspect.isfunction(called) and "v" in inspect.signature(called).parameters:
                    waiting += [called] if called not in seen else []
                    seen.add(called)
    return tuple(found)
