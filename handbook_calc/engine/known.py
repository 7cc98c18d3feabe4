"""Numbers that know how sure they are: inputs with a span, and results that were computed from them.

Formulas work on plain floats. What travels between them, in the tables and from the command line, may be
a `Known` or a `Derived`: a float to everything that reckons, which besides remembers the span, or the
calculation, that it comes from. Arithmetic on one gives a plain number, without a memory; `combined` keeps
it, and `judged` gives a word that knows where it would be another. How a result
spreads is computed when somebody prints it, through the whole chain of calculations behind it, in which
an input that enters twice is one and the same.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import count
from types import CodeType
from typing import Any

from handbook_calc.engine import quantities, spread
from handbook_calc.engine.interval import Interval, Leaf, Spread, propagate
from handbook_calc.engine.memory import PASSING, Memory

MOST_NAMED = 2  # inputs that are named as those an interval comes from


class Known(float):
    """An input that is known as a span; `unit` is that of the number, which may differ from the leaf's."""

    __slots__ = ("leaf", "unit")

    def __new__(cls, value: float, leaf: Leaf | None, unit: str):
        number = super().__new__(cls, value)
        number.leaf = leaf
        number.unit = unit
        return number

    def __reduce__(self):
        return float, (float(self),)  # a copy is a plain number

    def at(self, trial: Mapping[str, float]) -> float:
        """Return the number in one trial, in which leaves have the values given by name."""
        value = trial[self.leaf.name]
        return value if self.unit == self.leaf.unit else quantities.convert(value, self.leaf.unit, self.unit)

    @property
    def ends(self) -> tuple[float, float]:
        """Return the ends of the span in the unit of the number."""
        leaf = self.leaf
        low, high = (quantities.convert(n, leaf.unit, self.unit) for n in (leaf.low, leaf.high))
        return low, high


def leaf_of(declared, name: str, value: float, span: tuple[float, float]) -> Leaf:
    """Return the leaf of a value of a declared field, in the field's unit."""
    low, high = span
    return Leaf(name, value, low, high, declared.about, declared.unit)


class HouseNumber(Known):
    """A number that was taken from the house standard, with the key it was taken under.

    Handed to a calculation as it is, it must be in the unit of the input; anything reckoned from it is a
    plain number again. Its leaf is None where the house gives no span.
    """

    __slots__ = ("key",)

    def __new__(cls, value: float, key: str, unit: str, leaf: Leaf | None = None):
        number = super().__new__(cls, value, leaf, unit)
        number.key = key
        return number


class Derived(float):
    """A result that was computed from an input with a span."""

    __slots__ = ("call", "factor", "result")

    def __new__(cls, value: float, call: "Call", result: str, factor: float = 1.0):
        number = super().__new__(cls, value)
        number.call = call
        number.result = result
        number.factor = factor
        return number

    def __reduce__(self):
        return float, (float(self),)

    @property
    def interval(self) -> Interval | None:
        """Return what it may really be."""
        found = self.call.spread.intervals.get(self.result)
        if found is None or self.factor == 1:
            return found
        low, high = sorted((found.low * self.factor, found.high * self.factor))
        return replace(found, value=float(self), low=low, high=high)

    @property
    def side(self) -> int:
        """Return the side to which it is printed: that of the result."""
        declared = {entry.name: entry for entry in getattr(self.call.calculation, "results", ())}
        return getattr(declared.get(self.result), "side", 0)


class Sided(float):
    """A result that is printed on its safe side, and comes from no span; see `Number.safe`."""

    __slots__ = ("side",)

    def __new__(cls, value: float, side: int):
        number = super().__new__(cls, value)
        number.side = side
        return number

    def __reduce__(self):
        return Sided, (float(self), self.side)


class DerivedCount(int):
    """A count that was computed from an input with a span."""

    call: "Call"
    result: str

    def __new__(cls, value: int, call: "Call", result: str):
        number = super().__new__(cls, value)
        number.call = call
        number.result = result
        return number

    def __reduce__(self):
        return int, (int(self),)

    factor = 1
    interval = Derived.interval


class Judged(str):
    """A word that hangs on results computed from an input with a span: a verdict, or a limit kept or not."""

    def __new__(cls, word: str, call: "Call", judge: Callable[[dict], str]):
        text = super().__new__(cls, word)
        text.call = call
        text.judge = judge
        return text

    call: "Call"
    judge: Callable[[dict], str]

    def __reduce__(self):
        return str, (str(self),)

    @cached_property
    def flips(self) -> tuple[str, ...]:
        """Return the sentences that say where, inside the spans, another word would stand."""

        def run(trial):
            return {"word": self.judge(self.call.run_once(trial))}

        def tried():
            return propagate(run, list(self.call.leaves.values()), {"word": str(self)}, verdicts=("word",))

        key = f"{self.call.key} {self} {_told(self.judge)}"
        found = self.call.remembered(key, tried).flips.get("word", ())
        return tuple(flip_words(self.call, str(self), flip) for flip in found)


def judged(judge: Callable[..., str], *numbers) -> Any:
    """Return the word that a judge gives to numbers; it remembers them where they come from spans."""
    word = judge(*map(float, numbers))
    if not any(map(spanned, numbers)):
        return word
    return Judged(word, Combination(judge, numbers), lambda results: results[Combination.RESULT])


def combined(function: Callable[..., float], *numbers) -> Any:
    """Return what a function makes of numbers; it remembers them where they come from spans."""
    value = function(*map(float, numbers))
    if not any(map(spanned, numbers)):
        return value
    return Derived(value, Combination(function, numbers), Combination.RESULT)


def scaled(value, factor: float):
    """Return a number in another unit, by its factor, without losing where it comes from; None stays None."""
    if isinstance(value, Derived):
        return Derived(value * factor, value.call, value.result, value.factor * factor)
    if isinstance(value, Known) and value.leaf is not None:
        return Derived(value * factor, Scaled(value, factor), Combination.RESULT)
    if isinstance(value, Sided):
        return Sided(value * factor, value.side)
    return None if value is None else value * factor


def spanned(value) -> bool:
    """Tell whether a value is a span, or was computed from one."""
    return isinstance(value, Derived | DerivedCount) or (isinstance(value, Known) and value.leaf is not None)


class Call:
    """One run of a calculation in which at least one input has a span, or was computed from one.

    Attributes:
        calculation: what was run.
        values: its inputs as plain values, by name.
        sources: the inputs that have a span or come from one, by name.
        results: its results as plain values, by name.
    """

    def __init__(
        self, calculation, values: dict, sources: dict, results: dict, memory: Memory | None
    ) -> None:
        self.calculation = calculation
        self.values = values
        self.sources = sources
        self.results = results
        self.memory = memory
        self._done: dict[tuple, dict] = {}  # results by the values of the leaves

    @cached_property
    def key(self) -> str:
        """Return what tells this run from every other: the calculation, its inputs, their spans."""
        before = [f"{name}: {_key_of(source)}" for name, source in self.sources.items()]
        return f"{self.what}{self.values}{before}"

    @property
    def what(self) -> str:
        """Return what tells that which is run from everything else that could be."""
        return self.calculation.name

    @property
    def names(self) -> Sequence[str]:
        """Return the names of the inputs, in order."""
        return self.calculation.names

    @cached_property
    def leaves(self) -> dict[str, Leaf]:
        """Return the spans behind the inputs, by name, in the order of the inputs."""
        found: dict[str, Leaf] = {}
        for name in self.names:
            source = self.sources.get(name)
            if isinstance(source, Derived | DerivedCount):
                found |= source.call.leaves
            elif source is not None:
                found[source.leaf.name] = source.leaf
        return found

    def name_of(self, leaf: str) -> str:
        """Return what a leaf is called beside the results: its input, or the house value further back."""
        for name, source in self.sources.items():
            if isinstance(source, Known) and source.leaf.name == leaf:
                return name
        return leaf

    def words_for(self, leaf: str) -> str:
        """Return a leaf's name in words."""
        return self.name_of(leaf).rpartition(".")[2].replace("_", " ")

    @cached_property
    def spread(self) -> Spread:
        """Return how the results spread; the same run asked for twice is computed once."""
        return self.remembered(self.key, self._spread)

    def remembered(self, key: str, spread: Callable[[], Spread]) -> Spread:
        """Return a spread that only this run and what `key` says besides make what it is."""
        return self.memory.spread(key, spread) if self.memory else spread()

    def _spread(self) -> Spread:
        verdicts = [r.name for r in self.calculation.results if hasattr(r, "words")]
        leaves = list(self.leaves.values())
        middle = with_cells(self.calculation, self.results)
        return propagate(self.run, leaves, middle, verdicts=verdicts)

    def run(self, trial: Mapping[str, float]) -> dict:
        """Return the results of one trial.

        Arguments:
            trial: values of the leaves by name.

        Raises:
            CalculationFault: this trial has no answer.
        """
        arguments = list(self._arguments)
        for place, source, low, high in self._direct:
            arguments[place] = min(max(source.at(trial), low), high)  # the tails stop where the input does
        for place, source in self._behind:
            arguments[place] = source.call.run_once(trial)[source.result] * source.factor
        found = self.calculation.trial(arguments, self._checked)
        return with_cells(self.calculation, found) if self.calculation.listings else found

    def run_once(self, trial: Mapping[str, float]) -> dict:
        """Return the same; what comes after it in several chains asks for the same points again."""
        at = tuple(trial[name] for name in self.leaves)
        if at not in self._done:
            if len(self._done) > 2 * spread.TRIALS:
                self._done.clear()
            self._done[at] = self.run(trial)
        return self._done[at]

    @cached_property
    def _arguments(self) -> list:
        """Return the plain values of the inputs in order."""
        return [self.values[name] for name in self.calculation.names]

    @cached_property
    def _direct(self) -> list[tuple]:
        """Return the inputs that are spans: place, source, ends of what the input may be."""
        return [
            (place, source, declared.low, declared.high)
            for place, declared in enumerate(self.calculation.inputs)
            if isinstance(source := self.sources.get(declared.name), Known)
        ]

    @cached_property
    def _behind(self) -> list[tuple]:
        """Return the inputs that were computed from spans: place, source."""
        return [
            (place, source)
            for place, name in enumerate(self.calculation.names)
            if isinstance(source := self.sources.get(name), Derived | DerivedCount)
        ]

    @cached_property
    def _checked(self) -> list[int]:
        """Return the places of the inputs that a trial may carry out of their range."""
        return [place for place, _ in self._behind]


def cell_name(listing: str, row: int, column: int) -> str:
    """Return the name under which a number of a listing stands among the results."""
    return f"{listing}[{row}][{column}]"


COMBINATIONS = count(1)


class Combination(Call):
    """What a plain function makes of numbers, of which at least one has a span or was computed from one."""

    RESULT = "value"

    def __init__(self, function: Callable, numbers: Sequence) -> None:
        sources = {str(place): n for place, n in enumerate(numbers) if spanned(n)}
        values = {str(place): float(n) for place, n in enumerate(numbers)}
        calls = [source.call for source in sources.values() if isinstance(source, Derived | DerivedCount)]
        memory = next((call.memory for call in calls if call.memory), None)
        super().__init__(None, values, sources, {self.RESULT: function(*values.values())}, memory)
        self.function = function

    @property
    def what(self) -> str:
        """Return what tells the function from every other."""
        return _told(self.function)

    @property
    def names(self) -> Sequence[str]:
        """Return the places of the numbers, in order."""
        return tuple(self.values)

    def name_of(self, leaf: str) -> str:
        """Return the house value that a leaf is; the numbers themselves have no names."""
        return leaf

    def _spread(self) -> Spread:
        return propagate(self.run, list(self.leaves.values()), self.results)

    def run(self, trial: Mapping[str, float]) -> dict:
        """Return the result of one trial; arguments and errors are those of any run."""
        values = dict(self.values)
        for place, source in self.sources.items():
            values[place] = _in_trial(source, trial)
        return {self.RESULT: self.function(*values.values())}


class Scaled(Combination):
    """A number with a span, times a factor."""

    def __init__(self, known: Known, times: float) -> None:
        super().__init__(lambda number: number * times, (known,))
        self.known = known
        self.times = times


def _in_trial(source, trial: Mapping[str, float]) -> float:
    """Return a number that has a span, or comes from one, in one trial."""
    if isinstance(source, Known):
        return source.at(trial)
    return source.call.run_once(trial)[source.result] * source.factor


def with_cells(calculation, results: dict) -> dict:
    """Return results by name, with each number of a listing beside them under a name of its own."""
    found = dict(results)
    for declared in calculation.listings:
        for i, row in enumerate(results[declared.name]):
            found |= {cell_name(declared.name, i, j): cell for j, cell in enumerate(row)}
    return found


def on_its_side(value, declared):
    """Return a result that comes from no span, as one that is printed on its safe side where it has one."""
    side = getattr(declared, "side", 0)
    return Sided(value, side) if side and type(value) is float else value


def derived(value, call: Call, result: str):
    """Return a result that remembers where it comes from: a number, a verdict, or a listing of them."""
    (declared,) = [declared for declared in call.calculation.results if declared.name == result] or [None]
    if hasattr(declared, "columns"):
        return [
            [derived(cell, call, cell_name(result, i, j)) for j, cell in enumerate(row)]
            for i, row in enumerate(value)
        ]
    if hasattr(declared, "words") and value is not None:
        return Judged(value, call, lambda results: results[result])
    if isinstance(value, bool):
        return value
    if isinstance(value, float):
        return Derived(value, call, result)
    return DerivedCount(value, call, result) if isinstance(value, int) else value


def _told(function) -> str:
    """Return what tells a function from every other of this code, or what only this process can say."""
    code = getattr(function, "__code__", None)
    held = [cell.cell_contents for cell in getattr(function, "__closure__", None) or ()]
    plain = all(isinstance(value, bool | int | float | str | None) for value in held)
    if not (isinstance(code, CodeType) and plain and not function.__defaults__) or any(
        isinstance(value, CodeType) for value in code.co_consts
    ):
        return f"{PASSING}{next(COMBINATIONS)}"
    shown = [float(value) if isinstance(value, float) else value for value in held]
    place = f"{function.__module__}:{code.co_firstlineno} {code.co_qualname}"
    return f"{place} {code.co_code.hex()} {code.co_consts} {shown} "


def _key_of(source) -> str:
    if isinstance(source, Known):
        return f"{source.leaf} {source.unit}"
    return f"{source.call.key} {source.result} {source.factor}"


# --- words -------------------------------------------------------------------------------------


def dominant_words(call: Call, *intervals: Interval) -> str:
    """Say what most of some intervals comes from: ``5 to 95 %, most of it from depth and film``."""
    found = [leaf for interval in intervals for leaf in interval.dominant]
    ranked = sorted(dict.fromkeys(found), key=found.count, reverse=True)[:MOST_NAMED]
    names = " and ".join(dict.fromkeys(map(call.words_for, ranked)))
    return f"5 to 95 %, most of it from {names}" if names else "5 to 95 %"


def flip_words(call: Call, word: str, flip) -> str:
    """Say where a verdict changes: ``go, but not if depth is more than 5.1 mm (then wait)``."""
    direct = [s.unit for s in call.sources.values() if isinstance(s, Known) and s.leaf.name == flip.leaf.name]
    unit = direct[0] if direct else flip.leaf.unit
    edge, value = (quantities.convert(n, flip.leaf.unit, unit) for n in (flip.edge, flip.leaf.value))
    text = quantities.with_label(spread.safe_edge(edge, value, flip.above), unit)
    side = "more" if flip.above else "less"
    return f"{word}, but not if {call.words_for(flip.leaf.name)} is {side} than {text} (then {flip.word})"


def refused_words(refused: float, reason: str) -> str:
    """Say which share of what the inputs may be has no answer, and why."""
    share = spread.counted(max(1.0, 100 * refused))
    return f"{share} % of what the inputs may be has no answer: {reason}"
