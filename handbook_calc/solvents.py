"""Water and the three drying solvents: their properties, and what follows from them.

Plain functions on plain numbers, used by the formulas of alcohol, oven and ventilation;
at the end the inputs that several of these declare alike.
"""

from math import sqrt

from handbook_calc.engine.calculation import place_in_list
from handbook_calc.engine.data import numbers, rows
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.fields import Choice, Quantity, reads

GAS = 8.314462618
ATMOSPHERE = 101.325
KELVIN = 273.15
AIR_MOLAR_MASS = 28.96
AIR_DIFFUSION_VOLUME = 19.7

SOLVENTS = ["water", "2-propanol", "ethanol", "acetone"]
FLAMMABLE = ["2-propanol", "ethanol", "acetone"]
SPELLINGS = {
    "isopropanol": "2-propanol",
    "isopropyl alcohol": "2-propanol",
    "propan-2-ol": "2-propanol",
    "ipa": "2-propanol",
    "ethyl alcohol": "ethanol",
    "alcohol": "ethanol",
    "spirit": "ethanol",
    "propanone": "acetone",
}


@reads(SPELLINGS)
def solvent_name(text: str) -> str:
    """Return the standard name for a common spelling of a solvent."""
    plain = text.lower()
    return SPELLINGS.get(plain, plain)


def _property(name: str) -> list[float]:
    """Return a property of each of SOLVENTS; 0 where the solvent has none."""
    found = {r["solvent"]: float(r["value"]) for r in rows("solvents") if r["property"] == name}
    return [found.get(solvent, 0.0) for solvent in SOLVENTS]


MOLAR_MASS = _property("molar mass")
LIQUID_DENSITY = _property("density")
BOILING_POINT = _property("boiling point")
ANTOINE_A = _property("antoine a")
ANTOINE_B = _property("antoine b")
ANTOINE_C = _property("antoine c")
ANTOINE_FROM = _property("antoine from")
ANTOINE_TO = _property("antoine to")
DIFFUSION_VOLUME = _property("diffusion volume")
# Standards disagree; for fire the lower limit and the lower ignition temperature are the safe ones.
LOWER_LIMIT = [
    min(pair) for pair in zip(_property("lower limit IEC"), _property("lower limit NFPA"), strict=True)
]
UPPER_LIMIT = [
    max(pair) for pair in zip(_property("upper limit IEC"), _property("upper limit NFPA"), strict=True)
]
FLASH_POINT = _property("flash point")
IGNITION = _property("ignition temperature")
AZEOTROPE = _property("azeotrope")
SOAK_DIFFUSIVITY_LOW = _property("soak diffusivity low")
SOAK_DIFFUSIVITY_HIGH = _property("soak diffusivity high")

PROPANOL_PERCENT = numbers("propanol_density", "mass_percent")
PROPANOL_DENSITY = numbers("propanol_density", "density_20")
PROPANOL_FALL = numbers("propanol_density", "fall_per_degree")

OIML_DEGREES = numbers("oiml_r22", "power_of_degrees")
OIML_SHARE = numbers("oiml_r22", "power_of_share")
OIML_COEFFICIENT = numbers("oiml_r22", "coefficient")


@place_in_list
def solvent_place(solvent):
    """Return the place of a solvent in the lists of this module."""
    place = 0
    while SOLVENTS[place] != solvent:
        place = place + 1
    return place


def saturated_pressure(place, temperature):
    """Return the vapour pressure [kPa] over the liquid at a temperature [degC], by Antoine."""
    power = ANTOINE_A[place] - ANTOINE_B[place] / (temperature + KELVIN + ANTOINE_C[place])
    return 10**power / 1000


def saturated_share(place, temperature):
    """Return the share of vapour, 0 to 1, in air over the liquid; 1 from the boiling point on."""
    if temperature >= BOILING_POINT[place]:
        return 1
    return min(1, saturated_pressure(place, temperature) / ATMOSPHERE)


def molar_volume(temperature):
    """Return the volume [L] of a mole of vapour at a temperature [degC] and one atmosphere."""
    return GAS * (temperature + KELVIN) / ATMOSPHERE


def lower_limit(place, temperature):
    """Return the lower flammable limit [% by volume] at a temperature [degC].

    Falls by a tenth from 25 to 80 degC and on at that rate: 0.86 of the printed limit at 100 degC,
    where oven data of ethanol give 0.865 and of acetone 0.90.
    """
    above_room = max(0, temperature - 25)
    return LOWER_LIMIT[place] * (1 - 0.1 * above_room / 55)


def fuller_diffusivity(place, temperature, pressure):
    """Return the diffusivity [cm2/s] of the vapour in air at [degC] and [kPa], after Fuller."""
    pair_mass = 2 / (1 / MOLAR_MASS[place] + 1 / AIR_MOLAR_MASS)
    size = DIFFUSION_VOLUME[place] ** (1 / 3) + AIR_DIFFUSION_VOLUME ** (1 / 3)
    return 0.00143 * (temperature + KELVIN) ** 1.75 / (pressure / 100 * sqrt(pair_mass) * size**2)


def propanol_density(place, temperature):
    """Return the density [g/cm3] of entry `place` of the 2-propanol table at a temperature [degC]."""
    return PROPANOL_DENSITY[place] - PROPANOL_FALL[place] * (temperature - 20)


def propanol_percent(density, temperature):
    """Return % by mass of 2-propanol for a density [g/cm3] inside the table, by straight lines."""
    place = 1
    while place < len(PROPANOL_PERCENT) - 1 and density < propanol_density(place, temperature):
        place = place + 1
    heavier = propanol_density(place - 1, temperature)
    lighter = propanol_density(place, temperature)
    share = (heavier - density) / (heavier - lighter)
    step = PROPANOL_PERCENT[place] - PROPANOL_PERCENT[place - 1]
    return PROPANOL_PERCENT[place - 1] + share * step


def propanol_density_at(mass_percent):
    """Return the density [g/cm3] at 20 degC of 2-propanol of a strength inside the table."""
    place = 1
    while place < len(PROPANOL_PERCENT) - 1 and mass_percent > PROPANOL_PERCENT[place]:
        place = place + 1
    step = PROPANOL_PERCENT[place] - PROPANOL_PERCENT[place - 1]
    share = (mass_percent - PROPANOL_PERCENT[place - 1]) / step
    fall = PROPANOL_DENSITY[place - 1] - PROPANOL_DENSITY[place]
    return PROPANOL_DENSITY[place - 1] - share * fall


def ethanol_density(mass_percent, temperature):
    """Return the density [g/cm3] of ethanol and water, by the general formula of OIML R 22."""
    share = mass_percent / 100
    degrees = temperature - 20
    density = 0
    for i in range(len(OIML_COEFFICIENT)):
        density = density + (OIML_COEFFICIENT[i] * degrees ** OIML_DEGREES[i] * share ** OIML_SHARE[i])
    return density / 1000


# --- what calculations of several stages declare alike -----------------------------------------


def solvent_input(options=None, example="{drying.solvent}"):
    """Return the input that names the liquid."""
    return Choice("solvent", "the liquid", options=options or FLAMMABLE, normal=solvent_name, kind="solvent",
               hints=False,
                  example=example)  # fmt: skip


OUTSIDE_DATA = (
    "the vapour pressure data of {solvent} run from {0 degC} to {1 degC}; {temperature} lies outside"
)
OVEN_TEMPERATURE_INPUT = Quantity(
    "temperature",
    "temperature of the air that holds the vapour",
    unit="degC",
    low=10,
    high=200,
    why="below, vapour pressure data end; above, no drying oven is run",
    example="{drying.oven_temperature}",
)
SAFETY_SHARE_INPUT = from_house("drying.safety_share")
LIMIT_ASSUMES = (
    "the lower of the limits that two standards print, and lowered with temperature by a tenth at 80 °C",
)
