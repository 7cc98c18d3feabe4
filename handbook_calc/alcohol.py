"""Alcohol: strength of the solvent, its baths, soaking, and the vapour and fire of open solvent."""

from math import ceil, exp, floor, log

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
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import Choice, Count, Quantity
from handbook_calc.engine.house import family, section
from handbook_calc.engine.rules import above, between, rising, rule
from handbook_calc.engine.tables import Axis, Column, Mark, Sheet, Span, matrix, table
from handbook_calc.solvents import (
    ANTOINE_FROM,
    ANTOINE_TO,
    AZEOTROPE,
    FLAMMABLE,
    FLASH_POINT,
    GAS,
    IGNITION,
    KELVIN,
    LIMIT_ASSUMES,
    LIQUID_DENSITY,
    MOLAR_MASS,
    OUTSIDE_DATA,
    OVEN_TEMPERATURE,
    PROPANOL_PERCENT,
    SAFETY_SHARE,
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

# Diffusivities of the bath are stated at this temperature.
STATED_AT = 25
# Last digit of a density reading: a dry spirit must not be refused for the rounding of its reading.
READING_STEP = 0.0001

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
    Quantity("solvent_water", "water in the fresh solvent, by volume", unit="%", low=0, high=15),
    Quantity("water_limit", "water allowed in the cracks after the last bath, by volume", unit="%",
             low=0.01, high=20),
    Quantity("open_solvent", "solvent that may stand open at one time", unit="mL", low=1, high=250),
    Quantity("safety_share", "vapour allowed in an oven, of the lower flammable limit", unit="%",
             low=1, high=25, why="oven standards set 25 % for ovens without a vapour indicator"),
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
                 low=0.7, high=1.05),
        Quantity("temperature", "temperature of the liquid when it was read", unit="degC", low=10,
                 high=30, why="the fall of density with temperature is known for that range; let the "
                 "liquid come to room temperature"),
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
                 low=0.7, high=1.05),
        Quantity("temperature", "temperature of the liquid when it was read", unit="degC", low=0,
                 high=40, why="the formula of the standard ends at 40 degC"),
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
        solvent_input(["2-propanol", "ethanol"]),
        Quantity("volume_percent", "strength on the bottle, by volume at 20 degC", unit="%", low=0,
                 high=100),
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
    title="Strength below which a drying crack ends wet",
    inputs=(solvent_input(),),
    results=Figure("mass_percent", "%", "solvent in the mixture that evaporates unchanged, by mass",
                   3, optional=True, without="none: the water always stays behind"),
    assumes=(
        "printed values at the boiling point; at room temperature that of 2-propanol lies near 87 %, "
        "that of ethanol higher, at 98 to 99 %",
    ),
    sources=("azeotrope-propanol", "azeotrope-ethanol"),
)  # fmt: skip
def azeotrope(solvent):
    """Looked up; above it the water leaves first, below it the solvent does."""
    strength = AZEOTROPE[solvent_place(solvent)]
    return strength if strength > 0 else None


@calculation(
    "bath-verdict",
    title="Place of a used bath",
    inputs=(
        solvent_input(),
        Quantity("mass_percent", "strength of the bath, by mass", unit="%", low=0, high=100),
        Choice("bath", "place in which it stands", options=("first", "middle", "last"), kind="place"),
        Quantity("first_limit", "least strength of a first bath", unit="%", low=0, high=100,
                 house="drying.places.{solvent}.first"),
        Quantity("middle_limit", "least strength of a middle bath", unit="%", low=0, high=100,
                 house="drying.places.{solvent}.middle"),
        Quantity("last_limit", "least strength of a last bath", unit="%", low=0, high=100,
                 house="drying.places.{solvent}.last"),
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
            "azeotrope": "Weaker than {0 %} by mass the solvent leaves a crack before the water does: "
            "the crack ends wet.",
            "no-azeotrope": "Acetone always leaves before the water, so whatever water the last bath "
            "holds stays in the crack: that bath must itself be dry.",
            "limit": "The house asks at least {0 %} by mass in this place.",
        }),
    ),
    assumes=("the strength was measured on this bath, not read off its bottle",),
    sources=("azeotrope-propanol", "azeotrope-ethanol"),
    refusals={
        "limits": "the limits fall from a wetter place to a drier one (first {first_limit}, middle "
        "{middle_limit}, last {last_limit}); put them in rising order",
    },
)  # fmt: skip
def bath_verdict(solvent, mass_percent, bath, first_limit, middle_limit, last_limit):
    """Each place asks a least strength; a last bath must also be on the dry side of the azeotrope."""
    if first_limit > middle_limit or middle_limit > last_limit:
        refuse("limits")
    strength = AZEOTROPE[solvent_place(solvent)]
    least_last = max(last_limit, strength)
    rank = 0
    serves_as = "none"
    if mass_percent >= first_limit:
        rank = 1
        serves_as = "first"
    if mass_percent >= middle_limit:
        rank = 2
        serves_as = "middle"
    if mass_percent >= least_last:
        rank = 3
        serves_as = "last"
    needed = 1
    least = first_limit
    if bath == "middle":
        needed = 2
        least = middle_limit
    if bath == "last":
        needed = 3
        least = least_last
    reasons = []
    if rank < needed:
        reasons.append(because("limit", least))
        if bath == "last" and strength == 0:
            reasons.append(because("no-azeotrope"))
        if bath == "last" and mass_percent < strength:
            reasons.append(because("azeotrope", strength))
    verdict = "use" if rank >= needed else "move down one place" if rank > 0 else "discard"
    return {"verdict": verdict, "serves_as": serves_as, "reasons": reasons}


# --- soaking -----------------------------------------------------------------------------------


@calculation(
    "soak-residue",
    title="Water left after a number of soaks",
    inputs=(
        Quantity("water", "water the piece brings along, on its surface and in its cracks", unit="mL",
                 low=0.001, high=1000),
        Quantity("bath", "solvent in each bath, before the piece goes in", unit="mL", low=1,
                 high=50_000),
        Count("soaks", "baths gone through, each fresh", low=0, high=20),
        Quantity("solvent_water", "water in the fresh solvent, by volume", unit="%", low=0, high=50,
                 house="drying.solvent_water"),
    ),
    results=Figure("water_percent", "%", "water in the liquid on the piece, by volume"),
    assumes=(
        "each soak lasts until the liquid is the same everywhere, cracks included: the soak time is "
        "what takes long, so for deep cracks this answer is the least that is left",
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
                 low=0.001, high=1000),
        Quantity("bath", "solvent in each bath, before the piece goes in", unit="mL", low=1,
                 high=50_000, house="drying.bath"),
        Quantity("water_limit", "water allowed at the end, by volume", unit="%", low=0.001, high=100,
                 house="drying.water_limit"),
        Quantity("solvent_water", "water in the fresh solvent, by volume", unit="%", low=0, high=50,
                 house="drying.solvent_water"),
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


def bath_diffusivity(diffusivity, activation_energy, temperature):
    """Return the diffusivity at a temperature [degC] from that stated at 25 degC."""
    warmer = 1 / (STATED_AT + KELVIN) - 1 / (temperature + KELVIN)
    return diffusivity * exp(activation_energy * 1000 / GAS * warmer)


SOAK_INPUTS = (
    Quantity("temperature", "temperature of the bath", unit="degC", low=0, high=40,
             why="a flammable bath is never warmed", house="drying.soak_temperature"),
    Quantity("diffusivity", "water through the bath in the crack, at 25 degC", unit="um^2/s", low=1,
             high=10_000, house="drying.diffusivity"),
    Quantity("activation_energy", "activation energy of that diffusion", unit="kJ/mol", low=0,
             high=60, house="drying.diffusion_activation"),
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
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=50),
        Quantity("fraction", "share of the water that is to come out", unit="%", low=1, high=99.9,
                 house="drying.soak_fraction"),
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
        Quantity("time", "time in the bath", unit="h", low=0, high=20_000),
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=50),
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


@calculation(
    "vapour-pressure",
    curve="temperature",
    title="Vapour pressure",
    inputs=(
        solvent_input(SOLVENTS),
        Quantity("temperature", "temperature of the liquid", unit="degC", low=-25, high=150),
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


@calculation(
    "flammable-limit",
    title="Flammable limits of a solvent's vapour in air",
    inputs=(solvent_input(), OVEN_TEMPERATURE),
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
        solvent_input(),
        Quantity("temperature", "temperature of the jar", unit="degC", low=10, high=45,
                 why="a jar of solvent is kept cool"),
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
    "flammable-volume",
    title="Air that spilled or evaporated solvent makes flammable",
    inputs=(
        solvent_input(),
        Quantity("solvent_volume", "liquid that evaporates", unit="mL", low=0, high=20_000),
        OVEN_TEMPERATURE,
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


# --- combinations that the house standard may not hold -----------------------------------------


between(
    "drying.diffusivity", "drying.diffusivity_low", "drying.diffusivity_high",
    because="the value in use lies between the slowest and the fastest likely",
)  # fmt: skip


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


@rule("drying.solvent", "drying.places")
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
        least = AZEOTROPE[solvent_place(solvent)] or 99
        if house[f"{key}.last"] < least:
            yield (
                f"{key}.last",
                f"would leave water in cracks as the {solvent} dries off; allowed is {least:g} % or more",
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
    most = soaks_needed.input("water").high
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
    title="Time in each bath, by depth of the crack and temperature of the bath",
    question="How long must it soak?",
    notes=(
        "The time grows with the square of the depth. In brackets: with the fastest and with the "
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
    title="Water left after each bath, for the house's piece",
    question="How dry is the liquid in the cracks after each bath?",
)
def soak_series_table(bench):
    """Bath after bath for the reference piece."""
    carried = bench(
        "drag-out", area=bench.value("piece.area"), crack_volume=bench.value("piece.crack_volume")
    )
    bath = bench.value("drying.bath")
    limit = bench.value("drying.water_limit")
    rows = []
    for soaks in range(bench.value("drying.soaks") + 1):
        left = bench("soak-residue", water=carried, bath=bath, soaks=soaks)
        mark = Mark("go", "at or below the limit") if left <= limit else Mark("wait", "above the limit")
        rows.append([soaks, float(left), mark])
    return Sheet(
        [Column("Baths done"), Column("Water", "%"), Column("Against the house limit")],
        rows,
        notes=(f"The piece carries {carried:.2f} mL from bath to bath.",),
    )


def _place_mark(bench, solvent, mass_percent, bath):
    verdict = bench("bath-verdict", solvent=solvent, mass_percent=mass_percent, bath=bath)
    return Mark("go", "yes") if verdict["verdict"] == "use" else Mark("stop", "no")


AZEOTROPE_NOTE = (
    "Why a last bath is judged more strictly: on the dry side of the azeotrope the water leaves a "
    "crack first, on the wet side the solvent does, and the crack ends wet. 2-propanol has its "
    f"azeotrope at {AZEOTROPE[1]:g} % by mass. Ethanol has it at {AZEOTROPE[2]:.1f} %, so that "
    f"ordinary spirit of 96 % by volume ({strength_by_volume('ethanol', 96.0):.1f} % by mass) is "
    "already on the wrong side. Acetone has none: its water always stays behind."
)


@table(
    "used-alcohol",
    title="What a density reading at 20 °C says of a used bath",
    question="Is this bath spent?",
    notes=(
        AZEOTROPE_NOTE,
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
    notes=(AZEOTROPE_NOTE,),
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
        AZEOTROPE_NOTE,
        "A bath below its place moves one place towards the first; a fresh one becomes the last. Salt "
        "and rust gather in the first bath, so its chloride is tested before it is used again.",
    ),
)
def bath_places_table(bench):
    """The house limits beside the azeotrope."""
    rows = []
    for solvent in bench.names("drying.places"):
        limits = [bench.value(f"drying.places.{solvent}.{place}") for place in ("first", "middle", "last")]
        rows.append([solvent, *limits, bench("azeotrope", solvent=solvent)])
    return Sheet(
        [
            Column("Solvent"),
            *[Column(f"{place} bath", "%", 0) for place in ("First", "Middle", "Last")],
            Column("Azeotrope", "%"),
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
