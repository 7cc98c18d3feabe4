"""A calculation: a plain function on floats with declared inputs, results, ranges and sources."""

import inspect
import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NoReturn

from handbook_calc.engine import fields, quantities, reading, spread
from handbook_calc.engine.defaults import FromHouse, resolved
from handbook_calc.engine.faults import (
    BadDeclaration,
    BadInput,
    OutOfRange,
    RaisedInKernel,
    Refusal,
    brief,
    declared_at,
    nearest,
    printable,
    unknown,
)
from handbook_calc.engine.fields import Field, Quantity
from handbook_calc.engine.known import Known, leaf_of
from handbook_calc.engine.sources import sources as cited

NO_RESULT = "these arguments together have no finite result; check each one"
BEYOND = "{name} comes to {value}, and more than {most} is beyond what can be: {because}; check each argument"
PLACES = re.compile(r"\{(\w+)(?: ([^} ]+)(?: (up|down))?)?\}")
SIDES = {"": 0, "up": 1, "down": -1}
MOST_DIGITS = 7  # to which a sentence tells apart what it compares
CATALOGUE: dict[str, "Calculation"] = {}


def refuse(code: str, *numbers: Any) -> NoReturn:
    """Inside a formula: give no answer, for the declared reason `code`."""
    raise RaisedInKernel(code, numbers)


def because(code: str, *numbers: Any) -> list:
    """Inside a formula: one entry of a `Reasons` result."""
    return [code, *numbers]


def place_in_list(helper):
    """Mark a helper of formulas that returns a place in a list: the working leaves out such steps."""
    helper.place_in_list = True
    return helper


@dataclass(frozen=True)
class Number:
    """A result that is a number: name, unit, what it is, significant digits, may be None.

    Attributes:
        most: the most that can be true of any piece or bench; beyond it the arguments cannot all be right,
            and the calculation refuses.
        because: what sets that ceiling; readers see it.
        metric: it is told in its own unit to readers of US units too, as the size of a grit.
        safe: the side to which it is rounded in print: ``up`` for a least that is needed and for a most that
            may be there, ``down`` for a most that is allowed and for what is sure. Empty: to the nearest.
    """

    name: str
    unit: str
    about: str
    digits: int = 3
    optional: bool = False
    without: str = "none"
    most: float = math.inf
    because: str = ""
    metric: bool = False
    safe: str = ""

    @property
    def side(self) -> int:
        """Return the side as `quantities.show` has it: 1 up, -1 down, 0 to the nearest."""
        return SIDES[self.safe]

    @property
    def beyond(self) -> str:
        """Return the sentence that refuses a value above the ceiling, with ``{value}`` in its place."""
        shown = quantities.show(self.most, self.unit, 0)
        return BEYOND.format(name=self.name, value="{value}", most=shown, because=self.because)

    def show(self, value, values=None, interval=None) -> str:
        if value is None:
            return self.without
        if interval is None:
            return quantities.show(value, self.unit, self.digits, self.side)
        ends = interval.low, interval.high
        return quantities.show_interval(value, *ends, self.unit, self.digits, self.side)

    def plain(self, value, values=None):
        return value


@dataclass(frozen=True)
class Whole(Number):
    """A result that is a count."""

    def show(self, value, values=None, interval=None) -> str:
        if value is None or interval is None:
            return self.without if value is None else f"{value:.0f}"
        text, low, high = spread.whole_texts(value, interval.low, interval.high)
        return text if text == low == high else f"{text} ({low} to {high})"


@dataclass(frozen=True)
class Label:
    """A result that is a name, such as a grit."""

    name: str
    about: str
    optional: bool = False
    unit = "text"

    def show(self, value, values=None) -> str:
        return "none" if value is None else str(value)

    def plain(self, value, values=None):
        return value


@dataclass(frozen=True)
class Verdict(Label):
    """A result that is one of a few words, each with the sentence that explains it.

    Attributes:
        words: word -> sentence.
        stops: the words that tell a person not to go on. The command line then ends with status 3. Every
            verdict says which they are, or ``()`` for none.
    """

    words: Mapping[str, str] = field(default_factory=dict)
    stops: tuple[str, ...] | None = None

    def sentence(self, value, values) -> str:
        return worded(self.words[value], values)


@dataclass(frozen=True)
class Reasons:
    """A result that is a list of declared sentences, from `because` in the formula."""

    name: str
    about: str
    sentences: Mapping[str, str]
    unit = "text"
    optional = False

    def plain(self, value, values):
        return [worded(self.sentences[code], values, numbers) for code, *numbers in value]

    def show(self, value, values) -> str:
        return " ".join(self.plain(value, values)) or "none"


@dataclass(frozen=True)
class Listing:
    """A result that is a list of rows of the same columns."""

    name: str
    about: str
    columns: tuple
    optional: bool = False
    unit = "rows"

    def plain(self, value, values=None):
        return [{column.name: cell for column, cell in zip(self.columns, row, strict=True)} for row in value]

    def show(self, value, values=None, intervals=None) -> str:
        """Return the rows as text; `intervals` are those of its cells, by row and column."""
        lines = (" ".join(row) for row in self.cells(value, lambda c, *shown: c.show(*shown), intervals))
        return "; ".join(lines) or "none"

    def cells(self, value, show, intervals=None) -> list[list[str]]:
        """Return row by row what ``show(column, cell)`` gives, or ``show(column, cell, None, interval)``."""
        seen = intervals or {}
        return [
            [
                show(column, cell, None, seen[i, j]) if (i, j) in seen else show(column, cell)
                for j, (column, cell) in enumerate(zip(self.columns, row, strict=True))
            ]
            for i, row in enumerate(value)
        ]


@dataclass(frozen=True)
class Given:
    """An input or result as a template may name it: its declaration, its value, and a result's interval."""

    declared: Any
    value: Any
    interval: object = None

    def show(self) -> str:
        if self.value is None:
            return "none"
        if self.interval is None:
            return self.declared.show(self.value)
        return self.declared.show(self.value, None, self.interval)

    @property
    def figure(self) -> "Figure | None":
        """Return it as a figure of a sentence; None for words, counts, and what is told with an interval."""
        if not isinstance(self.value, float) or self.interval is not None:
            return None
        if isinstance(self.declared, Number):
            return Figure(self.value, self.declared.unit, self.declared.digits, self.declared.side)
        return Figure(self.value, self.declared.unit) if self.declared.form == "quantity" else None


@dataclass(frozen=True)
class Figure:
    """A number in a sentence: unit, significant digits (0: as given), side to which it is rounded."""

    value: float
    unit: str
    digits: int = 0
    side: int = 0

    def told(self, others: Sequence["Figure"]) -> str:
        """Return the number to so many digits that it differs from the others, where it is another number."""
        digits = self.digits
        while 0 < digits < MOST_DIGITS and any(self._looks_like(other, digits) for other in others):
            digits += 1
        return quantities.show(self.value, self.unit, digits, self.side)

    def _looks_like(self, other: "Figure", digits: int) -> bool:
        if other.unit != self.unit or quantities.as_given(other.value) == quantities.as_given(self.value):
            return False
        mine = quantities.show(self.value, self.unit, digits, self.side)
        return mine == quantities.show(other.value, self.unit, digits, other.side)


def worded(sentence: str, values: Mapping[str, Given], numbers: tuple | list = ()) -> str:
    """Fill ``{humidity}`` with an input or result, ``{0 degC}`` with a figure from the formula.

    ``{0 degC up}`` is a least, and ``{0 degC down}`` a most: see `Number.safe`. Figures of one unit that
    differ are told to so many digits that they do so in print.
    """

    def figure(found: re.Match) -> Figure | None:
        name, unit, safe = found.groups("")
        if not name.isdigit():
            return values[name].figure
        number = numbers[int(name)]
        if isinstance(number, str):
            return None
        return Figure(number, unit or "1", 0 if number == math.floor(number) else 3, SIDES[safe])

    figures = {found[0]: figure(found) for found in PLACES.finditer(sentence)}
    others = [one for one in figures.values() if one]

    def one(found: re.Match) -> str:
        told = figures[found[0]]
        if told:
            return told.told(others)
        return numbers[int(found[1])] if found[1].isdigit() else values[found[1]].show()

    return PLACES.sub(one, sentence)


class _Description:
    """The docstring of a calculation, composed from its declaration when somebody asks for it."""

    def __init__(self, of_class: str) -> None:
        self.of_class = of_class

    def __get__(self, instance, owner) -> str:
        return self.of_class if instance is None else describe(instance)


@dataclass(frozen=True, eq=False)
class Calculation:
    """A declared calculation. Called with floats in the declared units, it checks and computes.

    Attributes:
        name: the catalogue's name.
        title: what it answers, in a few words.
        given: the inputs as declared; `inputs` has those from the house looked up.
        results: the declarations of what it gives.
        kernel: the formula itself, a function on plain floats, texts and lists.
        assumes: what is taken for granted; printed with the result.
        sources: keys of ``data/sources.yml``.
        refusals: code -> sentence of each refusal of the formula.
        curve: input that a curve of the first result is drawn over, or empty.
        limit: what that result is held to, drawn across its curve: an input, or a house value; or empty.
        place: file and line of the declaration.
    """

    name: str
    title: str
    given: tuple[Field | FromHouse, ...]
    results: tuple[Any, ...]
    kernel: Callable[..., Any]
    stage: str
    assumes: tuple[str, ...]
    sources: tuple[str, ...]
    refusals: Mapping[str, str]
    curve: str = ""
    limit: str = ""
    place: str = ""

    @cached_property
    def inputs(self) -> tuple[Field, ...]:
        """Return the declarations of the inputs, in the order of the formula's arguments."""
        return tuple(map(resolved, self.given))

    def __call__(self, *positional, **named) -> Any:
        """Compute with floats in the declared units.

        Returns:
            The value of the only result, or a dict of the results by name.

        Raises:
            BadInput: an argument is missing, unknown or out of range.
            Refusal: the arguments are readable, and an answer would be unsafe or untrue.
        """
        arguments = self._bind(positional, named)
        for declared, value in zip(self.inputs, arguments, strict=True):
            if value is None and declared.optional:
                continue
            try:
                declared.check(value)
            except ValueError as error:
                raise OutOfRange(self._complaint(declared, value, error)) from None
        return self._compute(arguments)

    def _bind(self, positional, named) -> list:
        """Return the arguments in order, None for those that are left out."""
        names = self.names
        if not named and len(positional) == len(names):  # the common case, in formulas that call others
            return list(positional)
        values = dict(zip(names, positional, strict=False)) | named if positional else named
        if len(values) == len(names) and all(name in values for name in names):
            return [values[name] for name in names]
        for name in values:
            if name not in names:
                raise self._no_argument(name)
        for declared in self.inputs:
            if declared.name not in values:
                if not declared.optional:
                    raise BadInput(
                        f"{self.name}: {declared.name} is missing ({declared.about}); "
                        f"allowed is {declared.allowed()}"
                    )
                values[declared.name] = None
        return [values[name] for name in names]

    def _complaint(self, declared: Field, value, error) -> str:
        shown = brief(value)
        if isinstance(declared, Quantity) and isinstance(value, int | float):
            shown = f"{value:.6g} {quantities.label(declared.unit)}".strip()
        return f"{self.name}: {declared.name} = {shown} {printable(error)}: {declared.about}"

    def _compute(self, arguments: list, kernel=None):
        try:
            value = (kernel or self.kernel)(*arguments)
        except RaisedInKernel as raised:
            given = {d.name: Given(d, value) for d, value in zip(self.inputs, arguments, strict=True)}
            sentence = worded(self.refusals[raised.code], given, raised.numbers)
            raise Refusal(sentence, raised.code, self.name) from None
        except Refusal as refusal:  # of a calculation that this one uses
            raise Refusal(refusal.message, refusal.code, self.name) from None
        except BadInput as fault:
            raise type(fault)(f"{self.name}: in its step {fault}") from None
        except (ArithmeticError, ValueError):  # a division by zero, or the root of a negative number
            value = math.nan
        if not _finite(value):
            raise Refusal(NO_RESULT, "no-result", self.name)
        if self._bounded:
            self._refuse_beyond(self.by_name(value))
        return value

    @cached_property
    def _bounded(self) -> tuple[Number, ...]:
        return tuple(r for r in self.results if isinstance(r, Number) and math.isfinite(r.most))

    def _refuse_beyond(self, results: dict) -> None:
        for declared in self._bounded:
            value = results[declared.name]
            if value is not None and value > declared.most:
                sentence = declared.beyond.replace("{value}", quantities.show(value, declared.unit, 0))
                raise Refusal(sentence, "beyond", self.name)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Return the names of the inputs, in the order of the formula's arguments."""
        return tuple(declared.name for declared in self.given)

    def by_name(self, value) -> dict:
        """Return the results of a call as a dict by name, also where there is only one."""
        first = self.results[0]
        return value if len(self.results) > 1 else {first.name: value}

    def input(self, name: str) -> Field:
        """Return the declaration of an input; BadInput where there is none of this name."""
        for declared in self.inputs:
            if name == declared.name or name in declared.also:
                return declared
        raise self._no_argument(name)

    def _no_argument(self, name: str) -> BadInput:
        takes = ", ".join(self.names)
        return BadInput(f"{self.name}: {unknown('argument', name, self.names)}; it takes {takes}")

    def result(self, name: str = ""):
        """Return the declaration of a result, the first where no name is given; BadInput where none fits."""
        for declared in self.results:
            if not name or declared.name == name:
                return declared
        names = [declared.name for declared in self.results]
        raise BadInput(f"{self.name}: {unknown('result', name, names)}; it gives {', '.join(names)}")

    @cached_property
    def listings(self) -> tuple[Any, ...]:
        """Return the results that are lists of rows."""
        return tuple(result for result in self.results if hasattr(result, "columns"))

    def trial(self, arguments: list, places: Sequence[int]) -> dict:
        """Return the results by name for arguments in order, of which only those at `places` are checked.

        Raises:
            CalculationFault: one of these is out of range, or there is no answer.
        """
        for place in places:
            declared = self.inputs[place]
            try:
                declared.check(arguments[place])
            except ValueError as error:
                raise OutOfRange(self._complaint(declared, arguments[place], error)) from None
        return self.by_name(self._compute(arguments))

    def read(self, name: str, written):
        """Return an input's value for what a person wrote; it is a `Known` where that is a span.

        Raises:
            BadInput: which argument, its value, what is allowed.
        """
        declared = self.input(name)
        try:
            value, span = declared.read_spanned(written)
        except ValueError as error:
            raise BadInput(
                f"{self.name}: {name} = {brief(written)} {printable(error)}: {declared.about}"
            ) from None
        if span is None:
            return value
        return Known(value, leaf_of(declared, declared.name, value, span), declared.unit)


Calculation.__doc__ = _Description(Calculation.__doc__ or "")  # pyright: ignore[reportAttributeAccessIssue]  a descriptor


def _finite(value) -> bool:
    if type(value) is float:
        return math.isfinite(value)
    if type(value) is dict:
        value = value.values()
    elif isinstance(value, complex):  # a negative number to a broken power
        return False
    elif not isinstance(value, list | tuple):
        return not isinstance(value, float) or math.isfinite(value)
    for part in value:
        if type(part) is float:  # nearly always, and thousands of times a build
            if not math.isfinite(part):
                return False
        elif not _finite(part):
            return False
    return True


def calculation(
    name: str,
    *,
    title: str,
    inputs: tuple[Field | FromHouse, ...],
    results,
    sources: tuple[str, ...],
    assumes: tuple[str, ...] = (),
    refusals: Mapping[str, str] | None = None,
    curve: str = "",
    limit: str = "",
):
    """Declare the function below as the calculation `name` and enter it in the catalogue.

    Raises:
        BadDeclaration: the declaration and the function do not fit each other.
    """

    place = declared_at()

    def declare(kernel) -> Calculation:
        declared = Calculation(
            name=name,
            title=title,
            given=tuple(inputs),
            results=results if isinstance(results, tuple) else (results,),
            kernel=kernel,
            stage=kernel.__globals__.get("STAGE") or kernel.__module__.rpartition(".")[2],
            assumes=assumes if isinstance(assumes, str) else tuple(assumes),
            sources=sources if isinstance(sources, str) else tuple(sources),
            refusals=dict(refusals or {}),
            curve=curve,
            limit=limit,
            place=place,
        )
        # What needs no other declaration is told here; the rest when all are there, by `declarations`.
        for complaint in _complaints(declared):
            raise BadDeclaration(f"{place}: calculation '{name}': {complaint}")
        CATALOGUE[name] = declared
        return declared

    return declare


def _complaints(declared: Calculation) -> Iterator[str]:
    """Say what is wrong with a declaration by itself."""
    name = declared.name
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name):
        yield "its name is not made of small letters and digits, parted by '-'"
    if name in CATALOGUE and CATALOGUE[name].stage != declared.stage:
        yield f"is declared in {CATALOGUE[name].stage} already"
    yield from _argument_complaints(declared)
    if not declared.kernel.__doc__:
        yield "has no docstring"
    yield from _source_complaints(declared)
    if declared.curve and declared.curve not in declared.names:
        near = nearest(declared.curve, declared.names)
        yield f"draws a curve over '{declared.curve}', which is no input{near}"
    if declared.limit and not declared.curve:
        yield f"has the limit '{declared.limit}' and no curve to draw it across"
    if declared.limit and "." not in declared.limit and declared.limit not in declared.names:
        near = nearest(declared.limit, declared.names)
        yield f"has the limit '{declared.limit}', which is no input and no house value{near}"
    results = [result.name for result in declared.results]
    if len(set(results)) != len(results) or not results:
        yield f"results are {results}; name at least one, and none twice"
    yield from _stop_complaints(declared)
    for given in declared.given:
        if isinstance(given, FromHouse):
            continue
        if given.house:
            yield f"{given.name} has a house value as its default: write from_house('{given.house}')"
        yield from fields.complaints(given)
    for result in declared.results:
        for part in (result, *getattr(result, "columns", ())):
            yield from fields.unit_complaints(part)
            if getattr(part, "safe", "") not in SIDES:
                yield f"{part.name} has safe='{part.safe}'; allowed is up, down, or nothing"
            elif getattr(part, "safe", "") and part is not result:
                yield f"{part.name} has safe= in a listing, whose cells are rounded to the nearest"
            elif getattr(part, "safe", "") and not part.digits:
                yield f"{part.name} has safe= and digits=0; what is printed as given is not rounded to a side"
        if isinstance(result, Number) and math.isfinite(result.most) != bool(result.because):
            yield f"{result.name} has most= or because= alone; a ceiling goes with what sets it"
    yield from _template_complaints(declared)


def _argument_complaints(declared: Calculation) -> Iterator[str]:
    arguments, names = list(inspect.signature(declared.kernel).parameters), list(declared.names)
    if arguments == names:
        return
    said = f"the function takes {', '.join(arguments)}; the declaration names {', '.join(names)}"
    yield f"{said}, in another order" if sorted(arguments) == sorted(names) else said


def _stop_complaints(declared: Calculation) -> Iterator[str]:
    """Say where a verdict leaves open which of its words are stops, or calls one a stop that it has not."""
    for verdict in declared.results:
        if not isinstance(verdict, Verdict):
            continue
        if verdict.stops is None:
            yield f"the verdict {verdict.name} does not say which words are stops; give stops=, () for none"
            continue
        for word in verdict.stops:
            if word not in verdict.words:
                yield f"the verdict {verdict.name} stops on {unknown('word', word, verdict.words)}"
        for word in verdict.words:
            if word.startswith(("stop", "never")) and word not in verdict.stops:
                yield f"the verdict {verdict.name} has the word '{word}' and leaves it out of its stops"


def _source_complaints(declared: Calculation) -> Iterator[str]:
    if isinstance(declared.sources, str) or isinstance(declared.assumes, str):
        yield "sources and assumes are tuples of texts; put a comma behind the only one"
        return
    if not declared.sources:
        yield "names no source"
    for key in declared.sources:
        if key not in cited():
            yield f"{unknown('source', key, cited())}; data/sources.yml has every source"


def _template_complaints(declared: Calculation) -> Iterator[str]:
    """Say where a sentence names what is no input, or no result where one may be named."""
    names = set(declared.names)
    sentences = [(text, names) for text in declared.refusals.values()]
    both = names | {result.name for result in declared.results}
    for result in declared.results:
        texts = getattr(result, "words", None) or getattr(result, "sentences", None) or {}
        sentences += [(text, both) for text in texts.values()]
    for text, known in sentences:
        for name, unit, _ in PLACES.findall(text):
            if name.isdigit():
                if unit and unit not in reading.UNITS:
                    near = nearest(unit, reading.UNITS)
                    yield f"the sentence '{brief(text, 40)}' prints in the unknown unit '{unit}'{near}"
            elif name not in known:
                near = nearest(name, known)
                yield f"the sentence '{brief(text, 40)}' names '{name}', which is no input{near}"


def describe(declared: Calculation) -> str:
    """Return the full public docstring: the formula's own words, the declaration in prose, an example."""
    from handbook_calc.engine import examples  # which runs calculations, and so stands on this module

    lines = [inspect.cleandoc(declared.kernel.__doc__ or ""), "", "Arguments:"]
    for entry in declared.inputs:
        default = f"; default: house value {entry.house}" if entry.house else ""
        default += "; may be left out" if entry.optional else ""
        lines.append(f"    {entry.name} [{entry.unit}]: {entry.about}; {entry.allowed()}{default}.")
    lines += ["", "Returns:"]
    for entry in declared.results:
        lines.append(f"    {entry.name} [{entry.unit}]: {entry.about}.")
    lines += ["", "Raises:", "    BadInput: an argument is missing, unknown or outside its range."]
    lines += [f"    Refusal: {sentence}" for sentence in declared.refusals.values()]
    lines += [f"    Refusal: {bounded.beyond}." for bounded in declared._bounded]
    if declared.assumes:
        lines += ["", "Assumes:"] + [f"    {line}." for line in declared.assumes]
    lines += ["", "Source:"]
    for key in declared.sources:
        source = cited()[key]
        place = ", ".join(filter(None, (source.title, source.edition, source.place)))
        lines.append(f"    {key} ({source.origin}): {place}.")
    return "\n".join(lines + examples.lines(declared))
