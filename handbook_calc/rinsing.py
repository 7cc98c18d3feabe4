"""Rinsing: what a piece carries out of a bath, and how far fresh water thins it."""

from math import ceil, log
from operator import add

from handbook_calc.engine.calculation import Listing, Number, Whole, calculation, refuse
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.fields import Count, Quantity
from handbook_calc.engine.house import section
from handbook_calc.engine.known import combined
from handbook_calc.engine.rules import below
from handbook_calc.engine.tables import Axis, Column, Sheet, against, figure, matrix, table
from handbook_calc.soaking import (
    CRACK_KIND,
    LEAST_CRACK,
    SEQUENCE_ASSUMES,
    bath_diffusivity,
    crack_fouriers,
    sequence,
    times_of_baths,
)

section(
    "rinsing",
    Quantity("film", "liquid left on a drained surface", unit="mL/m^2", low=10, high=1000),
    Quantity("bath", "water in one rinse bath", unit="mL", low=50, high=50_000),
    Quantity("start", "chloride in the treatment bath at its end", unit="mg/L", low=0.5, high=5000),
    Quantity("limit", "chloride allowed on the piece after rinsing", unit="mg/L", low=0.01, high=50),
    Quantity("stand", "time a piece stands in each rinse bath", unit="min", low=5, high=1440),
    Quantity("last_stand", "time in the last bath before the chloride test", unit="h", low=1, high=72),
    Quantity("temperature", "temperature of the rinse baths", unit="degC", low=2, high=40),
    Quantity(
        "diffusivity", "chloride through water in a clean crack, at 25 °C", unit="um^2/s", low=1, high=5000
    ),
    Quantity("diffusion_activation", "activation energy of that diffusion", unit="kJ/mol", low=5, high=60),
    Quantity("ph_margin", "pH of the last bath may differ from fresh water by", low=0.1, high=2),
    Count("least_baths", "baths given even where fewer would do", low=1, high=12),
)


below("rinsing.limit", "rinsing.start", because="no rinse would ever be asked for")


@calculation(
    "drag-out",
    title="Liquid a piece carries out of a bath",
    inputs=(
        Quantity(
            "area", "whole surface of the piece", unit="cm^2", low=0.1, high=20_000, example="{piece.area}"
        ),
        from_house(
            "rinsing.film",
            about="liquid left on a drained surface; weigh a drained piece to find your own",
            low=1,
            because="a wiped piece carries less than any drained one",
        ),
        Quantity(
            "crack_volume",
            "liquid held in cracks",
            unit="mL",
            low=0,
            high=500,
            example="{piece.crack_volume}",
        ),
    ),
    results=Number("volume", "mL", "liquid carried to the next bath"),
    assumes=("the piece has drained until it no longer drips", "cracks leave full"),
    sources=("rinse-guidebook", "mass-balance"),
)
def drag_out(area, film, crack_volume):
    """Film on the outside, and what the cracks hold."""
    film_volume = area / 10_000 * film
    return film_volume + crack_volume


CARRIED = Quantity(
    "drag_out",
    "liquid carried from bath to bath",
    unit="mL",
    low=0.001,
    high=5000,
    example="2.3 mL",
    of_piece="drag-out",
)


@calculation(
    "rinse-residue",
    curve="baths",
    limit="rinsing.limit",
    title="Chloride left after a number of rinses",
    inputs=(
        Quantity(
            "start",
            "chloride in the liquid the piece brings along",
            unit="mg/L",
            low=0,
            high=450_000,
            example="{rinsing.start}",
        ),
        CARRIED,
        Quantity(
            "bath",
            "fresh water in each bath, before the piece goes in",
            unit="mL",
            low=1,
            high=500_000,
            example="{rinsing.bath}",
        ),
        Count("baths", "rinse baths, fresh water in each", low=0, high=30, example="{rinsing.least_baths}"),
    ),
    results=Number("concentration", "mg/L", "chloride in the liquid on the piece after the last bath"),
    assumes=(
        "each bath is stirred and stands until it is the same everywhere, cracks included",
        "each bath is fresh water without chloride",
        "the piece brings its liquid along, so the bath then holds both volumes",
    ),
    sources=("mass-balance",),
)
def rinse_residue(start, drag_out, bath, baths):
    """Each bath keeps the share drag_out / (drag_out + bath) of the chloride."""
    kept = drag_out / (drag_out + bath)
    return start * kept**baths


@calculation(
    "rinse-baths",
    title="Rinse baths needed",
    inputs=(
        from_house(
            "rinsing.start",
            about="chloride in the liquid the piece brings along",
            low=0,
            high=450_000,
            because="up to the chloride of a strong etchant",
        ),
        from_house(
            "rinsing.limit",
            about="chloride allowed at the end",
            low=0.001,
            high=10_000,
            because="the dilution holds for any limit",
        ),
        CARRIED,
        from_house(
            "rinsing.bath",
            about="fresh water in each bath, before the piece goes in",
            low=1,
            high=500_000,
            because="from a test tube to a vat",
        ),
    ),
    results=Whole("baths", "1", "baths of fresh water"),
    assumes=(
        "as for the chloride left after a number of rinses",
        "what sits deep in a crack comes out in hours, not in rinses: see the rinse of a crack, bath by bath",
    ),
    sources=("mass-balance",),
    refusals={
        "small-bath": "a bath of {bath} is not larger than the {drag_out} the piece brings along: "
        "that is no rinse; use at least five times as much water",
    },
)
def rinse_baths(start, limit, drag_out, bath):
    """The smallest whole number of baths that brings the chloride to the limit."""
    if bath <= drag_out:
        refuse("small-bath")
    if start <= limit:
        return 0
    kept = drag_out / (drag_out + bath)
    exact = log(limit / start) / log(kept)
    # 1e-9: a limit met exactly by n baths must not ask for n + 1 because of the last digit.
    return ceil(exact - 1e-9)


@calculation(
    "rinse-sequence",
    title="Chloride in a crack and outside it after one rinse upon the other",
    inputs=(
        from_house("rinsing.start", about="chloride in the liquid the piece brings", low=0.001, high=450_000,
                   because="up to a saturated brine"),
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=200, example="{piece.crack_depth}"),
        times_of_baths("times", "time in each bath, first to last"),
        Quantity("crack_volume", "liquid held in cracks", unit="mL", low=LEAST_CRACK, high=500,
                 example="0.2 mL"),
        Quantity("film", "liquid that clings outside", unit="mL", low=0, high=5000, example="2.1 mL",
                 of_piece="drag-out; crack_volume=0 mL"),
        from_house("rinsing.bath", about="fresh water in each bath, before the piece goes in", low=1,
                   high=500_000, because="from a test tube to a vat"),
        from_house("rinsing.temperature", low=0, high=60,
                   because="below, water freezes; warmer is not for iron that is cracked, glued or etched"),
        from_house("rinsing.diffusivity", about="chloride through water in a clean crack, at 25 °C",
                   low=0.1, high=5000, because="rust that fills a crack slows it"),
        from_house("rinsing.diffusion_activation", name="activation_energy", low=0,
                   because="none stands for a diffusivity measured at the bath's own temperature"),
        *CRACK_KIND,
    ),
    results=(
        Number("inside", "mg/L", "chloride in the cracks after the last bath, on the mean"),
        Number("outside", "mg/L", "chloride in the last bath, and in the film outside"),
        Number("left", "%", "of the chloride that the cracks held"),
        Listing(
            "baths",
            "bath by bath",
            (
                Whole("bath", "1", "number"),
                Number("inside", "mg/L", "in the cracks"),
                Number("outside", "mg/L", "in the bath and the film"),
                Number("left", "%", "of what the cracks held"),
            ),
        ),
    ),
    assumes=(*SEQUENCE_ASSUMES, "bound chloride and rust give theirs back later and slower than this"),
    sources=("crank-1975", "mass-balance", "chloride-diffusivity"),
    refusals={
        "small-bath": "a bath of {bath} is not larger than the liquid the piece brings along: that is no "
        "rinse; use at least five times as much water",
    },
)  # fmt: skip
def rinse_sequence(
    start,
    depth,
    times,
    crack_volume,
    film,
    bath,
    temperature,
    diffusivity,
    activation_energy,
    through,
    filled,
):
    """Modes of the crack in each bath, carried from one to the next; the film is mixed in at once."""
    if bath <= crack_volume + film:
        refuse("small-bath")
    at_bath = bath_diffusivity(diffusivity, activation_energy, temperature)
    fouriers = crack_fouriers(times, depth, through, filled, at_bath)
    answers = sequence(fouriers, crack_volume, bath, film, 0)
    baths = []
    for i in range(len(answers)):
        baths.append([i + 1, start * answers[i][0], start * answers[i][1], 100 * answers[i][0]])
    last = baths[len(baths) - 1]
    return {"inside": last[1], "outside": last[2], "left": last[3], "baths": baths}


@table(
    "rinse-baths",
    title="Rinse baths needed, by what the piece carries and by the size of the bath",
    question="How many rinses?",
    notes=(
        "Counts the liquid on the outside and in open cracks, well mixed. A deep crack also needs "
        "its soaking time in each bath, and the chloride test at the end decides.",
    ),
)
def rinse_baths_table(bench):
    """Liquid carried over by size of the bath."""
    return matrix(
        Axis("Carried over", "mL", (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)),
        Axis("Water in each bath", "mL", (100, 200, 500, 1000, 2000, 5000)),
        "1",
        lambda carried, bath: bench("rinse-baths", drag_out=carried, bath=bath),
    )


@table(
    "rinse-series",
    title="Chloride in the cracks and outside after each rinse, for the house's piece",
    question="How clean is the piece after each rinse?",
    notes=(
        "A short rinse cleans the outside; what is deep in a crack comes out by hours. For a clean, open "
        "crack held so that it does not empty by weight; rust in it is slower. In brackets, what the spans "
        "of depth, volume of the cracks and film make of it.",
    ),
    own_piece=("rinse-sequence",),
)
def rinse_series_table(bench):
    """The reference piece through the short baths and the long last one."""
    film = bench("drag-out", area=bench.value("piece.area"), crack_volume=0.0)
    crack = bench.value("piece.crack_volume")
    limit = bench.value("rinsing.limit")
    short, long = bench.value("rinsing.stand") / 60, bench.value("rinsing.last_stand")
    baths = max(bench("rinse-baths", drag_out=film + crack), int(bench.value("rinsing.least_baths")))
    times = [[short]] * (baths - 1) + [[long]] * 2
    rows = []
    if crack < LEAST_CRACK:
        for bath, (time,) in enumerate(times, 1):
            outside = bench("rinse-residue", start=bench.value("rinsing.start"), drag_out=film,
                            bath=bench.value("rinsing.bath"), baths=bath)  # fmt: skip
            rows.append([bath, time, outside, None, None, against(limit, outside)])
        held = "none of it in cracks: a sound piece, so only its outside is rinsed"
    else:
        answer = bench(
            "rinse-sequence",
            depth=bench.value("piece.crack_depth"), times=times, crack_volume=crack, film=film,
        )  # fmt: skip
        for (bath, inside, outside, left), (time,) in zip(answer["baths"], times, strict=True):
            rows.append([bath, time, outside, inside, left, against(limit, inside, outside)])
        held = f"{figure(crack, 'mL')} of it in cracks"
    return Sheet(
        [
            Column("Rinse"),
            Column("Stands", "h", 2),
            Column("Chloride outside", "mg/L", 2),
            Column("In the cracks", "mg/L", 2),
            Column("Of what they held", "%", 2),
            Column("Against the house limit"),
        ],
        rows,
        notes=(f"The piece carries {figure(combined(add, film, crack), 'mL')} from bath to bath, {held}.",),
    )
