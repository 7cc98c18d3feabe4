"""A crack whose liquid is heavier or lighter than the bath: does it fall out, or only diffuse?

A narrow crack is to a liquid what a porous body is: permeability width^2 / 12. Buoyancy, viscosity and
diffusion make one number, Rayleigh's. Below about 18 no disturbance grows; a fresh interface needs about a
hundred before it mixes faster than diffusion would.
"""

from math import pi

from handbook_calc.engine import data
from handbook_calc.engine.calculation import Number, Verdict, calculation
from handbook_calc.engine.fields import MEASURED, Choice, Quantity, reads
from handbook_calc.plausible import duration

STAGE = "rinsing"
GRAVITY = 9.80665  # m/s2
FRESH_ONSET = 100.0
NINE_TENTHS = 28.0  # depths squared over diffusivity and Rayleigh number, 17 to 36 in runs
SINE_TERMS = 12  # to the last digit within a quarter turn
DIFFUSED = 0.84808  # Fourier number at which nine tenths have left by diffusion

LIQUIDS = data.column("liquids", "liquid")
DENSITIES = data.numbers("liquids", "density")
VISCOSITIES = data.numbers("liquids", "viscosity_in_water")
DIFFUSIVITIES = data.numbers("liquids", "diffusivity_in_water")


def liquid_place(liquid):
    """Return the place of a liquid in the lists of this module."""
    place = 0
    while LIQUIDS[place] != liquid:
        place = place + 1
    return place


def sine(angle):
    """Return the sine of an angle of at most a quarter turn to either side, in radians."""
    square = angle**2
    term = angle
    total = 0
    for n in range(SINE_TERMS):
        total = total + term
        term = -term * square / ((2 * n + 2) * (2 * n + 3))
    return total


def cosine(degrees):
    """Return the cosine of an angle of 0 to 180 degrees."""
    return sine((90 - degrees) * pi / 180)


def exchange_rayleigh(width, depth, tilt, inside, outside):
    """Return the Rayleigh number of a crack: above nil where its liquid is the one that moves.

    Arguments:
        width [um], depth [mm], tilt [deg]: 0 mouth straight up, 180 straight down.
        inside, outside: places of the liquids.
    """
    excess = DENSITIES[inside] - DENSITIES[outside]
    drive = -excess * cosine(tilt) * GRAVITY
    viscosity = max(VISCOSITIES[inside], VISCOSITIES[outside]) / 1000
    diffusivity = min(DIFFUSIVITIES[inside], DIFFUSIVITIES[outside])
    return (width * 1e-6) ** 2 * drive * depth / 1000 / (12 * viscosity * diffusivity)


SPELLINGS = {
    "brine": "sodium chloride 26 %",
    "saturated brine": "sodium chloride 26 %",
    "salt water": "sodium chloride 5 %",
    "potash": "potassium carbonate 2 %",
    "soda": "sodium carbonate 2 %",
    "lye": "sodium hydroxide 2 %",
    "isopropanol": "2-propanol",
    "isopropyl alcohol": "2-propanol",
    "propan-2-ol": "2-propanol",
    "ipa": "2-propanol",
    "etchant": "ferric chloride 40 %",
}


@reads(SPELLINGS)
def liquid_name(written: str) -> str:
    """Return the name in the table for a common spelling of a liquid, with or without its strength."""
    plain = " ".join(written.lower().split())
    if plain in SPELLINGS:
        return SPELLINGS[plain]
    with_strength = [liquid for liquid in LIQUIDS if liquid.startswith(plain + " ")]
    return with_strength[0] if len(with_strength) == 1 else plain


@calculation(
    "crack-exchange",
    curve="width",
    title="Whether a crack exchanges its liquid by falling out or by diffusion",
    inputs=(
        Quantity("width", "how far the crack gapes", unit="um", low=0.1, high=1000,
                 why="a wider one is no crack to a liquid, and one filled with rust only diffuses",
                 example="50 um", of_piece=MEASURED),
        Quantity("depth", "depth of the crack", unit="mm", low=0.1, high=200, example="{piece.crack_depth}"),
        Quantity("tilt", "where the mouth looks: 0 deg straight up, 90 sideways, 180 straight down",
                 unit="deg", low=0, high=180, example="180 deg"),
        Choice("inside", "liquid in the crack", options=LIQUIDS, normal=liquid_name, kind="liquid",
               hints=False,
               example="water"),
        Choice("outside", "liquid of the bath", options=LIQUIDS, normal=liquid_name, kind="liquid",
               hints=False,
               example="2-propanol"),
    ),
    results=(
        Verdict("rules", "what brings the liquid out", stops=(), words={
            "buoyancy": "Buoyancy rules: the liquid in the crack runs out by its weight and nine tenths are "
            "exchanged in about {time}.",
            "diffusion": "Diffusion rules: nine tenths take about {time}. The crack is too narrow for more, "
            "or it is held so that the heavier liquid lies below.",
        }),
        duration("time", "h", "until nine tenths are exchanged", 2, safe="up"),
        Number("rayleigh", "1", "Rayleigh number of the crack, below nil where the liquid lies stable", 2),
        Verdict("hold", "how to hold the piece", stops=(), words={
            "mouth down": "Hold the mouth down: {inside} is heavier than {outside}.",
            "mouth up": "Hold the mouth up: {inside} is lighter than {outside}.",
            "either way": "Both liquids weigh the same: how the piece is held makes no difference.",
        }),
    ),
    assumes=(
        "a clean, open, blind crack; rust that fills it stops the flow, and diffusion in it is slower too",
        "a crack whose width changes counts by its narrowest part",
        "the time by buoyancy is known within a half (17 to 36 where 28 is used), above 100 µm as an order "
        "of magnitude only; of the liquids' mixtures the most sluggish is used",
        "a mouth that looks sideways exchanges faster than diffusion where the plane of the crack stands "
        "upright, and hardly where it lies flat: that is not counted",
        "the bath outside is large and stays as it is; the pair may change its sign during a treatment",
    ),
    sources=("porous-convection", "fresh-interface-runs", "liquid-tables", "crank-1975"),
)  # fmt: skip
def crack_exchange(width, depth, tilt, inside, outside):
    """Rayleigh number of the slot against the onset at a fresh interface."""
    here = liquid_place(inside)
    there = liquid_place(outside)
    rayleigh = exchange_rayleigh(width, depth, tilt, here, there)
    diffusivity = min(DIFFUSIVITIES[here], DIFFUSIVITIES[there])
    squared = (depth / 1000) ** 2 / diffusivity / 3600
    rules = "buoyancy" if rayleigh >= FRESH_ONSET else "diffusion"
    time = NINE_TENTHS / rayleigh * squared if rules == "buoyancy" else DIFFUSED * squared
    hold = "either way"
    if DENSITIES[here] > DENSITIES[there]:
        hold = "mouth down"
    if DENSITIES[here] < DENSITIES[there]:
        hold = "mouth up"
    return {"rules": rules, "time": time, "rayleigh": rayleigh, "hold": hold}
