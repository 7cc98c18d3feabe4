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
STEPS = 40
ONE_ATMOSPHERE = 101.325
TRACE = 1e-6  # % of the crack's volume, below which the digits are those of the steps
LEAST_LIMIT = 1.0  # % of the crack's volume, where no limit is given


def interaction(of, to, kelvin):
    """Return the group interaction of two main groups at a temperature [K], 1 for one and the same."""
    for i in range(len(PAIR_OF)):
        if PAIR_OF[i] == of and PAIR_WITH[i] == to:
            return exp(-(PAIR_A[i] / kelvin + PAIR_B[i] + PAIR_C[i] * kelvin))
    return 1


def surface_of(liquid, main):
    """Return the surface of all groups of a main group in a molecule of a liquid."""
    total = 0
    for i in range(len(GROUP_LIQUIDS)):
        if GROUP_LIQUIDS[i] == liquid and GROUP_MAIN[i] == main:
            total = total + GROUP_COUNT[i] * GROUP_SURFACE[i]
    return total


def volume_of(liquid):
    """Return the volume of all groups in a molecule of a liquid."""
    total = 0
    for i in range(len(GROUP_LIQUIDS)):
        if GROUP_LIQUIDS[i] == liquid:
            total = total + GROUP_COUNT[i] * GROUP_VOLUME[i]
    return total


def group_mixture(solvent, temperature):
    """Return what the group method needs of a solvent with water at [degC], as a list of lists.

    Groups of one main group differ in surface only, so their surfaces are counted together. First the
    molecule of solvent, then that of water: as of `group_molecule`.
    """
    mains = []
    for i in range(len(GROUP_LIQUIDS)):
        new = GROUP_LIQUIDS[i] == solvent or GROUP_LIQUIDS[i] == "water"
        for j in range(len(mains)):
            new = new and mains[j] != GROUP_MAIN[i]
        if new:
            mains.append(GROUP_MAIN[i])
    pairs = []
    for i in range(len(mains)):
        row = []
        for j in range(len(mains)):
            row.append(interaction(mains[i], mains[j], temperature + KELVIN))
        pairs.append(row)
    one = group_molecule(solvent, mains, pairs)
    two = group_molecule("water", mains, pairs)
    return [one[0], one[1], one[2], two[0], two[1], two[2]]


def group_molecule(liquid, mains, pairs):
    """Return what the group method needs of one kind of molecule, as a list of three lists.

    The surface of each main group; what each main group feels of all of it; its whole surface, its volume,
    the same to the power 3/4, and its share in the activities where it is alone.
    """
    surfaces = []
    whole = 0
    for i in range(len(mains)):
        surfaces.append(surface_of(liquid, mains[i]))
        whole = whole + surfaces[i]
    felt = []
    alone = whole * log(whole) - whole
    for i in range(len(mains)):
        total = 0
        for j in range(len(mains)):
            total = total + surfaces[j] * pairs[j][i]
        felt.append(total)
        alone = alone - surfaces[i] * log(total)
    volume = volume_of(liquid)
    return [surfaces, felt, [whole, volume, volume**0.75, alone]]


def group_coefficients(mixture, share):
    """Return the activity coefficients of solvent and water at a mole share of the solvent, as a list.

    The sums over the groups of a molecule are taken before those over its neighbours, which leaves one
    sum over the main groups for both kinds of molecule.
    """
    one = mixture[0]
    felt_one = mixture[1]
    two = mixture[3]
    felt_two = mixture[4]
    rest = 1 - share
    of_one = 0
    of_two = 0
    for i in range(len(one)):
        felt = share * felt_one[i] + rest * felt_two[i]
        held = (share * one[i] + rest * two[i]) / felt
        logarithm = log(felt)
        of_one = of_one - one[i] * logarithm - held * felt_one[i]
        of_two = of_two - two[i] * logarithm - held * felt_two[i]
    sizes = mixture[2]
    waters = mixture[5]
    surface = share * sizes[0] + rest * waters[0]
    volume = share * sizes[1] + rest * waters[1]
    root = share * sizes[2] + rest * waters[2]
    shared = log(surface)
    return [
        molecule_coefficient(sizes, surface, volume, root, of_one + sizes[0] * shared),
        molecule_coefficient(waters, surface, volume, root, of_two + waters[0] * shared),
    ]


def molecule_coefficient(sizes, surface, volume, root, activity):
    """Return the activity coefficient of one kind of molecule in the mixture.

    Arguments:
        sizes: the third list of `group_molecule`.
        surface, volume, root: of the mixture.
        activity: the sum over its groups in the mixture.
    """
    part = sizes[2] / root
    ratio = sizes[1] / volume * surface / sizes[0]
    size = 1 - part + log(part) - COORDINATION * sizes[0] * (1 - ratio + log(ratio))
    return exp(size + activity - sizes[3])


def van_laar_mixture(solvent):
    """Return the two parameters of van Laar's equation for a solvent with water, as a list."""
    place = 0
    while VAN_LAAR_SOLVENTS[place] != solvent:
        place = place + 1
    return [VAN_LAAR_SOLVENT[place], VAN_LAAR_WATER[place]]


def van_laar_coefficients(mixture, share):
    """Return the activity coefficients of solvent and water by van Laar, as a list."""
    one = mixture[0]
    two = mixture[1]
    weight = one * share + two * (1 - share)
    of_solvent = exp(one * (two * (1 - share) / weight) ** 2)
    of_water = exp(two * (one * share / weight) ** 2)
    return [of_solvent, of_water]


def mole_share(place, mass_percent):
    """Return the mole share of a solvent in water from its strength by mass [%]."""
    of_solvent = mass_percent / MOLAR_MASS[place]
    of_water = (100 - mass_percent) / MOLAR_MASS[0]
    return of_solvent / (of_solvent + of_water)


def water_lead(place, temperature):
    """Return how much sooner pure water evaporates in dry still air than the pure solvent, by moles."""
    of_solvent = fuller_diffusivity(place, temperature, ONE_ATMOSPHERE)
    of_water = fuller_diffusivity(0, temperature, ONE_ATMOSPHERE)
    pressures = saturated_pressure(0, temperature) / saturated_pressure(place, temperature)
    return of_water / of_solvent * pressures


def flux_ratio(mixture, share, lead, humidity):
    """Return water that leaves for a mole of solvent; negative where the liquid takes water from the air.

    Arguments:
        mixture: what `group_mixture` or `van_laar_mixture` gave.
        share: mole share of the solvent.
        lead: what `water_lead` gave.
        humidity: of the room, 0 to 1.
    """
    pair = van_laar_coefficients(mixture, share) if len(mixture) == 2 else group_coefficients(mixture, share)
    return lead * (pair[1] * (1 - share) - humidity) / (pair[0] * share)


def dried(place, mixture, mass_percent, humidity, temperature):
    """Return water in the crack when the solvent has gone, and the most on the way, % of the crack's volume.

    Runge and Kutta's rule over the logarithm of the solvent left, forty steps to its last hundredth; the most
    is sought in the middle of the steps too, on the cubic through their ends.
    """
    share = mole_share(place, mass_percent)
    water = (1 - share) / share
    full = MOLAR_MASS[place] / LIQUID_DENSITY[place] + water * MOLAR_MASS[0] / LIQUID_DENSITY[0]
    lead = water_lead(place, temperature)
    step = -log(GONE) / STEPS
    to_half = exp(-step / 2)
    left = 1
    most = water
    for _ in range(STEPS):
        half = left * to_half
        end = half * to_half
        one = -left * flux_ratio(mixture, left / (left + water), lead, humidity)
        try_water = max(0, water + one * step / 2)
        two = -half * flux_ratio(mixture, half / (half + try_water), lead, humidity)
        try_water = max(0, water + two * step / 2)
        three = -half * flux_ratio(mixture, half / (half + try_water), lead, humidity)
        try_water = max(0, water + three * step)
        four = -end * flux_ratio(mixture, end / (end + try_water), lead, humidity)
        after = max(0, water + step * (one + 2 * two + 2 * three + four) / 6)
        most = max(most, after, (water + after) / 2 + step * (one - four) / 8)
        water = after
        left = end
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
        Number("water_most", "%", "the most water on the way there, of the crack's volume", 2, safe="up"),
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
    answer = dried(place, mixture, mass_percent, humidity / 100, temperature)
    other = dried(place, van_laar_mixture(solvent), mass_percent, humidity / 100, temperature)
    limit = LEAST_LIMIT if water_limit is None else water_limit
    verdict = "dries" if answer[0] <= limit else "leaves water"
    return {
        "water_left": answer[0],
        "water_left_other": other[0],
        "water_most": answer[1],
        "verdict": verdict,
    }
