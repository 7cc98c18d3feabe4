"""The lift of the air in a weighing: it shows where a heavy piece is weighed to the milligram."""

from handbook_calc.engine.calculation import Number, Verdict, calculation
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.fields import Quantity

STAGE = "oven"
DRY_AIR = 287.05  # J/kg/K
KELVIN = 273.15
WEIGHTS = 8.0  # g/cm3, steel of the weights that a balance is set with


def air_density(temperature, pressure):
    """Return the density [kg/m3] of dry air at [degC] and [kPa]; a damp room has half a per cent less."""
    return 1000 * pressure / (DRY_AIR * (temperature + KELVIN))


def room(name, about, pressure):
    """Declare the air of one of the two weighings."""
    return (
        Quantity(f"temperature_{name}", f"temperature of the room {about}", unit="degC", low=0, high=40,
                 example="{drying.room_temperature}"),
        Quantity(f"pressure_{name}", f"pressure of the air {about}, there, not at the level of the sea",
                 unit="kPa", low=60, high=110, example=pressure),
    )  # fmt: skip


@calculation(
    "air-lift",
    title="Change of a weighing by the air alone",
    inputs=(
        Quantity("mass", "mass of the piece", unit="g", low=0.01, high=100_000, example="{piece.mass}"),
        from_house("abrasives.density", about="density of the piece", low=1, high=23,
                   because="from a porous stone to the densest metal"),
        *room("before", "at the first weighing", "102 kPa"),
        *room("after", "at the second weighing", "99 kPa"),
        from_house("drying.balance", name="resolution", low=0.000001, high=100,
                   because="from a microbalance to a shop scale"),
    ),
    results=(
        Number("lift", "mg", "by which the piece weighs light in the first room", 3),
        Number("change", "mg", "reading of the second weighing less the first, by the air alone", 2),
        Verdict("verdict", "does it show", stops=(), words={
            "does not show": "The change is less than half a step of the balance.",
            "shows": "The air alone moves the reading by {change}: put that right before two weighings are "
            "compared, or weigh a known weight of iron beside the piece each time.",
        }),
    ),
    assumes=(
        "a balance that is not set anew between the weighings; one that is set with its own steel weight "
        "before each shows only a hundredth of this for iron",
        "dry air; the moisture of a room is worth a twentieth of a percent of the lift for each 10 %",
        "a warm piece weighs light by its own rising air besides, which no formula puts right",
    ),
    sources=("buoyancy-of-air", "oiml-d28"),
)  # fmt: skip
def air_lift(
    mass, density, temperature_before, pressure_before, temperature_after, pressure_after, resolution
):
    """Volume of the piece times the density of the air."""
    volume = mass / density
    lift = volume * air_density(temperature_before, pressure_before)
    after = volume * air_density(temperature_after, pressure_after)
    change = lift - after
    verdict = "shows" if abs(change) >= resolution * 1000 / 2 else "does not show"
    return {"lift": lift, "change": change, "verdict": verdict}
