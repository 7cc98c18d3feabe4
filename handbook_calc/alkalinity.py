"""Alkali of a bath: hydroxide of a salt and a strength, and what the air's carbon dioxide takes of it.

Hydroxides give all of theirs. A carbonate gives little: the carbonate ion takes a proton from water until

    hydroxide x hydrogencarbonate / carbonate = (ionic product of water) / (second constant of carbonic acid)

in activities. Activity coefficients are Pitzer's for one cation with carbonate, hydrogencarbonate and
hydroxide; without them a strong carbonate would be credited with two thirds more hydroxide than it has.
"""

from math import exp, log, sqrt

from handbook_calc.engine import data
from handbook_calc.engine.calculation import Number, calculation
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.fields import Quantity, reads
from handbook_calc.plausible import duration

STAGE = "electrolysis"
KELVIN = 273.15
FALSE_POSITIONS = 100
CLOSE = 1e-12  # of the hydroxide at the start
WATER = 0.9982  # kg in a litre; a bath of up to 50 g/L holds within 1 % as much
CHLORIDE = 35.45  # g/mol
SETTLED = 1e-12

ALKALIS = data.column("alkalis", "salt")
MOLAR_MASSES = data.numbers("alkalis", "molar_mass")
CARBONATES = data.numbers("alkalis", "carbonates")
CATIONS = data.numbers("alkalis", "cations")
CATION_NAMES = data.column("alkalis", "cation")

PAIR_CATIONS = data.column("ion_pairs", "cation")
PAIR_ANIONS = data.column("ion_pairs", "anion")
PAIR_BETA0 = data.numbers("ion_pairs", "beta0")
PAIR_BETA0_SLOPE = data.numbers("ion_pairs", "beta0_slope")
PAIR_BETA1 = data.numbers("ion_pairs", "beta1")
PAIR_BETA1_SLOPE = data.numbers("ion_pairs", "beta1_slope")
PAIR_C = data.numbers("ion_pairs", "c_phi")
PAIR_PSI = data.numbers("ion_pairs", "psi_carbonate")
THETA_HYDROXIDE = 0.1
THETA_HYDROGENCARBONATE = -0.04
BREADTH = 1.2  # b of the extended law
RANGE = 2.0  # alpha of the pair terms

# Carbon dioxide from the air.
AIR_SHARE = 420e-6  # by volume, outdoors; a closed room holds two to three times as much
AIR_DIFFUSIVITY = 1.57e-5  # m2/s of carbon dioxide in air, 20 degC
GAS = 8.314462618
ATMOSPHERE = 101_325  # Pa
LIQUID_DIFFUSIVITY = 1.67e-9  # m2/s of carbon dioxide in water, 20 degC
SOLUBILITY = 3.9e-4  # mol/m3/Pa, 20 degC
HYDROXIDE_RATE = 5.9  # m3/mol/s, carbon dioxide and hydroxide, 20 degC


def alkali_place(salt):
    """Return the place of a salt in the lists of this module."""
    place = 0
    while ALKALIS[place] != salt:
        place = place + 1
    return place


def pair_place(cation, anion):
    """Return the place of a pair of ions in the lists of this module."""
    place = 0
    while PAIR_CATIONS[place] != cation or PAIR_ANIONS[place] != anion:
        place = place + 1
    return place


def water_product(temperature):
    """Return pKw, the negative logarithm of the ionic product of water, at [degC]."""
    kelvin = temperature + KELVIN
    power = 293.29227 + 0.1360833 * kelvin - 10_576.913 / kelvin
    return -(power - 123.73158 * log(kelvin) / log(10) - 6.996455e-5 * kelvin**2)


def second_constant(temperature):
    """Return pK2 of carbonic acid at [degC], after Plummer and Busenberg."""
    kelvin = temperature + KELVIN
    power = -107.8871 - 0.03252849 * kelvin + 5151.79 / kelvin
    return -(power + 38.92561 * log(kelvin) / log(10) - 563_713.9 / kelvin**2)


def debye_slope(temperature):
    """Return the slope of the limiting law for osmotic coefficients [(kg/mol)^0.5] at [degC]."""
    return 0.3767 + 5.2e-4 * temperature + 2.9e-6 * temperature**2


def unlike_charges(slope, ionic):
    """Return Pitzer's mixing term of ions of one and two like charges at an ionic strength [mol/kg]."""
    root = sqrt(ionic)
    one = mixing_integral(6 * slope * root)
    two = mixing_integral(12 * slope * root)
    four = mixing_integral(24 * slope * root)
    return 2 / (4 * ionic) * (two - one / 2 - four / 2)


def mixing_integral(x):
    """Return Pitzer's integral J of the electrostatic mixing, by his own formula."""
    return x / (4 + 4.581 * x**-0.7237 * exp(-0.0120 * x**0.528))


def pair_terms(cation, anion, temperature, ionic):
    """Return B and B' of a pair of ions, as a list."""
    place = pair_place(cation, anion)
    beta0 = PAIR_BETA0[place] + PAIR_BETA0_SLOPE[place] * (temperature - 25)
    beta1 = PAIR_BETA1[place] + PAIR_BETA1_SLOPE[place] * (temperature - 25)
    x = RANGE * sqrt(ionic)
    fade = exp(-x)
    near = 2 / x**2 * (1 - (1 + x) * fade)
    change = -2 / x**2 * (1 - (1 + x + x**2 / 2) * fade)
    return [beta0 + beta1 * near, beta1 * change / ionic]


def activity_logarithms(cation, carbonate, hydrogencarbonate, hydroxide, temperature):
    """Return ln of the activity coefficients of carbonate, hydrogencarbonate and hydroxide, as a list.

    Molalities [mol/kg] of the three anions; the cation balances their charge.
    """
    ionic = (6 * carbonate + 2 * hydrogencarbonate + 2 * hydroxide) / 2
    metal = 2 * carbonate + hydrogencarbonate + hydroxide
    charge = metal + 2 * carbonate + hydrogencarbonate + hydroxide
    slope = debye_slope(temperature)
    root = sqrt(ionic)
    of_carbonate = pair_terms(cation, "carbonate", temperature, ionic)
    of_hydrogencarbonate = pair_terms(cation, "hydrogencarbonate", temperature, ionic)
    of_hydroxide = pair_terms(cation, "hydroxide", temperature, ionic)
    at = pair_place(cation, "carbonate")
    at_hydrogencarbonate = pair_place(cation, "hydrogencarbonate")
    at_hydroxide = pair_place(cation, "hydroxide")
    # The constant C of a pair is C_phi over twice the root of the product of the charges.
    c_carbonate = PAIR_C[at] / (2 * sqrt(2))
    c_hydrogencarbonate = PAIR_C[at_hydrogencarbonate] / 2
    c_hydroxide = PAIR_C[at_hydroxide] / 2
    law = -slope * (root / (1 + BREADTH * root) + 2 / BREADTH * log(1 + BREADTH * root))
    law = law + metal * (
        carbonate * of_carbonate[1]
        + hydrogencarbonate * of_hydrogencarbonate[1]
        + hydroxide * of_hydroxide[1]
    )
    triples = metal * (
        carbonate * c_carbonate + hydrogencarbonate * c_hydrogencarbonate + hydroxide * c_hydroxide
    )
    unlike = unlike_charges(slope, ionic)
    with_hydroxide = 2 * (THETA_HYDROXIDE + unlike) + metal * PAIR_PSI[at_hydroxide]
    with_hydrogencarbonate = 2 * (THETA_HYDROGENCARBONATE + unlike) + metal * PAIR_PSI[at_hydrogencarbonate]
    return [
        4 * law
        + metal * (2 * of_carbonate[0] + charge * c_carbonate)
        + hydroxide * with_hydroxide
        + hydrogencarbonate * with_hydrogencarbonate
        + 2 * triples,
        law
        + metal * (2 * of_hydrogencarbonate[0] + charge * c_hydrogencarbonate)
        + carbonate * with_hydrogencarbonate
        + triples,
        law + metal * (2 * of_hydroxide[0] + charge * c_hydroxide) + carbonate * with_hydroxide + triples,
    ]


def hydrolysis(salt, strength, temperature, with_activities, uptake):
    """Return hydroxide [mol/kg] and pH, for a salt [g/L] at [degC], as a list.

    Arguments:
        with_activities: 1 for activity coefficients, 0 to take each as one, as school books do.
        uptake: carbon dioxide taken up from the air so far, mol/kg.
    """
    place = alkali_place(salt)
    moles = strength / MOLAR_MASSES[place] / WATER
    cation = CATION_NAMES[place]
    # Of all the alkali, a mole of carbon dioxide turns two moles of hydroxide into one of carbonate.
    alkalinity = CATIONS[place] * moles
    carbon = CARBONATES[place] * moles + uptake
    constant = exp(-log(10) * (water_product(temperature) - second_constant(temperature)))
    logarithms = [0, 0, 0]
    hydroxide = 0
    for _ in range(40):
        ratio = constant
        if with_activities > 0:
            ratio = constant * exp(logarithms[0] - logarithms[1] - logarithms[2])
        before = hydroxide
        hydroxide = free_hydroxide(alkalinity, carbon, ratio)
        carbonate = carbon * hydroxide / (hydroxide + ratio)
        hydrogencarbonate = carbon - carbonate
        logarithms = activity_logarithms(cation, carbonate, hydrogencarbonate, hydroxide, temperature)
        if abs(hydroxide - before) <= SETTLED * hydroxide:
            break
    activity = logarithms[2] if with_activities > 0 else 0
    ph = water_product(temperature) + (log(hydroxide) + activity) / log(10)
    return [hydroxide, ph]


def free_hydroxide(alkalinity, carbon, ratio):
    """Return hydroxide for the alkali and the carbon of a solution, and hydroxide x HCO3 / CO3.

    Charge: alkalinity = hydroxide + carbon (1 + hydroxide / (hydroxide + ratio)), a quadratic in hydroxide.
    """
    half = (ratio + 2 * carbon - alkalinity) / 2
    product = ratio * (alkalinity - carbon)
    root = sqrt(half**2 + product)
    # Of the two ways to write the root, the one that does not subtract near equals.
    return product / (half + root) if half > 0 else root - half


def air_uptake(hydroxide, air_path):
    """Return the most carbon dioxide [mol/m2/s] that a bath can take from the air, at 20 degC.

    Arguments:
        hydroxide: mol/m3.
        air_path: mm of still air above the liquid that the gas has to cross.

    Air and liquid in series: diffusion through the air, and the reaction with hydroxide in a skin
    of the liquid that is never used up (Danckwerts).
    """
    pressure = AIR_SHARE * ATMOSPHERE
    air = AIR_DIFFUSIVITY / (air_path / 1000) / (GAS * (20 + KELVIN))
    liquid = SOLUBILITY * sqrt(LIQUID_DIFFUSIVITY * HYDROXIDE_RATE * hydroxide)
    return pressure / (1 / air + 1 / liquid)


# --- calculations -------------------------------------------------------------------------------

SPELLINGS = {
    "k2co3": "potassium carbonate",
    "potash": "potassium carbonate",
    "na2co3": "sodium carbonate",
    "soda ash": "sodium carbonate",
    "naoh": "sodium hydroxide",
    "lye": "sodium hydroxide",
    "caustic soda": "sodium hydroxide",
    "koh": "potassium hydroxide",
    "caustic potash": "potassium hydroxide",
}
NOT_A_BATH = {
    "washing soda": "is sold both as crystals and dry; read the label, and write 'sodium carbonate' with "
    "the strength as anhydrous salt",
    "baking soda": "is sodium hydrogencarbonate, too weakly alkaline to keep iron passive",
    "table salt": "is a chloride, which is what the bath is to draw out",
}


@reads(SPELLINGS)
def alkali_name(written: str) -> str:
    """Return an alkali's name for its formula or trade name.

    Raises:
        ValueError: the name is of more than one substance, or of one that does harm.
    """
    plain = " ".join(written.lower().split())
    if plain in NOT_A_BATH:
        raise ValueError(NOT_A_BATH[plain])
    return SPELLINGS.get(plain, plain)


def alkali_inputs(optional: bool = False) -> tuple:
    """Return the inputs salt, strength and temperature of a bath, from the house."""
    return (
        from_house("electrolysis.salt", about="salt of the bath", options=ALKALIS, normal=alkali_name,
                   optional=optional),
        from_house("electrolysis.strength", about="anhydrous salt in a litre of the bath", optional=optional),
        from_house("electrolysis.temperature", about="temperature of the bath", low=5, high=40,
                   because="the constants are those of a room, not of a heated bath", optional=optional),
    )  # fmt: skip


ALKALI_INPUTS = alkali_inputs()
ALKALI_ASSUMES = (
    "a fresh bath in deionised water: rust, chloride and the air change it",
    "activity coefficients of concentrated carbonate differ by 15 to 30 % between published models",
    "no pairs of ions are counted apart; the solution holds 0.998 kg/L of water",
)


@calculation(
    "bath-hydroxide",
    curve="strength",
    title="Hydroxide in a bath",
    inputs=ALKALI_INPUTS,
    results=(
        Number("hydroxide", "mmol/L", "hydroxide in the bath", 2),
        Number("ph", "1", "what a good meter reads, within 0.1", 3),
        Number("hydroxide_ideal", "mmol/L", "what school books give, with every activity coefficient one", 2),
    ),
    assumes=(
        *ALKALI_ASSUMES,
        "pH falls as a bath warms while hydroxide rises: baths of different temperature are never compared "
        "by pH",
    ),
    sources=("harvie-1984", "plummer-busenberg-1982"),
)
def bath_hydroxide(salt, strength, temperature):
    """Hydrolysis of the carbonate, or the whole of a hydroxide."""
    with_activities = hydrolysis(salt, strength, temperature, 1, 0)
    ideal = hydrolysis(salt, strength, temperature, 0, 0)
    hydroxide = 1000 * WATER * with_activities[0]
    hydroxide_ideal = 1000 * WATER * ideal[0]
    return {"hydroxide": hydroxide, "ph": with_activities[1], "hydroxide_ideal": hydroxide_ideal}


@calculation(
    "bath-chloride-limit",
    curve="strength",
    title="Chloride at which a bath is spent",
    inputs=(
        *ALKALI_INPUTS[:2],
        from_house("electrolysis.chloride_share", name="share", low=0.5, high=100,
                   because="published shares run from a hundredth to all of it",
                   about="chloride that the alkali holds in check, by moles of its hydroxide"),
        ALKALI_INPUTS[2],
    ),
    results=Number("limit", "mg/L", "chloride at which the bath is changed", 2, safe="down"),
    assumes=(
        *ALKALI_ASSUMES,
        "evidence: a tenth by moles, on archaeological iron in hydroxide of 0.1 mol/L; other studies "
        "print 0.01 to 0.6 of the hydroxide, less in weaker alkali",
        "assumed: that the same share holds in carbonate, which nobody has measured; carbonate itself may "
        "guard iron a little",
    ),
    sources=("bath-limit-2024", "chloride-share-reviews", "harvie-1984"),
)  # fmt: skip
def bath_chloride_limit(salt, strength, share, temperature):
    """Share of the hydroxide, in moles, times the molar mass of chloride."""
    hydroxide = 1000 * WATER * hydrolysis(salt, strength, temperature, 1, 0)[0]
    return share / 100 * hydroxide * CHLORIDE


@calculation(
    "bath-carbonation",
    curve="volume",
    title="Time in which the air can take half of a bath's hydroxide",
    inputs=(
        *ALKALI_INPUTS[:2],
        Quantity("volume", "liquid of the bath", unit="L", low=0.01, high=500,
                 example="{electrolysis.bath}"),
        Quantity("surface", "surface of the liquid that the air touches", unit="cm^2", low=1, high=20_000,
                 example="100 cm^2"),
        Quantity("air_path", "still air that the carbon dioxide has to cross: a few mm in an open tub, the "
                 "height of the rim under a loose lid", unit="mm", low=1, high=300, example="5 mm"),
    ),
    results=(
        duration("time", "d", "half of the hydroxide cannot be gone sooner", 2, safe="down"),
        Number("uptake", "mol/m^2/d", "the most carbon dioxide that goes in at first", 2, safe="up"),
    ),
    assumes=(
        "a bound, not a forecast: the skin of the liquid is renewed for ever; a still bath loses less",
        "20 °C, outdoor air; the air of a closed room holds two to three times the carbon dioxide",
        "no chloride limit that was worked out for a fresh bath holds longer than this",
        "a lid lies loose, for hydrogen must get out",
    ),
    sources=("danckwerts-film", "harvie-1984"),
)  # fmt: skip
def bath_carbonation(salt, strength, volume, surface, air_path):
    """Carbon dioxide that halves the hydroxide, over the rate at which air and skin can pass it on."""
    start = hydrolysis(salt, strength, 20, 1, 0)[0]
    place = alkali_place(salt)
    low = 0
    # Where carbon reaches the cations all of it is hydrogencarbonate, and next to no hydroxide is left.
    high = (CATIONS[place] - CARBONATES[place]) * strength / MOLAR_MASSES[place] / WATER
    above = start / 2
    below = start / 2
    side = 0
    middle = high / 2
    for _ in range(FALSE_POSITIONS):
        middle = low + (high - low) * above / (above + below)
        miss = hydrolysis(salt, strength, 20, 1, middle)[0] - start / 2
        if abs(miss) <= CLOSE * start:
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
    needed = middle * WATER * volume
    rate = air_uptake(start * WATER * 1000, air_path)
    uptake = rate * 86_400
    time = needed / (uptake * surface / 10_000)
    return {"time": time, "uptake": uptake}
