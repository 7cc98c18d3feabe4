"""The plans of all pieces of a bench: computed from their files, and as lines of the record of an edition.

What a plan comes to is recorded under the name of its piece's file: whether the route can be done, how long
it takes, what it uses, and of each step its verdict, figures, duration and holds. The facts of each piece are
recorded beside it, so that a difference tells whether the house or the piece is behind it.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from handbook_calc.editions import FACT, PLAN, Line, clean, recorded
from handbook_calc.engine.faults import HouseFaults
from handbook_calc.engine.house import House, is_of_piece
from handbook_calc.engine.planning import Amount, Plan, Planned, house_keys, plan_of
from handbook_calc.engine.render import Renderer
from handbook_calc.engine.tables import REFUSED
from handbook_calc.piece import check_facts

PAGE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*")
CAN = "can be done"


def plans(
    files: Iterable[Path], load: Callable[[Path], House], named: Callable[[Path], str] = str
) -> tuple[dict[str, Plan], list[str]]:
    """Return the plans of pieces by the names of their files, and what is wrong, each with file and line.

    Arguments:
        files: of the pieces.
        load: returns the standard with a piece's file laid over it; raises `HouseFaults`.
        named: how a message names a file.
    """
    found: dict[str, Plan] = {}
    faults: list[str] = []
    numbers: dict[str, Path] = {}
    for path in files:
        if not PAGE_NAME.fullmatch(path.stem):
            allowed = "allowed are letters, digits, '-' and '_'"
            faults.append(f"{named(path)}:1: is no name of a page; {allowed}")
            continue
        try:
            standard = load(path)
            check_facts(standard)
        except HouseFaults as error:
            faults += map(str, error.faults)
            continue
        plan = plan_of(standard)
        twin = numbers.setdefault(plan.number, path)
        if twin is not path:
            line = standard.entry("piece.number").line
            faults.append(f"{named(path)}:{line}: piece.number: {plan.number} is that of {named(twin)} too")
        found[path.stem] = plan
    return found, faults


def page_of(name: str) -> str:
    """Return the page of a piece by the name of its file."""
    return f"pieces/{name}.md"


@recorded
def plan_lines(renderer: Renderer) -> Iterator[Line]:
    """Yield the facts of every piece that has a plan, and all that its plan comes to."""
    for name, plan in renderer.plans.items():
        yield from _facts(name, plan)
        yield from _lines_of(name, plan)


def _facts(name: str, plan: Plan) -> Iterator[Line]:
    for key, entry in plan.house.entries.items():
        if is_of_piece(key):
            yield Line(f"{FACT} {name}/{key}", page_of(name), clean(entry.show()), source=clean(entry.reason))


def _lines_of(name: str, plan: Plan) -> Iterator[Line]:
    page = page_of(name)

    def line(what: str, text: str, **more: str) -> Line:
        return Line(f"{PLAN} {name} | {what}", page, clean(text), **more)

    def number(what: str, amount: Amount, digits: int = 3) -> Line:
        return line(what, amount.show(digits), **_numbers(amount))

    keys = (f"{name}/{key}" if is_of_piece(key) else key for key in house_keys(plan.house))
    yield Line(f"{PLAN} {name}", page, f"piece {clean(plan.number)}", source=" ".join(sorted(keys)))
    if plan.refused:
        yield line("route", f"refused: {plan.refused}", state=REFUSED)
    else:
        yield line("route", CAN)
    yield line("grade", plan.grade)
    yield number("takes", plan.takes)
    for material, amount in plan.totals.items():
        yield number(f"total of {material}", amount)
    for at, misfit in enumerate(plan.house.misfits, 1):
        yield line(f"beyond this bench {at}", misfit.text)
    for planned in plan.steps:
        said, state = _verdict(planned)
        yield line(f"{planned.step.id} | verdict", said, state=state)
        if not planned.applies:
            continue
        yield number(f"{planned.step.id} | takes", planned.takes)
        yield number(f"{planned.step.id} | attended", planned.attended)
        for figure, amount in planned.figures.items():
            yield number(f"{planned.step.id} | {figure}", amount, planned.step.figures[figure].digits)
        for at, hold in enumerate(planned.holds, 1):
            yield line(f"{planned.step.id} | hold {at}", hold)


def _numbers(amount: Amount) -> dict[str, str]:
    ends = () if amount.low == amount.high else (amount.low, amount.high)
    written = [f"{number:.12g}" for number in (amount.value, *ends)]
    unit = "" if amount.unit == "1" else amount.unit
    return dict(zip(("value", "low", "high"), written, strict=False)) | {"unit": unit}


def _verdict(planned: Planned) -> tuple[str, str]:
    """Return what is done with a step in words, and the state of the line."""
    if planned.refused:
        return f"refused: {planned.refused}", REFUSED
    return f"{'done' if planned.applies else 'left out'}: {planned.why}", ""
