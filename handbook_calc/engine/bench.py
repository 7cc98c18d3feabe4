"""Calculations with the house standard's defaults, and a record of what was used."""

from dataclasses import dataclass, field
from typing import Any

from handbook_calc.engine import quantities
from handbook_calc.engine.calculation import CATALOGUE, Calculation, Given, Listing, Verdict
from handbook_calc.engine.defaults import PLACE
from handbook_calc.engine.faults import BadInput, OutOfRange, Refusal, unknown
from handbook_calc.engine.fields import Field, Quantity
from handbook_calc.engine.house import House
from handbook_calc.engine.interval import Interval, Spread
from handbook_calc.engine.known import (
    Call,
    Derived,
    DerivedCount,
    HouseNumber,
    Known,
    Sided,
    cell_name,
    derived,
    dominant_words,
    flip_words,
    on_its_side,
    refused_words,
    spanned,
)
from handbook_calc.engine.working import working


@dataclass(frozen=True)
class Answer:
    """A calculation's answer: its inputs and results, by name, in declared units.

    Attributes:
        refused: why there are no results, where house values lead to none.
        spans: low and high of the inputs that are known as a span, by name.
        call: the run that the results spread by; None where no input has a span.
    """

    calculation: Calculation
    inputs: dict
    results: dict
    house: House | None = None
    refused: str = ""
    spans: dict = field(default_factory=dict)
    call: Call | None = None

    @property
    def spread(self) -> Spread:
        """Return how the results spread by what the inputs may really be."""
        return self.call.spread if self.call else Spread()

    def interval(self, name: str) -> Interval | None:
        """Return what a numeric result may really be; None where it has no interval that can be seen."""
        interval = self.spread.intervals.get(name)
        declared = self.calculation.result(name)
        plain = declared.show(self.results[declared.name], {}) if interval else ""
        return interval if interval and declared.show(interval.value, {}, interval) != plain else None

    def cell_intervals(self, name: str) -> dict[tuple[int, int], Interval]:
        """Return the intervals of a listing's cells that can be seen, by row and column."""
        declared = self.calculation.result(name)
        if self.call is None or not isinstance(declared, Listing):
            return {}
        found = {}
        for i, row in enumerate(self.results[declared.name] or ()):
            for j, (column, cell) in enumerate(zip(declared.columns, row, strict=True)):
                interval = self.spread.intervals.get(cell_name(declared.name, i, j))
                if interval and column.show(cell, None, interval) != column.show(cell):
                    found[i, j] = interval
        return found

    def given(self) -> dict[str, Given]:
        """Return inputs and results as sentences may name them."""
        given = {d.name: Given(d, self.inputs[d.name]) for d in self.calculation.inputs}
        named = {
            d.name: Given(d, self.results[d.name], self.interval(d.name)) for d in self.calculation.results
        }
        return given | {k: v for k, v in named.items() if k not in given}

    def show(self, name: str = "", given: dict | None = None) -> str:
        """Return one result as people read it; the first where no name is given."""
        declared = self.calculation.result(name)
        given = self.given() if given is None else given
        if isinstance(declared, Listing):
            return declared.show(self.results[declared.name], given, self.cell_intervals(declared.name))
        value, interval = self.results[declared.name], self.interval(declared.name)
        return declared.show(value, given) if interval is None else declared.show(value, given, interval)

    def notes(self, name: str) -> list[str]:
        """Return what is to be said of a result's interval: what it comes from, where a verdict changes."""
        interval = self.interval(name)
        seen = [interval] if interval else list(self.cell_intervals(name).values())
        said = [dominant_words(self.call, *seen)] if seen and self.call else []
        flips = self.spread.flips.get(name, ())
        return said + [flip_words(self.call, self.results[name], flip) for flip in flips if self.call]

    def refused_share(self) -> str:
        """Return which share of what the inputs may be has no answer, and why; empty where all has one."""
        spread = self.spread
        return refused_words(spread.refused, spread.reason) if spread.refused > 0 else ""

    def stops(self) -> list[str]:
        """Return the names of the verdicts that tell a person not to go on."""
        return [
            declared.name
            for declared in self.calculation.results
            if isinstance(declared, Verdict) and self.results[declared.name] in (declared.stops or ())
        ]

    def working(self) -> list[str]:
        """Return the lines of the formula with their values."""
        return [str(step) for step in working(self.calculation, self.inputs)]

    def plain(self) -> dict:
        """Return the answer as plain data, as the command line prints it."""
        given = self.given()
        results = {
            declared.name: {
                "value": declared.plain(self.results[declared.name], given),
                "unit": declared.unit,
            }
            | self._plain_interval(declared.name)
            for declared in self.calculation.results
        }
        plain = {
            "name": self.calculation.name,
            "inputs": {
                declared.name: {"value": self.inputs[declared.name], "unit": declared.unit}
                | dict(zip(("low", "high"), self.spans.get(declared.name, ()), strict=False))
                for declared in self.calculation.inputs
                if self.inputs[declared.name] is not None
            },
        }
        plain["result"] = next(iter(results.values()))  # the first is the one the name asks for
        if len(results) > 1:
            plain["results"] = results
        if self.refused_share():
            plain["refused"] = {"share": self.spread.refused, "why": self.spread.reason}
        plain["working"] = self.working()
        plain["source"] = list(self.calculation.sources)
        return plain

    def _plain_interval(self, name: str) -> dict:
        """Return low, high, what dominates, and the flips of one result, where it has them.

        A listing has them row by row, under the names of its columns.
        """
        plain: dict = {}
        interval = self.spread.intervals.get(name)
        declared = self.calculation.result(name)
        if interval and self.call:
            plain = interval.plain(self.call.name_of)
        elif self.call and isinstance(declared, Listing) and self.results[name]:
            rows = [
                {
                    column.name: found.plain(self.call.name_of)
                    for j, column in enumerate(declared.columns)
                    if (found := self.spread.intervals.get(cell_name(name, i, j))) and found.dominant
                }
                for i in range(len(self.results[name]))
            ]
            plain = {"intervals": rows} if any(rows) else {}
        flips = self.spread.flips.get(name, ())
        if flips and self.call:
            plain["flips"] = [flip_words(self.call, self.results[name], flip) for flip in flips]
        return plain


class Bench:
    """Runs calculations with a house standard, and keeps what each run took from it."""

    def __init__(self, house: House | None, usage=None) -> None:
        self.house = house
        self.usage = usage
        self.used_values: dict[str, None] = {}
        self.used_calculations: dict[str, None] = {}

    @property
    def used_sources(self) -> tuple[str, ...]:
        """Return the sources of the calculations that were run, each once."""
        keys = (key for name in self.used_calculations for key in self.find(name).sources)
        return tuple(dict.fromkeys(keys))

    def value(self, key: str):
        """Return a house value in its declared unit, and note that it was used.

        Raises:
            BadInput: no house standard is loaded.
            KeyError: there is no such house value; the text names the nearest.
        """
        if self.house is None:
            raise BadInput(f"house value {key} is needed, and no house standard is loaded")
        entry = self.house.entry(key)
        self.used_values[key] = None
        if type(entry.value) is float:
            return HouseNumber(entry.value, key, entry.field.unit, entry.leaf)
        return entry.value

    def value_in(self, key: str, declared: Field):
        """Return a house value for an input, in the unit of the input, with its span; note that it was used.

        Raises:
            BadInput: the value is of another kind or unit, or is not allowed there.
            KeyError: there is no such house value; the text names the nearest.
        """
        assert self.house is not None
        found = self.house.entry(key)
        value = found.value
        if isinstance(declared, Quantity) and isinstance(found.field, Quantity) and value is not None:
            try:
                value = quantities.convert(value, found.field.unit, declared.unit)
            except ValueError:
                raise BadInput(_other_unit(key, found.field.unit, declared)) from None
        elif isinstance(declared, Quantity) != isinstance(found.field, Quantity):
            raise BadInput(_other_unit(key, found.field.unit, declared))
        self.used_values[key] = None
        return value if found.leaf is None or value is None else Known(value, found.leaf, declared.unit)

    def names(self, key: str) -> tuple[str, ...]:
        """Return the names the house gave in a family."""
        assert self.house is not None
        return self.house.names(key)

    def find(self, name: str) -> Calculation:
        """Return a calculation by the catalogue's name.

        Raises:
            BadInput: there is none of this name; the text names the nearest.
        """
        if name not in CATALOGUE:
            raise BadInput(unknown("calculation", name, CATALOGUE))
        return CATALOGUE[name]

    def answer(self, name: str, /, **values) -> Answer:
        """Run a calculation on values in declared units; the house standard fills the rest.

        Arguments:
            name: the catalogue's name of the calculation.
            values: inputs by name, in declared units.

        Raises:
            BadInput: which argument, its value, what is allowed.
            Refusal: why no answer is given, and what to do instead.
        """
        calculation = self.find(name)
        results, call = self._run(calculation, values)
        inputs = {d.name: values.get(d.name) for d in calculation.inputs}
        spans = _spans(call.sources) if call else {}
        return Answer(calculation, inputs, calculation.by_name(results), self.house, "", spans, call)

    def answer_or_refused(self, name: str, /, **values) -> Answer:
        """As `answer`; where house values lead to a refusal, an answer without results that says why.

        Raises:
            BadInput: as `answer`, for what no house value can mend.
            Refusal: the arguments themselves are refused, whatever the house.
        """
        try:
            return self.answer(name, **values)
        except (Refusal, OutOfRange) as fault:
            if not self.used_values:
                raise
            calculation = self.find(name)
            inputs = {d.name: values.get(d.name) for d in calculation.inputs}
            for declared in calculation.inputs:
                if declared.house and declared.name not in values:
                    self._take_default(calculation, declared, inputs)
            none = {d.name: None for d in calculation.results}
            spans = _spans(inputs)
            inputs = {key: float(v) if isinstance(v, Known) else v for key, v in inputs.items()}
            return Answer(calculation, inputs, none, self.house, str(fault), spans)

    def _take_default(self, calculation: Calculation, declared, values: dict) -> None:
        assert self.house is not None
        key = declared.house
        if declared.end:
            number = self.value(key)
            ends = self.house.entry(key).span or (float(number), float(number))
            values[declared.name] = ends[0 if declared.end == "low" else 1]
            return
        if "{" not in key:
            values[declared.name] = self.value(key)
            return
        for argument in PLACE.findall(key):
            if argument not in values:
                return  # the missing argument is reported by the calculation itself
            family = key.partition(".{")[0]
            if values[argument] not in self.house.names(family):
                raise BadInput(
                    f"{calculation.name}: {argument} = {values[argument]} is not in the house's list; "
                    f"allowed is one of {', '.join(self.house.names(family))}"
                )
        values[declared.name] = self.value(key.format(**values))

    def ask(self, name: str, /, **written: str) -> Answer:
        """Run a calculation on texts with units, as a person writes them; errors are those of `answer`."""
        calculation = self.find(name)
        values = {}
        for argument, text in written.items():
            declared = calculation.input(argument)
            if declared.name in values:
                raise BadInput(f"{name}: {declared.name} is given twice; keep one of them")
            values[declared.name] = calculation.read(declared.name, text)
        return self.answer(name, **values)

    def __call__(self, name: str, /, **values) -> Any:
        """Return the only result of a calculation, or the dict of its results; errors as of `answer`.

        Where an input has a span, numbers among the results remember it: see `known`.
        """
        calculation = self.find(name)
        results, call = self._run(calculation, values)
        if call is None and len(calculation.results) == 1:
            return on_its_side(results, calculation.results[0])
        if call is None:
            return {entry.name: on_its_side(results[entry.name], entry) for entry in calculation.results}
        if isinstance(results, dict) and len(call.calculation.results) > 1:
            return {result: derived(value, call, result) for result, value in results.items()}
        return derived(results, call, call.calculation.results[0].name)

    def _run(self, calculation: Calculation, values: dict) -> tuple[Any, Call | None]:
        """Return the results, and the run where an input has a span; `values` become plain and complete."""
        self.used_calculations[calculation.name] = None
        sources: dict = {}
        for declared in calculation.inputs:
            name = declared.name
            if declared.house and self.house is not None and name not in values:
                self._take_default(calculation, declared, values)
            value = values.get(name)
            if isinstance(value, Sided):
                values[name] = float(value)
            if not isinstance(value, Known | Derived | DerivedCount):
                continue
            if type(value) is HouseNumber and value.unit != declared.unit:
                raise BadInput(f"{calculation.name}: {_other_unit(value.key, value.unit, declared)}")
            if spanned(value):
                sources[name] = value
            values[name] = int(value) if isinstance(value, int) else float(value)
        results = calculation(**values)
        if not sources:
            return results, None
        memory = self.house.memory if self.house is not None else None
        plain = {declared.name: values.get(declared.name) for declared in calculation.inputs}
        return results, Call(calculation, plain, sources, calculation.by_name(results), memory)


def _spans(values: dict) -> dict[str, tuple[float, float]]:
    """Return low and high of the inputs that are known as a span."""
    return {name: value.ends for name, value in values.items() if isinstance(value, Known) and value.leaf}


def _other_unit(key: str, unit: str, declared: Field) -> str:
    """Say that a house value of one unit was handed to an input of another: both are floats by now."""
    return (
        f"house value {key} is in '{unit}', and {declared.name} wants '{declared.unit}'; "
        f"allowed is {declared.allowed()}"
    )
