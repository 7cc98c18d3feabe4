"""Drying: water out by solvent, solvent out in the open, the last of both out by warmth and time."""

from dataclasses import replace
from itertools import pairwise
from math import ceil, log, pi, sqrt

from handbook_calc.diffusion import slab_fourier, slab_released
from handbook_calc.engine.calculation import (
    Figure,
    Label,
    Reasons,
    Verdict,
    Whole,
    because,
    calculation,
    refuse,
)
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import Choice, Count, Quantity, Rows
from handbook_calc.engine.house import family, rule, section
from handbook_calc.engine.tables import Axis, Column, Mark, Sheet, Span, matrix, table
from handbook_calc.evaporation import LEAST_LIMIT, dried, group_mixture
from handbook_calc.exchange import cosine
from handbook_calc.soaking import bath_diffusivity
from handbook_calc.solvents import (
    ANTOINE_FROM,
    ANTOINE_TO,
    ATMOSPHERE,
    AZEOTROPE,
    FLAMMABLE,
    FLASH_POINT,
    GAS,
    IGNITION,
    KELVIN,
    LIQUID_DENSITY,
    MOLAR_MASS,
    PROPANOL_PERCENT,
    SOAK_DIFFUSIVITY_HIGH,
    SOAK_DIFFUSIVITY_LOW,
    SOLVENTS,
    UPPER_LIMIT,
    ethanol_density,
    fuller_diffusivity,
    lower_limit,
    molar_volume,
    propanol_density,
    propanol_density_at,
    propanol_percent,
    saturated_pressure,
    saturated_share,
    solvent_name,
    solvent_place,
)

# Last digit of a density reading: a dry spirit must not be refused for the rounding of its reading.
READING_STEP = 0.0001
# A room that is not told.
USUAL_HUMIDITY = 50  # %
USUAL_TEMPERATURE = 20  # degC
WEAKEST_LAST = 20  # % by mass; weaker than that it is water with some solvent in it

section(
    "drying",
    Choice("solvent", "solvent of the baths", options=FLAMMABLE, normal=solvent_name, kind="solvent"),
    Quantity("diffusivity_low", "water through the bath in a crack, slowest likely, at 25 degC",
             unit="um^2/s", low=10, high=10_000),
    Quantity("diffusivity", "water through the bath in a crack, value in use, at 25 degC",
             unit="um^2/s", low=10, high=10_000),
    Quantity("diffusivity_high", "water through the bath in a crack, fastest likely, at 25 degC",
             unit="um^2/s", low=10, high=10_000),
    Quantity("diffusion_activation", "activation energy of diffusion in the bath", unit="kJ/mol",
             low=5, high=40),
    Quantity("soak_fraction", "share of the water in a crack that one soak must bring out", unit="%",
             low=50, high=99.9),
    Quantity("soak_temperature", "temperature of the baths", unit="degC", low=5, high=30,
             why="flammable baths are kept at room temperature"),
    Quantity("bath", "solvent in one bath", unit="mL", low=10, high=5000),
    Quantity("bath_ratio", "a bath holds at least so many times the liquid in the cracks", low=5,
             high=1000),
    Count("soaks", "baths that every piece goes through", low=1, high=8),
    Quantity("soak", "time in each bath", unit="h", low=0.5, high=200),
    Quantity("solvent_water", "water in the fresh solvent, by volume", unit="%", low=0, high=15),
    Quantity("water_limit", "water allowed in the cracks after the last bath, by volume", unit="%",
             low=0.01, high=20),
    Quantity("air_dry", "time in moving air, away from heat, before the oven", unit="h", low=1,
             high=168),
    Quantity("open_solvent", "solvent that may stand open at one time", unit="mL", low=1, high=250),
    Quantity("room_temperature", "temperature of the drying room", unit="degC", low=10, high=35),
    Quantity("room_humidity", "relative humidity of the drying room", unit="%", low=5, high=90),
    Quantity("oven_volume", "inside of the oven", unit="L", low=5, high=1000),
    Quantity("oven_temperature", "temperature at which iron is dried", unit="degC", low=35, high=150),
    Quantity("oven_proof", "temperature of the last hold that proves dryness", unit="degC", low=35,
             high=150),
    Quantity("oven_ceiling", "temperature no piece ever exceeds", unit="degC", low=60, high=150,
             why="temper colours spoil a bright face and rust minerals change from about 200 degC"),
    Quantity("glued_ceiling", "ceiling for stony irons and for glued, waxed or resin-filled pieces",
             unit="degC", low=30, high=80, why="glue softens and olivine cracks above"),
    Quantity("oven_ramp", "fastest rise of the oven", unit="delta_degC/h", low=5, high=120),
    Quantity("oven_hold", "time in the oven before the first weighing", unit="h", low=1, high=168),
    Quantity("oven_margin", "a piece this close to the oven's temperature counts as warm",
             unit="delta_degC", low=0.5, high=10),
    Quantity("safety_share", "vapour allowed in an oven, of the lower flammable limit", unit="%",
             low=1, high=25, why="oven standards set 25 % for ovens without a vapour indicator"),
    Quantity("coefficient_low", "heat transfer in the oven, lowest likely", unit="W/m^2/K", low=1,
             high=100),
    Quantity("coefficient", "heat transfer in the oven, value in use", unit="W/m^2/K", low=1,
             high=100),
    Quantity("coefficient_high", "heat transfer in the oven, highest likely", unit="W/m^2/K", low=1,
             high=100),
    Quantity("specific_heat", "specific heat of meteoritic iron", unit="J/kg/K", low=400, high=700),
    Quantity("conductivity", "thermal conductivity of meteoritic iron", unit="W/m/K", low=10, high=80),
    Quantity("balance", "smallest step that the balance shows", unit="g", low=0.00001, high=1),
    Quantity("check_weight", "weight that the balance is checked with", unit="g", low=1, high=5000),
    Quantity("warm_up", "time the balance stands switched on before it counts", unit="min", low=1, high=240),
    Quantity("oven_thermometer_error", "the oven's own thermometer may be wrong by", unit="delta_degC",
             low=0.2, high=5),
    Quantity("divisions", "change that is not seen as one, in steps of the balance", low=1, high=5),
    Quantity("mass_drift", "change that is not seen as one, of the mass of the piece", unit="%",
             low=0.0001, high=0.01),
    Quantity("weighing_interval", "time between the two weighings that are compared", unit="h", low=1,
             high=168),
    Quantity("proof_share", "share of the water in the cracks that the weighings must be able to show",
             unit="%", low=1, high=50),
)  # fmt: skip
family(
    "drying.places",
    "solvent",
    Quantity("first", "least strength of a first bath, by mass", unit="%", low=20, high=100),
    Quantity("middle", "least strength of a middle bath, by mass", unit="%", low=20, high=100),
    Quantity("last", "least strength of a last bath, by mass", unit="%", low=50, high=100),
)


def _solvent(options=None, example="{drying.solvent}"):
    return Choice("solvent", "the liquid", options=options or FLAMMABLE, normal=solvent_name, kind="solvent",
                  example=example)  # fmt: skip


# --- strength of the solvent -------------------------------------------------------------------


@calculation(
    "alcohol-strength",
    title="Strength of 2-propanol from its density",
    inputs=(
        Quantity("density", "reading of the hydrometer or of a weighed volume", unit="g/cm^3",
                 low=0.7, high=1.05, example="0.81 g/cm^3"),
        Quantity("temperature", "temperature of the liquid when it was read", unit="degC", low=10,
                 high=30, why="the fall of density with temperature is known for that range; let the "
                 "liquid come to room temperature", example="20 degC"),
    ),
    results=Figure("mass_percent", "%", "2-propanol, by mass", 3),
    assumes=(
        "nothing but 2-propanol and water; dissolved salt, glue or denaturant moves the reading",
        "tables disagree by 0.0012 g/cm³, which is half a per cent by mass; the older and finer "
        "table is used, because its dry end agrees with other data",
        "a thermometer 5 °C wrong moves the answer by almost two per cent",
        "a reading up to 0.0001 g/cm³ outside the table counts as its end",
    ),
    sources=("lebo-1921", "propanol-slope"),
    refusals={
        "weaker": "a density of {density} at {temperature} lies above {0 g/cm^3}, the weakest mixture "
        "of the table: this bath is mostly water; discard it",
        "lighter": "a density of {density} at {temperature} lies below {0 g/cm^3}, that of dry "
        "2-propanol: within 0.0012 g/cm³ of it the liquid is as dry as a hydrometer can show; "
        "further off, read the thermometer again and make sure it is 2-propanol",
    },
)  # fmt: skip
def alcohol_strength(density, temperature):
    """The density table brought to the temperature of the reading, and straight lines between."""
    heaviest = propanol_density(0, temperature)
    lightest = propanol_density(len(PROPANOL_PERCENT) - 1, temperature)
    if density > heaviest + READING_STEP:
        refuse("weaker", heaviest)
    if density < lightest - READING_STEP:
        refuse("lighter", lightest)
    return propanol_percent(max(lightest, min(heaviest, density)), temperature)


@calculation(
    "ethanol-strength",
    title="Strength of ethanol from its density",
    inputs=(
        Quantity("density", "reading of the hydrometer or of a weighed volume", unit="g/cm^3",
                 low=0.7, high=1.05, example="0.81 g/cm^3"),
        Quantity("temperature", "temperature of the liquid when it was read", unit="degC", low=0,
                 high=40, why="the formula of the standard ends at 40 degC", example="20 degC"),
    ),
    results=Figure("mass_percent", "%", "ethanol, by mass", 4),
    assumes=(
        "nothing but ethanol and water; a denaturant moves the reading",
        "a reading up to 0.0001 g/cm³ outside the formula counts as its end",
    ),
    sources=("oiml-r22",),
    refusals={
        "heavier": "a density of {density} at {temperature} lies above that of water, {0 g/cm^3}: "
        "something else is dissolved in it, so the density tells no strength",
        "lighter": "a density of {density} at {temperature} lies below that of dry ethanol, "
        "{0 g/cm^3}: read the thermometer again and make sure it is ethanol",
    },
)  # fmt: skip
def ethanol_strength(density, temperature):
    """The strength at which the standard's formula gives the density, found by halving."""
    heaviest = ethanol_density(0, temperature)
    lightest = ethanol_density(100, temperature)
    if density > heaviest + READING_STEP:
        refuse("heavier", heaviest)
    if density < lightest - READING_STEP:
        refuse("lighter", lightest)
    low = 0
    high = 100
    for _ in range(50):
        middle = (low + high) / 2
        if ethanol_density(middle, temperature) > density:
            low = middle
        else:
            high = middle
    return (low + high) / 2


@calculation(
    "strength-by-volume",
    title="Per cent by mass of a spirit labelled by volume",
    inputs=(
        _solvent(["2-propanol", "ethanol"], "ethanol"),
        Quantity("volume_percent", "strength on the bottle, by volume at 20 degC", unit="%", low=0,
                 high=100, example="96 %"),
    ),
    results=Figure("mass_percent", "%", "strength by mass", 4),
    assumes=("nothing but the alcohol and water",),
    sources=("oiml-r22", "lebo-1921"),
    refusals={
        "weaker": "{volume_percent} by volume is weaker than the table of 2-propanol, which starts at "
        "{0 %} by volume; so weak a mixture dries nothing",
    },
)  # fmt: skip
def strength_by_volume(solvent, volume_percent):
    """The strength whose volume of pure alcohol, at the mixture's own density, is as labelled."""
    propanol = solvent == "2-propanol"
    pure = propanol_density_at(100) if propanol else ethanol_density(100, 20)
    low = PROPANOL_PERCENT[0] if propanol else 0
    if propanol:
        weakest = low * propanol_density_at(low) / pure
        if volume_percent < weakest:
            refuse("weaker", weakest)
    high = 100
    for _ in range(50):
        middle = (low + high) / 2
        density = propanol_density_at(middle) if propanol else ethanol_density(middle, 20)
        if middle * density / pure < volume_percent:
            low = middle
        else:
            high = middle
    return (low + high) / 2


@calculation(
    "azeotrope",
    title="Mixture that boils unchanged",
    inputs=(_solvent(),),
    results=Figure("mass_percent", "%", "solvent in the mixture that boils unchanged, by mass",
                   3, optional=True, without="none"),
    assumes=(
        "printed values at the boiling point; at room temperature that of 2-propanol lies near 86 %, "
        "that of ethanol at 99 % or nowhere",
        "it tells a still what to expect, not a crack: in room air water leaves faster than its share, and "
        "the room gives some back; see the calculation of the last bath",
    ),
    sources=("azeotrope-propanol", "azeotrope-ethanol"),
)  # fmt: skip
def azeotrope(solvent):
    """Looked up."""
    strength = AZEOTROPE[solvent_place(solvent)]
    return strength if strength > 0 else None


@calculation(
    "bath-verdict",
    title="Place of a used bath",
    inputs=(
        _solvent(),
        Quantity("mass_percent", "strength of the bath, by mass", unit="%", low=0, high=100, example="88 %"),
        Choice("bath", "place in which it stands", options=("first", "middle", "last"), kind="place",
               example="last"),
        from_house("drying.places.{solvent}.first", name="first_limit", low=0,
                   because="a mixture has from none to all of the solvent"),
        from_house("drying.places.{solvent}.middle", name="middle_limit", low=0,
                   because="a mixture has from none to all of the solvent"),
        from_house("drying.places.{solvent}.last", name="last_limit", low=0,
                   because="a mixture has from none to all of the solvent"),
        from_house("drying.room_humidity", name="humidity", about="relative humidity of the drying room",
                   optional=True),
        from_house("drying.room_temperature", name="temperature", about="temperature of the drying room",
                   optional=True),
        from_house("drying.water_limit", about="water allowed in the cracks, by volume", optional=True),
    ),
    results=(
        Verdict("verdict", "what to do with the bath", words={
            "use": "at {mass_percent} by mass it serves as the {bath} bath",
            "move down one place": "at {mass_percent} by mass it no longer serves as the {bath} bath; "
            "it may still be the {serves_as} bath, and a fresh one takes its place",
            "discard": "at {mass_percent} by mass it serves in no place: collect it as flammable "
            "waste that may hold chloride and rust, never down a drain",
        }),
        Label("serves_as", "the driest place it may take"),
        Reasons("reasons", "why", {
            "water": "In room air of {0 %} it leaves {1 %} of the crack's volume as water, and {2 %} is "
            "allowed: drier air, a stronger bath, or 2-propanol.",
            "limit": "The house asks at least {0 %} by mass in this place.",
        }),
    ),
    assumes=(
        "the strength was measured on this bath, not read off its bottle",
        "a last bath dries as its own calculation says; a room that is not told has 50 % and 20 °C",
    ),
    sources=("unifac-dortmund", "drying-drop-2023"),
    refusals={
        "limits": "the limits fall from a wetter place to a drier one (first {first_limit}, middle "
        "{middle_limit}, last {last_limit}); put them in rising order",
    },
)  # fmt: skip
def bath_verdict(
    solvent, mass_percent, bath, first_limit, middle_limit, last_limit, humidity, temperature, water_limit
):
    """Each place asks a least strength; a last bath must also dry in the air of the room."""
    if first_limit > middle_limit or middle_limit > last_limit:
        refuse("limits")
    damp = USUAL_HUMIDITY if humidity is None else humidity
    warm = USUAL_TEMPERATURE if temperature is None else temperature
    allowed = LEAST_LIMIT if water_limit is None else water_limit
    water = 100
    if mass_percent >= WEAKEST_LAST:
        place = solvent_place(solvent)
        water = dried(place, solvent, group_mixture(solvent, warm), mass_percent, damp / 100, warm)[0]
    rank = 0
    serves_as = "none"
    if mass_percent >= first_limit:
        rank = 1
        serves_as = "first"
    if mass_percent >= middle_limit:
        rank = 2
        serves_as = "middle"
    if mass_percent >= last_limit and water <= allowed:
        rank = 3
        serves_as = "last"
    needed = 1
    least = first_limit
    if bath == "middle":
        needed = 2
        least = middle_limit
    if bath == "last":
        needed = 3
        least = last_limit
    reasons = []
    if rank < needed:
        if mass_percent < least:
            reasons.append(because("limit", least))
        if bath == "last" and water > allowed:
            reasons.append(because("water", damp, water, allowed))
    verdict = "use" if rank >= needed else "move down one place" if rank > 0 else "discard"
    return {"verdict": verdict, "serves_as": serves_as, "reasons": reasons}


# --- soaking -----------------------------------------------------------------------------------


@calculation(
    "soak-residue",
    title="Water left after a number of soaks",
    inputs=(
        Quantity("water", "water the piece brings along, on its surface and in its cracks", unit="mL",
                 low=0.001, high=1000, example="2.3 mL"),
        Quantity("bath", "solvent in each bath, before the piece goes in", unit="mL", low=1,
                 high=50_000, example="{drying.bath}"),
        Count("soaks", "baths gone through, each fresh", low=0, high=20, example="{drying.soaks}"),
        from_house("drying.solvent_water", high=50,
                   because="a used solvent holds more water than any bench would buy"),
    ),
    results=Figure("water_percent", "%", "water in the liquid on the piece, by volume"),
    assumes=(
        "each soak lasts until the liquid is the same everywhere, cracks included, so for deep cracks this "
        "answer is the least that is left: the soak of a crack bath by bath says how much",
        "volumes add up; the shrinkage of a mixture, up to 4 %, is not counted",
        "the piece takes as much liquid out of a bath as it brought in",
    ),
    sources=("mass-balance",),
    refusals={
        "small-bath": "a bath of {bath} is not larger than the {water} of water the piece brings: "
        "use at least five times as much solvent, or wipe and drain the piece first",
    },
)  # fmt: skip
def soak_residue(water, bath, soaks, solvent_water):
    """Each soak closes the same share of the gap between the piece's liquid and the fresh solvent."""
    if bath <= water:
        refuse("small-bath")
    kept = water / (water + bath)
    return solvent_water + (100 - solvent_water) * kept**soaks


@calculation(
    "soaks-needed",
    title="Soaks needed",
    inputs=(
        Quantity("water", "water the piece brings along, on its surface and in its cracks", unit="mL",
                 low=0.001, high=1000, example="2.3 mL"),
        from_house("drying.bath", about="solvent in each bath, before the piece goes in", low=1,
                   high=50_000, because="from a test tube to a tub"),
        from_house("drying.water_limit", low=0.001, high=100, because="the dilution holds for any limit"),
        from_house("drying.solvent_water", high=50,
                   because="a used solvent holds more water than any bench would buy"),
    ),
    results=Whole("soaks", "1", "baths, each of fresh solvent"),
    assumes=("as for the water left after a number of soaks",),
    sources=("mass-balance",),
    refusals={
        "small-bath": "a bath of {bath} is not larger than the {water} of water the piece brings: "
        "use at least five times as much solvent, or wipe and drain the piece first",
        "floor": "no number of soaks brings the water to {water_limit}: the fresh solvent itself holds "
        "{solvent_water}; use a drier solvent for the last bath",
    },
)  # fmt: skip
def soaks_needed(water, bath, water_limit, solvent_water):
    """The smallest whole number of soaks after which the water is at or below the limit."""
    if bath <= water:
        refuse("small-bath")
    if water_limit >= 100:
        return 0
    if water_limit <= solvent_water:
        refuse("floor")
    kept = water / (water + bath)
    exact = log((water_limit - solvent_water) / (100 - solvent_water)) / log(kept)
    # 1e-9: a limit met exactly by n soaks must not ask for n + 1 because of the last digit.
    return ceil(exact - 1e-9)


SOAK_INPUTS = (
    from_house("drying.soak_temperature", name="temperature", low=0, high=40,
               because="a flammable bath is never warmed"),
    from_house("drying.diffusivity", about="water through the bath in the crack, at 25 degC", low=1,
               because="rust that fills a crack slows the water below any open bath"),
    from_house("drying.diffusion_activation", name="activation_energy", low=0, high=60,
               because="none stands for a diffusivity that was measured at the bath's own temperature"),
)  # fmt: skip
SOAK_ASSUMES = (
    "a blind crack, open at its mouth only; one open at both ends takes a quarter of the time at the "
    "same length",
    "the bath outside stays fresh: large, and moved now and then",
    "the diffusivity of water in 2-propanol is known within a factor of two; rust that fills a crack "
    "makes it slower still by two to four times",
    "diffusion gets faster with temperature as the mixture gets thinner (activation energy of its viscosity)",
)


@calculation(
    "soak-time",
    curve="depth",
    title="Soak time for a crack",
    inputs=(
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=50, example="{piece.crack_depth}"),
        from_house("drying.soak_fraction", name="fraction", low=1,
                   because="the law of diffusion holds for any share"),
        *SOAK_INPUTS,
    ),
    results=Figure("time", "h", "time in the bath"),
    assumes=SOAK_ASSUMES,
    sources=("crank-1975", "pang-2007", "pratt-1975"),
)  # fmt: skip
def soak_time(depth, fraction, temperature, diffusivity, activation_energy):
    """Time at which the share has left a slab open on one face; grows with the depth squared."""
    at_bath = bath_diffusivity(diffusivity, activation_energy, temperature)
    fourier = slab_fourier(fraction / 100)
    seconds = fourier * (depth * 1000) ** 2 / at_bath
    return seconds / 3600


@calculation(
    "soaked-fraction",
    curve="time",
    title="Share of a crack's water that a soak brings out",
    inputs=(
        Quantity("time", "time in the bath", unit="h", low=0, high=20_000, example="24 h"),
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=50, example="{piece.crack_depth}"),
        *SOAK_INPUTS,
    ),
    results=Figure("fraction", "%", "share of the water that has come out"),
    assumes=SOAK_ASSUMES,
    sources=("crank-1975", "pang-2007", "pratt-1975"),
)
def soaked_fraction(time, depth, temperature, diffusivity, activation_energy):
    """Share that has left a slab open on one face."""
    at_bath = bath_diffusivity(diffusivity, activation_energy, temperature)
    fourier = at_bath * time * 3600 / (depth * 1000) ** 2
    return 100 * slab_released(fourier)


# --- vapour and fire ---------------------------------------------------------------------------


OUTSIDE_DATA = (
    "the vapour pressure data of {solvent} run from {0 degC} to {1 degC}; {temperature} lies outside"
)


@calculation(
    "vapour-pressure",
    curve="temperature",
    title="Vapour pressure",
    inputs=(
        _solvent(SOLVENTS),
        Quantity(
            "temperature",
            "temperature of the liquid",
            unit="degC",
            low=-25,
            high=150,
            example="{drying.room_temperature}",
        ),
    ),
    results=Figure("pressure", "kPa", "pressure of the vapour over the pure liquid"),
    assumes=(
        "the pure liquid",
        "2-propanol below 40 °C: collections differ by 5 %; the set that agrees with the safety "
        "literature is used",
    ),
    sources=("poling-2001",),
    refusals={"outside-data": OUTSIDE_DATA + ": no value is invented for it"},
)
def vapour_pressure(solvent, temperature):
    """Antoine's equation inside the range of its constants."""
    place = solvent_place(solvent)
    if temperature < ANTOINE_FROM[place] or temperature > ANTOINE_TO[place]:
        refuse("outside-data", ANTOINE_FROM[place], ANTOINE_TO[place])
    return saturated_pressure(place, temperature)


OVEN_TEMPERATURE = Quantity(
    "temperature",
    "temperature of the air that holds the vapour",
    unit="degC",
    low=10,
    high=200,
    why="below, vapour pressure data end; above, no drying oven is run",
    example="{drying.oven_temperature}",
)
SAFETY_SHARE = from_house(
    "drying.safety_share", high=50, because="above 25 % only where an instrument measures the vapour"
)
LIMIT_ASSUMES = (
    "the lower of the limits that two standards print, and lowered with temperature by a tenth at 80 °C",
)


@calculation(
    "flammable-limit",
    title="Flammable limits of a solvent's vapour in air",
    inputs=(_solvent(), OVEN_TEMPERATURE),
    results=(
        Figure("lower", "%", "vapour by volume at which a mixture with air begins to burn"),
        Figure("upper", "%", "vapour by volume above which it is too rich to burn"),
        Figure("flash_point", "degC", "temperature from which an open dish can be lit"),
        Figure("ignition", "degC", "temperature of a hot surface that lights it without a spark"),
    ),
    assumes=(*LIMIT_ASSUMES, "the higher of the upper limits, printed at or below 93 °C"),
    sources=("iec-60079-20-1", "nfpa-497", "ludwig-ovens"),
)
def flammable_limit(solvent, temperature):
    """Looked up on the safe side of two standards."""
    place = solvent_place(solvent)
    return {
        "lower": lower_limit(place, temperature),
        "upper": UPPER_LIMIT[place],
        "flash_point": FLASH_POINT[place],
        "ignition": IGNITION[place],
    }


@calculation(
    "jar-vapour",
    title="Vapour over solvent in a closed jar",
    inputs=(
        _solvent(),
        Quantity("temperature", "temperature of the jar", unit="degC", low=10, high=45,
                 why="a jar of solvent is kept cool", example="{drying.room_temperature}"),
    ),
    results=(
        Figure("concentration", "%", "vapour in the air of the jar, by volume"),
        Verdict("verdict", "against the flammable range", words={
            "too lean": "the air in the jar holds {concentration} of vapour, too little to burn",
            "flammable": "the air in the jar holds {concentration} of vapour: it burns if lit",
            "too rich": "the air in the jar holds {concentration} of vapour, too much to burn while "
            "the jar is closed; opening it lets in air and makes it burnable",
        }),
    ),
    assumes=("pure solvent, jar long closed", *LIMIT_ASSUMES),
    sources=("poling-2001", "iec-60079-20-1", "nfpa-497"),
)  # fmt: skip
def jar_vapour(solvent, temperature):
    """Saturated vapour against both limits."""
    place = solvent_place(solvent)
    concentration = 100 * saturated_share(place, temperature)
    verdict = "flammable"
    if concentration < lower_limit(place, temperature):
        verdict = "too lean"
    if concentration > UPPER_LIMIT[place]:
        verdict = "too rich"
    return {"concentration": concentration, "verdict": verdict}


@calculation(
    "oven-vapour",
    title="Solvent vapour in a closed oven",
    inputs=(
        _solvent(),
        Quantity("solvent_mass", "solvent that may come off in the oven", unit="g", low=0, high=5000,
                 example="0.2 g"),
        from_house("drying.oven_volume", low=1, high=2000,
                   because="from a jar to a chamber that is walked into"),
        OVEN_TEMPERATURE,
        SAFETY_SHARE,
    ),
    results=(
        Figure("concentration", "%", "vapour in the oven's air, by volume"),
        Figure("share_of_limit", "%", "share of the lower flammable limit"),
        Verdict("verdict", "may such a piece go in", words={
            "go": "{share_of_limit} of the lower flammable limit, within the {safety_share} that is "
            "allowed: a margin for traces, no leave to put in a piece that is still wet or smells",
            "stop": "keep it out of the oven: {share_of_limit} of the lower flammable limit, where "
            "{safety_share} is allowed; dry it in moving air, away from heat and sparks, until no "
            "smell is left and its mass stands still",
        }),
        Reasons("reasons", "what such a piece would do", {
            "share": "The vapour would pass the share that is allowed.",
            "flammable": "The vapour would reach the flammable range: heater, thermostat and switch "
            "can light it.",
            "rich": "The oven would pass through the flammable range while it fills and again when "
            "the door opens.",
            "saturated": "Not all of it fits into the air as vapour; some stays liquid and feeds more.",
        }),
    ),
    assumes=(
        "the oven is closed and all the solvent evaporates into it, evenly, at one atmosphere",
        *LIMIT_ASSUMES,
    ),
    sources=("ideal-gas", "iec-60079-20-1", "nfpa-497", "nfpa-86-quoted", "ludwig-ovens"),
)  # fmt: skip
def oven_vapour(solvent, solvent_mass, oven_volume, temperature, safety_share):
    """Volume of the vapour over that of the oven, but no more than the air can hold."""
    place = solvent_place(solvent)
    vapour = solvent_mass / MOLAR_MASS[place] * molar_volume(temperature)
    most = 100 * saturated_share(place, temperature)
    all_of_it = 100 * vapour / oven_volume
    concentration = min(all_of_it, most)
    limit = lower_limit(place, temperature)
    share_of_limit = 100 * concentration / limit
    reasons = []
    if share_of_limit > safety_share:
        reasons.append(because("share"))
    if concentration >= limit:
        reasons.append(because("flammable"))
    if concentration > UPPER_LIMIT[place]:
        reasons.append(because("rich"))
    if all_of_it > most:
        reasons.append(because("saturated"))
    verdict = "stop" if len(reasons) > 0 else "go"
    return {
        "concentration": concentration,
        "share_of_limit": share_of_limit,
        "verdict": verdict,
        "reasons": reasons,
    }


@calculation(
    "oven-solvent",
    title="Solvent that brings a closed oven to the safety share",
    inputs=(
        _solvent(),
        from_house("drying.oven_volume", low=1, high=2000,
                   because="from a jar to a chamber that is walked into"),
        OVEN_TEMPERATURE,
        SAFETY_SHARE,
    ),
    results=(
        Figure("mass", "g", "mass of liquid"),
        Figure("volume", "mL", "volume of liquid at 20 °C"),
    ),
    assumes=("as for the vapour in a closed oven",),
    sources=("ideal-gas", "iec-60079-20-1", "nfpa-497", "nfpa-86-quoted", "ludwig-ovens"),
)  # fmt: skip
def oven_solvent(solvent, oven_volume, temperature, safety_share):
    """The amount at which the vapour takes the allowed share of the lower limit."""
    place = solvent_place(solvent)
    allowed = lower_limit(place, temperature) * safety_share / 100
    mass = allowed / 100 * oven_volume / molar_volume(temperature) * MOLAR_MASS[place]
    return {"mass": mass, "volume": mass / LIQUID_DENSITY[place]}


@calculation(
    "flammable-volume",
    title="Air that spilled or evaporated solvent makes flammable",
    inputs=(
        _solvent(),
        Quantity("solvent_volume", "liquid that evaporates", unit="mL", low=0, high=20_000,
                 example="{drying.open_solvent}"),
        replace(OVEN_TEMPERATURE, example="{drying.room_temperature}"),
        SAFETY_SHARE,
    ),
    results=(
        Figure("just_flammable", "L", "air that it can just make flammable"),
        Figure("at_safety_share", "L", "air it needs to stay at the safety share"),
    ),
    assumes=(
        "all of it evaporates and mixes evenly; real vapour lies low and in pockets, so the larger "
        "volume is the least to plan with",
        *LIMIT_ASSUMES,
    ),
    sources=("ideal-gas", "iec-60079-20-1", "nfpa-497", "osha-94"),
)  # fmt: skip
def flammable_volume(solvent, solvent_volume, temperature, safety_share):
    """Air that dilutes the vapour to the lower limit; as many times more as the share is below."""
    place = solvent_place(solvent)
    mass = solvent_volume * LIQUID_DENSITY[place]
    vapour = mass / MOLAR_MASS[place] * molar_volume(temperature)
    limit = lower_limit(place, temperature)
    just_flammable = vapour * (100 - limit) / limit
    return {
        "just_flammable": just_flammable,
        "at_safety_share": just_flammable * 100 / safety_share,
    }


# --- warming -----------------------------------------------------------------------------------


def lumped_seconds(mass, area, coefficient, specific_heat, gap_ratio):
    """Return the time [s] in which the gap to the surroundings shrinks `gap_ratio` times.

    Arguments:
        mass: [kg].
        area: [m2].
        coefficient: heat transfer [W/m2/K].
        specific_heat: [J/kg/K].
        gap_ratio: first temperature difference over the last, 1 or more.
    """
    return mass * specific_heat / (coefficient * area) * log(gap_ratio)


def middle_fourier(round_piece, biot, gap_ratio):
    """Return the Fourier number at which the gap in the middle has shrunk `gap_ratio` times.

    First term of the series of a plane wall or a sphere, good to a few per cent from 0.2 on; the Biot
    number is by the half thickness or the radius. Before that the middle has hardly moved.
    """
    low = 0
    high = 180 if round_piece else 90
    for _ in range(60):
        angle = (low + high) / 2
        radians = angle * pi / 180
        sine = cosine(abs(90 - angle))
        if round_piece:
            short = sine - radians * cosine(angle) < biot * sine
        else:
            short = radians * sine < biot * cosine(angle)
        if short:
            low = angle
        else:
            high = angle
    angle = (low + high) / 2
    radians = angle * pi / 180
    sine = cosine(abs(90 - angle))
    product = sine * cosine(angle)
    if round_piece:
        first = 2 * (sine - radians * cosine(angle)) / (radians - product)
    else:
        first = 2 * sine / (radians + product)
    return max(0, log(first * gap_ratio) / radians**2)


@calculation(
    "heat-up-time",
    curve="oven",
    title="Time to warm or to cool a piece",
    inputs=(
        Quantity("mass", "mass of the piece", unit="g", low=0.001, high=50_000, example="{piece.mass}"),
        Quantity("area", "its whole surface", unit="cm^2", low=0.01, high=20_000, example="{piece.area}"),
        Quantity("start", "its temperature at the start", unit="degC", low=-50, high=700,
                 example="{drying.room_temperature}"),
        Quantity("oven", "temperature of the oven, or of the room where it cools", unit="degC",
                 low=-50, high=300, why="a drying oven; no meteorite is ever near this heat",
                 example="{drying.oven_temperature}"),
        Quantity("target", "its temperature at the end", unit="degC", low=-50, high=700, example="78 degC"),
        from_house("drying.coefficient", about="heat transfer between air and piece, radiation included",
                   high=1000, because="from still air to a stirred liquid"),
        from_house("drying.specific_heat", about="specific heat of the piece", low=100, high=5000,
                   because="the law holds for any solid body"),
        from_house("abrasives.density", about="density of the piece", low=0.5, high=20,
                   because="the law holds for any solid body"),
        from_house("drying.conductivity", about="thermal conductivity of the piece", low=0.1, high=500,
                   because="the law holds for any solid body"),
        from_house("drying.oven_ceiling", name="ceiling", low=20, high=300,
                   because="other bodies than a meteorite have other ceilings"),
        Choice("shape", "slab (a slice, the default) or sphere (a whole piece)", options=["slab", "sphere"],
               kind="shape", optional=True),
    ),
    results=(
        Figure("time", "min", "time to the target"),
        Figure("time_inside", "min", "until the middle is there too"),
        Figure("biot", "1", "Biot number: how far the inside lags behind the surface"),
        Reasons("warnings", "what to mind", {
            "biot": "The Biot number is above 0.1: the inside lags, so go by the time of the middle.",
            "ceiling": "The oven is hotter than the {ceiling} that no piece may exceed: set it lower.",
        }),
    ),
    assumes=(
        "the first time is that of a piece warm through all along (Biot number below 0.1); the second is "
        "that of the middle of a slab, or of a sphere",
        "the piece is dry: water that still evaporates keeps it cooler",
        "one heat transfer coefficient all along; in a still oven it is known within a factor of two",
        "the oven is at its temperature when the piece goes in",
    ),
    sources=("lumped-heat", "cengel-transient", "opeil-2010", "laser-flash-2008", "stahl-2003"),
    refusals={
        "never": "the piece never gets to {target} in surroundings at {oven}: it only comes close; "
        "choose a target on the near side of the surroundings",
        "backwards": "from {start} surroundings at {oven} move the piece away from {target}; check "
        "the three temperatures",
    },
)  # fmt: skip
def heat_up_time(
    mass, area, start, oven, target, coefficient, specific_heat, density, conductivity, ceiling, shape
):
    """The gap to the surroundings dies out exponentially."""
    half_thickness = mass / density / area / 100
    biot = coefficient * half_thickness / conductivity
    warnings = []
    if biot > 0.1:
        warnings.append(because("biot"))
    if oven > ceiling:
        warnings.append(because("ceiling"))
    if target == oven:
        refuse("never")
    gap_ratio = (oven - start) / (oven - target)
    if gap_ratio < 0:
        refuse("never")
    if gap_ratio < 1:
        refuse("backwards")
    seconds = lumped_seconds(mass / 1000, area / 10_000, coefficient, specific_heat, gap_ratio)
    # In a sphere the volume over the area is a third of the radius.
    round_piece = shape is not None and shape == "sphere"
    half = 3 * half_thickness if round_piece else half_thickness
    settling = density * 1000 * specific_heat * half**2 / conductivity
    inside = settling * middle_fourier(round_piece, coefficient * half / conductivity, gap_ratio)
    return {
        "time": seconds / 60, "time_inside": max(seconds, inside) / 60, "biot": biot, "warnings": warnings
    }  # fmt: skip


@calculation(
    "ramp-time",
    title="Time to bring the oven up slowly",
    inputs=(
        from_house(
            "drying.room_temperature",
            name="start",
            about="temperature at the start",
            low=-20,
            high=150,
            because="a piece may come in from the cold, or warm out of an oven",
        ),
        from_house(
            "drying.oven_temperature",
            name="oven",
            about="temperature at the end",
            low=-20,
            because="a piece may be brought down as slowly as it was brought up",
        ),
        from_house(
            "drying.oven_ramp", name="ramp", low=1, high=300, because="from a cooling box to a fan oven"
        ),
    ),
    results=Figure("time", "h", "time from start to end"),
    assumes=("a slow rise lets water leave blind cracks as vapour before it can boil in them",),
    sources=("hand",),
    refusals={"cooler": "the end of {oven} is not warmer than the start of {start}"},
)
def ramp_time(start, oven, ramp):
    """The rise over the rate."""
    if oven <= start:
        refuse("cooler")
    return (oven - start) / ramp


@calculation(
    "oven-humidity",
    title="Relative humidity of room air once it is warmed",
    inputs=(
        from_house(
            "drying.room_temperature",
            low=1,
            high=45,
            because="the formula of moist air starts at the freezing point",
        ),
        from_house("drying.room_humidity", low=0, high=100, because="from dry to saturated air"),
        from_house(
            "drying.oven_temperature",
            name="oven",
            about="temperature to which it is warmed",
            low=1,
            because="the formula of moist air starts at the freezing point",
        ),
    ),
    results=Figure("humidity", "%", "relative humidity at the oven's temperature"),
    assumes=("the oven breathes room air, and the piece adds little water to it",),
    sources=("ideal-gas", "poling-2001"),
    refusals={
        "condenses": "air of {room_humidity} at {room_temperature} is past saturation at {oven}: "
        "water would condense on the piece; warm it, or dry the air first",
    },
)
def oven_humidity(room_temperature, room_humidity, oven):
    """The pressure of the water vapour stays; that of saturation rises."""
    vapour = room_humidity / 100 * saturated_pressure(0, room_temperature)
    humidity = 100 * vapour / saturated_pressure(0, oven)
    if humidity > 100:
        refuse("condenses")
    return humidity


def stefan_seconds(
    liquid_density, molar_mass, depth_from, depth_to, temperature, pressure, diffusivity, outside,
    saturated
):  # fmt: skip
    """Return the time [s] in which a liquid level falls in a blind crack by evaporation alone.

    Arguments:
        liquid_density: [g/cm3].
        molar_mass: [g/mol].
        depth_from, depth_to: level below the mouth at the start and at the end [mm].
        temperature: [degC].
        pressure: [kPa].
        diffusivity: of the vapour in air [cm2/s].
        outside, saturated: share of vapour, 0 to 1, at the mouth and at the level.
    """
    moles = liquid_density / molar_mass
    way = (depth_to**2 - depth_from**2) / 100 / 2
    # mol/cm3 of gas; the logarithm, not the difference, because the vapour's own drift carries it.
    gas = pressure / (GAS * (temperature + KELVIN)) / 1000
    drive = gas * diffusivity * log((1 - outside) / (1 - saturated))
    return moles * way / drive


@calculation(
    "crack-drying-time",
    curve="temperature",
    title="Time for a blind crack to dry out",
    inputs=(
        _solvent(SOLVENTS),
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=50, example="{piece.crack_depth}"),
        Quantity("temperature", "temperature of piece and air", unit="degC", low=1, high=105,
                 example="{drying.room_temperature}"),
        Quantity("humidity", "relative humidity of that air, for water", unit="%", low=0, high=100,
                 optional=True),
        Quantity("pressure", "air pressure; one atmosphere where left out", unit="kPa", low=5,
                 high=110, optional=True),
        Quantity("vapour_diffusivity", "measured diffusivity of the vapour in air at that temperature "
                 "and pressure; estimated where left out", unit="cm^2/s", low=0.01, high=10,
                 optional=True),
    ),
    results=Figure("time", "h", "time from full to empty"),
    assumes=(
        "a blind crack of even width that starts full of pure liquid, with moving air at its mouth",
        "the vapour only diffuses; in cracks narrower than about 0.5 µm it is slower",
        "salt in the crack holds water back: rust with chloride never gets as dry as pure water would",
        "the estimated diffusivity is good to about 5 %; the liquid's density is that at 20 °C, which "
        "errs to the long side",
    ),
    sources=("anantharaman", "geankoplis-1993", "poling-2001", "fuller-1969"),
    refusals={
        "outside-data": OUTSIDE_DATA + ": work inside that range",
        "boils": "{solvent} boils at {temperature} at that pressure: the crack boils out, which can "
        "lift scale and flakes, and this formula does not hold; hold the piece below the boiling "
        "point until its mass stands still",
        "humidity": "the drying of water needs the relative humidity of the air at {temperature}: give "
        "humidity; see oven-humidity for warmed room air",
        "no-drive": "air of {humidity} takes up no water from a wet crack; warm the piece or dry the air",
    },
)  # fmt: skip
def crack_drying_time(solvent, depth, temperature, humidity, pressure, vapour_diffusivity):
    """Stefan diffusion out of a crack whose level falls; grows with the depth squared."""
    place = solvent_place(solvent)
    if temperature < ANTOINE_FROM[place] or temperature > ANTOINE_TO[place]:
        refuse("outside-data", ANTOINE_FROM[place], ANTOINE_TO[place])
    air = ATMOSPHERE if pressure is None else pressure
    saturated = saturated_pressure(place, temperature) / air
    if saturated >= 1:
        refuse("boils")
    outside = 0
    if place == 0:
        if humidity is None:
            refuse("humidity")
        outside = humidity / 100 * saturated
    if outside >= saturated:
        refuse("no-drive")
    spread = vapour_diffusivity
    if spread is None:
        spread = fuller_diffusivity(place, temperature, air)
    seconds = stefan_seconds(
        LIQUID_DENSITY[place], MOLAR_MASS[place], 0, depth, temperature, air, spread, outside, saturated
    )
    return seconds / 3600


# --- constant mass -----------------------------------------------------------------------------


@calculation(
    "constant-mass",
    title="Dry or not, from weighings",
    inputs=(
        Rows("weighings", "times and masses, in order of time, each at room temperature", columns=(
            Quantity("time", "time of the weighing", unit="h", low=0, high=100_000),
            Quantity("mass", "mass of the piece", unit="g", low=0.01, high=100_000),
        ), least=2, most=100, example="0 h 186.412 g; 24 h 186.397 g; 48 h 186.396 g"),
        from_house("drying.balance", name="resolution", low=1e-06, high=100,
                   because="from a microbalance to a platform scale"),
        Quantity("crack_water_guess", "water that the cracks can hold, best guess", unit="g",
                 low=0.0001, high=1000, example="0.2 g"),
        from_house("drying.weighing_interval", name="interval", low=0.5, high=720,
                   because="records hold weighings closer together and further apart than a house plans"),
        from_house("drying.divisions", high=10, because="a worn balance scatters more"),
        from_house("drying.mass_drift", low=0, high=0.1,
                   because="none asks for the scatter of the balance alone"),
        from_house("drying.proof_share", high=100,
                   because="at most all of the water that the cracks could hold"),
    ),
    results=(
        Verdict("verdict", "what the weighings say", words={
            "dry": "the mass stands still within {allowed}, and the balance would have shown the water "
            "in the cracks",
            "not yet": "not proved dry: go on drying and weigh again after at least {interval}",
            "gaining": "the mass rises: warm scale, moisture taken up, or iron turning to rust; cool in "
            "a closed dry jar, weigh again, and look for new rust",
            "too coarse": "the weighings agree, but within {allowed}, and so they would with water still "
            "in the cracks: use a finer balance, or watch the humidity in a sealed dry box",
        }),
        Figure("change", "g", "change from the earlier weighing compared to the last"),
        Figure("allowed", "g", "change that is not seen as one"),
        Reasons("reasons", "why", {
            "falling": "Between the weighings compared the mass fell by {0 g}.",
            "rising": "The last mass lies {0 g} above an earlier one; a weighing done warm reads light, "
            "and is struck out.",
            "early": "The weighings that could be compared lie only {0 h} apart.",
            "coarse": "The weighings can show a change of {0 g}; the proof asks for {1 g}.",
        }),
    ),
    assumes=(
        "each weighing at room temperature, the piece cooled in a closed dry jar: a warm piece weighs "
        "light",
        "the rule of porous solids, 0.1 % of the mass, does not serve iron: it is more than all the "
        "water in its cracks",
        "dry means dry of free water; salts keep theirs, and no drying takes chloride away",
    ),
    sources=("weighing-practice", "en-1097-5"),
    refusals={
        "times": "the times do not rise from row to row: sort the weighings, one row a weighing",
        "other-piece": "a mass differs by more than 5 % from the first: that is not drying but another "
        "piece, another unit or a balance that was not set to zero",
        "guess": "a guess of {crack_water_guess} of crack water is more than a tenth of the piece: guess "
        "again, from length, depth and width of the cracks",
    },
)  # fmt: skip
def constant_mass(weighings, resolution, crack_water_guess, interval, divisions, mass_drift, proof_share):
    """Compare the last weighing with the latest one that lies at least the interval before it."""
    count = len(weighings)
    first_mass = weighings[0][1]
    for i in range(1, count):
        if weighings[i][0] <= weighings[i - 1][0]:
            refuse("times")
        if abs(weighings[i][1] - first_mass) > 0.05 * first_mass:
            refuse("other-piece")
    if crack_water_guess > first_mass / 10:
        refuse("guess")
    last_time = weighings[count - 1][0]
    last_mass = weighings[count - 1][1]
    reference = 0
    lowest = last_mass
    for i in range(count):
        if weighings[i][0] <= last_time - interval + 1e-9:
            reference = i
        lowest = min(lowest, weighings[i][1])
    highest = last_mass
    for i in range(reference, count):
        highest = max(highest, weighings[i][1])
    change = last_mass - weighings[reference][1]
    waited = last_time - weighings[reference][0]
    allowed = max(divisions * resolution, mass_drift / 100 * last_mass)
    proof = proof_share / 100 * crack_water_guess
    # Readings are decimals: 120.5 less 120.498 must count as 0.002 and not as a little more.
    slack = 1e-9 * last_mass
    verdict = "dry"
    reasons = []
    if last_mass - lowest > allowed + slack:
        verdict = "gaining"
        reasons.append(because("rising", last_mass - lowest))
    elif highest - last_mass > allowed + slack:
        verdict = "not yet"
        reasons.append(because("falling", highest - last_mass))
    elif allowed > proof + slack:
        verdict = "too coarse"
        reasons.append(because("coarse", allowed, proof))
    elif waited < interval - 1e-9:
        verdict = "not yet"
        reasons.append(because("early", waited))
    return {"verdict": verdict, "change": change, "allowed": allowed, "reasons": reasons}


@calculation(
    "balance-needed",
    title="Balance that can prove a piece dry",
    inputs=(
        Quantity("mass", "mass of the piece", unit="g", low=0.1, high=100_000, example="{piece.mass}"),
        Quantity("crack_water_guess", "water that its cracks can hold, best guess", unit="g",
                 low=0.0001, high=1000, example="0.2 g"),
        from_house("drying.divisions", high=10, because="a worn balance scatters more"),
        from_house("drying.mass_drift", low=0, high=0.1,
                   because="none asks for the scatter of the balance alone"),
        from_house("drying.proof_share", high=100,
                   because="at most all of the water that the cracks could hold"),
    ),
    results=Figure("resolution", "mg", "coarsest step that will do"),
    assumes=("as for dry or not, from weighings",),
    sources=("weighing-practice",),
    refusals={
        "drift": "a piece of {mass} may drift by {0 g} without being seen to change, more than the "
        "{1 g} that the proof asks for: no balance proves it dry; watch the humidity in a sealed dry "
        "box",
    },
)  # fmt: skip
def balance_needed(mass, crack_water_guess, divisions, mass_drift, proof_share):
    """The proof's share of the crack water, in steps of the balance."""
    proof = proof_share / 100 * crack_water_guess
    drift = mass_drift / 100 * mass
    if drift > proof:
        refuse("drift", drift, proof)
    return proof / divisions * 1000


# --- combinations that the house standard may not hold -----------------------------------------


def _rising(house, *keys):
    """Yield a complaint for each key whose value lies below that of the key before it."""
    for lower, upper in pairwise(keys):
        if house[upper] < house[lower]:
            entry = house.entry(lower)
            yield upper, f"is below {lower}; allowed is {entry.show()} or more"


@rule("drying.diffusivity_low", "drying.diffusivity", "drying.diffusivity_high")
def diffusivities_in_order(house):
    """The spread of a guess must enclose the value in use."""
    yield from _rising(house, "drying.diffusivity_low", "drying.diffusivity", "drying.diffusivity_high")


@rule("drying.solvent", "drying.diffusivity")
def diffusivity_of_the_solvent(house):
    """A value that belongs to a thinner solvent would end the soak too early."""
    place = solvent_place(house["drying.solvent"])
    low, high = SOAK_DIFFUSIVITY_LOW[place], SOAK_DIFFUSIVITY_HIGH[place]
    if not low <= house["drying.diffusivity"] <= high:
        yield (
            "drying.diffusivity",
            f"does not fit drying.solvent = {house['drying.solvent']}; allowed is {low:g} to {high:g} um^2/s",
        )


DRIEST_ROOM = 20.0  # %, a bench in a heated room in winter


@rule("drying.solvent", "drying.places", "drying.room_temperature", "drying.water_limit")
def places_of_solvents(house):
    """Every list of strengths belongs to a known solvent, rises, and keeps the last bath dry."""
    named = house.names("drying.places")
    if house["drying.solvent"] not in named:
        yield (
            "drying.solvent",
            f"has no strengths under drying.places; allowed is one of {', '.join(named)}",
        )
    for solvent in named:
        key = f"drying.places.{solvent}"
        if solvent not in FLAMMABLE:
            yield f"{key}.last", f"belongs to no known solvent; allowed is {', '.join(FLAMMABLE)}"
            continue
        yield from _rising(house, f"{key}.first", f"{key}.middle", f"{key}.last")
        at = [house[f"{key}.last"], DRIEST_ROOM / 100, house["drying.room_temperature"]]
        mixture = group_mixture(solvent, at[2])
        left = dried(solvent_place(solvent), solvent, mixture, max(WEAKEST_LAST, at[0]), at[1], at[2])[0]
        if left > house["drying.water_limit"]:
            yield (
                f"{key}.last",
                f"would leave {left:.2g} % of a crack as water as the {solvent} dries off, even in a room of "
                f"{DRIEST_ROOM:g} %; allowed is what leaves at most drying.water_limit",
            )


@rule("drying.solvent_water", "drying.water_limit")
def limit_above_the_solvent(house):
    """No number of soaks gets below the water of the solvent itself."""
    if house["drying.water_limit"] <= house["drying.solvent_water"]:
        yield (
            "drying.water_limit",
            "cannot be reached with drying.solvent_water = "
            f"{house['drying.solvent_water']:g} %; allowed is more than that",
        )


@rule("drying.bath", "drying.bath_ratio", "piece.crack_volume")
def bath_large_enough(house):
    """A small bath fills up with the crack's own water."""
    least = house["drying.bath_ratio"] * house["piece.crack_volume"]
    if house["drying.bath"] < least:
        yield "drying.bath", f"is small for piece.crack_volume; allowed is {least:g} mL or more"


@rule(
    "drying.soaks", "drying.bath", "drying.water_limit", "drying.solvent_water", "rinsing.film",
    "piece.area", "piece.crack_volume",
)  # fmt: skip
def soaks_enough(house):
    """The house's number of baths must reach the house's limit for the house's piece."""
    carried = house["piece.area"] / 10_000 * house["rinsing.film"] + house["piece.crack_volume"]
    try:
        least = soaks_needed(
            max(carried, 0.001), house["drying.bath"], house["drying.water_limit"],
            house["drying.solvent_water"],
        )  # fmt: skip
    except Refusal:  # a limit below the solvent's own water has its own rule
        return
    if house["drying.soaks"] < least:
        yield "drying.soaks", f"does not reach drying.water_limit; allowed is {least} or more"


@rule("drying.oven_temperature", "drying.oven_proof", "drying.oven_ceiling", "drying.glued_ceiling")
def oven_below_its_ceiling(house):
    """The oven's settings stay below the ceiling; a glued piece has the lower ceiling."""
    for key in ("drying.oven_temperature", "drying.oven_proof"):
        if house[key] > house["drying.oven_ceiling"]:
            yield (
                key,
                f"is above drying.oven_ceiling; allowed is {house['drying.oven_ceiling']:g} degC or less",
            )
    yield from _rising(house, "drying.oven_temperature", "drying.oven_proof")
    if house["drying.glued_ceiling"] > house["drying.oven_ceiling"]:
        yield (
            "drying.glued_ceiling",
            f"is above drying.oven_ceiling; allowed is {house['drying.oven_ceiling']:g} degC or less",
        )


@rule(
    "drying.solvent", "drying.oven_volume", "drying.oven_temperature", "drying.safety_share",
    "piece.crack_volume",
)  # fmt: skip
def oven_against_the_cracks(house):
    """Even solvent left in the cracks alone must not bring the oven to the safety share."""
    solvent = house["drying.solvent"]
    mass = house["piece.crack_volume"] * LIQUID_DENSITY[solvent_place(solvent)]
    found = oven_vapour(
        solvent, mass, house["drying.oven_volume"], house["drying.oven_temperature"],
        house["drying.safety_share"],
    )  # fmt: skip
    if found["verdict"] == "stop":
        yield (
            "drying.oven_volume",
            f"is too small: {solvent} in the cracks (piece.crack_volume) alone makes "
            f"{found['share_of_limit']:.0f} % of the lower flammable limit; allowed is "
            f"{house['drying.safety_share']:g} %",
        )


@rule("drying.solvent", "drying.air_dry", "drying.room_temperature", "piece.crack_depth")
def air_dry_long_enough(house):
    """Solvent must have had the time to leave the deepest crack before the oven."""
    least = crack_drying_time(
        house["drying.solvent"], house["piece.crack_depth"], house["drying.room_temperature"]
    )
    if house["drying.air_dry"] < least:
        yield (
            "drying.air_dry",
            f"is too short for {house['drying.solvent']} to leave piece.crack_depth; "
            f"allowed is {least:.3g} h or more",
        )


@rule("drying.coefficient_low", "drying.coefficient", "drying.coefficient_high")
def coefficients_in_order(house):
    """The spread of a guess must enclose the value in use."""
    yield from _rising(house, "drying.coefficient_low", "drying.coefficient", "drying.coefficient_high")


@rule(
    "drying.balance", "drying.divisions", "drying.mass_drift", "drying.proof_share", "piece.mass",
    "piece.crack_volume",
)  # fmt: skip
def balance_fine_enough(house):
    """A balance that cannot see the crack's water would call a wet piece dry."""
    if house["piece.crack_volume"] <= 0:
        return
    try:
        least = balance_needed(
            house["piece.mass"], max(house["piece.crack_volume"], 0.0001), house["drying.divisions"],
            house["drying.mass_drift"], house["drying.proof_share"],
        )  # fmt: skip
    except Refusal:
        yield (
            "drying.mass_drift",
            (
                "hides the water in the cracks of the house's piece (piece.crack_volume); "
                "allowed is a smaller share"
            ),
        )
        return
    if house["drying.balance"] > least / 1000 * (1 + 1e-9):
        yield (
            "drying.balance",
            "is too coarse to prove the house's piece dry (piece.crack_volume); "
            f"allowed is {least / 1000:.3g} g or less",
        )


# --- tables ------------------------------------------------------------------------------------


@table(
    "soak-times",
    title="Hours in all baths together, by depth of the crack and temperature of the bath",
    question="How long must it soak?",
    notes=(
        "The hours of all baths add up, as long as each is large against what the cracks hold. They grow "
        "with the square of the depth. In brackets: with the fastest and with the "
        "slowest diffusivity that is likely, because nobody has measured it in a rusty crack.",
        "A crack open at both ends counts with half its length. Rust filling makes it two to four "
        "times slower. Soak times are for planning; dryness is shown by weighings.",
        "Baths are flammable: room temperature only, lids on, no spark, no heat, no electrolysis "
        "running in the room.",
    ),
    sources=("cussler",),
)
def soak_times_table(bench):
    """Depth by bath temperature, each with the spread of the diffusivity."""
    low, high = bench.value("drying.diffusivity_low"), bench.value("drying.diffusivity_high")

    def cell(depth, temperature):
        return Span(
            bench("soak-time", depth=depth, temperature=temperature, diffusivity=high),
            bench("soak-time", depth=depth, temperature=temperature),
            bench("soak-time", depth=depth, temperature=temperature, diffusivity=low),
        )

    return matrix(
        Axis("Crack depth", "mm", (0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 10.0)),
        Axis("Bath at", "degC", (15.0, 20.0, 25.0)),
        "h",
        cell,
    )


@table(
    "soaks-needed",
    title="Baths of fresh solvent needed, by what the piece carries and by the size of the bath",
    question="How many baths?",
    notes=(
        "Counts liquid that has become the same everywhere, so each bath must last its soak time. "
        "No number of baths gets below the water that the solvent itself holds.",
    ),
)
def soaks_needed_table(bench):
    """Water carried by bath size."""
    return matrix(
        Axis("Water carried in", "mL", (0.1, 0.5, 1.0, 2.0, 5.0, 10.0)),
        Axis("Solvent in each bath", "mL", (50.0, 100.0, 200.0, 500.0, 1000.0)),
        "1",
        lambda water, bath: bench("soaks-needed", water=water, bath=bath),
    )


@table(
    "soak-series",
    title="Water left in the cracks after each bath, for the house's piece",
    question="How dry is the liquid in the cracks after each bath?",
    notes=(
        "What diffuses in one bath carries over into the next, so the times add up. For a clean crack that "
        "does not empty by its weight; in brackets by the fastest and the slowest likely diffusivity.",
    ),
)
def soak_series_table(bench):
    """Bath after bath for the reference piece, each for the house's time."""
    film = bench("drag-out", area=bench.value("piece.area"), crack_volume=0.0)
    limit = bench.value("drying.water_limit")
    baths = bench.value("drying.soaks")
    time = bench.value("drying.soak")

    def series(diffusivity):
        answer = bench(
            "soak-sequence", depth=bench.value("piece.crack_depth"), times=[[time]] * baths,
            diffusivity=diffusivity, crack_volume=bench.value("piece.crack_volume"), film=film,
            bath=bench.value("drying.bath"), start=bench.value("drying.solvent_water"),
        )  # fmt: skip
        return [row[1] for row in answer["baths"]]

    guesses = ("drying.diffusivity_high", "drying.diffusivity", "drying.diffusivity_low")
    fast, best, slow = (series(bench.value(key)) for key in guesses)
    rows = [[0, 0.0, 100.0, Mark("wait", "above the limit")]]
    for bath in range(baths):
        left = best[bath]
        mark = Mark("go", "at or below the limit") if left <= limit else Mark("wait", "above the limit")
        rows.append([bath + 1, (bath + 1) * time, Span(fast[bath], left, slow[bath]), mark])
    return Sheet(
        [
            Column("Baths done"),
            Column("Hours in all", "h", 0),
            Column("Water in the cracks", "%", 2),
            Column("Against the house limit"),
        ],
        rows,
        notes=(f"{time:g} h in each bath; {film:.2f} mL clings outside and goes from bath to bath.",),
    )


def _place_mark(bench, solvent, mass_percent, bath):
    verdict = bench("bath-verdict", solvent=solvent, mass_percent=mass_percent, bath=bath)
    return Mark("go", "yes") if verdict["verdict"] == "use" else Mark("stop", "no")


LAST_BATH_NOTE = (
    "Why a last bath is judged more strictly: what it leaves in a crack as it dries in room air counts, and "
    "the humidity of the room matters more than the strength. Water vapour leaves faster than that of the "
    "solvent, and moist air gives some back. The mixture that boils unchanged, the azeotrope, does not tell. "
    "Nobody has measured it in a crack."
)


@table(
    "last-baths",
    title="Water left in a crack when the last bath has dried, by humidity of the room",
    question="Will the crack end dry?",
    notes=(
        "Per cent of the crack's volume when 99 % of the solvent has gone, in still air. Two sets of "
        "activity coefficients differ by up to a third where little is left. A cold film, a deep crack or "
        "salt in it leaves more.",
    ),
)
def last_baths_table(bench):
    """Solvent and strength by humidity."""
    limit = bench.value("drying.water_limit")
    humidities = (20.0, 35.0, 50.0, 65.0, 80.0)
    rows = []
    for solvent, strengths in (("2-propanol", (99.5, 91.0, 87.4, 70.0)), ("ethanol", (99.5, 93.8)),
                               ("acetone", (99.5, 95.0))):  # fmt: skip
        for strength in strengths:
            row: list = [solvent, strength]
            for humidity in humidities:
                left = bench("last-bath", solvent=solvent, mass_percent=strength, humidity=humidity)[
                    "water_left"
                ]
                shown = f"{left:.1g}" if left < 1 else f"{left:.2g}"
                row.append(Mark("go" if left <= limit else "stop", shown))
            rows.append(row)
    columns = [Column("Solvent"), Column("By mass", "%", 0)]
    columns += [Column(f"{humidity:g} %", group="Water left (%) in a room of") for humidity in humidities]
    return Sheet(columns, rows, (f"Go: at most {limit:g} % is left, the house's limit.",))


@table(
    "used-alcohol",
    title="What a density reading at 20 °C says of a used bath",
    question="Is this bath spent?",
    notes=(
        LAST_BATH_NOTE,
        "Tables of 2-propanol differ by 0.0012 g/cm³, half a per cent by mass; the table of 1921 is "
        "used, because it is finer and its dry end agrees with other data. A thermometer 5 °C wrong "
        "moves the answer by almost two per cent, so let the bath come to room temperature.",
    ),
)
def used_alcohol_table(bench):
    """Readings of the house solvent, judged for each place."""
    solvent = bench.value("drying.solvent")
    columns = [
        Column("Density", "g/cm^3", 0),
        Column("Strength", "%"),
        Column("last", group="Serves as bath"),
        Column("middle", group="Serves as bath"),
        Column("first", group="Serves as bath"),
    ]
    if solvent == "acetone":
        return Sheet(
            columns,
            [[None] * 5],
            notes=("No table of acetone and water is held here: judge an acetone bath by a water test.",),
        )
    if solvent == "2-propanol":
        name = "alcohol-strength"
        readings = (0.786, 0.788, 0.790, 0.793, 0.796, 0.798, 0.801, 0.805, 0.81, 0.82, 0.83, 0.84,
                    0.85, 0.86, 0.87, 0.88, 0.89)  # fmt: skip
    else:
        name = "ethanol-strength"
        readings = (0.79, 0.792, 0.794, 0.796, 0.798, 0.8, 0.803, 0.806, 0.81, 0.82, 0.83, 0.84, 0.85,
                    0.86, 0.87, 0.88, 0.89)  # fmt: skip
    rows = []
    for density in readings:
        strength = bench(name, density=density, temperature=20.0)
        marks = [_place_mark(bench, solvent, strength, bath) for bath in ("last", "middle", "first")]
        rows.append([density, strength, *marks])
    return Sheet(columns, rows, notes=(f"For {solvent}, the house's solvent.",))


@table(
    "bottle-strengths",
    title="Strength on the bottle, by volume, as strength by mass",
    question="Is the spirit from the shop dry enough?",
    notes=(LAST_BATH_NOTE,),
)
def bottle_strengths_table(bench):
    """Labels by volume turned into strength by mass."""
    named = [s for s in ("2-propanol", "ethanol") if s in bench.names("drying.places")]
    columns = [Column("On the bottle, by volume", "%", 0)]
    for solvent in named:
        columns += [Column("by mass", "%", 3, solvent), Column("last bath", group=solvent)]
    rows = []
    for volume in (50.0, 70.0, 80.0, 90.0, 91.0, 95.0, 96.0, 97.0, 99.0, 99.5):
        row = [volume]
        for solvent in named:
            strength = bench("strength-by-volume", solvent=solvent, volume_percent=volume)
            row += [strength, _place_mark(bench, solvent, strength, "last")]
        rows.append(row)
    return Sheet(columns, rows)


@table(
    "bath-places",
    title="Least strength of a bath in each place, by mass",
    question="When does a bath move down a place, and when is it waste?",
    notes=(
        LAST_BATH_NOTE,
        "A bath below its place moves one place towards the first; a fresh one becomes the last. Salt "
        "and rust gather in the first bath, so its chloride is tested before it is used again.",
    ),
)
def bath_places_table(bench):
    """The house limits, and what the last of them leaves in the house's room."""
    rows = []
    for solvent in bench.names("drying.places"):
        limits = [bench.value(f"drying.places.{solvent}.{place}") for place in ("first", "middle", "last")]
        left = bench("last-bath", solvent=solvent, mass_percent=limits[2])
        rows.append(
            [
                solvent,
                *limits,
                Mark("go" if left["verdict"] == "dries" else "stop", f"{left['water_left']:.1g}"),
            ]
        )
    return Sheet(
        [
            Column("Solvent"),
            *[Column(f"{place} bath", "%", 0) for place in ("First", "Middle", "Last")],
            Column("Leaves in the house's room (%)"),
        ],
        rows,
    )


@table(
    "vapour-pressures",
    title="Vapour pressure",
    question="How eagerly does it evaporate?",
    notes=(
        "For 2-propanol at 20 °C collections print 4.2 to 4.4 kPa; the set used gives 4.4, as the "
        "safety literature does. They meet above 60 °C.",
    ),
)
def vapour_pressures_table(bench):
    """Temperature by liquid."""
    return matrix(
        Axis("At", "degC", (10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 60.0, 80.0)),
        Axis("Liquid", "1", ("water", "2-propanol", "ethanol", "acetone")),
        "kPa",
        lambda temperature, solvent: bench("vapour-pressure", solvent=solvent, temperature=temperature),
    )


@table(
    "solvent-fire",
    title="What makes each solvent burn",
    question="How dangerous is this solvent?",
    notes=(
        "Two standards differ for ethanol and acetone: the lower of the lower limits, the higher of the "
        "upper limits and the lower ignition temperature are printed.",
        "Air over any of them in a closed jar at room temperature is in the flammable range or passes "
        "it when the jar is opened. The safety data sheet and local rules come first.",
    ),
)
def solvent_fire_table(bench):
    """Limits and temperatures of each solvent, and its closed jar."""
    room = bench.value("drying.room_temperature")
    rows = []
    for solvent in FLAMMABLE:
        limit = bench("flammable-limit", solvent=solvent, temperature=room)
        jar = bench("jar-vapour", solvent=solvent, temperature=room)
        rows.append(
            [
                solvent, limit["flash_point"], float(limit["lower"]), limit["upper"],
                limit["ignition"], float(jar["concentration"]), Mark("stop", jar["verdict"]),
            ]
        )  # fmt: skip
    return Sheet(
        [
            Column("Solvent"),
            Column("Flash point", "degC", 2),
            Column("lower", "%", 2, "Flammable limit"),
            Column("upper", "%", 3, "Flammable limit"),
            Column("Ignites at", "degC"),
            Column("vapour", "%", 2, "Closed jar at room temperature"),
            Column("burns", group="Closed jar at room temperature"),
        ],
        rows,
    )


@table(
    "oven-solvent",
    title="Liquid solvent that brings a closed oven to the safety share of the flammable limit",
    question="How little solvent is too much in an oven?",
    notes=(
        "No piece goes into an oven while it is wet with solvent or smells of it: it dries in moving "
        "air, away from heat and sparks, until its mass stands still.",
        "This is a margin for traces, not an allowance.",
    ),
)
def oven_solvent_table(bench):
    """Oven size by solvent."""
    temperature = bench.value("drying.oven_temperature")

    def millilitres(volume, solvent):
        found = bench("oven-solvent", solvent=solvent, oven_volume=volume, temperature=temperature)
        return found["volume"]

    sheet = matrix(
        Axis("Oven", "L", (10.0, 20.0, 40.0, 50.0, 100.0, 200.0)),
        Axis("Solvent", "1", tuple(FLAMMABLE)),
        "mL",
        millilitres,
        digits=2,
    )
    oven, solvent = bench.value("drying.oven_volume"), bench.value("drying.solvent")
    note = (
        f"In the house's oven of {oven:g} L, {millilitres(oven, solvent):.2g} mL of {solvent} make "
        f"{bench.value('drying.safety_share'):g} % of the lower flammable limit: a few drops in a crack."
    )
    return Sheet(sheet.columns, sheet.rows, notes=(note,))


@table(
    "flammable-volumes",
    title="Air that evaporated solvent can just make flammable, and air it needs to stay safe",
    question="How much air does a spill or an open dish need?",
    notes=(
        "Even mixing is assumed; real vapour is heavier than air and lies low and in pockets, so keep "
        "every spark and hot surface away whatever the table says.",
    ),
)
def flammable_volumes_table(bench):
    """Volume evaporated by solvent, at the limit and at the safety share."""
    room = bench.value("drying.room_temperature")
    columns = [Column("Evaporated", "mL", 0)]
    for solvent in FLAMMABLE:
        columns += [
            Column("just flammable", "L", 2, solvent),
            Column("at the safety share", "L", 2, solvent),
        ]
    rows = []
    for volume in (1.0, 5.0, 10.0, 20.0, 50.0, 100.0, 500.0):
        row = [volume]
        for solvent in FLAMMABLE:
            air = bench("flammable-volume", solvent=solvent, solvent_volume=volume, temperature=room)
            row += [air["just_flammable"], air["at_safety_share"]]
        rows.append(row)
    return Sheet(columns, rows)


def _square_slice_area(mass, thickness, density):
    """Return the whole surface [cm2] of a square slice, or None where it would be no slice."""
    side = sqrt(mass / density / (thickness / 10))
    if side < thickness / 10:
        return None
    return 2 * side**2 + 4 * side * thickness / 10


@table(
    "heat-up-times",
    title="Time until a piece is as warm as the oven, by mass and thickness of a square slice",
    question="How long until it is warm through?",
    notes=(
        "In brackets: with the highest and with the lowest heat transfer that is likely; a fan oven is "
        "faster than all of them. Water that evaporates keeps a wet piece cooler for longer.",
        "Being warm is not being dry. Dryness is shown by weighings on a fine enough balance, never by "
        "hours in the oven.",
        "Hot iron looks like cold iron: gloves, and a tray that says so.",
    ),
)
def heat_up_times_table(bench):
    """Mass by thickness, each with the spread of the heat transfer."""
    oven = bench.value("drying.oven_temperature")
    start = bench.value("drying.room_temperature")
    margin = bench.value("drying.oven_margin")
    density = bench.value("abrasives.density")
    low, high = bench.value("drying.coefficient_low"), bench.value("drying.coefficient_high")

    def minutes(mass, area, **given):
        found = bench(
            "heat-up-time", mass=mass, area=area, start=start, oven=oven, target=oven - margin, **given
        )
        return found["time"] / 60

    def cell(mass, thickness):
        area = _square_slice_area(mass, thickness, density)
        if area is None:
            return None
        return Span(
            minutes(mass, area, coefficient=high),
            minutes(mass, area),
            minutes(mass, area, coefficient=low),
        )

    return matrix(
        Axis("Mass", "g", (20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)),
        Axis("Thickness", "mm", (3.0, 6.0, 10.0, 20.0, 40.0)),
        "h",
        cell,
    )


@table(
    "crack-drying-times",
    title="Time for a full blind crack to dry out into moving air",
    question="How long until a crack is empty?",
    notes=(
        "The time grows with the square of the depth, and the answer is good to about a tenth for a "
        "clean crack. Salt, rust filling and hair-fine cracks make it longer, without a figure.",
        "Water out of a crack leaves its salt behind; that is why it is exchanged for solvent first.",
        "These hours are for planning. Dryness is shown by weighings on a fine enough balance.",
    ),
)
def crack_drying_times_table(bench):
    """Depth by liquid, in the room and in the oven."""
    room = bench.value("drying.room_temperature")
    humidity = bench.value("drying.room_humidity")
    glued, oven = bench.value("drying.glued_ceiling"), bench.value("drying.oven_temperature")
    at_room = "In the room"
    columns = [Column("Crack depth", "mm", 0)]
    columns += [Column(solvent, "h", 2, at_room) for solvent in (*FLAMMABLE, "water")]
    columns += [
        Column("water, glued piece", "h", 2, "In the oven"),
        Column("water, iron", "h", 2, "In the oven"),
    ]
    rows = []
    for depth in (1.0, 2.0, 3.0, 4.0, 6.0, 10.0):
        row = [depth]
        for solvent in FLAMMABLE:
            row.append(bench("crack-drying-time", solvent=solvent, depth=depth, temperature=room))
        row.append(
            bench("crack-drying-time", solvent="water", depth=depth, temperature=room, humidity=humidity)
        )
        for temperature in (glued, oven):
            warmed = bench("oven-humidity", oven=temperature)
            try:
                hours = bench(
                    "crack-drying-time", solvent="water", depth=depth, temperature=temperature,
                    humidity=warmed,
                )  # fmt: skip
            except Refusal:
                hours = Mark("stop", "boils")
            row.append(hours)
        rows.append(row)
    return Sheet(columns, rows)


@table(
    "balance-needed",
    title="Coarsest balance that can prove a piece dry, by its mass and by the water in its cracks",
    question="Is my balance fine enough?",
    notes=(
        "Where the cell says stop, the mass of the piece drifts by more than the water to be shown: no "
        "balance proves it, and the humidity in a sealed dry box is watched instead.",
        "The rule of porous solids, two weighings within 0.1 % of the mass, does not serve iron: on a "
        "piece of 200 g it lets 0.2 g pass, more than all the water in its cracks.",
    ),
)
def balance_needed_table(bench):
    """Mass by crack water."""
    return matrix(
        Axis("Mass of the piece", "g", (20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 5000.0)),
        Axis("Water in the cracks", "g", (0.01, 0.05, 0.1, 0.2, 0.5, 1.0)),
        "mg",
        lambda mass, water: bench("balance-needed", mass=mass, crack_water_guess=water),
        reasons={
            "drift": "a piece so heavy may drift by more than the proof asks for, so no balance shows so "
            "little water in it: watch the humidity in a sealed dry box instead"
        },
    )
