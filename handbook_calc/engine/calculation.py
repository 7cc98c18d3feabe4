"""A calculation: a plain function on floats with declared inputs, results, ranges and sources."""

import inspect
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from handbook_calc.engine import quantities
from handbook_calc.engine.faults import BadInput, CalculationFault, RaisedInKernel, Refusal, brief, unknown
from handbook_calc.engine.fields import Field, Quantity

NO_RESULT = "these arguments together have no finite result; check each one"
CATALOGUE: dict[str, "Calculation"] = {}


def refuse(code: str, *figures: float):
    """Inside a formula: give no answer, for the declared reason `code`."""
    raise RaisedInKernel(code, figures)


def because(code: str, *figures: float) -> list:
    """Inside a formula: one entry of a `Reasons` result."""
    return [code, *figures]


def place_in_list(helper):
    """Mark a helper of formulas that returns a place in a list: the working leaves out such steps."""
    helper.place_in_list = True
    return helper


@dataclass(frozen=True)
class Figure:
    """A result that is a number: name, unit, what it is, significant digits, may be None."""

    name: str
    unit: str
    about: str
    digits: int = 3
    optional: bool = False
    without: str = "none"

    def show(self, value, values=None) -> str:
        return self.without if value is None else quantities.show(value, self.unit, self.digits)

    def plain(self, value, values=None):
        return value


@dataclass(frozen=True)
class Whole(Figure):
    """A result that is a count."""

    def show(self, value, values=None) -> str:
        return self.without if value is None else f"{value:.0f}"


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
    """A result that is one of a few words, each with the sentence that explains it."""

    words: Mapping[str, str] = field(default_factory=dict)

    def sentence(self, value, values) -> str:
        return fill(self.words[value], values)


@dataclass(frozen=True)
class Reasons:
    """A result that is a list of declared sentences, from `because` in the formula."""

    name: str
    about: str
    sentences: Mapping[str, str]
    unit = "text"
    optional = False

    def plain(self, value, values):
        return [fill(self.sentences[code], values, figures) for code, *figures in value]

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

    def show(self, value, values=None) -> str:
        return "; ".join(" ".join(c.show(v) for c, v in zip(self.columns, row, strict=True)) for row in value)


@dataclass(frozen=True)
class Given:
    """An input or result as a template may name it: its declaration and its value."""

    declared: object
    value: object

    def show(self) -> str:
        if self.value is None:
            return "none"
        return self.declared.show(self.value)


def fill(sentence: str, values: Mapping[str, Given], figures: tuple | list = ()) -> str:
    """Fill ``{humidity}`` with an input or result, ``{0 degC}`` with a figure from the formula."""

    def one(found: re.Match) -> str:
        name, unit = found[1], found[2]
        if name.isdigit():
            figure = figures[int(name)]
            if isinstance(figure, str):
                return figure
            return quantities.show(figure, unit or "1", 0 if figure == math.floor(figure) else 3)
        return values[name].show()

    return re.sub(r"\{(\w+)(?: ([^}]+))?\}", one, sentence)


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
        inputs, results: the declarations, in the order of the formula's arguments.
        kernel: the formula itself, a function on plain floats, texts and lists.
        assumes: what is taken for granted; printed with the result.
        sources: keys of ``data/sources.yml``.
        refusals: code -> sentence of each refusal of the formula.
        curve: input that a curve of the first result is drawn over, or empty.
    """

    name: str
    title: str
    inputs: tuple[Field, ...]
    results: tuple
    kernel: object
    stage: str
    assumes: tuple[str, ...]
    sources: tuple[str, ...]
    refusals: Mapping[str, str]
    curve: str = ""

    def __call__(self, *positional, **named):
        """Compute with floats in the declared units.

        Returns:
            The value of the only result, or a dict of the results by name.

        Raises:
            BadInput: an argument is missing, unknown or out of range.
            Refusal: the arguments are readable, and an answer would be unsafe or untrue.
        """
        values = self._bind(positional, named)
        for declared in self.inputs:
            value = values[declared.name]
            if value is None and declared.optional:
                continue
            try:
                declared.check(value)
            except ValueError as error:
                raise BadInput(self._complaint(declared, value, error)) from None
        return self._compute(values)

    def _bind(self, positional, named) -> dict:
        names = self.names
        values = dict(zip(names, positional, strict=False)) | named if positional else named
        if len(values) == len(names) and all(name in values for name in names):
            return values
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
        return values

    def _complaint(self, declared: Field, value, error) -> str:
        shown = value
        if isinstance(declared, Quantity) and isinstance(value, int | float):
            shown = f"{value:.6g} {quantities.label(declared.unit)}".strip()
        return f"{self.name}: {declared.name} = {shown} {error}: {declared.about}"

    def _compute(self, values: dict, kernel=None):
        try:
            value = (kernel or self.kernel)(*[values[name] for name in self.names])
        except RaisedInKernel as raised:
            given = {d.name: Given(d, values[d.name]) for d in self.inputs}
            sentence = fill(self.refusals[raised.code], given, raised.figures)
            raise Refusal(sentence, raised.code, self.name) from None
        except CalculationFault:
            raise
        except (ArithmeticError, ValueError):  # a division by zero, or the root of a negative number
            value = math.nan
        if not _finite(value):
            raise Refusal(NO_RESULT, "no-result", self.name)
        return value

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Return the names of the inputs, in the order of the formula's arguments."""
        return tuple(declared.name for declared in self.inputs)

    def by_name(self, value) -> dict:
        """Return the results of a call as a dict by name, also where there is only one."""
        return value if len(self.results) > 1 else {self.results[0].name: value}

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

    def read(self, name: str, written):
        """Return an input's value for what a person wrote.

        Raises:
            BadInput: which argument, its value, what is allowed.
        """
        declared = self.input(name)
        try:
            return declared.read_optional(written)
        except ValueError as error:
            raise BadInput(f"{self.name}: {name} = {brief(written)} {error}: {declared.about}") from None


Calculation.__doc__ = _Description(Calculation.__doc__)


def _finite(value) -> bool:
    if isinstance(value, float):
        return math.isfinite(value)
    if isinstance(value, dict):
        return all(map(_finite, value.values()))
    if isinstance(value, list | tuple):
        return all(map(_finite, value))
    return True


class BadDeclaration(TypeError):
    """A calculation is declared wrongly: found when its module is imported."""


def calculation(
    name: str,
    *,
    title: str,
    inputs: tuple[Field, ...],
    results,
    sources: tuple[str, ...],
    assumes: tuple[str, ...] = (),
    refusals: Mapping[str, str] | None = None,
    curve: str = "",
):
    """Declare the function below as the calculation `name` and enter it in the catalogue.

    Raises:
        BadDeclaration: the declaration and the function do not fit each other.
    """

    def declare(kernel) -> Calculation:
        if isinstance(sources, str) or isinstance(assumes, str):
            raise BadDeclaration(f"calculation '{name}': sources and assumes are tuples of texts")
        declared = Calculation(
            name=name,
            title=title,
            inputs=tuple(inputs),
            results=results if isinstance(results, tuple) else (results,),
            kernel=kernel,
            stage=kernel.__module__.rpartition(".")[2],
            assumes=tuple(assumes),
            sources=tuple(sources),
            refusals=dict(refusals or {}),
            curve=curve,
        )
        _check_declaration(declared)
        CATALOGUE[name] = declared
        return declared

    return declare


def _check_declaration(declared: Calculation) -> None:
    def bad(text: str):
        raise BadDeclaration(f"calculation '{declared.name}': {text}")

    if declared.name in CATALOGUE and CATALOGUE[declared.name].stage != declared.stage:
        bad(f"is declared in {CATALOGUE[declared.name].stage} already")
    arguments = list(inspect.signature(declared.kernel).parameters)
    names = [field.name for field in declared.inputs]
    if arguments != names:
        bad(f"the function takes {arguments}, the declaration names {names}")
    if not declared.kernel.__doc__:
        bad("has no docstring")
    if not declared.sources:
        bad("names no source")
    if declared.curve and declared.curve not in names:
        bad(f"draws a curve over '{declared.curve}', which is no input")
    results = [result.name for result in declared.results]
    if len(set(results)) != len(results) or not results:
        bad(f"results are {results}")
    for quantity in declared.inputs:
        if isinstance(quantity, Quantity) and not (
            math.isfinite(quantity.low) and math.isfinite(quantity.high)
        ):
            bad(f"{quantity.name} has no finite range")


def describe(declared: Calculation) -> str:
    """Return the full public docstring: the formula's own words, then the declaration in prose."""
    lines = [inspect.cleandoc(declared.kernel.__doc__), "", "Arguments:"]
    for entry in declared.inputs:
        default = f"; default: house value {entry.house}" if entry.house else ""
        default += "; may be left out" if entry.optional else ""
        lines.append(f"    {entry.name} [{entry.unit}]: {entry.about}; {entry.allowed()}{default}.")
    lines += ["", "Returns:"]
    for entry in declared.results:
        lines.append(f"    {entry.name} [{entry.unit}]: {entry.about}.")
    lines += ["", "Raises:", "    BadInput: an argument is missing, unknown or outside its range."]
    lines += [f"    Refusal: {sentence}" for sentence in declared.refusals.values()]
    if declared.assumes:
        lines += ["", "Assumes:"] + [f"    {line}." for line in declared.assumes]
    lines += ["", f"Source: {', '.join(declared.sources)} (data/sources.yml)."]
    return "\n".join(lines)
