"""Calculations with the house standard's defaults, and a record of what was used."""

from dataclasses import dataclass

from handbook_calc.engine import quantities
from handbook_calc.engine.calculation import CATALOGUE, Calculation, Given, Verdict
from handbook_calc.engine.defaults import PLACE
from handbook_calc.engine.faults import BadInput, OutOfRange, Refusal, unknown
from handbook_calc.engine.fields import Field, Quantity
from handbook_calc.engine.house import House
from handbook_calc.engine.working import working


class HouseNumber(float):
    """A number that was taken from the house standard, with the key it was taken under.

    Handed to a calculation as it is, it must be in the unit of the input; anything reckoned from it is a
    plain number again.
    """

    __slots__ = ("key", "unit")

    def __new__(cls, value: float, key: str, unit: str):
        number = super().__new__(cls, value)
        number.key = key
        number.unit = unit
        return number

    def __reduce__(self):
        return float, (float(self),)  # a copy is a plain number


@dataclass(frozen=True)
class Answer:
    """A calculation's answer: its inputs and results, by name, in declared units."""

    calculation: Calculation
    inputs: dict
    results: dict
    house: House | None = None
    refused: str = ""  # why there are no results, where house values lead to none

    def given(self) -> dict[str, Given]:
        """Return inputs and results as sentences may name them."""
        given = {d.name: Given(d, self.inputs[d.name]) for d in self.calculation.inputs}
        named = {d.name: Given(d, self.results[d.name]) for d in self.calculation.results}
        return given | {k: v for k, v in named.items() if k not in given}

    def show(self, name: str = "") -> str:
        """Return one result as people read it; the first where no name is given."""
        declared = self.calculation.result(name)
        return declared.show(self.results[declared.name], self.given())

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
            for declared in self.calculation.results
        }
        plain = {
            "name": self.calculation.name,
            "inputs": {
                declared.name: {"value": self.inputs[declared.name], "unit": declared.unit}
                for declared in self.calculation.inputs
                if self.inputs[declared.name] is not None
            },
        }
        plain["result"] = next(iter(results.values()))  # the first is the one the name asks for
        if len(results) > 1:
            plain["results"] = results
        plain["working"] = self.working()
        plain["source"] = list(self.calculation.sources)
        return plain


class Bench:
    """Runs calculations with a house standard, and keeps what each run took from it."""

    def __init__(self, house: House | None, usage=None) -> None:
        self.house = house
        self.usage = usage
        self.used_values: dict[str, None] = {}
        self.used_calculations: dict[str, None] = {}

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
            return HouseNumber(entry.value, key, entry.field.unit)
        return entry.value

    def _plain(self, key: str):
        value = self.value(key)
        return float(value) if type(value) is HouseNumber else value

    def value_in(self, key: str, declared: Field):
        """Return a house value for an input, in the unit of the input; note that it was used.

        Raises:
            BadInput: the value is of another kind or unit, or is not allowed there.
            KeyError: there is no such house value; the text names the nearest.
        """
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
        return value

    def names(self, key: str) -> tuple[str, ...]:
        """Return the names the house gave in a family."""
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
        results = calculation.by_name(self._run(calculation, values))
        inputs = {d.name: values.get(d.name) for d in calculation.inputs}
        return Answer(calculation, inputs, results, self.house)

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
            return Answer(calculation, inputs, none, self.house, str(fault))

    def _take_default(self, calculation: Calculation, declared, values: dict) -> None:
        key = declared.house
        if "{" not in key:
            values[declared.name] = self._plain(key)
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
        values[declared.name] = self._plain(key.format(**values))

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

    def __call__(self, name: str, /, **values):
        """Return the only result of a calculation, or the dict of its results; errors as of `answer`."""
        return self._run(self.find(name), values)

    def _run(self, calculation: Calculation, values: dict):
        self.used_calculations[calculation.name] = None
        for declared in calculation.inputs:
            value = values.get(declared.name)
            if type(value) is HouseNumber:
                if value.unit != declared.unit:
                    raise BadInput(f"{calculation.name}: {_other_unit(value.key, value.unit, declared)}")
                values[declared.name] = float(value)
            elif declared.house and self.house is not None and declared.name not in values:
                self._take_default(calculation, declared, values)
        return calculation(**values)


def _other_unit(key: str, unit: str, declared: Field) -> str:
    """Say that a house value of one unit was handed to an input of another: both are floats by now."""
    return (
        f"house value {key} is in '{unit}', and {declared.name} wants '{declared.unit}'; "
        f"allowed is {declared.allowed()}"
    )
