"""A plan of one piece: its steps run by the facts, with intervals, dates, totals, and what is refused.

The steps' own functions do all the reckoning. Here they are run in order, once for the best values and once
for each trial of what is known as a span, and what they give is put into sentences.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property, lru_cache
from math import floor

from handbook_calc.engine import quantities, spread
from handbook_calc.engine.calculation import worded
from handbook_calc.engine.faults import CalculationFault, RaisedInKernel
from handbook_calc.engine.house import House
from handbook_calc.engine.interval import ENDS, Leaf
from handbook_calc.engine.steps import ALIAS, MATERIALS, STEPS, Step, keys_read

DAY = 24
KINDS = "coating.kinds"
CANNOT = "It cannot be reckoned for this piece."


@dataclass(frozen=True)
class Amount:
    """A number of a plan with what it may really be."""

    value: float
    low: float
    high: float
    unit: str

    def show(self, digits: int = 3) -> str:
        """Return the number as people read it, with its interval where that can be seen."""
        if self.unit == "1":  # all that a plan counts comes whole
            texts = spread.whole_texts(self.value, self.low, self.high)
            return texts[0] if len(set(texts)) == 1 else f"{texts[0]} ({texts[1]} to {texts[2]})"
        value, unit = self.value, self.unit
        if unit != "h" or value < DAY:  # hours of work stay hours, however many
            value, unit = quantities.handy(value, unit)
        if self.low == self.high:
            return quantities.show(value, unit, digits)
        low, high = (quantities.convert(end, self.unit, unit) for end in (self.low, self.high))
        return quantities.show_interval(value, low, high, unit, digits or 3)

    def plain(self) -> dict:
        """Return the number as plain data."""
        return {"value": self.value, "unit": self.unit, "low": self.low, "high": self.high}

    def times(self) -> dict:
        """Return a time as plain data."""
        return {"likely": self.value, "low": self.low, "high": self.high, "unit": self.unit}


@dataclass(frozen=True)
class Planned:
    """One step of a plan.

    Attributes:
        step: its declaration.
        applies: it is done on the way of this piece.
        why: why it is, or why not.
        refused: why it cannot be done, and the way out; None where it can.
        figures: its numbers by name.
        takes: days from its begin to its end; attended: hours of hands-on work in them.
        holds: what must be true before the work goes on.
        begin, end: hours from midnight of the first day; None for a step that is not done.
        hands: begin and end of each stretch of hands-on work, in the same hours.
    """

    step: Step
    applies: bool
    why: str
    refused: str | None
    figures: dict[str, Amount]
    takes: Amount
    attended: Amount
    holds: tuple[str, ...]
    begin: float | None = None
    end: float | None = None
    hands: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Plan:
    """The plan of one piece.

    Attributes:
        house: the standard with the piece laid over it.
        grade: its condition grade, as in ``G3``.
        refused: why the whole route is refused, and the way out; None where it is not.
        steps: every declared step, done or left out.
        totals: what all steps take and leave, by material.
        takes: days from the first to the last.
        start: the first day, or None.
    """

    house: House
    grade: str
    refused: str | None
    steps: tuple[Planned, ...]
    totals: dict[str, Amount]
    takes: Amount
    start: date | None

    @property
    def number(self) -> str:
        """Return the number of the piece."""
        return self.house["piece.number"]

    def moment(self, hours: float) -> datetime | None:
        """Return a time of the plan as local time; None where no start is known."""
        if self.start is None:
            return None
        return datetime.combine(self.start, datetime.min.time()) + timedelta(hours=round(hours * 60) / 60)

    def day(self, hours: float | None) -> str | None:
        """Return the day of a time of the plan; None where no start is known, or beyond the calendar."""
        if hours is None or self.start is None:
            return None
        try:
            return (self.start + timedelta(days=floor(hours / DAY))).isoformat()
        except OverflowError:
            return None

    @cached_property
    def unknowns(self) -> dict[str, str]:
        """Return what is not known of the piece, key -> what that costs."""
        return {key: entry.instead.costs for key, entry in self.house.entries.items() if entry.instead}

    @cached_property
    def misfits(self) -> list[str]:
        """Return what the house's own values cannot do for the piece; the plan takes what the piece needs."""
        return [f"{fault.text} ({fault.file}:{fault.line})" for fault in self.house.misfits]

    def plain(self) -> dict:
        """Return the plan as plain data, as the command line prints it."""
        return {
            "piece": self.number,
            "grade": self.grade,
            "edition": self.house["house.edition"],
            "refused": self.refused,
            "steps": [self._plain(planned) for planned in self.steps],
            "totals": {name: amount.plain() for name, amount in self.totals.items()},
            "takes": self.takes.times(),
            "start": self.start.isoformat() if self.start else None,
            "unknown": self.unknowns,
            "misfits": self.misfits,
        }

    def _plain(self, planned: Planned) -> dict:
        return {
            "id": planned.step.id,
            "title": planned.step.title,
            "applies": planned.applies,
            "why": planned.why,
            "refused": planned.refused,
            "figures": {name: amount.plain() for name, amount in planned.figures.items()},
            "takes": planned.takes.times(),
            "attended": planned.attended.times(),
            "holds": list(planned.holds),
            "cautions": [f"safety/{name}" for name in planned.step.cautions] if planned.applies else [],
            "record": list(planned.step.record) if planned.applies else [],
            "earliest": self.day(planned.begin),
            "likely_end": self.day(planned.end),
        }


# --- the facts ---------------------------------------------------------------------------------


def facts(house: House) -> tuple[dict, list[Leaf]]:
    """Return the values that the steps read by key, and those of them that are known as a span."""
    return facts_for(house, house["wanted.coating"])


def facts_for(house: House, coating: str) -> tuple[dict, list[Leaf]]:
    """Return the same for another coating than the one that is wanted."""
    found: dict = {}
    leaves = []
    for declared in STEPS.values():
        for key in keys_read(declared.kernel):
            entry = house.entries.get(_house_key(key, coating))
            value = entry.value if entry else None
            found[key] = list(value) if isinstance(value, tuple) else value
            if entry and entry.leaf and not any(leaf.name == key for leaf in leaves):
                field = entry.field
                low, high = getattr(field, "low", float("-inf")), getattr(field, "high", float("inf"))
                leaves.append(replace(entry.leaf, name=key, least=low, most=high))
    # The first ones are kept apart best; how long hands are busy matters least.
    return found, sorted(leaves, key=lambda leaf: (leaf.name.startswith("work."), leaf.name))


def house_keys(house: House) -> list[str]:
    """Return the house values and facts that a plan is made from, each once."""
    coating = house["wanted.coating"]
    read = (_house_key(key, coating) for declared in STEPS.values() for key in keys_read(declared.kernel))
    return [key for key in dict.fromkeys(read) if key in house.entries]


def _house_key(key: str, coating: str) -> str:
    return f"{KINDS}.{coating}.{key.removeprefix(ALIAS)}" if key.startswith(ALIAS) else key


# --- running -----------------------------------------------------------------------------------


def run(v: Mapping) -> dict[str, dict]:
    """Return what each step gives; one that cannot be reckoned says so in `refused`, as a text."""
    done: dict[str, dict] = {}
    for declared in STEPS.values():
        try:
            done[declared.id] = declared.kernel(v, done)  # pyright: ignore[reportArgumentType]  only read
        except RaisedInKernel as raised:
            done[declared.id] = _cannot(declared, worded(declared.sentence(raised.code), {}, raised.numbers))
        except CalculationFault as fault:
            done[declared.id] = _cannot(declared, getattr(fault, "message", str(fault)))
    return done


def _cannot(declared: Step, why: str) -> dict:
    """Return the result of a step that cannot be reckoned for this piece; a wish is then left out."""
    return {
        "applies": declared.needed, "why": [], "refused": why, "figures": {}, "segments": [], "attended": 0.0,
        "uses": [], "holds": [], "says": {"waste": 0.0, "baths": 0, "round": 0.0},
    }  # fmt: skip


def _times(done: Mapping[str, dict], v: Mapping) -> dict[str, list[float]]:
    """Return begin and end of each step that is done, in hours from midnight of the first day."""
    from handbook_calc.plan import schedule

    follows = [id for id, result in done.items() if result["applies"] and not STEPS[id].beside]
    all_segments = [done[id]["segments"] for id in follows]
    times = dict(zip(follows, schedule(all_segments, v["work.day_start"], v["wanted.hours"]), strict=True))
    for id, result in done.items():
        if result["applies"] and STEPS[id].beside in times:
            times[id] = times[STEPS[id].beside]
    return times


def _totals(done: Mapping[str, dict]) -> dict[str, float]:
    found: dict[str, float] = {}
    for result in done.values():
        for name, amount in result["uses"] if result["applies"] else ():
            found[name] = found.get(name, 0.0) + amount
    return {name: found[name] for name in MATERIALS if name in found}


def _numbers(v: Mapping) -> dict[str, float]:
    """Return every number of a plan by a name of its own, for the trials."""
    done = run(v)
    times = _times(done, v)
    found = {f"total:{name}": amount for name, amount in _totals(done).items()}
    for id, result in done.items():
        found[f"attended:{id}"] = float(result["attended"])
        begin, end = times.get(id, (0.0, 0.0))
        found[f"takes:{id}"] = (end - begin) / DAY
        found |= {f"figure:{id}:{name}": n for name, n in result["figures"].items() if n is not None}
    found["takes"] = (max(end for _, end in times.values()) - min(begin for begin, _ in times.values())) / DAY
    return found


@lru_cache(maxsize=512)
def _points(leaf: Leaf) -> tuple[float, ...]:
    """Return the values at which a span is tried; those of the house are the same for each piece."""
    from handbook_calc import plan

    return tuple(leaf.at(plan.share_at(point)) for point in range(plan.POINTS))


def _ends(v: Mapping, leaves: list[Leaf]) -> dict[str, tuple[float, float]]:
    """Return the 5th and 95th per cent of every number of a plan over the trials of its spanned facts."""
    from handbook_calc import plan

    points = [_points(leaf) for leaf in leaves]
    strides = [plan.stride(place) for place in range(len(leaves))]
    found: dict[str, list[float]] = {}
    for trial in range(plan.POINTS):
        tried = {
            leaf.name: along[trial * by % plan.POINTS]
            for leaf, along, by in zip(leaves, points, strides, strict=True)
        }
        for name, number in _numbers({**v, **tried}).items():
            found.setdefault(name, []).append(number)
    return {name: _quantiles(sorted(numbers)) for name, numbers in found.items()}


def _quantiles(ordered: list[float]) -> tuple[float, float]:
    return spread.quantile(ordered, ENDS[0]), spread.quantile(ordered, ENDS[1])


def plan_of(house: House, start: date | None = None, spans: bool = True) -> Plan:
    """Return the plan of the piece that is laid over a house standard.

    Arguments:
        house: loaded with ``asking=True`` for any piece but the example.
        start: the first day; default is the piece's own.
        spans: run the trials; without them every number is its best value.
    """
    v, leaves = facts(house)
    middle = _numbers(v)
    ends = house.memory.ends(f"{v}{leaves}", lambda: _ends(v, leaves)) if spans and leaves else {}
    done = run(v)
    times = _times(done, v)

    def amount(name: str, unit: str, value: float | None = None) -> Amount:
        number = float(middle[name] if value is None else value)
        low, high = ends.get(name, (number, number))
        # The best values are one trial among many: where a step is whole days, its best may be at an end.
        return Amount(number, min(low, number), max(high, number), unit)

    steps = []
    for id, result in done.items():
        declared = STEPS[id]
        begin, end = times.get(id, (None, None))
        figures = {
            name: amount(f"figure:{id}:{name}", declared.figures[name].unit)
            for name, value in result["figures"].items()
            if value is not None
        }
        steps.append(
            Planned(
                declared,
                result["applies"],
                _said(declared, result["why"]) or CANNOT,
                _said(declared, result["refused"]) if result["refused"] else None,
                figures,
                amount(f"takes:{id}", "d"),
                amount(f"attended:{id}", "h"),
                tuple(_said(declared, hold) for hold in result["holds"]),
                begin,
                end,
                () if declared.beside else tuple(_hands(result["segments"], begin, v)),
            )
        )
    totals = {name: amount(f"total:{name}", MATERIALS[name]) for name in _totals(done)}
    start_day = start or (date.fromisoformat(house["wanted.start"]) if house["wanted.start"] else None)
    refused = next((s.refused for s in steps if s.step.needed and s.applies and s.refused), None)
    grade = f"G{done['survey']['says']['level']}"
    return Plan(house, grade, refused, tuple(steps), totals, amount("takes", "d"), start_day)


def _said(declared: Step, code) -> str:
    """Return the sentence of a code with its numbers; a text stays as it is."""
    if not code:
        return ""
    return code if isinstance(code, str) else worded(declared.sentence(code[0]), {}, tuple(code[1:]))


def _hands(segments: list, begin: float | None, v: Mapping) -> Iterator[tuple[float, float]]:
    """Yield begin and end of each stretch of hands-on work of a step that begins then."""
    from handbook_calc.plan import hands_begin, hands_end

    if begin is None:
        return
    now, hours = begin, v["wanted.hours"]
    for count, hands, wait, _ in segments:
        for _ in range(int(count)):
            first = hands_begin(now, hands, v["work.day_start"], hours)
            last = hands_end(first, hands, hours)
            yield first, last
            now = last + wait
