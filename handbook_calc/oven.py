"""Oven: solvent out in the open, the last of water and solvent out by warmth and time, and the proof."""

from math import log, pi, sqrt

from handbook_calc.engine.calculation import Number, Reasons, Verdict, because, calculation, refuse
from handbook_calc.engine.chart import Chart, Line, Scale
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import MEASURED, Choice, Quantity, Rows
from handbook_calc.engine.house import section
from handbook_calc.engine.known import scaled
from handbook_calc.engine.plot import plot, trace
from handbook_calc.engine.rules import at_least, at_least_figure, at_most, rule, shown
from handbook_calc.engine.tables import Axis, Column, Mark, Sheet, matrix, table
from handbook_calc.exchange import sine
from handbook_calc.plausible import duration
from handbook_calc.soaking import THROUGH, open_depth
from handbook_calc.solvents import (
    ANTOINE_FROM,
    ANTOINE_TO,
    ATMOSPHERE,
    FLAMMABLE,
    GAS,
    KELVIN,
    LIMIT_ASSUMES,
    LIQUID_DENSITY,
    MOLAR_MASS,
    OUTSIDE_DATA,
    OVEN_TEMPERATURE_INPUT,
    SAFETY_SHARE_INPUT,
    SOLVENTS,
    UPPER_LIMIT,
    fuller_diffusivity,
    lower_limit,
    molar_volume,
    saturated_pressure,
    saturated_share,
    solvent_input,
    solvent_place,
)

ANGLE_STEPS = 12
SETTLED = 1e-15
SLIGHT = 1e-6  # a Biot number below which the first terms in it hold to the last digit that counts
RUST_FILLED = 4  # rust that fills a crack slows what leaves it two to four times

section(
    "drying",
    Quantity("air_dry", "time in moving air, away from heat, before the oven", unit="h", low=1,
             high=168),
    Quantity("room_temperature", "temperature of the drying room", unit="degC", low=10, high=35),
    Quantity("room_humidity", "relative humidity of the drying room", unit="%", low=5, high=90),
    Quantity("oven_volume", "inside of the oven", unit="L", low=5, high=1000),
    Quantity("oven_temperature", "temperature at which iron is dried", unit="degC", low=35, high=150),
    Quantity("oven_proof", "temperature of the last hold that proves dryness", unit="degC", low=35,
             high=150),
    Quantity("oven_ceiling", "temperature no piece ever exceeds", unit="degC", low=60, high=150,
             limit="most",
             why="temper colours spoil a bright face and rust minerals change from about 200 °C"),
    Quantity("glued_ceiling", "ceiling for stony irons and for glued, waxed or resin-filled pieces",
             unit="degC", low=30, high=80, limit="most", why="glue softens and olivine cracks above"),
    Quantity("oven_ramp", "fastest rise of the oven", unit="delta_degC/h", low=5, high=120),
    Quantity("oven_hold", "time in the oven before the first weighing", unit="h", low=1, high=168),
    Quantity("oven_margin", "a piece this close to the oven's temperature counts as warm",
             unit="delta_degC", low=0.5, high=10),
    Quantity("coefficient", "heat transfer in the oven, value in use", unit="W/m^2/K", low=1,
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


# --- vapour and fire ---------------------------------------------------------------------------


@calculation(
    "oven-vapour",
    title="Solvent vapour in a closed oven",
    inputs=(
        solvent_input(),
        Quantity("solvent_mass", "solvent that may come off in the oven", unit="g", low=0, high=5000,
                 example="0.2 g", of_piece=MEASURED),
        from_house("drying.oven_volume", low=1, high=2000,
                   because="from a jar to a chamber that is walked into"),
        OVEN_TEMPERATURE_INPUT,
        SAFETY_SHARE_INPUT,
    ),
    results=(
        Number("concentration", "%", "vapour in the oven's air, by volume"),
        Number("share_of_limit", "%", "share of the lower flammable limit"),
        Verdict("verdict", "may such a piece go in", stops=("stop",), words={
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
        solvent_input(),
        from_house("drying.oven_volume", low=1, high=2000,
                   because="from a jar to a chamber that is walked into"),
        OVEN_TEMPERATURE_INPUT,
        SAFETY_SHARE_INPUT,
    ),
    results=(
        Number("mass", "g", "mass of liquid", safe="down"),
        Number("volume", "mL", "volume of liquid at 20 °C", safe="down"),
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
    angle = first_angle(round_piece, biot)
    high = sine(pi - angle) if angle > pi / 2 else sine(angle)
    along = sine(pi / 2 - angle)
    product = high * along
    if round_piece:
        first = 1 + 0.3 * biot if biot < SLIGHT else 2 * (high - angle * along) / (angle - product)
    else:
        first = 2 * high / (angle + product)
    return max(0, log(first * gap_ratio) / angle**2)


def first_angle(round_piece, biot):
    """Return the first root of x tan x = Bi for a wall, of 1 - x cot x = Bi for a sphere.

    Both sides rise ever more steeply to their pole, so Newton's steps from above end at the root from above.
    The start is where the first term of the expansion about the poles, or of that about nil, is Bi.
    """
    if round_piece and biot < SLIGHT:
        return sqrt(3 * biot / (1 + biot / 5))
    if round_piece:
        angle = min(sqrt(3 * biot), pi * sqrt(biot / (biot + 2)))
    else:
        angle = min(sqrt(biot), pi / 2 * sqrt(biot / (biot + 2)))
    for _ in range(ANGLE_STEPS):
        high = sine(pi - angle) if angle > pi / 2 else sine(angle)
        along = sine(pi / 2 - angle)
        if round_piece:
            step = ((1 - biot) * high - angle * along) * high / (angle - high * along)
        else:
            step = (angle * high - biot * along) * along / (angle + high * along)
        angle = angle - step
        if step <= SETTLED * angle:
            break
    return angle


A_YEAR = "the largest piece in still air is warm within days"


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
                 low=-50, high=300,
                 why="from a deep freezer to a drying oven; no meteorite is ever near more heat",
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
        from_house("drying.oven_ceiling", name="ceiling", low=20,
                   because="glue and wax have lower ceilings than iron"),
        Choice("shape", "slab (a slice, the default) or sphere (a whole piece)", options=["slab", "sphere"],
               kind="shape", optional=True),
    ),
    results=(
        Number("time", "min", "time to the target", most=525_600, because=A_YEAR, safe="up"),
        Number(
            "time_inside", "min", "until the middle is there too", most=525_600, because=A_YEAR, safe="up"
        ),
        Number("biot", "1", "Biot number: how far the inside lags behind the surface"),
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
    results=Number("time", "h", "time from start to end", safe="up"),
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
    results=Number("humidity", "%", "relative humidity at the oven's temperature"),
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
    title="Time for a crack to dry out",
    inputs=(
        solvent_input(SOLVENTS),
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=200, example="{piece.crack_depth}"),
        Quantity("temperature", "temperature of piece and air", unit="degC", low=1, high=105,
                 example="{drying.room_temperature}"),
        Quantity("humidity", "relative humidity of that air, for water", unit="%", low=0, high=100,
                 optional=True),
        Quantity("pressure", "air pressure; one atmosphere where left out", unit="kPa", low=5,
                 high=110, optional=True),
        Quantity("vapour_diffusivity", "measured diffusivity of the vapour in air at that temperature "
                 "and pressure; estimated where left out", unit="cm^2/s", low=0.01, high=10,
                 optional=True),
        THROUGH,
    ),
    results=duration("time", "h", "time from full to empty", safe="up"),
    assumes=(
        "a crack of even width that starts full of pure liquid, with moving air at its mouth, or at both",
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
def crack_drying_time(solvent, depth, temperature, humidity, pressure, vapour_diffusivity, through):
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
        LIQUID_DENSITY[place], MOLAR_MASS[place], 0, open_depth(depth, through), temperature, air, spread,
        outside, saturated,
    )  # fmt: skip
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
                 low=0.0001, high=1000, example="0.2 g", of_piece=MEASURED),
        from_house("drying.weighing_interval", name="interval", low=0.5, high=720,
                   because="records hold weighings closer together and further apart than a house plans"),
        from_house("drying.divisions", high=10, because="a worn balance scatters more"),
        from_house("drying.mass_drift", low=0, high=0.1,
                   because="none asks for the scatter of the balance alone"),
        from_house("drying.proof_share", high=100,
                   because="at most all of the water that the cracks could hold"),
    ),
    results=(
        Verdict("verdict", "what the weighings say", stops=(), words={
            "dry": "the mass stands still within {allowed}, and the balance would have shown the water "
            "in the cracks",
            "not yet": "not proved dry: go on drying and weigh again after at least {interval}",
            "gaining": "the mass rises: warm scale, moisture taken up, or iron turning to rust; cool in "
            "a closed dry jar, weigh again, and look for new rust",
            "too coarse": "the weighings agree, but within {allowed}, and so they would with water still "
            "in the cracks: use a finer balance, or watch the humidity in a sealed dry box",
        }),
        Number("change", "g", "change from the earlier weighing compared to the last"),
        Number("allowed", "g", "change that is not seen as one", safe="down"),
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
                 low=0.0001, high=1000, example="0.2 g", of_piece=MEASURED),
        from_house("drying.divisions", high=10, because="a worn balance scatters more"),
        from_house("drying.mass_drift", low=0, high=0.1,
                   because="none asks for the scatter of the balance alone"),
        from_house("drying.proof_share", high=100,
                   because="at most all of the water that the cracks could hold"),
    ),
    results=Number("resolution", "mg", "coarsest step that will do", safe="down"),
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


CEILING = "no piece ever gets warmer than the ceiling"
at_most("drying.oven_temperature", "drying.oven_ceiling", because=CEILING)
at_most("drying.oven_proof", "drying.oven_ceiling", because=CEILING)
at_least("drying.oven_proof", "drying.oven_temperature", because="a cooler hold proves nothing")
at_most("drying.glued_ceiling", "drying.oven_ceiling", because="a glued piece has the lower ceiling")


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
    """Solvent must have had the time to leave the deepest crack, filled with rust, before the oven."""
    clean = crack_drying_time(
        house["drying.solvent"], house["piece.crack_depth"], house["drying.room_temperature"]
    )
    least = RUST_FILLED * clean
    if house["drying.air_dry"] < least:
        yield (
            "drying.air_dry",
            f"is too short for {house['drying.solvent']} to leave a crack of "
            f"{shown(house, 'piece.crack_depth')} that rust fills, {RUST_FILLED} times the {clean:.3g} h of "
            f"a clean one; allowed is {at_least_figure(least)} h or more",
        )


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
        "In brackets, what the span of the heat transfer makes of it; a fan oven is "
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

    def cell(mass, thickness):
        area = _square_slice_area(mass, thickness, density)
        if area is None:
            return None
        found = bench("heat-up-time", mass=mass, area=area, start=start, oven=oven, target=oven - margin)
        return scaled(found["time"], 1 / 60)

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
        row: list = [depth]
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


# --- plots --------------------------------------------------------------------------------------


@plot(
    "drying",
    title="Time for a full blind crack to dry out",
    table="crack-drying-times",
    notes=("For planning; dryness is shown by weighings. Salt, rust and hair-fine cracks make it longer.",),
)
def drying_plot(bench):
    """Hours by depth: the house's solvent and water in the room, water in the oven."""
    room, humidity = bench.value("drying.room_temperature"), bench.value("drying.room_humidity")
    oven, solvent = bench.value("drying.oven_temperature"), bench.value("drying.solvent")
    depths = [10 ** (i / 16) for i in range(17)]

    def line(label, liquid, temperature, **more):
        return Line(
            label,
            trace(
                depths,
                lambda depth: bench(
                    "crack-drying-time", solvent=liquid, depth=depth, temperature=temperature, **more
                ),
            ),
        )

    return Chart(
        Scale("Depth of crack", "mm", log=True),
        Scale("Dry after", "h", log=True),
        [
            line("water, room", "water", room, humidity=humidity),
            line(f"{solvent}, room", solvent, room),
            line("water, oven", "water", oven, humidity=bench("oven-humidity", oven=oven)),
        ],
        notes=(
            f"Room at {room:g} °C and {humidity:g} %, oven at {oven:g} °C. No piece that is wet with solvent "
            "goes into the oven.",
        ),
    )
