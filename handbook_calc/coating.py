"""Coating: film, amounts and coats, when the air allows it, and how long each stage takes."""

import re
from functools import partial
from itertools import pairwise
from math import ceil, exp, floor

from handbook_calc.engine.calculation import (
    Number,
    Reasons,
    Verdict,
    Whole,
    because,
    calculation,
    place_in_list,
    refuse,
)
from handbook_calc.engine.chart import Chart, Limit, Line, Scale, Zone
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal, nearest
from handbook_calc.engine.fields import Choice, Count, Quantity, Words, YesNo
from handbook_calc.engine.house import family, section
from handbook_calc.engine.known import Sided, scaled
from handbook_calc.engine.numerals import edged
from handbook_calc.engine.plot import plot, spaced, trace
from handbook_calc.engine.rules import at_least, at_most, below, rule
from handbook_calc.engine.tables import Axis, Column, Mark, Refused, Sheet, attempt, matrix, table
from handbook_calc.moist_air import (
    COLDEST_OVER_WATER,
    dew_temperature,
    frost_temperature,
    saturation_pressure_water,
)
from handbook_calc.plausible import duration
from handbook_calc.substances import names, register

GAS_CONSTANT = 0.008314462618  # kJ/mol/K
WETTEST_FILM = 500.0  # um; a thicker wet film runs off a standing face
MOST_COATS = 20

CLOSING_MARGIN = 8.0  # kJ/mol; brings the sheet of a urethane back within its row in the cold
# Kinds of value that several declarations share.
LEAST_ENERGY = 15.0  # kJ/mol
MOST_ENERGY = 120.0
hours = partial(Quantity, unit="h", low=0.01, high=5000)
cure_temperature = partial(Quantity, unit="degC", low=-10, high=60)
energy = partial(
    Quantity,
    unit="kJ/mol",
    low=LEAST_ENERGY,
    high=MOST_ENERGY,
    why="drying of solvent and cure of paint lie between about 30 and 85 kJ/mol",
)
film = partial(Quantity, unit="um", low=0.1, high=500)
solids = partial(
    Quantity,
    unit="%",
    low=0.5,
    high=100,
    why="by volume, from the data sheet; solids by weight give a wrong film",
)
share_on_piece = partial(Quantity, unit="%", low=5, high=100)
any_humidity = partial(Quantity, unit="%", low=0, high=100)
air = partial(Quantity, unit="degC", low=-20, high=60)
air_humidity = partial(
    Quantity,
    unit="%",
    low=1,
    high=100,
    why="room air is never drier; a hygrometer that shows less needs its salt test",
)
surface = partial(Quantity, unit="cm^2", low=0.1, high=100_000)
NAME = r"[a-z0-9][a-z0-9-]{1,39}"

section(
    "coating",
    Words("kind", "coating the bench uses unless a record says otherwise", pattern=NAME),
    Words("brush_kind", "coating of the brush steps", pattern=NAME),
    Words("spray_kind", "coating of the pressure can steps", pattern=NAME),
    Words("wipe_kind", "coating of the wax steps", pattern=NAME),
    Quantity(
        "margin",
        "the surface must be warmer than the dew point by",
        unit="delta_degC",
        low=1,
        high=15,
        limit="least",
        why="the thermometers alone err by that much",
    ),
    cure_temperature("minimum_temperature", "coldest air and piece for coating"),
    cure_temperature("maximum_temperature", "warmest air and piece for coating"),
    any_humidity("maximum_humidity", "most humid air for coating"),
    cure_temperature("room_temperature", "air in the coating room on a usual day"),
    Quantity("room_humidity", "humidity of the coating room on a usual day", unit="%", low=1, high=100),
    Quantity("hygrometer_error", "the hygrometer may be wrong by", unit="%", low=0.5, high=15),
    Quantity(
        "thermometer_error",
        "the surface thermometer may be wrong by",
        unit="delta_degC",
        low=0.1,
        high=5,
    ),
    cure_temperature("cure_minimum", "coldest temperature for a cure time of any coating"),
    cure_temperature("cure_maximum", "warmest temperature for a cure time of any coating"),
    energy("activation_energy", "activation energy where the stage is not known"),
    share_on_piece("transfer_efficiency", "share that stays on the piece, for a coating not in the list"),
    Quantity("thinner", "thinner added, by volume of the coating as supplied", unit="%", low=0, high=200),
    Quantity(
        "roughness_peak",
        "height of the peaks of the finished face over its valleys",
        unit="um",
        low=0,
        high=100,
    ),
    Quantity(
        "resin_percent",
        "strength of the house's resin solution, g in 100 mL",
        unit="%",
        low=0.5,
        high=50,
    ),
    Quantity("resin_density", "density of the dry resin", unit="g/cm^3", low=0.8, high=2),
    Quantity("solution_volume", "resin solution made at one time", unit="mL", low=10, high=5000),
    Quantity("spray_distance", "nozzle to face", unit="cm", low=10, high=60),
    Quantity("offcut_test", "time an offcut stands in damp air before a coat", unit="h", low=12, high=720),
    Quantity("offcut_humidity", "humidity of that test", unit="%", low=40, high=85),
    Quantity("watch", "days a piece is watched at room humidity before a coat", unit="d", low=7, high=365),
    Quantity("wait_before_boxing", "time from the last coat to a closed box", unit="d", low=1, high=120),
)

family(
    "coating.kinds",
    "coating",
    Words("about", "what it is"),
    Choice(
        "applied_by",
        "how this bench puts it on",
        options=("brush", "spray", "wipe"),
        kind="way of coating",
    ),
    YesNo("isocyanate", "the hardener holds isocyanate"),
    cure_temperature("base_temperature", "temperature of the times below"),
    hours("touch_dry", "a light touch leaves no mark"),
    hours("wet_on_wet_close", "a further coat may go on the soft film until", optional=True),
    hours("earliest_recoat", "a further coat may go on the dry film from"),
    hours("latest_recoat", "a further coat holds without abrading until", optional=True),
    hours("handle", "gloved hands may hold the piece by its edge"),
    hours("full_cure", "cured, and solvent gone as far as this bench can tell"),
    cure_temperature("minimum_temperature", "coldest temperature of use"),
    cure_temperature("maximum_temperature", "warmest temperature of use"),
    any_humidity("maximum_humidity", "most humid air of use"),
    solids("volume_solids", "share of the coating that stays as dry film, by volume"),
    film("dry_film", "whole dry film wanted"),
    film("film_per_coat", "dry film of one coat"),
    share_on_piece("transfer_efficiency", "share of the coating that stays on the piece"),
    energy("early_energy", "activation energy of drying to touch"),
    energy("recoat_energy", "activation energy of recoating and handling"),
    energy("full_energy", "activation energy of full cure"),
)


def _kinds(house):
    """Yield the key and a look-up of each coating of the house."""
    for name in house.names("coating.kinds"):
        key = f"coating.kinds.{name}"
        yield key, lambda field, key=key: house[f"{key}.{field}"]


@rule("coating.kind", "coating.brush_kind", "coating.spray_kind", "coating.wipe_kind", "coating.kinds")
def kinds_in_list(house):
    """A coating that a step names must be one the house describes, and be put on that way."""
    names = house.names("coating.kinds")
    for key, way in (("kind", ""), ("brush_kind", "brush"), ("spray_kind", "spray"), ("wipe_kind", "wipe")):
        name = house[f"coating.{key}"]
        fit = [n for n in names if way in ("", house[f"coating.kinds.{n}.applied_by"])]
        if name not in names:
            yield (
                f"coating.{key}",
                f"is not in coating.kinds{nearest(name, names)}; allowed is one of {', '.join(fit)}",
            )
        elif name not in fit:
            yield (
                f"coating.{key}",
                f"is not put on by {way}; allowed is one of {', '.join(fit) or 'none yet: describe one'}",
            )


@rule(
    "coating.kind",
    "coating.minimum_temperature",
    "coating.maximum_temperature",
    "coating.maximum_humidity",
)
def limits_within_kind(house):
    """The bench may not say go where the chosen coating's own limits say no."""
    kind = f"coating.kinds.{house['coating.kind']}"
    low, high = house["coating.minimum_temperature"], house["coating.maximum_temperature"]
    if low < house[f"{kind}.minimum_temperature"]:
        yield (
            "coating.minimum_temperature",
            f"is colder than {kind}.minimum_temperature, below which that coating does not cure; "
            f"allowed is {house[f'{kind}.minimum_temperature']:g} degC or more",
        )
    if high > house[f"{kind}.maximum_temperature"]:
        yield (
            "coating.maximum_temperature",
            f"is warmer than {kind}.maximum_temperature; "
            f"allowed is {house[f'{kind}.maximum_temperature']:g} degC or less",
        )
    if house["coating.maximum_humidity"] > house[f"{kind}.maximum_humidity"]:
        yield (
            "coating.maximum_humidity",
            f"is more than {kind}.maximum_humidity, above which that coating turns dull or "
            f"blisters; "
            f"allowed is {house[f'{kind}.maximum_humidity']:g} % or less",
        )


NO_DAY = "there would be no day on which to coat"
below("coating.minimum_temperature", "coating.maximum_temperature", because=NO_DAY)
below("coating.cure_minimum", "coating.cure_maximum", because="no coating would ever cure")
ROOM = "a room outside the limits on a usual day is not the room to coat in"
at_least("coating.room_temperature", "coating.minimum_temperature", because=ROOM)
at_most("coating.room_temperature", "coating.maximum_temperature", because=ROOM)
at_most("coating.room_humidity", "coating.maximum_humidity", because=ROOM)


@rule(
    "coating.margin",
    "coating.hygrometer_error",
    "coating.thermometer_error",
    "coating.room_temperature",
    "coating.maximum_humidity",
)
def margin_covers_instruments(house):
    """A margin that the instruments' own errors can eat up protects nothing."""
    air, humidity = house["coating.room_temperature"], house["coating.maximum_humidity"]
    error = house["coating.hygrometer_error"]
    if humidity <= error:
        return
    pressure = saturation_pressure_water(air)
    needed = (
        house["coating.thermometer_error"]
        + dew_temperature(pressure * (humidity + error) / 100)
        - dew_temperature(pressure * humidity / 100)
    )
    if house["coating.margin"] < needed:
        yield (
            "coating.margin",
            "is smaller than the errors of hygrometer and thermometer together, so a wet face "
            "could "
            f"pass; allowed is at least {ceil(needed * 10) / 10:g} delta_degC with these instruments",
        )


@rule("coating.kinds")
def windows_in_order(house):
    """Stages must follow each other, at the base temperature and at both ends of the range."""
    for key, of in _kinds(house):
        latest, wet = of("latest_recoat"), of("wet_on_wet_close")
        if latest is not None and latest <= of("earliest_recoat"):
            yield (
                f"{key}.latest_recoat",
                "closes the recoat window before it opens; "
                f"allowed is more than {of('earliest_recoat'):g} h, or none",
            )
        if wet is not None and wet >= of("earliest_recoat"):
            yield (
                f"{key}.wet_on_wet_close",
                "is not before earliest_recoat, so there are no two windows; "
                f"allowed is less than {of('earliest_recoat'):g} h, or none",
            )
        base = of("base_temperature")
        for temperature in (base, of("minimum_temperature"), of("maximum_temperature")):
            touch_dry = of("touch_dry") * slower_by_energy(base, temperature, of("early_energy"))
            handle = of("handle") * slower_by_energy(base, temperature, of("recoat_energy"))
            full_cure = of("full_cure") * slower_by_energy(base, temperature, of("full_energy"))
            if handle < touch_dry:
                yield (
                    f"{key}.handle",
                    f"comes before touch_dry at {temperature:g} degC; "
                    f"allowed is {of('handle') * touch_dry / handle:.3g} h or more",
                )
            if full_cure < handle:
                yield (
                    f"{key}.full_cure",
                    f"comes before handle at {temperature:g} degC; "
                    f"allowed is {of('full_cure') * handle / full_cure:.3g} h or more",
                )


@rule("coating.kinds")
def kind_ranges(house):
    """The range of a coating must hold the temperature its times belong to."""
    for key, of in _kinds(house):
        low, high = of("minimum_temperature"), of("maximum_temperature")
        if low >= high:
            yield (
                f"{key}.minimum_temperature",
                f"is not below maximum_temperature; allowed is less than {high:g} degC",
            )
        elif not low <= of("base_temperature") <= high:
            yield (
                f"{key}.base_temperature",
                f"is outside the coating's own range; allowed is {low:g} to {high:g} degC",
            )


@rule("coating.kinds")
def no_sprayed_isocyanate(house):
    """Sprayed isocyanate needs air-fed masks and a booth, which a small bench has not."""
    for key, of in _kinds(house):
        if of("isocyanate") and of("applied_by") == "spray":
            yield (
                f"{key}.applied_by",
                "would put isocyanate into the air that people breathe; allowed is brush, with "
                "the safety data sheet at hand",
            )


# What a name or a description says of a hardener with isocyanate, and what says that it is another. "Free of
# isocyanate" is taken out first: a word on a can is no proof, and the rest of the text must say what it is.
CLAIMED_FREE = re.compile(
    r"\b(?:no|non|not|without|free of|free from|holds none of)[\s-]+(?:di|poly)?isocyanates?\b"
    r"|\b(?:di|poly)?isocyanates?[\s-]+free\b",
    re.IGNORECASE,
)
SAYS_ISOCYANATE = re.compile(r"isocyanate|hdi\b|mdi\b|tdi\b|ipdi\b", re.IGNORECASE)
SAYS_TWO_PART = re.compile(
    r"\b(?:two|twin|dual|bi|2)[\s-]*(?:part|pack|pot|component|comp|k)\w*|\bhardener\b|\bcatalysed\b|\bcatalyzed\b",
    re.IGNORECASE,
)
SAYS_URETHANE = re.compile(r"urethane|polyurea|polyaspartic|\bpur?\b", re.IGNORECASE)
OTHER_HARDENER = re.compile(r"epoxy|epoxide|amine|silicone|peroxide", re.IGNORECASE)
SET_ALREADY = re.compile(r"oil[\s-]+modified|water[\s-]*borne|dispersion|alkyd", re.IGNORECASE)


# Every name under which the register knows what holds isocyanate: no typed "no" makes it another.
ISOCYANATES = sorted(name for name, known in names().items() if "isocyanate" in register()[known].classes)


def holds_isocyanate(name: str, about: str) -> str:
    """Return why a coating must be taken to hold isocyanate, or an empty text.

    Arguments:
        name: what the house calls it; other names of the register count.
        about: what the house says that it is.
    """
    for told in (name, about):
        known = names().get(" ".join(told.lower().split()))
        if known and "isocyanate" in register()[known].classes:
            return f"the register of substances has isocyanate in {known}"
    text = CLAIMED_FREE.sub(" ", f"{name.replace('-', ' ')} {about}")
    if SAYS_ISOCYANATE.search(text):
        return "its name or description says isocyanate"
    urethane = SAYS_URETHANE.search(text)
    two_part = SAYS_TWO_PART.search(text)
    if urethane and (two_part or not SET_ALREADY.search(text)):
        return f"its name or description says {urethane[0]}, whose hardener is an isocyanate"
    if two_part and not OTHER_HARDENER.search(text):
        return f"its name or description says {two_part[0]}, and most such hardeners are isocyanates"
    return ""


@rule("coating.kinds")
def isocyanate_is_not_denied(house):
    """A no that the coating's own name contradicts would take the warning off every page."""
    for name in house.names("coating.kinds"):
        key = f"coating.kinds.{name}"
        why = "" if house[f"{key}.isocyanate"] else holds_isocyanate(name, house[f"{key}.about"])
        if why:
            yield (
                f"{key}.isocyanate",
                f"cannot be: {why}; allowed is yes. Where the data sheets of all parts show another kind, "
                f"write it into {key}.about: epoxy for two parts, oil-modified or water-borne for one part",
            )


@rule("coating.kinds")
def coat_hangs(house):
    """One coat that is too thick when wet runs, and keeps its solvent."""
    for key, of in _kinds(house):
        thickest = WETTEST_FILM * of("volume_solids") / 100
        if of("film_per_coat") > thickest:
            yield (
                f"{key}.film_per_coat",
                f"would run when wet; allowed is {thickest:.3g} um or less at these volume_solids",
            )


at_least("coating.watch", "specimen.watch", because="a coat cannot always be undone")


@rule("coating.kind", "coating.kinds", "coating.wait_before_boxing")
def boxed_after_cure(house):
    """A box with gel shuts the solvent in with the piece."""
    cure = house[f"coating.kinds.{house['coating.kind']}.full_cure"]
    if house["coating.wait_before_boxing"] * 24 < cure:
        yield (
            "coating.wait_before_boxing",
            "ends before the chosen coating has cured, and would shut solvent in with the piece; "
            f"allowed is {cure / 24:g} d or more",
        )


@calculation(
    "wet-film",
    title="Wet film for a dry film",
    inputs=(
        film("dry_film", "dry film wanted", example="10 um"),
        solids(
            "volume_solids", "share of the coating as supplied that stays as film, by volume", example="10 %"
        ),
        from_house(
            "coating.thinner", about="thinner added, by volume of the coating as supplied (not of the mix)"
        ),
    ),
    results=Number("thickness", "um", "wet film to put on, as a comb gauge reads it at once"),
    assumes=(
        "only solids stay, and they stay where they were put",
        "a comb gauge shows two teeth between which the film lies: take the next tooth above this figure",
    ),
    sources=("film-balance", "inspector-page"),
    refusals={
        "runs": "a wet film of {0 um} runs off a standing face; put {dry_film} on in several "
        "coats, or use a coating of more solids",
    },
)
def wet_film(dry_film, volume_solids, thinner):
    """The dry film, made thicker by everything that will leave it."""
    solids = volume_solids / (1 + thinner / 100)
    thickness = dry_film / solids * 100
    if thickness > WETTEST_FILM:
        refuse("runs", thickness)
    return thickness


@calculation(
    "coverage",
    title="Coating needed for an area",
    inputs=(
        surface("area", "surface to coat, both faces and edge", example="{piece.area}"),
        film("dry_film", "dry film of one coat", example="5 um"),
        solids(
            "volume_solids", "share of the coating as supplied that stays as film, by volume", example="10 %"
        ),
        from_house("coating.transfer_efficiency", about="share of the coating that stays on the piece"),
        Count("coats", "coats of that film", low=1, high=MOST_COATS, example="2"),
    ),
    results=Number("volume", "mL", "coating as supplied, before any thinner", safe="up"),
    assumes=("each coat has the same film", "what is left in the brush, pot or can comes on top"),
    sources=("film-balance", "loss-note"),
)
def coverage(area, dry_film, volume_solids, transfer_efficiency, coats):
    """Dry volume of all coats, divided by the solids and by the share that reaches the piece."""
    dry_volume = area * dry_film / 10_000 * coats
    return dry_volume / (volume_solids / 100) / (transfer_efficiency / 100)


@calculation(
    "coats-needed",
    title="Coats needed for a dry film",
    inputs=(
        film("dry_film", "dry film wanted over the peaks of the face", example="10 um"),
        film("film_per_coat", "dry film of one coat", example="4 um"),
        from_house("coating.roughness_peak"),
    ),
    results=Whole("coats", "1", "coats of that film"),
    assumes=("the film first fills the valleys to the height of the peaks",),
    sources=("film-balance", "profile-note"),
    refusals={
        "many-coats": f"more than {MOST_COATS} coats would be needed: so many shut solvent in; "
        "use a coating of more solids, or a smoother face",
    },
)
def coats_needed(dry_film, film_per_coat, roughness_peak):
    """The smallest whole number of coats that covers valleys and film."""
    exact = (dry_film + roughness_peak) / film_per_coat
    # 1e-9: a film met exactly by n coats must not ask for one more because of the last digit.
    coats = ceil(exact - 1e-9)
    if coats > MOST_COATS:
        refuse("many-coats")
    return coats


@calculation(
    "solution-solids",
    title="Solids by volume of a resin solution",
    inputs=(
        Quantity(
            "percent",
            "strength of the solution, g of resin in 100 mL",
            unit="%",
            low=0.1,
            high=60,
            example="{coating.resin_percent}",
        ),
        from_house("coating.resin_density"),
    ),
    results=Number("volume_solids", "%", "share of the solution that stays as film, by volume"),
    assumes=("all solvent leaves in the end; a film that is dry to touch still holds some",),
    sources=("film-balance", "resin-entry"),
)
def solution_solids(percent, resin_density):
    """Volume of the resin in 100 mL of its solution."""
    return percent / resin_density


@calculation(
    "resin-mass",
    title="Resin for a solution",
    inputs=(
        from_house(
            "coating.solution_volume",
            name="volume",
            about="solution wanted",
            low=0.1,
            high=20_000,
            because="from a drop for a trial to a dipping bath",
        ),
        from_house(
            "coating.resin_percent",
            name="percent",
            about="strength, g of resin in 100 mL of solution",
            low=0.1,
            high=60,
            because="above about half by weight the resin is a gel that no brush spreads",
        ),
    ),
    results=Number("mass", "g", "resin to weigh out; then solvent up to the volume"),
    assumes=("solvent is added up to the volume, not the volume of solvent to the resin",),
    sources=("percent-definition",),
)
def resin_mass(volume, percent):
    """Grams in each 100 mL, for the volume."""
    return volume * percent / 100


@place_in_list
def place_among_isocyanates(coating):
    """Return the place of a coating among the register's names of what holds isocyanate, or -1."""
    for i in range(len(ISOCYANATES)):
        if ISOCYANATES[i] == coating:
            return i
    return -1


@calculation(
    "coating-amounts",
    title="Coats and amount of a house coating for a piece",
    inputs=(
        from_house("coating.kind", name="coating", about="name of the coating in the house's list"),
        surface("area", "surface to coat, both faces and edge", example="{piece.area}"),
        from_house("coating.kinds.{coating}.dry_film"),
        from_house("coating.kinds.{coating}.film_per_coat"),
        from_house("coating.roughness_peak"),
        from_house("coating.kinds.{coating}.volume_solids"),
        from_house("coating.thinner"),
        from_house("coating.kinds.{coating}.transfer_efficiency"),
        from_house("coating.kinds.{coating}.isocyanate", optional=True),
        YesNo(
            "breathing",
            "breathing protection against isocyanate is at hand and fitted, as the data sheet asks",
            optional=True,
        ),
    ),
    results=(
        Whole("coats", "1", "coats to put on"),
        Number("wet_film", "um", "wet film of one coat", digits=2),
        Number("built_film", "um", "dry film over the valleys after all coats", digits=2),
        Number("volume_per_coat", "mL", "coating for one coat, before any thinner", digits=2, safe="up"),
        Number("volume", "mL", "coating for all coats, before any thinner", digits=2, safe="up"),
        Verdict(
            "protection",
            "may it be mixed",
            stops=("stop", "not known"),
            words={
                "go": "no isocyanate in it: gloves, goggles and moving air, as for any solvent",
                "protected": "isocyanate, and breathing protection was said to be at hand: put it on before "
                "the can is opened; whoever has been sensitised stays away; the data sheet comes first",
                "stop": "its hardener holds isocyanate, which makes asthma for life: breathing protection as "
                "the data sheet asks comes first, then the mixing",
                "not known": "nobody has said whether it holds isocyanate: read the data sheet of both "
                "parts first",
            },
        ),
    ),
    assumes=("as for the coats needed, the wet film and the coating needed for an area",),
    sources=("film-balance", "profile-note"),
)
def coating_amounts(
    coating,
    area,
    dry_film,
    film_per_coat,
    roughness_peak,
    volume_solids,
    thinner,
    transfer_efficiency,
    isocyanate,
    breathing,
):
    """Whole coats first, since a part of a coat cannot be put on; then what they take."""
    coats = coats_needed(dry_film, film_per_coat, roughness_peak)
    wet = wet_film(film_per_coat, volume_solids, thinner)
    volume_per_coat = coverage(area, film_per_coat, volume_solids, transfer_efficiency, 1)
    protection = "go"
    known = place_among_isocyanates(coating) >= 0
    if isocyanate is None and not known:
        protection = "not known"
    elif known or isocyanate:
        protected = breathing is not None and breathing
        protection = "protected" if protected else "stop"
    return {
        "coats": coats,
        "wet_film": wet,
        "built_film": coats * film_per_coat,
        "volume_per_coat": volume_per_coat,
        "volume": coats * volume_per_coat,
        "protection": protection,
    }


@calculation(
    "dew-point",
    curve="humidity",
    title="Dew point of the air",
    inputs=(
        air("temperature", "air temperature", example="{drying.room_temperature}"),
        Quantity(
            "humidity",
            "relative humidity of the air, over water",
            unit="%",
            low=0,
            high=100,
            example="{drying.room_humidity}",
        ),
    ),
    results=(
        Number("dew_point", "degC", "temperature at which water forms; below 0 °C, unfrozen water"),
        Number(
            "frost_point",
            "degC",
            "temperature at which frost forms",
            optional=True,
            without="none: the dew point is not below 0 °C",
        ),
    ),
    assumes=(
        "humidity is relative to water at every temperature, as hygrometers and weather tables give it",
        "below 0 °C a piece frosts at the frost point, which is warmer than the dew point",
    ),
    sources=("wmo-8",),
    refusals={
        "no-water": "air of {humidity} holds no water and so has no dew point; a hygrometer that "
        "shows this is faulty or out of its range",
        "too-dry": "the dew point would be {0 degC}, colder than the formula holds (-45 degC); "
        "nothing on a bench is that cold, so no water will form",
    },
)
def dew_point(temperature, humidity):
    """The temperature at which the vapour that is in the air would saturate it."""
    if humidity == 0:
        refuse("no-water")
    pressure = saturation_pressure_water(temperature) * humidity / 100
    dew = dew_temperature(pressure)
    if dew < COLDEST_OVER_WATER:
        refuse("too-dry", dew)
    frost = None
    if dew < 0:
        frost = frost_temperature(pressure)
    return {"dew_point": dew, "frost_point": frost}


@calculation(
    "surface-minimum",
    title="Coldest surface that may be coated",
    inputs=(
        air("air_temperature", "air temperature", example="{drying.room_temperature}"),
        air_humidity("humidity", "relative humidity of the air", example="{drying.room_humidity}"),
        from_house("coating.margin"),
    ),
    results=Number("surface_temperature", "degC", "coldest surface allowed by the dew point", safe="up"),
    assumes=("the house's other limits of temperature and humidity hold besides",),
    sources=("wmo-8", "iso-8502-4"),
)
def surface_minimum(air_temperature, humidity, margin):
    """The dew point and the margin."""
    dew = dew_temperature(saturation_pressure_water(air_temperature) * humidity / 100)
    return dew + margin


@calculation(
    "spray-check",
    title="May this surface be coated in this air?",
    inputs=(
        air("air_temperature", "air temperature beside the piece", example="{drying.room_temperature}"),
        air_humidity("humidity", "relative humidity beside the piece", example="{drying.room_humidity}"),
        air(
            "surface_temperature",
            "temperature of the piece itself, at its thickest part",
            example="{drying.room_temperature}",
        ),
        from_house("coating.margin"),
        from_house("coating.minimum_temperature"),
        from_house("coating.maximum_temperature"),
        from_house("coating.maximum_humidity"),
    ),
    results=(
        Verdict(
            "verdict",
            "whether to coat",
            stops=("stop",),
            words={
                "go": "Coat now, and measure again before each coat.",
                "wait": "Do not coat yet: no water forms on the piece, and warmth mends what is wrong. Warm "
                "the piece or the room, then measure again.",
                "stop": "Do not coat: warmth alone does not mend this. Do what the reasons say first.",
            },
        ),
        Reasons(
            "reasons",
            "what decides it",
            {
                "wet-surface": "The surface is at or below the dew point of {dew_point}, so water "
                "is on it: dry the piece again before any coat.",
                "damp-air": "The air is at {humidity}, more than the {maximum_humidity} allowed: "
                "dry the room, or wait for a drier day.",
                "hot-air": "The air is warmer than {maximum_temperature}: solvent leaves before "
                "the film levels; wait for a cooler hour.",
                "hot-surface": "The piece is warmer than {maximum_temperature}: let it cool in dry air.",
                "near-dew-point": "The surface is only {spread} above the dew point of "
                "{dew_point}; a margin of {margin} is wanted: warm the piece to {0 degC up} or more.",
                "cold-air": "The air is colder than {minimum_temperature}: warm the room.",
                "cold-surface": "The piece is colder than {minimum_temperature}: let it warm, in "
                "a closed bag if it comes from the cold.",
                "within-limits": "The surface is {spread} above the dew point of {dew_point}, and "
                "air and piece are within the limits.",
            },
        ),
        Number("dew_point", "degC", "dew point of the air, over water"),
        Number("spread", "delta_degC", "surface temperature less dew point"),
    ),
    assumes=(
        "the piece is clean and has passed its dry check: this judges the weather, not the piece",
        "both temperatures and the humidity are measured at the same place within minutes",
    ),
    sources=("wmo-8", "iso-8502-4"),
    refusals={
        "no-range": "a lowest temperature of {minimum_temperature} is not below the highest, "
        "{maximum_temperature}; give limits between which a room can be",
    },
)
def spray_check(
    air_temperature,
    humidity,
    surface_temperature,
    margin,
    minimum_temperature,
    maximum_temperature,
    maximum_humidity,
):
    """Stop for what warmth does not mend, wait for what it does, go where nothing speaks against it."""
    if minimum_temperature >= maximum_temperature:
        refuse("no-range")
    dew = dew_temperature(saturation_pressure_water(air_temperature) * humidity / 100)
    spread = surface_temperature - dew
    verdict = "go"
    reasons = []
    if air_temperature < minimum_temperature:
        verdict = "wait"
        reasons.append(because("cold-air"))
    if surface_temperature < minimum_temperature:
        verdict = "wait"
        reasons.append(because("cold-surface"))
    # 1e-9: a surface exactly at the dew point is wet, and one exactly at the margin passes,
    # whatever the last digit.
    if spread > 1e-9 and spread < margin - 1e-9:
        verdict = "wait"
        reasons.append(because("near-dew-point", dew + margin))
    if spread <= 1e-9:
        verdict = "stop"
        reasons.append(because("wet-surface"))
    if humidity > maximum_humidity:
        verdict = "stop"
        reasons.append(because("damp-air"))
    if air_temperature > maximum_temperature:
        verdict = "stop"
        reasons.append(because("hot-air"))
    if surface_temperature > maximum_temperature:
        verdict = "stop"
        reasons.append(because("hot-surface"))
    if verdict == "go":
        reasons.append(because("within-limits"))
    return {"verdict": verdict, "reasons": reasons, "dew_point": dew, "spread": spread}


def slower_by_energy(base_temperature, temperature, activation_energy):
    """How many times longer a stage takes than at the base temperature, by the Arrhenius law."""
    return exp(
        activation_energy / GAS_CONSTANT * (1 / (temperature + 273.15) - 1 / (base_temperature + 273.15))
    )


@calculation(
    "cure-time",
    curve="temperature",
    title="Drying or curing time at another temperature",
    inputs=(
        hours("time", "time that the data sheet gives", example="24 h"),
        cure_temperature("base_temperature", "temperature of that time", example="23 degC"),
        cure_temperature("temperature", "temperature of the piece while it dries", example="20 degC"),
        from_house(
            "coating.activation_energy",
            about="activation energy of the stage; used unless a doubling is given",
            optional=True,
        ),
        Quantity(
            "doubling",
            "cooling that doubles the time; where given, it is used alone",
            unit="delta_degC",
            low=4,
            high=40,
            optional=True,
        ),
        from_house(
            "coating.cure_minimum",
            name="minimum_temperature",
            about="coldest temperature at which the coating cures",
        ),
        from_house(
            "coating.cure_maximum",
            name="maximum_temperature",
            about="warmest temperature that the data sheet covers",
        ),
    ),
    results=duration("time", "h", "time at this temperature", safe="up"),
    assumes=(
        "film, thinner and air movement are those of the data sheet",
        "the same process sets the pace at both temperatures",
    ),
    sources=("arrhenius", "doubling-rule", "urethane-sheet"),
    refusals={
        "no-law": "neither an activation energy nor a doubling is given; give one of the two",
        "too-cold": "at {temperature} this coating does not cure: its lowest is "
        "{minimum_temperature}; warm the room and the piece, a longer wait does not help",
        "too-hot": "{temperature} is above {maximum_temperature}, where the data end: the film "
        "skins over and holds its solvent; let the piece cool",
        "no-range": "a lowest temperature of {minimum_temperature} is not below the highest, "
        "{maximum_temperature}; give the range of the data sheet",
    },
)
def cure_time(
    time,
    base_temperature,
    temperature,
    activation_energy,
    doubling,
    minimum_temperature,
    maximum_temperature,
):
    """One temperature law: a doubling where one is given, an activation energy otherwise."""
    if minimum_temperature >= maximum_temperature:
        refuse("no-range")
    if temperature < minimum_temperature:
        refuse("too-cold")
    if temperature > maximum_temperature:
        refuse("too-hot")
    if doubling is not None:
        return time * 2 ** ((base_temperature - temperature) / doubling)
    if activation_energy is None:
        refuse("no-law")
    return time * slower_by_energy(base_temperature, temperature, activation_energy)


def refuse_outside(temperature, humidity, minimum_temperature, maximum_temperature, maximum_humidity):
    """Refuse air and pieces in which the coating does not cure as its data sheet says."""
    if temperature < minimum_temperature:
        refuse("too-cold")
    if temperature > maximum_temperature:
        refuse("too-hot")
    if humidity > maximum_humidity:
        refuse("too-damp")


def refuse_closed(earliest_recoat, latest_recoat):
    """Refuse a recoat window that closes before it opens; one without a latest time stays open."""
    if latest_recoat is not None and latest_recoat <= earliest_recoat:
        refuse("closed-window")


ENERGIES = ("early_energy", "recoat_energy", "full_energy")
SHEET_RANGE = ("minimum_temperature", "maximum_temperature", "maximum_humidity")


def of_sheet(value, about=None):
    """Declare an input whose default is in the data sheet of the coating that is asked for."""
    return from_house(f"coating.kinds.{{coating}}.{value}", about=about)


def at_base(stage, about):
    """Declare the time of a stage at the base temperature of the data sheet."""
    return from_house(
        f"coating.kinds.{{coating}}.{stage}", name=f"base_{stage}", about=f"{about}, at the base temperature"
    )


@calculation(
    "cure-window",
    title="Stages of a house coating at a temperature",
    inputs=(
        from_house("coating.kind", name="coating", about="name of the coating in the house's list"),
        cure_temperature("temperature", "temperature of the piece while it dries", example="20 degC"),
        any_humidity("humidity", "relative humidity of the air", example="50 %"),
        of_sheet("base_temperature", "temperature of the times of the data sheet"),
        at_base("touch_dry", "touch dry"),
        at_base("wet_on_wet_close", "end of coating wet on wet"),
        at_base("earliest_recoat", "earliest coat on the dry film"),
        at_base("latest_recoat", "latest coat without abrading"),
        at_base("handle", "first handling"),
        at_base("full_cure", "full cure"),
        *(of_sheet(energy) for energy in ENERGIES),
        *(of_sheet(end) for end in SHEET_RANGE),
    ),
    results=(
        duration("touch_dry", "h", "a light touch leaves no mark", digits=2, safe="up"),
        duration(
            "wet_on_wet_close",
            "h",
            "a further coat on the soft film must be on by then; from then to the earliest recoat "
            "the first coat would lift",
            optional=True,
            without="no such window",
            safe="down",
        ),
        duration("earliest_recoat", "h", "a further coat may go on the dry film", safe="up"),
        duration(
            "latest_recoat",
            "h",
            "after this, abrade before a further coat",
            optional=True,
            without="no limit",
            safe="down",
        ),
        duration("handle", "h", "gloved hands may hold it by the edge", digits=2, safe="up"),
        duration("full_cure", "h", "cured; a closed box only after this", safe="up"),
    ),
    assumes=(
        "film, thinner and air movement are those of the data sheet; a film twice as thick takes "
        "two to four times as long",
        "humidity within the limit does not change the pace",
        "the latest recoat is kept short in the cold, by 8 kJ/mol less: a sheet's own row is not overrun",
        "3 °C error of the film's temperature is a fifth of the time",
    ),
    sources=("arrhenius", "urethane-sheet", "alkyd-sheet"),
    refusals={
        "too-cold": "{coating} does not cure at {temperature}: its lowest is "
        "{minimum_temperature}; warm the room and the piece, a longer wait does not help",
        "too-hot": "{temperature} is above the {maximum_temperature} that {coating} allows: the "
        "film skins over and holds its solvent; let the piece cool",
        "too-damp": "air of {humidity} is above the {maximum_humidity} that {coating} allows: the "
        "film turns dull, white or full of bubbles; dry the room first",
        "closed-window": "the latest recoat of {base_latest_recoat} is not after the earliest of "
        "{base_earliest_recoat}; read the data sheet again",
    },
)
def cure_window(
    coating, temperature, humidity,
    base_temperature, base_touch_dry, base_wet_on_wet_close, base_earliest_recoat, base_latest_recoat,
    base_handle, base_full_cure,
    early_energy, recoat_energy, full_energy,
    minimum_temperature, maximum_temperature, maximum_humidity,
):  # fmt: skip
    """Each stage by its own temperature law: early stages lose solvent, the last one is chemistry."""
    refuse_outside(temperature, humidity, minimum_temperature, maximum_temperature, maximum_humidity)
    refuse_closed(base_earliest_recoat, base_latest_recoat)
    early = slower_by_energy(base_temperature, temperature, early_energy)
    middle = slower_by_energy(base_temperature, temperature, recoat_energy)
    late = slower_by_energy(base_temperature, temperature, full_energy)
    latest_recoat = None
    if base_latest_recoat is not None:
        # A window must not close late: in the cold it is taken to slow down less than curing does.
        energy = max(0, recoat_energy - CLOSING_MARGIN) if temperature < base_temperature else recoat_energy
        latest_recoat = base_latest_recoat * slower_by_energy(base_temperature, temperature, energy)
    return {
        "touch_dry": base_touch_dry * early,
        "wet_on_wet_close": None if base_wet_on_wet_close is None else base_wet_on_wet_close * middle,
        "earliest_recoat": base_earliest_recoat * middle,
        "latest_recoat": latest_recoat,
        "handle": base_handle * middle,
        "full_cure": base_full_cure * late,
    }


ROOM_TEMPERATURES = (10, 12, 15, 18, 20, 22, 25, 28, 30)
ROOM_HUMIDITIES = (30, 40, 50, 60, 70, 80, 90)
STAGES = (
    "touch_dry",
    "wet_on_wet_close",
    "earliest_recoat",
    "latest_recoat",
    "handle",
    "full_cure",
)


def _tenths(temperature, side=0):
    """Round to 0.1 degC, which is as good as the formula, a least up; adding zero turns -0.0 into 0.0."""
    return Sided(round(edged(float(temperature), -1, side), 1) + 0.0, side)


@table(
    "dew-points",
    title="Dew point of the air, over water",
    question="At what temperature would this air wet the piece?",
    notes=(
        "Published formulas differ by less than 0.1 °C in this range. Below 0 °C these are dew "
        "points over unfrozen water, as weather tables give them; some instruments show the frost "
        "point there, which is warmer by about a tenth of its distance from 0 °C.",
    ),
)
def dew_points_table(bench):
    """Air temperature by humidity."""
    return matrix(
        Axis("Air", "degC", ROOM_TEMPERATURES),
        Axis("Humidity", "%", ROOM_HUMIDITIES),
        "degC",
        lambda air, humidity: _tenths(bench("dew-point", temperature=air, humidity=humidity)["dew_point"]),
        digits=0,
    )


@table(
    "surface-minimum",
    title="Coldest surface that may be coated, by the dew point and the house's margin",
    question="How warm must the piece be?",
    notes=(
        "A figure above the air temperature means that the piece would have to be warmer than the "
        "room: dry the room instead. The house's limits of temperature and humidity hold besides.",
    ),
)
def surface_minimum_table(bench):
    """Air temperature by humidity, with the house's margin."""
    return matrix(
        Axis("Air", "degC", ROOM_TEMPERATURES),
        Axis("Humidity", "%", ROOM_HUMIDITIES),
        "degC",
        lambda air, humidity: _tenths(bench("surface-minimum", air_temperature=air, humidity=humidity), 1),
        digits=0,
    )


def _mark(bench, air, humidity, surface):
    verdict = bench("spray-check", air_temperature=air, humidity=humidity, surface_temperature=surface)[
        "verdict"
    ]
    return Mark(str(verdict), str(verdict), verdict)


@table(
    "spray-grid",
    title="May a piece as warm as the room be coated?",
    question="Is today a day to coat?",
    notes=(
        "go: coat. wait: warm the room or the piece, then measure again. stop: damp or hot air, "
        "or water on the surface; warmth alone does not mend it.",
    ),
)
def spray_grid_table(bench):
    """Air temperature by humidity; the piece is as warm as the air."""
    return matrix(
        Axis("Air and piece", "degC", ROOM_TEMPERATURES),
        Axis("Humidity", "%", ROOM_HUMIDITIES),
        "text",
        lambda air, humidity: _mark(bench, air, humidity, air),
    )


@table(
    "spray-cold-piece",
    title="May a piece colder than the room be coated?",
    question="The piece comes from a colder place: is it warm enough?",
    notes=(
        "go, wait and stop as in the grid for a piece as warm as the room. Let a cold piece warm "
        "in a closed bag: a stop here means that bare, it would be wet already.",
    ),
)
def spray_cold_piece_table(bench):
    """How much colder the piece is, by humidity, in the usual room."""
    air = bench.value("coating.room_temperature")
    sheet = matrix(
        Axis("Piece colder by", "delta_degC", (0, 2, 4, 6, 8, 10, 12, 15)),
        Axis("Humidity", "%", (20, 30, 40, 45, 50, 55, 60)),
        "text",
        lambda colder, humidity: _mark(bench, air, humidity, air - colder),
    )
    return Sheet(sheet.columns, sheet.rows, notes=(f"Room air at {air:g} °C.",))


def _window(bench, coating, temperature, humidity):
    """Return the end of each stage, in hours."""
    return bench("cure-window", coating=coating, temperature=temperature, humidity=humidity)


def _stage_cell(window, stage, hours=1):
    if window[stage] is None:
        return "no limit" if stage == "latest_recoat" else None
    return scaled(window[stage], 1 / hours)


SPREAD_NOTE = (
    "In brackets, what the spans of the activation energies make of it. The "
    "trade disagrees here: a rule of thumb doubles the time for each 10 °C colder, fits to "
    "printed data sheets give less for early stages, laboratory cure gives more for the last. "
    "Used is one energy for each stage. Plan with the later end of an earliest time and the "
    "earlier end of a latest one."
)


@table(
    "cure-windows",
    title="Stages of the house's chosen coating, by temperature",
    question="When may I touch it, recoat it, hold it, box it?",
    notes=(
        SPREAD_NOTE,
        "Times run from the end of the coat. Between the end of wet on wet and the earliest "
        "recoat, a further coat would lift the first. After the latest recoat, abrade and clean "
        "first.",
    ),
)
def cure_windows_table(bench):
    """Temperature by stage; a temperature the coating refuses gets its reason."""
    coating = bench.value("coating.kind")
    humidity = bench.value("coating.room_humidity")
    rows = []
    for temperature in (10, 12, 15, 18, 20, 22, 25, 28, 30):
        try:
            window = _window(bench, coating, temperature, humidity)
        except Refusal as refusal:
            rows.append([temperature, *[Refused(refusal.message)] * len(STAGES)])
            continue
        cells = [_stage_cell(window, stage, 24 if stage == "full_cure" else 1) for stage in STAGES]
        rows.append([temperature, *cells])
    return Sheet(
        [
            Column("Air and piece", "degC", 0),
            Column("Touch dry", "h", 2),
            Column("Wet on wet until", "h", 2),
            Column("Earliest recoat", "h", 2),
            Column("Latest recoat", "h", 2),
            Column("Handle", "h", 2),
            Column("Full cure", "d", 2),
        ],
        rows,
        notes=(f"Chosen coating: {coating}.",),
    )


@table(
    "cure-windows-all",
    title="Recoating and full cure of every house coating, by temperature",
    question="How do the coatings compare?",
    notes=(SPREAD_NOTE,),
)
def cure_windows_all_table(bench):
    """Coating and temperature by the stages that decide which coating to take."""
    humidity = bench.value("coating.room_humidity")
    rows = []
    for coating in bench.names("coating.kinds"):
        for temperature in (10, 15, 20, 25):
            try:
                window = _window(bench, coating, temperature, humidity)
                cells = [
                    _stage_cell(window, "wet_on_wet_close"),
                    _stage_cell(window, "earliest_recoat"),
                    _stage_cell(window, "latest_recoat"),
                    _stage_cell(window, "full_cure", 24),
                ]
            except Refusal as refusal:
                cells = [Refused(refusal.message)] * 4
            rows.append([coating, temperature, *cells])
    return Sheet(
        [
            Column("Coating"),
            Column("Air and piece", "degC", 0),
            Column("Wet on wet until", "h", 2),
            Column("Earliest recoat", "h", 2),
            Column("Latest recoat", "h", 2),
            Column("Full cure", "d", 2),
        ],
        rows,
    )


@table(
    "coating-kinds",
    title="The house's coatings, with coats and amount",
    question="Which coating, how many coats, how much?",
    notes=(
        "Amount is for 100 cm² of surface, all coats, with what does not stay on the piece, "
        "before thinner. The trade disagrees on coating at all: some conservators leave iron bare "
        "in dry air, since no film stops vapour and every film hinders study; many display pieces "
        "are coated. Coated or bare, the dry box keeps the piece.",
    ),
)
def coating_kinds_table(bench):
    """One row a coating, with what 100 cm^2 take."""
    rows = []
    for coating in bench.names("coating.kinds"):
        key = f"coating.kinds.{coating}"
        amounts = attempt(lambda coating=coating: bench("coating-amounts", coating=coating, area=100))
        told = isinstance(amounts, Refused)
        rows.append([
            coating,
            bench.value(f"{key}.about"),
            bench.value(f"{key}.applied_by"),
            float(bench.value(f"{key}.dry_film")),
            *((amounts, None, None) if told else (amounts["coats"], amounts["wet_film"], amounts["volume"])),
        ])  # fmt: skip
    return Sheet(
        [
            Column("Coating"),
            Column("What it is"),
            Column("Put on by"),
            Column("Dry film", "um", 2),
            Column("Coats"),
            Column("Wet film of a coat", "um", 2),
            Column("Amount", "mL", 2),
        ],
        rows,
    )


@table(
    "wet-film",
    title="Wet film for a dry film, by solids",
    question="How thick must a coat be when wet?",
    notes=(
        "Solids by volume, not by weight. A comb gauge shows two teeth between which the film "
        "lies; aim at the next tooth above. Fast lacquers dry on the comb: there, count coats "
        "instead.",
    ),
)
def wet_film_table(bench):
    """Dry film by solids, with the house's thinner."""
    thinner = bench.value("coating.thinner")
    sheet = matrix(
        Axis("Dry film", "um", (1, 2, 5, 7, 10, 15, 20, 25, 30, 40)),
        Axis("Solids by volume", "%", (4, 9, 13, 20, 30, 43, 47)),
        "um",
        lambda dry, solids: bench("wet-film", dry_film=dry, volume_solids=solids, thinner=thinner),
    )
    return Sheet(sheet.columns, sheet.rows, notes=(f"With {thinner:g} % of thinner added.",))


@table(
    "coats-needed",
    title="Coats needed, by the film wanted and the film of one coat",
    question="How many coats?",
    notes=(
        "The film first fills the valleys of the face, by the house's height of peaks. Standards "
        "for steel deduct more for blasted faces; a sanded or etched meteorite face is far "
        "smoother.",
    ),
)
def coats_needed_table(bench):
    """Film wanted by film of one coat."""
    return matrix(
        Axis("Dry film wanted", "um", (2, 5, 10, 15, 20, 25, 30, 40)),
        Axis("Dry film of one coat", "um", (1, 2, 5, 7, 10, 20, 40)),
        "1",
        lambda dry, coat: bench("coats-needed", dry_film=dry, film_per_coat=coat),
    )


@table(
    "coating-volume",
    title="Amount of the house's chosen coating, by area and coats",
    question="How much coating must I pour out?",
    notes=("Before thinner; what stays in the brush, pot or can comes on top.",),
)
def coating_volume_table(bench):
    """Area by coats, for the chosen coating."""
    kind = bench.value("coating.kind")
    key = f"coating.kinds.{kind}"
    film = bench.value(f"{key}.film_per_coat")
    solids = bench.value(f"{key}.volume_solids")
    efficiency = bench.value(f"{key}.transfer_efficiency")
    sheet = matrix(
        Axis("Surface", "cm^2", (10, 20, 50, 100, 200, 500, 1000)),
        Axis("Coats", "1", (1, 2, 3, 4, 5, 6)),
        "mL",
        lambda area, coats: bench(
            "coverage",
            area=area,
            dry_film=film,
            volume_solids=solids,
            transfer_efficiency=efficiency,
            coats=coats,
        ),
        digits=2,
    )
    return Sheet(sheet.columns, sheet.rows, notes=(f"Chosen coating: {kind}.",))


@table(
    "resin-mass",
    title="Resin to weigh out for a solution",
    question="How much resin?",
    notes=(
        "Strength in g of resin in 100 mL of finished solution: weigh the resin, then add solvent "
        "up to the volume.",
    ),
)
def resin_mass_table(bench):
    """Volume of solution by its strength."""
    return matrix(
        Axis("Solution", "mL", (25, 50, 100, 200, 250, 500, 1000)),
        Axis("Strength", "%", (3, 5, 10, 15, 20)),
        "g",
        lambda volume, percent: bench("resin-mass", volume=volume, percent=percent),
    )


# --- plots -------------------------------------------------------------------------------------


@plot(
    "cure",
    title="When the house's coating may be recoated, held and boxed",
    table="cure-windows",
    notes=("Bands are what the spans of the activation energies make of it.",),
)
def cure_plot(bench):
    """Hours by temperature, for the stages of the chosen coating."""
    kind = bench.value("coating.kind")
    humidity = bench.value("coating.room_humidity")
    low = bench.value(f"coating.kinds.{kind}.minimum_temperature")
    high = bench.value(f"coating.kinds.{kind}.maximum_temperature")
    windows = trace(spaced(float(low), float(high), 12), lambda t: _window(bench, kind, t, humidity))

    def line(label, stage):
        return Line(label, [(t, found[stage] if isinstance(found, dict) else found) for t, found in windows])

    return Chart(
        Scale("Air and piece", "degC", float(low), float(high)),
        Scale("After the coat", "h", log=True),
        [
            line("full cure", "full_cure"),
            line("recoat from", "earliest_recoat"),
            line("touch dry", "touch_dry"),
        ],
        [Limit("room", bench.value("coating.room_temperature"), "x")],
        notes=(f"Chosen coating: {kind}.",),
    )


@plot(
    "dew-point-field",
    title="Is the piece warm enough, and the air dry enough, to coat?",
    table="spray-cold-piece",
    notes=(
        "go: coat. wait: warm the piece, then measure again. stop: damp or hot air, or water on the piece.",
    ),
)
def dew_point_plot(bench):
    """The verdict by humidity and by temperature of the piece, in the air of the house's room."""
    air = bench.value("coating.room_temperature")
    edges = [float(bench.value(f"coating.{key}_temperature")) for key in ("minimum", "maximum")]
    damp = float(bench.value("coating.maximum_humidity"))
    humidities = sorted({*spaced(30.0, 90.0, 30), damp, min(damp + 0.001, 90.0)})
    dew_points = [bench("dew-point", temperature=air, humidity=h)["dew_point"] for h in humidities]
    low, high = min(0.0, floor(dew_points[0])), max(air, edges[1]) + 5.0
    columns = []
    for humidity, dew in zip(humidities, dew_points, strict=True):
        least = bench("surface-minimum", air_temperature=air, humidity=humidity)
        cuts = sorted({low, high, *(cut for cut in (dew, least, *edges) if low < cut < high)})
        columns.append((humidity, _verdicts(bench, air, humidity, cuts)))
    return Chart(
        Scale("Humidity of the air", "%", 30.0, 90.0),
        Scale("Piece", "degC", low, high),
        [Line("dew point", list(zip(humidities, dew_points, strict=True)))],
        zones=_zones(columns),
        says="Damp air is a stop at any warmth, and so is a piece below the dew point; above it a cold piece "
        "has to wait.",
        notes=(f"Air at {air:g} °C.",),
    )


def _verdicts(bench, air, humidity, cuts):
    """Return the verdicts from the coldest piece to the warmest, each with its ends."""
    found = []
    for low, high in pairwise(cuts):
        surface = (low + high) / 2
        word = bench("spray-check", air_temperature=air, humidity=humidity, surface_temperature=surface)[
            "verdict"
        ]
        if found and found[-1][0] == word:
            found[-1] = (word, found[-1][1], high)
        else:
            found.append((word, low, high))
    return found


def _zones(columns):
    """Return the zones of one verdict each, from columns that hold the same verdicts in the same order."""
    zones = []
    stretch: list = []
    for column in [*columns, (None, [])]:
        if stretch and [v[0] for v in column[1]] != [v[0] for v in stretch[-1][1]]:
            for i, (word, *_) in enumerate(stretch[0][1]):
                zones.append(Zone(word, [(h, *verdicts[i][1:]) for h, verdicts in stretch]))
            stretch = []
        stretch.append(column)
    return [zone for zone in zones if len(zone.columns) > 1]


@plot(
    "film",
    title="Wet film for a dry film, for the house's coatings",
    table="wet-film",
    notes=("Solids by volume. Aim at the next tooth of the comb above the line.",),
)
def film_plot(bench):
    """Wet film over dry film, one line for each solids content of the house, with its thinner."""
    kinds = bench.names("coating.kinds")
    solids = sorted({float(bench.value(f"coating.kinds.{kind}.volume_solids")) for kind in kinds})
    thinner = bench.value("coating.thinner")
    chosen = bench.value("coating.kind")
    coat = float(bench.value(f"coating.kinds.{chosen}.film_per_coat"))
    dry = spaced(0.0, 4 * coat, 8)[1:]
    return Chart(
        Scale("Dry film", "um", 0.0, dry[-1]),
        Scale("Wet film", "um", 0.0),
        [
            Line(
                f"{share:g} % solids",
                trace(
                    dry,
                    lambda film, s=share: bench("wet-film", dry_film=film, volume_solids=s, thinner=thinner),
                ),
            )
            for share in solids[:6]
        ],
        [Limit(f"one coat of {chosen}", coat, "x")],
        notes=(f"With {thinner:g} % of thinner added.",),
    )
