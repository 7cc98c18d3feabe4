"""Chloride: how far it is out of a crack, what the readings say, and when to stop."""

from dataclasses import dataclass
from functools import partial
from math import sqrt

from handbook_calc.alkalinity import alkali_inputs, bath_chloride_limit
from handbook_calc.diffusion import SHAPES, fourier_of, released
from handbook_calc.electrolysis import SALTS, STRONGEST_BATH, liquid
from handbook_calc.engine import data, quantities
from handbook_calc.engine.calculation import (
    Listing,
    Number,
    Reasons,
    Verdict,
    Whole,
    because,
    calculation,
    refuse,
)
from handbook_calc.engine.chart import Chart, Limit, Line, Scale
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.fields import MEASURED, Choice, Quantity, Rows, YesNo
from handbook_calc.engine.house import section
from handbook_calc.engine.known import combined, judged
from handbook_calc.engine.plot import plot, spaced, trace
from handbook_calc.engine.rules import above, below, rule
from handbook_calc.engine.tables import Axis, Column, Mark, Sheet, capped, figure, matrix, table
from handbook_calc.forecast import band_of_line, band_of_sum, bounded_line, end_candidates, weighted_quantile
from handbook_calc.plausible import duration

WEEK = 7.0  # d
LEAST_FIT = 0.9
LARGEST_FALL = 0.1  # of the highest reading so far
BEND = 2.0  # ratio of end to start slope at which a line is no line
FARTHEST = 10.0  # times the time observed so far
MOST_BATHS = 120
SHOWN_BATHS = (1, 2, 3, 4, 6, 8, 12, 16, 20, 24, 32, 48, 64, 96)
MOST_SHOWN = 99.0  # %
SURE = 4.0  # times: a band wider than that is no date


@dataclass(frozen=True)
class Reading(Quantity):
    """A test's reading; ``below 5 mg/L`` stays what it is, kept as the negative of the bound."""

    form = "reading"
    spans = False

    def read(self, written, chosen: str = "") -> float:
        """Return the reading, negative for a bound that the test did not reach."""
        value = quantities.read_reading(str(written), self.unit, chosen)
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
    why="chloride in free water has 2.0×10⁻⁹ m²/s at 25 °C, in tight rust a thousandth of it",
)
crack = partial(Quantity, unit="mm", low=0.01, high=200)
piece_of = partial(Quantity, unit="g", low=0.1, high=100_000)
level = partial(Quantity, unit="mg/L", low=0.01, high=100_000)
per_mass = partial(Quantity, unit="mg/kg", low=0.01, high=10_000)
WEIGHTINGS = ("equal", "relative")
SERIES = ("one bath", "running sum")


section(
    "electrolysis",
    diffusion("diffusivity", "how fast chloride moves in a crack full of rust, best guess"),
    Quantity("extract", "share of the chloride to draw out", unit="%", low=50, high=99.9),
    per_mass("chloride", "chloride in the piece by its mass, guess before the first bath"),
    Quantity("stand", "days a bath stands before it is tested for the end", unit="d", low=1, high=60),
    Quantity(
        "chloride_share", "chloride that spends a bath, of its hydroxide by moles", unit="%", low=1, high=60
    ),
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
    Quantity("calibration_error", "standard error that all readings share", unit="%", low=0, high=30),
    Quantity("reading_error", "standard error of one reading by itself", unit="%", low=0.1, high=50),
)


below(
    "electrolysis.detection_limit",
    "electrolysis.stop_limit",
    because="this test cannot show that a bath is clean",
)
above("electrolysis.check_standard", "electrolysis.detection_limit", because="a sound test would fail it")


@rule(
    "electrolysis.stop_limit",
    "electrolysis.salt",
    "electrolysis.strength",
    "electrolysis.chloride_share",
    "electrolysis.temperature",
)
def stop_below_spent(house):
    """A bath cannot be both spent and at its end."""
    bath = [house[f"electrolysis.{key}"] for key in ("salt", "strength", "chloride_share", "temperature")]
    if bath[0] not in SALTS or not 0.1 <= bath[1] <= STRONGEST_BATH:
        return  # told by other rules
    limit = bath_chloride_limit(*bath)
    if house["electrolysis.stop_limit"] >= limit:
        yield (
            "electrolysis.strength",
            f"makes a bath that is spent at {limit:.2g} mg/L of chloride, which is not above "
            "electrolysis.stop_limit, so a clean bath would count as spent; allowed is a bath of more "
            f"alkali, or a stop limit of less than {limit:.2g} mg/L",
        )


# --- chloride out of a crack --------------------------------------------------------------------

CRACK_ASSUMES = (
    "a blind crack (or one open at both ends, or a round body of rust), evenly salty at the start, in liquid "
    "that stays nearly free of chloride",
    "chloride that sits at the metal, under the rust, starts later than this",
    "chloride that is bound in rust counts only through a small diffusivity, a guess: fit your own "
    "from readings",
    "no treatment draws out all of it, and nobody can measure what is left without harm",
)
SHAPE_INPUTS = (
    Choice("shape", "slab for a crack; cylinder or sphere for a round body, whose radius is the depth; "
           "a slab if left out", options=SHAPES, kind="shape", optional=True),
    YesNo("through", "whether the crack is open at both ends, so that half its length counts", optional=True),
)  # fmt: skip
ONLY_A_SLAB = "a {shape} is open all round already: leave 'through' out, and give its radius as the depth"


def half_depth(depth, shape, through):
    """Return the depth that counts in m: half of it where a crack is open at both ends."""
    if through is not None and through:
        if shape is not None and shape != "slab":
            refuse("only-a-slab")
        return depth / 2000
    return depth / 1000


@calculation(
    "extracted-fraction",
    curve="time",
    limit="electrolysis.extract",
    title="Share of the chloride out of a crack",
    inputs=(
        Quantity("time", "time in the bath", unit="d", low=0, high=20_000, example="28 d"),
        crack("depth", "depth of the crack, or radius", example="{piece.crack_depth}"),
        from_house("electrolysis.diffusivity"),
        *SHAPE_INPUTS,
    ),
    results=Number("fraction", "%", "share that has come out"),
    assumes=CRACK_ASSUMES,
    sources=("slab-diffusion", "chloride-diffusivity"),
    refusals={"only-a-slab": ONLY_A_SLAB},
)
def extracted_fraction(time, depth, diffusivity, shape, through):
    """Release of the shape at the Fourier number of its depth."""
    half = half_depth(depth, shape, through)
    fourier = diffusivity * time * 86_400 / half**2
    return 100 * released("slab" if shape is None else shape, fourier)


@calculation(
    "extraction-time",
    curve="depth",
    title="Time for a share of the chloride to come out of a crack",
    inputs=(
        Quantity("fraction", "share to come out", unit="%", low=0, high=99.9999,
                 why="the whole of it would take for ever", example="{electrolysis.extract}"),
        crack("depth", "depth of the crack, or radius", example="{piece.crack_depth}"),
        from_house("electrolysis.diffusivity"),
        *SHAPE_INPUTS,
    ),
    results=duration("time", "d", "time in fresh liquid", safe="up"),
    assumes=CRACK_ASSUMES,
    sources=("slab-diffusion", "chloride-diffusivity"),
    refusals={"only-a-slab": ONLY_A_SLAB},
)  # fmt: skip
def extraction_time(fraction, depth, diffusivity, shape, through):
    """Fourier number of that release, turned into time."""
    half = half_depth(depth, shape, through)
    fourier = fourier_of("slab" if shape is None else shape, fraction / 100)
    return fourier * half**2 / diffusivity / 86_400


@calculation(
    "bath-chloride",
    title="Chloride in a bath when a share has come out",
    inputs=(
        Quantity(
            "chloride_mass",
            "chloride in the piece",
            unit="mg",
            low=0,
            high=1_000_000,
            example="56 mg",
            of_piece=MEASURED,
        ),
        liquid("volume", "liquid of the bath", example="{electrolysis.bath}"),
        Quantity(
            "fraction",
            "share that comes out into this bath",
            unit="%",
            low=0,
            high=100,
            example="{electrolysis.extract}",
        ),
    ),
    results=Number(
        "concentration",
        "mg/L",
        "chloride in the bath",
        most=200_000,
        because="a saturated brine of table salt holds about 190 g/L of chloride",
    ),
    assumes=("the bath was free of chloride at the start",),
    sources=("mass-balance",),
)
def bath_chloride(chloride_mass, volume, fraction):
    """Mass that came out over the volume."""
    return chloride_mass * fraction / 100 / volume


LEAST_READING = 0.01  # mg/L, finer than any test of a bench
NO_ZERO = "a zero is no reading: a test that shows nothing shows less than it can see"


# --- readings -----------------------------------------------------------------------------------

LEDGER_ROWS = (
    Reading("reading", "chloride in the bath", unit="mg/L", low=LEAST_READING, high=50_000, why=NO_ZERO),
    Reading(
        "blank",
        "chloride in the fresh bath, by the same test",
        unit="mg/L",
        low=LEAST_READING,
        high=5000,
        why=NO_ZERO,
    ),
    Quantity("litres", "liquid of the bath", unit="L", low=0.01, high=500),
    Quantity("days", "days the bath has stood", unit="d", low=0.05, high=400),
)
readings_of_baths = partial(
    Rows,
    "readings",
    "one row a bath, oldest first: reading, blank, liquid of the bath, days; write 'below 5 mg/L' where the "
    "test saw nothing, never zero",
    columns=LEDGER_ROWS,
    most=100,
    example="62 mg/L 1 mg/L 0.25 L 7 d; 24 mg/L 1 mg/L 0.25 L 7 d; 9 mg/L 1 mg/L 0.25 L 7 d; "
    "4 mg/L 1 mg/L 0.25 L 7 d",
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


OPTIONAL_ALKALI = (
    *alkali_inputs(optional=True),
    from_house("electrolysis.chloride_share", low=0.5, high=100, optional=True,
               because="published shares run from a hundredth to all of it"),
)  # fmt: skip


def spent_limit(salt, strength, chloride_share, temperature):
    """Return the chloride in mg/L at which a bath is spent, the share of its hydroxide; None if not known."""
    if salt is None or strength is None or chloride_share is None or temperature is None:
        return None
    return bath_chloride_limit(salt, strength, chloride_share, temperature)


WHOLE_PIECE = "a week at that rate would draw out more chloride than the piece weighs"


@calculation(
    "chloride-ledger",
    title="Chloride drawn out so far",
    inputs=(
        readings_of_baths(),
        piece_of("piece_mass", "mass of the piece", example="{piece.mass}"),
        *OPTIONAL_ALKALI,
    ),
    results=(
        Number("released", "mg", "chloride out, as far as the test saw it"),
        Number("released_most", "mg", "the same with unseen baths at their bound", safe="up"),
        Number("per_piece_mass", "mg/kg", "chloride out by mass of the piece", most=360_000,
               because="a piece of nothing but crystals of iron(II) chloride would hold that much"),
        Number("per_week", "mg/kg", "the last bath alone, by mass of the piece and week",
               optional=True, without="below detection", most=1_000_000, because=WHOLE_PIECE),
        Number("per_week_most", "mg/kg", "the most that the last bath can have held", most=1_000_000,
               because=WHOLE_PIECE, safe="up"),
        Whole("below_detection", "1", "baths in which the test saw nothing"),
        Whole("spent", "1", "baths that held all the chloride that their hydroxide bears", optional=True,
              without="not asked: salt and strength are missing"),
        Listing(
            "baths",
            "bath by bath",
            (
                Whole("bath", "1", "number"),
                Number("net", "mg/L", "above the blank", optional=True, without="below detection"),
                Number("mass", "mg", "chloride in it", optional=True, without="below detection"),
                Number("sum", "mg", "chloride out so far"),
            ),
        ),
    ),
    assumes=(
        "the whole bath reads as the sample does: stir before sampling",
        "every bath is entered, also the ones poured away",
        "what has come out says nothing certain about what is left",
    ),
    sources=("mass-balance", "chloride-endpoint", "bath-limit-2024"),
    refusals={"under-blank": BLANK_REFUSED},
)  # fmt: skip
def chloride_ledger(readings, piece_mass, salt, strength, temperature, chloride_share):
    """Reading less blank, times the litres, bath by bath."""
    check_blanks(readings)
    limit = spent_limit(salt, strength, chloride_share, temperature)
    spent = None if limit is None else 0
    released = 0
    released_most = 0
    below_detection = 0
    baths = []
    for i in range(len(readings)):
        row = readings[i]
        if limit is not None and row[0] >= limit:
            spent = spent + 1  # pyright: ignore[reportOptionalOperand]  a limit goes with a count
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
        "spent": spent,
        "baths": baths,
    }


def bath_passes(row, piece_mass, concentration_limit, mass_limit, stand):
    """Say whether a bath, at the worst its readings allow, is an end bath by some limits."""
    stood = row[3] >= stand * (1 - 1e-9)
    clean = net_most(row) < concentration_limit
    slow = weekly(row, piece_mass, net_most(row)) <= mass_limit * (1 + 1e-9)
    return stood and clean and slow


def passing_bath(readings, piece_mass, own, house, detection_limit):
    """Return the answer where the last bath passes: one more, or the end, and by whose limits.

    `own` and `house` are lists: concentration, mass and stand, those of the house never looser.
    """
    if len(readings) < 2:
        return {"verdict": "one more confirming bath", "reasons": [because("first")]}
    last = readings[len(readings) - 1]
    before = readings[len(readings) - 2]
    if before[1] >= detection_limit * (1 - 1e-9):
        reasons = [because("blank", before[1]), because("before")]
        return {"verdict": "one more confirming bath", "reasons": reasons}
    if not bath_passes(before, piece_mass, own[0], own[1], own[2]):
        return {"verdict": "one more confirming bath", "reasons": [because("before")]}
    by_house = bath_passes(last, piece_mass, house[0], house[1], house[2])
    if by_house and bath_passes(before, piece_mass, house[0], house[1], house[2]):
        return {"verdict": "stop", "reasons": [because("both")]}
    return {"verdict": "stop, but not the house's limit", "reasons": [because("not-house")]}


def failing_bath(last, piece_mass, concentration_limit, mass_limit, days, limit, spoiled):
    """Return the answer where the last bath does not pass, with every reason."""
    reasons = []
    spent = limit is not None and most_of(last[0]) >= limit
    if spent:
        reasons.append(because("spent", most_of(last[0]), limit))
    short = last[3] < days * (1 - 1e-9)
    if short:
        reasons.append(because("short", last[3], days))
    if last[3] > days * (1 + 1e-9):
        reasons.append(because("stood", last[3], days))
    if net_most(last) >= concentration_limit:
        reasons.append(because("concentration", net_most(last)))
    rate = weekly(last, piece_mass, net_most(last))
    if rate > mass_limit:
        reasons.append(because("mass", rate))
    if last[0] < 0:
        reasons.append(because("unseen"))
    if spoiled:
        reasons.append(because("blank", last[1]))
    verdict = "carry on" if short and not spent else "change the bath"
    return {"verdict": verdict, "reasons": reasons}


@calculation(
    "chloride-stop",
    title="Whether a chloride treatment may stop",
    inputs=(
        readings_of_baths(),
        piece_of("piece_mass", "mass of the piece", example="{piece.mass}"),
        from_house("electrolysis.stop_limit", name="concentration_limit"),
        from_house("electrolysis.mass_limit"),
        from_house("electrolysis.detection_limit"),
        from_house("electrolysis.stand", optional=True),
        level("bath_limit", "chloride at which a bath is spent; left out, the share of its hydroxide",
              optional=True),
        *OPTIONAL_ALKALI,
        from_house("electrolysis.stop_limit", name="house_concentration", optional=True,
                   about="the house's own limit for an end bath, to tell other limits by"),
        from_house("electrolysis.mass_limit", name="house_mass", optional=True,
                   about="the house's own limit by mass"),
        from_house("electrolysis.stand", name="house_stand", optional=True, about="the house's own stand"),
    ),
    results=(
        Verdict(
            "verdict",
            "what to do now",
            stops=("stop", "stop, but not the house's limit"),
            words={
                "carry on": "Leave the piece in this bath and read it again.",
                "change the bath": "Chloride is still coming out: a fresh bath of the house's "
                "volume, then read on.",
                "one more confirming bath": "This bath passes. One more fresh bath must pass too "
                "before the treatment stops.",
                "stop": "Two baths in a row pass: the treatment may stop. Chloride is lowered, not "
                "gone; dry air keeps the piece.",
                "stop, but not the house's limit": "Two baths in a row pass the limits that were typed "
                "in, which are not the house's limits: by those of the house the treatment goes on.",
            },
        ),
        Reasons(
            "reasons",
            "why",
            {
                "short": "The last bath has stood {0 d}, and an end bath stands {1 d}.",
                "spent": "It reads {0 mg/L}, and at {1 mg/L} a bath of this alkali is spent.",
                "stood": "It has stood {0 d}, and no bath stands longer than {1 d}.",
                "blank": "Its blank shows {0 mg/L}, which the test can see: water, salt or glass brought "
                "chloride in. That batch of readings is spoiled, and the bath is no end bath.",
                "not-house": "Not the house's limit: the house asks less than {house_concentration} and at "
                "most {house_mass} a week, after {house_stand}.",
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
        "the limit of a spent bath is a share of the hydroxide of a fresh one; that carbonate bears the same "
        "share as hydroxide is assumed",
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
def chloride_stop(
    readings, piece_mass, concentration_limit, mass_limit, detection_limit, stand, bath_limit, salt, strength,
    temperature, chloride_share, house_concentration, house_mass, house_stand,
):  # fmt: skip
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
    spoiled = last[1] >= detection_limit * (1 - 1e-9)
    passes = bath_passes(last, piece_mass, concentration_limit, mass_limit, days) and not spoiled
    if passes:
        # The house's limits, or those typed in where they are the stricter ones.
        least = concentration_limit if house_concentration is None else house_concentration
        slowest = mass_limit if house_mass is None else house_mass
        longest = days if house_stand is None else house_stand
        house = [min(least, concentration_limit), min(slowest, mass_limit), max(longest, days)]
        own = [concentration_limit, mass_limit, days]
        return passing_bath(readings, piece_mass, own, house, detection_limit)
    limit = spent_limit(salt, strength, chloride_share, temperature) if bath_limit is None else bath_limit
    return failing_bath(last, piece_mass, concentration_limit, mass_limit, days, limit, spoiled)


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


def sort_readings(readings):
    """Return the readings that were seen and those that are bounds, as four lists.

    Roots of time and concentrations of the first, roots of time and bounds of the second.
    """
    roots = []
    levels = []
    bound_roots = []
    bounds = []
    highest = 0
    first_unseen = 0
    for i in range(len(readings)):
        if i > 0 and readings[i][0] <= readings[i - 1][0]:
            refuse("order", i + 1)
        if readings[i][1] == 0 and readings[i][0] > 0:
            refuse("zero", i + 1)
        if readings[i][1] < 0:
            if first_unseen == 0:
                first_unseen = i + 1
            if -readings[i][1] < highest * (1 - LARGEST_FALL):
                refuse("unseen", i + 1)
            bound_roots.append(sqrt(readings[i][0]))
            bounds.append(-readings[i][1])
        else:
            if readings[i][1] < highest * (1 - LARGEST_FALL):
                refuse("falling", i + 1)
            highest = max(highest, readings[i][1])
            roots.append(sqrt(readings[i][0]))
            levels.append(readings[i][1])
    if first_unseen > 0 and (len(levels) < 3 or len(bounds) > len(levels)):
        refuse("unseen", first_unseen)
    if levels[len(levels) - 1] <= levels[0]:
        refuse("flat")
    return [roots, levels, bound_roots, bounds]


def highest_of(levels):
    """Return the highest of a list."""
    highest = levels[0]
    for i in range(len(levels)):
        highest = max(highest, levels[i])
    return highest


def reading_weights(levels, highest, weighting):
    """Return how much each reading counts, as a list; small ones count as a tenth of the highest."""
    weights = []
    for i in range(len(levels)):
        if weighting == "relative":
            weights.append((highest / max(levels[i], highest / 10)) ** 2)
        else:
            weights.append(1)
    return weights


def past_the_stand(last, days_to_go, band_low, stand):
    """Say whether its stand changes the bath, not its limit; what may come in days is read sooner."""
    if last + band_low > stand:
        return True
    return band_low >= WEEK and last + days_to_go > stand


def forecast_band(line, roots, levels, target, series, own, shared):
    """Return doubt of the slope, early and late end and middle of the root of time, as a list.

    Doubt: the share of the slope that its own error is, squared; from 1 on the slope may be nil.
    """
    last = len(levels) - 1
    band = band_of_line(line, last - 1, target, shared)
    root = (target - line[0]) / line[1] if line[1] > 0 else 0
    if series == "running sum" or (series is None and own > 0):
        summed = band_of_sum(roots, levels, target, own, shared)
        if series == "running sum":
            root = roots[last] + (target - levels[last]) / summed[3] if summed[3] > 0 else 0
            return [summed[0], summed[1], summed[2], root]
        return [max(band[0], summed[0]), min(band[1], summed[1]), max(band[2], summed[2]), root]
    return [band[0], band[1], band[2], root]


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
            example="1 d 4.7 mg/L; 2 d 6.4 mg/L; 3 d 8.1 mg/L; 4 d 9.0 mg/L",
        ),
        level("limit", "concentration to be reached; left out, the share of the bath's hydroxide at which it "
              "is changed", optional=True),
        from_house("electrolysis.weighting",
                   about="equal: each reading errs by as much; relative: by the same percentage"),
        Choice("series", "what the readings are of; left out, the band is wide enough for either",
               options=SERIES, kind="row of readings", optional=True),
        from_house("electrolysis.calibration_error", optional=True),
        from_house("electrolysis.reading_error", optional=True),
        from_house("electrolysis.stand", optional=True),
        *OPTIONAL_ALKALI,
    ),
    results=(
        duration("days_to_go", "d", "from the last reading to the limit", optional=True),
        Number("band_low", "d", "early end of the 95 % band", optional=True),
        duration("band_high", "d", "late end of the 95 % band", optional=True),
        Number("slope", "mg/L/d^0.5", "rise with the square root of the days"),
        Number("intercept", "mg/L", "the line at time zero"),
        Number("goodness_of_fit", "1", "coefficient of determination, 1 for a perfect line", 4),
        Number("scatter", "mg/L", "standard deviation about the line, of the largest reading if relative"),
        Verdict(
            "verdict",
            "in plain words",
            stops=(),
            words={
                "carry on": "The limit is more than a week off: {days_to_go}, with a band of "
                "{band_low} to {band_high}.",
                "change the bath": "Change the bath now, for the reason given.",
                "change at the end of the stand": "The limit is not expected within the longest stand of "
                "{stand}: change the bath when it has stood that long, whatever it reads then.",
                "near the end": "The limit may be reached within a week ({days_to_go}; band "
                "{band_low} to {band_high}): read again sooner.",
                "no forecast": "The readings do not support a forecast, because of the reasons "
                "given. Read on until the bath has stood as long as a bath may.",
            },
        ),
        Reasons(
            "reasons",
            "what speaks against a forecast, or for a change",
            {
                "spent": "The last reading is at the limit of {0 mg/L} or above it.",
                "stood": "The readings reach to {0 d}, and no bath stands longer than {1 d}. If they are the "
                "running sum of several baths, say so.",
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
        Number("limit_used", "mg/L", "the limit that the forecast is for"),
    ),
    assumes=(
        "concentration = intercept + slope x square root of time, which holds until about 60 % of "
        "the chloride is out",
        "not topped up; of one bath readings err independently, of a running sum its increments do",
        "band: where the 95 % limits of the line itself meet the limit (Fieller), with Student's t, and "
        "with the error that all readings share, which the scatter cannot show",
        "a reading below detection tells that the line lies below its bound, and no more",
        "relative weights: one over the reading squared, readings below a tenth of the largest "
        "counting as that tenth",
        "the date of the end of a treatment is not this one: see the forecast to the stop rule",
    ),
    sources=("selwyn-diffusion", "chemistry-regression", "student-t", "fieller-1954", "tobin-1958"),
    refusals={
        "few": "a line through fewer than three readings says nothing about its error: read on, a "
        "few days apart",
        "unseen": "reading {0} is below detection, and too few others carry a line: three that were seen, "
        "and no bound below an earlier reading; read on, or use a finer test",
        "zero": "reading {0} is zero, which no test can read: write 'below' and what the test sees at least, "
        "as in below 5 mg/L; only the start of a fresh bath, at 0 d, holds nothing above its blank",
        "order": "reading {0} is not later than the one before: enter the days since the bath was "
        "filled, oldest first",
        "falling": "the chloride falls at reading {0}: a bath that was changed or topped up starts a "
        "new row of readings, or is entered as the running sum of all baths",
        "flat": "the last reading is not above the first: nothing comes out, so there is no date; "
        "check the test against a known standard",
        "no-limit": "there is no limit to forecast: give one, or salt and strength of the bath",
    },
)  # fmt: skip
def chloride_forecast(
    readings, limit, weighting, series, calibration_error, reading_error, stand, salt, strength, temperature,
    chloride_share,
):  # fmt: skip
    """Straight line of concentration on the square root of time, solved for the limit."""
    target = spent_limit(salt, strength, chloride_share, temperature) if limit is None else limit
    if target is None:
        refuse("no-limit")
    if len(readings) < 3:
        refuse("few")
    parts = sort_readings(readings)
    levels = parts[1]
    highest = highest_of(levels)
    weights = reading_weights(levels, highest, weighting)
    line = bounded_line(
        parts[0], levels, weights, parts[2], parts[3], reading_weights(parts[3], highest, weighting)
    )
    shared = 0 if calibration_error is None else calibration_error / 100
    own = 0 if reading_error is None else reading_error / 100
    last = readings[len(readings) - 1][0]
    reasons = []
    days_to_go = None
    band_low = None
    band_high = None
    if levels[len(levels) - 1] >= target:
        verdict = "change the bath"
        reasons.append(because("spent", target))
        days_to_go = 0
        band_low = 0
        band_high = 0
    else:
        band = forecast_band(line, parts[0], levels, target, series, own, shared)
        speak_against(reasons, line[6], band[0], parts[0], levels)
        if band[3] ** 2 - last > FARTHEST * last:
            reasons.append(because("far"))
        verdict = "no forecast"
        if len(reasons) < 1:
            days_to_go = max(0, max(0, band[3]) ** 2 - last)
            band_low = max(0, max(0, band[1]) ** 2 - last)
            band_high = max(0, max(0, band[2]) ** 2 - last)
            verdict = "near the end" if band_low < WEEK else "carry on"
        if stand is not None and (series is None or series == "one bath"):
            if last >= stand * (1 - 1e-9):
                verdict = "change the bath"
                reasons.append(because("stood", last, stand))
            elif len(reasons) < 1 and past_the_stand(last, days_to_go, band_low, stand):
                verdict = "change at the end of the stand"
    return {
        "days_to_go": days_to_go, "band_low": band_low, "band_high": band_high, "slope": line[1],
        "intercept": line[0], "goodness_of_fit": line[6], "scatter": line[2], "verdict": verdict,
        "reasons": reasons, "limit_used": target,
    }  # fmt: skip


@calculation(
    "stop-forecast",
    title="When a treatment reaches the stop rule",
    inputs=(
        readings_of_baths(
            example="11 mg/L below 1 mg/L 2.5 L 2 d; 8 mg/L below 1 mg/L 2.5 L 7 d; "
            "9 mg/L below 1 mg/L 0.25 L 7 d"
        ),
        piece_of("piece_mass", "mass of the piece", example="{piece.mass}"),
        crack("depth", "depth of the crack, a guess; half its length where it is open at both ends",
              example="{piece.crack_depth}"),
        from_house("electrolysis.stop_limit", name="concentration_limit"),
        from_house("electrolysis.mass_limit"),
        from_house("electrolysis.stand"),
        from_house("electrolysis.bath", name="volume", about="liquid of the baths to come"),
        from_house("electrolysis.diffusivity", name="diffusivity_low", end="low",
                   about="how fast chloride moves in a crack full of rust, slow guess"),
        from_house("electrolysis.diffusivity", name="diffusivity_high", end="high",
                   about="how fast chloride moves in a crack full of rust, fast guess"),
        from_house("electrolysis.reading_error"),
        from_house("electrolysis.detection_limit"),
    ),
    results=(
        duration("days_to_go", "d", "from the last reading to the end, as likely later as sooner", 2),
        Number("band_low", "d", "early end of the 95 % band", 2),
        duration("band_high", "d", "late end of the 95 % band", 2),
        Number("baths", "1", "baths to come, each of the stand, by the middle figure", 2),
        Verdict("verdict", "how sure that is", stops=(), words={
            "a date": "The readings carry a date: {days_to_go} ({band_low} to {band_high}) until two baths "
            "in a row pass, if each stands as long as an end bath.",
            "hardly a date": "The readings hardly carry a date: {band_low} to {band_high}. They cannot tell "
            "yet how much chloride is left; read on.",
        }),
    ),
    assumes=(
        "one depth of crack, a start that is evenly salty, baths that stay nearly free of chloride",
        "how fast it moves: by the guesses before the first bath, by the readings from then on",
        "readings err by themselves by a share of their own and by half of what the test sees; an error that "
        "all share cancels, since the end is judged by the same test",
        "baths to come are changed by the stand; a bath changed sooner draws no more in the same days",
        "the stop rule ends a treatment, this date never does",
    ),
    sources=("slab-diffusion", "chloride-endpoint", "tobin-1958"),
    refusals={
        "under-blank": BLANK_REFUSED,
        "few": "two baths are the least from which a slowing can be seen: read on",
        "nothing": "no bath shows any chloride: there is nothing to follow; the stop rule says what to do",
        "guesses": "the slow guess of the diffusivity is not below the fast one: put them in order",
    },
)  # fmt: skip
def stop_forecast(
    readings, piece_mass, depth, concentration_limit, mass_limit, stand, volume, diffusivity_low,
    diffusivity_high, reading_error, detection_limit,
):  # fmt: skip
    """Every rate and total of chloride that fits all baths together, and the day on which each would end."""
    if diffusivity_low >= diffusivity_high:
        refuse("guesses")
    check_blanks(readings)
    if len(readings) < 2:
        refuse("few")
    ends = []
    masses = []
    errors = []
    bounds = []
    day = 0
    seen = 0
    for i in range(len(readings)):
        row = readings[i]
        day = day + row[3]
        ends.append(day)
        unseen = row[0] < 0
        net = net_most(row) if unseen else max(0, row[0] - max(0, row[1]))
        if not unseen and net > 0:
            seen = seen + 1
        masses.append(net * row[2])
        bounds.append(1 if unseen else 0)
        own = 0 if unseen else reading_error / 100 * row[0]
        errors.append(row[2] * sqrt(own**2 + (detection_limit / 2) ** 2))
    if seen < 1:
        refuse("nothing")
    per_day = 86_400 / (depth / 1000) ** 2
    by_mass = mass_limit * piece_mass / 1000 * stand / WEEK
    enough = min(concentration_limit * volume, by_mass)
    found = end_candidates(
        ends, masses, errors, bounds, diffusivity_low * per_day, diffusivity_high * per_day, enough, stand
    )
    days_to_go = weighted_quantile(found[0], found[1], 0.5) - day
    band_low = weighted_quantile(found[0], found[1], 0.025) - day
    band_high = weighted_quantile(found[0], found[1], 0.975) - day
    verdict = "hardly a date" if band_high > SURE * band_low else "a date"
    return {
        "days_to_go": days_to_go,
        "band_low": band_low,
        "band_high": band_high,
        "baths": days_to_go / stand,
        "verdict": verdict,
    }


# --- tables -------------------------------------------------------------------------------------


@table(
    "extraction-times",
    title="Days for a share of the chloride to leave a crack",
    question="How many days?",
    notes=(
        "In brackets, what the span of the diffusivity makes of it, which nobody "
        "knows beforehand. Readings decide, not this table.",
    ),
)
def extraction_times_table(bench):
    """Matrix of days by depth and share, with the span of the diffusivity."""
    return matrix(
        Axis("Depth of crack", "mm", (0.5, 1, 2, 4, 6, 10, 15)),
        Axis("Share out", "%", (50, 80, 90, 95, 99)),
        "d",
        lambda depth, fraction: bench("extraction-time", fraction=fraction, depth=depth),
        digits=2,
    )


@table(
    "bath-schedule",
    title="Baths of the house's piece: when each is changed, and what it reads then",
    question="How many changes of bath, and what will they read?",
    notes=(
        "A bath is changed when it holds the chloride that its hydroxide bears, and after its stand at the "
        "latest. From guesses of the chloride in the piece, of the depth of the crack, and of how fast it "
        "moves: a picture to compare readings with, not a promise. The days are those of the best guesses; "
        "in brackets, what the spans make of share and reading on these days.",
        "No treatment is known to draw out all of it, so a share above 99 % is written 99.",
    ),
    own_piece=("extraction-time", "extracted-fraction", "bath-chloride"),
)
def bath_schedule_table(bench):
    """Day and reading of each bath of the house's piece, changed by the house's own rule."""
    mass = bench.value("piece.mass")
    depth = bench.value("piece.crack_depth")
    chloride = combined(lambda content: content * mass / 1000, bench.value("electrolysis.chloride"))
    volume = bench.value("electrolysis.bath")
    stand = bench.value("electrolysis.stand")
    limit = bench.value("electrolysis.stop_limit")
    spent = bench("bath-chloride-limit")

    def out(days):
        return bench("extracted-fraction", time=days, depth=depth)

    def against_limits(reading):
        return "may pass" if reading < limit else "does not pass" if reading < spent else "spent"

    def next_bath(start):
        """Return day of the change, reading above the blank, and whether the limit asked for it."""
        before = out(start)
        full = float(before) + 100 * spent * volume / float(chloride)
        end = start + stand
        at_limit = full < out(end)
        if at_limit:  # the day itself is taken as it is: what is spread is what is out by then
            end = float(bench("extraction-time", fraction=full, depth=float(depth)))
        # Two shares that agree to the last digit may differ by less than nothing.
        drawn = combined(lambda first, last: max(0.0, last - first), before, out(end))
        return end, bench("bath-chloride", chloride_mass=chloride, volume=volume, fraction=drawn), at_limit

    rows = []
    day = 0.0
    for bath in range(1, MOST_BATHS + 1):
        start = day
        day, reads, at_limit = next_bath(start)
        clean = reads < limit and not at_limit
        word = "spent" if at_limit else judged(against_limits, reads)
        if bath in SHOWN_BATHS or clean:
            shares = capped(out(day), MOST_SHOWN)
            mark = Mark("go" if clean else "wait", str(word), word)
            rows.append([bath, day - start, day, shares, reads, mark])
        if clean:
            break
    enough = combined(lambda held, share: held * share / 100 / spent, chloride, out(stand))
    note = (
        f"Crack of {figure(depth, 'mm')}, {figure(chloride, 'mg')} of chloride guessed in the piece, baths "
        f"of {volume:g} L that stand {stand:g} d or until they hold {spent:.2g} mg/L. A first bath that is "
        f"to stand {stand:g} d would take {figure(enough, 'L')}."
    )
    return Sheet(
        [
            Column("Bath"),
            Column("Stands", "d", 2),
            Column("Ends after", "d", 2),
            Column("Out by then", "%", 2),
            Column("Reads above its blank", "mg/L", 2),
            Column("Against the limits"),
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
        "The bath limit is a tenth of the hydroxide of a fresh bath, by moles: published for hydroxide, "
        "assumed for carbonate. Below the limit is no proof of safety.",
    ),
    sources=tuple(data.column("chloride_tests", "source")),
)
def strip_ranges_table(bench):
    """Each test against the two limits."""
    stop = bench.value("electrolysis.stop_limit")
    spent = bench("bath-chloride-limit")

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
        (f"Stop limit {stop:g} mg/L, bath limit {spent:.2g} mg/L.",),
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


# --- plots --------------------------------------------------------------------------------------


@plot(
    "extraction",
    title="Chloride out of a crack, day by day",
    table="extraction-times",
    notes=(
        "The band is what the span of the diffusivity makes of the house's crack. The other lines are cracks "
        "as shallow and as deep as the house thinks possible. Readings decide, not this plot.",
    ),
)
def extraction_plot(bench):
    """Share out over days, for the depth of the house's crack and for the ends of its span."""
    house = bench.value("piece.crack_depth")
    share = bench.value("electrolysis.extract")
    low, high = house.ends if house.leaf else (float(house), float(house))
    end = float(bench("extraction-time", fraction=share, depth=float(house)))
    days = spaced(0.0, 1.6 * end, 40, 2)
    lines = []
    for depth in dict.fromkeys((low, float(house), high)):
        points = trace(days, lambda day, depth=depth: bench("extracted-fraction", time=day, depth=depth))
        if depth != house:
            points = [(day, float(y) if isinstance(y, float) else y) for day, y in points]
        lines.append(Line(f"{depth:g} mm", points))
    return Chart(
        Scale("Time in all baths", "d", high=days[-1]),
        Scale("Chloride out", "%", 0.0, 100.0),
        lines,
        [Limit(f"house share, {share:g} %", share)],
    )
