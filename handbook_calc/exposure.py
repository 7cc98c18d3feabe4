"""Exposure: what is breathed beside the jar and in the room, and several vapours in the same air.

Two zones, each mixed in itself: the near one is half a ball of air over the jar, the far one is the room.
What evaporates passes the near zone with the air that moves through it, and leaves the room with the fresh
air.
"""

from math import exp, pi

from handbook_calc.engine.calculation import Label, Number, Reasons, Verdict, because, calculation, refuse
from handbook_calc.engine.data import column, numbers, rows
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import Choice, Quantity
from handbook_calc.engine.house import section
from handbook_calc.engine.tables import Column, Mark, Refused, Sheet, table
from handbook_calc.solvents import LOWER_LIMIT, MOLAR_MASS, solvent_place
from handbook_calc.substances import MOLAR_VOLUME, Limit, register, strictest
from handbook_calc.ventilation import (
    AIRFLOW,
    EVAPORATION,
    EXPOSURE_LIMIT,
    FLAMMABLE_SHARE,
    LAX_LIMIT,
    LOWEST_PUBLISHED,
    PRESSURE,
    ROUNDING,
    SEALED,
    SOLVENT,
    TEMPERATURE,
    WORKING_DAY,
    gas_volume,
    refuse_laxer,
    refuse_sealed,
)

STAGE = "ventilation"

section(
    "ventilation",
    Quantity("near_radius", "from the jar to the nose of whoever works at it", unit="m", low=0.2, high=1),
    Quantity("air_speed", "speed at which the air of the room drifts past the jar", unit="m/s", low=0.01,
             high=0.5),
)  # fmt: skip

NAMES = column("vapours", "name")
MASSES = numbers("vapours", "molar_mass")
LOWER = [register()[name].lower or 0.0 for name in NAMES]


def in_volume(limit: Limit | None, mass: float) -> float:
    """Return a limit in ppm, whatever its unit, with the molar volume at 20 degC; none is 0."""
    if limit is None:
        return 0.0
    return limit.value if limit.unit == "ppm" else limit.value * MOLAR_VOLUME / mass


DAY = [in_volume(strictest(name, "day"), mass) for name, mass in zip(NAMES, MASSES, strict=True)]
SHORT = [
    in_volume(strictest(name, "short") or strictest(name, "ceiling"), mass)
    for name, mass in zip(NAMES, MASSES, strict=True)
]

NEAR_RADIUS = from_house("ventilation.near_radius")
AIR_SPEED = from_house("ventilation.air_speed")
FLAMES = (
    "the vapour would come to {0 %} of its lower flammable limit, a quarter of it or more: put out every "
    "source of ignition, cover the solvent, air the room and leave it; then work with less open solvent or "
    "more air"
)
HOUSE_LIMITS = tuple(
    from_house(f"ventilation.exposure_limit.{solvent}", name=f"{name}_limit")
    for solvent, name in (("2-propanol", "propanol"), ("ethanol", "ethanol"), ("acetone", "acetone"))
)
LAX = (
    "a limit of {0 ppm} was given for a vapour whose strictest published limit is {1 ppm}: a limit may be "
    "tightened, never loosened; leave the house's, or enter a lower one"
)
ADDED = (
    "the vapours do the same to people, as solvents do, so that their shares add up",
    "white spirit is taken at a mean molar mass of 140 g/mol",
)


def refuse_flammable(burns):
    """Refuse air that holds so large a share of the lower flammable limit that it is left and aired."""
    if burns >= FLAMMABLE_SHARE:
        refuse("flammable", burns * 100)


def near_flow(near_radius, air_speed):
    """Return the air [m3/h] that passes half a ball of a radius [m] at a speed [m/s]: half its surface."""
    return pi * near_radius**2 * air_speed * 3600


@calculation(
    "near-zone-airflow",
    title="Air that passes the space over a jar",
    inputs=(NEAR_RADIUS, AIR_SPEED),
    results=Number("flow", "m^3/h", "air that goes in, and the same that comes out"),
    assumes=(
        "the space is half a ball on the bench; half of its round surface lets air in, the other half out",
        "nobody measures the drift of the air well: from still air to a draught it varies tenfold",
    ),
    sources=("two-zone-remembered", "air-speed-remembered"),
)
def near_zone_airflow(near_radius, air_speed):
    """Half of the half ball's round surface, times the speed of the air."""
    return near_flow(near_radius, air_speed)


@calculation(
    "near-room-level",
    title="Solvent vapour beside the jar and in the room",
    inputs=(
        SOLVENT,
        EVAPORATION,
        AIRFLOW,
        NEAR_RADIUS,
        AIR_SPEED,
        TEMPERATURE,
        PRESSURE,
        EXPOSURE_LIMIT,
    ),
    results=(
        Number("near", "ppm", "vapour where whoever works at the jar breathes, when it no longer rises"),
        Number("room", "ppm", "vapour in the rest of the room"),
        Number("ratio", "1", "how many times more it is beside the jar"),
        Verdict(
            "verdict",
            "may anybody work at it",
            stops=("stop",),
            words={
                "go": "{near} beside the jar is within the limit of {exposure_limit}",
                "stop": "{near} beside the jar is above the {exposure_limit} allowed over a working day: "
                "cover the solvent; then less of it open, a hood, or a shorter task that is reckoned over "
                "the day",
            },
        ),
    ),
    assumes=(
        "two zones, each mixed in itself: half a ball of air over the jar, and the room",
        "evaporation, fresh air and drift have been steady for a few air changes",
        "a hood or a fan that draws at the jar is not counted: it does far better than this",
    ),
    sources=("two-zone-2009", "two-zone-2024", "two-zone-remembered", "ideal-gas", "iupac-weights"),
    refusals={"lax-limit": LAX_LIMIT, "sealed": SEALED, "flammable": FLAMES},
)
def near_room_level(
    solvent, evaporation, airflow, near_radius, air_speed, temperature, pressure, exposure_limit
):
    """The vapour over the fresh air, and beside the jar that over the drifting air on top."""
    place = solvent_place(solvent)
    refuse_laxer(exposure_limit, LOWEST_PUBLISHED[place])
    refuse_sealed(airflow)
    vapour = evaporation / MOLAR_MASS[place] * gas_volume(temperature, pressure)
    room = vapour / airflow * 1_000_000
    near = room + vapour / near_flow(near_radius, air_speed) * 1_000_000
    burns = near / 10_000 / LOWER_LIMIT[place]
    refuse_flammable(burns)
    verdict = "go"
    if near > exposure_limit:
        verdict = "stop"
    return {"near": near, "room": room, "ratio": near / room, "verdict": verdict}


@calculation(
    "vapour-build-up",
    curve="time",
    title="Rise of solvent vapour in a room",
    inputs=(
        SOLVENT,
        EVAPORATION,
        AIRFLOW,
        from_house("ventilation.room_volume"),
        Quantity(
            "time", "time since the solvent was opened", unit="min", low=0.1, high=1440, example="15 min"
        ),
        TEMPERATURE,
        PRESSURE,
        EXPOSURE_LIMIT,
    ),
    results=(
        Number("level", "ppm", "vapour in the mixed room by then"),
        Number("share_of_steady", "%", "share of the level that it goes on rising to"),
        Verdict(
            "verdict",
            "may anybody stay in it",
            stops=("stop",),
            words={
                "go": "{level} is within the limit of {exposure_limit}; beside the jar it is more",
                "stop": "{level} is above the {exposure_limit} allowed over a working day: cover the "
                "solvent, leave and air the room",
            },
        ),
    ),
    assumes=("the room is mixed all through and held no vapour before", "evaporation and airflow are steady"),
    sources=("build-up-example", "ideal-gas", "iupac-weights"),
    refusals={"lax-limit": LAX_LIMIT, "sealed": SEALED, "flammable": FLAMES},
)
def vapour_build_up(solvent, evaporation, airflow, room_volume, time, temperature, pressure, exposure_limit):
    """The steady level, less what the room's air has not yet been changed for."""
    place = solvent_place(solvent)
    refuse_laxer(exposure_limit, LOWEST_PUBLISHED[place])
    refuse_sealed(airflow)
    vapour = evaporation / MOLAR_MASS[place] * gas_volume(temperature, pressure)
    risen = 1 - exp(-airflow / room_volume * time / 60)
    level = vapour / airflow * risen * 1_000_000
    burns = level / 10_000 / LOWER_LIMIT[place]
    refuse_flammable(burns)
    verdict = "go"
    if level > exposure_limit:
        verdict = "stop"
    return {"level": level, "share_of_steady": risen * 100, "verdict": verdict}


def refuse_lax(propanol_limit, ethanol_limit, acetone_limit):
    """Refuse a limit of the house that is laxer than the strictest published one."""
    given = [propanol_limit, ethanol_limit, acetone_limit]
    for i in range(len(given)):
        if given[i] > DAY[i] * (1 + ROUNDING):
            refuse("lax-limit", given[i], DAY[i])


def day_limits(propanol_limit, ethanol_limit, acetone_limit):
    """Return the limits [ppm] over a working day: the house's, and those that no house value stands for."""
    return [propanol_limit, ethanol_limit, acetone_limit, DAY[3], DAY[4]]


def amounts(propanol, ethanol, acetone, butyl_acetate, white_spirit):
    """Return what was given of each vapour, nothing where it was left out; refuse where all were."""
    given = [propanol, ethanol, acetone, butyl_acetate, white_spirit]
    found = []
    some = False
    for i in range(len(given)):
        if given[i] is None:
            found.append(0)
        else:
            found.append(given[i])
            some = True
    if not some:
        refuse("nothing")
    return found


def added(levels, limits):
    """Return the sum of the levels, each as a share of its limit."""
    total = 0
    for i in range(len(levels)):
        total = total + levels[i] / limits[i]
    return total


def gravest(levels, limits):
    """Return the name of the vapour that adds most to the sum."""
    place = 0
    for i in range(len(levels)):
        if levels[i] / limits[i] > levels[place] / limits[place]:
            place = i
    return NAMES[place]


def each(about: str, unit: str, high: float, examples: dict[str, str]) -> tuple[Quantity, ...]:
    """Return an input for each vapour, which may be left out."""
    return tuple(
        Quantity(name, f"{vapour} {about}", unit=unit, low=0, high=high,
                 optional=True, example=examples.get(name, ""))
        for name, vapour in zip(column("vapours", "input"), NAMES, strict=True)
    )  # fmt: skip


NOTHING = "no vapour was named; give at least one of them"


@calculation(
    "vapours-together",
    title="Several vapours in the same air",
    inputs=(
        Choice("period", "over which time the levels hold", options=("working day", "quarter of an hour"),
               kind="period", example="working day"),
        *each("in the air", "ppm", 100_000,
              {"propanol": "30 ppm", "acetone": "60 ppm"}),
        *HOUSE_LIMITS,
    ),
    results=(
        Number("share", "%", "what the levels come to together, as a share of their limits"),
        Label("most", "which of them adds most"),
        Verdict(
            "verdict",
            "may anybody breathe it",
            stops=("stop",),
            words={
                "go": "{share} of what is allowed",
                "stop": "{share} of what is allowed, although each alone may be within its limit: cover the "
                "solvents and air the room; {most} adds most",
            },
        ),
    ),
    assumes=(
        *ADDED,
        "over a quarter of an hour the strictest short limit holds, or the ceiling where there is none",
    ),
    sources=("cfr-1910-1000-mixture", "white-spirit-mean"),
    refusals={"nothing": NOTHING, "lax-limit": LAX},
)  # fmt: skip
def vapours_together(
    period,
    propanol,
    ethanol,
    acetone,
    butyl_acetate,
    white_spirit,
    propanol_limit,
    ethanol_limit,
    acetone_limit,
):
    """The levels as shares of their limits, added."""
    refuse_lax(propanol_limit, ethanol_limit, acetone_limit)
    levels = amounts(propanol, ethanol, acetone, butyl_acetate, white_spirit)
    limits = SHORT
    if period == "working day":
        limits = day_limits(propanol_limit, ethanol_limit, acetone_limit)
    share = added(levels, limits) * 100
    verdict = "go"
    if share > 100 * (1 + ROUNDING):
        verdict = "stop"
    return {"share": share, "most": gravest(levels, limits), "verdict": verdict}


def levels_of(evaporated, flow, temperature, pressure):
    """Return the level [ppm] of each vapour, from what evaporates [g/h] into a flow of air [m3/h]."""
    found = []
    for i in range(len(evaporated)):
        found.append(evaporated[i] / MASSES[i] * gas_volume(temperature, pressure) / flow * 1_000_000)
    return found


@calculation(
    "room-exposure",
    title="What the air of the bench comes to, several solvents together",
    inputs=(
        *each("that goes into the air in an hour", "g/h", 5000,
              {"propanol": "2 g/h", "white_spirit": "1 g/h"}),
        Quantity("time", "hours of the day in which they stand open", unit="h", low=0.25, high=WORKING_DAY,
                 why="a longer day has its own, lower limits", example="1 h"),
        AIRFLOW,
        NEAR_RADIUS,
        AIR_SPEED,
        from_house("ventilation.vapour_share"),
        TEMPERATURE,
        PRESSURE,
        *HOUSE_LIMITS,
    ),
    results=(
        Number("near", "%", "of the limits of a working day, for whoever works at the jar while it is open"),
        Number("peak", "%", "of the short limits, at the jar"),
        Number("room", "%", "of the limits of a working day, for whoever is in the room all the while"),
        Label("most", "which of them adds most"),
        Verdict(
            "verdict",
            "may the work be done like this",
            stops=("stop",),
            words={
                "go": "within what the house allows, {vapour_share} of the limits",
                "wait": "within the limits, and above {vapour_share} of them, which is what the house "
                "allows: more air or less open solvent before it is done again",
                "stop": "above a limit: not like this",
            },
        ),
        Reasons(
            "reasons",
            "what decides it",
            {
                "day": "Over the day whoever works at the jar comes to {near} of the limits: less open, for "
                "a shorter time, or under a hood.",
                "peak": "While the jar is open it comes to {peak} of the short limits there: less open at a "
                "time, or under a hood.",
                "room": "The whole room comes to {room} of the limits: more fresh air.",
                "share": "Air in a room does not mix: what is near a limit on paper is above it somewhere.",
                "within": "All of it is within what the house allows.",
            },
        ),
    ),
    assumes=(
        *ADDED,
        "all of them are open together, and for a quarter of an hour at the least",
        "two zones, each mixed in itself: half a ball of air over the jar, and the room",
        "what is in the room's air when the lids go on is breathed as well, until it has been aired out",
        "no hood; with one that draws, what is left of this is small",
    ),
    sources=("cfr-1910-1000-mixture", "two-zone-2009", "two-zone-2024", "two-zone-remembered", "ideal-gas",
             "white-spirit-mean"),
    refusals={"nothing": NOTHING, "lax-limit": LAX, "sealed": SEALED, "flammable": FLAMES},
)  # fmt: skip
def room_exposure(
    propanol,
    ethanol,
    acetone,
    butyl_acetate,
    white_spirit,
    time,
    airflow,
    near_radius,
    air_speed,
    vapour_share,
    temperature,
    pressure,
    propanol_limit,
    ethanol_limit,
    acetone_limit,
):
    """Levels in both zones as shares of their limits, added; over the day by the hours."""
    refuse_lax(propanol_limit, ethanol_limit, acetone_limit)
    evaporated = amounts(propanol, ethanol, acetone, butyl_acetate, white_spirit)
    refuse_sealed(airflow)
    limits = day_limits(propanol_limit, ethanol_limit, acetone_limit)
    far_levels = levels_of(evaporated, airflow, temperature, pressure)
    drift = near_flow(near_radius, air_speed)
    # Fresh air and drift act one after the other, so that near levels are those of a smaller flow.
    near_levels = levels_of(evaporated, airflow * drift / (airflow + drift), temperature, pressure)
    burns = added(near_levels, LOWER) / 10_000
    refuse_flammable(burns)
    part = time / WORKING_DAY
    near = added(near_levels, limits) * part * 100
    room = added(far_levels, limits) * part * 100
    peak = added(near_levels, SHORT) * 100
    reasons = []
    if near > 100:
        reasons.append(because("day"))
    if peak > 100:
        reasons.append(because("peak"))
    if room > 100:
        reasons.append(because("room"))
    verdict = "go"
    if len(reasons) > 0:
        verdict = "stop"
    elif max(near, peak) > vapour_share:
        verdict = "wait"
        reasons.append(because("share"))
    else:
        reasons.append(because("within"))
    return {
        "near": near,
        "peak": peak,
        "room": room,
        "most": gravest(near_levels, limits),
        "verdict": verdict,
        "reasons": reasons,
    }


@table(
    "near-levels",
    title="Vapour beside the jar, at the house's airflow and drift of air",
    question="How much do I breathe at the jar?",
    notes=(
        "Steady levels at arm's length, no hood: the level of the room, and that of the drift on top.",
        "Judged as if somebody stood there all day; the calculator reckons with hours.",
    ),
)
def near_levels_table(bench):
    """Evaporation against solvent, at the jar."""
    columns = [Column("Evaporation", "g/h", 0)]
    solvents = ("2-propanol", "ethanol", "acetone")
    for solvent in solvents:
        columns += [
            Column("At the jar", "ppm", group=solvent),
            Column("All day long", group=solvent),
        ]
    lines = []
    for evaporation in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0):
        line: list = [evaporation]
        for solvent in solvents:
            try:
                found = bench("near-room-level", solvent=solvent, evaporation=evaporation)
            except Refusal as refusal:
                line += [None, Refused(refusal.message)]
                continue
            line += [found["near"], Mark(found["verdict"], _words(found["verdict"]), found["verdict"])]
        lines.append(line)
    return Sheet(columns, lines)


def _words(verdict: str) -> str:
    return {"go": "within the limit", "stop": "above the limit"}[verdict]


@table(
    "exposure-by-task",
    title="What the tasks of this bench put into the air",
    question="Is the air of this bench good enough for this task?",
    notes=(
        "What evaporates in each task is a guess that stands for an open bench of this size: weigh your own "
        "jar twice, and put it into the calculator.",
        "Each task alone, no hood. Tasks of the same day add up: the shares of the day are summed.",
    ),
)
def exposure_by_task_table(bench):
    """The usual tasks, each alone."""
    lines = []
    for task in rows("exposure_tasks"):
        name, hours = task["task"], float(task["open_h"])
        evaporated = {given: float(task[given]) for given in column("vapours", "input") if task[given]}
        try:
            found = bench("room-exposure", **evaporated, time=hours)
        except Refusal as refusal:
            lines.append([name, Refused(refusal.message), hours, None, None, None, "–"])
            continue
        word = {"go": "go", "wait": "more air", "stop": "not like this"}[found["verdict"]]
        mark = Mark(found["verdict"], word, found["verdict"])
        lines.append([name, mark, hours, found["near"], found["peak"], found["room"], found["most"]])
    return Sheet(
        [
            Column("Task"), Column("Verdict"), Column("Open", "h", 0), Column("At the jar, day", "%"),
            Column("At the jar, peak", "%"), Column("Room, day", "%"), Column("Most from"),
        ],
        lines,
    )  # fmt: skip
