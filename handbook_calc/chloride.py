"""Chloride: how far it is out of a crack, what the readings say, and when to stop."""

import re
from dataclasses import dataclass
from functools import partial
from math import sqrt

from handbook_calc.diffusion import slab_fourier, slab_released
from handbook_calc.electrolysis import liquid
from handbook_calc.engine import data, quantities
from handbook_calc.engine.calculation import (
    Figure,
    Listing,
    Reasons,
    Verdict,
    Whole,
    because,
    calculation,
    refuse,
)
from handbook_calc.engine.fields import Choice, Quantity, Rows
from handbook_calc.engine.house import section
from handbook_calc.engine.rules import above, below, between
from handbook_calc.engine.tables import Axis, Column, Mark, Sheet, Span, matrix, table

WEEK = 7.0  # d
LEAST_FIT = 0.9
LARGEST_FALL = 0.1  # of the highest reading so far
BEND = 2.0  # ratio of end to start slope at which a line is no line
FARTHEST = 10.0  # times the time observed so far
LEAST_SHOWN = 0.01  # mg/L, far below what any test sees
MOST_SHOWN = 99.0  # %
STUDENT_T = data.numbers("student_t", "t")


@dataclass(frozen=True)
class Reading(Quantity):
    """A test's reading; ``below 5 mg/L`` stays what it is, kept as the negative of the bound."""

    form = "reading"

    def read(self, written) -> float:
        """Return the reading, negative for a bound that the test did not reach."""
        text = str(written).strip()
        below = re.match(r"(?:below|<)\s*(.+)", text)
        value = quantities.read(below[1] if below else text, self.unit)
        if value < 0 or (below and value == 0):
            raise ValueError(f"is out of range; allowed is {self.allowed()}")
        value = -value if below else value
        self.check(value)
        return value

    def check(self, value) -> None:
        """Refuse a reading out of range, on either side of detection."""
        number = isinstance(value, int | float) and not isinstance(value, bool)
        super().check(abs(value) if number else value)

    def show(self, value) -> str:
        """Return the reading as people write it."""
        return f"below {super().show(-value)}" if value < 0 else super().show(value)

    def allowed(self) -> str:
        """Say what is allowed, and how to write what was not seen."""
        return f"{super().allowed()}, or 'below 5 mg/L' where the test saw nothing"


diffusion = partial(
    Quantity,
    unit="m^2/s",
    low=1e-15,
    high=1e-8,
    why="chloride in free water has 2.0e-9 m^2/s at 25 degC, in tight rust a thousandth of it",
)
crack = partial(Quantity, unit="mm", low=0.01, high=200)
piece_of = partial(Quantity, unit="g", low=0.1, high=100_000)
level = partial(Quantity, unit="mg/L", low=0.01, high=100_000)
per_mass = partial(Quantity, unit="mg/kg", low=0.01, high=10_000)
stand_time = partial(Quantity, unit="d", low=1, high=60)
WEIGHTINGS = ("equal", "relative")


section(
    "electrolysis",
    diffusion("diffusivity", "how fast chloride moves in a crack full of rust, best guess"),
    diffusion("diffusivity_low", "the same, slow guess"),
    diffusion("diffusivity_high", "the same, fast guess"),
    Quantity("extract", "share of the chloride to draw out", unit="%", low=50, high=99.9),
    per_mass("chloride", "chloride in the piece by its mass, guess before the first bath"),
    stand_time("stand", "days a bath stands before it is tested for the end"),
    level("bath_limit", "chloride at which a bath is spent and is changed at once"),
    level("stop_limit", "chloride that an end bath stays below"),
    per_mass("mass_limit", "chloride by mass of the piece that an end bath of a week may hold"),
    level("detection_limit", "least chloride that the bench's test can see"),
    level("check_standard", "chloride in the known sample that every test is tried on"),
    level("test_stock", "chloride in the bought solution that standards are made from"),
    Quantity("test_flask", "volumetric flask in which a standard is made up", unit="mL", low=10, high=1000),
    Quantity("test_sample", "liquid in one tube of the silver test", unit="mL", low=1, high=100),
    Quantity("test_silver", "silver nitrate of 0.1 mol/L put into one tube", unit="mL", low=0.01, high=5),
    Quantity("test_wait", "time from the silver nitrate to the look", unit="min", low=1, high=60),
    Choice("weighting", "how readings count in a forecast", options=WEIGHTINGS, kind="weighting"),
)


below(
    "electrolysis.detection_limit",
    "electrolysis.stop_limit",
    because="this test cannot show that a bath is clean",
)
above("electrolysis.check_standard", "electrolysis.detection_limit", because="a sound test would fail it")
above("electrolysis.bath_limit", "electrolysis.stop_limit", because="a clean bath would count as spent")
between(
    "electrolysis.diffusivity", "electrolysis.diffusivity_low", "electrolysis.diffusivity_high",
    because="the best guess lies between its slow and its fast guess",
)  # fmt: skip


# --- chloride out of a crack --------------------------------------------------------------------

CRACK_ASSUMES = (
    "a blind crack, evenly salty at the start, open at one end to liquid that stays nearly free of chloride",
    "chloride that is bound in rust counts only through a small diffusivity, a guess: fit your own "
    "from readings",
    "no treatment draws out all of it, and nobody can measure what is left without harm",
)


@calculation(
    "extracted-fraction",
    curve="time",
    title="Share of the chloride out of a crack",
    inputs=(
        Quantity("time", "time in the bath", unit="d", low=0, high=20_000),
        crack("depth", "depth of the crack"),
        diffusion("diffusivity", "how fast chloride moves in it", house="electrolysis.diffusivity"),
    ),
    results=Figure("fraction", "%", "share that has come out"),
    assumes=CRACK_ASSUMES,
    sources=("slab-diffusion", "chloride-diffusivity"),
)
def extracted_fraction(time, depth, diffusivity):
    """Release of a slab at the Fourier number of the crack."""
    fourier = diffusivity * time * 86_400 / (depth / 1000) ** 2
    return 100 * slab_released(fourier)


@calculation(
    "extraction-time",
    curve="depth",
    title="Time for a share of the chloride to come out of a crack",
    inputs=(
        Quantity("fraction", "share to come out", unit="%", low=0, high=99.9999,
                 why="the whole of it would take for ever"),
        crack("depth", "depth of the crack"),
        diffusion("diffusivity", "how fast chloride moves in it", house="electrolysis.diffusivity"),
    ),
    results=Figure("time", "d", "time in fresh liquid"),
    assumes=CRACK_ASSUMES,
    sources=("slab-diffusion", "chloride-diffusivity"),
)  # fmt: skip
def extraction_time(fraction, depth, diffusivity):
    """Fourier number of that release, turned into time."""
    fourier = slab_fourier(fraction / 100)
    return fourier * (depth / 1000) ** 2 / diffusivity / 86_400


@calculation(
    "bath-chloride",
    title="Chloride in a bath when a share has come out",
    inputs=(
        Quantity("chloride_mass", "chloride in the piece", unit="mg", low=0, high=1_000_000),
        liquid("volume", "liquid of the bath"),
        Quantity("fraction", "share that comes out into this bath", unit="%", low=0, high=100),
    ),
    results=Figure("concentration", "mg/L", "chloride in the bath"),
    assumes=("the bath was free of chloride at the start",),
    sources=("mass-balance",),
)
def bath_chloride(chloride_mass, volume, fraction):
    """Mass that came out over the volume."""
    return chloride_mass * fraction / 100 / volume


# --- readings -----------------------------------------------------------------------------------

LEDGER_ROWS = (
    Reading("reading", "chloride in the bath", unit="mg/L", low=0, high=50_000),
    Reading("blank", "chloride in the fresh bath, by the same test", unit="mg/L", low=0, high=5000),
    Quantity("litres", "liquid of the bath", unit="L", low=0.01, high=500),
    Quantity("days", "days the bath has stood", unit="d", low=0.05, high=400),
)
readings_of_baths = partial(
    Rows,
    "readings",
    "one row a bath, oldest first: reading, blank, litres, days; write 'below 5 mg/L' where the "
    "test saw nothing, never zero",
    columns=LEDGER_ROWS,
    most=100,
)
BLANK_REFUSED = (
    "bath {0} reads less chloride than its own blank: one of the two is wrong, or the blank was "
    "another liquid; test both again with the same lot"
)


def least_of(reading):
    """Lowest value that a reading allows; one below detection may be nothing at all."""
    return 0 if reading < 0 else reading


def most_of(reading):
    """Highest value that a reading allows."""
    return -reading if reading < 0 else reading


def net_least(row):
    """Least chloride in mg/L that came out of the piece into a bath."""
    return max(0, least_of(row[0]) - most_of(row[1]))


def net_most(row):
    """Most chloride in mg/L that came out of the piece into a bath."""
    return most_of(row[0]) - least_of(row[1])


def weekly(row, piece_mass, net):
    """Chloride in mg by kg of piece and seven days, for a net concentration of the bath."""
    return net * row[2] / (piece_mass / 1000) / row[3] * WEEK


def check_blanks(readings):
    """Refuse a bath that reads less than its blank."""
    for i in range(len(readings)):
        if net_most(readings[i]) < 0:
            refuse("under-blank", i + 1)


@calculation(
    "chloride-ledger",
    title="Chloride drawn out so far",
    inputs=(
        readings_of_baths(),
        piece_of("piece_mass", "mass of the piece"),
    ),
    results=(
        Figure("released", "mg", "chloride out, as far as the test saw it"),
        Figure("released_most", "mg", "the same with unseen baths at their bound"),
        Figure("per_piece_mass", "mg/kg", "chloride out by mass of the piece"),
        Figure("per_week", "mg/kg", "the last bath alone, by mass of the piece and week",
               optional=True, without="below detection"),
        Figure("per_week_most", "mg/kg", "the most that the last bath can have held"),
        Whole("below_detection", "1", "baths in which the test saw nothing"),
        Listing(
            "baths",
            "bath by bath",
            (
                Whole("bath", "1", "number"),
                Figure("net", "mg/L", "above the blank", optional=True, without="below detection"),
                Figure("mass", "mg", "chloride in it", optional=True, without="below detection"),
                Figure("sum", "mg", "chloride out so far"),
            ),
        ),
    ),
    assumes=(
        "the whole bath reads as the sample does: stir before sampling",
        "every bath is entered, also the ones poured away",
        "what has come out says nothing certain about what is left",
    ),
    sources=("mass-balance", "chloride-endpoint"),
    refusals={"under-blank": BLANK_REFUSED},
)  # fmt: skip
def chloride_ledger(readings, piece_mass):
    """Reading less blank, times the litres, bath by bath."""
    check_blanks(readings)
    released = 0
    released_most = 0
    below_detection = 0
    baths = []
    for i in range(len(readings)):
        row = readings[i]
        released = released + net_least(row) * row[2]
        released_most = released_most + net_most(row) * row[2]
        if row[0] < 0:
            below_detection = below_detection + 1
            baths.append([i + 1, None, None, released])
        else:
            baths.append([i + 1, net_least(row), net_least(row) * row[2], released])
    last = readings[len(readings) - 1]
    per_week = None if last[0] < 0 else weekly(last, piece_mass, net_least(last))
    per_week_most = weekly(last, piece_mass, net_most(last))
    per_piece_mass = released / (piece_mass / 1000)
    return {
        "released": released,
        "released_most": released_most,
        "per_piece_mass": per_piece_mass,
        "per_week": per_week,
        "per_week_most": per_week_most,
        "below_detection": below_detection,
        "baths": baths,
    }


def bath_passes(row, piece_mass, concentration_limit, mass_limit, stand):
    """Say whether a bath, at the worst its readings allow, is an end bath."""
    stood = row[3] >= stand * (1 - 1e-9)
    clean = net_most(row) < concentration_limit
    slow = weekly(row, piece_mass, net_most(row)) <= mass_limit * (1 + 1e-9)
    return stood and clean and slow


@calculation(
    "chloride-stop",
    title="Whether a chloride treatment may stop",
    inputs=(
        readings_of_baths(),
        piece_of("piece_mass", "mass of the piece"),
        level("concentration_limit", "chloride that an end bath stays below",
              house="electrolysis.stop_limit"),
        per_mass("mass_limit", "chloride by mass of the piece that a week's bath may hold",
                 house="electrolysis.mass_limit"),
        level("detection_limit", "least chloride that the test can see",
              house="electrolysis.detection_limit"),
        stand_time("stand", "days an end bath has stood, at least", optional=True,
                   house="electrolysis.stand"),
        level("bath_limit", "chloride at which a bath is spent", optional=True,
              house="electrolysis.bath_limit"),
    ),
    results=(
        Verdict(
            "verdict",
            "what to do now",
            words={
                "carry on": "Leave the piece in this bath and read it again.",
                "change the bath": "Chloride is still coming out: a fresh bath of the house's "
                "volume, then read on.",
                "one more confirming bath": "This bath passes. One more fresh bath must pass too "
                "before the treatment stops.",
                "stop": "Two baths in a row pass: the treatment may stop. Chloride is lowered, not "
                "gone; dry air keeps the piece.",
            },
        ),
        Reasons(
            "reasons",
            "why",
            {
                "short": "The last bath has stood {0 d}, and an end bath stands {1 d}.",
                "spent": "It reads {0 mg/L}, and at {bath_limit} a bath is spent.",
                "concentration": "It may hold {0 mg/L} above its blank, not below "
                "{concentration_limit}.",
                "mass": "It may hold {0 mg/kg} by mass of the piece and week, above {mass_limit}: "
                "in so much liquid a low concentration hides it.",
                "unseen": "Its reading is below detection, so the bound counts, not zero.",
                "first": "It is the only bath so far.",
                "before": "The bath before it did not pass.",
                "both": "The last two baths stood long enough and stayed below both limits.",
            },
        ),
    ),
    assumes=(
        "the sample was made acid, and a blank and a known standard read right the same day",
        "both limits hold: concentration alone is passed by any tub that is large enough",
        "limits from archaeological iron, the best likeness there is",
        "the limit of a spent bath is for hydroxide of 0.1 mol/L; what carbonate bears is less and unknown",
    ),
    sources=("chloride-endpoint", "cci-silver-test", "bath-practice"),
    refusals={
        "under-blank": BLANK_REFUSED,
        "blind-test": "a test that sees no less than {detection_limit} cannot show that a bath is "
        "below {concentration_limit}: use one whose detection limit is lower, such as silver "
        "nitrate in an acidified sample",
        "blind-to-mass": "in this much liquid the test's {detection_limit} is {0 mg/kg} of the "
        "piece a week, more than the limit of {mass_limit}: use a finer test, or a bath of less "
        "liquid",
        "too-fine": "bath {0} is entered as below {1 mg/L}, finer than the test's detection limit "
        "of {detection_limit}: enter what the test can claim",
    },
)  # fmt: skip
def chloride_stop(readings, piece_mass, concentration_limit, mass_limit, detection_limit, stand, bath_limit):
    """Both limits, for two baths in a row, at the worst that the readings allow."""
    if detection_limit >= concentration_limit:
        refuse("blind-test")
    check_blanks(readings)
    for i in range(len(readings)):
        if readings[i][0] < 0 and most_of(readings[i][0]) < detection_limit * (1 - 1e-9):
            refuse("too-fine", i + 1, most_of(readings[i][0]))
    days = WEEK if stand is None else stand
    last = readings[len(readings) - 1]
    seen = weekly(last, piece_mass, detection_limit)
    if seen > mass_limit and last[3] >= days:
        refuse("blind-to-mass", seen)
    passes = bath_passes(last, piece_mass, concentration_limit, mass_limit, days)
    reasons = []
    if passes:
        if len(readings) < 2:
            reasons.append(because("first"))
            return {"verdict": "one more confirming bath", "reasons": reasons}
        before = readings[len(readings) - 2]
        if bath_passes(before, piece_mass, concentration_limit, mass_limit, days):
            reasons.append(because("both"))
            return {"verdict": "stop", "reasons": reasons}
        reasons.append(because("before"))
        return {"verdict": "one more confirming bath", "reasons": reasons}
    spent = False
    if bath_limit is not None and most_of(last[0]) >= bath_limit:
        spent = True
        reasons.append(because("spent", most_of(last[0])))
    short = last[3] < days * (1 - 1e-9)
    if short:
        reasons.append(because("short", last[3], days))
    if net_most(last) >= concentration_limit:
        reasons.append(because("concentration", net_most(last)))
    rate = weekly(last, piece_mass, net_most(last))
    if rate > mass_limit:
        reasons.append(because("mass", rate))
    if last[0] < 0:
        reasons.append(because("unseen"))
    verdict = "carry on" if short and not spent else "change the bath"
    return {"verdict": verdict, "reasons": reasons}


def weighted_line(xs, ys, weights):
    """Weighted least squares of a straight line.

    Returns a list: intercept, slope, residual standard deviation, sum of weights, weighted mean
    of x, weighted sum of squares of x about it, coefficient of determination.
    """
    count = len(xs)
    total = 0
    sum_x = 0
    sum_y = 0
    for i in range(count):
        total = total + weights[i]
        sum_x = sum_x + weights[i] * xs[i]
        sum_y = sum_y + weights[i] * ys[i]
    mean_x = sum_x / total
    mean_y = sum_y / total
    squares_x = 0
    squares_y = 0
    products = 0
    for i in range(count):
        squares_x = squares_x + weights[i] * (xs[i] - mean_x) ** 2
        squares_y = squares_y + weights[i] * (ys[i] - mean_y) ** 2
        products = products + weights[i] * (xs[i] - mean_x) * (ys[i] - mean_y)
    slope = products / squares_x
    intercept = mean_y - slope * mean_x
    residual = 0
    for i in range(count):
        residual = residual + weights[i] * (ys[i] - intercept - slope * xs[i]) ** 2
    deviation = sqrt(residual / (count - 2))
    determination = 1 - residual / squares_y if squares_y > 0 else 0
    return [intercept, slope, deviation, total, mean_x, squares_x, determination]


def student_t(freedom):
    """Two-sided 95 % point of Student's t; for more than 30 degrees that of 30, a little wide."""
    return STUDENT_T[min(freedom, len(STUDENT_T)) - 1]


def check_rising(readings):
    """Refuse readings through which no line of rising chloride can be laid."""
    if len(readings) < 3:
        refuse("few")
    highest = 0
    for i in range(len(readings)):
        if readings[i][1] < 0:
            refuse("unseen", i + 1)
        if i > 0 and readings[i][0] <= readings[i - 1][0]:
            refuse("order", i + 1)
        if readings[i][1] < highest * (1 - LARGEST_FALL):
            refuse("falling", i + 1)
        highest = max(highest, readings[i][1])
    if readings[len(readings) - 1][1] <= readings[0][1]:
        refuse("flat")


def root_times(readings):
    """Return the square roots of the days."""
    roots = []
    for i in range(len(readings)):
        roots.append(sqrt(readings[i][0]))
    return roots


def levels_of(readings):
    """Return the chloride of each reading."""
    levels = []
    for i in range(len(readings)):
        levels.append(readings[i][1])
    return levels


def weights_of(levels, weighting):
    """Return the weight of each reading: all alike, or one over its square, the largest having one."""
    highest = 0
    for i in range(len(levels)):
        highest = max(highest, levels[i])
    weights = []
    for i in range(len(levels)):
        if weighting == "relative":
            weights.append((highest / max(levels[i], highest / 10)) ** 2)
        else:
            weights.append(1)
    return weights


def speak_against(reasons, goodness_of_fit, doubt, roots, levels):
    """Enter what in the readings themselves speaks against a forecast."""
    if goodness_of_fit < LEAST_FIT:
        reasons.append(because("scatter", goodness_of_fit))
    if doubt >= 1:
        reasons.append(because("slope"))
    count = len(levels)
    if count > 3:
        start_rise = (levels[2] - levels[0]) / (roots[2] - roots[0])
        end_rise = (levels[count - 1] - levels[count - 3]) / (roots[count - 1] - roots[count - 3])
        if end_rise * BEND < start_rise:
            reasons.append(because("flattening"))
        if end_rise > start_rise * BEND:
            reasons.append(because("late"))


@calculation(
    "chloride-forecast",
    title="When the chloride in a bath reaches a limit",
    inputs=(
        Rows(
            "readings",
            "time since the bath was filled, and chloride then; for a row of baths, the running sum",
            columns=(
                Quantity("time", "time since the start", unit="d", low=0, high=4000),
                Reading("concentration", "chloride above the blank", unit="mg/L", low=0, high=50_000),
            ),
            most=60,
        ),
        level("limit", "concentration to be reached, for example where a bath is changed",
              house="electrolysis.bath_limit"),
        Choice("weighting", "equal: each reading errs by as much; relative: by the same percentage",
               options=WEIGHTINGS, kind="weighting", house="electrolysis.weighting"),
    ),
    results=(
        Figure("days_to_go", "d", "from the last reading to the limit", optional=True),
        Figure("band_low", "d", "early end of the 95 % band", optional=True),
        Figure("band_high", "d", "late end of the 95 % band", optional=True),
        Figure("slope", "mg/L/d^0.5", "rise with the square root of the days"),
        Figure("intercept", "mg/L", "the line at time zero"),
        Figure("goodness_of_fit", "1", "coefficient of determination, 1 for a perfect line", 4),
        Figure("scatter", "mg/L", "standard deviation about the line, of the largest reading if relative"),
        Verdict(
            "verdict",
            "in plain words",
            words={
                "carry on": "The limit is more than a week off: {days_to_go}, with a band of "
                "{band_low} to {band_high}.",
                "change the bath": "The last reading is at the limit: change the bath now.",
                "near the end": "The limit may be reached within a week ({days_to_go}; band "
                "{band_low} to {band_high}): read again sooner.",
                "no forecast": "The readings do not support a forecast, because of the reasons "
                "given. Read on.",
            },
        ),
        Reasons(
            "reasons",
            "what speaks against a forecast",
            {
                "scatter": "The readings scatter too widely about the line: {0 1} of their spread is "
                "explained, and 0.9 is asked for.",
                "slope": "With this scatter the rise may as well be nil, so the band has no late end.",
                "flattening": "The rise is slowing against the square root of time: crack or bath is "
                "running out, and the limit may never be reached.",
                "late": "The rise is quickening against the square root of time: chloride deep at "
                "the metal, or a crack that opened.",
                "far": "The limit lies more than ten times as far off as anything seen so far.",
            },
        ),
    ),
    assumes=(
        "concentration = intercept + slope x square root of time, which holds until about 60 % of "
        "the chloride is out",
        "one bath, not changed or topped up; readings independent",
        "band: where the 95 % limits of the line itself meet the limit (Fieller), with Student's t",
        "relative weights: one over the reading squared, readings below a tenth of the largest "
        "counting as that tenth",
    ),
    sources=("selwyn-diffusion", "chemistry-regression", "student-t"),
    refusals={
        "few": "a line through fewer than three readings says nothing about its error: read on, a "
        "few days apart",
        "unseen": "reading {0} is below detection and has no number to fit: leave such rows out, "
        "or use a finer test",
        "order": "reading {0} is not later than the one before: enter the days since the bath was "
        "filled, oldest first",
        "falling": "the chloride falls at reading {0}: a bath that was changed or topped up starts a "
        "new row of readings, or is entered as the running sum of all baths",
        "flat": "the last reading is not above the first: nothing comes out, so there is no date; "
        "check the test against a known standard",
    },
)  # fmt: skip
def chloride_forecast(readings, limit, weighting):
    """Straight line of concentration on the square root of time, solved for the limit."""
    count = len(readings)
    check_rising(readings)
    roots = root_times(readings)
    levels = levels_of(readings)
    line = weighted_line(roots, levels, weights_of(levels, weighting))
    intercept = line[0]
    slope = line[1]
    scatter = line[2]
    goodness_of_fit = line[6]
    last = readings[count - 1][0]
    reasons = []
    days_to_go = None
    band_low = None
    band_high = None
    if levels[count - 1] >= limit:
        verdict = "change the bath"
        days_to_go = 0
        band_low = 0
        band_high = 0
    else:
        # Share of the slope that its own error is: from 1 on the slope may be nil.
        t = student_t(count - 2)
        doubt = (t * scatter) ** 2 / (slope**2 * line[5]) if slope > 0 else 1
        root = (limit - intercept) / slope if slope > 0 else 0
        speak_against(reasons, goodness_of_fit, doubt, roots, levels)
        if root**2 - last > FARTHEST * last:
            reasons.append(because("far"))
        if len(reasons) > 0:
            verdict = "no forecast"
        else:
            away = root - line[4]
            half = t * scatter / slope * sqrt(away**2 / line[5] + (1 - doubt) / line[3])
            early = max(0, line[4] + (away - half) / (1 - doubt))
            late = max(0, line[4] + (away + half) / (1 - doubt))
            days_to_go = max(0, max(0, root) ** 2 - last)
            band_low = max(0, early**2 - last)
            band_high = max(0, late**2 - last)
            verdict = "near the end" if band_low < WEEK else "carry on"
    return {
        "days_to_go": days_to_go,
        "band_low": band_low,
        "band_high": band_high,
        "slope": slope,
        "intercept": intercept,
        "goodness_of_fit": goodness_of_fit,
        "scatter": scatter,
        "verdict": verdict,
        "reasons": reasons,
    }


# --- tables -------------------------------------------------------------------------------------


def three_guesses(bench) -> tuple[float, float, float]:
    """Return the house's diffusivities: slow, best, fast."""
    return (
        bench.value("electrolysis.diffusivity_low"),
        bench.value("electrolysis.diffusivity"),
        bench.value("electrolysis.diffusivity_high"),
    )


@table(
    "extraction-times",
    title="Days for a share of the chloride to leave a crack",
    question="How many days?",
    notes=(
        "In brackets: with the fast and the slow guess of the diffusivity, which is what nobody "
        "knows beforehand. Readings decide, not this table.",
    ),
)
def extraction_times_table(bench):
    """Matrix of days by depth and share, with both guesses."""
    slow, best, fast = three_guesses(bench)

    def cell(depth, fraction):
        def days(diffusivity):
            return bench("extraction-time", fraction=fraction, depth=depth, diffusivity=diffusivity)

        return Span(days(fast), days(best), days(slow))

    return matrix(
        Axis("Depth of crack", "mm", (0.5, 1, 2, 4, 6, 10, 15)),
        Axis("Share out", "%", (50, 80, 90, 95, 99)),
        "d",
        cell,
        digits=2,
    )


@table(
    "bath-schedule",
    title="Baths of the house's piece: what each may be expected to read",
    question="How many changes of bath, and what will they read?",
    notes=(
        "From a guess of the chloride in the piece and three guesses of how fast it moves (slow and "
        "fast in brackets): a picture to compare readings with, not a promise.",
        "No treatment is known to draw out all of it, so a share above 99 % is written 99; less than "
        "a hundredth of a milligram in a litre is written 0.",
    ),
)
def bath_schedule_table(bench):
    """Expected reading of each bath of the house's piece."""
    slow, best, fast = three_guesses(bench)
    mass = bench.value("piece.mass")
    depth = bench.value("piece.crack_depth")
    chloride = bench.value("electrolysis.chloride") * mass / 1000
    volume = bench.value("electrolysis.bath")
    stand = bench.value("electrolysis.stand")
    limit = bench.value("electrolysis.stop_limit")

    def out(days, diffusivity):
        return bench("extracted-fraction", time=days, depth=depth, diffusivity=diffusivity)

    rows = []
    for bath in (1, 2, 3, 4, 6, 8, 12, 16, 24):
        end = bath * stand
        reads = [
            bench(
                "bath-chloride", chloride_mass=chloride, volume=volume,
                # Two fractions that agree to the last digit may differ by less than nothing.
                fraction=max(0.0, out(end, d) - out(end - stand, d)),
            )
            for d in (slow, best, fast)
        ]  # fmt: skip
        clean = reads[1] < limit
        reads = [0.0 if level < LEAST_SHOWN else level for level in reads]
        shares = [min(out(end, d), MOST_SHOWN) for d in (slow, best, fast)]
        rows.append(
            [
                bath,
                float(end),
                Span(shares[0], shares[1], shares[2]),
                Span(min(reads), reads[1], max(reads)),
                Mark("go" if clean else "wait", "may pass" if clean else "does not pass"),
            ]
        )
    note = (
        f"Crack of {depth:g} mm, {chloride:.3g} mg of chloride guessed in the piece, baths of "
        f"{volume:g} L that stand {stand:g} d."
    )
    return Sheet(
        [
            Column("Bath"),
            Column("Ends after", "d", 0),
            Column("Out by then", "%", 2),
            Column("Reads above its blank", "mg/L", 2),
            Column("Against the stop limit"),
        ],
        rows,
        (note,),
    )


@table(
    "strip-ranges",
    title="Which chloride test can see which limit",
    question="Can my test see the limit at all?",
    notes=(
        "Conductivity is no chloride test in an alkaline bath: the alkali hides it. Silver nitrate "
        "stains and burns, and its waste is collected.",
        "The bath limit was published for hydroxide of 0.1 mol/L. Carbonate holds far less hydroxide and "
        "bears less chloride, by a share nobody has measured: below the limit is no proof of safety.",
    ),
    sources=tuple(data.column("chloride_tests", "source")),
)
def strip_ranges_table(bench):
    """Each test against the two limits."""
    stop = bench.value("electrolysis.stop_limit")
    spent = bench.value("electrolysis.bath_limit")

    def sees(limit, low, high):
        if low >= limit:
            return Mark("stop", "cannot see it")
        return Mark("go", "sees it") if limit <= high else Mark("wait", "dilute first")

    rows = []
    for row in data.rows("chloride_tests"):
        low, high = float(row["low"]), float(row["high"])
        marks = [sees(limit, low, high) for limit in (stop, spent)]
        rows.append([row["test"], low, high, *marks, row["note"]])
    return Sheet(
        [
            Column("Test"),
            Column("From", "mg/L", 0),
            Column("To", "mg/L", 0),
            Column("Stop limit"),
            Column("Bath limit"),
            Column("Note"),
        ],
        rows,
        (f"Stop limit {stop:g} mg/L, bath limit {spent:g} mg/L.",),
    )


@table(
    "test-standards",
    title="Chloride standards for the silver test",
    question="How do I make a standard?",
    notes=(
        "Pipette the stock into the flask and fill to the mark with fresh bath liquid, not with water, so "
        "that standard, blank and sample differ in nothing but chloride.",
    ),
)
def test_standards_table(bench):
    """Standards by the stock put into one flask, against the limits they stand for."""
    stock = bench.value("electrolysis.test_stock")
    flask = bench.value("electrolysis.test_flask")
    sees = bench.value("electrolysis.detection_limit")
    stop = bench.value("electrolysis.stop_limit")
    rows = []
    for pipetted in (0.1, 0.2, 0.5, 1.0, 2.0):
        standard = bench(
            "bath-chloride", chloride_mass=pipetted * stock / 1000, volume=flask / 1000, fraction=100.0
        )
        # A pipette is no better than a part in a hundred.
        at = [name for name, limit in (("least the test must show", sees), ("stop limit", stop))
              if abs(standard - limit) <= limit / 100]  # fmt: skip
        side = "below the stop limit" if standard < stop else "above the stop limit"
        rows.append([pipetted, standard, at[0] if at else side])
    note = f"Stock of {stock:g} mg/L of chloride, flask of {flask:g} mL."
    return Sheet([Column("Stock", "mL", 0), Column("Standard", "mg/L"), Column("Stands for")], rows, (note,))
