"""Specimen: density, volume, area, condition, cutting and structure of one piece."""

from dataclasses import replace
from math import pi, sqrt

from handbook_calc.engine.calculation import (
    Label,
    Listing,
    Number,
    Reasons,
    Verdict,
    because,
    calculation,
    refuse,
)
from handbook_calc.engine.data import column, numbers, rows
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import MEASURED, Choice, Count, Quantity, Words, YesNo
from handbook_calc.engine.house import section
from handbook_calc.engine.rules import below
from handbook_calc.engine.tables import Axis, Column, Mark, Refused, Sheet, matrix, table

KINDS = ("iron", "pallasite", "mesosiderite")

section(
    "specimen",
    Quantity("liquid_density", "density of the weighing liquid", unit="g/cm^3", low=0.6, high=1.3),
    Quantity("pallasite_density", "density of a sound pallasite", unit="g/cm^3", low=3, high=7),
    Quantity("mesosiderite_density", "density of a sound mesosiderite", unit="g/cm^3", low=3, high=7),
    Quantity("aspect", "length over width of a slice of which only the mass is known", low=1, high=10),
    Quantity("roughness", "true surface of a rough mass over that of a smooth ellipsoid", low=1, high=3),
    Quantity("slab_fill", "solid share of the box from which a piece counts as a slab", low=0.5, high=0.99),
    Quantity("outline", "share of its rectangle that the face of a slice fills", low=0.5, high=1),
    Quantity("mass_fill", "solid share of the box of a whole mass or an end piece", low=0.2, high=0.8),
    Quantity("crack_gap", "width of a crack at the surface", unit="mm", low=0.005, high=2),
    Quantity("crack_count", "cracks like the longest one, where nobody has counted them", low=1, high=50),
    Quantity("low_fill", "solid share of the box below which the entry is questioned", low=0.05, high=0.6),
    Quantity("few_spots", "rusted share from which dry spots are grade G2", unit="%", low=0.1, high=5),
    Quantity("wide_rust", "rusted share above which a piece is grade G3", unit="%", low=2, high=50),
    Quantity("fast_return", "rust back within this time makes grade G3", unit="d", low=14, high=365),
    Quantity("long_crack", "crack that, with rust, makes grade G3", unit="mm", low=1, high=200),
    Quantity("watch", "watch before a step that cannot be undone", unit="d", low=14, high=365),
    Quantity("lukewarm", "warmest water for stony-irons and glued pieces", unit="degC", low=20, high=40),
    Quantity("two_people", "mass from which two people lift", unit="kg", low=5, high=25),
    Quantity("card_margin", "difference between card and balance that is traced", unit="%", low=0.01, high=1),
    Quantity("kerf", "width of the saw cut", unit="mm", low=0.1, high=5),
    Quantity(
        "cut_loss_limit", "share lost to the saw that needs the owner's consent", unit="%", low=1, high=60
    ),
)


STONE = "silicate in the metal makes a stony-iron lighter than the metal alone"
below("specimen.pallasite_density", "abrasives.density", because=STONE)
below("specimen.mesosiderite_density", "abrasives.density", because=STONE)
below("specimen.low_fill", "specimen.slab_fill", because="the two part the box into low, rounded and slab")
below("specimen.few_spots", "specimen.wide_rust", because="grade G2 would never be given")


ANY_SOLID = "the formula holds for any solid, from pumice to the heaviest metal"
MASS = Quantity("mass", "mass of the dry piece", unit="g", low=0.01, high=100_000, example="{piece.mass}")
DENSITY = from_house("abrasives.density", about="density of the metal", low=1, high=25, because=ANY_SOLID)


def _side(name, about):
    return Quantity(name, about, unit="mm", low=0.1, high=2000, example=f"{{piece.{name}}}")


SIDES = (
    _side("length", "greatest length, in callipers"),
    _side("width", "greatest width, square to the length"),
    _side("thickness", "greatest thickness, square to both"),
)


@calculation(
    "bulk-density",
    title="Bulk density from two weighings",
    inputs=(
        Quantity(
            "mass", "mass in air", unit="g", low=0.01, high=100_000, example="186.00 g", of_piece=MEASURED
        ),
        Quantity(
            "submerged_mass",
            "reading with the piece hanging under the liquid, thread tared",
            unit="g",
            low=0,
            high=100_000,
            example="162.43 g",
            of_piece=MEASURED,
        ),
        from_house(
            "specimen.liquid_density",
            about="density of the liquid at its own temperature",
            high=3.5,
            because="from light petrol to the heavy liquids of mineralogy",
        ),
        Quantity(
            "air_density",
            "density of the air, 1.2 in a room; left out, its lift is not counted",
            unit="kg/m^3",
            low=0.6,
            high=1.5,
            optional=True,
        ),
    ),
    results=Number("density", "g/cm^3", "bulk density, with the cracks that the liquid did not enter", 4),
    assumes=(
        "the piece hangs free, without bubbles, and is weighed before the liquid soaks into cracks",
        "where the lift of the air is left out, the density of iron comes out 0.008 g/cm³ too high",
        "a low density points to rust, cracks or inclusions and does not tell a class",
    ),
    sources=("archimedes",),
    refusals={
        "not-lighter": "{submerged_mass} under the liquid is not less than {mass} in air, and a liquid "
        "always carries part of the weight: check whether the two readings are swapped, and tare the "
        "thread under the liquid",
        "too-dense": "these readings give {0 g/cm^3}, more than any metal has: the reading under the "
        "liquid is too high; see that the piece does not touch the wall or the bottom",
    },
)
def bulk_density(mass, submerged_mass, liquid_density, air_density):
    """The loss of weight is the weight of the liquid that the piece pushes aside, less that of the air."""
    displaced = mass - submerged_mass
    if displaced <= 0:
        refuse("not-lighter")
    air = 0 if air_density is None else air_density / 1000
    density = air + mass / displaced * (liquid_density - air)
    # Osmium, the densest metal, has 22.6 g/cm^3.
    if density > 22.6:
        refuse("too-dense", density)
    return density


@calculation(
    "piece-volume",
    title="Volume of solid in a piece",
    inputs=(MASS, DENSITY),
    results=Number("volume", "cm^3", "volume of the solid"),
    assumes=("the piece has the density given all through",),
    sources=("solid-geometry",),
)
def piece_volume(mass, density):
    """Mass over density."""
    return mass / density


@calculation(
    "slab-area",
    title="Surface of a slab",
    inputs=SIDES,
    results=Number("area", "cm^2", "surface of both faces and of the edge all round"),
    assumes=("the outline is a rectangle; a rounded outline has less", "cracks are not counted"),
    sources=("solid-geometry",),
)
def slab_area(length, width, thickness):
    """Two faces and four sides."""
    faces = 2 * length * width
    edge = 2 * (length + width) * thickness
    return (faces + edge) / 100


@calculation(
    "ellipsoid-area",
    title="Surface of a whole mass, taken as an ellipsoid",
    inputs=SIDES,
    results=Number("area", "cm^2", "surface of the smooth ellipsoid"),
    assumes=(
        "length, width and thickness are full axes, as callipers read them, not half axes",
        "the approximate formula is within 1.061 % of the exact surface for every shape",
        "a rough surface has more: multiply by the house's roughness",
    ),
    sources=("thomsen-2004",),
)
def ellipsoid_area(length, width, thickness):
    """Thomsen's mean of the three products of half axes, with the power 1.6075."""
    power = 1.6075
    a = length / 20
    b = width / 20
    c = thickness / 20
    mean = ((a * b) ** power + (a * c) ** power + (b * c) ** power) / 3
    return 4 * pi * mean ** (1 / power)


@calculation(
    "area-from-mass",
    title="Surface of a slice from its mass and thickness",
    inputs=(
        MASS,
        Quantity(
            "thickness",
            "thickness, the same all over",
            unit="mm",
            low=0.3,
            high=300,
            example="{piece.thickness}",
        ),
        from_house(
            "specimen.aspect",
            about="length over width of the outline",
            high=20,
            because="a bar is longer for its width than any slice",
        ),
        DENSITY,
    ),
    results=Number(
        "area",
        "cm^2",
        "surface of both faces and of the edge all round",
        most=240_000,
        because="a slice of that size is thinner than its own weight allows",
    ),
    assumes=("the outline is a rectangle", "the thickness is even; take the mean of five readings"),
    sources=("solid-geometry",),
    refusals={
        "not-a-slice": "{mass} at {thickness} would be only {0 mm} wide, less than it is thick: this is "
        "no slice; measure three sides and use the surface of a slab or of an ellipsoid",
    },
)
def area_from_mass(mass, thickness, aspect, density):
    """The face follows from mass, density and thickness, the edge from the outline."""
    face = mass / density / (thickness / 10)
    width = sqrt(face / aspect)
    length = aspect * width
    if width < thickness / 10:
        refuse("not-a-slice", width * 10)
    return 2 * face + 2 * (length + width) * thickness / 10


@calculation(
    "mass-change",
    title="Change of mass",
    inputs=(
        Quantity(
            "before", "mass before", unit="g", low=0.001, high=100_000, example="186.41 g", of_piece=MEASURED
        ),
        Quantity("after", "mass after", unit="g", low=0, high=100_000, example="186.02 g", of_piece=MEASURED),
    ),
    results=Number(
        "change",
        "%",
        "change in per cent of the mass before; minus is a loss",
        most=100,
        because="iron that rusts through gains nine tenths of its mass at most",
    ),
    assumes=(
        "both weighings are of the dry piece on the same balance",
        "a change smaller than two divisions of the balance is no change",
    ),
    sources=("solid-geometry",),
)
def mass_change(before, after):
    """Difference over the mass before."""
    return (after - before) / before * 100


# What each slip of units does to the filled share of the box, and how it is told.
OVER_FACTORS = [
    175 / 192,
    0.45359237,
    1 / 10,
    1 / 25.4,
    1 / 28.349523125,
    1 / 1000,
    1 / 645.16,
    1 / 16387.064,
]
OVER_TEXTS = [
    "avoirdupois ounces were read as troy ounces",
    "pounds were written as kilograms",
    "one side in centimetres was written as millimetres",
    "one side in inches was written as millimetres",
    "grams were written as ounces",
    "the three sides in centimetres were written as millimetres",
    "two sides in inches were written as millimetres",
    "the three sides in inches were written as millimetres",
]
LOW_FACTORS = [2.2046226218487757, 10, 16, 25.4, 28.349523125, 31.1034768, 645.16, 1000, 16387.064]
LOW_TEXTS = [
    "kilograms were written as pounds",
    "one side in millimetres was written as centimetres",
    "pounds were written as ounces",
    "one side in millimetres was written as inches",
    "avoirdupois ounces were written as grams",
    "troy ounces were written as grams",
    "two sides in millimetres were written as inches",
    "the three sides in millimetres were written as centimetres, or kilograms as grams",
    "the three sides in millimetres were written as inches",
]
WRONG_KIND_TEXT = "; or the kind is wrong, for as an iron it would fit"
# Where the pound stands in the two lists.
POUND_OVER = 1
POUND_LOW = 0
# Below this mass nobody weighs in pounds or kilograms.
LEAST_POUND_MASS = 400
# Callipers and density are not good to a thousandth: a share of 1 must not fail on its last digit.
FULL = 1 + 1e-9


def _kind_density(kind, key):
    about = f"density of a sound {kind}"
    return from_house(key, name=f"{kind}_density", about=about, low=1, high=25, because=ANY_SOLID)


@calculation(
    "fill-factor",
    title="Share of its box that a piece fills",
    inputs=(
        MASS,
        *SIDES,
        Choice("kind", "kind of piece", options=KINDS, kind="kind of piece", hints=False, example="iron"),
        _kind_density("iron", "abrasives.density"),
        _kind_density("pallasite", "specimen.pallasite_density"),
        _kind_density("mesosiderite", "specimen.mesosiderite_density"),
        from_house("specimen.slab_fill", name="slab_from"),
        from_house("specimen.low_fill", name="low_below"),
    ),
    results=(
        Number("solid_share", "1", "solid share of the bounding box"),
        Verdict(
            "verdict",
            "what the share says",
            stops=(),
            words={
                "slab": "The piece fills {solid_share} of its box, as a slice or a cut block does.",
                "rounded": "The piece fills {solid_share} of its box, as a whole mass or an end piece does; "
                "an ellipsoid fills 0.52. For a flat slice this is little: look at the outline again.",
                "low": "The piece fills only {solid_share} of its box. Check the units, the three sides "
                "and the kind before anything is computed from them.",
            },
        ),
        Reasons(
            "reasons",
            "slips of units that would explain a low share",
            {
                "slip": "If {0}, the share would be {1}.",
            },
        ),
    ),
    assumes=(
        "the sides are the greatest length, width and thickness, each square to the others",
        "the share is found with the density of a sound piece; rust and cracks lower it",
    ),
    sources=("solid-geometry", "nist-44", "fill-practice"),
    refusals={
        "unit-mix-up": "{mass} of {kind} is {0} times what fits into {length} x {width} x {thickness}. "
        "Likely mix-up of units: {1}. Weigh and measure again and write the unit of each figure, and which "
        "ounce; plan nothing before it fits",
        "wrong-kind": "{mass} of {kind} is {0} times what fits into {length} x {width} x {thickness}; as "
        "an iron it would fill {1} of it. Check the kind, and weigh and measure again; no plain mix-up of "
        "units explains it",
        "over-full": "{mass} of {kind} is {0} times what fits into {length} x {width} x {thickness}. No "
        "plain mix-up of ounce, inch, pound or centimetre explains it: with avoirdupois for troy ounces it "
        "would still be {1} times. The thickness would have to be at least {2 mm up}. Weigh and measure "
        "again; plan nothing before it fits",
    },
)
def fill_factor(
    mass,
    length,
    width,
    thickness,
    kind,
    iron_density,
    pallasite_density,
    mesosiderite_density,
    slab_from,
    low_below,
):
    """Volume of the solid over volume of the box; above one, say which slip would explain it."""
    if kind == "pallasite":
        density = pallasite_density
    elif kind == "mesosiderite":
        density = mesosiderite_density
    else:
        density = iron_density
    box = length * width * thickness / 1000
    solid_share = mass / density / box
    if solid_share > FULL:
        found = ""
        for i in range(len(OVER_FACTORS)):
            after = solid_share * OVER_FACTORS[i]
            in_pounds = i == POUND_OVER and mass < LEAST_POUND_MASS
            if after >= low_below and after <= FULL and not in_pounds:
                if found != "":
                    found = found + "; or "
                found = found + OVER_TEXTS[i]
        as_iron = solid_share * density / iron_density
        fits_iron = kind != "iron" and as_iron <= FULL
        if found != "":
            if fits_iron:
                found = found + WRONG_KIND_TEXT
            refuse("unit-mix-up", solid_share, found)
        if fits_iron:
            refuse("wrong-kind", solid_share, as_iron)
        refuse("over-full", solid_share, solid_share * OVER_FACTORS[0], thickness * solid_share)
    reasons = []
    if solid_share >= slab_from:
        verdict = "slab"
    elif solid_share >= low_below:
        verdict = "rounded"
    else:
        verdict = "low"
        for i in range(len(LOW_FACTORS)):
            after = solid_share * LOW_FACTORS[i]
            in_pounds = i == POUND_LOW and mass < LEAST_POUND_MASS
            if after >= low_below and after <= FULL and not in_pounds:
                reasons.append(because("slip", LOW_TEXTS[i], after))
    return {"solid_share": solid_share, "verdict": verdict, "reasons": reasons}


GRADES = ["G0", "G1", "G2", "G3", "G4", "G5"]
YEAR = 365

DRY_STORAGE = "dry storage and watching"
DRY_YES = "dry air is the lasting defence of every piece, treated or not"
DRY_WAIT = "the only safe waiting place until treatment starts; it does not end the corrosion under way"
LOCAL = "local dry cleaning"
LOCAL_YES = "loose rust may be lifted spot by spot; stop where bright metal shows"
LOCAL_NONE = "there is nothing to clean, and a stable skin is left alone"
LOCAL_WET = "brushing spreads the salt of wet beads over clean metal; soak first"
LOCAL_LOOSE = "brushing lifts flakes that belong to the piece; support or net them first"
SOAK = "alkaline soak"
SOAK_YES = "rust that returns or spreads points to chloride; the soak lowers it, and never to nothing"
SOAK_NET = "only with loose parts netted or supported, every flake kept with the piece"
SOAK_NO = "a stable piece is not put into a bath; watch it for a month in dry air first"
CURRENT = "electrolysis at low current"
CURRENT_YES = "for whole irons with sound contact; pallasites and mesosiderites are soaked without current"
CURRENT_LOOSE = "gas under loose flakes pushes them off; soak without current, loose parts netted"
CURRENT_NO = "there is no chloride work to do that would pay for the risk"
STONY_CURRENT = "current through a stony-iron"
STONY_CURRENT_NO = "poor contacts corrode beside the silicate, and crystals rise; soak without current"
COATING = "clear coating"
COATING_YES = "after constant mass and the watch in dry air; the reversible coating first"
COATING_NO = "a coating over live rust seals the salt in and hides its work"
ETCH = "etching a face"
ETCH_YES = "on a dry, sound face, with the owner's written consent"
ETCH_NO = "acid runs into cracks and under rust and starts new corrosion; end the chloride work first"
ETCH_CRACK = "etching with ferric chloride"
ETCH_CRACK_NO = "it leaves chloride in the crack, which no rinse reaches for certain"
RESIN = "resin into cracks or under flakes"
RESIN_NO = "resin closes the way out for salt; it may follow on a dry piece, after the chloride work"
SALE = "sale or loan"
SALE_YES = "with the record and a condition report; lasting stability is never promised"
SALE_NO = "not before a month's watch in dry air shows no change"


def _route(allowed, blocked, open_way, route, why_open, why_blocked):
    """Enter a route on the one list or the other."""
    if open_way:
        allowed.append([route, why_open])
    else:
        blocked.append([route, why_blocked])


def _enter_routes(allowed, blocked, level, flaking, beads, crack_length):
    """Enter every route that a grade opens or blocks."""
    allowed.append([DRY_STORAGE, DRY_YES if level < 4 else DRY_WAIT])
    why_not = LOCAL_NONE
    if flaking:
        why_not = LOCAL_LOOSE
    elif beads:
        why_not = LOCAL_WET
    _route(allowed, blocked, level >= 1 and level <= 3, LOCAL, LOCAL_YES, why_not)
    _route(allowed, blocked, level >= 3, SOAK, SOAK_NET if flaking else SOAK_YES, SOAK_NO)
    why_not = CURRENT_LOOSE if flaking else CURRENT_NO
    _route(allowed, blocked, level == 3 or level == 4, CURRENT, CURRENT_YES, why_not)
    # The grade does not ask for the kind, so an open current is closed again for stony-irons.
    if level == 3 or level == 4:
        blocked.append([STONY_CURRENT, STONY_CURRENT_NO])
    _route(allowed, blocked, level <= 2, COATING, COATING_YES, COATING_NO)
    _route(allowed, blocked, level <= 2, ETCH, ETCH_YES, ETCH_NO)
    if crack_length > 0:
        blocked.append([ETCH_CRACK, ETCH_CRACK_NO])
    if level >= 3:
        blocked.append([RESIN, RESIN_NO])
    _route(allowed, blocked, level <= 1, SALE, SALE_YES, SALE_NO)


@calculation(
    "condition-grade",
    title="Condition grade, and what may be done to the piece",
    inputs=(
        Quantity(
            "rusted_share", "share of the surface with fresh rust", unit="%", low=0, high=100, example="3 %"
        ),
        YesNo("beads", "wet beads or blisters, now or within the watch", example="no"),
        YesNo("flaking", "flakes coming off, or parts that move", example="no"),
        Quantity(
            "crack_length",
            "length of the longest open crack on the surface",
            unit="mm",
            low=0,
            high=2000,
            example="5 mm",
        ),
        Quantity(
            "return_days",
            "time after which rust came back on a cleaned place; none where it has not",
            unit="d",
            low=0,
            high=36_500,
            optional=True,
        ),
        from_house("specimen.few_spots"),
        from_house("specimen.wide_rust"),
        from_house("specimen.fast_return"),
        from_house("specimen.long_crack"),
    ),
    results=(
        Verdict(
            "grade",
            "condition grade",
            stops=(),
            words={
                "G0": "No rust seen and no change within a year.",
                "G1": "A few dry spots, slow or old.",
                "G2": "Dry spots over more of the surface.",
                "G3": "Widespread or returning rust. Chloride is likely.",
                "G4": "Weeping beads or blisters. Chloride is certain enough to treat.",
                "G5": "Flaking or moving parts. Support comes before every treatment.",
            },
        ),
        Reasons(
            "reasons",
            "what made the grade",
            {
                "clean": "No sign of corrosion was entered.",
                "spots": "{rusted_share} of the surface is rusted, below {few_spots}.",
                "more-spots": "{rusted_share} of the surface is rusted, {few_spots} or more.",
                "wide": "{rusted_share} of the surface is rusted, above {wide_rust}.",
                "returned": "Rust came back after {return_days}, within {fast_return}.",
                "returned-slowly": "Rust came back after {return_days}, within a year.",
                "returned-late": "Rust came back only after {return_days}, more than a year: by itself "
                "it makes no grade; look at the climate it stood in.",
                "crack": "A crack of {crack_length} with rust holds salt that no local cleaning reaches.",
                "beads": "Any wet bead makes at least G4: it is chloride at work.",
                "flaking": "Flakes or moving parts make G5.",
            },
        ),
        Listing(
            "allowed_routes",
            "what may be done, and why",
            (Words("route", "treatment or use"), Words("reason", "why")),
        ),
        Listing(
            "blocked_routes",
            "what is blocked, and why",
            (Words("route", "treatment or use"), Words("reason", "why")),
        ),
    ),
    assumes=(
        "the grade is a habit of the bench: it says how to proceed, not how much salt is inside",
        "the piece was looked at under a loupe and its room climate was noted with the grade",
        "a piece of scientific interest is left alone until someone competent has decided",
    ),
    sources=("condition-practice", "watkinson-2019"),
)
def condition_grade(
    rusted_share, beads, flaking, crack_length, return_days, few_spots, wide_rust, fast_return, long_crack
):
    """The worst sign makes the grade; the grade opens and blocks the routes."""
    level = 0
    reasons = []
    if rusted_share > wide_rust:
        level = 3
        reasons.append(because("wide"))
    elif rusted_share >= few_spots:
        level = 2
        reasons.append(because("more-spots"))
    elif rusted_share > 0:
        level = 1
        reasons.append(because("spots"))
    if return_days is not None:
        if return_days <= fast_return:
            level = max(level, 3)
            reasons.append(because("returned"))
        elif return_days <= YEAR:
            level = max(level, 1)
            reasons.append(because("returned-slowly"))
        else:
            reasons.append(because("returned-late"))
    if rusted_share > 0 and crack_length >= long_crack:
        level = max(level, 3)
        reasons.append(because("crack"))
    if beads:
        level = max(level, 4)
        reasons.append(because("beads"))
    if flaking:
        level = 5
        reasons.append(because("flaking"))
    if len(reasons) == 0:
        reasons.append(because("clean"))

    allowed = []
    blocked = []
    _enter_routes(allowed, blocked, level, flaking, beads, crack_length)
    return {
        "grade": GRADES[level],
        "reasons": reasons,
        "allowed_routes": allowed,
        "blocked_routes": blocked,
    }


CONSENT_WORDS = {
    "go": "The loss is within what the house allows without asking.",
    "ask": "The loss is above the house's share: the owner's written consent comes first.",
}


@calculation(
    "cut-yield",
    title="Metal lost to the saw",
    inputs=(
        replace(MASS, example="2.4 kg", of_piece="piece.mass"),
        Quantity(
            "face_area",
            "area of one cut, mean of all cuts",
            unit="cm^2",
            low=0.1,
            high=20_000,
            example="60 cm^2",
            of_piece=MEASURED,
        ),
        from_house(
            "specimen.kerf",
            about="width of the cut, gauged on a scrap",
            low=0.05,
            high=10,
            because="from a fine wire to the widest blade",
        ),
        Count(
            "slices",
            "parts made, end pieces counted",
            low=1,
            high=200,
            why="one cut makes two parts, or takes one slice off the mass",
            example="6",
        ),
        DENSITY,
        from_house("abrasives.thin_limit", about="least thickness of a slice"),
        from_house("specimen.cut_loss_limit", name="loss_limit"),
    ),
    results=(
        Number("loss", "g", "metal turned to swarf"),
        Number("loss_share", "%", "loss as a share of the mass"),
        Number("mass_a_slice", "g", "mean mass of a slice, end pieces counted as slices"),
        Number(
            "thickness_a_slice",
            "mm",
            "mean thickness of a slice",
            most=1_000,
            because="no slice here is a metre thick; the face is larger than that, or the mass smaller",
        ),
        Verdict(
            "verdict",
            "what the loss asks for",
            stops=(),
            words=CONSENT_WORDS
            | {
                "thin": "The slices would be thinner on average than {thin_limit}, the least for hand work: "
                "make fewer, or cut with a narrower kerf.",
            },
        ),
    ),
    assumes=(
        "a mass sawn into so many parts takes one cut fewer; one slice taken off it takes one cut",
        "every cut has the mean area, and all of the kerf is lost",
        "flattening and sanding take more: see those losses",
    ),
    sources=("solid-geometry", "kerf-count"),
    refusals={
        "nothing-left": "the cuts alone would take {0 g}, and the piece has {mass}: make fewer slices, use "
        "a narrower blade, and check the area of the cut",
    },
)
def cut_yield(mass, face_area, kerf, slices, density, thin_limit, loss_limit):
    """Each cut turns a sheet as thick as the kerf into swarf."""
    cuts = max(slices - 1, 1)
    loss = cuts * face_area * kerf / 10 * density
    if loss >= mass:
        refuse("nothing-left", loss)
    loss_share = loss / mass * 100
    mass_a_slice = (mass - loss) / slices
    thickness_a_slice = mass_a_slice / density / face_area * 10
    verdict = "go"
    if thickness_a_slice < thin_limit:
        verdict = "thin"
    elif loss_share > loss_limit:
        verdict = "ask"
    return {
        "loss": loss,
        "loss_share": loss_share,
        "mass_a_slice": mass_a_slice,
        "thickness_a_slice": thickness_a_slice,
        "verdict": verdict,
    }


@calculation(
    "flatten-loss",
    title="Metal lost to flattening a bowed or wedged slice",
    inputs=(
        Quantity(
            "area", "area of one face", unit="cm^2", low=0.1, high=5000, example="41 cm^2", of_piece=MEASURED
        ),
        Quantity(
            "warp",
            "bow or wedge: largest gap under the face on glass, or difference of thickness",
            unit="mm",
            low=0,
            high=20,
            example="0.4 mm",
        ),
        Quantity("thickness", "thickness before", unit="mm", low=0.3, high=300, example="6 mm"),
        Count("faces", "faces to be flattened", low=1, high=2, example="2"),
        from_house("abrasives.thin_limit", name="limit", about="least thickness to leave"),
        DENSITY,
        from_house(
            "abrasives.loss_limit",
            high=60,
            because="an owner may allow more than a house takes without asking",
        ),
    ),
    results=(
        Number("mass", "g", "metal lost"),
        Number("share", "%", "loss as a share of the slice"),
        Number("thickness_left", "mm", "thickness left at the thinnest place"),
        Verdict("verdict", "what the loss asks for", stops=(), words=CONSENT_WORDS),
    ),
    assumes=(
        "a face loses half the warp on average, and all of it at its highest place",
        "flattening both faces of an even, bowed slice loses the whole warp over the whole face",
    ),
    sources=("solid-geometry",),
    refusals={
        "below-limit": "flattening {warp} out of {thickness} would leave {0 mm}, below the limit of {limit}: "
        "do not flatten; hold the slice by hand on a soft pad for sanding and record the bow",
    },
)
def flatten_loss(area, warp, thickness, faces, limit, density, loss_limit):
    """Half the warp over the face for each face; the thinnest place loses all of it."""
    thickness_left = thickness - warp
    # 1e-9: a limit met exactly must not be refused on the last digit.
    if thickness_left < limit - 1e-9:
        refuse("below-limit", thickness_left)
    mean_depth = faces * warp / 2
    mass = area * mean_depth / 10 * density
    share = mean_depth / thickness * 100
    verdict = "ask" if share > loss_limit else "go"
    return {"mass": mass, "share": share, "thickness_left": thickness_left, "verdict": verdict}


CLASS_FROM = numbers("structural_classes", "from")
CLASS_NAMES = [
    f"{symbol}, {name}"
    for symbol, name in zip(
        column("structural_classes", "symbol"), column("structural_classes", "name"), strict=True
    )
]


@calculation(
    "structural-class",
    title="Structural class from the bandwidth",
    inputs=(
        Quantity(
            "bandwidth",
            "true width of the kamacite bands, mean of at least ten",
            unit="mm",
            low=0.02,
            high=500,
            why="narrower kamacite is spindles or none: a plessitic octahedrite or an ataxite, "
            "which a width cannot part",
            example="0.9 mm",
        ),
    ),
    results=Label("class", "symbol and name of the class"),
    assumes=(
        "the width is the true one, from mid-face, away from inclusions; a slanting cut shows it too wide",
        "a width that meets a limit belongs to the coarser class; the sources do not say, so the house does",
        "older texts part coarse from medium at 1.5 mm instead of 1.3 mm",
        "crystals of 50 mm and more have no pattern of bands and count as hexahedrite",
    ),
    sources=("buchwald-1975", "hexahedrite-entry"),
)
def structural_class(bandwidth):
    """The last class whose lower limit the width reaches."""
    found = CLASS_NAMES[0]
    for i in range(len(CLASS_FROM)):
        # 1e-12: an inch or a micrometre converted to the limit itself must reach it.
        if bandwidth >= CLASS_FROM[i] - 1e-12:
            found = CLASS_NAMES[i]
    return found


def sine(degrees):
    """Return the sine of 0 to 90 degrees by its power series, exact to the last digit or two."""
    x = degrees / 180 * pi
    term = x
    total = x
    for n in range(1, 13):
        term = -term * x * x / ((2 * n) * (2 * n + 1))
        total = total + term
    return total


@calculation(
    "true-bandwidth",
    title="True bandwidth from one set of bands and its angle",
    inputs=(
        Quantity(
            "apparent_bandwidth",
            "width measured on the cut face",
            unit="mm",
            low=0.005,
            high=1000,
            example="1.4 mm",
            of_piece=MEASURED,
        ),
        Quantity(
            "angle",
            "angle between the cut face and the plates of this set",
            unit="deg",
            low=5,
            high=90,
            why="a plate cut at a grazing angle has no width that can be read",
            example="40 deg",
            of_piece=MEASURED,
        ),
    ),
    results=Number("bandwidth", "mm", "true width, square to the plates"),
    assumes=("the plates are flat and even", "widths are measured square to the bands"),
    sources=("solid-geometry", "outcrop-thickness"),
)
def true_bandwidth(apparent_bandwidth, angle):
    """The cut stretches a plate by one over the sine of the angle."""
    return apparent_bandwidth * sine(angle)


# Bands of one piece scatter by a fifth; beyond that the widths contradict the geometry.
WIDTH_SCATTER = 1.2
# With one set in the face the three others are cut alike; a set 25 degrees off would already show.
MOST_UNLIKE = 1.5


def _width(name, example):
    about = "width of the bands on the cut face, mean of at least ten"
    return Quantity(name, about, unit="mm", low=0.005, high=1000, example=example, of_piece=MEASURED)


@calculation(
    "true-bandwidth-four",
    title="True bandwidth from the four sets of bands",
    inputs=(
        _width("first", "1.10 mm"),
        _width("second", "1.35 mm"),
        _width("third", "1.02 mm"),
        Quantity(
            "fourth",
            "width of the fourth set; left out where its plates lie in the face",
            unit="mm",
            low=0.005,
            high=1000,
            optional=True,
            example="1.60 mm",
            of_piece=MEASURED,
        ),
    ),
    results=Number("bandwidth", "mm", "true width, square to the plates"),
    assumes=(
        "derived here, not taken from a printed source: the squared sines of the angles between any cut and "
        "the four octahedral planes sum to 8/3",
        "all four sets are equally thick and lie on octahedral planes; real plates lie a few degrees off",
        "where two sets share one direction on the face, enter their width twice",
    ),
    sources=("four-sets",),
    refusals={
        "fourth-missing": "with the fourth set lying in the face the other three are cut alike, and {0 mm} "
        "and {1 mm} are not: look for the fourth set, or for two sets that share a direction and count twice",
        "unlike-sets": "four sets of equal plates cannot show these widths: the true width would be {0 mm}, "
        "wider than the narrowest set at {1 mm}; measure again away from inclusions, ten bands a set",
    },
)
def true_bandwidth_four(first, second, third, fourth):
    """Root of 8 over 3 times the sum of one over the squared widths; no term for a set in the face."""
    narrowest = min(first, second, third)
    widest = max(first, second, third)
    total = 1 / first**2 + 1 / second**2 + 1 / third**2
    if fourth is None:
        if widest > MOST_UNLIKE * narrowest:
            refuse("fourth-missing", widest, narrowest)
    else:
        narrowest = min(narrowest, fourth)
        total = total + 1 / fourth**2
    bandwidth = sqrt(8 / (3 * total))
    if bandwidth > WIDTH_SCATTER * narrowest:
        refuse("unlike-sets", bandwidth, narrowest)
    return bandwidth


@table(
    "densities",
    title="Densities of kinds, alloys and minerals",
    question="Which density do I expect?",
    notes=("Classes overlap: a low density is a sign of rust, cracks or inclusions, never a class.",),
    sources=tuple(dict.fromkeys(row["source"] for row in rows("densities"))),
)
def densities_table(bench):
    """Kinds of the house first, then what is published."""
    house_keys = (
        ("iron", "abrasives.density"),
        ("pallasite", "specimen.pallasite_density"),
        ("mesosiderite", "specimen.mesosiderite_density"),
    )
    lines = [[f"house: {kind}", bench.value(key), None, "used by this bench"] for kind, key in house_keys]
    lines += [
        [row["material"], float(row["low"]), float(row["high"]), row["tells"]] for row in rows("densities")
    ]
    return Sheet(
        [Column("Material"), Column("From", "g/cm^3", 4), Column("To", "g/cm^3", 4), Column("Says")], lines
    )


@table(
    "slab-areas",
    title="Surface of a slab of the reference piece's thickness",
    question="How much surface has my slice?",
    notes=("Both faces and the edge; a rounded outline has less, open cracks add to it.",),
)
def slab_areas_table(bench):
    """Length against width."""
    thickness = bench.value("piece.thickness")
    return matrix(
        Axis("Length", "mm", (30.0, 40.0, 60.0, 80.0, 100.0, 120.0, 150.0)),
        Axis("Width", "mm", (20.0, 30.0, 40.0, 60.0, 80.0, 100.0)),
        "cm^2",
        lambda length, width: bench("slab-area", length=length, width=width, thickness=thickness),
    )


@table(
    "mass-areas",
    title="Surface of a slice from its mass and thickness",
    question="How much surface, when I only know the mass?",
)
def mass_areas_table(bench):
    """Mass against thickness."""
    return matrix(
        Axis("Mass", "g", (10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0)),
        Axis("Thickness", "mm", (2.0, 3.0, 4.0, 6.0, 8.0, 12.0)),
        "cm^2",
        lambda mass, thickness: bench("area-from-mass", mass=mass, thickness=thickness),
    )


@table(
    "whole-mass-areas",
    title="Surface of a whole mass, smooth and with the house's roughness",
    question="How much surface has an uncut mass?",
    notes=("Length, width and thickness are full axes, as callipers read them.",),
)
def whole_mass_areas_table(bench):
    """Usual sizes of uncut masses."""
    roughness = bench.value("specimen.roughness")
    lines = []
    for sides in ((30, 20, 15), (40, 30, 20), (60, 40, 25), (80, 60, 40), (95, 80, 70), (120, 90, 60),
                  (150, 120, 75), (240, 180, 130)):  # fmt: skip
        length, width, thickness = map(float, sides)
        smooth = bench("ellipsoid-area", length=length, width=width, thickness=thickness)
        lines.append([length, width, thickness, smooth, smooth * roughness])
    return Sheet(
        [
            Column("Length", "mm", 0), Column("Width", "mm", 0), Column("Thickness", "mm", 0),
            Column("Smooth ellipsoid", "cm^2"), Column("Rough mass", "cm^2"),
        ],
        lines,
    )  # fmt: skip


@table(
    "fill-factors",
    title="Share of the box filled, for a slice of 90 x 60 mm of the reference piece's thickness",
    question="Do mass and size agree?",
    notes=(
        "Slices usually fill 0.80 to 0.99 of their box and whole masses 0.35 to 0.65 (common practice). "
        "More than the whole box stops the work: a unit, a side or the kind is wrong.",
    ),
)
def fill_factors_table(bench):
    """Mass against kind, in one box."""
    thickness = bench.value("piece.thickness")

    def share(mass, kind):
        return bench("fill-factor", mass=mass, length=90.0, width=60.0, thickness=thickness, kind=kind)[
            "solid_share"
        ]

    return matrix(
        Axis("Mass", "g", (50.0, 75.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0)),
        Axis("Kind", "text", KINDS),
        "1",
        share,
    )


@table(
    "condition-grades",
    title="Condition grades: signs, open routes, blocked routes",
    question="What may I do to this piece?",
    notes=(
        "The worst sign makes the grade. The calculator gives the reason of each route. Cracks and slow "
        "or fast return of rust count besides.",
        "Current is for whole irons with sound contact. A pallasite or mesosiderite of any grade is soaked "
        "without it.",
        "Treatment lowers chloride; dry air keeps the piece.",
    ),
)
def condition_grades_table(bench):
    """One case for each grade, at the house's own limits."""
    few = bench.value("specimen.few_spots")
    wide = bench.value("specimen.wide_rust")
    days = bench.value("specimen.fast_return")
    cases = (
        ("no rust, no change in a year", 0.0, False, False),
        (f"dry spots below {few:g} % of the surface", few / 2, False, False),
        (f"dry spots on {few:g} to {wide:g} %", wide, False, False),
        (f"rust on more than {wide:g} %, or back within {days:g} d", 2 * wide, False, False),
        ("any wet bead or blister", few, True, False),
        ("flaking, or parts that move", few, False, True),
    )
    lines = []
    for sign, share, beads, flaking in cases:
        found = bench("condition-grade", rusted_share=share, beads=beads, flaking=flaking, crack_length=0.0)
        routes = [", ".join(row[0] for row in found[key]) for key in ("allowed_routes", "blocked_routes")]
        lines.append([found["grade"], sign, *routes])
    return Sheet([Column("Grade"), Column("Sign"), Column("May be done"), Column("Blocked")], lines)


@table(
    "cut-yields",
    title="Metal lost to one cut",
    question="What does a cut cost?",
    notes=("Gauge your own kerf: cut a scrap and measure the slot. Flattening and sanding take more.",),
)
def cut_yields_table(bench):
    """Area of the cut against kerf."""
    # The loss of one cut does not depend on the mass: any mass above every loss of the table serves.
    return matrix(
        Axis("Area of the cut", "cm^2", (5.0, 10.0, 20.0, 40.0, 60.0, 80.0, 100.0, 200.0)),
        Axis("Kerf", "mm", (0.35, 0.5, 1.0, 1.3, 2.0)),
        "g",
        lambda face, kerf: bench("cut-yield", mass=50_000.0, face_area=face, kerf=kerf, slices=2)["loss"],
    )


@table(
    "flatten-losses",
    title="Flattening a bowed slice: metal lost, and thickness left",
    question="May I flatten it?",
    notes=("The face is the reference piece's volume over its thickness; both faces are flattened.",),
    own_piece=("flatten-loss",),
)
def flatten_losses_table(bench):
    """Warp against thickness, the reference piece's face."""
    thickness = bench.value("piece.thickness")
    face = bench("piece-volume", mass=bench.value("piece.mass")) / (thickness / 10)
    thin = bench.value("abrasives.thin_limit")
    thicknesses = (thin + 0.2, thin + 0.5, thin + 1.0, thickness)
    lines = []
    for warp in (0.1, 0.2, 0.3, 0.4, 0.6, 0.8):
        line: list = [warp]
        mass: object = None
        for thick in thicknesses:
            try:
                found = bench("flatten-loss", area=face, warp=warp, thickness=thick, faces=2)
                mass = found["mass"]
                state, word = (
                    ("go", f"{found['thickness_left']:.2f} mm left")
                    if found["verdict"] == "go"
                    else ("wait", f"ask: {found['share']:.0f} % lost")
                )
                line.append(Mark(state, word, found["verdict"]))
            except Refusal as refusal:
                line.append(Refused(refusal.message))
        line.insert(1, mass)
        lines.append(line)
    columns = [Column("Warp", "mm", 0), Column("Lost, both faces", "g")]
    columns += [Column(f"{thick:g} mm", group="Slice before flattening") for thick in thicknesses]
    return Sheet(columns, lines, notes=(f"One face of {face:.1f} cm² is taken.",))


@table(
    "structural-classes",
    title="Structural classes by bandwidth",
    question="Which class is the pattern?",
    notes=(
        "The lower limit belongs to the class, the upper one to the next. Nickel ranges overlap so much "
        "that nickel never fixes the class. Spindles instead of bands: plessitic octahedrite (Opl); no "
        "pattern and high nickel: ataxite (D).",
    ),
    sources=("buchwald-1975", "hexahedrite-entry"),
)
def structural_classes_table(bench):
    """Every class, named by the calculation itself."""
    lines = []
    for row in rows("structural_classes"):
        # A width inside the class, so that the calculation itself names it.
        middle = max(0.02, (float(row["from"]) + float(row["to"])) / 2)
        named = bench("structural-class", bandwidth=middle)
        last = row["symbol"] == "H"
        lines.append(
            [named, float(row["from"]), None if last else float(row["to"]),
             f"{row['nickel_from']}–{row['nickel_to']}"]
        )  # fmt: skip
    return Sheet(
        [Column("Class"), Column("From", "mm", 0), Column("To below", "mm", 0), Column("Nickel", "%")],
        lines,
    )


# Angles between a face and the four octahedral planes: exact values of the cubic crystal.
CUTS = (
    ("two directions at 90°", "cube face", "all four sets", 54.735610317245346),
    (
        "three directions at 60°",
        "octahedron face",
        "three sets; the fourth lies in the face",
        70.52877936550931,
    ),
    ("crossing at 70.5° and 109.5°", "dodecahedron face", "the two sharp sets", 90.0),
    (
        "crossing at 70.5° and 109.5°",
        "dodecahedron face",
        "the two sets that share a direction",
        35.264389682754654,
    ),
)


@table(
    "bandwidth-corrections",
    title="Bandwidth on the face and true bandwidth, for the three plain cuts",
    question="How much too wide do the bands look?",
    notes=(
        "For any other cut measure all four sets. If only some can be measured take the narrowest: it is at "
        "most 22 % too wide. Never average the raw widths.",
    ),
)
def bandwidth_corrections_table(bench):
    """The three plain cuts of the crystal."""
    lines = []
    for pattern, cut, sets, angle in CUTS:
        true = bench("true-bandwidth", apparent_bandwidth=1.0, angle=angle)
        lines.append([pattern, cut, sets, angle, true, 1 / true])
    return Sheet(
        [
            Column("Pattern"), Column("Cut along"), Column("Sets"), Column("Angle", "deg"),
            Column("True width of a 1 mm band", "mm"), Column("Widened by a factor"),
        ],
        lines,
    )  # fmt: skip


@table(
    "unit-slips",
    title="What a slip of units does to a slice of 240 g in a box of 90 x 60 x 6 mm",
    question="Could a unit be wrong?",
    notes=(
        "'oz' alone is refused: an avoirdupois ounce has 28.35 g, a troy ounce 31.10 g, and a fluid ounce "
        "is a volume.",
        "A slip that stays inside the box is not seen here: weigh twice, with a known weight beside it.",
    ),
)
def unit_slips_table(bench):
    """One true slice, and what each slip makes of it."""
    true = {"mass": 240.0, "length": 90.0, "width": 60.0, "thickness": 6.0}
    avdp, troy, inch = 28.349523125, 31.1034768, 25.4
    cases = (
        ("none: the true figures", {}),
        ("avoirdupois ounces read as troy", {"mass": 240 / avdp * troy}),
        ("troy ounces read as avoirdupois", {"mass": 240 / troy * avdp}),
        ("avoirdupois ounces written as grams", {"mass": 240 / avdp}),
        ("grams written as avoirdupois ounces", {"mass": 240 * avdp}),
        ("pounds written as kilograms", {"mass": 240 / 0.45359237}),
        ("thickness in inches written as millimetres", {"thickness": 6 / inch}),
        ("length and width in inches written as millimetres", {"length": 90 / inch, "width": 60 / inch}),
        ("three sides in centimetres written as millimetres",
         {"length": 9.0, "width": 6.0, "thickness": 0.6}),
        ("thickness in millimetres written as centimetres", {"thickness": 60.0}),
    )  # fmt: skip
    lines = []
    for slip, changed in cases:
        entered = true | changed
        box = entered["length"] * entered["width"] * entered["thickness"] / 1000
        try:
            found = bench("fill-factor", kind="iron", **entered)
            share = found["solid_share"]
            state = {"slab": "go", "rounded": "wait", "low": "wait"}[found["verdict"]]
            said: object = Mark(state, str(found["verdict"]), found["verdict"])
        except Refusal as refusal:
            share = bench("piece-volume", mass=entered["mass"]) / box
            said = Refused(refusal.message)
        lines.append([slip, entered["mass"], box, share, said])
    return Sheet(
        [
            Column("Slip"), Column("Mass as entered", "g", 4), Column("Box as entered", "cm^3"),
            Column("Box filled"), Column("Answer"),
        ],
        lines,
    )  # fmt: skip
