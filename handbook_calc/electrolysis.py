"""Electrolysis: bath, salt, cell, current, gas, and the materials that may go in."""

from functools import partial
from math import exp, log, pi, sqrt

from handbook_calc.engine import data, quantities
from handbook_calc.engine.calculation import (
    Number,
    Reasons,
    Verdict,
    because,
    calculation,
    place_in_list,
    refuse,
)
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import MEASURED, Choice, Quantity, reads
from handbook_calc.engine.house import section
from handbook_calc.engine.known import scaled
from handbook_calc.engine.rules import above, at_least_figure, at_most, rule, shown, up_to
from handbook_calc.engine.tables import Axis, Column, Mark, Refused, Sheet, attempt, matrix, table
from handbook_calc.specimen import GRADES, KINDS

FARADAY = 96485.33212  # C/mol
GAS_CONSTANT = 8.314462618  # J/mol/K
ZERO_CELSIUS = 273.15  # K
WATER_MOLAR_MASS = 18.01528  # g/mol
WATER_DENSITY = 998.2  # g/L at 20 degC
WATER_SPECIFIC_HEAT = 4.184  # J/g/K
CONDUCTIVITY_TEMPERATURE = 20.0  # degC, of the published table
SLOPE_TEMPERATURE = 25.0  # degC, to which published temperature coefficients refer
MOST_DENSITY = 1.0  # mA/cm2; low end of the reduction range of the marine conservation manuals
BENCH_LEAD = 1.5  # mm2, the thickest that bench clips take
MOST_OF_LEAD = 16.0  # A; what a flexible lead of that section bears (memory), beyond any bench supply of 12 V
STRONGEST_BATH = 50.0  # g/L; no conservation text at hand goes beyond five percent
CLOSE_RISE = 10.0  # degC; more than this is felt in the hand and asks for portions
STRONGEST_SOLUTION = 250.0  # g/L, beyond which the heat of an endless dilution misleads
MOST_OF_FUSING = 1 / 3  # of the current that melts the wire

CONDUCTIVITY_SALTS = data.column("conductivity", "salt")
CONDUCTIVITY_PERCENTS = data.numbers("conductivity", "mass_percent")
CONDUCTIVITIES = data.numbers("conductivity", "conductivity")
SLOPE_SALTS = data.column("conductivity_slope", "salt")
SLOPES = data.numbers("conductivity_slope", "percent_per_kelvin")
SOLUTES = data.column("solution_heat", "solute")
SOLUTE_MASSES = data.numbers("solution_heat", "molar_mass")
SOLUTE_HEATS = data.numbers("solution_heat", "heat")
HYDRATES = data.column("hydrates", "hydrate")
HYDRATE_SALT_MASSES = data.numbers("hydrates", "salt_mass")
HYDRATE_WATERS = data.numbers("hydrates", "waters")
WIRES = data.column("wires", "material")
RESISTIVITIES = data.numbers("wires", "resistivity")
FUSING = data.numbers("wires", "fusing")
MATERIALS = data.column("bath_materials", "material")
MATERIAL_ROLES = data.column("bath_materials", "role")
MATERIAL_VERDICTS = data.column("bath_materials", "verdict")
MATERIAL_REASONS = data.column("bath_materials", "reason")

SALTS = tuple(dict.fromkeys(CONDUCTIVITY_SALTS))
FORMULAS = {
    "k2co3": "potassium carbonate",
    "potash": "potassium carbonate",
    "na2co3": "sodium carbonate",
    "soda ash": "sodium carbonate",
    "naoh": "sodium hydroxide",
    "lye": "sodium hydroxide",
    "caustic soda": "sodium hydroxide",
    "koh": "potassium hydroxide",
    "na2co3.10h2o": "sodium carbonate decahydrate",
}
WRONG_SALTS = {
    "washing soda": "is sold both as crystals (decahydrate, 37 % carbonate) and dry; read the label "
    "and write 'sodium carbonate' or, for crystals, find their mass with hydrate-mass",
    "baking soda": "is sodium hydrogencarbonate, too weakly alkaline to keep iron passive",
    "table salt": "is a chloride: it makes chlorine at the positive plate and salts the piece",
    "nacl": "is a chloride: it makes chlorine at the positive plate and salts the piece",
    "salt": "may mean table salt, a chloride: it makes chlorine and salts the piece",
}


@reads(FORMULAS)
def salt_name(written: str) -> str:
    """Return a salt's name for its formula or trade name.

    Raises:
        ValueError: the name is of more than one substance, or of one that harms.
    """
    plain = written.lower().replace("·", ".")
    if plain in WRONG_SALTS:
        raise ValueError(f"{WRONG_SALTS[plain]}; allowed is one of {', '.join(SALTS)}")
    return FORMULAS.get(plain, plain)


# Kinds of value that several declarations share.
salt = partial(Choice, options=SALTS, normal=salt_name, kind="salt of the bath", hints=False)
liquid = partial(Quantity, unit="L", low=0.01, high=500)
amperes = partial(
    Quantity, unit="A", low=0.0001, high=100, why="a bench cell; a plating shop needs its own rules"
)
cell_voltage = partial(
    Quantity, unit="V", low=0.1, high=30, why="a bench cell is fed from an extra-low voltage supply"
)
density_of_current = partial(Quantity, unit="mA/cm^2", low=0.001, high=200)
surface = partial(Quantity, unit="cm^2", low=0.1, high=20_000)
distance = partial(Quantity, unit="cm", low=0.1, high=200)
side = partial(Quantity, unit="cm", low=0.1, high=200)


def materials_for(role: str) -> tuple[str, ...]:
    """Return the materials listed for a role."""
    return tuple(m for m, r in zip(MATERIALS, MATERIAL_ROLES, strict=True) if r == role)


section(
    "electrolysis",
    salt("salt", "salt of the bath"),
    Quantity(
        "strength",
        "anhydrous salt in a litre of the bath",
        unit="g/L",
        low=0.1,
        high=200,
        why="anhydrous salt in a litre; weaker conducts little, stronger only burns",
    ),
    Quantity(
        "strength_limit",
        "strongest bath this bench makes",
        unit="g/L",
        low=0.5,
        high=STRONGEST_BATH,
        limit="most",
        why="no conservation text at hand goes beyond five percent",
    ),
    Quantity("concentrate_percent", "salt in the liquid concentrate, by mass", unit="%", low=0.5, high=100),
    Quantity("concentrate_density", "density of the liquid concentrate", unit="g/cm^3", low=1.0, high=2.0),
    Quantity(
        "temperature",
        "temperature of the bath",
        unit="degC",
        low=10,
        high=40,
        why="the temperature slope is a straight line only near room temperature",
    ),
    Quantity(
        "pressure",
        "air pressure of the room",
        unit="kPa",
        low=50,
        high=110,
        why="from a high mountain to a winter high",
    ),
    liquid("bath", "liquid in one bath of the worked figures' piece"),
    Quantity(
        "cover",
        "liquid above the highest point of the piece",
        unit="cm",
        low=0.5,
        high=20,
        limit="least",
        why="a piece that looks out of the liquid rusts at the line",
    ),
    Quantity(
        "freeboard",
        "rim of the tub above the liquid, at least",
        unit="cm",
        low=1,
        high=30,
        limit="least",
        why="gas throws spray, and a moved tub slops",
    ),
    Choice("anode", "material of the positive plates", options=materials_for("anode"), hints=False),
    Choice("hanger", "wire that holds the piece and feeds it", options=materials_for("hanger"), hints=False),
    Choice("tub", "material of the tub", options=materials_for("tub"), hints=False),
    distance(
        "gap",
        "distance from the piece to the positive plates",
        low=1,
        limit="least",
        why="nearer, a piece that shifts touches the plate and shorts the supply",
    ),
    cell_voltage("voltage", "voltage of the supply"),
    Quantity("decomposition_voltage", "voltage below which no gas is made", unit="V", low=1.23, high=3),
    amperes("supply_limit", "current at which the supply limits itself"),
    density_of_current("current_density", "current for each square centimetre of the piece"),
    density_of_current(
        "density_limit",
        "no piece gets more than this, cracked pieces above all",
        high=MOST_DENSITY,
        limit="most",
        why="more gas in the cracks wedges scale and grains off",
    ),
    Quantity("lead", "length of one lead or wire", unit="cm", low=5, high=500),
    Quantity("drop_limit", "voltage a lead may lose", unit="V", low=0.05, high=3),
    Quantity("meter_error", "two ammeters in one circuit may differ by", unit="%", low=0.5, high=20),
)


at_most("electrolysis.strength", "electrolysis.strength_limit", because="every make-up would be refused")
at_most("electrolysis.current_density", "electrolysis.density_limit", because="no piece may get more")
above("electrolysis.voltage", "electrolysis.decomposition_voltage", because="the cell would do nothing")


SINKING = 0.2  # cm/d that a bath sinks in a warm room by drying up (common practice)


@rule("electrolysis.cover", "electrolysis.stand")
def cover_outlasts_the_stand(house):
    """A bath that dries down to the piece between two tests rusts it at the line."""
    sinks = SINKING * house["electrolysis.stand"]
    if house["electrolysis.cover"] < sinks * (1 - 1e-9):
        yield (
            "electrolysis.cover",
            f"would be dried up before the bath is looked at again, {shown(house, 'electrolysis.stand')} on: "
            f"the piece rusts at the line; allowed is {at_least_figure(sinks)} cm or more",
        )


@rule("electrolysis.supply_limit", "electrolysis.lead", "electrolysis.drop_limit")
def supply_fits_the_leads(house):
    """A supply that gives more than its leads bear burns them where nobody watches."""
    length = house["electrolysis.lead"] / 100
    resistance = RESISTIVITIES[wire_entry("copper")] * length / (BENCH_LEAD / 1_000_000)
    most = min(MOST_OF_LEAD, house["electrolysis.drop_limit"] / resistance)
    if house["electrolysis.supply_limit"] > most:
        yield (
            "electrolysis.supply_limit",
            f"is more than a lead of {BENCH_LEAD:g} mm2 copper, {shown(house, 'electrolysis.lead')} long, "
            f"bears with a drop of {shown(house, 'electrolysis.drop_limit')}; "
            f"allowed is up to {up_to(most)} A",
        )


@rule("electrolysis.anode", "electrolysis.hanger", "electrolysis.tub", "electrolysis.salt")
def materials_do_no_harm(house):
    """A material that poisons the bath or spoils the piece is no house choice."""
    for key, role in (
        ("anode", "anode"), ("hanger", "hanger"), ("tub", "tub"), ("salt", "electrolyte")
    ):  # fmt: skip
        chosen = house[f"electrolysis.{key}"]
        entry = material_entry(chosen, role)
        if entry < 0 or MATERIAL_VERDICTS[entry] != "use":
            allowed = ", ".join(
                m for m in materials_for(role) if MATERIAL_VERDICTS[material_entry(m, role)] == "use"
            )
            why = BATH_REASONS[MATERIAL_REASONS[entry]] if entry >= 0 else "is not listed"
            yield f"electrolysis.{key}", f"is never used as {role}: {why} allowed is one of {allowed}"


# --- the bath -----------------------------------------------------------------------------------


@calculation(
    "bath-volume",
    title="Liquid in a tub with the piece in it",
    inputs=(
        side("length", "inside length of the tub", example="12 cm"),
        side("width", "inside width of the tub", example="7 cm"),
        side("depth", "depth of the liquid with the piece in it", example="3.3 cm"),
        Quantity(
            "piece_volume",
            "volume of metal below the surface",
            unit="cm^3",
            low=0,
            high=50_000,
            example="23.6 cm^3",
            of_piece="piece-volume",
        ),
    ),
    results=Number("volume", "L", "liquid"),
    assumes=("the tub has straight walls", "the piece lies wholly below the surface"),
    sources=("mass-balance",),
    refusals={
        "no-room": "the piece of {piece_volume} is as large as the filled part of the tub: check "
        "the units of the tub's sides and of the piece, or take a larger tub",
    },
)
def bath_volume(length, width, depth, piece_volume):
    """Computed box less the piece."""
    box = length * width * depth
    if piece_volume >= box:
        refuse("no-room")
    return (box - piece_volume) / 1000


@calculation(
    "cover-depth",
    title="Liquid that covers a piece in a tub, and the rim left above it",
    inputs=(
        side("tub_length", "inside length of the tub", example="12 cm"),
        side("tub_width", "inside width of the tub", example="7 cm"),
        side("tub_height", "inside height of the tub", example="10 cm"),
        side("piece_length", "length of the piece as it lies", example="9 cm", of_piece="piece.length"),
        side("piece_width", "width of the piece as it lies", example="4.6 cm", of_piece="piece.width"),
        side("piece_height", "height of the piece as it lies", example="0.6 cm", of_piece="piece.thickness"),
        Quantity("volume", "volume of the piece", unit="cm^3", low=0.01, high=50_000,
                 example="23.6 cm^3", of_piece="piece-volume"),
        from_house("electrolysis.cover"),
        from_house("electrolysis.freeboard", name="least_freeboard"),
    ),
    results=(
        Number("liquid", "L", "liquid to pour in, piece in place", safe="up"),
        Number("level", "cm", "depth of the liquid then", safe="up"),
        Number("freeboard", "cm", "rim of the tub above the liquid"),
    ),
    assumes=(
        "the tub has straight walls",
        "the positive plates displace little",
        "room for the plates beside the piece is seen to separately",
    ),
    sources=("mass-balance", "bath-practice"),
    refusals={
        "does-not-fit": "a piece of {piece_length} by {piece_width} does not lie flat in a tub of "
        "{tub_length} by {tub_width}: take a larger tub, or turn the piece and enter it as it lies",
        "too-shallow": "the liquid would stand {0 cm} deep, and {least_freeboard} of rim is needed "
        "above it, in a tub {tub_height} high: take a higher tub or lay the piece flatter; a piece "
        "that looks out of the liquid rusts at the line",
        "impossible-volume": "a piece that measures {piece_length} by {piece_width} by "
        "{piece_height} cannot hold {volume}: one of the units is wrong",
    },
)  # fmt: skip
def cover_depth(
    tub_length, tub_width, tub_height, piece_length, piece_width, piece_height, volume, cover,
    least_freeboard,
):  # fmt: skip
    """Level is the piece's height and the cover; liquid is what the piece leaves free of it."""
    lengthwise = piece_length <= tub_length and piece_width <= tub_width
    crosswise = piece_length <= tub_width and piece_width <= tub_length
    if not (lengthwise or crosswise):
        refuse("does-not-fit")
    if volume > piece_length * piece_width * piece_height * (1 + 1e-9):
        refuse("impossible-volume")
    level = piece_height + cover
    freeboard = tub_height - level
    if freeboard < least_freeboard:
        refuse("too-shallow", level)
    liquid = (tub_length * tub_width * level - volume) / 1000
    return {"liquid": liquid, "level": level, "freeboard": freeboard}


def check_strength(strength, strength_limit):
    """Refuse a bath stronger than the house, or any text at hand, allows."""
    limit = STRONGEST_BATH if strength_limit is None else strength_limit
    if strength > limit:
        refuse("too-strong", limit)


TOO_STRONG = (
    "a bath of {strength} is stronger than the {0 g/L} this bench makes: more salt adds hazard and "
    "waste and draws out no more chloride; for more current move the plates nearer instead"
)


@calculation(
    "electrolyte-mass",
    title="Salt for a bath",
    inputs=(
        liquid("volume", "liquid of the bath", example="{electrolysis.bath}"),
        from_house("electrolysis.strength"),
        from_house("electrolysis.strength_limit", optional=True),
    ),
    results=Number("mass", "g", "anhydrous salt to weigh out"),
    assumes=("dry, anhydrous salt; for crystals see the hydrate's mass",),
    sources=("mass-balance", "selwyn-hydroxide"),
    refusals={"too-strong": TOO_STRONG},
)  # fmt: skip
def electrolyte_mass(volume, strength, strength_limit):
    """Volume times strength."""
    check_strength(strength, strength_limit)
    return volume * strength


@calculation(
    "hydrate-mass",
    title="Crystals that hold a mass of anhydrous salt",
    inputs=(
        Quantity("mass", "anhydrous salt wanted", unit="g", low=0.01, high=50_000, example="5 g"),
        Choice("hydrate", "crystals at hand, from the label", options=HYDRATES, kind="hydrate", hints=False,
               normal=salt_name, example="potassium carbonate sesquihydrate"),
    ),
    results=Number("crystals", "g", "crystals to weigh out"),
    assumes=("the crystals are fresh: white, powdery ones have lost water and are stronger",),
    sources=("atomic-weights",),
)  # fmt: skip
def hydrate_mass(mass, hydrate):
    """Molar mass of the crystals over that of the salt in them."""
    factor = 1
    for i in range(len(HYDRATES)):
        if HYDRATES[i] == hydrate:
            factor = 1 + HYDRATE_WATERS[i] * WATER_MOLAR_MASS / HYDRATE_SALT_MASSES[i]
    return mass * factor


@calculation(
    "concentrate-volume",
    title="Liquid concentrate for a bath",
    inputs=(
        liquid("volume", "liquid of the finished bath", example="{electrolysis.bath}"),
        from_house("electrolysis.strength"),
        from_house("electrolysis.concentrate_percent",
                   about="salt in the concentrate by mass, from its label"),
        from_house("electrolysis.concentrate_density",
                   about="density of the concentrate, from its data sheet"),
        from_house("electrolysis.strength_limit", optional=True),
    ),
    results=(
        Number("concentrate", "mL", "concentrate"),
        Number("water", "L", "deionised water it is poured into"),
    ),
    assumes=("volumes add, which errs by less than a percent in a weak bath",),
    sources=("mass-balance",),
    refusals={
        "too-strong": TOO_STRONG,
        "too-weak": "a concentrate of {concentrate_percent} holds {0 g/L}, no more than the bath of "
        "{strength} is to have: use a stronger concentrate or dry salt",
    },
)  # fmt: skip
def concentrate_volume(volume, strength, concentrate_percent, concentrate_density, strength_limit):
    """Salt wanted over the salt in a millilitre of the concentrate."""
    check_strength(strength, strength_limit)
    holds = concentrate_percent / 100 * concentrate_density * 1000
    if holds <= strength:
        refuse("too-weak", holds)
    concentrate = volume * strength / holds * 1000
    water = volume - concentrate / 1000
    return {"concentrate": concentrate, "water": water}


@calculation(
    "bath-percent",
    title="Strength of a bath in percent by mass",
    inputs=(
        Quantity("salt_mass", "anhydrous salt in the bath", unit="g", low=0, high=50_000, example="5 g"),
        liquid("volume", "water that the salt was put into", example="{electrolysis.bath}"),
    ),
    results=Number("mass_percent", "%", "salt by mass of the solution"),
    assumes=("water of 20 °C",),
    sources=("mass-balance",),
)
def bath_percent(salt_mass, volume):
    """Salt over salt and water."""
    water = volume * WATER_DENSITY
    return 100 * salt_mass / (salt_mass + water)


@calculation(
    "solution-warming",
    title="Warming while a salt dissolves",
    inputs=(
        Quantity("mass", "solid put in", unit="g", low=0.1, high=50_000, example="5 g"),
        liquid("volume", "water it is put into", example="0.25 L"),
        Choice(
            "solute",
            "the solid",
            options=SOLUTES,
            normal=salt_name,
            kind="solid",
            hints=False,
            example="potassium carbonate",
        ),
    ),
    results=(
        Number("temperature_rise", "delta_degC", "rise if all of it goes in at once", 2),
        Verdict(
            "caution",
            "order of addition",
            stops=(),
            words={
                "solid into cold water, slowly": "Always the solid into cold water, a little at a "
                "time and stirred, never water onto the solid. Goggles, face shield and gauntlets; "
                "the safety data sheet goes before this line.",
                "solid into cold water, in portions": "The rise of {temperature_rise} brings steam "
                "and splashes: add the solid to cold water in several portions, let each cool, never "
                "pour water onto the solid. Face shield, apron and gauntlets; the safety data sheet "
                "goes before this line.",
                "cools": "The crystals cool the water and dissolve slowly; warm water helps. "
                "Goggles and gloves all the same.",
            },
        ),
    ),
    assumes=(
        "no heat is lost",
        "the solution warms as its water alone would: true to a few percent, and 5 % too warm for the "
        "strongest hydroxide",
        "heat of solution in much water at 25 °C",
    ),
    sources=("crc-solution-enthalpy", "formation-enthalpies", "decahydrate-enthalpy"),
    refusals={
        "no-bath": "{0 g/L} is no bath but a concentrate: heat and splashes are not what this "
        "formula gives; buy the concentrate made, and dilute that",
    },
)
def solution_warming(mass, volume, solute):
    """Heat of solution over the heat capacity of the water."""
    if mass / volume > STRONGEST_SOLUTION:
        refuse("no-bath", mass / volume)
    heat = 0
    for i in range(len(SOLUTES)):
        if SOLUTES[i] == solute:
            heat = mass / SOLUTE_MASSES[i] * SOLUTE_HEATS[i] * 1000
    temperature_rise = heat / (volume * WATER_DENSITY * WATER_SPECIFIC_HEAT)
    caution = "solid into cold water, slowly"
    if temperature_rise < 0:
        caution = "cools"
    elif temperature_rise > CLOSE_RISE:
        caution = "solid into cold water, in portions"
    return {"temperature_rise": temperature_rise, "caution": caution}


# --- the cell -----------------------------------------------------------------------------------


def conductivity_at_reference(salt, mass_percent):
    """Conductivity at 20 degC in mS/cm, straight between table points on logarithmic axes."""
    low = -1
    high = -1
    for i in range(len(CONDUCTIVITY_SALTS)):
        if CONDUCTIVITY_SALTS[i] == salt:
            if CONDUCTIVITY_PERCENTS[i] <= mass_percent:
                low = i
            if CONDUCTIVITY_PERCENTS[i] >= mass_percent and high < 0:
                high = i
    if low < 0 or high < 0:
        refuse("outside-table", least_percent(salt), most_percent(salt))
    if low == high:
        return CONDUCTIVITIES[low]
    along = log(mass_percent / CONDUCTIVITY_PERCENTS[low]) / log(
        CONDUCTIVITY_PERCENTS[high] / CONDUCTIVITY_PERCENTS[low]
    )
    return CONDUCTIVITIES[low] * exp(along * log(CONDUCTIVITIES[high] / CONDUCTIVITIES[low]))


def least_percent(salt):
    """Weakest solution in the table."""
    for i in range(len(CONDUCTIVITY_SALTS)):
        if CONDUCTIVITY_SALTS[i] == salt:
            return CONDUCTIVITY_PERCENTS[i]
    return 0


def most_percent(salt):
    """Strongest solution in the table."""
    most = 0
    for i in range(len(CONDUCTIVITY_SALTS)):
        if CONDUCTIVITY_SALTS[i] == salt:
            most = max(most, CONDUCTIVITY_PERCENTS[i])
    return most


@calculation(
    "electrolyte-conductivity",
    title="Conductivity of a bath",
    inputs=(
        salt("salt", "salt of the bath", example="{electrolysis.salt}"),
        Quantity(
            "mass_percent",
            "anhydrous salt by mass of the solution",
            unit="%",
            low=0.01,
            high=50,
            example="2 %",
        ),
        from_house("electrolysis.temperature"),
    ),
    results=Number("conductivity", "mS/cm", "conductivity"),
    assumes=(
        "fresh solution in deionised water, no bicarbonate from the air",
        "between table points within about 10 %",
        "it rises by 1.7 (hydroxide) or 2.0 % (carbonates) of its 25 °C value for each 1 °C",
    ),
    sources=("crc-conductivity", "conductivity-compensation", "conductivity-slopes"),
    refusals={
        "outside-table": "the published table of {salt} runs from {0 %} to {1 %} by mass, and "
        "{mass_percent} is outside it: nothing is guessed beyond its ends; measure with a meter",
    },
)
def electrolyte_conductivity(salt, mass_percent, temperature):
    """Table value at 20 degC times the temperature line, which is stated for 25 degC."""
    at_reference = conductivity_at_reference(salt, mass_percent)
    slope = 0
    for i in range(len(SLOPE_SALTS)):
        if SLOPE_SALTS[i] == salt:
            slope = SLOPES[i] / 100
    at_reference_line = 1 + slope * (CONDUCTIVITY_TEMPERATURE - SLOPE_TEMPERATURE)
    line = 1 + slope * (temperature - SLOPE_TEMPERATURE)
    return at_reference * line / at_reference_line


@calculation(
    "cathode-current",
    title="Current to set for a piece",
    inputs=(
        surface("area", "wetted surface of the piece, both faces and the edge", example="{piece.area}"),
        from_house("electrolysis.current_density"),
        from_house("electrolysis.supply_limit"),
        from_house("electrolysis.density_limit", optional=True),
        Choice("kind", "what the piece is; left out, an iron", options=KINDS, kind="kind of piece",
               hints=False, optional=True),
        Choice("grade", "its condition grade; left out, nothing of it moves", options=GRADES,
               kind="condition grade", optional=True),
    ),
    results=(
        Number("current", "A", "current to set", safe="down"),
        Verdict(
            "limited_by",
            "what sets the current",
            stops=(),
            words={
                "area": "The area of the piece sets the current; set the supply's limit to it.",
                "supply": "The supply gives no more than {supply_limit}, so the piece gets less "
                "than asked for: that only takes longer.",
            },
        ),
        Verdict(
            "verdict",
            "may current be given at all",
            stops=("stop",),
            words={
                "go": "{current_density} is within the limit, and nothing that was said of the piece "
                "speaks against current.",
                "stop": "This current is not set; the reasons say what to do instead.",
            },
        ),
        Reasons("reasons", "why not", {
            "density": "{current_density} is above the limit of {0 mA/cm^2}: gas in the cracks wedges scale "
            "and grains off. Set no more than the limit; slow draws out more chloride for its charge.",
            "stony": "Current is never for a {kind}: metal beside silicate has poor contacts, and gas lifts "
            "crystals from their sockets. Soak it without current.",
            "loose": "A piece of grade {grade} flakes or has moving parts: gas wedges them off. Support it "
            "first, and soak it without current.",
        }),
    ),
    assumes=("the piece is the negative side", "current spreads evenly over the surface"),
    sources=("carlin-current", "bath-practice"),
)  # fmt: skip
def cathode_current(area, current_density, supply_limit, density_limit, kind, grade):
    """Area times density, up to what the supply gives."""
    wanted = area * current_density / 1000
    limited_by = "supply" if wanted > supply_limit else "area"
    current = min(wanted, supply_limit)
    reasons = []
    limit = MOST_DENSITY if density_limit is None else density_limit
    if current_density > limit * (1 + 1e-12):
        reasons.append(because("density", limit))
    if kind is not None and kind != "iron":
        reasons.append(because("stony"))
    if grade is not None and grade == "G5":
        reasons.append(because("loose"))
    verdict = "stop" if len(reasons) > 0 else "go"
    return {"current": current, "limited_by": limited_by, "verdict": verdict, "reasons": reasons}


@calculation(
    "current-density",
    title="Current density that a supply gives a piece",
    inputs=(
        amperes("current", "current that flows, or that a fixed charger gives", example="5 mA"),
        surface("area", "wetted surface of the piece, both faces and the edge", example="{piece.area}"),
        from_house("electrolysis.density_limit"),
    ),
    results=(
        Number(
            "density",
            "mA/cm^2",
            "current for each square centimetre",
            most=10_000,
            because="above that a still bath boils away from the metal and sparks",
        ),
        Number("most", "A", "most current for this piece", safe="down"),
        Verdict(
            "verdict",
            "may it be connected",
            stops=("too strong",),
            words={
                "within the limit": "{density} is within the limit of {density_limit}.",
                "too strong": "{density} is above the limit of {density_limit}: gas in the cracks "
                "wedges scale and grains off. Use a supply whose current can be set to {most} or "
                "less; a fixed charger is not for this piece.",
            },
        ),
    ),
    assumes=("current spreads evenly over the surface",),
    sources=("carlin-current", "bath-practice"),
)
def current_density(current, area, density_limit):
    """Current over area."""
    density = current * 1000 / area
    most = density_limit * area / 1000
    verdict = "too strong" if density > density_limit * (1 + 1e-12) else "within the limit"
    return {"density": density, "most": most, "verdict": verdict}


@calculation(
    "cell-current",
    curve="gap",
    title="Current that a cell takes",
    inputs=(
        cell_voltage("voltage", "voltage across the cell", example="{electrolysis.voltage}"),
        Quantity("conductivity", "conductivity of the bath", unit="mS/cm", low=0.0001, high=1000,
                 example="25 mS/cm"),
        distance("gap", "distance from the piece to the plates", example="{electrolysis.gap}"),
        surface("area", "area that faces the plates", example="41 cm^2", of_piece=MEASURED),
        from_house("electrolysis.decomposition_voltage"),
    ),
    results=(
        Number("current", "A", "current"),
        Number("resistance", "ohm", "resistance of the liquid"),
        Number("power", "W", "electrical power taken"),
    ),
    assumes=(
        "flat plates face each other: spread at the edges lowers the resistance, bubbles raise it",
        "rust, clips and leads add no resistance; expect a factor of two between this and a meter",
    ),
    sources=("physical-chemistry-brief", "decomposition-voltage"),
    refusals={
        "no-gas": "{voltage} does not exceed the {decomposition_voltage} that it takes to split "
        "water: apart from a trickle no current flows; raise the voltage",
        "too-much": "such a cell would take {0 A}, and no bench supply gives nor bench lead bears more than "
        "{1 A}: leads glow, clips burn, the bath boils. Move the plates away, use less salt or less "
        "facing area, and set the supply's limit to what the piece may get",
    },
)  # fmt: skip
def cell_current(voltage, conductivity, gap, area, decomposition_voltage):
    """What is left of the voltage over the resistance of the liquid between the plates."""
    if voltage <= decomposition_voltage:
        refuse("no-gas")
    resistance = gap / (conductivity / 1000 * area)
    current = (voltage - decomposition_voltage) / resistance
    if current > MOST_OF_LEAD:
        refuse("too-much", current, MOST_OF_LEAD)
    power = voltage * current
    return {"current": current, "resistance": resistance, "power": power}


@place_in_list
def wire_entry(material):
    """Row of a wire material in the published tables."""
    entry = 0
    for i in range(len(WIRES)):
        if WIRES[i] == material:
            entry = i
    return entry


def fusing_current(diameter, material):
    """Current in A that melts a wire in free air, for its diameter in mm."""
    inches = diameter / 25.4
    return FUSING[wire_entry(material)] * inches * sqrt(inches)


def wire_material(written: str) -> str:
    """Return a wire material's name; stainless wire is refused here with its reason."""
    plain = written.lower()
    if "stainless" in plain or "chrom" in plain:
        raise ValueError(
            f"is no wire for the bath: {BATH_REASONS['chromium-reversed']} "
            f"allowed is one of {', '.join(WIRES)}"
        )
    return plain


@calculation(
    "wire-drop",
    title="Voltage lost in a wire",
    inputs=(
        amperes("current", "current in the wire", example="1 A"),
        Quantity("length", "whole length the current runs, there and back", unit="cm", low=1,
                 high=5000, example="200 cm"),
        Quantity("diameter", "diameter of the bare wire", unit="mm", low=0.1, high=12, example="1 mm"),
        Choice("material", "metal of the wire", options=WIRES, normal=wire_material, kind="wire", hints=False,
               example="copper"),
    ),
    results=Number("voltage", "V", "voltage lost"),
    assumes=("solid wire of 20 °C; a clip on rust loses far more than any wire",),
    sources=("wire-resistivity", "wire-resistivity-steel"),
    refusals={
        "wire-too-thin": "{current} is more than a third of the {0 A} that melt this wire: it would "
        "burn fingers and light gas; take a thicker wire or several side by side",
    },
)  # fmt: skip
def wire_drop(current, length, diameter, material):
    """Resistivity times length over cross-section, times the current."""
    melts = fusing_current(diameter, material)
    if current > melts * MOST_OF_FUSING:
        refuse("wire-too-thin", melts)
    section_area = pi / 4 * (diameter / 1000) ** 2
    resistance = RESISTIVITIES[wire_entry(material)] * length / 100 / section_area
    return current * resistance


# --- gas and water ------------------------------------------------------------------------------


def gas_rate(current, temperature, pressure, electrons):
    """Dry gas in L/h for the electrons that one molecule takes."""
    moles = current * 3600 / (electrons * FARADAY)
    return moles * GAS_CONSTANT * (temperature + ZERO_CELSIUS) / pressure


GAS_INPUTS = (
    amperes(
        "current",
        "current through the cell; cells in series each make their own gas",
        example="{electrolysis.supply_limit}",
    ),
    from_house(
        "electrolysis.temperature",
        about="temperature of the gas",
        low=0,
        high=100,
        because="the gas law holds wherever water is liquid",
    ),
    from_house("electrolysis.pressure"),
)


@calculation(
    "hydrogen-rate",
    title="Hydrogen made at the piece",
    inputs=GAS_INPUTS,
    results=Number("rate", "L/h", "dry hydrogen"),
    assumes=(
        "all of the current makes hydrogen: the most there can be, as safety asks",
        "dry gas: over warm water it takes some percent more room",
    ),
    sources=("si-constants", "faraday-and-gas-law"),
)
def hydrogen_rate(current, temperature, pressure):
    """Two electrons to each molecule, then the gas law."""
    return gas_rate(current, temperature, pressure, 2)


@calculation(
    "oxygen-rate",
    title="Oxygen made at the plates",
    inputs=GAS_INPUTS,
    results=Number("rate", "L/h", "dry oxygen"),
    assumes=("all of the current makes oxygen; a plate that rusts makes less", "dry gas"),
    sources=("si-constants", "faraday-and-gas-law"),
)
def oxygen_rate(current, temperature, pressure):
    """Four electrons to each molecule, then the gas law."""
    return gas_rate(current, temperature, pressure, 4)


@calculation(
    "water-consumed",
    title="Water split by the current",
    inputs=(
        amperes("current", "current through the cell", example="{electrolysis.supply_limit}"),
        Quantity("time", "how long it flows", unit="h", low=0, high=20_000, example="{electrolysis.stand}"),
    ),
    results=Number("mass", "g", "water split"),
    assumes=("evaporation and spray come on top; top up with deionised water only",),
    sources=("si-constants", "faraday-and-gas-law"),
)
def water_consumed(current, time):
    """Two electrons to each molecule of water."""
    moles = current * time * 3600 / (2 * FARADAY)
    return moles * WATER_MOLAR_MASS


# --- materials ----------------------------------------------------------------------------------

BATH_REASONS = {
    "steel-anode": "Mild steel gives off oxygen and stays whole in alkali poor in chloride; where it "
    "dissolves it browns the bath and is replaced.",
    "steel-hanger": "Iron on the negative side does not dissolve; clean the contact to bare metal.",
    "graphite-dust": "Graphite does not dissolve but sheds conducting dust: bag it, clip it above the "
    "liquid, rinse the piece well.",
    "brittle": "Graphite breaks and does not grip.",
    "chromium": "Its chromium goes into the bath as chromate, hexavalent chromium, which causes "
    "cancer; a yellow bath is the alarm, and the bath is then hazardous waste.",
    "chromium-reversed": "One swap of the leads makes it the positive side, and its chromium goes "
    "into the bath as chromate, hexavalent chromium, which causes cancer.",
    "amphoteric": "Alkali dissolves it and makes hydrogen, with or without current.",
    "copper": "In the liquid it dissolves at the positive side and plates copper onto iron; keep it "
    "above the surface.",
    "insulator": "It carries no current; it may hold a piece up, not feed it.",
    "conducting-tub": "A tub that conducts becomes a plate of the cell: current goes astray and a "
    "touch shorts it.",
    "plastic-tub": "It stands alkali and carries no current; leave the lid off or loose, for gas.",
    "glass-tub": "Carbonate leaves it alone, hydroxide dulls it in time; put a heavy piece on a net, "
    "for glass breaks.",
    "carbonate": "Alkaline enough to keep iron passive, and milder than hydroxide; goggles always, "
    "since gas throws alkaline mist.",
    "hydroxide": "The bath of the conservation literature; it burns skin and eyes before it is felt: "
    "face shield, apron, gauntlets.",
    "weak-alkali": "Its pH of about 8 does not keep salty iron passive.",
    "chloride": "The positive side makes chlorine and hypochlorite of it, and it puts in what the "
    "bath is to draw out.",
    "acid": "Acid eats the metal, and with salts of the bath it can set poisonous gas free.",
}


@place_in_list
def material_entry(material, role):
    """Row of a material in a role, -1 where there is none."""
    for i in range(len(MATERIALS)):
        if MATERIALS[i] == material and MATERIAL_ROLES[i] == role:
            return i
    return -1


@calculation(
    "bath-material",
    title="Whether a material may go into the bath",
    inputs=(
        Choice("material", "what it is made of", options=tuple(dict.fromkeys(MATERIALS)),
               kind="material of the list", hints=False, example="mild steel"),
        Choice("role", "what it is to be", options=tuple(dict.fromkeys(MATERIAL_ROLES)), kind="role",
               example="anode"),
    ),
    results=(
        Verdict(
            "verdict",
            "may it be used",
            stops=("never",),
            words={
                "use": "{material} may be used as {role}.",
                "never": "{material} is never used as {role}.",
            },
        ),
        Reasons("reasons", "why", BATH_REASONS),
    ),
    assumes=("an alkaline bath, the piece on the negative side",),
    sources=("bath-practice", "osha-chromium", "aluminium-alkali", "selwyn-hydroxide"),
    refusals={
        "not-listed": "{material} is not judged as {role} here: take a material that is, or ask for "
        "advice before it meets current and alkali",
    },
)  # fmt: skip
def bath_material(material, role):
    """Look the pair up."""
    entry = material_entry(material, role)
    if entry < 0:
        refuse("not-listed")
    return {"verdict": MATERIAL_VERDICTS[entry], "reasons": [because(MATERIAL_REASONS[entry])]}


# --- tables -------------------------------------------------------------------------------------


@table(
    "salt-amounts",
    title="Anhydrous salt for a bath, by volume and strength",
    question="How much salt goes into the tub?",
    notes=("Solid into cold water, slowly, never the other way round. Dry salt, not crystals.",),
)
def salt_amounts_table(bench):
    """Matrix of salt by volume and strength."""
    return matrix(
        Axis("Liquid", "L", (0.25, 0.5, 1, 2, 5, 10, 20, 40)),
        Axis("Strength", "g/L", (5, 10, 20, 30, 50)),
        "g",
        lambda volume, strength: float(bench("electrolyte-mass", volume=volume, strength=strength)),
    )


@table(
    "salt-forms",
    title="The house's bath made from what is at hand",
    question="I have crystals, or a liquid: how much of that?",
    notes=(
        "Washing soda may be crystals or dry: the label tells. Taken for dry, crystals give a bath of "
        "little more than a third of its strength.",
    ),
)
def salt_forms_table(bench):
    """The house's bath in other forms of its salt."""
    rows = []
    for volume in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0):
        dry = bench("electrolyte-mass", volume=volume)
        rows.append(
            [
                volume,
                dry,
                bench("hydrate-mass", mass=dry, hydrate="potassium carbonate sesquihydrate"),
                bench("hydrate-mass", mass=dry, hydrate="sodium carbonate monohydrate"),
                bench("hydrate-mass", mass=dry, hydrate="sodium carbonate decahydrate"),
                attempt(lambda volume=volume: bench("concentrate-volume", volume=volume)["concentrate"]),
            ]
        )
    return Sheet(
        [
            Column("Liquid", "L", 0),
            Column("Dry salt", "g"),
            Column("Potash crystals (sesquihydrate)", "g"),
            Column("Soda, monohydrate", "g"),
            Column("Soda crystals (decahydrate)", "g"),
            Column("Liquid potassium carbonate", "mL"),
        ],
        rows,
    )


@table(
    "warming",
    title="Warming of the water when the solid goes in",
    question="How hot does it get when I dissolve it?",
    notes=("If all of it goes in at once and no heat is lost. A minus sign: it cools.",),
)
def warming_table(bench):
    """Matrix of warming by strength and solid."""
    return matrix(
        Axis("Solid in a litre", "g/L", (5, 10, 20, 50, 100, 200)),
        Axis("Solid", "text", SOLUTES),
        "delta_degC",
        lambda strength, solute: bench("solution-warming", mass=strength, volume=1.0, solute=solute)[
            "temperature_rise"
        ],
        digits=2,
    )


@table(
    "conductivities",
    title="Conductivity of baths at the house's temperature",
    question="How well does my bath conduct?",
    notes=("Fresh solution. Nothing is given beyond the ends of the published table.",),
)
def conductivities_table(bench):
    """Matrix of conductivity by strength and salt."""
    return matrix(
        Axis("Salt by mass", "%", (0.5, 1, 1.5, 2, 3, 4, 5, 10)),
        Axis("Salt", "text", SALTS),
        "mS/cm",
        lambda percent, salt: bench("electrolyte-conductivity", salt=salt, mass_percent=percent),
    )


def house_conductivity(bench) -> float:
    """Return the conductivity of the house's bath."""
    litre = 1.0
    salt_mass = bench.value("electrolysis.strength") * litre
    percent = bench("bath-percent", salt_mass=salt_mass, volume=litre)
    return bench("electrolyte-conductivity", salt=bench.value("electrolysis.salt"), mass_percent=percent)


@table(
    "cell-currents",
    title="Current that the house's bath takes at the house's voltage, by distance and area",
    question="How much current will flow if I just connect it?",
    notes=(
        "Without a current limit. Compare with the current settings: where this is more, the supply "
        "must limit itself.",
    ),
)
def cell_currents_table(bench):
    """Matrix of unlimited current by distance and area."""
    conductivity = house_conductivity(bench)
    voltage = bench.value("electrolysis.voltage")
    sheet = matrix(
        Axis("Distance", "cm", (2, 4, 6, 10, 15, 20)),
        Axis("Facing area", "cm^2", (10, 25, 50, 100, 250, 500)),
        "A",
        lambda gap, area: bench(
            "cell-current", voltage=voltage, conductivity=conductivity, gap=gap, area=area
        )["current"],
        digits=2,
    )
    note = f"Bath of {conductivity:.1f} mS/cm at {voltage:g} V."
    return Sheet(sheet.columns, sheet.rows, (note,))


@table(
    "cell-currents-conductivity",
    title="Current of the house's piece, by conductivity and distance",
    question="What does the ammeter tell about my water and my salt?",
    notes=("From deionised water (0.005 mS/cm) over tap water to a strong bath.",),
)
def cell_currents_conductivity_table(bench):
    """Matrix of unlimited current by conductivity and distance."""
    area = scaled(bench.value("piece.area"), 0.5)
    voltage = bench.value("electrolysis.voltage")
    sheet = matrix(
        Axis("Conductivity", "mS/cm", (0.005, 0.05, 0.5, 2, 5, 10, 25, 50)),
        Axis("Distance", "cm", (2, 4, 6, 10, 15)),
        "A",
        lambda conductivity, gap: bench(
            "cell-current", voltage=voltage, conductivity=conductivity, gap=gap, area=area
        )["current"],
        digits=2,
    )
    note = f"One face of {area:g} cm² towards the plates, {voltage:g} V."
    return Sheet(sheet.columns, sheet.rows, (note,))


@table(
    "current-settings",
    title="Current to set, by area and current density",
    question="What do I set the supply to?",
    notes=(
        "Slow densities draw out most chloride for their charge; 20 mA/cm² and more scrub off scale "
        "from sound pieces within minutes and are never for cracked ones.",
    ),
)
def current_settings_table(bench):
    """Matrix of settings by area and density, marked where a limit binds."""
    limit = bench.value("electrolysis.density_limit")

    def cell(area, density):
        answer = bench("cathode-current", area=area, current_density=density)
        if density > limit:
            return Mark("stop", f"{answer['current']:.2g}, above the house limit")
        if answer["limited_by"] == "supply":
            return Mark("wait", f"{answer['current']:.2g}, the supply's limit")
        return answer["current"]

    return matrix(
        Axis("Area of the piece", "cm^2", (10, 25, 50, 100, 250, 500, 1000)),
        Axis("Current density", "mA/cm^2", (0.05, 0.2, 0.5, 1, 5)),
        "A",
        cell,
        digits=2,
    )


@table(
    "wire-drops",
    title="Voltage lost in one lead, by diameter and metal",
    question="Is this wire thick enough?",
    notes=("Another lead loses as much again. Copper stays above the liquid.",),
)
def wire_drops_table(bench):
    """Drop in one lead by diameter, metal and current."""
    length = bench.value("electrolysis.lead")
    limit = bench.value("electrolysis.drop_limit")
    currents = (0.1, 1.0, bench.value("electrolysis.supply_limit"))
    columns = [Column("Diameter", "mm", 0)]
    columns += [
        Column(f"{quantities.show(current, 'A', 0)}", "V", 2, group=material)
        for material in ("copper", "iron")
        for current in currents
    ]
    rows = []
    for diameter in (0.3, 0.5, 0.8, 1.0, 1.5, 2.0, 3.0):
        row: list = [diameter]
        for material in ("copper", "iron"):
            for current in currents:
                try:
                    drop = bench(
                        "wire-drop", current=current, length=length, diameter=diameter,
                        material=material,
                    )  # fmt: skip
                except Refusal as refusal:
                    row.append(Refused(refusal.message, "too thin"))
                    continue
                row.append(drop if drop <= limit else Mark("wait", f"{drop:.2g}, much"))
        rows.append(row)
    note = f"Lead of {length:g} cm; a drop above {limit:g} V is marked."
    return Sheet(columns, rows, (note,))


@table(
    "gas-rates",
    title="Gas made and water split, by current",
    question="How much gas, and how much water do I top up?",
    notes=("Hydrogen burns in air from 4 %: tub open, room aired, no flame, no spark.",),
)
def gas_rates_table(bench):
    """Gas and water by current."""
    rows = []
    for current in (0.005, 0.02, 0.1, 0.5, 1.0, 2.0, 5.0, 10.0):
        rows.append(
            [
                current,
                bench("hydrogen-rate", current=current),
                bench("oxygen-rate", current=current),
                bench("water-consumed", current=current, time=24.0),
            ]
        )
    return Sheet(
        [
            Column("Current", "A", 0),
            Column("Hydrogen", "L/h"),
            Column("Oxygen", "L/h"),
            Column("Water in a day", "g"),
        ],
        rows,
    )


@table(
    "bath-materials",
    title="What may go into the bath, and what never",
    question="May I use this?",
)
def bath_materials_table(bench):
    """Every judged pair of material and role."""
    rows = []
    for entry in data.rows("bath_materials"):
        answer = bench.answer("bath-material", material=entry["material"], role=entry["role"])
        use = answer.results["verdict"] == "use"
        rows.append(
            [entry["material"], entry["role"], Mark("go" if use else "stop", "use" if use else "never"),
             answer.show("reasons")]
        )  # fmt: skip
    return Sheet([Column("Material"), Column("As"), Column("Verdict"), Column("Why")], rows)
