"""Ventilation: fresh air for the hydrogen of a bath and for the vapour of a solvent."""

from functools import partial

from handbook_calc.engine.calculation import Number, Verdict, calculation, refuse
from handbook_calc.engine.data import column, numbers
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import Choice, Quantity
from handbook_calc.engine.house import section
from handbook_calc.engine.known import judged
from handbook_calc.engine.rules import at_least_figure, rule, shown, up_to
from handbook_calc.engine.tables import Axis, Column, Mark, Refused, Sheet, matrix, table
from handbook_calc.plausible import duration
from handbook_calc.solvents import (
    ATMOSPHERE,
    FLAMMABLE,
    LIQUID_DENSITY,
    LOWER_LIMIT,
    MOLAR_MASS,
    SOLVENTS,
    molar_volume,
    solvent_name,
    solvent_place,
)
from handbook_calc.substances import LIMIT_TYPES, Limit, limits, limits_of, strictest

section(
    "ventilation",
    Quantity("temperature", "temperature of the room for volumes of gas", unit="degC", low=0, high=45),
    Quantity("pressure", "air pressure at the bench", unit="kPa", low=60, high=110),
    Quantity(
        "hydrogen_share",
        "hydrogen allowed, of its lower flammable limit",
        unit="%",
        low=1,
        high=25,
        limit="most",
        why="25 % is the rule for design; more needs a gas alarm, which a small bench does not have",
    ),
    Quantity(
        "vapour_share",
        "vapour allowed, of its exposure limit",
        unit="%",
        low=1,
        high=100,
        limit="most",
        why="100 % is the exposure limit itself, and air in a room does not mix",
    ),
    Quantity("room_volume", "air in the workroom", unit="m^3", low=3, high=2000),
    Quantity("airflow", "fresh air the workroom gets", unit="m^3/h", low=1, high=10_000),
)


def _strictest_day(solvent: str) -> Limit:
    found = strictest(solvent, "day")
    assert found is not None, f"no day limit of {solvent} is listed"
    return found


def lowest_published(solvent: str) -> float:
    """Return the strictest day limit of a solvent's vapour that is in force anywhere, in ppm."""
    return _strictest_day(solvent).value


# In the order of SOLVENTS; water has none.
LOWEST_PUBLISHED = [0.0 if solvent == "water" else lowest_published(solvent) for solvent in SOLVENTS]

section(
    "ventilation.exposure_limit",
    *(
        Quantity(solvent, f"vapour of {solvent} allowed over a working day", unit="ppm", low=1,
                 high=max(LOWEST_PUBLISHED), limit="most",
                 why="the strictest published limit of each solvent is its ceiling, and this is the highest")
        for solvent in FLAMMABLE
    ),
)  # fmt: skip


@rule(*(f"ventilation.exposure_limit.{solvent}" for solvent in FLAMMABLE))
def limits_not_above_published(house):
    """A house may be stricter than every published limit, never laxer than the strictest."""
    for solvent in FLAMMABLE:
        lowest = _strictest_day(solvent)
        if house[f"ventilation.exposure_limit.{solvent}"] > lowest.value:
            yield (
                f"ventilation.exposure_limit.{solvent}",
                f"is above the strictest limit known here ({lowest.shown()}{as_precaution(lowest)}); "
                f"allowed is {lowest.value:g} ppm or less",
            )


def as_precaution(limit: Limit) -> str:
    """Return what is said of a ceiling that was not looked up: why it stands all the same."""
    if limit.origin != "memory":
        return ""
    read = strictest(limit.substance, limit.type, read=True)
    beside = f"; the strictest that was read is {read.value:g} {read.unit}" if read else "; none was read"
    return f" and kept as a precaution until its list is read{beside}"


@rule("ventilation.room_volume", "ventilation.airflow")
def air_changes_are_possible(house):
    """More than thirty changes an hour is a tunnel, not a room: one of the two has a wrong unit."""
    changes = house["ventilation.airflow"] / house["ventilation.room_volume"]
    if changes > 30:
        yield (
            "ventilation.airflow",
            f"would change the air of the room {changes:.0f} times an hour; allowed is up to 30 times, "
            f"{30 * house['ventilation.room_volume']:g} m^3/h",
        )


ROUNDING = 1e-12  # a limit typed in another unit may differ by its last digit
WORKING_DAY = 8  # h, over which exposure limits are counted


@rule(
    "drying.solvent", "drying.open_solvent", "drying.safety_share", "ventilation.room_volume",
    "ventilation.airflow", "ventilation.vapour_share", "ventilation.exposure_limit",
    "ventilation.temperature", "ventilation.pressure",
)  # fmt: skip
def open_solvent_fits_the_room(house):
    """What stands open may be spilled into the room at once, and goes into its air over the day."""
    solvent, open_solvent = house["drying.solvent"], house["drying.open_solvent"]
    place = solvent_place(solvent)
    volume = gas_volume(house["ventilation.temperature"], house["ventilation.pressure"])
    vapour = open_solvent * LIQUID_DENSITY[place] / MOLAR_MASS[place] * volume
    spilled = vapour / house["ventilation.room_volume"]
    safe = LOWER_LIMIT[place] / 100 * house["drying.safety_share"] / 100
    if spilled > safe:
        yield (
            "drying.open_solvent",
            f"of {solvent}, spilled in a room of {shown(house, 'ventilation.room_volume')}, comes to "
            f"{spilled / safe * house['drying.safety_share']:.3g} % of the lower flammable limit, "
            f"above {shown(house, 'drying.safety_share')}; allowed is up to "
            f"{up_to(open_solvent * safe / spilled)} mL",
        )
    breathed = vapour / (house["ventilation.airflow"] * WORKING_DAY)
    limit = house[f"ventilation.exposure_limit.{solvent}"] / 1_000_000
    allowed = limit * house["ventilation.vapour_share"] / 100
    if breathed > allowed:
        yield (
            "drying.open_solvent",
            f"of {solvent} makes {1_000_000 * breathed:.0f} ppm over a working day in an airflow of "
            f"{shown(house, 'ventilation.airflow')}, above {1_000_000 * allowed:.4g} ppm, "
            f"{shown(house, 'ventilation.vapour_share')} of its exposure limit; allowed is up to "
            f"{up_to(open_solvent * allowed / breathed)} mL",
        )


# Jars that are open only while something goes in or out, and may be knocked over all the same.
JARS = {"drying.bath": "drying.solvent", "coating.solution_volume": "acetone"}


@rule(
    *JARS, "drying.solvent", "drying.safety_share", "ventilation.room_volume", "ventilation.temperature",
    "ventilation.pressure",
)  # fmt: skip
def jar_may_be_knocked_over(house):
    """A jar is lidded, and falls over one day: its vapour must not make the room flammable."""
    volume = gas_volume(house["ventilation.temperature"], house["ventilation.pressure"])
    share, room = house["drying.safety_share"], house["ventilation.room_volume"]
    for key, held in JARS.items():
        solvent = house[held] if "." in held else held
        place = solvent_place(solvent)
        vapour = house[key] * LIQUID_DENSITY[place] / MOLAR_MASS[place] * volume
        safe = LOWER_LIMIT[place] / 100 * share / 100 * room
        if vapour > safe:
            yield (
                key,
                f"of {solvent}, knocked over in a room of {shown(house, 'ventilation.room_volume')}, comes "
                f"to {vapour / safe * share:.3g} % of the lower flammable limit, above "
                f"{shown(house, 'drying.safety_share')}; "
                f"allowed is up to {up_to(house[key] * safe / vapour)} mL",
            )


@rule(
    "electrolysis.supply_limit", "ventilation.airflow", "ventilation.hydrogen_share",
    "ventilation.temperature", "ventilation.pressure",
)  # fmt: skip
def airflow_carries_the_hydrogen(house):
    """A supply at its limit may make gas of all its current; the room must carry that away."""
    supply = house["electrolysis.supply_limit"]
    made = hydrogen_made(supply, house["ventilation.temperature"], house["ventilation.pressure"])
    needed = made / (house["ventilation.hydrogen_share"] / 100 * HYDROGEN_LIMIT)
    if house["ventilation.airflow"] < needed:
        yield (
            "ventilation.airflow",
            f"does not carry away the hydrogen of {shown(house, 'electrolysis.supply_limit')}, the supply at "
            f"its limit; allowed is {at_least_figure(needed)} m^3/h or more",
        )


FARADAY = 96485.33212
ELECTRONS = 2
# The lower of the published limits, as a share of the air.
HYDROGEN_LIMIT = min(numbers("hydrogen", "value")) / 100

CURRENT = Quantity(
    "current", "current of the supply at its limit, all of it taken as making gas", unit="A", low=0.0001,
    high=200, why="a small bench; above it the room is an industrial plating room under its own rules",
    example="{electrolysis.supply_limit}",
)  # fmt: skip
TEMPERATURE = from_house("ventilation.temperature", about="temperature of the air", low=-10, high=50,
                         because="a shed is colder or warmer than any bench")  # fmt: skip
PRESSURE = from_house("ventilation.pressure", about="air pressure", low=50, high=115,
                      because="from a high mountain to a pressure chamber")  # fmt: skip
AIRFLOW = from_house("ventilation.airflow", about="fresh air through the room", low=0, high=100_000,
                     because="from a closed room, which is refused, to a hall")  # fmt: skip
SOLVENT = Choice(
    "solvent",
    "solvent that evaporates",
    options=FLAMMABLE,
    normal=solvent_name,
    kind="solvent",
    hints=False,
    example="{drying.solvent}",
)
EVAPORATION = Quantity(
    "evaporation", "solvent that goes into the air in an hour: weigh the open jar twice", unit="g/h",
    low=0.001, high=5000,
    example="5 g/h",
)  # fmt: skip
EXPOSURE_LIMIT = from_house("ventilation.exposure_limit.{solvent}", name="exposure_limit",
                            about="vapour allowed over a working day")  # fmt: skip

LAX_LIMIT = (
    "{exposure_limit} is laxer than {0 ppm}, the strictest limit known here for {solvent}, which was read "
    "or, where its list was not at hand, is kept as a precaution: a limit may be tightened, never loosened; "
    "leave the house's, or enter a lower one"
)
SEALED = (
    "a closed room has no steady level: its vapour rises as long as solvent stands open, to the limit for "
    "breathing and on to the flammable one; open the room, or take the solvent to where air moves"
)


def refuse_laxer(exposure_limit, lowest):
    """Refuse an exposure limit that is above the lowest that any body has published, both in [ppm]."""
    if exposure_limit > lowest * (1 + ROUNDING):
        refuse("lax-limit", lowest)


def refuse_sealed(airflow):
    """Refuse a room without fresh air."""
    if airflow == 0:
        refuse("sealed")


def gas_volume(temperature, pressure):
    """Return the volume [m3] of a mole of ideal gas at [degC] and [kPa]."""
    return molar_volume(temperature) / 1000 * ATMOSPHERE / pressure


def hydrogen_made(current, temperature, pressure):
    """Return the hydrogen [m3/h] that one cell makes when all of the current [A] makes gas."""
    return current * 3600 / (ELECTRONS * FARADAY) * gas_volume(temperature, pressure)


@calculation(
    "hydrogen-airflow",
    title="Fresh air for the hydrogen of a bath",
    inputs=(
        CURRENT,
        from_house("ventilation.hydrogen_share", name="share"),
        TEMPERATURE,
        PRESSURE,
    ),
    results=Number("flow", "m^3/h", "fresh air through the room", safe="up"),
    assumes=(
        "one bath in the circuit; baths in series each make the same gas: multiply by their count",
        "all of the current makes hydrogen, and the air mixes",
        "close above the liquid the gas is flammable whatever the ventilation: no flame, no spark, no lid",
        "open low for the inlet and high for the outlet; local rules come first",
    ),
    sources=("faraday-law", "h2-ventilation", "iec-60079-20-1"),
)
def hydrogen_airflow(current, share, temperature, pressure):
    """The hydrogen made in an hour over the share of the air that it may be."""
    hydrogen = hydrogen_made(current, temperature, pressure)
    allowed = share / 100 * HYDROGEN_LIMIT
    return hydrogen / allowed


@calculation(
    "hydrogen-openings",
    title="Openings that let the hydrogen out without a fan",
    inputs=(Quantity("flow", "fresh air wanted", unit="m^3/h", low=1e-6, high=1000, example="0.5 m^3/h"),),
    results=Number("area", "cm^2", "free area of the inlet, and the same again of the outlet", safe="up"),
    assumes=("air moves at 0.1 m/s or more through both openings", "grids and filters take free area away"),
    sources=("en-50272",),
)
def hydrogen_openings(flow):
    """28 cm^2 for each cubic metre an hour."""
    return 28 * flow


@calculation(
    "sealed-room-time",
    title="Time in which a closed space fills with hydrogen",
    inputs=(
        CURRENT,
        from_house(
            "ventilation.room_volume",
            about="air in the closed room, cupboard or box",
            low=0.001,
            because="a cupboard or a box fills by the same law",
        ),
        from_house(
            "ventilation.hydrogen_share",
            name="share",
            about="share of the lower flammable limit to be reached",
            high=100,
            free=True,
            because="a closed space may be followed until all of it could burn",
        ),
        TEMPERATURE,
        PRESSURE,
    ),
    results=duration("time", "h", "time from switching on", safe="down"),
    assumes=(
        "no air comes or goes, and the gas mixes with all of the air",
        "under a lid, a ceiling or foam it comes far sooner: this is no permission to close a bath",
    ),
    sources=("faraday-law", "iec-60079-20-1"),
)
def sealed_room_time(current, room_volume, share, temperature, pressure):
    """The volume of hydrogen that makes the share, over the rate at which it is made."""
    hydrogen = room_volume * share / 100 * HYDROGEN_LIMIT
    return hydrogen / hydrogen_made(current, temperature, pressure)


# A room at this share of the lower flammable limit is left and aired, not computed.
FLAMMABLE_SHARE = 0.25


@calculation(
    "vapour-level",
    title="Solvent vapour in a ventilated room",
    inputs=(
        SOLVENT,
        EVAPORATION,
        AIRFLOW,
        TEMPERATURE,
        PRESSURE,
        EXPOSURE_LIMIT,
    ),
    results=(
        Number("level", "ppm", "vapour in the air, by volume, when it no longer rises"),
        Number("share_of_exposure_limit", "%", "level as a share of the exposure limit"),
        Verdict(
            "verdict",
            "may anybody work in it",
            stops=("stop",),
            words={
                "go": "{level} is within the limit of {exposure_limit}; beside the jar it is more",
                "stop": "{level} is above the {exposure_limit} allowed over a working day: cover the "
                "solvent, leave and air the room; then less open solvent, or more air",
            },
        ),
    ),
    assumes=(
        "the air mixes all through; near the jar the level is several times higher",
        "evaporation and airflow have been steady for a few air changes",
        "other solvents in the same air add their own shares",
    ),
    sources=("ideal-gas", "iupac-weights", "iec-60079-20-1", "nfpa-497"),
    refusals={
        "lax-limit": LAX_LIMIT,
        "sealed": SEALED,
        "flammable": "the vapour would come to {0 ppm}, a quarter of its lower flammable limit or more: put "
        "out every source of ignition, cover the solvent, air the room and leave it; then work with less "
        "open solvent or with more air",
    },
)
def vapour_level(solvent, evaporation, airflow, temperature, pressure, exposure_limit):
    """The vapour's volume an hour over that of the air."""
    place = solvent_place(solvent)
    refuse_laxer(exposure_limit, LOWEST_PUBLISHED[place])
    refuse_sealed(airflow)
    vapour = evaporation / MOLAR_MASS[place] * gas_volume(temperature, pressure)
    part = vapour / airflow
    level = part * 1_000_000
    if part >= FLAMMABLE_SHARE * LOWER_LIMIT[place] / 100:
        refuse("flammable", level)
    verdict = "go"
    if level > exposure_limit:
        verdict = "stop"
    return {"level": level, "share_of_exposure_limit": level / exposure_limit * 100, "verdict": verdict}


@calculation(
    "vapour-airflow",
    title="Fresh air for the vapour of a solvent",
    inputs=(
        SOLVENT,
        EVAPORATION,
        from_house("ventilation.vapour_share", name="share"),
        TEMPERATURE,
        PRESSURE,
        EXPOSURE_LIMIT,
    ),
    results=Number(
        "flow",
        "m^3/h",
        "fresh air through the room",
        most=100_000,
        because="no fan of a workshop moves so much; cover the jar, use less of it or another solvent",
        safe="up",
    ),
    assumes=(
        "the air mixes all through; the share below 100 % is there because it does not",
        "a hood or an open window beside the jar does more than air in the far corner",
    ),
    sources=("ideal-gas", "iupac-weights", "dilution-formula"),
    refusals={"lax-limit": LAX_LIMIT},
)
def vapour_airflow(solvent, evaporation, share, temperature, pressure, exposure_limit):
    """The vapour's volume an hour over the share of the air that it may be."""
    place = solvent_place(solvent)
    refuse_laxer(exposure_limit, LOWEST_PUBLISHED[place])
    vapour = evaporation / MOLAR_MASS[place] * gas_volume(temperature, pressure)
    allowed = share / 100 * exposure_limit / 1_000_000
    return vapour / allowed


CURRENTS = (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0)


@table(
    "hydrogen-airflow",
    title="Fresh air and openings for the hydrogen of one bath",
    question="How much air does the bath need?",
    notes=(
        "Take the supply's limit, not the meter. The battery rule of 0.05 m³/h for each ampere, worked at "
        "0 °C with a fivefold margin, stands beside the house's rule.",
        "Close above the liquid the gas is flammable whatever the ventilation.",
    ),
    sources=("en-50272",),
)
def hydrogen_airflow_table(bench):
    """House rule beside the battery rule."""
    room = bench.value("ventilation.room_volume")
    lines = []
    for current in CURRENTS:
        flow = bench("hydrogen-airflow", current=current)
        lines.append([current, flow, 0.05 * current, bench("hydrogen-openings", flow=flow), flow / room])
    return Sheet(
        [
            Column("Supply limit", "A", 0), Column("House rule", "m^3/h"), Column("Battery rule", "m^3/h"),
            Column("Each opening", "cm^2"), Column("Changes of the room's air", "1/h"),
        ],
        lines,
    )  # fmt: skip


@table(
    "sealed-room-times",
    title="Time in which a closed space reaches the house's share of the flammable limit",
    question="How long until a closed space is dangerous?",
    notes=("Mixed air. Under a lid or in foam it takes minutes. Never close a bath that is switched on.",),
)
def sealed_room_times_table(bench):
    """Current against closed volume."""
    return matrix(
        Axis("Current", "A", CURRENTS),
        Axis("Closed space", "m^3", (0.05, 0.5, 5.0, bench.value("ventilation.room_volume"), 100.0)),
        "h",
        lambda current, volume: bench("sealed-room-time", current=current, room_volume=volume),
    )


_VAPOUR_STATES = {
    "within the house's share": "go",
    "more air or less solvent": "wait",
    "above the limit": "stop",
}


def _vapour_word(percent, allowed):
    """Return the words for a level, in per cent of the limit, beside the share that the house allows."""
    if percent > 100:
        return "above the limit"
    return "more air or less solvent" if percent > allowed else "within the house's share"


@table(
    "vapour-levels",
    title="Vapour in the workroom at the house's airflow",
    question="How much vapour do I breathe?",
    notes=("Mixed air; beside the jar it is several times more. Open no more solvent than the step needs.",),
)
def vapour_levels_table(bench):
    """Evaporation against solvent, at the house's airflow."""
    columns = [Column("Evaporation", "g/h", 0)]
    for solvent in FLAMMABLE:
        columns += [Column("Level", "ppm", group=solvent), Column("Against the limit", group=solvent)]
    lines = []
    judge = partial(_vapour_word, allowed=float(bench.value("ventilation.vapour_share")))
    for evaporation in (2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0):
        line: list = [evaporation]
        for solvent in FLAMMABLE:
            try:
                found = bench("vapour-level", solvent=solvent, evaporation=evaporation)
            except Refusal as refusal:
                line += [None, Refused(refusal.message)]
                continue
            share = found["share_of_exposure_limit"]
            word = judged(judge, share)
            line += [found["level"], Mark(_VAPOUR_STATES[word], str(word), word)]
        lines.append(line)
    return Sheet(columns, lines)


@table(
    "vapour-airflows",
    title="Fresh air for a solvent, at the house's share of the exposure limit",
    question="How much air does the solvent need?",
)
def vapour_airflows_table(bench):
    """Evaporation against solvent."""
    return matrix(
        Axis("Evaporation", "g/h", (2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)),
        Axis("Solvent", "text", FLAMMABLE),
        "m^3/h",
        lambda evaporation, solvent: bench("vapour-airflow", solvent=solvent, evaporation=evaporation),
    )


# What the air of the bench can hold besides solvent, in order of the work.
FUMES = (
    "nitric acid",
    "nitrogen dioxide",
    "hydrogen chloride",
    "hydrogen sulphide",
    "sulphur dioxide",
    "chlorine",
    "phosphine",
    "sodium hydroxide",
    "iron salts",
    "nickel",
    "nickel compounds",
    "cobalt",
    "silver, soluble",
    "chromium(VI)",
    "silica, crystalline, respirable",
    "silica, tridymite",
    "isocyanates, as NCO",
    "hexamethylene diisocyanate",
)


def limit_rows(names) -> list[list]:
    """Return the strictest limit of each kind, then what is proposed or comes later, agent by agent."""
    lines = []
    for name in names:
        found = [strictest(name, kind) for kind in LIMIT_TYPES]
        later = [limit for limit in limits() if limit.substance == name and limit.status not in HELD]
        for limit in [*filter(None, found), *later]:
            volume = limit.value if limit.unit == "ppm" else None
            mass = limit.value if limit.unit == "mg/m^3" else None
            lines.append([name, LIMIT_TYPES[limit.type], limit.shown(), volume, mass, limit.note or "–"])
    return lines


HELD = ("in force", "superseded")


@table(
    "fume-and-dust-limits",
    title="Strictest published limits of acid fumes, metal dust and isocyanate",
    question="How little of this fume or dust is too much?",
    notes=(
        "No instrument of a small bench reads these levels, and neither a smell nor dust seen in a beam of "
        "light measures them: extraction, wet work and leaving the step out are what keeps below them.",
        "Of each kind the strictest known here stands, of any country; the law of the place comes first. "
        "A dash: not given in that unit.",
        "What is marked remembered was not looked up again, and stands as a precaution. A limit that is "
        "proposed or comes later does not count yet.",
    ),
    sources=tuple(dict.fromkeys(column("exposure_limits", "source"))),
)
def fume_and_dust_limits_table(bench):
    """The strictest of each kind, agent by agent."""
    columns = [
        Column("In the air"), Column("Limit"), Column("Whose"), Column("Level", "ppm", 0),
        Column("Level", "mg/m^3", 0), Column("Note"),
    ]  # fmt: skip
    return Sheet(columns, limit_rows(FUMES))


@table(
    "exposure-limits",
    title="Published limits of solvent vapour, and the house's",
    question="Which limit holds?",
    notes=(
        "Limits differ between bodies and years; the law of the place comes first.",
        "What is marked remembered was not looked up again; where it is the strictest it is a precaution.",
    ),
    sources=tuple(dict.fromkeys(column("exposure_limits", "source"))),
)
def exposure_limits_table(bench):
    """The house's limit, then the published ones, day and short time."""
    lines = []
    for solvent in FLAMMABLE:
        house = bench.value(f"ventilation.exposure_limit.{solvent}")
        lines.append([solvent, "house", LIMIT_TYPES["day"], house])
        lines += [
            [solvent, limit.shown(), LIMIT_TYPES[limit.type], limit.value]
            for limit in limits_of(solvent)
            if limit.unit == "ppm"
        ]
    return Sheet([Column("Solvent"), Column("Whose"), Column("Limit"), Column("Level", "ppm", 0)], lines)
