"""Etching: strength of the etchant, how long it works, what it dissolves, how it is made harmless."""

from functools import partial
from math import ceil, exp

from handbook_calc.diffusion import slab_fourier, slab_released
from handbook_calc.engine.calculation import (
    Number,
    Reasons,
    Verdict,
    Whole,
    because,
    calculation,
    refuse,
)
from handbook_calc.engine.data import numbers
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import MEASURED, Choice, Count, Quantity, YesNo, reads
from handbook_calc.engine.house import section
from handbook_calc.engine.known import scaled
from handbook_calc.engine.rules import at_most, below, rule, shown, up_to
from handbook_calc.engine.tables import Axis, Column, Mark, Refused, Sheet, attempt, matrix, table
from handbook_calc.plausible import duration
from handbook_calc.rinsing import rinse_baths
from handbook_calc.soaking import THROUGH, open_depth

# Molar masses in g/mol, from the abridged standard atomic weights.
IRON = 55.845
FERRIC_CHLORIDE = 162.195
HEXAHYDRATE = 270.285
NITRIC_ACID = 63.012
HYDROCHLORIC_ACID = 36.458
CHLORIDE = 35.45
SODIUM_BICARBONATE = 84.006

GAS_CONSTANT = 0.008314462618  # kJ/mol/K
# Litres of a gas in a mole at 20 degC and 101.325 kPa.
GAS_VOLUME = 1000 * GAS_CONSTANT * 293.15 / 101.325
MODULUS = 145  # of the Baume scale in American trade use
WATER_AT_60_F = 0.99902  # g/cm^3
WATER_AT_20_C = 0.99821  # g/cm^3

STRENGTHS = numbers("ferric_chloride_density", "mass_percent")
DENSITIES_10 = numbers("ferric_chloride_density", "density_10")
DENSITIES_20 = numbers("ferric_chloride_density", "density_20")
DENSITIES_30 = numbers("ferric_chloride_density", "density_30")
STRONGEST = STRENGTHS[-1]  # mass percent at which the table ends
# A recipe for just that strength adds up to it only as nearly as floating point can.
ROUNDING = 1e-12
ACID_STRENGTHS = numbers("nitric_acid_density", "mass_percent")
ACID_DENSITIES = numbers("nitric_acid_density", "density_20")

NITAL_CAUTION = 5.0  # % by volume; above it the mixture is called potentially explosive
STRONGEST_NITAL = 3.0  # % by volume; the caution less a margin for a wrong cylinder and for what evaporates
MOST_NITAL = 100.0  # mL, a dish for one face; a larger face is swabbed
WORKING_DAY = 8.0  # h
WARMEST_BATH = 32.3  # degC; 90 degF is the warmest that etchers of blades write down
ALCOHOLS = ("ethanol", "methanol", "2-propanol", "acetone", "other")
ACIDS = ("ferric chloride", "nitric acid", "hydrochloric acid")
ACID_SPELLINGS = {
    "fecl3": "ferric chloride",
    "iron(iii) chloride": "ferric chloride",
    "hno3": "nitric acid",
    "hcl": "hydrochloric acid",
    "muriatic acid": "hydrochloric acid",
}
ALCOHOL_SPELLINGS = {
    "ethyl alcohol": "ethanol",
    "methyl alcohol": "methanol",
    "isopropanol": "2-propanol",
    "isopropyl alcohol": "2-propanol",
    "propan-2-ol": "2-propanol",
}

# Kinds of value that several declarations share.
seconds = partial(Quantity, unit="s", low=1, high=900)
bath_temperature = partial(
    Quantity, unit="degC", low=5, high=40, why="etching is bench work at room temperature"
)
energy = partial(
    Quantity,
    unit="kJ/mol",
    low=5,
    high=80,
    why="12 to 25 kJ/mol where stirring governs the rate, 40 to 50 where the surface does",
)
strength = partial(
    Quantity,
    unit="%",
    low=1,
    high=STRONGEST,
    why="mass percent of FeCl3 without its water; the density table ends at 44 %",
)
nital_strength_percent = partial(
    Quantity,
    unit="%",
    low=0.1,
    high=STRONGEST_NITAL,
    limit="most",
    why="above 5 % by volume nital is called potentially explosive in print, and 3 % keeps clear of that",
)
spent = partial(Quantity, unit="%", low=1, high=100)


@reads(ACID_SPELLINGS)
def acid_name(text: str) -> str:
    """Return an acid under its one name: ``FeCl3`` -> ``ferric chloride``."""
    return ACID_SPELLINGS.get(text.lower(), text.lower())


@reads(ALCOHOL_SPELLINGS)
def alcohol_name(text: str) -> str:
    """Return an alcohol under its one name: ``isopropanol`` -> ``2-propanol``."""
    return ALCOHOL_SPELLINGS.get(text.lower(), text.lower())


def the_alcohol(name: str, about: str, **more) -> Choice:
    """Return the field for the liquid that nital is made with."""
    return Choice(name, about, options=ALCOHOLS, normal=alcohol_name, kind="liquid", hints=False, **more)


section(
    "etching",
    strength("stock", "strength of the bought ferric chloride, mass percent"),
    strength("strength", "strength of the working etchant, mass percent"),
    Quantity("bath", "etchant for each square centimetre of face", unit="mL/cm^2", low=0.3, high=10),
    Quantity("etchant_volume", "etchant mixed for the piece of the worked figures", unit="mL", low=10,
             high=10_000),
    spent("spent", "share of the ferric chloride used up when a bath is thrown out"),
    Quantity("temperature", "temperature of the etchant", unit="degC", low=10, high=30,
             why="the density table is read from 10 to 30 °C"),
    seconds("base_time", "total time that the trial strip asked for"),
    bath_temperature("base_temperature", "temperature of the trial"),
    energy("activation_energy", "activation energy of etching"),
    seconds("test_patch", "first touch of a new etchant, on the back or a corner"),
    seconds("pass_limit", "longest single pass before the piece is rinsed and looked at"),
    seconds("longest", "longest total time before the piece goes back to the paper"),
    Count("re_etches", "etchings of one face before the piece is reviewed", low=1, high=5),
    Quantity("gate", "longest wait between degreasing and etching", unit="min", low=1, high=60),
    Quantity("transfer", "longest wait between etchant and water", unit="s", low=1, high=30),
    Quantity("etchant_age", "age at which etchant from a day's mixing is thrown out", unit="h",
             low=1, high=WORKING_DAY, limit="most",
             why="one working day: nital kept overnight has burst bottles, and an old trial holds no more"),
    the_alcohol("alcohol", "liquid that nital is made with"),
    Quantity("acid_percent", "strength of the bought nitric acid, mass percent", unit="%", low=65, high=70,
             why="mass percent of the concentrated acid as it is sold"),
    Quantity("acid_stock", "most concentrated nitric acid that the bench keeps", unit="mL", low=10,
             high=250, limit="most", why="one small bottle"),
    nital_strength_percent("nital_percent", "nital in use, percent by volume of concentrated acid"),
    nital_strength_percent("nital_limit", "strongest nital this house makes, percent by volume"),
    Quantity("nital_volume", "nital mixed for one face", unit="mL", low=10, high=MOST_NITAL,
             limit="most", why="a dish for one face; a larger face is swabbed"),
    Quantity("flood_rinse", "rinse in deionised water before any alkali", unit="min", low=1, high=15),
    Quantity("bicarbonate", "bicarbonate in a litre of the neutralising bath", unit="g/L", low=30,
             high=87, why="87 g/L is close to saturation at 20 °C"),
    Quantity("neutral_time", "time in the neutralising bath", unit="min", low=1, high=60),
    Quantity("bicarbonate_ready", "bicarbonate weighed out, as a multiple of what the acid takes",
             low=2, high=10, limit="least", why="a short measure leaves acid in a vessel that fizzes"),
    Quantity("foam_room", "size of the vessel, as a multiple of the liquid to be neutralised",
             low=10, high=50, limit="least", why="foam rises to ten times the liquid"),
    Quantity("face_ph_low", "lowest pH of a damp paper on the rinsed face", low=5.5, high=7.5),
    Quantity("face_ph_high", "highest pH of a damp paper on the rinsed face", low=7, high=9),
    Quantity("face_ph_gap", "wait between the two readings of that paper", unit="min", low=1, high=60),
    Quantity("dry_face", "longest time in moving air until an etched face looks dry", unit="min", low=0.5,
             high=15),
)  # fmt: skip


below("etching.strength", "etching.stock", because="water cannot make an etchant stronger")


@rule("etching.etchant_volume", "etching.bath", "piece.area")
def enough_etchant(house):
    """The volume and the share of etchant stand on one page and must agree."""
    needed = house["etching.bath"] * house["piece.area"]
    if house["etching.etchant_volume"] < needed:
        yield (
            "etching.etchant_volume",
            "is less than etching.bath asks for the surface of the worked piece; "
            f"allowed is {needed:g} mL or more",
        )


@rule("etching.etchant_volume", "etching.foam_room", "waste.container")
def etchant_fits_its_neutraliser(house):
    """What is mixed for a day must fit, with its foam, into an open vessel of the bench."""
    most = house["waste.container"] / house["etching.foam_room"] * 1000
    if house["etching.etchant_volume"] > most:
        yield (
            "etching.etchant_volume",
            f"would need a vessel {shown(house, 'etching.foam_room')} times as large to be neutralised in, "
            f"more than {shown(house, 'waste.container')}; allowed is up to {up_to(most)} mL",
        )


at_most("etching.nital_percent", "etching.nital_limit", because="every mixing would be refused")


@rule("etching.alcohol")
def nital_in_ethanol(house):
    """Other alcohols, and acetone, have burst bottles."""
    if house["etching.alcohol"] != "ethanol":
        yield ("etching.alcohol", "is not safe with nitric acid; allowed is ethanol")


at_most("etching.test_patch", "etching.pass_limit", because="over-etching would show too late")
at_most("etching.pass_limit", "etching.longest", because="no etch is longer than that")
at_most("etching.base_time", "etching.longest", because="no etch is longer than that")


@rule("etching.temperature", "etching.base_temperature")
def baths_not_warm(house):
    """A warm etchant fumes and darkens the face before it can be looked at."""
    for key in ("etching.temperature", "etching.base_temperature"):
        if house[key] > WARMEST_BATH:
            yield (
                key,
                f"is too warm for an etchant on this bench; allowed is up to {WARMEST_BATH:g} degC",
            )


below("etching.face_ph_low", "etching.face_ph_high", because="no face would ever pass")


def interpolate(given, values, wanted):
    """Return the value at `wanted` on the straight lines between given points, which rise."""
    found = values[len(values) - 1]
    for i in range(1, len(given)):
        if wanted <= given[i]:
            share = (wanted - given[i - 1]) / (given[i] - given[i - 1])
            found = values[i - 1] + share * (values[i] - values[i - 1])
            break
    return found


def densities_at(temperature):
    """Return the column of ferric chloride densities at a temperature of 10 to 30 degC."""
    column = []
    for i in range(len(STRENGTHS)):
        if temperature <= 20:
            step = DENSITIES_20[i] - DENSITIES_10[i]
            column.append(DENSITIES_10[i] + (temperature - 10) / 10 * step)
        else:
            step = DENSITIES_30[i] - DENSITIES_20[i]
            column.append(DENSITIES_20[i] + (temperature - 20) / 10 * step)
    return column


@calculation(
    "gravity-from-baume",
    title="Specific gravity from degrees Baumé",
    inputs=(
        Quantity("baume", "reading of a Baumé hydrometer for liquids heavier than water",
                 low=0, high=70, why="the scale is cut from 0 to 70", example="42"),
    ),
    results=Number("gravity", "1", "specific gravity, liquid and water both at 60 °F", 5),
    assumes=(
        "the hydrometer is of the American scale with modulus 145; scales of 144, 144.3 and 146.78 exist",
        "liquid at 60 °F (15.6 °C): a warmer liquid reads low",
        "a gravity is no density: against water at 60 °F, times 0.99902 gives g/cm³",
    ),
    sources=("marks-baume", "baume-dictionary"),
)  # fmt: skip
def gravity_from_baume(baume):
    """Modulus over modulus less reading."""
    return MODULUS / (MODULUS - baume)


@calculation(
    "baume-from-gravity",
    title="Degrees Baumé from specific gravity",
    inputs=(
        Quantity("gravity", "specific gravity, liquid and water both at 60 °F", low=1, high=1.95,
                 why="the scale for heavy liquids begins at water, 1.000", example="1.41"),
    ),
    results=Number("baume", "1", "degrees Baumé, American scale for liquids heavier than water", 4),
    assumes=("as for specific gravity from degrees Baumé",),
    sources=("marks-baume", "baume-dictionary"),
)  # fmt: skip
def baume_from_gravity(gravity):
    """Modulus less modulus over gravity."""
    return MODULUS - MODULUS / gravity


@calculation(
    "density-from-baume",
    title="Density of a liquid read with a Baumé hydrometer",
    inputs=(Quantity("baume", "reading of a Baumé hydrometer at 60 °F", low=0, high=70, example="42"),),
    results=Number("density", "g/cm^3", "density at 60 °F (15.6 °C)", 5),
    assumes=("as for specific gravity from degrees Baumé",),
    sources=("marks-baume", "chemicals-water"),
)
def density_from_baume(baume):
    """Gravity times the density of the water it is counted against."""
    gravity = gravity_from_baume(baume)
    return gravity * WATER_AT_60_F


@calculation(
    "ferric-chloride-strength",
    title="Strength of ferric chloride from its density",
    inputs=(
        Quantity("density", "density of the liquid as weighed or read", unit="g/cm^3",
                 low=1.005, high=1.475,
                 why="the table runs from 1 to 44 mass percent; thin a heavier liquid and weigh again",
                 example="1.41 g/cm^3"),
        from_house("etching.temperature", about="temperature of the liquid when it was weighed or read"),
    ),
    results=(
        Number("mass_percent", "%", "mass percent of FeCl3, counted without its water", 3),
        Number("molarity", "mol/L", "ferric chloride in a litre", 3),
        Number("concentration", "g/L", "ferric chloride in a litre", 3),
        Number("hexahydrate_percent", "%",
               "the same strength counted as crystals FeCl3·6H2O, as some labels do", 3),
    ),
    assumes=(
        "fresh ferric chloride in water; free acid and dissolved iron raise the density, "
        "and the answer is then too high",
        "straight lines between the rows of the table, no answer outside it",
    ),
    sources=("fecl3-producer-table", "iupac-weights"),
    refusals={
        "outside-table": "a density of {density} at {temperature} lies outside the table, which runs "
        "from {0 g/cm^3} to {1 g/cm^3} at that temperature; check the temperature, or thin the "
        "liquid with a known amount of water and weigh again",
    },
)  # fmt: skip
def ferric_chloride_strength(density, temperature):
    """Mass percent from the table, then moles in a litre at the temperature of the reading."""
    column = densities_at(temperature)
    last = column[len(column) - 1]
    if density < column[0] or density > last:
        refuse("outside-table", column[0], last)
    mass_percent = interpolate(column, STRENGTHS, density)
    concentration = 10 * mass_percent * density
    return {
        "mass_percent": mass_percent,
        "molarity": concentration / FERRIC_CHLORIDE,
        "concentration": concentration,
        "hexahydrate_percent": mass_percent * HEXAHYDRATE / FERRIC_CHLORIDE,
    }


@calculation(
    "ferric-chloride-density",
    title="Density of ferric chloride of a known strength",
    inputs=(
        strength(
            "mass_percent", "mass percent of FeCl3, counted without its water", example="{etching.strength}"
        ),
        from_house("etching.temperature", about="temperature of the liquid"),
    ),
    results=Number("density", "g/cm^3", "density of the liquid", 4),
    assumes=("fresh ferric chloride in water, straight lines between the rows of the table",),
    sources=("fecl3-producer-table",),
)
def ferric_chloride_density(mass_percent, temperature):
    """The table read the other way."""
    return interpolate(STRENGTHS, densities_at(temperature), mass_percent)


@calculation(
    "dilute-etchant",
    title="Ferric chloride and water for a working etchant",
    inputs=(
        strength(
            "stock_percent", "strength of the bought liquid, mass percent of FeCl3", example="{etching.stock}"
        ),
        strength("target_percent", "strength wanted, mass percent of FeCl3", example="{etching.strength}"),
        Quantity(
            "volume",
            "finished etchant wanted",
            unit="mL",
            low=1,
            high=10_000,
            example="{etching.etchant_volume}",
        ),
    ),
    results=(
        Number("stock", "mL", "bought liquid", 3),
        Number("water", "mL", "deionised water", 3),
        Number("stock_mass", "g", "the same bought liquid, by the balance", 3),
        Number("water_mass", "g", "the same water, by the balance", 3),
        Number("parts", "1", "parts of water to one part of bought liquid, by volume", 3),
    ),
    assumes=(
        "both strengths are mass percent of FeCl3 without its water: "
        "a label in percent of crystals reads two thirds higher",
        "20 °C; masses add up, volumes do not quite",
    ),
    sources=("fecl3-producer-table", "mass-balance"),
    refusals={
        "not-weaker": "the etchant wanted, {target_percent}, is stronger than the bought liquid, "
        "{stock_percent}; water cannot do that: buy stronger liquid or dissolve crystals",
    },
)
def dilute_etchant(stock_percent, target_percent, volume):
    """The ferric chloride in the finished etchant all comes from the stock."""
    if target_percent > stock_percent:
        refuse("not-weaker")
    finished_mass = volume * ferric_chloride_density(target_percent, 20)
    stock_mass = finished_mass * target_percent / stock_percent
    water_mass = finished_mass * (stock_percent - target_percent) / stock_percent
    stock = stock_mass / ferric_chloride_density(stock_percent, 20)
    water = water_mass / WATER_AT_20_C
    return {
        "stock": stock,
        "water": water,
        "stock_mass": stock_mass,
        "water_mass": water_mass,
        "parts": water / stock,
    }


@calculation(
    "hexahydrate-strength",
    title="Strength of an etchant dissolved from crystals",
    inputs=(
        Quantity("hexahydrate", "crystals FeCl3·6H2O", unit="g", low=0.01, high=11_000, example="100 g"),
        Quantity("water", "water they are dissolved in", unit="g", low=0.1, high=100_000, example="400 g"),
    ),
    results=Number("mass_percent", "%", "mass percent of FeCl3, counted without its water", 3),
    assumes=("the crystals are dry to the touch: they draw water from the air",),
    sources=("iupac-weights", "mass-balance"),
    refusals={
        "outside-table": "that makes {0 %}, more than the 44 % to which this handbook's table goes; "
        "take more water",
    },
)
def hexahydrate_strength(hexahydrate, water):
    """The crystals bring six waters along."""
    ferric_chloride = hexahydrate * FERRIC_CHLORIDE / HEXAHYDRATE
    mass_percent = 100 * ferric_chloride / (hexahydrate + water)
    if mass_percent > STRONGEST * (1 + ROUNDING):
        refuse("outside-table", mass_percent)
    return min(mass_percent, STRONGEST)


@calculation(
    "etchant-from-crystals",
    title="Crystals and water for a working etchant",
    inputs=(
        strength(
            "target_percent",
            "strength wanted, mass percent of FeCl3 without its water",
            example="{etching.strength}",
        ),
        Quantity(
            "volume",
            "finished etchant wanted",
            unit="mL",
            low=1,
            high=10_000,
            example="{etching.etchant_volume}",
        ),
    ),
    results=(
        Number("hexahydrate", "g", "crystals FeCl3·6H2O", 3),
        Number("water", "g", "deionised water; the crystals go into it a little at a time", 3),
    ),
    assumes=(
        "20 °C; the crystals are dry to the touch",
        "the liquid warms and fumes as crystals dissolve: extraction on, face shield",
    ),
    sources=("fecl3-producer-table", "iupac-weights", "mass-balance"),
)
def etchant_from_crystals(target_percent, volume):
    """The finished mass, its ferric chloride, and the water that the crystals do not bring."""
    finished_mass = volume * ferric_chloride_density(target_percent, 20)
    hexahydrate = finished_mass * target_percent / 100 * HEXAHYDRATE / FERRIC_CHLORIDE
    return {"hexahydrate": hexahydrate, "water": finished_mass - hexahydrate}


@calculation(
    "etch-time",
    curve="temperature",
    limit="longest",
    title="Etching time at another temperature, in passes",
    inputs=(
        from_house("etching.base_time"),
        from_house("etching.base_temperature"),
        bath_temperature("temperature", "temperature of the etchant today", example="{etching.temperature}"),
        from_house("etching.activation_energy"),
        from_house("etching.pass_limit"),
        from_house("etching.longest"),
    ),
    results=(
        Number("total", "s", "time in the etchant, all passes together", 3),
        Whole("passes", "1", "equal passes, with a rinse and a look after each"),
        Number("each", "s", "one pass", 3),
        Verdict(
            "verdict",
            "whether that total is within reason",
            stops=(),
            words={
                "go": "within the longest total time",
                "long": "{total} is beyond {longest}: more time roughens and darkens the face; "
                "warm the room, mix fresh etchant, or return to the last paper",
            },
        ),
    ),
    assumes=(
        "same etchant, same finish, same metal, and the same stirring, which matters as much as "
        "a few degrees",
        "a trial strip was etched first: nickel, structure and finish change the time several times over",
        "stop when the pattern is bright, whatever the clock says",
    ),
    sources=("arrhenius", "etching-practice", "microscopist-nital"),
    refusals={
        "too-warm": "{temperature} is too warm for an etchant on an open bench: it fumes, and the face "
        "darkens within a pass; let it cool to the house's temperature",
    },
)  # fmt: skip
def etch_time(base_time, base_temperature, temperature, activation_energy, pass_limit, longest):
    """Arrhenius from the trial's temperature, then the fewest equal passes within the limit."""
    if temperature > WARMEST_BATH:
        refuse("too-warm")
    inverse = 1 / (temperature + 273.15) - 1 / (base_temperature + 273.15)
    total = base_time * exp(activation_energy / GAS_CONSTANT * inverse)
    # 1e-9: a total of exactly two passes must not ask for a third because of the last digit.
    passes = max(1, ceil(total / pass_limit - 1e-9))
    verdict = "go"
    if total > longest * (1 + 1e-9):
        verdict = "long"
    return {"total": total, "passes": passes, "each": total / passes, "verdict": verdict}


@calculation(
    "iron-dissolved",
    title="Iron that ferric chloride can dissolve at most",
    inputs=(
        Quantity("ferric_chloride", "ferric chloride, counted without its water", unit="g",
                 low=0, high=100_000, example="50 g"),
    ),
    results=Number("iron", "g", "iron dissolved when all of it is used up", safe="down"),
    assumes=(
        "2 FeCl3 + Fe -> 3 FeCl2, nothing else; a ceiling, and a bath is spent long before it",
        "nickel takes nearly the same: 5.53 times its mass of ferric chloride, where iron takes 5.81 times",
    ),
    sources=("etching-reaction-2021", "iupac-weights"),
)  # fmt: skip
def iron_dissolved(ferric_chloride):
    """Two moles of ferric chloride take one mole of iron."""
    return ferric_chloride / (2 * FERRIC_CHLORIDE) * IRON


@calculation(
    "bath-capacity",
    title="Iron an etching bath takes before it is thrown out",
    inputs=(
        Quantity("volume", "etchant in the tray", unit="mL", low=1, high=100_000,
                 example="{etching.etchant_volume}"),
        strength("mass_percent", "mass percent of FeCl3, counted without its water",
                 example="{etching.strength}"),
        from_house("etching.spent"),
    ),
    results=(
        Number("ferric_chloride", "g", "ferric chloride in the fresh bath"),
        Number("ceiling", "g", "iron dissolved if all of it were used", safe="down"),
        Number("iron", "g", "iron dissolved when the bath is thrown out", safe="down"),
    ),
    assumes=("as for the iron that ferric chloride can dissolve at most, at 20 °C",),
    sources=("fecl3-producer-table", "etching-reaction-2021", "foil-thesis"),
)  # fmt: skip
def bath_capacity(volume, mass_percent, spent):
    """Ferric chloride in the bath, its ceiling of iron, and the share of it that is of use."""
    density = ferric_chloride_density(mass_percent, 20)
    ferric_chloride = volume * density * mass_percent / 100
    ceiling = iron_dissolved(ferric_chloride)
    return {"ferric_chloride": ferric_chloride, "ceiling": ceiling, "iron": ceiling * spent / 100}


@calculation(
    "etch-depth",
    title="Mean depth etched, from the mass lost",
    inputs=(
        Quantity("iron", "metal dissolved: weigh the dry piece before and after", unit="g",
                 low=0, high=1000, example="0.3 g", of_piece=MEASURED),
        Quantity("area", "surface that the etchant reached", unit="cm^2", low=0.1, high=20_000,
                 example="41 cm^2", of_piece=MEASURED),
        from_house("abrasives.density", about="density of the metal", low=4, high=9.5,
                   because="stony-iron is lighter than iron, and iron rich in nickel heavier"),
    ),
    results=Number("depth", "um", "mean depth; bands and borders go deeper", most=300_000,
                   because="the thickest piece here is 300 mm"),
    assumes=("the loss is spread evenly over the area",),
    sources=("mass-geometry",),
)  # fmt: skip
def etch_depth(iron, area, density):
    """Volume lost over area."""
    return iron / density / area * 10_000


@calculation(
    "neutraliser-mass",
    title="Bicarbonate that an acid takes, and the gas it gives",
    inputs=(
        Choice(
            "acid",
            "what is to be neutralised",
            options=ACIDS,
            normal=acid_name,
            kind="acid",
            hints=False,
            example="ferric chloride",
        ),
        Quantity(
            "amount",
            "the pure acid, not the solution; ferric chloride without its water",
            unit="g",
            low=0,
            high=5000,
            example="50 g",
        ),
    ),
    results=(
        Number("sodium_bicarbonate", "g", "sodium bicarbonate used up when the fizzing ends", safe="up"),
        Number("carbon_dioxide", "L", "carbon dioxide given off, at 20 °C and sea level", safe="up"),
        Reasons(
            "cautions",
            "what to keep to",
            {
                "slowly": "Add the bicarbonate by the spoonful to an open vessel at least ten times "
                "as large as the acid liquid, and wait for the foam to fall.",
                "open": "Leave the vessel open until nothing fizzes for a day; a closed one bursts.",
                "count-fresh": "Count all the ferric chloride the bath was made with: dissolved iron "
                "does not change what it takes.",
                "rinse-first": "Rinse a piece in much water before it meets bicarbonate: rust mud "
                "forms from pH 2 up and shuts chloride into the cracks.",
                "thin-first": "Thin spent nital with ten times as much cold water first, in a vessel twice "
                "as large as nital and water together: bicarbonate hardly dissolves in alcohol.",
                "not-drain": "The neutral liquid still holds iron and nickel: sort it as waste, "
                "do not pour it away.",
                "sour-gas": "If the liquid holds sulphite or bleach, stop: acid frees a poisonous gas "
                "from either.",
                "air": "{carbon_dioxide} of gas is too much for a closed room: open it up or work in parts.",
            },
        ),
    ),
    assumes=(
        "FeCl3 + 3 NaHCO3 -> Fe(OH)3 + 3 NaCl + 3 CO2; acids with one hydrogen take one NaHCO3",
        "the end shows by the fizz and by pH paper, not by the gram",
    ),
    sources=("iupac-weights", "ideal-gas", "etching-practice"),
)
def neutraliser_mass(acid, amount):
    """Moles of bicarbonate, and as many moles of gas."""
    if acid == "ferric chloride":
        moles = 3 * amount / FERRIC_CHLORIDE
    elif acid == "nitric acid":
        moles = amount / NITRIC_ACID
    else:
        moles = amount / HYDROCHLORIC_ACID
    sodium_bicarbonate = moles * SODIUM_BICARBONATE
    carbon_dioxide = moles * GAS_VOLUME
    cautions = [because("slowly"), because("open"), because("sour-gas")]
    if acid == "ferric chloride":
        cautions.append(because("rinse-first"))
        cautions.append(because("count-fresh"))
    if acid == "nitric acid":
        cautions.append(because("thin-first"))
    if carbon_dioxide > 100:
        cautions.append(because("air"))
    cautions.append(because("not-drain"))
    return {
        "sodium_bicarbonate": sodium_bicarbonate,
        "carbon_dioxide": carbon_dioxide,
        "cautions": cautions,
    }


@calculation(
    "etchant-rinses",
    title="Rinse baths after ferric chloride",
    inputs=(
        from_house("etching.strength", name="mass_percent",
                   about="mass percent of FeCl3, counted without its water"),
        from_house("rinsing.limit", about="chloride allowed at the end", low=0.001, high=10_000,
                   because="the dilution holds for any limit"),
        Quantity("drag_out", "liquid carried from bath to bath", unit="mL", low=0.001, high=5000,
                 example="2.3 mL", of_piece="drag-out"),
        from_house("rinsing.bath", about="fresh water in each bath, before the piece goes in", low=1,
                   high=500_000, because="from a test tube to a vat"),
        Quantity("depth", "depth of the deepest crack; left out, there is none", unit="mm", low=0.01,
                 high=200, optional=True, example="{piece.crack_depth}"),
        from_house("rinsing.stand", about="time in each bath", optional=True),
        from_house("rinsing.diffusivity", about="chloride through water in a clean crack, at 25 °C",
                   optional=True),
        THROUGH,
    ),
    results=(
        Number("chloride", "g/L", "chloride in the etchant that the piece brings along"),
        Whole("baths", "1", "baths of fresh water, for the outside"),
        Number("crack_left", "%", "of its etchant that the crack still holds after them", 2, optional=True),
        duration(
            "crack_time",
            "h",
            "in fresh water until the crack is at the limit too",
            2,
            optional=True,
            safe="up",
        ),
    ),
    assumes=(
        "all the chloride of the ferric chloride counts, at 20 °C",
        "outside and film are mixed at once; the crack, clean, gives its liquid up by diffusion",
        "held with its mouth down a wide crack is much quicker: see the exchange of a crack",
        "rust mud that fell in a crack gives its chloride back slowly: the chloride test decides",
    ),
    sources=("mass-balance", "fecl3-producer-table", "iupac-weights", "crank-1975", "chloride-diffusivity"),
)  # fmt: skip
def etchant_rinses(mass_percent, limit, drag_out, bath, depth, stand, diffusivity, through):
    """Three chlorides to one iron, then as after any bath; the crack by its Fourier number."""
    density = ferric_chloride_density(mass_percent, 20)
    chloride = 10 * mass_percent * density * 3 * CHLORIDE / FERRIC_CHLORIDE
    start = 1000 * chloride
    baths = rinse_baths(start, limit, drag_out, bath)
    crack_left = None
    crack_time = None
    if depth is not None and stand is not None and diffusivity is not None:
        squared = (open_depth(depth, through) * 1000) ** 2
        crack_left = 100 * (1 - slab_released(diffusivity * baths * stand * 60 / squared))
        share = max(0, 1 - limit / start)
        crack_time = slab_fourier(share) * squared / diffusivity / 3600
    return {"chloride": chloride, "baths": baths, "crack_left": crack_left, "crack_time": crack_time}


@calculation(
    "nital-acid",
    title="Nitric acid and ethanol for nital",
    inputs=(
        Quantity("volume", "nital wanted, acid and ethanol together", unit="mL", low=1, high=5000,
                 example="{etching.nital_volume}"),
        Quantity("percent", "concentrated acid, percent by volume of the whole", unit="%",
                 low=0.1, high=100, example="{etching.nital_percent}"),
        from_house("etching.nital_limit", name="limit"),
        from_house("etching.alcohol", about="liquid the acid goes into"),
    ),
    results=(
        Number("acid", "mL", "concentrated nitric acid, poured into the ethanol slowly", 3),
        Number("ethanol", "mL", "ethanol, in the vessel first", 4),
    ),
    assumes=(
        "acid into ethanol, drop by drop, cold, stirred, under extraction; never the other way",
        "the day's need only, in an open dish; what is left is made harmless the same day, never stored",
        "volumes add up",
    ),
    sources=("microscopist-nital", "asm-lab-safety", "nitric-ethanol-1996"),
    refusals={
        "above-caution": "{percent} of acid in alcohol is above the 5 % at which practitioners in print "
        "call nital potentially explosive; a 1 molar mix is already beyond it. Use {limit} or less "
        "and a longer time",
        "above-house-limit": "{percent} is above this house's limit of {limit}; a weaker nital and more "
        "passes give the same pattern",
        "wrong-alcohol": "nitric acid must not meet {alcohol} here: mixtures with it have heated up and "
        "burst their bottles, some after hours of quiet, or give off poisonous vapour; use ethanol",
        "too-much": "{volume} is more than a day's need, and nital must not be kept; "
        "mix at most {0 mL down}, a dish for one face, and swab a larger face from it",
    },
)  # fmt: skip
def nital_acid(volume, percent, limit, alcohol):
    """The share of acid by volume, after every reason not to mix has been asked."""
    if alcohol != "ethanol":
        refuse("wrong-alcohol")
    if percent > NITAL_CAUTION:
        refuse("above-caution")
    if percent > limit:
        refuse("above-house-limit")
    if volume > MOST_NITAL * (1 + ROUNDING):
        refuse("too-much", MOST_NITAL)
    acid = volume * percent / 100
    return {"acid": acid, "ethanol": volume - acid}


@calculation(
    "nital-strength",
    title="What a nital holds, and whether it may be mixed",
    inputs=(
        Quantity("percent", "concentrated acid, percent by volume of the whole", unit="%",
                 low=0.1, high=20, example="{etching.nital_percent}"),
        from_house("etching.acid_percent"),
        from_house("etching.nital_limit", name="limit"),
    ),
    results=(
        Number("molarity", "mol/L", "nitric acid in a litre", 3),
        Number("concentration", "g/L", "pure nitric acid in a litre", 3),
        Verdict(
            "verdict",
            "against the house limit and the published caution",
            stops=("above the house", "dangerous"),
            words={
                "within": "within the house limit",
                "above the house": "above the house limit of {limit}: not mixed here",
                "dangerous": "above 5 % by volume, called potentially explosive in print: never mixed",
            },
        ),
    ),
    assumes=("volumes add up, within about 2 %",),
    sources=("nitric-handbook-table", "microscopist-nital", "iupac-weights"),
)  # fmt: skip
def nital_strength(percent, acid_percent, limit):
    """Density and strength of the bought acid give its moles."""
    density = interpolate(ACID_STRENGTHS, ACID_DENSITIES, acid_percent)
    concentration = percent / 100 * density * acid_percent * 10
    verdict = "within"
    if percent > limit:
        verdict = "above the house"
    if percent > NITAL_CAUTION:
        verdict = "dangerous"
    return {
        "molarity": concentration / NITRIC_ACID,
        "concentration": concentration,
        "verdict": verdict,
    }


@calculation(
    "nital-percent",
    title="Percent by volume of a nital given in mol/L",
    inputs=(
        Quantity("molarity", "nitric acid wanted in a litre, as an old recipe gives it",
                 unit="mol/L", low=0.01, high=3, example="0.3 mol/L"),
        from_house("etching.acid_percent"),
    ),
    results=(
        Number("percent", "%", "concentrated acid, percent by volume of the whole", 3),
        Verdict(
            "verdict",
            "against the published caution",
            stops=("dangerous",),
            words={
                "below": "below the published caution; the house limit still applies",
                "dangerous": "above 5 % by volume, called potentially explosive in print: never mixed",
            },
        ),
    ),
    assumes=("volumes add up, within about 2 %",),
    sources=("nitric-handbook-table", "microscopist-nital", "iupac-weights"),
)  # fmt: skip
def nital_percent(molarity, acid_percent):
    """Moles wanted over moles in the bought acid."""
    density = interpolate(ACID_STRENGTHS, ACID_DENSITIES, acid_percent)
    percent = 100 * molarity * NITRIC_ACID / (density * acid_percent * 10)
    verdict = "below"
    if percent > NITAL_CAUTION:
        verdict = "dangerous"
    return {"percent": percent, "verdict": verdict}


@calculation(
    "etch-gate",
    title="May this piece be etched now?",
    inputs=(
        Choice("etchant", "etchant in the tray", options=("ferric chloride", "nital"), kind="etchant",
               hints=False,
               example="nital"),
        Choice("kind", "what the piece is", options=("iron", "pallasite", "mesosiderite"),
               kind="kind of piece", hints=False, example="iron"),
        YesNo("cracked", "cracks reach the face", example="no", of_piece=MEASURED),
        YesNo("chloride_clear", "the last chloride test of the piece was clear", example="yes",
              of_piece=MEASURED),
        YesNo("trial", "a trial strip or corner was etched with this very etchant today", example="yes",
              of_piece=MEASURED),
        YesNo("water_film", "water stands on the face as an unbroken film", example="yes", of_piece=MEASURED),
        Quantity("since_degreased", "time since the face was degreased", unit="min", low=0, high=1440,
                 example="5 min", of_piece=MEASURED),
        Quantity("etchant_age", "time since the etchant was mixed", unit="h", low=0, high=10_000,
                 example="1 h"),
        from_house("etching.gate"),
        from_house("etching.etchant_age", name="oldest"),
        YesNo("sulphide", "sulphide stands open on the face, not sealed with lacquer; left out, nobody "
              "looked", optional=True, example="no"),
    ),
    results=(
        Verdict(
            "verdict",
            "stop, wait or go",
            stops=("stop",),
            words={
                "go": "neutraliser, rinse, ethanol and dryer laid out: etch",
                "wait": "put right what is named, then ask again",
                "stop": "not this piece with this etchant",
            },
        ),
        Reasons(
            "reasons",
            "why",
            {
                "chloride-in": "Chloride is still coming out of the piece: treat first, etch later.",
                "cracks": "Ferric chloride would carry chloride into the cracks: use nital, or leave "
                "the face unetched.",
                "silicate": "Ferric chloride stays in the borders between metal and silicate: use nital "
                "on the metal alone, or leave the face unetched.",
                "metal-alone": "Brush the nital on the metal alone, never a dish or a bath: acid stays in "
                "the borders between metal and silicate.",
                "sulphide": "Acid frees hydrogen sulphide from the open sulphide: poisonous, and it deadens "
                "the nose that would warn. Seal the sulphide with lacquer, let it dry, ask again.",
                "sulphide-unknown": "Nobody has said whether sulphide stands open on the face: look for "
                "bronze-coloured nodules with the loupe, then ask again.",
                "old-nital": "This nital is past the day: make it harmless now, mix fresh.",
                "old-etchant": "This mixing is past its age: the time of the trial no longer holds.",
                "no-trial": "No trial strip: nobody knows the time this metal takes.",
                "late": "The face was degreased {since_degreased} ago, more than {gate}: degrease again.",
                "greasy": "The water film breaks: fingerprints will etch in. Degrease again.",
                "ready": "Nothing stands against it.",
            },
        ),
    ),
    assumes=("clean gloves were put on after degreasing", "a second person is within call"),
    sources=("etching-practice",),
)  # fmt: skip
def etch_gate(
    etchant,
    kind,
    cracked,
    chloride_clear,
    trial,
    water_film,
    since_degreased,
    etchant_age,
    gate,
    oldest,
    sulphide,
):
    """Stop for what waiting does not mend, wait for what it does."""
    verdict = "go"
    reasons = []
    if etchant_age > oldest:
        verdict = "wait"
        if etchant == "nital":
            reasons.append(because("old-nital"))
        else:
            reasons.append(because("old-etchant"))
    if not trial:
        verdict = "wait"
        reasons.append(because("no-trial"))
    if since_degreased > gate:
        verdict = "wait"
        reasons.append(because("late"))
    if not water_film:
        verdict = "wait"
        reasons.append(because("greasy"))
    if sulphide is None:
        verdict = "wait"
        reasons.append(because("sulphide-unknown"))
    elif sulphide:
        verdict = "wait"
        reasons.append(because("sulphide"))
    if not chloride_clear:
        verdict = "stop"
        reasons.append(because("chloride-in"))
    if etchant == "ferric chloride" and cracked:
        verdict = "stop"
        reasons.append(because("cracks"))
    if etchant == "ferric chloride" and kind != "iron":
        verdict = "stop"
        reasons.append(because("silicate"))
    if etchant == "nital" and kind != "iron":
        reasons.append(because("metal-alone"))
    if verdict == "go":
        reasons.append(because("ready"))
    return {"verdict": verdict, "reasons": reasons}


@table(
    "baume",
    title="Degrees Baumé, specific gravity and density",
    question="What density does this hydrometer reading mean?",
    notes=(
        "Scale for liquids heavier than water, modulus 145, liquid at 60 °F (15.6 °C). A hydrometer "
        "marked for another modulus reads up to half a degree apart at the strengths used here.",
    ),
)
def baume_table(bench):
    """The scale over its whole length, closer where ferric chloride is sold."""
    rows = []
    for baume in (0, 5, 10, 15, 20, 25, 30, 32, 34, 36, 38, 40, 42, 44, 46, 48, 50, 60, 70):
        gravity = bench("gravity-from-baume", baume=float(baume))
        rows.append([float(baume), gravity, bench("density-from-baume", baume=float(baume))])
    columns = [
        Column("Degrees Baumé", "1", 0),
        Column("Specific gravity", "1", 5),
        Column("Density at 60 °F", "g/cm^3", 5),
    ]
    return Sheet(columns, rows)


@table(
    "ferric-chloride-strengths",
    title="Ferric chloride by its Baumé reading",
    question="How strong is this ferric chloride?",
    notes=(
        "Read at 60 °F (15.6 °C). A label in percent may mean the salt without its water or the "
        "crystals: compare both columns. Free acid and dissolved iron make a used bath read high.",
    ),
)
def ferric_chloride_strengths_table(bench):
    """Strength in the four ways that labels and recipes count it."""
    rows = []
    for baume in (5, 10, 15, 20, 25, 30, 35, 38, 40, 42, 44, 45, 46):
        density = bench("density-from-baume", baume=float(baume))
        found = bench("ferric-chloride-strength", density=density, temperature=15.56)
        rows.append(
            [
                float(baume),
                bench("gravity-from-baume", baume=float(baume)),
                found["mass_percent"],
                found["hexahydrate_percent"],
                found["concentration"],
                found["molarity"],
            ]
        )
    columns = [
        Column("Degrees Baumé", "1", 0),
        Column("Specific gravity", "1", 4),
        Column("FeCl3 by mass", "%"),
        Column("As crystals by mass", "%"),
        Column("FeCl3 in a litre", "g/L"),
        Column("FeCl3 in a litre", "mol/L"),
    ]
    return Sheet(columns, rows)


@table(
    "etchant-recipes",
    title="Etchant from the house's ferric chloride, by strength and volume",
    question="How much stock and how much water?",
    notes=(
        "Stock into water, both at room temperature. Strengths are mass percent of the salt without "
        "its water. Plastic or glass, no metal, face shield and gloves.",
    ),
)
def etchant_recipes_table(bench):
    """Stock and water for each strength and volume."""
    stock = bench.value("etching.stock")
    house = bench.value("etching.strength")
    volumes = (50.0, 100.0, 250.0)
    columns = [Column("Strength", "%", 0)]
    for volume in volumes:
        columns += [
            Column("stock", "mL", 3, f"{volume:g} mL of etchant"),
            Column("water", "mL", 3, f"{volume:g} mL of etchant"),
        ]
    columns.append(Column("Water to one part", "1", 2))
    rows = []
    for target in sorted({3.0, 5.0, 8.0, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, house}):
        row: list = [target]
        parts: object = 0.0
        for volume in volumes:
            try:
                found = bench("dilute-etchant", stock_percent=stock, target_percent=target, volume=volume)
            except Refusal as refusal:
                row += [Refused(refusal.message), None]
                parts = None
            else:
                row += [found["stock"], found["water"]]
                parts = found["parts"]
        rows.append([*row, parts])
    return Sheet(columns, rows, notes=(f"The house's stock is {stock:g} % by mass.",))


@table(
    "etch-times",
    title="Total etching time by temperature, and its passes",
    question="How long, and in how many passes, at today's temperature?",
    notes=(
        "Rinse and look after each pass: a pass that was not needed darkens the face. In brackets, "
        "what the span of the activation energy makes of it.",
    ),
)
def etch_times_table(bench):
    """Totals and passes, with the span of the activation energy."""
    base = bench.value("etching.base_temperature")
    times = (30.0, 60.0, 120.0)
    columns = [Column("Etchant at", "degC", 0)]
    for time in times:
        columns += [
            Column("total", "s", 2, f"Trial took {time:g} s"),
            Column("passes", "1", 0, f"Trial took {time:g} s"),
        ]
    rows = []
    for temperature in sorted({15.0, 18.0, 20.0, 22.0, 25.0, 28.0, 30.0, base}):
        row: list = [temperature]
        for time in times:
            found = bench("etch-time", base_time=time, temperature=temperature)
            row += [found["total"], found["passes"]]
        rows.append(row)
    return Sheet(
        columns,
        rows,
        notes=(f"Trials at {base:g} °C; no pass longer than {bench.value('etching.pass_limit'):g} s.",),
    )


@table(
    "iron-ceilings",
    title="What 100 mL of etchant can dissolve",
    question="When is this etchant spent?",
    notes=(
        "The ceiling is chemistry; a bath is thrown out long before it, because a spent one etches "
        "slowly and rough. The depth is for the house's volume of etchant on each square centimetre.",
    ),
)
def iron_ceilings_table(bench):
    """What a bath holds, takes and is allowed to take."""
    share = bench.value("etching.bath")
    house = bench.value("etching.strength")
    rows = []
    for percent in sorted({5.0, 8.0, 10.0, 12.5, 15.0, 20.0, 30.0, 39.0, house}):
        found = bench("bath-capacity", volume=100.0, mass_percent=percent)
        depth = bench("etch-depth", iron=found["iron"], area=100.0 / share)
        rows.append([percent, found["ferric_chloride"], found["ceiling"], found["iron"], depth])
    columns = [
        Column("Strength", "%", 0),
        Column("FeCl3 in 100 mL", "g"),
        Column("Iron, ceiling", "g"),
        Column("Iron, thrown out at", "g"),
        Column("Mean depth by then", "um"),
    ]
    return Sheet(columns, rows)


@table(
    "etch-depths",
    title="Mean depth etched, by mass lost and area",
    question="How deep did the etchant go?",
    notes=("Weigh the piece dry before and after; a balance of 1 mg is needed for a small slice.",),
)
def etch_depths_table(bench):
    """Depth over the weighings that a small bench makes."""
    return matrix(
        Axis("Mass lost", "g", (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)),
        Axis("Area etched", "cm^2", (10.0, 25.0, 50.0, 100.0, 200.0)),
        "um",
        lambda iron, area: bench("etch-depth", iron=iron, area=area),
    )


@table(
    "neutraliser-amounts",
    title="Bicarbonate for the bench's own acid liquids",
    question="How much bicarbonate, and how large a vessel?",
    notes=(
        "Used up is what the acid takes; have ready is what to weigh out beforehand. Spoon by spoon "
        "until nothing fizzes and the paper is neutral. Nital: ten times its volume of cold water first.",
    ),
)
def neutraliser_amounts_table(bench):
    """The bench's acid liquids, from stock to the film left on a piece."""
    ready = bench.value("etching.bicarbonate_ready")
    room = bench.value("etching.foam_room")
    stock = bench.value("etching.stock")
    working = bench.value("etching.strength")
    nital = bench.value("etching.nital_percent")
    nital_volume = bench.value("etching.nital_volume")
    film = bench("drag-out", area=bench.value("piece.area"), crack_volume=bench.value("piece.crack_volume"))

    def chloride_in(volume, percent):
        return bench("bath-capacity", volume=volume, mass_percent=percent)["ferric_chloride"]

    nitric = bench("nital-strength", percent=nital)["concentration"] / 1000
    liquids = [
        (
            f"Etchant of {working:g} %, 100 mL",
            "ferric chloride",
            chloride_in(100.0, working),
            100.0,
        ),
        (f"Stock of {stock:g} %, 100 mL", "ferric chloride", chloride_in(100.0, stock), 100.0),
        (
            "Etchant left on the house's piece",
            "ferric chloride",
            attempt(lambda: chloride_in(film, working)),
            film,
        ),
        (f"Nital of {nital:g} %, 100 mL", "nitric acid", 100 * nitric, 1100.0),
        ("Nital for one face", "nitric acid", nital_volume * nitric, 11 * nital_volume),
    ]
    rows = []
    for liquid, acid, amount, volume in liquids:
        # Thinned nital fizzes little, so its ten waters are room enough twice over.
        vessel = scaled(volume, (room if acid == "ferric chloride" else 2) / 1000)
        if isinstance(amount, Refused):
            rows.append([liquid, amount, None, None, None, vessel])
            continue
        found = bench("neutraliser-mass", acid=acid, amount=amount)
        needed = found["sodium_bicarbonate"]
        rows.append([liquid, amount, needed, scaled(needed, ready), found["carbon_dioxide"], vessel])
    columns = [
        Column("Liquid"),
        Column("Pure acid", "g"),
        Column("Bicarbonate used up", "g"),
        Column("Bicarbonate to have ready", "g"),
        Column("Carbon dioxide", "L"),
        Column("Vessel", "L", 2),
    ]
    return Sheet(columns, rows)


@table(
    "etchant-rinses",
    title="Rinse baths after the house's ferric chloride",
    question="How many rinses after ferric chloride?",
    notes=(
        "For the outside: the film on the face, well mixed, down to the house's limit. A crack needs hours, "
        "not baths: see the calculation. No count replaces the chloride test at the end.",
    ),
)
def etchant_rinses_table(bench):
    """Liquid carried over by size of the bath."""
    return matrix(
        Axis("Carried over", "mL", (0.2, 0.5, 1.0, 2.0, 5.0, 10.0)),
        Axis("Water in each bath", "mL", (100.0, 200.0, 500.0, 1000.0, 2000.0)),
        "1",
        lambda carried, bath: bench("etchant-rinses", drag_out=carried, bath=bath)["baths"],
    )


@table(
    "nital-recipes",
    title="Nital: acid and ethanol, by volume and strength",
    question="How much acid for this much nital?",
    notes=(
        "Ethanol in the vessel first, acid into it drop by drop, cold, stirred, under extraction. "
        "Open dish, the same day only, never a closed bottle, never another alcohol, never warm.",
    ),
)
def nital_recipes_table(bench):
    """Recipes within the limit, and the refusals beyond it."""
    limit = bench.value("etching.nital_limit")
    strengths = sorted({1.0, min(2.0, limit), limit, 3.0, 6.0})
    columns = [Column("Nital wanted", "mL", 0)]
    for percent in strengths:
        columns += [Column("acid", "mL", 3, f"{percent:g} % by volume")]
        if percent <= limit:
            columns += [Column("ethanol", "mL", 4, f"{percent:g} % by volume")]
    rows = []
    for volume in (25.0, 50.0, 100.0, 150.0, 250.0, 500.0):
        row: list = [volume]
        for percent in strengths:
            try:
                found = bench("nital-acid", volume=volume, percent=percent)
                row += [found["acid"], found["ethanol"]]
            except Refusal as refusal:
                row += [Refused(refusal.message), None] if percent <= limit else [Refused(refusal.message)]
        rows.append(row)
    return Sheet(columns, rows)


@table(
    "nital-strengths",
    title="Old recipes in mol/L, as percent by volume",
    question="May I mix a recipe that is given in mol/L?",
)
def nital_strengths_table(bench):
    """What recipes in moles come to."""
    rows = []
    for molarity in (0.1, 0.15, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5):
        percent = bench("nital-percent", molarity=molarity)["percent"]
        verdict = bench("nital-strength", percent=percent)["verdict"]
        state = {"within": "go", "above the house": "stop", "dangerous": "stop"}[verdict]
        rows.append([molarity, percent, Mark(state, str(verdict), verdict)])
    columns = [
        Column("Nitric acid", "mol/L", 0),
        Column("Concentrated acid by volume", "%", 2),
        Column("Here"),
    ]
    return Sheet(columns, rows)
