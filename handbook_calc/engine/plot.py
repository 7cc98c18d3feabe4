"""Plots: declared like tables, computed by the same calculations with the house's values."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from handbook_calc.engine import quantities
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.chart import Chart
from handbook_calc.engine.faults import CalculationFault, OutOfRange, Refusal
from handbook_calc.engine.tables import Refused, attempt, read_last

PLOTS: dict[str, "Plot"] = {}


@dataclass(frozen=True)
class Drawn:
    """A plot drawn for one house standard."""

    id: str
    title: str
    svg: str
    words: str
    table: str
    notes: tuple[str, ...]
    values: tuple[str, ...]
    calculations: tuple[str, ...]
    sources: tuple[str, ...]
    refused: str = ""  # why the house values give nothing to draw

    def places_refused(self) -> list[str]:
        """Return why nothing is drawn, where nothing is."""
        return [self.refused] if self.refused else []


@dataclass(frozen=True)
class Plot:
    """A declared plot.

    Attributes:
        id: stable name; the anchor on a page is ``plot-ID``.
        title: the caption.
        table: the table that holds the same relation in numbers.
        make: function from a `Bench` to a `Chart`.
        notes: what a reader must know to use it.
    """

    id: str
    title: str
    table: str
    make: Callable[[Bench], Chart]
    stage: str
    notes: tuple[str, ...] = ()

    def compute(self, house) -> Drawn:
        """Draw the plot for a house standard, noting what it depends on.

        Raises:
            CalculationFault: a calculation gives no answer; the text names the house values at work.
        """
        bench = Bench(house)
        refused, svg, words, notes = "", "", "", self.notes
        try:
            chart = self.make(bench)
            notes = (*notes, *chart.notes, *_gaps(chart))
            if chart.empty():
                raise Refusal(" ".join(_gaps(chart)) or "there is nothing to draw")
            svg, words = chart.svg(self.id, self.title), chart.words()
        except (Refusal, OutOfRange) as fault:
            refused = f"{fault}; house values read last: {read_last(house, bench)}"
        except CalculationFault as fault:
            text = f"plot '{self.id}' cannot be computed: {fault}; "
            raise CalculationFault(f"{text}house values read last: {read_last(house, bench)}") from fault
        return Drawn(
            id=self.id,
            title=self.title,
            svg=svg,
            words=words,
            table=self.table,
            notes=notes,
            values=tuple(bench.used_values),
            calculations=tuple(bench.used_calculations),
            sources=bench.used_sources,
            refused=refused,
        )


def _gaps(chart: Chart) -> list[str]:
    """Return a sentence for each reason why a line is broken, with where it is."""
    reasons: dict[str, list[float]] = {}
    for line in chart.lines:
        for x, y in line.points:
            if isinstance(y, Refused):
                reasons.setdefault(y.reason, []).append(float(x))
    return [f"No line {_stretch(found, chart.x.unit)}: {reason}" for reason, found in reasons.items()]


def _stretch(found: list[float], unit: str) -> str:
    low, high = (quantities.show(end, unit, 0) for end in (min(found), max(found)))
    return f"at {low}" if low == high else f"at some points from {low} to {high}"


def plot(id: str, *, title: str, table: str, notes: Iterable[str] = ()):
    """Declare the function below, from a `Bench` to a `Chart`, as the plot `id`."""

    def declare(make):
        stage = make.__globals__.get("STAGE") or make.__module__.rpartition(".")[2]
        if id in PLOTS and PLOTS[id].stage != stage:
            raise TypeError(f"plot '{id}' is declared in {PLOTS[id].stage} already")
        PLOTS[id] = Plot(id, title, table, make, stage, tuple(notes))
        return make

    return declare


def trace(xs: Sequence[float], at: Callable[[float], Any]) -> list[tuple[float, Any]]:
    """Return the points of a line; where a calculation refuses, its reason stands in place of the y."""
    return [(x, attempt(lambda x=x: at(x))) for x in xs]


def spaced(low: float, high: float, steps: int, power: float = 1.0) -> list[float]:
    """Return values from one end to the other; a `power` above 1 sets them closer at the low end."""
    return [low + (high - low) * (i / steps) ** power for i in range(steps + 1)]
