"""Intervals: what a result may really be when its inputs are spans.

The method is that of JCGM 101:2008 (propagation of distributions by trials), on fixed points of a
low-discrepancy lattice instead of random numbers: the same question has the same answer to the last
digit, in a table, on the command line and in the page. Ends are the 5th and 95th per cent, of equal
tails. Where a single spanned input moves a result, and in one direction only, its own ends give the ends
of the result exactly, and no trials are run for it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from handbook_calc.engine import spread
from handbook_calc.engine.faults import CalculationFault

ENDS = (0.05, 0.95)
BETWEEN = (0.25, 0.75)  # where a single input is tried besides, to see whether it acts in one direction
BISECTIONS = 40


_deviate = lru_cache(maxsize=2048)(spread.deviate)  # every leaf is tried at the same few hundred shares


@dataclass(frozen=True)
class Leaf:
    """An input that is known as a span.

    Attributes:
        name: what it is called, in messages and in `Interval.dominant`.
        value, low, high: best value, 5th and 95th per cent, in the declared unit.
        about: what it is, in a few words.
        unit: declared unit; temperatures are sampled as they are, other positive numbers by ratio.
        least, most: ends of what the input may be; the tails of the distribution stop there.
    """

    name: str
    value: float
    low: float
    high: float
    about: str = ""
    unit: str = "1"
    least: float = float("-inf")
    most: float = float("inf")

    def at(self, share: float) -> float:
        """Return the value with `share` of all possible values below it."""
        difference = self.unit in ("degC", "degF", "K") or self.unit.startswith("delta_")
        found = spread.placed(self.value, self.low, self.high, _deviate(share), difference)
        return min(max(found, self.least), self.most)


@dataclass(frozen=True)
class Interval:
    """What a numeric result may really be.

    Attributes:
        value: the result for the best values of all inputs.
        low, high: 5th and 95th per cent of the trials.
        dominant: the names of the inputs that move it most, at most two.
        refused: share of the trials that have no answer.
    """

    value: float
    low: float
    high: float
    dominant: tuple[str, ...] = ()
    refused: float = 0.0

    def plain(self, name_of: Callable[[str], str]) -> dict:
        """Return it as plain data; `name_of` gives the name that an input goes by."""
        return {"low": self.low, "high": self.high, "dominant": list(map(name_of, self.dominant))}


@dataclass(frozen=True)
class Flip:
    """A verdict that another value of one input, inside its span, would change.

    Attributes:
        word: the other verdict, or ``refused``.
        leaf: the input.
        above: whether it changes above (or below) `edge`.
        edge: where it changes, in the input's declared unit.
    """

    word: str
    leaf: Leaf
    above: bool
    edge: float


@dataclass(frozen=True)
class Spread:
    """How all results of one calculation spread.

    Attributes:
        intervals: of the numbers, by name of the result.
        flips: of the verdicts, by name of the result.
        refused: share of the trials that have no answer.
        reason: why the first of these has none.
    """

    intervals: Mapping[str, Interval] = field(default_factory=dict)
    flips: Mapping[str, tuple[Flip, ...]] = field(default_factory=dict)
    refused: float = 0.0
    reason: str = ""


def propagate(
    run: Callable[[Mapping[str, float]], Mapping],
    leaves: Sequence[Leaf],
    middle: Mapping,
    *,
    verdicts: Sequence[str] = (),
    ends: tuple[float, float] = ENDS,
) -> Spread:
    """Return how the results spread when every leaf is what it may be.

    Arguments:
        run: from values of the leaves by name to results by name; may raise a CalculationFault.
        leaves: the spanned inputs; none of them depends on another.
        middle: the results for the best values.
        verdicts: results that are verdicts.
        ends: shares of all trials below the low and the high end.

    Returns:
        Intervals for every result that is a number, flips for every verdict that changes.
    """
    best = {leaf.name: leaf.value for leaf in leaves}
    numbers = [name for name, value in middle.items() if _number(value)]
    asked = _Asked(run)
    alone = {leaf.name: [asked(best | {leaf.name: leaf.at(share)}) for share in ends] for leaf in leaves}
    answered = not any(None in tried for tried in alone.values())
    exact = _one_direction(asked, leaves, best, middle, numbers, alone, ends) if answered else {}
    rows: list[Mapping] = []
    refused = 0.0
    if exact.keys() != set(numbers) or not answered:
        rows = [found for found in map(asked, _trials(leaves)) if found is not None]
        refused = 1 - len(rows) / spread.TRIALS
    intervals = {}
    for name in numbers:
        ordered = exact.get(name) or sorted(row[name] for row in rows if _number(row.get(name)))
        if not ordered:
            continue
        low, high = (ordered[0], ordered[-1]) if name in exact else (
            spread.quantile(ordered, ends[0]), spread.quantile(ordered, ends[1])
        )  # fmt: skip
        intervals[name] = Interval(middle[name], low, high, _dominant(name, middle, alone), refused)
    flips = {}
    for name in verdicts:
        found = tuple(_flips(asked, leaves, best, name, middle[name], alone))
        if found:
            flips[name] = found
    return Spread(intervals, flips, refused, asked.reason if refused > 0 else "")


class _Asked:
    """Runs trials; None where one has no answer, and the reason of the first of these."""

    def __init__(self, run) -> None:
        self.run = run
        self.reason = ""

    def __call__(self, trial) -> Mapping | None:
        try:
            return self.run(trial)
        except CalculationFault as fault:
            self.reason = self.reason or getattr(fault, "message", str(fault))
            return None


def _number(value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


@lru_cache(maxsize=256)
def _points(leaf: Leaf) -> tuple[float, ...]:
    return tuple(leaf.at(spread.share_of(number)) for number in range(spread.TRIALS))


def _trials(leaves: Sequence[Leaf]):
    points = [_points(leaf) for leaf in leaves]
    steps = [spread.generator(place) for place in range(len(leaves))]
    for trial in range(spread.TRIALS):
        yield {
            leaf.name: along[trial * step % spread.TRIALS]
            for leaf, along, step in zip(leaves, points, steps, strict=True)
        }


def _one_direction(asked, leaves, best, middle, numbers, alone, ends) -> dict[str, list[float]]:
    """Return the two ends of each result that no input but one moves, and that one in one direction.

    The others must leave it as it is each by itself, and all of them at either end.
    """
    exact = {}
    for leaf in leaves:
        others = [other for other in leaves if other is not leaf]
        named = [n for n in numbers if n not in exact and not _moved(n, others, middle, alone)]
        if not named:
            continue
        low, high = alone[leaf.name]
        between = [asked(best | {leaf.name: leaf.at(share)}) for share in BETWEEN]
        tried = [low, between[0], middle, between[1], high]
        corners = []
        if others:
            for share in ends:
                there = {other.name: other.at(share) for other in others}
                corners += [asked(there | {leaf.name: leaf.at(end)}) for end in ends]
        if None in tried or None in corners:
            continue
        for name in named:
            values = [found.get(name) for found in tried]
            at_corners = [found.get(name) for found in corners]
            if (
                all(map(_number, values))
                and values in (sorted(values), sorted(values, reverse=True))
                and at_corners in ([], [values[0], values[-1]] * 2)
            ):
                exact[name] = sorted((values[0], values[-1]))
    return exact


def _moved(name: str, leaves, middle: Mapping, alone: Mapping) -> bool:
    """Tell whether one of these inputs changes a result where it goes to an end of its span by itself."""
    return any(found.get(name) != middle[name] for leaf in leaves for found in alone[leaf.name])


def _dominant(name: str, middle: Mapping, alone: Mapping) -> tuple[str, ...]:
    moved = {}
    for leaf, tried in alone.items():
        values = [found[name] for found in tried if found and _number(found.get(name))] + [middle[name]]
        moved[leaf] = max(values) - min(values)
    most = sorted((leaf for leaf in moved if moved[leaf] > 0), key=lambda leaf: -moved[leaf])
    return tuple(most[:2])


def _flips(asked, leaves, best, name: str, word, alone):
    """Yield where a verdict changes when one input alone goes to an end of its span."""
    for leaf in leaves:
        for end, found in zip((leaf.low, leaf.high), alone[leaf.name], strict=True):
            other = "refused" if found is None else found.get(name)
            if other == word or end == leaf.value:
                continue
            same, changed = leaf.value, end
            for _ in range(BISECTIONS):
                edge = (same + changed) / 2
                tried = asked(best | {leaf.name: edge})
                if tried is not None and tried.get(name) == word:
                    same = edge
                else:
                    changed = edge
            yield Flip(other, leaf, end > leaf.value, same)
