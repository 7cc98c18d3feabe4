"""Storage: water in air and in boxes, hygrometers and their salts, silica gel, inspection."""

from functools import partial
from math import exp, floor, log

from handbook_calc.engine.calculation import (
    Number,
    Reasons,
    Verdict,
    because,
    calculation,
    refuse,
)
from handbook_calc.engine.chart import Chart, Limit, Line, Scale
from handbook_calc.engine.data import column, numbers, rows
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import MEASURED, Choice, Quantity, Rows
from handbook_calc.engine.house import section
from handbook_calc.engine.known import Known, leaf_of
from handbook_calc.engine.plot import plot, spaced, trace
from handbook_calc.engine.rules import above, at_most, rule
from handbook_calc.engine.tables import Axis, Column, Mark, Refused, Sheet, Span, matrix, table
from handbook_calc.plausible import duration

# Wagner and Pruss 2002: critical point of water, and [coefficient, power] of each term.
CRITICAL_TEMPERATURE = 647.096  # K
CRITICAL_PRESSURE = 22_064_000.0  # Pa
VAPOUR_TERMS = [
    [-7.85951783, 1.0],
    [1.84408259, 1.5],
    [-11.7866497, 3.0],
    [22.6807411, 3.5],
    [-15.9618719, 4.0],
    [1.80122502, 7.5],
]
VAPOUR_CONSTANT = 461.523  # J/kg/K: gas constant by molar mass of water
ZERO_CELSIUS = 273.15  # K
HALF = 0.6931471805599453  # natural logarithm of two


def water_pressure(temperature):
    """Pressure in Pa of saturated vapour over liquid water, 0 to 100 degC."""
    kelvin = temperature + ZERO_CELSIUS
    below_critical = 1 - kelvin / CRITICAL_TEMPERATURE
    total = 0
    for i in range(len(VAPOUR_TERMS)):
        total += VAPOUR_TERMS[i][0] * below_critical ** VAPOUR_TERMS[i][1]
    return CRITICAL_PRESSURE * exp(CRITICAL_TEMPERATURE / kelvin * total)


def vapour_density(pressure, temperature):
    """Mass of vapour in g/m3 at a pressure in Pa, as an ideal gas."""
    return pressure / (VAPOUR_CONSTANT * (temperature + ZERO_CELSIUS)) * 1000


def interpolated(x, across, values):
    """Straight line between neighbours; `across` rises, and x lies within it."""
    last = len(across) - 1
    for i in range(1, last):
        if x <= across[i]:
            last = i
            break
    share = (x - across[last - 1]) / (across[last] - across[last - 1])
    return values[last - 1] + share * (values[last] - values[last - 1])


def _salt_lists() -> tuple[list[str], list[list[list[float]]]]:
    """Return the salts, and for each its temperatures, humidities and uncertainties."""
    names = list(dict.fromkeys(column("salt_points", "salt")))
    keys = ("temperature", "humidity", "uncertainty")
    points = rows("salt_points")
    return names, [
        [[float(row[key]) for row in points if row["salt"] == name] for key in keys] for name in names
    ]


SALTS, SALT_POINTS = _salt_lists()
SALT_FORMULAS = {row["formula"].lower(): row["salt"] for row in rows("salt_points")}

# Humidity of each measured pressure, with dry gel in front: it holds no water at 0 %.
GEL_HUMIDITIES = [0.0] + [
    pressure / water_pressure(temperature) * 100
    for temperature, pressure in zip(
        numbers("gel_isotherm", "temperature"), numbers("gel_isotherm", "pressure"), strict=True
    )
]
GEL_WATER = [0.0, *numbers("gel_isotherm", "water")]  # g of water in 1 kg of dry gel
GEL_FIRST_POINT = GEL_HUMIDITIES[1]

GRADES = ("G0", "G1", "G2", "G3", "G4", "G5")
# An empty box this near to saturation sweats on its coldest wall first.
NEARLY_SATURATED = 90.0

# Kinds of value that several declarations share.
humidity_limit = partial(
    Quantity,
    unit="%",
    low=1,
    high=60,
    why="above 60 % even clean steel rusts, so that no such limit protects iron",
)
cold_to_warm = partial(
    Quantity,
    unit="degC",
    low=0,
    high=60,
    why="below 0 °C frost forms in place of dew, and ice has a lower vapour pressure than water",
)
room_temperature = partial(Quantity, unit="degC", low=5, high=35)
room_humidity = partial(Quantity, unit="%", low=5, high=95)
any_humidity = partial(Quantity, unit="%", low=0, high=100)
box_volume = partial(Quantity, unit="L", low=0.05, high=2000)
air_changes = partial(
    Quantity,
    unit="1/d",
    low=0.001,
    high=50,
    why="a good gasket gives about 0.1 to 0.3 a day, a clip box about 1; "
    "find your own from a logged rise with box-air-changes",
)
sensor_error = partial(Quantity, unit="%", low=0.1, high=15)
reserve = partial(
    Quantity,
    unit="%",
    low=0,
    high=80,
    why="a share of the gel's capacity that the plan does not count on",
)
days = partial(Quantity, unit="d", low=1, high=3650)
interval = partial(Quantity, unit="d", low=1, high=730)

section(
    "storage",
    room_temperature("room_temperature", "air of the store on a usual day"),
    room_humidity("room_humidity", "humidity of the store on a damp day, for which gel is weighed"),
    box_volume("box_volume", "air in the bench's usual box"),
    air_changes("air_changes", "air changes of the usual box"),
    Quantity(
        "leak_factor",
        "the guess of the air changes may be wrong by this factor either way",
        low=1,
        high=10,
    ),
    humidity_limit("limit_active", "most humid air for grades G3 to G5", low=6, high=20),
    humidity_limit("limit_doubtful", "most humid air for grades G1 and G2", low=6, high=40),
    humidity_limit("limit_stable", "most humid air for grade G0", low=6, high=60),
    Quantity("alarm_margin", "the alarm stands below the limit by", unit="%", low=0.5, high=10),
    Quantity("out_limit", "time above the limit after which the box is opened", unit="h", low=1, high=168),
    sensor_error("sensor_error", "a hygrometer corrected over salts may still be wrong by"),
    sensor_error("point_error", "humidity over the bench's own salts may be wrong by"),
    Quantity("check_period", "a salt check of a hygrometer holds for", unit="d", low=7, high=730),
    Quantity("salt_time", "time over a salt before the reading counts", unit="h", low=0.3, high=72),
    days("gel_period", "time a fill of gel is planned to last"),
    reserve("gel_reserve", "share of the gel's capacity held back"),
    Quantity(
        "gel_capacity", "what this gel takes up, of what the measured gel does", unit="%", low=50, high=150
    ),
    Quantity("wall_factor", "what a wall lets through, times the middle of what is printed", low=0.2, high=5),
    Quantity("gel_oven_temperature", "oven for drying used gel", unit="degC", low=80, high=150),
    Quantity("gel_oven_time", "time of the gel in the oven", unit="h", low=1, high=12),
    Quantity("gel_layer", "depth of the gel in the oven tray", unit="cm", low=0.5, high=4),
    Choice(
        "indicator",
        "colour indicator in the gel; blue cobalt chloride is harmful and not offered",
        options=("none", "organic"),
        kind="indicator",
        hints=False,
    ),
    Quantity("indicator_share", "share of indicating beads in the gel", unit="%", low=0, high=100),
    Quantity(
        "buffer_reservoir",
        "water that conditioned gel takes up for each 1 % of humidity at mid range",
        unit="g/kg",
        low=0.1,
        high=10,
    ),
    days("proof_time", "logger trace inside the limit before a box counts as good", high=60),
    interval("first_look", "first look after a box is closed"),
    interval("new_interval", "looks while a box is new"),
    days("new_period", "time for which a box counts as new", high=1000),
    interval("settled_interval", "looks at a box that is no longer new"),
    interval("full_interval", "full looks, with photographs and the gel weighed"),
    Quantity("spot_growth", "growth of a spot between two looks that counts", unit="mm", low=0.1, high=5),
    Quantity("area_growth", "growth of the rusted share that counts", unit="%", low=0.1, high=10),
)


WORSE = "a worse grade would be kept damper"
at_most("storage.limit_active", "storage.limit_doubtful", because=WORSE)
at_most("storage.limit_doubtful", "storage.limit_stable", because=WORSE)


@rule("storage.limit_active", "storage.alarm_margin", "storage.sensor_error")
def sensor_sees_limit(house):
    """An alarm that lies within the sensor's error says nothing."""
    alarm = house["storage.limit_active"] - house["storage.alarm_margin"]
    error = house["storage.sensor_error"]
    if alarm <= error:
        yield (
            "storage.limit_active",
            f"has its alarm at {alarm:g} %, which a hygrometer wrong by {error:g} % cannot tell "
            f"from dry air; allowed is more than {error + house['storage.alarm_margin']:g} %, "
            "or a better hygrometer",
        )


above("storage.room_humidity", "storage.limit_active", because="no gel would ever be asked for")


@rule("storage.indicator", "storage.gel_oven_temperature")
def oven_spares_indicator(house):
    """The organic dye is destroyed at an oven temperature that plain gel stands."""
    hot = house["storage.gel_oven_temperature"]
    if house["storage.indicator"] == "organic" and hot > 120:
        yield (
            "storage.gel_oven_temperature",
            "bleaches an organic indicator, which then never warns; allowed is at most 120 degC with it",
        )


@rule("storage.indicator", "storage.indicator_share")
def indicator_named(house):
    """A share of indicating beads needs an indicator, and the other way round."""
    if (house["storage.indicator"] == "none") != (house["storage.indicator_share"] == 0):
        yield (
            "storage.indicator_share",
            "does not fit storage.indicator; allowed is 0 % without an indicator and more with one",
        )


RARER = "looks come less often as a box proves itself"
at_most("storage.first_look", "storage.new_interval", because=RARER)
at_most("storage.new_interval", "storage.settled_interval", because=RARER)
at_most("storage.settled_interval", "storage.full_interval", because=RARER)


@calculation(
    "saturation-pressure",
    curve="temperature",
    title="Pressure of water vapour in saturated air",
    inputs=(
        Quantity(
            "temperature",
            "air or surface",
            unit="degC",
            low=0,
            high=100,
            why="the formula is for liquid water; below 0 °C ice and unfrozen water have "
            "different pressures, and a frost point is no dew point: see dew-point",
            example="{storage.room_temperature}",
        ),
    ),
    results=Number("pressure", "Pa", "vapour pressure over liquid water", digits=4),
    assumes=(
        "pure liquid water with a flat surface; the presence of air, which adds under 0.5 %, is left out",
        "auxiliary equation 2.5 of Wagner and Pruss, not the Magnus form, which differs by up to "
        "0.3 % between 0 and 60 °C",
    ),
    sources=("wagner-pruss-2002",),
)
def saturation_pressure(temperature):
    """Six terms in the distance below the critical temperature."""
    return water_pressure(temperature)


@calculation(
    "absolute-humidity",
    title="Water in a cubic metre of air",
    inputs=(
        cold_to_warm("temperature", "air", example="{storage.room_temperature}"),
        any_humidity("humidity", "relative humidity of the air", example="{storage.room_humidity}"),
    ),
    results=Number("concentration", "g/m^3", "mass of water vapour"),
    assumes=("vapour behaves as an ideal gas, true within 0.3 % at saturation up to 40 °C",),
    sources=("wagner-pruss-2002", "ideal-vapour"),
)
def absolute_humidity(temperature, humidity):
    """Ideal gas law for the vapour's own pressure."""
    pressure = humidity / 100 * water_pressure(temperature)
    return vapour_density(pressure, temperature)


@calculation(
    "closed-box-humidity",
    curve="new_temperature",
    limit="storage.limit_active",
    title="Humidity in an empty closed box that warms or cools",
    inputs=(
        cold_to_warm(
            "temperature", "air in the box when it was closed", example="{storage.room_temperature}"
        ),
        any_humidity("humidity", "relative humidity when it was closed", example="12 %"),
        cold_to_warm("new_temperature", "air in the box later", example="15 degC"),
    ),
    results=(
        Number("humidity", "%", "in a rigid sealed box; 100 % means that water stands on its walls"),
        Verdict(
            "verdict",
            "whether water condenses",
            stops=(),
            words={
                "dry": "No water condenses at {new_temperature}.",
                "near": "Close to saturation at {new_temperature}: the coldest wall or a cold "
                "piece sweats first. Put dry gel in, or keep the box warmer.",
                "dew": "Water condenses: {condensate} of air, on the coldest wall or on the piece. "
                "Do not close a box on damp air; put dry gel in, or keep the box warmer.",
            },
        ),
        Number("vented_humidity", "%", "in a soft bag, or a box that breathes only its own air"),
        Number("condensate", "g/m^3", "water that condenses in a rigid box"),
        Number(
            "dew_temperature",
            "degC",
            "at which water begins to condense in a rigid box",
            optional=True,
            without="none above 0 °C: frost forms instead",
        ),
    ),
    assumes=(
        "empty box: a box with plenty of dry gel follows the gel, which drifts by under 1 % for each "
        "10 °C, and the same way as the temperature",
        "a rigid sealed box keeps its volume, so its vapour pressure falls with absolute "
        "temperature; in a soft bag it stays, and the humidity is higher when cooled",
        "no leakage, and nothing inside takes up or gives off water; paper and wood would",
    ),
    sources=("wagner-pruss-2002", "ideal-vapour"),
)
def closed_box_humidity(temperature, humidity, new_temperature):
    """The vapour stays; what saturates the air changes with temperature."""
    pressure = humidity / 100 * water_pressure(temperature)
    kelvin_ratio = (new_temperature + ZERO_CELSIUS) / (temperature + ZERO_CELSIUS)
    saturated = water_pressure(new_temperature)
    soft = pressure / saturated * 100
    rigid = soft * kelvin_ratio
    held = vapour_density(pressure, temperature)
    condensate = max(0, held - vapour_density(saturated, new_temperature))
    verdict = "dry"
    # 1e-9: air saturated from the start and kept as warm has lost no water.
    if rigid > 100 + 1e-9:
        verdict = "dew"
    elif rigid > NEARLY_SATURATED or soft > 100:
        verdict = "near"
    dew_temperature = None
    if held >= vapour_density(water_pressure(0), 0):
        low = 0
        high = temperature
        for _ in range(60):
            middle = (low + high) / 2
            if vapour_density(water_pressure(middle), middle) > held:
                high = middle
            else:
                low = middle
        dew_temperature = (low + high) / 2
    return {
        "humidity": min(rigid, 100),
        "verdict": verdict,
        "vented_humidity": min(soft, 100),
        "condensate": condensate,
        "dew_temperature": dew_temperature,
    }


def salt_name(text: str) -> str:
    """Return the salt for a formula, for 'table salt', or for an American spelling."""
    plain = text.lower().replace("sulfate", "sulphate")
    return {"table salt": "sodium chloride"}.get(plain, SALT_FORMULAS.get(plain, plain))


@calculation(
    "salt-humidity",
    title="Humidity over a wet salt",
    inputs=(
        Choice(
            "salt",
            "salt, moistened to a slurry with much of it undissolved",
            options=SALTS,
            normal=salt_name,
            kind="salt",
            hints=False,
            example="magnesium chloride",
        ),
        Quantity(
            "temperature",
            "salt, air and instrument, all the same",
            unit="degC",
            low=5,
            high=35,
            why="the fixed points kept here are for bench temperatures",
            example="20 degC",
        ),
    ),
    results=(
        Number("humidity", "%", "relative humidity of the air above", digits=4),
        Number("uncertainty", "%", "uncertainty that the source states", digits=2),
    ),
    assumes=(
        "pure salt in pure water, in a closed vessel with little air, at rest until it is even; a "
        "badly made salt errs by more than 5 %",
        "straight line between fixed points 5 °C apart",
    ),
    sources=("greenspan-1977",),
    refusals={
        "salt-temperature": "no fixed point of {salt} at {temperature}; it is known from "
        "{0 degC} to {1 degC}: bring the test there, or take another salt",
    },
)
def salt_humidity(salt, temperature):
    """Between the two neighbouring published points."""
    which = 0
    for i in range(len(SALTS)):
        if SALTS[i] == salt:
            which = i
    known = SALT_POINTS[which][0]
    if temperature < known[0] or temperature > known[len(known) - 1]:
        refuse("salt-temperature", known[0], known[len(known) - 1])
    humidity = interpolated(temperature, known, SALT_POINTS[which][1])
    uncertainty = interpolated(temperature, known, SALT_POINTS[which][2])
    return {"humidity": humidity, "uncertainty": uncertainty}


SINGLE_POINT_REACH = 10.0  # % of humidity
OUTSIDE_REACH = 5.0


@calculation(
    "hygrometer-correction",
    title="Humidity behind a hygrometer's reading",
    inputs=(
        Rows(
            "pairs",
            "what the hygrometer showed at known humidities",
            columns=(
                any_humidity("fixed_point", "humidity over the salt"),
                any_humidity("reading", "what the hygrometer showed"),
            ),
            least=1,
            most=12,
            example="11.3 % 13 %; 33.1 % 34 %",
        ),
        any_humidity("reading", "what the hygrometer shows now", example="14 %"),
        from_house("storage.point_error"),
        from_house("storage.sensor_error"),
        Quantity(
            "age", "time since the salt check", unit="d", low=0, high=3650, optional=True, example="30 d"
        ),
        from_house("storage.check_period"),
        humidity_limit(
            "limit_humidity",
            "limit that the reading is held against",
            optional=True,
            example="{storage.limit_active}",
        ),
    ),
    results=(
        Number("corrected", "%", "humidity behind the reading"),
        Number("band", "%", "it may be wrong by", safe="up"),
        Reasons(
            "warnings",
            "what to know before relying on it",
            sentences={
                "one-salt": "Only one salt was used: this moves every reading by the same amount, "
                "and is right only near {0 %}. Add a salt on the other side of the limit.",
                "outside": "The reading lies outside the salts, so the correction of the nearest "
                "one ({0 %}) is taken: use a salt beyond it.",
                "check-old": "The salt check is {age} old, and holds for {check_period}: repeat it.",
                "check-age-unknown": "The age of the salt check is not given: date every check.",
                "band-spans-limit": "The limit of {limit_humidity} lies within the error: the "
                "reading cannot show on which side the box is. Weigh the gel, or use a second "
                "instrument.",
            },
        ),
    ),
    assumes=(
        "straight line between neighbouring salts",
        "salts and hygrometer at the same, steady temperature",
        "the errors of salt and hygrometer are independent, and add as squares",
    ),
    sources=("interpolation", "common-practice-storage"),
    refusals={
        "not-rising": "two of the pairs contradict each other: a damper salt must give a higher "
        "reading; average repeats of one salt, and let the sensor settle before reading",
        "far-from-salt": "a reading of {reading} is more than {0 %} away from what one salt gave "
        "({1 %}): that single check says nothing here; use a second salt",
        "outside-salts": "a reading of {reading} is more than {0 %} outside the salts' readings, "
        "{1 %} to {2 %}; use a salt beyond it",
        "impossible": "the correction gives {0 %}, which no air has: the hygrometer or a salt is "
        "at fault; repeat the check",
    },
)
def hygrometer_correction(pairs, reading, point_error, sensor_error, age, check_period, limit_humidity):
    """Between the salts whose readings enclose this one."""
    lowest = 0
    highest = 0
    below = None
    above = None
    for i in range(len(pairs)):
        for j in range(i):
            if (pairs[i][0] - pairs[j][0]) * (pairs[i][1] - pairs[j][1]) <= 0:
                refuse("not-rising")
        shown = pairs[i][1]
        if shown < pairs[lowest][1]:
            lowest = i
        if shown > pairs[highest][1]:
            highest = i
        if shown <= reading and (below is None or shown > pairs[below][1]):
            below = i
        if shown >= reading and (above is None or shown < pairs[above][1]):
            above = i
    warnings = []
    if below is not None and above is not None and below != above:
        share = (reading - pairs[below][1]) / (pairs[above][1] - pairs[below][1])
        corrected = pairs[below][0] + share * (pairs[above][0] - pairs[below][0])
    else:
        nearest = above if below is None else below
        distance = reading - pairs[nearest][1]
        corrected = pairs[nearest][0] + distance
        if len(pairs) == 1:
            if abs(distance) > SINGLE_POINT_REACH:
                refuse("far-from-salt", SINGLE_POINT_REACH, pairs[0][1])
            warnings.append(because("one-salt", pairs[0][0]))
        elif abs(distance) > OUTSIDE_REACH:
            refuse("outside-salts", OUTSIDE_REACH, pairs[lowest][1], pairs[highest][1])
        elif distance != 0:
            warnings.append(because("outside", pairs[nearest][0]))
    if corrected < 0 or corrected > 100:
        refuse("impossible", corrected)
    band = (point_error**2 + sensor_error**2) ** 0.5
    if age is None:
        warnings.append(because("check-age-unknown"))
    elif age > check_period:
        warnings.append(because("check-old"))
    if limit_humidity is not None and abs(corrected - limit_humidity) < band:
        warnings.append(because("band-spans-limit"))
    return {"corrected": corrected, "band": band, "warnings": warnings}


@calculation(
    "storage-verdict",
    title="Whether a box is dry enough for its piece",
    inputs=(
        Choice(
            "grade",
            "condition grade of the piece",
            options=GRADES,
            kind="condition grade",
            example="G3",
            of_piece=MEASURED,
        ),
        any_humidity("humidity", "corrected humidity in the box", example="8 %"),
        from_house("storage.sensor_error"),
        from_house("storage.limit_stable", low=1, because="the comparison holds for any limit"),
        from_house("storage.limit_doubtful", low=1, high=60, because="the comparison holds for any limit"),
        from_house("storage.limit_active", low=1, high=60, because="the comparison holds for any limit"),
        from_house("storage.alarm_margin"),
    ),
    results=(
        Verdict(
            "verdict",
            "what to do",
            stops=(),
            words={
                "inside": "Dry enough: {humidity} is below the alarm of {alarm}.",
                "alarm": "Too near to the limit of {limit} to be sure: above the alarm of {alarm}, "
                "or within the hygrometer's error. Weigh the gel, read a second instrument, dry "
                "the gel.",
                "outside": "Too damp: above the limit of {limit}. Put in dry gel today, look for "
                "rust and beads, and write down how long it may have been so.",
            },
        ),
        Number("limit", "%", "limit for this grade", digits=0),
        Number("alarm", "%", "alarm for this grade", digits=0),
    ),
    assumes=(
        "limits found on iron from the ground, not on meteorites; they are the best analogue there is",
        "dry air slows rust and does not end it: chloride stays in the piece",
    ),
    sources=("watkinson-lewis-2005", "watkinson-2019", "common-practice-storage"),
    refusals={
        "sensor-too-coarse": "an alarm at {0 %} lies within the hygrometer's error of "
        "{sensor_error}: it would sound for dry air or never; use a better hygrometer, or a salt "
        "check at the limit that makes the error smaller",
    },
)
def storage_verdict(grade, humidity, sensor_error, limit_stable, limit_doubtful, limit_active, alarm_margin):
    """The grade picks the limit; the alarm stands below it."""
    limit = limit_active
    if grade == "G0":
        limit = limit_stable
    elif grade == "G1" or grade == "G2":
        limit = limit_doubtful
    alarm = limit - alarm_margin
    if alarm <= sensor_error:
        refuse("sensor-too-coarse", alarm)
    verdict = "inside"
    if humidity > limit:
        verdict = "outside"
    elif humidity > alarm or humidity + sensor_error > limit:
        verdict = "alarm"
    return {"verdict": verdict, "limit": limit, "alarm": alarm}


@calculation(
    "gel-moisture",
    curve="humidity",
    title="Water that silica gel holds",
    inputs=(
        Quantity(
            "humidity",
            "relative humidity of the air around the gel",
            unit="%",
            low=0,
            high=89,
            why="the last measured point is at 89.5 %",
            example="{storage.limit_active}",
        ),
    ),
    results=(
        Number("moisture", "%", "water by mass of dry gel, taking it up"),
        Number("slope", "g/kg", "more water for 1 % more humidity, at this humidity"),
    ),
    assumes=(
        "plain gel of regular density, fine pores, at 25 °C; wide-pore gel holds far less when dry",
        "gel that takes water up; gel that gives it off holds more at the same humidity",
        "straight lines between the measured points; below the first, at 5.6 %, a line to dry gel, "
        "where another gel held a third more",
    ),
    sources=("thu-2013", "wagner-pruss-2002"),
)
def gel_moisture(humidity):
    """Between the two neighbouring measured points."""
    last = len(GEL_HUMIDITIES) - 1
    for i in range(1, last):
        if humidity < GEL_HUMIDITIES[i]:
            last = i
            break
    slope = (GEL_WATER[last] - GEL_WATER[last - 1]) / (GEL_HUMIDITIES[last] - GEL_HUMIDITIES[last - 1])
    water = GEL_WATER[last - 1] + slope * (humidity - GEL_HUMIDITIES[last - 1])
    return {"moisture": water / 10, "slope": slope}


@calculation(
    "gel-humidity",
    title="Humidity that a weighing of the gel shows",
    inputs=(
        Quantity(
            "dry_mass",
            "gel fresh from the oven, without its bag",
            unit="g",
            low=1,
            high=50_000,
            example="200 g",
        ),
        Quantity("mass", "the same gel now, without its bag", unit="g", low=1, high=70_000, example="212 g"),
    ),
    results=(
        Number("humidity", "%", "relative humidity that the gel stands in"),
        Number("moisture", "%", "water by mass of dry gel"),
    ),
    assumes=(
        "as for the water that silica gel holds",
        "the gel was dried to constant mass, and has stood in its box for days",
        "a second instrument that needs no battery: read it beside the hygrometer",
    ),
    sources=("thu-2013", "wagner-pruss-2002"),
    refusals={
        "lighter-than-dry": "the gel weighs less than when it was dry ({dry_mass}): beads were "
        "lost, or it was not dry then; dry it and weigh again",
        "soaked": "the gel holds {0 %} water, more than the {1 %} of the wettest measured point: "
        "it is used up; dry it now",
    },
)
def gel_humidity(dry_mass, mass):
    """The isotherm read the other way."""
    if mass < dry_mass:
        refuse("lighter-than-dry")
    water = (mass - dry_mass) / dry_mass * 1000
    most = GEL_WATER[len(GEL_WATER) - 1]
    if water > most:
        refuse("soaked", water / 10, most / 10)
    humidity = interpolated(water, GEL_WATER, GEL_HUMIDITIES)
    return {"humidity": humidity, "moisture": water / 10}


def uptake_over_difference(room, limit):
    """Sum of dq / (room - humidity) from dry gel to the limit, in g/kg for 1 %.

    Between two points of the isotherm the water rises in a straight line, so each part is its slope
    times the logarithm of the ratio of the differences at its ends.
    """
    total = 0
    for i in range(1, len(GEL_HUMIDITIES)):
        start = GEL_HUMIDITIES[i - 1]
        if start < limit:
            end = min(GEL_HUMIDITIES[i], limit)
            slope = (GEL_WATER[i] - GEL_WATER[i - 1]) / (GEL_HUMIDITIES[i] - start)
            total += slope * log((room - start) / (room - end))
    return total


def leak_for_each_percent(volume, changes, temperature):
    """Water in g that leaks in each day for 1 % of difference between room and box."""
    return volume / 1000 * changes * vapour_density(water_pressure(temperature), temperature) / 100


WALLS = column("walls", "wall")
PERMEABILITIES = numbers("walls", "permeability")
WALL_INPUTS = (
    Choice("wall", "what the wall of the box is; left out, only the lid leaks", options=WALLS, kind="wall",
           hints=False, optional=True),
    Quantity("wall_area", "surface of the wall, lid and bottom included", unit="cm^2", low=1, high=100_000,
             optional=True),
    Quantity("wall_thickness", "thickness of the wall", unit="mm", low=0.02, high=20, optional=True),
)  # fmt: skip


GEL_SPREAD = (
    from_house("storage.gel_capacity", name="capacity", optional=True),
    from_house("storage.wall_factor", optional=True),
)
KEPT_DRY = (
    from_house("storage.room_temperature", about="air of the room"),
    from_house("storage.room_humidity", about="humidity of the room"),
    from_house(
        "storage.limit_active",
        name="limit_humidity",
        about="most humid air allowed in the box",
        low=1,
        high=60,
        because="a limit drier than gel can keep is answered by a refusal",
    ),
    from_house("storage.gel_reserve", name="reserve"),
    from_house("storage.sensor_error"),
    *WALL_INPUTS,
    *GEL_SPREAD,
)


def wall_for_each_percent(wall, area, thickness, temperature, factor):
    """Water in g that goes through the wall each day for 1 % of difference between room and box."""
    if wall is None:
        return 0
    if area is None or thickness is None:
        refuse("wall-unknown")
    permeability = 0
    for i in range(len(WALLS)):
        if WALLS[i] == wall:
            permeability = PERMEABILITIES[i]
    times = 1 if factor is None else factor
    return times * permeability * area / 10_000 / thickness * water_pressure(temperature) / 1000 / 100


def gel_share(capacity):
    """Return the capacity of the gel as a share of the measured one's; that, where it is left out."""
    return 1 if capacity is None else capacity / 100


GEL_REFUSALS = {
    "wall-unknown": "vapour through {wall} depends on its surface and its thickness: give both, or leave the "
    "wall out",
    "room-dry-enough": "the room, at {room_humidity}, is not damper than the limit of "
    "{limit_humidity}: leakage alone never breaks it; check the room over a year and its "
    "hygrometer",
    "gel-cannot-hold": "silica gel cannot be relied on below {0 %}, its first measured point: "
    "raise the limit of {limit_humidity}, or use molecular sieve and its maker's figures",
    "sensor-cannot-show": "a limit of {limit_humidity} is within the hygrometer's error of "
    "{sensor_error}, so nobody could tell that it is kept; raise the limit, or use a better "
    "hygrometer",
}
GEL_ASSUMES = (
    "only leakage brings water in: no damp piece, no paper, wood or card, no opening of the box",
    "dry the piece first; gel in a closed box does not dry a wet piece",
    "gel starts dry; isotherm of plain gel at 25 °C, room air steady",
    "air in the box is as dry as the gel: beads in a thin layer or an open bag",
    "vapour through a wall as at 38 °C, the middle of what is printed, times the factor: on the safe side in "
    "a cool room; the lid usually decides, but not with polystyrene",
)


def refuse_unsafe_limit(room, limit, error):
    """The three limits that no amount of gel can keep, or that no one can check."""
    if limit <= error:
        refuse("sensor-cannot-show")
    if limit < GEL_FIRST_POINT:
        refuse("gel-cannot-hold", GEL_FIRST_POINT)
    if room <= limit:
        refuse("room-dry-enough")


@calculation(
    "gel-mass",
    curve="days",
    title="Silica gel for a box",
    inputs=(
        from_house("storage.box_volume", about="air in the box"),
        from_house("storage.air_changes", about="air changes of the box"),
        from_house("storage.gel_period", name="days", about="time until the gel is dried again"),
        *KEPT_DRY,
    ),
    results=(
        Number("mass", "g", "dry gel that takes up just this leakage", safe="up"),
        Number(
            "reserve_mass",
            "g",
            "dry gel to weigh out, with the reserve",
            most=1_400_000,
            because="the largest box here holds no more, filled to the rim with gel; make the box tighter",
            safe="up",
        ),
        Number("water", "g", "water that leaks in", safe="up"),
    ),
    assumes=GEL_ASSUMES,
    sources=("thu-2013", "leak-balance", "food-package-permeability"),
    refusals=GEL_REFUSALS,
)
def gel_mass(
    box_volume, air_changes, days, room_temperature, room_humidity, limit_humidity, reserve,
    sensor_error, wall, wall_area, wall_thickness, capacity, wall_factor,
):  # fmt: skip
    """Leakage against the gel's isotherm, from dry gel to the limit."""
    refuse_unsafe_limit(room_humidity, limit_humidity, sensor_error)
    leak = leak_for_each_percent(box_volume, air_changes, room_temperature)
    leak = leak + wall_for_each_percent(wall, wall_area, wall_thickness, room_temperature, wall_factor)
    share = gel_share(capacity)
    uptake = share * uptake_over_difference(room_humidity, limit_humidity)
    mass = leak * days / (uptake / 1000)
    reserve_mass = mass / (1 - reserve / 100)
    water = mass * share * interpolated(limit_humidity, GEL_HUMIDITIES, GEL_WATER) / 1000
    return {"mass": mass, "reserve_mass": reserve_mass, "water": water}


@calculation(
    "gel-life",
    curve="air_changes",
    title="Time until silica gel no longer keeps a box dry",
    inputs=(
        Quantity("gel_mass", "dry gel in the box", unit="g", low=1, high=50_000, example="250 g"),
        from_house("storage.box_volume", about="air in the box"),
        from_house("storage.air_changes", about="air changes of the box"),
        *KEPT_DRY,
    ),
    results=(
        duration("days", "d", "until the box reaches the limit, if the whole capacity is there", safe="down"),
        duration("recharge_after", "d", "after which to dry the gel, with the reserve", safe="down"),
        Number("recharge_mass", "g", "mass of the gel, without its bag, at the limit", safe="down"),
    ),
    assumes=GEL_ASSUMES,
    sources=("thu-2013", "leak-balance", "food-package-permeability"),
    refusals=GEL_REFUSALS,
)
def gel_life(
    gel_mass, box_volume, air_changes, room_temperature, room_humidity, limit_humidity, reserve,
    sensor_error, wall, wall_area, wall_thickness, capacity, wall_factor,
):  # fmt: skip
    """As for the mass of gel, solved for the time."""
    refuse_unsafe_limit(room_humidity, limit_humidity, sensor_error)
    leak = leak_for_each_percent(box_volume, air_changes, room_temperature)
    leak = leak + wall_for_each_percent(wall, wall_area, wall_thickness, room_temperature, wall_factor)
    share = gel_share(capacity)
    uptake = share * uptake_over_difference(room_humidity, limit_humidity)
    life = gel_mass * uptake / 1000 / leak
    held = share * interpolated(limit_humidity, GEL_HUMIDITIES, GEL_WATER) / 1000
    return {
        "days": life,
        "recharge_after": life * (1 - reserve / 100),
        "recharge_mass": gel_mass * (1 + held),
    }


@calculation(
    "box-air-changes",
    title="Air changes of an empty box, from a logged rise",
    inputs=(
        any_humidity("start_humidity", "in the dried box, without gel, when it was closed", example="5 %"),
        any_humidity("end_humidity", "in the box at the end", example="14 %"),
        room_humidity(
            "room_humidity", "humidity of the room over that time", example="{storage.room_humidity}"
        ),
        Quantity("time", "between the two readings", unit="h", low=0.1, high=10_000, example="24 h"),
        from_house("storage.sensor_error"),
    ),
    results=(
        Number("air_changes", "1/d", "air changes"),
        Number("least", "1/d", "if both readings err to the slow side", safe="down"),
        Number(
            "most",
            "1/d",
            "if both readings err to the fast side",
            optional=True,
            without="no bound: the end is too near to the room",
            safe="up",
        ),
    ),
    assumes=(
        "box and room at the same, steady temperature",
        "nothing in the box takes up or gives off water; a damp or papery content spoils the test",
        "air that leaks in mixes at once",
    ),
    sources=("leak-balance", "padfield-air-exchange"),
    refusals={
        "rise-too-small": "a rise of {0 %} is within twice the hygrometer's error of "
        "{sensor_error}; let the box stand longer, or start drier",
        "not-below-room": "the box, at {end_humidity}, is as damp as the room, at "
        "{room_humidity}: it has come to the room's air and no longer shows how fast; read it "
        "sooner",
    },
)
def box_air_changes(start_humidity, end_humidity, room_humidity, time, sensor_error):
    """The difference to the room falls by the same share in each hour."""
    rise = end_humidity - start_humidity
    # 1e-9: a rise of exactly twice the error must not pass or fail by its last digit.
    if rise <= 2 * sensor_error + 1e-9:
        refuse("rise-too-small", rise)
    if end_humidity >= room_humidity:
        refuse("not-below-room")
    before = room_humidity - start_humidity
    after = room_humidity - end_humidity
    air_changes = log(before / after) / time * 24
    least = log((before - sensor_error) / (after + sensor_error)) / time * 24
    most = None
    if after > sensor_error:
        most = log((before + sensor_error) / (after - sensor_error)) / time * 24
    return {"air_changes": air_changes, "least": least, "most": most}


# Below this slope the reservoir is that of gel near half humidity, not of dry gel.
DRY_GEL_RESERVOIR = 4.0  # g/kg for 1 %


@calculation(
    "humidity-half-time",
    title="Time in which a buffered box comes half way to the room",
    inputs=(
        from_house("storage.air_changes", about="air changes of the box"),
        Quantity(
            "buffer_mass",
            "dry buffer in each cubic metre of the box",
            unit="kg/m^3",
            low=0.01,
            high=500,
            example="20 kg/m^3",
        ),
        from_house(
            "storage.buffer_reservoir",
            name="specific_reservoir",
            about="water the buffer takes up for 1 % more humidity",
        ),
        from_house("storage.room_temperature", about="air of the room"),
    ),
    results=(
        duration("time", "d", "hygrometric half-time"),
        Reasons(
            "warnings",
            "where it does not hold",
            sentences={
                "dry-gel": "For a box kept dry this is too short: dry gel takes up 5 to 6 g/kg for "
                "each 1 %, not {specific_reservoir}, so its half-time is up to three times as "
                "long. And for dry gel the question is when the limit is reached: use the gel's "
                "life.",
                "not-a-limit": "A half-time says how slowly a box follows the room, not when it "
                "passes a limit: for a dry box use the gel's life.",
            },
        ),
    ),
    assumes=(
        "the reservoir is the same at every humidity passed, and the buffer keeps up with the leak",
        "Thomson's rule of 4 M B / N days is this formula at 20 °C",
    ),
    sources=("thomson-1977", "leak-balance"),
)
def humidity_half_time(air_changes, buffer_mass, specific_reservoir, room_temperature):
    """Water to be moved for 1 %, by what leaks in for 1 %, times the logarithm of two."""
    saturated = vapour_density(water_pressure(room_temperature), room_temperature)
    stored = buffer_mass * specific_reservoir
    leaked = air_changes * saturated / 100
    warnings = [because("not-a-limit")]
    if specific_reservoir < DRY_GEL_RESERVOIR:
        warnings = [because("dry-gel")]
    time = HALF * stored / leaked
    return {"time": time, "warnings": warnings}


@calculation(
    "next-inspection",
    title="When to look at a box next",
    inputs=(
        Quantity("closed_for", "time since the box was closed", unit="d", low=0, high=20_000, example="40 d"),
        Quantity(
            "hours_out", "time above the limit since the last look", unit="h", low=0, high=9000, example="0 h"
        ),
        from_house("storage.out_limit"),
        from_house("storage.first_look"),
        from_house("storage.new_interval"),
        from_house("storage.new_period"),
        from_house("storage.settled_interval"),
        from_house("storage.full_interval"),
    ),
    results=(
        Number("next_look", "d", "day of the next look, counted from closing the box", digits=0),
        Number("wait", "d", "days from now", digits=0),
        Verdict(
            "look",
            "kind of look",
            stops=(),
            words={
                "now": "Open it now: it was above the limit for {hours_out}, more than "
                "{out_limit}. Look for beads and new spots, dry the gel, find the leak.",
                "first": "First look: card and hygrometer, no beads, lid tight.",
                "new": "Look at a new box: card, hygrometer, spots against the last photograph.",
                "settled": "Look at a settled box: card, hygrometer, spots against the last photograph.",
                "full": "Full look: photograph in the same light, weigh piece and gel, check the "
                "hygrometer over salts, look at the gasket.",
            },
        ),
    ),
    assumes=(
        "a missed look is not made up: the next one is counted from today",
        "a full look due within a quarter of the settled interval stands in for the lesser look",
    ),
    sources=("common-practice-storage",),
)
def next_inspection(
    closed_for, hours_out, out_limit, first_look, new_interval, new_period, settled_interval,
    full_interval,
):  # fmt: skip
    """The first look that is still to come."""
    # 1e-9: on the day of a look the next one is wanted, whatever the last digit of the day.
    full = (floor(closed_for / full_interval + 1e-9) + 1) * full_interval
    next_look = (floor(closed_for / settled_interval + 1e-9) + 1) * settled_interval
    look = "settled"
    while next_look <= new_period:
        next_look += settled_interval
    while_new = (floor(closed_for / new_interval + 1e-9) + 1) * new_interval
    if while_new <= new_period:
        next_look = while_new
        look = "new"
    # A full look soon after a lesser one would be a second visit for nothing.
    if full <= next_look + settled_interval / 4:
        next_look = full
        look = "full"
    if closed_for < first_look and first_look < next_look:
        next_look = first_look
        look = "first"
    if hours_out > out_limit:
        next_look = closed_for
        look = "now"
    return {"next_look": next_look, "wait": next_look - closed_for, "look": look}


@table(
    "humidity-limits",
    title="How dry each grade is kept, and when the alarm sounds",
    question="How dry must the box be?",
    notes=(
        "The figures come from iron out of the ground, not from meteorites; none is a promise. "
        "Where a lender asks for less, the lender's figure holds.",
    ),
)
def humidity_limits_table(bench):
    """One row a grade."""
    rows = []
    for grade in GRADES:
        answer = bench("storage-verdict", grade=grade, humidity=0.0)
        rows.append([grade, answer["limit"], answer["alarm"]])
    return Sheet(
        [Column("Grade"), Column("Keep at or below", "%"), Column("Alarm above", "%")],
        rows,
        notes=(
            f"Above the limit for more than {bench.value('storage.out_limit'):g} h, open the box "
            "and "
            "look. Read with a hygrometer corrected over salts, good to "
            f"{bench.value('storage.sensor_error'):g} %.",
        ),
    )


@table(
    "humidity-thresholds",
    title="What was found or advised at each humidity, and by whom",
    question="How low must the humidity be really?",
    notes=(
        "12 % and 20 % do not contradict each other: the first is from powders of chloride and "
        "iron in contact, where rusting stopped; the second from real nails, where it was too slow "
        "to matter.",
    ),
    sources=tuple(dict.fromkeys(column("rust_humidity", "source"))),
)
def humidity_thresholds_table(bench):
    """Published findings, and which grades the house lets come to each humidity."""
    limits = [bench.value(f"storage.limit_{name}") for name in ("active", "doubtful", "stable")]
    found = []
    for row in rows("rust_humidity"):
        humidity = float(row["humidity"])
        kept = sum(limit >= humidity for limit in limits)
        grades = ["no grade", "G0", "G0 to G2", "every grade"][kept]
        found.append([humidity, row["finding"], grades])
    return Sheet(
        [
            Column("Humidity", "%", 0),
            Column("Found or advised"),
            Column("The house lets it come to"),
        ],
        found,
    )


@table(
    "saturation-pressures",
    title="Vapour pressure and water content of saturated air",
    question="How much water can air hold?",
)
def saturation_pressures_table(bench):
    """Every five degrees."""
    rows = []
    for temperature in range(0, 61, 5):
        pressure = bench("saturation-pressure", temperature=temperature)
        content = bench("absolute-humidity", temperature=temperature, humidity=100)
        rows.append([float(temperature), pressure, content])
    return Sheet(
        [
            Column("Temperature", "degC", 0),
            Column("Vapour pressure", "Pa", 4),
            Column("Water in saturated air", "g/m^3"),
        ],
        rows,
    )


@table(
    "absolute-humidities",
    title="Water in air, by temperature and relative humidity",
    question="How much water does a cubic metre of this air hold?",
)
def absolute_humidities_table(bench):
    """Temperature by humidity."""
    return matrix(
        Axis("Temperature", "degC", (5, 10, 15, 18, 20, 22, 25, 30, 35)),
        Axis("Relative humidity", "%", (10, 20, 30, 40, 50, 60, 80)),
        "g/m^3",
        lambda temperature, humidity: bench("absolute-humidity", temperature=temperature, humidity=humidity),
        digits=2,
    )


@table(
    "box-cooling",
    title="Humidity in an empty sealed box, closed at room temperature and then cooled",
    question="Will the box sweat in a cold store?",
    notes=("Empty box only. With enough dry gel in it the humidity hardly moves.",),
)
def box_cooling_table(bench):
    """Humidity at closing by fall of temperature."""
    closed_at = bench.value("storage.room_temperature")

    def cell(humidity, cooled):
        if cooled > closed_at:
            return None
        answer = bench(
            "closed-box-humidity",
            temperature=closed_at,
            humidity=humidity,
            new_temperature=closed_at - cooled,
        )
        verdict = answer["verdict"]
        return Mark("stop", "dew", verdict) if verdict == "dew" else answer["humidity"]

    sheet = matrix(
        Axis("Closed at", "%", (5, 10, 15, 20, 30, 40, 50, 60)),
        Axis("Cooled by", "delta_degC", (2, 5, 8, 10, 15)),
        "%",
        cell,
        digits=2,
    )
    return Sheet(sheet.columns, sheet.rows, (f"Closed at {closed_at:g} °C; a dash is below 0 °C.",))


@table(
    "salt-points",
    title="Humidity over wet salts",
    question="What should the hygrometer show over this salt?",
    notes=(
        "Use a slurry with much of the salt undissolved, and the same temperature for salt and "
        "hygrometer. Lithium chloride is harmful if swallowed; follow the safety data sheets. "
        "A dash: no fixed point is known there.",
    ),
)
def salt_points_table(bench):
    """Salt by temperature."""
    temperatures = (15, 20, 25, 30)
    rows = []
    for name, points in zip(SALTS, SALT_POINTS, strict=True):
        row: list = [name]
        for temperature in temperatures:
            known = points[0][0] <= temperature <= points[0][-1]
            row.append(
                bench("salt-humidity", salt=name, temperature=temperature)["humidity"] if known else None
            )
        row.append(bench("salt-humidity", salt=name, temperature=20)["uncertainty"])
        rows.append(row)
    columns = [Column("Salt")]
    columns += [Column(f"{t} °C", "%", 4, group="Humidity at") for t in temperatures]
    columns.append(Column("Uncertainty at 20 °C, ±", "%", 2))
    return Sheet(columns, rows)


@table(
    "gel-isotherm",
    title="Water that plain silica gel holds",
    question="How much water does the gel hold at this humidity?",
)
def gel_isotherm_table(bench):
    """Water and slope at round humidities."""
    rows = []
    for humidity in (2, 5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80):
        answer = bench("gel-moisture", humidity=humidity)
        rows.append([float(humidity), answer["moisture"], answer["slope"]])
    return Sheet(
        [
            Column("Humidity", "%", 0),
            Column("Water by mass of dry gel", "%"),
            Column("For 1 % more", "g/kg", 2),
        ],
        rows,
    )


def _guess_of_leak(bench):
    """Return a function that gives air changes the span of the house's factor either way."""
    factor = bench.value("storage.leak_factor")
    leaks = bench.find("gel-mass").input("air_changes")

    def guessed(changes):
        guess = leaf_of(leaks, leaks.name, changes, (changes / factor, changes * factor))
        return Known(changes, guess, leaks.unit) if factor > 1 else changes

    return guessed


@table(
    "gel-amounts",
    title="Dry gel to weigh out, by size and tightness of the box",
    question="How much gel does this box need?",
    notes=(
        "The air changes are a guess until they are measured: in brackets, the same box if the "
        "guess is wrong by the house's factor either way, and the gel's capacity lies in its span. "
        "About 0.1 to 0.3 a day is a good gasket, 1 a clip box, more a lid without a seal. Rules by "
        "volume alone, from 0.2 to 20 g for each litre, each assume a leak of their own.",
        "Museum practice for a leaky case, 20 g for each litre, held it dry for over a year.",
    ),
)
def gel_amounts_table(bench):
    """Box by air changes."""
    guessed = _guess_of_leak(bench)

    def cell(volume, changes):
        return bench("gel-mass", box_volume=volume, air_changes=guessed(changes))["reserve_mass"]

    sheet = matrix(
        Axis("Box", "L", (0.5, 1, 2, 5, 10, 20, 50)),
        Axis("Air changes", "1/d", (0.1, 0.3, 1, 3)),
        "g",
        cell,
        digits=2,
    )
    note = (
        f"Kept at or below {bench.value('storage.limit_active'):g} % for "
        f"{bench.value('storage.gel_period'):g} d in a room of "
        f"{bench.value('storage.room_humidity'):g} % at "
        f"{bench.value('storage.room_temperature'):g} °C, with "
        f"{bench.value('storage.gel_reserve'):g} % held back."
    )
    return Sheet(sheet.columns, sheet.rows, (note,))


@table(
    "gel-lives",
    title="Days after which to dry the gel, for the house's box",
    question="When must the gel be dried again?",
    notes=(
        "In brackets, the same box if the guess of the air changes is wrong by the house's factor either "
        "way, and the gel's capacity lies in its span. Plan by the lower figure, or measure the box.",
    ),
)
def gel_lives_table(bench):
    """Gel by air changes."""
    guessed = _guess_of_leak(bench)
    sheet = matrix(
        Axis("Dry gel", "g", (10, 20, 50, 100, 200, 500)),
        Axis("Air changes", "1/d", (0.1, 0.3, 1, 3)),
        "d",
        lambda mass, changes: _recharge_day(bench, mass, guessed(changes)),
        digits=2,
    )
    note = (
        f"For {bench.value('storage.box_volume'):g} L of air, kept at or below "
        f"{bench.value('storage.limit_active'):g} %. Dry the gel at every full look all the same."
    )
    return Sheet(sheet.columns, sheet.rows, (note,))


def _recharge_day(bench, mass, changes):
    return bench("gel-life", gel_mass=mass, air_changes=changes)["recharge_after"]


@table(
    "room-and-gel",
    title="Dry gel for the house's box, by the room it stands in and the limit",
    question="What does a damper room, or a lower limit, cost in gel?",
)
def room_and_gel_table(bench):
    """Room by limit."""
    return matrix(
        Axis("Room", "%", (30, 40, 50, 60, 70, 80)),
        Axis("Limit", "%", (8, 10, 12, 15, 20, 35)),
        "g",
        lambda room, limit: bench("gel-mass", room_humidity=room, limit_humidity=limit)["reserve_mass"],
        digits=2,
    )


@table(
    "recharge-weights",
    title="Weight at which gel is used up",
    question="Does the gel need drying, by its weight?",
    notes=("Weigh without the bag, or weigh the empty bag first and add it.",),
)
def recharge_weights_table(bench):
    """Dry mass by limit."""
    limits = [bench.value(f"storage.limit_{name}") for name in ("active", "doubtful", "stable")]

    def cell(mass, limit):
        return mass * (1 + bench("gel-moisture", humidity=limit)["moisture"] / 100)

    return matrix(
        Axis("Fresh from the oven", "g", (20, 50, 100, 200, 250, 500, 1000)),
        Axis("In a box kept at", "%", tuple(dict.fromkeys(limits))),
        "g",
        cell,
        digits=4,
    )


@table(
    "leak-tests",
    title="Air changes from a test of the empty box",
    question="How tight is this box?",
    notes=("Dry the box with gel, take the gel out, close it and read it a day later.",),
)
def leak_tests_table(bench):
    """Rise in a day by humidity of the room."""
    start = bench.value("storage.limit_active")

    def cell(after, room):
        try:
            answer = bench(
                "box-air-changes",
                start_humidity=start,
                end_humidity=start + after,
                room_humidity=room,
                time=24,
            )
        except Refusal as refusal:
            return Refused(refusal.message, "cannot tell")
        high = answer["most"]
        return Span(answer["least"], answer["air_changes"], high) if high is not None else None

    sheet = matrix(
        Axis("Rise in a day", "%", (5, 8, 10, 15, 20, 25, 30)),
        Axis("Room", "%", (40, 50, 60, 70)),
        "1/d",
        cell,
        digits=2,
    )
    return Sheet(
        sheet.columns,
        sheet.rows,
        (
            f"Starting at {start:g} %. In brackets, what the hygrometer's error allows; a dash: "
            "the "
            "end is too near to the room for an upper bound.",
        ),
    )


@table(
    "humidity-half-times",
    title="Half-time of a box with conditioned gel",
    question="How slowly does a buffered box follow the room?",
    notes=(
        "For boxes held at mid range with conditioned gel. A dry box is another question: see the "
        "life of dry gel.",
    ),
)
def humidity_half_times_table(bench):
    """Load of gel by air changes."""
    return matrix(
        Axis("Gel", "kg/m^3", (1, 2, 5, 10, 20, 40)),
        Axis("Air changes", "1/d", (0.1, 0.3, 1, 3)),
        "d",
        lambda load, changes: bench("humidity-half-time", buffer_mass=load, air_changes=changes)["time"],
        digits=2,
    )


@table(
    "inspection-dates",
    title="Looks at a box in its first two years",
    question="When is the next look?",
)
def inspection_dates_table(bench):
    """Every look of two years, one after the other."""
    kinds = {
        "first": "first look: card and hygrometer, no beads, lid tight",
        "new": "card, hygrometer, spots against the last photograph",
        "settled": "card, hygrometer, spots against the last photograph",
        "full": "full look: photograph, weigh piece and gel, salt check, gasket",
    }
    rows = []
    day = 0.0
    while day < 730:
        answer = bench("next-inspection", closed_for=day, hours_out=0)
        day = answer["next_look"]
        rows.append([day, answer["wait"], kinds[answer["look"]]])
    return Sheet(
        [Column("Day", "d", 0), Column("After the last look", "d", 0), Column("What to do")],
        rows,
    )


# --- plots --------------------------------------------------------------------------------------


@plot(
    "gel",
    title="Water that plain silica gel holds, and the house's limits",
    table="gel-isotherm",
    notes=("Between two limits, the gel takes up the water that lies between its two heights.",),
)
def gel_plot(bench):
    """Water by mass of dry gel over humidity."""
    limits = {}
    for grade, key in (("G3 to G5", "limit_active"), ("G1, G2", "limit_doubtful"), ("G0", "limit_stable")):
        limits.setdefault(float(bench.value(f"storage.{key}")), []).append(grade)
    return Chart(
        Scale("Humidity in the box", "%", 0.0, 80.0),
        Scale("Water in the gel", "%", 0.0),
        [Line("gel", trace(spaced(0.0, 80.0, 40), lambda h: bench("gel-moisture", humidity=h)["moisture"]))],
        [Limit(f"{', '.join(grades)}: {at:g} %", at, "x") for at, grades in limits.items()],
    )
