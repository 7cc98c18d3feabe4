"""Piece: what is known of one piece and what is wanted of it, and what follows where a fact is open.

A piece's file holds two sections: ``piece``, its facts, and ``wanted``, what the owner asks for. It is laid
over the house standard, so that every calculation, table and page may ask for ``piece.mass`` as for a house
value.
A fact that nobody knows is written ``unknown``; here stands what is then taken, and what that costs.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import pi

from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import Number, calculation, refuse
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Fault, HouseFaults, Refusal
from handbook_calc.engine.fields import Choice, Count, Day, Instead, Quantity, Words, YesNo
from handbook_calc.engine.house import House, derived, section
from handbook_calc.engine.rules import rule
from handbook_calc.specimen import DENSITY, KINDS, SIDES, ellipsoid_area, slab_area

STAGE = "specimen"
SHAPES = ("slice", "end piece", "whole", "fragment")
ETCHANTS = ("none", "nital", "ferric chloride")


def unknown(taken: str, costs: str, left_out: bool = False) -> tuple[Instead, ...]:
    """Declare what is taken for ``unknown``, and where the key is left out, if it may be."""
    return (Instead(("unknown", "") if left_out else ("unknown",), taken, costs),)


def open_fact(costs: str, left_out: bool = False) -> tuple[Instead, ...]:
    """Declare that an unknown fact is computed from others; see `derived`."""
    return unknown("", costs, left_out)


def _side(name: str, about: str, low: float, high: float) -> Quantity:
    costs = "Computed from the mass as if the piece were well rounded; measure it, and the plan narrows."
    return Quantity(name, about, unit="mm", low=low, high=high, instead=open_fact(costs))


section(
    "piece",
    Words("number", "number of the piece, as on its label"),
    Choice("kind", "kind of piece", options=KINDS, kind="kind of piece", hints=False),
    Choice("shape", "shape of the piece", options=SHAPES, kind="shape", instead=unknown(
        "fragment", "Taken as a fragment, whose surface is guessed from an ellipsoid.")),
    Quantity("mass", "its mass", unit="g", low=1, high=30_000, instead=open_fact(
        "Computed from the three sides and the usual share of the box; weigh it, it takes a minute.")),
    _side("length", "its greatest length", 5, 1000),
    _side("width", "its greatest width", 5, 1000),
    _side("thickness", "its thickness", 0.5, 300),
    Quantity("area", "its whole surface, faces and edge", unit="cm^2", low=1, high=10_000, instead=open_fact(
        "Computed from shape and sides; the baths and the current follow its span.", left_out=True)),
    Quantity("crack_depth", "depth of its deepest crack, best guess", unit="mm", low=0.1, high=200, instead=(
        Instead(("unknown",), "10 mm (2 mm to 50 mm)",
                "Taken as deep as a crack may well be; the baths may last many times as long as they need."),
        Instead(("none", "0 mm", "0"), "0.1 mm",
                "No crack was seen; pits and pores of a tenth of a millimetre are taken all the same."))),
    YesNo("crack_through", "the crack goes right through, open on both sides", instead=unknown(
        "no", "Taken as blind, which dries and empties four times as slowly.", left_out=True)),
    YesNo("crack_filled", "rust or filler fills the crack", instead=unknown(
        "yes", "Taken as filled: soaking and drying last up to four times as long.", left_out=False)),
    Quantity("crack_volume", "liquid its cracks can hold, best guess", unit="mL", low=0, high=50,
             instead=open_fact("Computed from length and depth of the crack and the usual width of a "
             "hairline; "
                               "it is right within a factor of ten.", left_out=True)),
    Quantity("rusted_share", "share of the surface with fresh rust", unit="%", low=0, high=100,
             instead=unknown(
        "15 % (1 % to 60 %)", "Taken as widespread, which is grade G3 and asks for baths before any face "
        "or coat: "
        "survey it.")),
    YesNo("beads", "wet beads or blisters, now or within the watch", instead=unknown(
        "yes", "Taken as weeping, which is grade G4 and closes all but dry storage and baths: look under "
        "a loupe.")),
    YesNo("flaking", "flakes coming off, or parts that move", instead=unknown(
        "yes", "Taken as moving, which is grade G5: nothing but support and the dry box, until somebody has "
        "looked.")),
    Quantity("crack_length", "length of the longest open crack on the surface", unit="mm", low=0, high=1000,
             instead=open_fact("Taken as long as the piece; with any rust that is grade G3: look under a "
             "loupe.")),
    Quantity("return_days", "time after which rust came back on a cleaned place; none where it has not",
             unit="d", low=0, high=36_500, optional=True, instead=unknown(
                 "none", "Nobody has watched it after a cleaning; the watch in the dry box will tell.",
                 left_out=True)),
    Count("treatments", "chloride treatments that it has had", low=0, high=20, instead=unknown(
        "0", "Taken as never treated; ask the last owner.", left_out=True)),
    YesNo("glued", "glued, filled or stabilised", instead=unknown(
        "yes", "Taken as glued: no acetone, no hot oven, no acid. Look at the joints under ultraviolet.")),
    Words("coated", "what coat it bears, or none", instead=unknown(
        "unknown coat", "Taken as coated: a film is looked for and stripped before any bath.")),
    YesNo("etched", "it has an etched face", instead=unknown(
        "yes", "Taken as etched: the face is expected to suffer in the bath and to be finished anew.")),
    YesNo("sulphide", "sulphide or graphite lies in the face", instead=(
        Instead(("unknown",), "yes", "Taken as rich in sulphide: no acid touches it until somebody has "
        "looked."),
        Instead(("",), "no", "Not noted; look for bronze-coloured nodules before any acid."))),
    Quantity("warp", "bow or wedge of the face, against a straight edge", unit="mm", low=0, high=20,
             instead=unknown("0.1 mm", "Not measured; taken as flat. Lay a straight edge on it before it "
             "is sanded.",
                             left_out=True)),
    Quantity("bandwidth", "width of its bands; none where none is seen", unit="mm", low=0.02, high=500,
             optional=True, instead=unknown("none", "The class stays open; nothing in the plan depends on "
             "it.",
                                            left_out=True)),
    of_piece=True,
)  # fmt: skip
section(
    "wanted",
    YesNo("face", "a face is to be shown, sanded anew"),
    Choice("etchant", "etchant for the face, or none", options=ETCHANTS, kind="etchant", hints=False),
    Words("coating", "coating, a kind of the house, or none"),
    Quantity("box", "volume of the box that it is kept in", unit="L", low=0.05, high=2000),
    Day("start", "day on which work begins; none where that is open", optional=True, instead=unknown(
        "none", "Without a start the plan has no dates.", left_out=True)),
    Quantity("hours", "attended hours a day", unit="h", low=0.25, high=16),
    of_piece=True,
)  # fmt: skip


# --- what follows from shape and sides ---------------------------------------------------------

SHAPE = Choice("shape", "shape of the piece", options=SHAPES, kind="shape", example="slice")
OUTLINE = from_house("specimen.outline")


@calculation(
    "piece-area",
    title="Surface of a piece from its shape and three sides",
    inputs=(SHAPE, *SIDES, OUTLINE, from_house("specimen.roughness")),
    results=Number("area", "cm^2", "whole surface, cut faces and edge with it"),
    assumes=(
        "a slice has two plane faces that fill the outline's share of their rectangle, and a straight edge",
        "an end piece is half an ellipsoid: a rough cap as high as the piece is thick, on a plane "
        "elliptic face",
        "a whole mass or a fragment is an ellipsoid with a rough skin",
        "cracks are not counted",
    ),
    sources=("solid-geometry", "thomsen-2004"),
)
def piece_area(shape, length, width, thickness, outline, roughness):
    """A slab less what its outline leaves out; half an ellipsoid with its face; or a whole ellipsoid."""
    if shape == "slice":
        box = slab_area(length, width, thickness)
        return box - (1 - outline) * 2 * length * width / 100
    if shape == "end piece":
        height = 2 * thickness
        cap = ellipsoid_area(length, width, height) / 2
        face = pi * length * width / 400
        return cap * roughness + face
    return ellipsoid_area(length, width, thickness) * roughness


def kind_density(kind, density, pallasite_density, mesosiderite_density):
    """Return the density of a sound piece of a kind."""
    if kind == "pallasite":
        return pallasite_density
    if kind == "mesosiderite":
        return mesosiderite_density
    return density


def solid_share(shape, outline, mass_fill):
    """Return the share of the box that a piece of a shape usually fills."""
    return outline if shape == "slice" else mass_fill


KIND = Choice("kind", "kind of piece", options=KINDS, kind="kind of piece", hints=False, example="iron")
DENSITIES = (
    DENSITY,
    from_house("specimen.pallasite_density"),
    from_house("specimen.mesosiderite_density"),
)


@calculation(
    "piece-mass",
    title="Mass of a piece from its kind, shape and three sides",
    inputs=(KIND, SHAPE, *SIDES, OUTLINE, from_house("specimen.mass_fill"), *DENSITIES),
    results=Number("mass", "g", "mass, where no balance is at hand"),
    assumes=(
        "a slice fills its box as its outline fills the rectangle, any other shape by the house's usual "
        "share",
        "this is a guess for planning; a balance is right to a thousandth",
    ),
    sources=("solid-geometry",),
)
def piece_mass(
    kind, shape, length, width, thickness, outline, mass_fill, density, pallasite_density,
    mesosiderite_density,
):  # fmt: skip
    """Box times the share of it that is solid, times the density of the kind."""
    box = length * width * thickness / 1000
    share = solid_share(shape, outline, mass_fill)
    return box * share * kind_density(kind, density, pallasite_density, mesosiderite_density)


@calculation(
    "piece-side",
    title="A side of a piece from its mass and what other sides are known",
    inputs=(
        KIND, SHAPE,
        Quantity("mass", "mass of the dry piece", unit="g", low=0.01, high=100_000, example="{piece.mass}"),
        Quantity("side", "a side that is known", unit="mm", low=0.1, high=2000, optional=True,
                 example="90 mm", of_piece="piece.length"),
        Quantity("other_side", "another side that is known", unit="mm", low=0.1, high=2000, optional=True,
                 example="46 mm", of_piece="piece.width"),
        OUTLINE, from_house("specimen.mass_fill"), *DENSITIES,
    ),
    results=Number("side", "mm", "each side that is not known"),
    assumes=("sides that are not known are alike", "the piece fills its box by the usual share of its shape"),
    sources=("solid-geometry",),
    refusals={
        "no-side": "a slice of which no side is known may be thick or thin: measure one side",
    },
)  # fmt: skip
def piece_side(
    kind, shape, mass, side, other_side, outline, mass_fill, density, pallasite_density, mesosiderite_density
):
    """The box that holds the volume, over the sides that are known; what is left is shared alike."""
    solid = mass / kind_density(kind, density, pallasite_density, mesosiderite_density)
    box = solid / solid_share(shape, outline, mass_fill) * 1000
    if side is None and other_side is None:
        if shape == "slice":
            refuse("no-side")
        return box ** (1 / 3)
    if side is None:
        return (box / other_side) ** 0.5
    if other_side is None:
        return (box / side) ** 0.5
    return box / side / other_side


@calculation(
    "crack-volume",
    title="Liquid that the cracks of a piece can hold",
    inputs=(
        Quantity("length", "length of the longest crack on the surface", unit="mm", low=0, high=2000,
                 example="{piece.crack_length}"),
        Quantity("depth", "depth of the deepest crack", unit="mm", low=0.01, high=200,
                 example="{piece.crack_depth}"),
        from_house("specimen.crack_gap", name="gap"),
        from_house("specimen.crack_count", name="count"),
    ),
    results=Number("volume", "mL", "volume of all cracks", most=100_000, because="no piece is all crack"),
    assumes=("cracks are as long, as deep and as wide as the longest one", "no rust fills them"),
    sources=("solid-geometry",),
)  # fmt: skip
def crack_volume(length, depth, gap, count):
    """Length by depth by width of one crack, times their count."""
    return length * depth * gap * count / 1000


# --- facts that a file leaves open -------------------------------------------------------------

SIDE_FACTS = ("piece.length", "piece.width", "piece.thickness")


@dataclass(frozen=True)
class Derivation:
    """How a fact that a file leaves open follows from others; the page reads the same declaration.

    Attributes:
        fact: its key.
        calculation: whose first result it is; empty where it is as large as the fact `alike`.
        inputs: fact by input; each must be known.
        slots: inputs that are filled in order by what is known of the sides.
        alike: the key of the fact that it is taken to be as large as.
        needs: what is said where a fact among the inputs is open too.
    """

    fact: str
    calculation: str = ""
    inputs: Mapping[str, str] = field(default_factory=dict)
    slots: tuple[str, ...] = ()
    alike: str = ""
    needs: str = ""

    def __call__(self, house: House) -> tuple[float, tuple[float, float]]:
        """Return the fact with the ends of its interval.

        Raises:
            CalculationFault: the facts that are known do not tell it.
        """
        if self.alike:
            entry = house.entry(self.alike)
            return entry.value, entry.span or (entry.value, entry.value)
        bench = Bench(house)
        if any(key not in house.entries for key in self.inputs.values()):
            raise Refusal(self.needs)
        known = [bench.value(key) for key in SIDE_FACTS if key in house.entries]
        values = {name: bench.value(key) for name, key in self.inputs.items()}
        values |= dict.fromkeys(self.slots) | dict(zip(self.slots, known, strict=False))
        answer = bench.answer(self.calculation, **values)
        result = answer.calculation.results[0].name
        value, interval = answer.results[result], answer.spread.intervals.get(result)
        return value, (interval.low, interval.high) if interval else (value, value)


def _inputs(*facts: str, **named: str) -> dict[str, str]:
    return {fact: f"piece.{fact}" for fact in facts} | {name: f"piece.{fact}" for name, fact in named.items()}


# In this order: what has been computed before counts as known.
DERIVATIONS = (
    Derivation(
        "piece.mass", "piece-mass", _inputs("kind", "shape", "length", "width", "thickness"),
        needs="needs all three sides: weigh the piece, or measure the sides that are not known",
    ),
    *(
        Derivation(
            key, "piece-side", _inputs("kind", "shape", "mass"), ("side", "other_side"),
            needs="needs the mass: weigh the piece",
        )
        for key in SIDE_FACTS
    ),
    Derivation(
        "piece.area", "piece-area", _inputs("shape", "length", "width", "thickness"),
        needs="needs all three sides: measure them",
    ),
    Derivation("piece.crack_length", alike="piece.length"),
    Derivation(
        "piece.crack_volume", "crack-volume", _inputs(length="crack_length", depth="crack_depth"),
        needs="needs length and depth of the crack",
    ),
)  # fmt: skip
for _derivation in DERIVATIONS:
    derived(_derivation.fact)(_derivation)


# --- what a file may not hold ------------------------------------------------------------------


@rule("wanted.coating", "coating.kinds", facts=True)
def coating_of_the_house(house):
    """A wished coating is one that the house has."""
    kinds = house.names("coating.kinds")
    if house["wanted.coating"] not in ("none", *kinds):
        yield "wanted.coating", f"is no coating of this house; allowed is none, {', '.join(kinds)}"


def check_facts(house: House) -> None:
    """Refuse facts that no piece can have together: most often a slip of units.

    Raises:
        HouseFaults: the fault, at the thickness in the piece's file.
    """
    keys = ("mass", "length", "width", "thickness")
    entries = {key: house.entry(f"piece.{key}") for key in keys}
    if any(entry.instead for entry in entries.values()):
        return  # what is computed from the others fits them
    values = {key: entry.value for key, entry in entries.items()}
    try:
        Bench(house).answer("fill-factor", kind=house["piece.kind"], **values)
    except Refusal as refused:
        entry = entries["thickness"]
        told = f"piece.thickness: {entry.written} does not go with the rest: {refused.message}"
        raise HouseFaults([Fault(entry.file, entry.line, told)]) from None
