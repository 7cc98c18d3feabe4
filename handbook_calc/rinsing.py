"""Rinsing: what a piece carries out of a bath, and how far fresh water thins it."""

from math import ceil, log

from handbook_calc.engine.calculation import Figure, Whole, calculation, refuse
from handbook_calc.engine.fields import Count, Quantity
from handbook_calc.engine.house import section
from handbook_calc.engine.rules import below
from handbook_calc.engine.tables import Axis, Column, Sheet, matrix, table

section(
    "rinsing",
    Quantity("film", "liquid left on a drained surface", unit="mL/m^2", low=10, high=1000),
    Quantity("bath", "water in one rinse bath", unit="mL", low=50, high=50_000),
    Quantity("start", "chloride in the treatment bath at its end", unit="mg/L", low=0.5, high=5000),
    Quantity("limit", "chloride allowed on the piece after rinsing", unit="mg/L", low=0.01, high=50),
    Quantity("stand", "time a piece stands in each rinse bath", unit="min", low=5, high=1440),
    Quantity("last_stand", "time in the last bath before the chloride test", unit="h", low=1, high=72),
    Quantity("ph_margin", "pH of the last bath may differ from fresh water by", low=0.1, high=2),
    Count("least_baths", "baths given even where fewer would do", low=1, high=12),
)


below("rinsing.limit", "rinsing.start", because="no rinse would ever be asked for")


@calculation(
    "drag-out",
    title="Liquid a piece carries out of a bath",
    inputs=(
        Quantity("area", "whole surface of the piece", unit="cm^2", low=0.1, high=20_000),
        Quantity(
            "film",
            "liquid left on a drained surface; weigh a drained piece to find your own",
            unit="mL/m^2",
            low=1,
            high=1000,
            house="rinsing.film",
        ),
        Quantity("crack_volume", "liquid held in cracks", unit="mL", low=0, high=500),
    ),
    results=Figure("volume", "mL", "liquid carried to the next bath"),
    assumes=("the piece has drained until it no longer drips", "cracks leave full"),
    sources=("rinse-guidebook", "mass-balance"),
)
def drag_out(area, film, crack_volume):
    """Film on the outside, and what the cracks hold."""
    film_volume = area / 10_000 * film
    return film_volume + crack_volume


@calculation(
    "rinse-residue",
    curve="baths",
    title="Chloride left after a number of rinses",
    inputs=(
        Quantity("start", "chloride in the liquid the piece brings along", unit="mg/L", low=0, high=450_000),
        Quantity("drag_out", "liquid carried from bath to bath", unit="mL", low=0.001, high=5000),
        Quantity(
            "bath", "fresh water in each bath, before the piece goes in", unit="mL", low=1, high=500_000
        ),
        Count("baths", "rinse baths, fresh water in each", low=0, high=30),
    ),
    results=Figure("concentration", "mg/L", "chloride in the liquid on the piece after the last bath"),
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
        Quantity(
            "start",
            "chloride in the liquid the piece brings along",
            unit="mg/L",
            low=0,
            high=450_000,
            house="rinsing.start",
        ),
        Quantity(
            "limit", "chloride allowed at the end", unit="mg/L", low=0.001, high=10_000, house="rinsing.limit"
        ),
        Quantity("drag_out", "liquid carried from bath to bath", unit="mL", low=0.001, high=5000),
        Quantity(
            "bath",
            "fresh water in each bath, before the piece goes in",
            unit="mL",
            low=1,
            high=500_000,
            house="rinsing.bath",
        ),
    ),
    results=Whole("baths", "1", "baths of fresh water"),
    assumes=(
        "as for the chloride left after a number of rinses",
        "liquid deep in a crack needs its soaking time besides: see the soak times",
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
    title="Chloride left after each rinse, for the house's piece",
    question="How clean is the piece after each rinse?",
)
def rinse_series_table(bench):
    """The reference piece, bath by bath, to one bath beyond the limit."""
    carried = bench(
        "drag-out", area=bench.value("piece.area"), crack_volume=bench.value("piece.crack_volume")
    )
    bath = bench.value("rinsing.bath")
    start = bench.value("rinsing.start")
    limit = bench.value("rinsing.limit")
    rows = []
    for baths in range(bench("rinse-baths", drag_out=carried) + 2):
        left = bench("rinse-residue", start=start, drag_out=carried, bath=bath, baths=baths)
        rows.append([baths, float(left), "at or below the limit" if left <= limit else "above the limit"])
    return Sheet(
        [Column("Rinses done"), Column("Chloride on the piece", "mg/L"), Column("Against the house limit")],
        rows,
        notes=(f"The piece carries {carried:.2f} mL from bath to bath.",),
    )
