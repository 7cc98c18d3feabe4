"""Learning: what the logs of all pieces say of the bench itself, and the line to put into its house standard.

Nothing here is applied: each estimate is printed as a line with its interval (5th to 95th per cent) and its
reason, and a person puts it into the house standard or leaves it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import exp, log, sqrt

from handbook_calc import log as logs
from handbook_calc.chloride import least_of, most_of
from handbook_calc.diffusion import slab_released
from handbook_calc.engine import quantities
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.estimates import (
    Estimate,
    Shape,
    blurred,
    grid,
    least_squares,
    next_of,
    shape_of,
    slope_of,
    weighed,
)
from handbook_calc.engine.faults import CalculationFault
from handbook_calc.engine.logbook import Log, moment_of
from handbook_calc.engine.steps import keys_read
from handbook_calc.plan import face_area, way

DAY = 24
SECONDS = 86_400.0  # in a day
NORMAL = 1.6449  # standard deviations from the middle to the 95th per cent
STEP = 0.05  # of a logarithm between two values that are tried
GAS_CONSTANT, KELVIN = 8.314462618e-3, 273.15  # kJ/mol/K
LEAST_BATHS, LEAST_SEEN = 4, 3
LEAST_OF_A_KIND = 3  # pieces, boxes, stretches of one paper
LEAST_READ = 4  # readings of one box, its closing with them
LEAST_WEIGHINGS = 5  # of one drying
LEAST_PASSES = 4  # etchings from which a rise with the temperature is read
LEAST_RANGE = 5.0  # degC between the coldest and the warmest of them


@dataclass(frozen=True)
class Learnt:
    """What the logs say of one thing.

    Attributes:
        name: what it is.
        unit: its unit.
        estimate: value and interval; None where the readings do not give one.
        key: the house value that it would be; empty where the house standard holds none.
        rests: on which readings it rests.
        lacks: why there is no estimate, and how many readings are needed.
        use: what to do with a value that the house standard does not hold.
    """

    name: str
    unit: str
    estimate: Estimate | None = None
    key: str = ""
    rests: str = ""
    lacks: str = ""
    use: str = ""
    odd: str = field(default="", compare=False)

    def plain(self) -> dict:
        """Return it as plain data."""
        found: dict = {"name": self.name, "unit": self.unit, "key": self.key or None}
        if self.estimate is None:
            return found | {"lacks": self.lacks}
        ends = {"value": self.estimate.value, "low": self.estimate.low, "high": self.estimate.high}
        return found | ends | {"rests": self.rests, "use": self.use or None, "line": self.line or None}

    @property
    def shown(self) -> str:
        """Return value and interval as a person writes them: ``1.3e-11 m^2/s (7.0e-12 to 2.4e-11)``."""
        if self.estimate is None:
            return ""
        value, low, high = (f"{n:.2g}" for n in (self.estimate.value, self.estimate.low, self.estimate.high))
        return f"{value} {self.unit} ({low} to {high})"

    @property
    def line(self) -> str:
        """Return the line of the house standard with its reason above; empty where it holds no such value."""
        if not self.key or self.estimate is None or self.odd:
            return ""
        section, _, name = self.key.rpartition(".")
        return f"{section}:\n  # Measured: {self.rests}.\n  {name}: {self.shown}"


def learn(found: Sequence[Log]) -> list[Learnt]:
    """Return what the logs of a bench say of it, one entry a thing, whether they settle it or not."""
    estimates = [
        *_of_baths(found),
        _of_boxes(found),
        *_of_papers(found),
        *_of_etching(found),
        _of_drying(found),
    ]
    return [_fitting(found, one) for one in estimates]


def _fitting(found: Sequence[Log], one: Learnt) -> Learnt:
    """Say of an estimate that the house standard would refuse why it does."""
    if not one.key or one.estimate is None or not found:
        return one
    declared = found[0].house.entry(one.key).field
    try:
        for number in (one.estimate.value, one.estimate.low, one.estimate.high):
            declared.check(float(f"{number:.2g}"))
    except ValueError as error:
        use = f"the house standard would refuse it: it {error}; look at the readings first"
        return Learnt(one.name, one.unit, one.estimate, one.key, one.rests, use=use, odd=str(error))
    return one


def _pieces(found: Sequence[Log]) -> str:
    numbers = list(dict.fromkeys(one.number for one in found))
    return ", ".join(numbers)


def _until(found: Sequence[Log]) -> str:
    last = max(entry["at"] for one in found for entry in one.standing)
    return f"read until {moment_of(last):%Y-%m-%d}"


# --- baths: diffusivity and chloride -----------------------------------------------------------


@dataclass(frozen=True)
class Course:
    """The baths of one piece: the end of each in days, what each drew out in mg, and the error of that."""

    log: Log
    days: Sequence[float]
    masses: Sequence[float]
    errors: Sequence[float]
    depth: float  # mm
    doubt: float  # standard deviation of the logarithm of the depth

    def shape(self, points: Sequence[float]) -> tuple[Shape, list[float]]:
        """Return what the baths say of the diffusivity at the best depth, and the total in mg at each point.

        The errors are those that the house gives its test, or larger where the readings scatter more.
        """
        met = [mass / error for mass, error in zip(self.masses, self.errors, strict=True)]
        fits = []
        for point in points:
            shares = self.shares(exp(point))
            weighted = [share / error for share, error in zip(shares, self.errors, strict=True)]
            fits.append(least_squares([weighted], met))
        scatter = max(1.0, min(left for _, left, _ in fits) / max(1, len(met) - 2))
        scores = [
            # flat in the logarithm of the total
            -left / 2 / scatter - log(wide) / 2 - log(total) if total > 0 and wide > 0 else float("-inf")
            for (total,), left, wide in fits
        ]
        return weighed(points, scores), [total for (total,), _, _ in fits]

    def shares(self, diffusivity: float) -> list[float]:
        """Return the share of the total that each bath draws out."""
        by_day = diffusivity * SECONDS / (self.depth / 1000) ** 2
        out = [slab_released(by_day * day) for day in self.days]
        return [out[0], *(after - before for before, after in pairwise(out))]


def course_of(one: Log) -> Course | None:
    """Return the baths of a log; None where too few are counted or show chloride."""
    rows = logs.ledger_rows(one.standing)
    if len(rows) < LEAST_BATHS or sum(row[0] > 0 for row in rows) < LEAST_SEEN:
        return None
    house = one.house
    own, sees = house["electrolysis.reading_error"] / 100, house["electrolysis.detection_limit"]
    days, masses, errors, day = [], [], [], 0.0
    for reading, blank, litres, stood in rows:
        day += stood
        days.append(day)
        net = most_of(reading) / 2 if reading < 0 else max(0.0, reading - least_of(blank))
        error = most_of(reading) / 2 if reading < 0 else sqrt((own * reading) ** 2 + (sees / 2) ** 2)
        masses.append(net * litres)
        errors.append(error * litres)
    entry = house.entry("piece.crack_depth")
    low, high = entry.span or (entry.value, entry.value)
    doubt = log(high / low) / 2 / NORMAL
    return Course(one, days, masses, errors, way(one.facts), doubt)


def _of_baths(found: Sequence[Log]) -> Iterator[Learnt]:
    name, chloride = "how fast chloride moves in a crack", "chloride that a piece gives, by its mass"
    courses = [course for course in map(course_of, found) if course]
    least = f"{LEAST_BATHS} counted baths of one piece, {LEAST_SEEN} of them with chloride that was seen"
    if not courses:
        lacks = f"needs {least}; no piece has them"
        yield Learnt(name, "m^2/s", key="electrolysis.diffusivity", lacks=lacks)
        yield Learnt(chloride, "mg/kg", key="electrolysis.chloride", lacks=lacks)
        return
    declared = courses[0].log.house.entry("electrolysis.diffusivity").field
    points = grid(log(getattr(declared, "low", 1e-15)), log(getattr(declared, "high", 1e-8)), 2 * STEP)
    shapes, totals = [], []
    for course in courses:
        shape, total = course.shape(points)
        shapes.append(shape)
        totals.append(total)
    joint = [0.0] * len(points)
    for course, shape in zip(courses, shapes, strict=True):
        joint = [a + b for a, b in zip(joint, blurred(shape, 2 * course.doubt), strict=True)]
    together = weighed(points, joint)
    baths = sum(len(course.days) for course in courses)
    read = [course.log for course in courses]
    rests = f"{baths} baths of {_pieces(read)}, fitted together, {_until(read)}"
    if together.at_the_edge():
        lacks = (
            f"the {baths} baths of {_pieces(read)} do not slow down enough yet to tell a fast crack from a "
            "salty one: read on until a bath gives a fifth of what the first gave"
        )
        yield Learnt(name, "m^2/s", key="electrolysis.diffusivity", lacks=lacks)
    else:
        yield Learnt(name, "m^2/s", together.estimate(), "electrolysis.diffusivity", rests)
    yield _of_chloride(chloride, courses, shapes, totals)


def _of_chloride(name: str, courses, shapes: Sequence[Shape], totals) -> Learnt:
    """Return the chloride by mass that the next piece will give, by those that gave it."""
    settled = []
    for course, shape, total in zip(courses, shapes, totals, strict=True):
        if shape.at_the_edge():
            continue
        logged = [log(t) if t > 0 else 0.0 for t in total]
        mean = sum(map(float.__mul__, shape.weights, logged)) / sum(shape.weights)
        settled.append((course, exp(mean) / (course.log.house["piece.mass"] / 1000)))
    if len(settled) < LEAST_OF_A_KIND:
        lacks = (
            f"needs {LEAST_OF_A_KIND} pieces whose baths slow down far enough to foretell their total; "
            f"there are {len(settled)}"
        )
        return Learnt(name, "mg/kg", key="electrolysis.chloride", lacks=lacks)
    read = [course.log for course, _ in settled]
    rests = f"what {_pieces(read)} gave and will give, {_until(read)}; the span is that of the next piece"
    estimate = next_of([held for _, held in settled])
    return Learnt(name, "mg/kg", estimate, "electrolysis.chloride", rests)


# --- the box -----------------------------------------------------------------------------------


def box_runs(one: Log) -> Iterator[tuple[list[float], list[float], float]]:
    """Yield days, humidities and the mean of the room of each run of a box that was closed without gel."""
    room = [entry for entry in one.standing if entry["what"] == "room humidity"]
    run: list[dict] = []
    for entry in [*one.standing, {"what": "box closed", "by": None}]:
        if entry["what"] == "box closed":
            if len(run) >= LEAST_READ:
                first, last = run[0]["at"], run[-1]["at"]
                in_it = [e["value"] for e in room if first <= e["at"] <= last]
                mean = sum(in_it) / len(in_it) if in_it else one.house["storage.room_humidity"]
                yield [(e["at"] - first) / DAY for e in run], [e["value"] for e in run], mean
            run = [entry] if entry["by"] == 0 else []
        elif entry["what"] == "box humidity" and run:
            run.append(entry)


def _of_boxes(found: Sequence[Log]) -> Learnt:
    name, key = "air changes of a box", "storage.air_changes"
    points = grid(log(0.002), log(50.0), STEP)
    rates, unsettled, read = [], 0, []
    for one in found:
        for days, humidities, room in box_runs(one):
            below = [room - humidity for humidity in humidities]
            shape = shape_of(points, lambda n, days=days: [[exp(-n * day) for day in days]], below)
            if shape.at_the_edge():
                unsettled += 1
            else:
                rates.append(exp(shape.mean))
                read.append(one)
    if len(rates) < LEAST_OF_A_KIND:
        more = f", and {unsettled} that came too near to the room or hardly rose" if unsettled else ""
        lacks = (
            f"needs {LEAST_OF_A_KIND} runs of an empty box closed without gel, each with {LEAST_READ} "
            f"readings, its closing with them; there are {len(rates)}{more}"
        )
        return Learnt(name, "1/d", key=key, lacks=lacks)
    rests = f"{len(rates)} runs of empty boxes, {_until(read)}; the span is that of the next box"
    return Learnt(name, "1/d", next_of(rates), key, rests)


# --- paper and etchant -------------------------------------------------------------------------


def face_of(one: Log) -> float:
    """Return the area of the piece's face, cm^2."""
    return face_area({key: one.house[key] for key in keys_read(face_area)})


def _of_papers(found: Sequence[Log]) -> Iterator[Learnt]:
    rates: dict[str, list[float]] = {}
    read: dict[str, list[Log]] = {}
    for one in found:
        for before, after, step, minutes, paper, alone, _ in logs.passes(one.standing, "sanding pass"):
            if not alone:
                continue
            given = {} if step is None else {"division": step}
            try:
                rate = Bench(one.house).answer(
                    "removal-rate", mass_before=before, mass_after=after, area=face_of(one),
                    time=minutes, **given,
                ).results["rate"]  # fmt: skip
            except CalculationFault:
                continue  # told by the calculation itself, in the piece's own log
            rates.setdefault(paper, []).append(float(rate))
            read.setdefault(paper, []).append(one)
    if not rates:
        lacks = (
            f"needs {LEAST_OF_A_KIND} stretches of one paper between two weighings, each of five steps of "
            "the balance or more; there are 0"
        )
        yield Learnt("depth that a paper takes off", "um/min", lacks=lacks)
    for paper, values in rates.items():
        name = f"depth that {paper} takes off"
        if len(values) < LEAST_OF_A_KIND:
            lacks = f"needs {LEAST_OF_A_KIND} stretches of it between two weighings; there are {len(values)}"
            yield Learnt(name, "um/min", lacks=lacks)
            continue
        estimate = next_of(values)
        rests = (
            f"{len(values)} stretches on {_pieces(read[paper])}, {_until(read[paper])}; "
            "the span is that of the next stretch"
        )
        use = f'no house value; give it to: calc sanding-time rate="{estimate.value:.2g} um/min"'
        yield Learnt(name, "um/min", estimate, rests=rests, use=use)


def _of_etching(found: Sequence[Log]) -> Iterator[Learnt]:
    """Yield for each etchant how deep it etches, and how that rises with the temperature."""
    passes: dict[str, list[tuple[float, float]]] = {}
    read: dict[str, list[Log]] = {}
    for one in found:
        etchant = one.house["wanted.etchant"]
        for before, after, _, seconds, degrees, alone, _ in logs.passes(one.standing, "etching pass"):
            if not alone or before <= after:
                continue
            depth = Bench(one.house).answer("etch-depth", iron=before - after, area=face_of(one))
            passes.setdefault(etchant, []).append((degrees, float(depth.results["depth"]) / seconds * 60))
            read.setdefault(etchant, []).append(one)
    for etchant, rows in passes.items():
        yield from _of_etchant(etchant, rows, read[etchant])
    if not passes:
        lacks = f"needs {LEAST_OF_A_KIND} etchings between two weighings; there are 0"
        yield Learnt("depth that an etchant takes", "um/min", lacks=lacks)


def _of_etchant(etchant: str, rows: Sequence[tuple[float, float]], read: Sequence[Log]) -> Iterator[Learnt]:
    house = read[0].house
    base, energy = house["etching.base_temperature"], house["etching.activation_energy"]

    def colder(degrees: float) -> float:
        return (1 / (degrees + KELVIN) - 1 / (base + KELVIN)) / GAS_CONSTANT

    rests = f"{len(rows)} etchings in {etchant} of {_pieces(read)}, {_until(read)}"
    name = f"rise of etching in {etchant} with the temperature"
    spread = max(degrees for degrees, _ in rows) - min(degrees for degrees, _ in rows)
    if len(rows) < LEAST_PASSES or spread < LEAST_RANGE:
        lacks = (
            f"needs {LEAST_PASSES} etchings between two weighings, {LEAST_RANGE:g} degC apart at least; "
            f"there are {len(rows)}, {spread:.2g} degC apart"
        )
        yield Learnt(name, "kJ/mol", lacks=lacks, key="etching.activation_energy")
    else:
        slope, _ = slope_of([colder(degrees) for degrees, _ in rows], [log(rate) for _, rate in rows])
        found = Estimate(-slope.value, -slope.high, -slope.low)
        yield Learnt(name, "kJ/mol", found, "etching.activation_energy", rests)
        energy = found.value
    at = quantities.show(base, "degC", 0).replace("\u00a0", " ")
    name = f"depth that {etchant} takes at {at}"
    if len(rows) < LEAST_OF_A_KIND:
        yield Learnt(name, "um/min", lacks=f"needs {LEAST_OF_A_KIND} etchings; there are {len(rows)}")
        return
    rates = [rate * exp(energy * colder(degrees)) for degrees, rate in rows]
    use = "no house value; a pass takes depth over this rate"
    yield Learnt(
        name, "um/min", next_of(rates), rests=f"{rests}; the span is that of the next etching", use=use
    )


# --- drying ------------------------------------------------------------------------------------


def dryings(one: Log) -> Iterator[tuple[list[float], list[float]]]:
    """Yield hours in the oven and masses of each drying with enough weighings."""
    run: list[dict] = []
    begun = None
    for entry in [*one.standing, {"what": "oven", "at": 0.0}]:
        if entry["what"] in ("oven", *logs.WET):
            if begun is not None and len(run) >= LEAST_WEIGHINGS:
                yield [e["at"] - begun for e in run], [e["value"] for e in run]
            begun, run = (entry["at"], []) if entry["what"] == "oven" else (None, [])
        elif entry["what"] == "weighing" and begun is not None:
            run.append(entry)


def _of_drying(found: Sequence[Log]) -> Learnt:
    """A front that draws back into a blind crack: the mass falls with the root of time until it is dry."""
    name, key = (
        "time in the oven until the mass stands, with the deepest crack that was dried",
        "drying.oven_hold",
    )
    points = grid(log(0.05), log(5000.0), STEP)
    held, unsettled, read = [], 0, []
    for one in found:
        for hours, masses in dryings(one):
            end = masses[-1]

            def columns(whole: float, hours=hours) -> list[list[float]]:
                return [[1.0] * len(hours), [max(0.0, 1 - sqrt(hour / whole)) for hour in hours]]

            shape = shape_of(points, columns, [mass - end for mass in masses])
            if shape.at_the_edge():
                unsettled += 1
            else:
                held.append(exp(shape.mean) / way(one.facts) ** 2)
                read.append(one)
    if len(held) < LEAST_OF_A_KIND:
        more = f", and {unsettled} that never stood still or stood from the start" if unsettled else ""
        lacks = (
            f"needs {LEAST_OF_A_KIND} dryings with {LEAST_WEIGHINGS} weighings each, from the oven on until "
            f"the mass stands; there are {len(held)}{more}"
        )
        return Learnt(name, "h", key=key, lacks=lacks)
    depth = example_depth(found)
    next_one = f"the span is that of the next, {depth:g} mm deep"
    rests = f"{len(held)} dryings of {_pieces(read)}, {_until(read)}; {next_one}"
    return Learnt(name, "h", next_of(held).times(depth**2), key, rests)


def example_depth(found: Sequence[Log]) -> float:
    """Return the depth of crack for which a time in the oven is told: the deepest that was dried."""
    return max(way(one.facts) for one in found if any(True for _ in dryings(one)))


# --- words -------------------------------------------------------------------------------------


def text(found: Sequence[Log], learnt: Sequence[Learnt]) -> str:
    """Return what was learnt as text, with the lines for the house standard; nothing is applied."""
    lines = [f"From the logs of {_pieces(found) or 'no piece'}; nothing is applied by itself."]
    for one in learnt:
        if one.estimate is None:
            lines.append(f"not yet: {one.name}: {one.lacks}.")
            continue
        lines.append(f"{one.name}: {one.shown}")
        lines.append(f"   by {one.rests}")
        if one.key:
            lines.append(f"   the house has {found[0].house.entry(one.key).written}")
        lines.append(f"   {one.use}" if one.use else "   to put it into the house standard:")
        lines += [f"      {line}" for line in one.line.splitlines()]
    return "\n".join(lines)
