"""A solvent and water that evaporate together from a crack into the air of the room.

In still air each vapour leaves in proportion to its diffusivity and to its pressure over the liquid, less
that in the room. Water vapour is more than twice as quick as the others, and the room holds some already:
so it is not the boiling azeotrope that tells what stays behind. Pressures over the mixture are Raoult's
with activity coefficients from a group method, and by van Laar's equation as a second opinion.
"""

from math import exp, log

from handbook_calc.engine import data
from handbook_calc.engine.calculation import Number, Verdict, calculation
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.fields import Choice, Quantity
from handbook_calc.solvents import (
    FLAMMABLE,
    KELVIN,
    LIQUID_DENSITY,
    MOLAR_MASS,
    fuller_diffusivity,
    saturated_pressure,
    solvent_name,
    solvent_place,
)

STAGE = "alcohol"

GROUP_LIQUIDS = data.column("unifac_groups", "liquid")
GROUP_MAIN = data.numbers("unifac_groups", "main")
GROUP_COUNT = data.numbers("unifac_groups", "count")
GROUP_VOLUME = data.numbers("unifac_groups", "volume")
GROUP_SURFACE = data.numbers("unifac_groups", "surface")
PAIR_OF = data.numbers("unifac_pairs", "of")
PAIR_WITH = data.numbers("unifac_pairs", "with")
PAIR_A = data.numbers("unifac_pairs", "a")
PAIR_B = data.numbers("unifac_pairs", "b")
PAIR_C = data.numbers("unifac_pairs", "c")
VAN_LAAR_SOLVENTS = data.column("van_laar", "solvent")
VAN_LAAR_SOLVENT = data.numbers("van_laar", "of_solvent")
VAN_LAAR_WATER = data.numbers("van_laar", "of_water")

COORDINATION = 5  # half the coordination number
GONE = 0.01  # of the solvent is left when it counts as gone
STEPS = 60
ONE_ATMOSPHERE = 101.325
TRACE = 1e-6  # % of the crack's volume, below which the digits are those of the steps
LEAST_LIMIT = 1.0  # % of the crack's volume, where no limit is given


def interaction(of, to, kelvin):
    """Return the group interaction of two main groups at a temperature [K], 1 for one and the same."""
    for i in range(len(PAIR_OF)):
        if PAIR_OF[i] == of and PAIR_WITH[i] == to:
            return exp(-(PAIR_A[i] / kelvin + PAIR_B[i] + PAIR_C[i] * kelvin))
    return 1


def group_mixture(solvent, temperature):
    """Return what the group method needs of a solvent with water at [degC], as a list.

    Places of the groups in the table; count of each in a molecule of solvent, of water; interactions row
    by row; logarithms of the group activities in the pure solvent, in water.
    """
    places = []
    in_solvent = []
    in_water = []
    for i in range(len(GROUP_LIQUIDS)):
        if GROUP_LIQUIDS[i] == solvent or GROUP_LIQUIDS[i] == "water":
            places.append(i)
            in_solvent.append(GROUP_COUNT[i] if GROUP_LIQUIDS[i] == solvent else 0)
            in_water.append(GROUP_COUNT[i] if GROUP_LIQUIDS[i] == "water" else 0)
    pairs = []
    for i in range(len(places)):
        row = []
        for j in range(len(places)):
            row.append(interaction(GROUP_MAIN[places[i]], GROUP_MAIN[places[j]], temperature + KELVIN))
        pairs.append(row)
    pure_solvent = group_activities(places, pairs, in_solvent)
    pure_water = group_activities(places, pairs, in_water)
    return [places, in_solvent, in_water, pairs, pure_solvent, pure_water]


def group_activities(places, pairs, counts):
    """Return the logarithms of the group activity coefficients for counts of groups, as a list."""
    surface = 0
    for i in range(len(places)):
        surface = surface + counts[i] * GROUP_SURFACE[places[i]]
    shares = []
    for i in range(len(places)):
        shares.append(counts[i] * GROUP_SURFACE[places[i]] / surface)
    felt = []
    for i in range(len(places)):
        total = 0
        for j in range(len(places)):
            total = total + shares[j] * pairs[j][i]
        felt.append(total)
    answers = []
    for i in range(len(places)):
        total = 0
        for j in range(len(places)):
            total = total + shares[j] * pairs[i][j] / felt[j]
        answers.append(GROUP_SURFACE[places[i]] * (1 - log(felt[i]) - total))
    return answers


def molecule(places, counts, table):
    """Return the sum of a property over the groups of a molecule."""
    total = 0
    for i in range(len(places)):
        total = total + counts[i] * table[places[i]]
    return total


def group_coefficients(mixture, share):
    """Return the activity coefficients of solvent and water at a mole share of the solvent, as a list."""
    places = mixture[0]
    answers = []
    counts = []
    for i in range(len(places)):
        counts.append(share * mixture[1][i] + (1 - share) * mixture[2][i])
    mixed = group_activities(places, mixture[3], counts)
    volume = molecule(places, counts, GROUP_VOLUME)
    surface = molecule(places, counts, GROUP_SURFACE)
    root = share * molecule(places, mixture[1], GROUP_VOLUME) ** 0.75
    root = root + (1 - share) * molecule(places, mixture[2], GROUP_VOLUME) ** 0.75
    for k in range(2):
        own = mixture[1 + k]
        own_volume = molecule(places, own, GROUP_VOLUME)
        own_surface = molecule(places, own, GROUP_SURFACE)
        part = own_volume**0.75 / root
        ratio = own_volume / volume * surface / own_surface
        logarithm = 1 - part + log(part) - COORDINATION * own_surface * (1 - ratio + log(ratio))
        for i in range(len(places)):
            logarithm = logarithm + own[i] * (mixed[i] - mixture[4 + k][i])
        answers.append(exp(logarithm))
    return answers


def van_laar_coefficients(solvent, share):
    """Return the activity coefficients of solvent and water by van Laar, as a list."""
    place = 0
    while VAN_LAAR_SOLVENTS[place] != solvent:
        place = place + 1
    one = VAN_LAAR_SOLVENT[place]
    two = VAN_LAAR_WATER[place]
    weight = one * share + two * (1 - share)
    of_solvent = exp(one * (two * (1 - share) / weight) ** 2)
    of_water = exp(two * (one * share / weight) ** 2)
    return [of_solvent, of_water]


def mole_share(place, mass_percent):
    """Return the mole share of a solvent in water from its strength by mass [%]."""
    of_solvent = mass_percent / MOLAR_MASS[place]
    of_water = (100 - mass_percent) / MOLAR_MASS[0]
    return of_solvent / (of_solvent + of_water)


def flux_ratio(place, mixture, solvent, share, temperature, humidity):
    """Return water that leaves for a mole of solvent; negative where the liquid takes water from the air.

    Arguments:
        mixture: what `group_mixture` gave, or an empty list for van Laar's equation.
        humidity: of the room, 0 to 1.
    """
    pair = group_coefficients(mixture, share) if len(mixture) > 0 else van_laar_coefficients(solvent, share)
    of_solvent = fuller_diffusivity(place, temperature, ONE_ATMOSPHERE)
    of_solvent = of_solvent * pair[0] * share * saturated_pressure(place, temperature)
    of_water = fuller_diffusivity(0, temperature, ONE_ATMOSPHERE)
    of_water = of_water * (pair[1] * (1 - share) - humidity) * saturated_pressure(0, temperature)
    return of_water / of_solvent


def dried(place, solvent, mixture, mass_percent, humidity, temperature):
    """Return water in the crack when the solvent has gone, and the most on the way, % of the crack's volume.

    Runge and Kutta's rule over the logarithm of the solvent left, sixty steps to its last hundredth.
    """
    share = mole_share(place, mass_percent)
    water = (1 - share) / share
    full = MOLAR_MASS[place] / LIQUID_DENSITY[place] + water * MOLAR_MASS[0] / LIQUID_DENSITY[0]
    step = -log(GONE) / STEPS
    left = 1
    most = water
    for _ in range(STEPS):
        half = left * exp(-step / 2)
        end = left * exp(-step)
        one = -left * flux_ratio(place, mixture, solvent, left / (left + water), temperature, humidity)
        try_water = max(0, water + one * step / 2)
        two = -half * flux_ratio(place, mixture, solvent, half / (half + try_water), temperature, humidity)
        try_water = max(0, water + two * step / 2)
        three = -half * flux_ratio(place, mixture, solvent, half / (half + try_water), temperature, humidity)
        try_water = max(0, water + three * step)
        four = -end * flux_ratio(place, mixture, solvent, end / (end + try_water), temperature, humidity)
        water = max(0, water + step * (one + 2 * two + 2 * three + four) / 6)
        left = end
        most = max(most, water)
    volume = MOLAR_MASS[0] / LIQUID_DENSITY[0] / full
    residue = 100 * water * volume
    return [residue if residue > TRACE else 0, 100 * most * volume]


@calculation(
    "last-bath",
    curve="humidity",
    limit="water_limit",
    title="Water that a crack keeps when its last bath has dried in room air",
    inputs=(
        Choice("solvent", "solvent of the last bath", options=FLAMMABLE, normal=solvent_name, kind="solvent",
               hints=False,
               example="{drying.solvent}"),
        Quantity("mass_percent", "strength of the last bath, by mass", unit="%", low=20, high=100,
                 why="weaker than that it is water with some solvent in it", example="99.5 %"),
        from_house("drying.room_humidity", name="humidity", about="relative humidity of the drying room",
                   low=0, high=95, because="from air dried with gel to air in which nothing dries"),
        from_house("drying.room_temperature", name="temperature", about="temperature of the drying room"),
        from_house("drying.water_limit", about="water allowed in the cracks, by volume", optional=True),
    ),
    results=(
        Number("water_left", "%", "water when 99 % of the solvent has gone, of the crack's volume", 2),
        Number("water_left_other", "%", "the same by another set of activity coefficients", 2),
        Number("water_most", "%", "the most water on the way there, of the crack's volume", 2),
        Verdict("verdict", "does it dry", stops=(), words={
            "dries": "About {water_left} of the crack's volume is water when the solvent has gone, within "
            "what is allowed. It dries on from there as water does: warm, slow, and last from the bottom.",
            "leaves water": "About {water_left} of the crack's volume is water when the solvent has gone, "
            "more than is allowed: dry in drier air, or take a stronger bath or 2-propanol.",
        }),
    ),
    assumes=(
        "still air, both vapours diffuse away by themselves; in moving air water has less of a lead",
        "the liquid is the same everywhere: at the bottom of a deep crack it is wetter",
        "no cooling: a film that cools while it dries takes up more water",
        "no salt and no rust: chloride in the crack holds water that no solvent drives out",
        "no experiment on a crack is known; alcohol drops do take water from moist air",
        "two sets of activity coefficients: what they differ by is the least that the model errs by",
    ),
    sources=("unifac-dortmund", "de-nevers-2012", "gmehling-onken", "fuller-1969", "poling-2001",
             "drying-drop-2023", "drying-drop-2008"),
)  # fmt: skip
def last_bath(solvent, mass_percent, humidity, temperature, water_limit):
    """The way of the mixture to its last hundredth of solvent, by two sets of activity coefficients."""
    place = solvent_place(solvent)
    mixture = group_mixture(solvent, temperature)
    answer = dried(place, solvent, mixture, mass_percent, humidity / 100, temperature)
    other = dried(place, solvent, [], mass_percent, humidity / 100, temperature)
    limit = LEAST_LIMIT if water_limit is None else water_limit
    verdict = "dries" if answer[0] <= limit else "leaves water"
    return {
        "water_left": answer[0],
        "water_left_other": other[0],
        "water_most": answer[1],
        "verdict": verdict,
    }
