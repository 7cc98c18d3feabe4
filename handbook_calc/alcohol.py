"""Alcohol: strength of the solvent, its baths, soaking, and the vapour and fire of open solvent."""

from dataclasses import replace
from math import ceil, floor, log

from handbook_calc.diffusion import slab_fourier, slab_released
from handbook_calc.engine.calculation import (
    Label,
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
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import Choice, Count, Quantity
from handbook_calc.engine.house import family, section
from handbook_calc.engine.plot import plot, spaced, trace
from handbook_calc.engine.rules import above, rising, rule
from handbook_calc.engine.tables import Axis, Column, Mark, Sheet, against, figure, matrix, table
from handbook_calc.evaporation import LEAST_LIMIT, dried, group_mixture
from handbook_calc.plausible import duration
from handbook_calc.soaking import LEAST_CRACK, THROUGH, bath_diffusivity, open_depth
from handbook_calc.solvents import (
    ANTOINE_FROM,
    ANTOINE_TO,
    AZEOTROPE,
    FLAMMABLE,
    FLASH_POINT,
    IGNITION,
    LIMIT_ASSUMES,
    LIQUID_DENSITY,
    MOLAR_MASS,
    OUTSIDE_DATA,
    OVEN_TEMPERATURE_INPUT,
    PROPANOL_PERCENT,
    SAFETY_SHARE_INPUT,
    SOAK_DIFFUSIVITY_HIGH,
    SOAK_DIFFUSIVITY_LOW,
    SOLVENTS,
    UPPER_LIMIT,
    ethanol_density,
    lower_limit,
    molar_volume,
    propanol_density,
    propanol_density_at,
    propanol_percent,
    saturated_pressure,
    saturated_share,
    solvent_input,
    solvent_name,
    solvent_place,
)

# Last digit of a density reading: a dry spirit must not be refused for the rounding of its reading.
FALSE_POSITIONS = 100
CLOSE_DENSITY = 1e-14  # g/cm3
READING_STEP = 0.0001
# A room that is not told.
USUAL_HUMIDITY = 50  # %
USUAL_TEMPERATURE = 20  # degC
WARMEST_SOAK = 30  # degC
WEAKEST_LAST = 20  # % by mass; weaker than that it is water with some solvent in it

section(
    "drying",
    Choice("solvent", "solvent of the baths", options=FLAMMABLE, normal=solvent_name, kind="solvent",
           hints=False),
    Quantity("diffusivity", "water through the bath in a crack, value in use, at 25 °C",
             unit="um^2/s", low=10, high=10_000),
    Quantity("diffusion_activation", "activation energy of diffusion in the bath", unit="kJ/mol",
             low=5, high=40),
    Quantity("soak_fraction", "share of the water in a crack that one soak must bring out", unit="%",
             low=50, high=99.9),
    Quantity("soak_temperature", "temperature of the baths", unit="degC", low=5, high=WARMEST_SOAK,
             limit="most", why="flammable baths are kept at room temperature"),
    Quantity("bath", "solvent in one bath", unit="mL", low=10, high=5000),
    Quantity("bath_ratio", "a bath holds at least so many times the liquid in the cracks", low=5,
             high=1000),
    Count("soaks", "baths that every piece goes through", low=1, high=8),
    Quantity("soak", "time in each bath", unit="h", low=0.5, high=200),
    Quantity("solvent_water", "water in the fresh solvent, by volume", unit="%", low=0, high=15),
    Quantity("water_limit", "water allowed in the cracks after the last bath, by volume", unit="%",
             low=0.01, high=20),
    Quantity("open_solvent", "solvent that may stand open at one time", unit="mL", low=1, high=250,
             limit="most", why="more than a jar for one piece is never open at a time"),
    Quantity("safety_share", "vapour allowed in an oven, of the lower flammable limit", unit="%",
             low=1, high=25, limit="most",
             why="oven standards set 25 % for ovens without a vapour indicator"),
)  # fmt: skip
family(
    "drying.places",
    "solvent",
    Quantity("first", "least strength of a first bath, by mass", unit="%", low=20, high=100),
    Quantity("middle", "least strength of a middle bath, by mass", unit="%", low=20, high=100),
    Quantity("last", "least strength of a last bath, by mass", unit="%", low=50, high=100),
)


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
    results=Number("mass_percent", "%", "2-propanol, by mass", 3),
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
                 high=40, why="the formula of the standard ends at 40 °C", example="20 degC"),
    ),
    results=Number("mass_percent", "%", "ethanol, by mass", 4),
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
    """The strength at which the standard's formula gives the density, by false position between the ends."""
    heaviest = ethanol_density(0, temperature)
    lightest = ethanol_density(100, temperature)
    if density > heaviest + READING_STEP:
        refuse("heavier", heaviest)
    if density < lightest - READING_STEP:
        refuse("lighter", lightest)
    low = 0
    high = 100
    above = heaviest - density
    below = density - lightest
    if above <= 0:
        return low
    if below <= 0:
        return high
    side = 0
    middle = 0
    for _ in range(FALSE_POSITIONS):
        middle = low + (high - low) * above / (above + below)
        miss = ethanol_density(middle, temperature) - density
        if abs(miss) <= CLOSE_DENSITY:
            break
        # An end that stays for a second time counts for half, or it would stay for good.
        if miss > 0:
            low = middle
            above = miss
            below = below / 2 if side > 0 else below
            side = 1
        else:
            high = middle
            below = -miss
            above = above / 2 if side < 0 else above
            side = -1
    return middle


@calculation(
    "strength-by-volume",
    title="Per cent by mass of a spirit labelled by volume",
    inputs=(
        solvent_input(["2-propanol", "ethanol"], "ethanol"),
        Quantity("volume_percent", "strength on the bottle, by volume at 20 °C", unit="%", low=0,
                 high=100, example="96 %"),
    ),
    results=Number("mass_percent", "%", "strength by mass", 4),
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
    inputs=(solvent_input(),),
    results=Number("mass_percent", "%", "solvent in the mixture that boils unchanged, by mass",
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
        solvent_input(),
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
                   low=0, high=95, because="from air dried with gel to air in which nothing dries",
                   optional=True),
        from_house("drying.room_temperature", name="temperature", about="temperature of the drying room",
                   optional=True),
        from_house("drying.water_limit", about="water allowed in the cracks, by volume", optional=True),
    ),
    results=(
        Verdict("verdict", "what to do with the bath", stops=(), words={
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
            "limit": "The house asks at least {0 % up} by mass in this place.",
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
    allowed = LEAST_LIMIT if water_limit is None else water_limit
    water = 100
    if mass_percent >= WEAKEST_LAST and (mass_percent >= last_limit or bath == "last"):
        warm = USUAL_TEMPERATURE if temperature is None else temperature
        place = solvent_place(solvent)
        water = dried(place, group_mixture(solvent, warm), mass_percent, damp / 100, warm)[0]
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
    if bath == "last":
        needed = 3
        least = last_limit
    elif bath == "middle":
        needed = 2
        least = middle_limit
    else:
        needed = 1
        least = first_limit
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
                 low=0.001, high=1000, example="2.3 mL", of_piece="drag-out"),
        Quantity("bath", "solvent in each bath, before the piece goes in", unit="mL", low=1,
                 high=50_000, example="{drying.bath}"),
        Count("soaks", "baths gone through, each fresh", low=0, high=20, example="{drying.soaks}"),
        from_house("drying.solvent_water", high=50,
                   because="a used solvent holds more water than any bench would buy"),
    ),
    results=Number("water_percent", "%", "water in the liquid on the piece, by volume"),
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
                 low=0.001, high=1000, example="2.3 mL", of_piece="drag-out"),
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
    from_house("drying.soak_temperature", name="temperature", low=0, high=40, free=True,
               because="a flammable bath is never warmed"),
    from_house("drying.diffusivity", about="water through the bath in the crack, at 25 °C", low=1,
               because="rust that fills a crack slows the water below any open bath"),
    from_house("drying.diffusion_activation", name="activation_energy", low=0, high=60,
               because="none stands for a diffusivity that was measured at the bath's own temperature"),
)  # fmt: skip
SOAK_ASSUMES = (
    "a blind crack, open at its mouth only; of one that is open at both ends half the length counts",
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
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=200, example="{piece.crack_depth}"),
        from_house("drying.soak_fraction", name="fraction", low=1,
                   because="the law of diffusion holds for any share"),
        *SOAK_INPUTS,
        from_house("drying.soak_temperature", name="warmest", about="warmest that a bath may be",
                   optional=True),
        THROUGH,
    ),
    results=(
        duration("time", "h", "time in the bath", safe="up"),
        Verdict("verdict", "may a bath be as warm as that", stops=("stop",), words={
            "go": "a bath of {temperature} is no warmer than the baths of this house",
            "stop": "a bath of {temperature} is warmer than the baths of this house: more vapour, nearer to "
            "a fire. Let it cool in the room, lid on, and soak longer; a flammable bath is never warmed",
        }),
    ),
    assumes=SOAK_ASSUMES,
    sources=("crank-1975", "pang-2007", "pratt-1975"),
)  # fmt: skip
def soak_time(depth, fraction, temperature, diffusivity, activation_energy, warmest, through):
    """Time at which the share has left a slab open on one face; grows with the depth squared."""
    at_bath = bath_diffusivity(diffusivity, activation_energy, temperature)
    fourier = slab_fourier(fraction / 100)
    seconds = fourier * (open_depth(depth, through) * 1000) ** 2 / at_bath
    limit = WARMEST_SOAK if warmest is None else warmest
    verdict = "stop" if temperature > limit else "go"
    return {"time": seconds / 3600, "verdict": verdict}


@calculation(
    "soaked-fraction",
    curve="time",
    limit="drying.soak_fraction",
    title="Share of a crack's water that a soak brings out",
    inputs=(
        Quantity("time", "time in the bath", unit="h", low=0, high=20_000, example="24 h"),
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=200, example="{piece.crack_depth}"),
        *SOAK_INPUTS,
        THROUGH,
    ),
    results=Number("fraction", "%", "share of the water that has come out"),
    assumes=SOAK_ASSUMES,
    sources=("crank-1975", "pang-2007", "pratt-1975"),
)
def soaked_fraction(time, depth, temperature, diffusivity, activation_energy, through):
    """Share that has left a slab open on one face."""
    at_bath = bath_diffusivity(diffusivity, activation_energy, temperature)
    fourier = at_bath * time * 3600 / (open_depth(depth, through) * 1000) ** 2
    return 100 * slab_released(fourier)


# --- vapour and fire ---------------------------------------------------------------------------


@calculation(
    "vapour-pressure",
    curve="temperature",
    title="Vapour pressure",
    inputs=(
        solvent_input(SOLVENTS),
        Quantity(
            "temperature",
            "temperature of the liquid",
            unit="degC",
            low=-25,
            high=150,
            example="{drying.room_temperature}",
        ),
    ),
    results=Number("pressure", "kPa", "pressure of the vapour over the pure liquid"),
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


@calculation(
    "flammable-limit",
    title="Flammable limits of a solvent's vapour in air",
    inputs=(solvent_input(), OVEN_TEMPERATURE_INPUT),
    results=(
        Number("lower", "%", "vapour by volume at which a mixture with air begins to burn", safe="down"),
        Number("upper", "%", "vapour by volume above which it is too rich to burn", safe="up"),
        Number("flash_point", "degC", "temperature from which an open dish can be lit", safe="down"),
        Number(
            "ignition", "degC", "temperature of a hot surface that lights it without a spark", safe="down"
        ),
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
        solvent_input(),
        Quantity("temperature", "temperature of the jar", unit="degC", low=10, high=45,
                 why="below, vapour pressure data end; above, a jar of solvent is kept cool",
                 example="{drying.room_temperature}"),
    ),
    results=(
        Number("concentration", "%", "vapour in the air of the jar, by volume"),
        Verdict("verdict", "against the flammable range", stops=(), words={
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
    "flammable-volume",
    title="Air that spilled or evaporated solvent makes flammable",
    inputs=(
        solvent_input(),
        Quantity("solvent_volume", "liquid that evaporates", unit="mL", low=0, high=20_000,
                 example="{drying.open_solvent}"),
        replace(OVEN_TEMPERATURE_INPUT, example="{drying.room_temperature}"),
        SAFETY_SHARE_INPUT,
    ),
    results=(
        Number("just_flammable", "L", "air that it can just make flammable", safe="up"),
        Number("at_safety_share", "L", "air it needs to stay at the safety share", safe="up"),
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


# --- combinations that the house standard may not hold -----------------------------------------


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
        yield from rising(
            house, f"{key}.first", f"{key}.middle", f"{key}.last",
            because="a drier place asks for a stronger bath",
        )  # fmt: skip
        at = [house[f"{key}.last"], DRIEST_ROOM / 100, house["drying.room_temperature"]]
        mixture = group_mixture(solvent, at[2])
        left = dried(solvent_place(solvent), mixture, max(WEAKEST_LAST, at[0]), at[1], at[2])[0]
        if left > house["drying.water_limit"]:
            yield (
                f"{key}.last",
                f"would leave {left:.2g} % of a crack as water as the {solvent} dries off, even in a room of "
                f"{DRIEST_ROOM:g} %; allowed is what leaves at most drying.water_limit",
            )


above(
    "drying.water_limit", "drying.solvent_water", because="no number of soaks gets below the solvent itself"
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
    surface = house["piece.area"] / 10_000
    carried = surface * house["rinsing.film"] + house["piece.crack_volume"]
    water = soaks_needed.input("water")
    assert isinstance(water, Quantity)
    most = water.high
    if carried > most:
        film = floor((most - house["piece.crack_volume"]) / surface)
        yield (
            "rinsing.film",
            f"lets piece.area carry {carried:g} mL into the first bath, more than soaking takes out; "
            f"allowed is up to {film} mL/m^2",
        )
        return
    try:
        least = soaks_needed(
            max(carried, 0.001), house["drying.bath"], house["drying.water_limit"],
            house["drying.solvent_water"],
        )  # fmt: skip
    except Refusal:  # a limit below the solvent's own water has its own rule
        return
    if house["drying.soaks"] < least:
        yield "drying.soaks", f"does not reach drying.water_limit; allowed is {least} or more"


# --- tables ------------------------------------------------------------------------------------


@table(
    "soak-times",
    title="Hours in all baths together, by depth of the crack and temperature of the bath",
    question="How long must it soak?",
    notes=(
        "The hours of all baths add up, as long as each is large against what the cracks hold. They grow "
        "with the square of the depth. In brackets, what the span of the diffusivity makes of it, "
        "because nobody has measured it in a rusty crack.",
        "A crack open at both ends counts with half its length. Rust filling makes it two to four "
        "times slower. Soak times are for planning; dryness is shown by weighings.",
        "Baths are flammable: room temperature only, lids on, no spark, no heat, no electrolysis "
        "running in the room.",
    ),
    sources=("cussler",),
)
def soak_times_table(bench):
    """Depth by bath temperature, each with the spread of the diffusivity."""
    return matrix(
        Axis("Crack depth", "mm", (0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 10.0)),
        Axis("Bath at", "degC", (15.0, 20.0, 25.0)),
        "h",
        lambda depth, temperature: bench("soak-time", depth=depth, temperature=temperature)["time"],
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
        "does not empty by its weight, of the depth given. "
        "In brackets, what the spans of depth, diffusivity, volume of the cracks and film make of it.",
    ),
    own_piece=("soak-sequence",),
)
def soak_series_table(bench):
    """Bath after bath for the reference piece, each for the house's time."""
    film = bench("drag-out", area=bench.value("piece.area"), crack_volume=0.0)
    limit = bench.value("drying.water_limit")
    baths = bench.value("drying.soaks")
    time = bench.value("drying.soak")

    crack = bench.value("piece.crack_volume")
    note = f"{time:g} h in each bath; {figure(film, 'mL')} clings outside and goes from bath to bath."
    if crack < LEAST_CRACK:
        rows = [[0, 0.0, None, Mark("go", "no cracks to dry")]]
        note = f"A sound piece holds nothing in cracks: only the {figure(film, 'mL')} outside has to dry."
    else:
        answer = bench(
            "soak-sequence",
            depth=bench.value("piece.crack_depth"), times=[[time]] * baths, crack_volume=crack, film=film,
            bath=bench.value("drying.bath"), start=bench.value("drying.solvent_water"),
        )  # fmt: skip
        rows = [[0, 0.0, 100.0, Mark("wait", "above the limit")]]
        for bath, left, _ in answer["baths"]:
            rows.append([bath, bath * time, left, against(limit, left)])
    return Sheet(
        [
            Column("Baths done"),
            Column("Hours in all", "h", 0),
            Column("Water in the cracks", "%", 2),
            Column("Against the house limit"),
        ],
        rows,
        notes=(note,),
    )


def _place_marks(bench, solvent, mass_percent, *places):
    """Return for each place whether a bath of this strength serves there."""
    last = bench("bath-verdict", solvent=solvent, mass_percent=mass_percent, bath="last")
    wetter = ("none", "first", "middle", "last")
    serves = wetter[: wetter.index(last["serves_as"]) + 1]
    marks = {True: ("go", "yes"), False: ("stop", "no")}
    return [Mark(*marks[place in serves], last["verdict"] if place == "last" else "") for place in places]


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
                row.append(replace(against(limit, left), word=shown))
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
        marks = _place_marks(bench, solvent, strength, "last", "middle", "first")
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
            row += [strength, *_place_marks(bench, solvent, strength, "last")]
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
                Mark(
                    "go" if left["verdict"] == "dries" else "stop",
                    f"{left['water_left']:.1g}",
                    left["verdict"],
                ),
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
                limit["ignition"], float(jar["concentration"]),
                Mark("stop", str(jar["verdict"]), jar["verdict"]),
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


# --- plots -------------------------------------------------------------------------------------


@plot(
    "soak",
    title="Water out of the house's crack, hour by hour",
    table="soak-times",
    notes=(
        "The band is what the span of the diffusivity makes of it. The upright line is the house's number of "
        "baths, each for its time.",
    ),
)
def soak_plot(bench):
    """Share of the water out over hours, for the house's depth and for half of it."""
    depth = float(bench.value("piece.crack_depth"))
    share = bench.value("drying.soak_fraction")
    spent = bench.value("drying.soaks") * bench.value("drying.soak")
    needed = float(bench("soak-time", depth=depth)["time"])
    hours = spaced(0.0, 1.3 * max(needed, spent), 40, 2)
    lines = []
    for each in (depth / 2, depth):
        points = trace(hours, lambda hour, each=each: bench("soaked-fraction", time=hour, depth=each))
        if each != depth:
            points = [(hour, float(y) if isinstance(y, float) else y) for hour, y in points]
        lines.append(Line(f"{each:g} mm", points))
    return Chart(
        Scale("Time in all baths", "h", 0.0, hours[-1]),
        Scale("Water out", "%", 0.0, 100.0),
        lines,
        [Limit(f"house share, {share:g} %", share), Limit("house baths", spent, "x")],
    )
