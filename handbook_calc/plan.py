"""Plan: the steps that one piece goes through on this bench, why, how long, with what, and what is refused.

Each step has the name of its procedure page. What it says stands in its declaration; what it reckons is made
of the calculations of the catalogue and of plain arithmetic in their subset, so that the page runs the same
plan. ``v`` holds the facts and house values by key, ``coat.*`` those of the coating that is wanted; ``done``
what the steps before gave. Times are hours; a segment is [count, hands on, wait after, latest start of the
next]: a wait goes on day and night, hands work in the attended hours only.
"""

from math import ceil, floor, pi

from handbook_calc.abrasives import grit_progression
from handbook_calc.alcohol import soak_time, soaks_needed
from handbook_calc.alkalinity import bath_chloride_limit
from handbook_calc.coating import coating_amounts, cure_window
from handbook_calc.diffusion import HIGHEST, slab_fourier, slab_released
from handbook_calc.electrolysis import cathode_current, electrolyte_mass
from handbook_calc.engine.calculation import because
from handbook_calc.engine.steps import Figure, step
from handbook_calc.etching import (
    ACID_DENSITIES,
    ACID_STRENGTHS,
    bath_capacity,
    dilute_etchant,
    etch_gate,
    etch_time,
    interpolate,
    neutraliser_mass,
    nital_acid,
)
from handbook_calc.oven import (
    LIQUID_DENSITY,
    RUST_FILLED,
    crack_drying_time,
    heat_up_time,
    oven_vapour,
    ramp_time,
)
from handbook_calc.piece import kind_density
from handbook_calc.rinsing import drag_out, rinse_baths
from handbook_calc.soaking import open_depth
from handbook_calc.solvents import solvent_place
from handbook_calc.specimen import GRADES, condition_grade, flatten_loss
from handbook_calc.storage import gel_mass
from handbook_calc.waste import waste_containers

WEEK = 7
DAY = 24
MINUTES = 60
TWICE = 2  # after that many treatments more baths cost metal and prove nothing
EARLY_STANDS = 60  # stands in which a bath may be spent before its time
HALVINGS = 30
FACE_UNIT = 10  # square centimetres that the house's hands-on times are given for


# --- what several steps ask --------------------------------------------------------------------


def left_out(why):
    """Return the result of a step that is not done."""
    return {
        "applies": False, "why": why, "refused": None, "figures": {}, "segments": [], "attended": 0.0,
        "uses": [], "holds": [], "says": {"waste": 0.0},
    }  # fmt: skip


def refused_wish(why, refused):
    """Return the result of a step that is wanted and not done, because it would do harm."""
    return {
        "applies": False, "why": why, "refused": refused, "figures": {}, "segments": [], "attended": 0.0,
        "uses": [], "holds": [], "says": {"waste": 0.0},
    }  # fmt: skip


def planned(why, refused, figures, segments, uses, holds):
    """Return the result of a step that is done, or that is refused with all that it would take."""
    return telling(why, refused, figures, segments, uses, holds, {"waste": 0.0})


def telling(why, refused, figures, segments, uses, holds, says):
    """Return the same of a step that has something to say to those after it."""
    attended = 0.0
    for i in range(len(segments)):
        attended = attended + segments[i][0] * segments[i][1]
    return {
        "applies": True, "why": why, "refused": refused, "figures": figures, "segments": segments,
        "attended": attended, "uses": uses, "holds": holds, "says": says,
    }  # fmt: skip


def simple(why, minutes, wait, holds):
    """Return the result of a step without figures: hands on for some minutes, then a wait of some hours."""
    return planned(why, None, {}, [[1, minutes / MINUTES, wait, None]], [], holds)


def level_of(v):
    """Return the condition grade as a number, 0 to 5."""
    grade = condition_grade(
        v["piece.rusted_share"], v["piece.beads"], v["piece.flaking"], v["piece.crack_length"],
        v["piece.return_days"], v["specimen.few_spots"], v["specimen.wide_rust"], v["specimen.fast_return"],
        v["specimen.long_crack"],
    )["grade"]  # fmt: skip
    for i in range(len(GRADES)):
        if GRADES[i] == grade:
            return i
    return len(GRADES) - 1


def metal_volume(v):
    """Return the volume of the piece, cm^3."""
    density = kind_density(
        v["piece.kind"], v["abrasives.density"], v["specimen.pallasite_density"],
        v["specimen.mesosiderite_density"],
    )  # fmt: skip
    return v["piece.mass"] / density


def way(v):
    """Return how far what is in the deepest crack has to go, mm: half of it where both ends are open."""
    return open_depth(v["piece.crack_depth"], v["piece.crack_through"])


def slower(v):
    """Return how many times slower a clean law gets by what fills the crack."""
    if v["piece.crack_filled"]:
        return RUST_FILLED
    return 1


def treated(done):
    """Say whether the piece goes through baths in this plan."""
    return done["decide"]["says"]["route"] == "bath"


def returned(v):
    """Say whether rust came back within the house's season."""
    if v["piece.return_days"] is None:
        return False
    return v["piece.return_days"] <= v["specimen.fast_return"]


def coat_wanted(v):
    """Say whether a coating is wanted."""
    return v["wanted.coating"] != "none"


def has_face(v):
    """Say whether the piece has a cut face."""
    return v["piece.shape"] == "slice" or v["piece.shape"] == "end piece"


def face_area(v):
    """Return the area of one face, cm^2."""
    box = v["piece.length"] * v["piece.width"] / 100
    if v["piece.shape"] == "slice":
        return box * v["specimen.outline"]
    return box * pi / 4


def finishes(v, done):
    """Say whether a face is finished in this plan."""
    if v["wanted.face"] and has_face(v):
        return done["survey"]["says"]["level"] <= 2 or treated(done)
    return False


def etches(v, done):
    """Say whether a face may be etched in this plan, as far as its glue and its nodules go."""
    if v["piece.glued"] or v["piece.sulphide"]:
        return False
    if done["sand"]["applies"]:
        return v["wanted.etchant"] != "none"
    return False


def sanding(v):
    """Return papers and depth of the sanding, from the house's first paper to its last."""
    start = v["abrasives.start_precision"] if v["piece.etched"] else v["abrasives.start"]
    finish = (
        v["abrasives.finish_ferric"] if v["wanted.etchant"] == "ferric chloride" else v["abrasives.finish"]
    )
    return grit_progression(
        start, finish, v["abrasives.ratio"], v["abrasives.stocked"], v["abrasives.paste_ratio"],
        v["abrasives.removal_factor"],
    )  # fmt: skip


def thickness_left(v):
    """Return the thickness after flattening, where the bow asks for it, and after sanding, mm."""
    flattened = v["piece.warp"] if v["piece.warp"] > v["abrasives.flatness"] else 0.0
    return v["piece.thickness"] - flattened - sanding(v)["removal"] / 1000


def too_thin(v):
    """Say whether a face would leave less of the piece than the house keeps."""
    if v["piece.shape"] == "slice" and thickness_left(v) < v["abrasives.thin_limit"]:
        return True
    # Flattening keeps to the limit for every shape.
    if v["piece.warp"] <= v["abrasives.flatness"]:
        return False
    return v["piece.thickness"] - v["piece.warp"] < v["abrasives.thin_limit"]


# --- take in and decide ------------------------------------------------------------------------


@step(
    "intake",
    title="Take in and record",
    why={"always": "Every piece is recorded before it is touched."},
    holds={"identity": "Do number, label, mass and photographs belong together?"},
    record=("Number and owner", "Mass, three sides, area", "Photographs", "Consent in writing"),
)
def intake(v, done):
    """Hands on, once."""
    return simple(because("always"), v["work.intake"], 0, [because("identity")])


@step(
    "instruments",
    title="Check the instruments",
    after="intake",
    why={"always": "What was not checked today proves nothing today."},
    holds={"checked": "Are balance, thermometer and hygrometer within their errors?"},
    record=("Balance with its weight", "Hygrometer over two salts"),
)
def instruments(v, done):
    """Hands on, then the day over the salts."""
    return simple(because("always"), v["work.instruments"], v["storage.salt_time"], [because("checked")])


@step(
    "survey",
    title="Survey its condition",
    after="instruments",
    figures={"grade": Figure("1", "condition grade, 0 to 5")},
    why={"always": "The grade opens and closes the routes; it is made anew, and not from memory."},
    holds={"two": "Would a second person give the same grade?"},
    record=(
        "Grade, date, humidity",
        "Map of rust, beads and cracks",
        "Depth of cracks, and how it was guessed",
    ),
)
def survey(v, done):
    """The grade of the facts."""
    level = level_of(v)
    return telling(
        because("always"), None, {"grade": level}, [[1, v["work.survey"] / MINUTES, 0, None]], [],
        [because("two")], {"waste": 0.0, "level": level},
    )  # fmt: skip


@step(
    "stony-irons",
    title="Read the cautions of stony-irons and glued pieces",
    after="survey",
    why={
        "stony": "Silicate in the metal: no current, no acid on its borders, lukewarm water, a cool oven.",
        "glued": "Glue or filler: no acetone, a cool oven, no acid near a joint.",
        "sulphide": "Sulphide in the face: no acid reaches it.",
        "plain": "Noted as a plain iron, with no glue and no open sulphide: nothing of this page applies. "
        "What nobody has looked at is looked at first.",
    },
    holds={"marked": "Are joints, fillings and nodules drawn into the photograph?"},
    record=("Joints, fillings, nodules on the photograph",),
)
def stony_irons(v, done):
    """Applies to all but a plain iron."""
    if v["piece.kind"] != "iron":
        return simple(because("stony"), v["work.read_cautions"], 0, [because("marked")])
    if v["piece.glued"]:
        return simple(because("glued"), v["work.read_cautions"], 0, [because("marked")])
    if v["piece.sulphide"]:
        return simple(because("sulphide"), v["work.read_cautions"], 0, [because("marked")])
    return left_out(because("plain"))


@step(
    "decide",
    title="Decide on the route",
    after="stony-irons",
    why={
        "support": "G5: support and net what moves, and keep it in the driest box. A soak may be planned "
        "when "
        "nothing moves any more and it has been graded anew; current and resin never before.",
        "for-good": "It has been treated {0} times: more baths cost metal and prove nothing. Driest box, for "
        "good.",
        "glued": "Glued, and alkali loosens many glues: the driest box is the default. A bath is planned "
        "only "
        "after the glue has been taken off on purpose, by the owner's word.",
        "beads": "G4: beads are chloride at work. Baths, then the watch.",
        "came-back": "G3, and rust came back within {0 d} although it was kept: chloride is behind it. "
        "Baths, "
        "then the watch. A restless watch is no reason to wait again.",
        "must-leave-box": "G3, and a face or a coat is wanted: it can only be had from a piece that has been "
        "through baths and then stays quiet.",
        "stony": "G3 in a stony-iron: the driest box is gentler than any bath, which may loosen its "
        "silicate.",
        "box-is-enough": "G3, and nothing is wanted of it that the driest box does not give: no bath.",
        "spots": "G1 or G2: a stable piece is not put into a bath. Lift what is loose, keep it dry.",
        "quiet": "G0: leave it alone, and keep it dry.",
    },
    holds={
        "consent": "Is the consent written, for each step that cannot be undone?",
        "etched": "Does the owner know that the etched face will not survive the bath, and what a new one "
        "costs?",
        "carrier": "Is somebody named who takes each kind of waste, before the first litre is made?",
    },
    record=("Route, with its reason", "Routes refused, with theirs", "Owner's word"),
)
def decide(v, done):
    """The first question of the page that stops."""
    level = done["survey"]["says"]["level"]
    route = "dry"
    why = because("quiet")
    if level == 5:
        why = because("support")
    elif level >= 3 and v["piece.treatments"] >= TWICE:
        why = because("for-good", v["piece.treatments"])
    elif level >= 3 and v["piece.glued"]:
        why = because("glued")
    elif level == 4:
        route = "bath"
        why = because("beads")
    elif level == 3 and v["piece.kind"] != "iron":
        why = because("stony")
    elif level == 3 and returned(v):
        route = "bath"
        why = because("came-back", v["specimen.fast_return"])
    elif level == 3 and (v["wanted.face"] or coat_wanted(v)):
        route = "bath"
        why = because("must-leave-box")
    elif level == 3:
        why = because("box-is-enough")
    elif level > 0:
        why = because("spots")
    holds = [because("consent")]
    if route == "bath" and v["piece.etched"]:
        holds.append(because("etched"))
    if route == "bath" or v["wanted.face"] or coat_wanted(v):
        holds.append(because("carrier"))
    return telling(
        why, None, {}, [[1, v["work.decide"] / MINUTES, 0, None]], [], holds, {"waste": 0.0, "route": route}
    )


@step(
    "rust-came-back",
    title="Find out why rust came back, and take off its film",
    after="decide",
    why={
        "came-back": "Rust came back after {0 d}: first dry air, then the cause, then the earliest stage "
        "that "
        "failed.",
        "film": "A coat is on it: it is taken off before any bath, paper or new coat. Under a film nobody "
        "sees "
        "what rusts.",
        "first-time": "No rust is noted to have come back within {0 d}, and no film that would stand in the "
        "way.",
    },
    holds={"dry-first": "Does it stand in its own dry box, photographed before anything was touched?"},
    cautions=("alcohols", "isocyanates"),
    record=("pH and chloride of a bead", "Cause, and how sure", "What the film was, and what took it off"),
)
def rust_came_back(v, done):
    """Applies where rust came back soon, and where a film is to come off."""
    if returned(v):
        return simple(
            because("came-back", v["piece.return_days"]), v["work.came_back"], 0, [because("dry-first")]
        )
    if v["piece.coated"] != "none" and (treated(done) or finishes(v, done) or coat_wanted(v)):
        return simple(because("film"), v["work.came_back"], 0, [because("dry-first")])
    return left_out(because("first-time", v["specimen.fast_return"]))


@step(
    "clean",
    title="Lift the loose rust",
    after="rust-came-back",
    figures={"area": Figure("cm^2", "surface with rust on it")},
    why={
        "loose": "Loose dry rust is lifted spot by spot, before anything else reaches it.",
        "none": "There is no rust to lift.",
        "wet": "Beads or moving flakes: brushing spreads salt and loses metal.",
    },
    holds={"bright": "Do you stop where bright metal or old tight skin shows?"},
    cautions=("dust",),
    record=("Mass before and after", "What was lifted, bagged and kept"),
)
def clean(v, done):
    """By the rusted surface."""
    level = done["survey"]["says"]["level"]
    if level > 3:
        return left_out(because("wet"))
    if v["piece.rusted_share"] <= 0:
        return left_out(because("none"))
    area = v["piece.area"] * v["piece.rusted_share"] / 100
    hands = v["work.clean"] * max(1, area / FACE_UNIT) / MINUTES
    return planned(
        because("loose"), None, {"area": area}, [[1, hands, 0, None]], [], [because("bright")]
    )  # fmt: skip


# --- take chloride out -------------------------------------------------------------------------


def bath_litres(v):
    """Return the liquid of one bath, L, to the next twentieth of a litre."""
    least = max(v["work.least_bath"], v["work.bath_ratio"] * metal_volume(v) / 1000)
    return ceil(least * 20 - 1e-9) / 20


def rule_day(salt, per_day, stand, enough):
    """Return the day from which a bath that stands for the stand draws no more than the stop rule allows."""
    if salt * slab_released(min(stand * per_day, HIGHEST)) <= enough:
        return 0.0
    low = 0.0
    high = HIGHEST / per_day
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        after = slab_released(min((middle + stand) * per_day, HIGHEST))
        if salt * (after - slab_released(middle * per_day)) <= enough:
            high = middle
        else:
            low = middle
    return high


def bath_course(v, litres):
    """Return days and baths of a course: until the share is out and the stop rule has passed twice."""
    per_day = v["electrolysis.diffusivity"] * 86_400 / (way(v) / 1000) ** 2
    stand = v["electrolysis.stand"]
    salt = v["electrolysis.chloride"] * v["piece.mass"] / 1000
    by_mass = v["electrolysis.mass_limit"] * v["piece.mass"] / 1000 * stand / WEEK
    enough = min(v["electrolysis.stop_limit"] * litres, by_mass)
    out = slab_fourier(v["electrolysis.extract"] / 100) / per_day
    days = max(out, rule_day(salt, per_day, stand, enough) + 2 * stand)
    full = litres * bath_chloride_limit(
        v["electrolysis.salt"], v["electrolysis.strength"], v["electrolysis.chloride_share"],
        v["electrolysis.temperature"],
    )  # fmt: skip
    early = 0.0
    spent = 0
    for _ in range(EARLY_STANDS):
        if early >= days:
            break
        before = slab_released(min(early * per_day, HIGHEST))
        drawn = salt * (slab_released(min((early + stand) * per_day, HIGHEST)) - before)
        if drawn <= full:
            break
        spent = spent + ceil(drawn / full)
        early = early + stand
    late = max(0, ceil((days - early) / stand - 1e-9))
    # Nobody changes a bath more than once a day: a larger first bath does what a second change would.
    spent = min(spent, floor(early))
    return {"days": days, "early": early, "spent": spent, "late": late, "baths": spent + late}


@step(
    "electrolysis",
    title="Take chloride out: alkaline baths",
    after="clean",
    needed=True,
    figures={
        "bath": Figure("L", "liquid of one bath"),
        "salt": Figure("g", "salt for one bath"),
        "baths": Figure("1", "baths, by the guesses; readings replace them", 2),
        "liquid": Figure("L", "liquid of all baths"),
        "current": Figure("A", "current, where it is used and the contact is sure"),
    },
    why={
        "soak": "Chloride is drawn out in alkaline baths, without current, until the stop rule passes twice.",
        "current": "Chloride is drawn out in alkaline baths until the stop rule passes twice; current at the "
        "house's setting is allowed and not needed.",
        "no-bath": "No bath is on its route: see what was decided.",
    },
    refusals={
        "too-large": "Not feasible on this bench: one bath would be {0 L}, and the largest tub here holds "
        "{1 L}. "
        "Keep it dry, see Store, or send it to somebody who has the tub and the way for its waste.",
        "too-long": "Not feasible on this bench: by the guesses the baths last {0 d}, and no course here is "
        "planned for more than {1 d}. Keep it dry, see Store. A better look at the depth of its crack, or "
        "readings of two trial baths, may change that.",
    },
    holds={
        "test": "Is the bath read before it is poured away, beside its blank and its standard?",
        "stop": "Did two baths in a row pass both limits, each stood its full time?",
        "sign": "With current: is the piece the negative side, checked by a second person?",
    },
    cautions=("alkali", "hydrogen", "electricity"),
    record=("Each bath: salt, liquid, day in, day out", "Volts and amperes", "Shed grains, weighed and kept"),
)
def electrolysis(v, done):
    """Baths of ten times the metal's volume, by diffusion out of the deepest crack."""
    if not treated(done):
        return left_out(because("no-bath"))
    litres = bath_litres(v)
    course = bath_course(v, litres)
    salt = electrolyte_mass(litres, v["electrolysis.strength"], v["electrolysis.strength_limit"])
    plain = v["piece.kind"] == "iron" and done["survey"]["says"]["level"] == 3
    current = None
    why = because("soak")
    holds = [because("test"), because("stop")]
    if plain:
        current = cathode_current(
            v["piece.area"], v["electrolysis.current_density"], v["electrolysis.supply_limit"],
            v["electrolysis.density_limit"], v["piece.kind"], None,
        )["current"]  # fmt: skip
        why = because("current")
        holds.append(because("sign"))
    refused = None
    if litres > v["work.largest_bath"]:
        refused = because("too-large", litres, v["work.largest_bath"])
    elif course["days"] > v["work.longest_course"]:
        refused = because("too-long", floor(course["days"]), v["work.longest_course"])
    change = v["work.bath_change"] / MINUTES
    read = v["work.chloride_test"] / MINUTES
    segments = []
    if course["spent"] > 0:
        # What is left of the stands that were cut short goes to the last of these baths.
        often = DAY * max(1, floor(course["early"] / course["spent"]))
        rest = DAY * course["early"] - (course["spent"] - 1) * often
        segments.append([course["spent"] - 1, change + read, max(0, often - change - read), None])
        segments.append([1, change + read, max(0, rest - change - read), None])
    stand = DAY * v["electrolysis.stand"]
    segments.append([course["late"], change + read, max(0, stand - change - read), None])
    liquid = course["baths"] * litres
    return {
        "applies": True, "why": why, "refused": refused,
        "figures": {
            "bath": litres, "salt": salt, "baths": course["baths"], "liquid": liquid, "current": current,
        },
        "segments": segments, "attended": course["baths"] * change,
        "uses": [["water", liquid], ["salt", course["baths"] * salt], ["alkaline waste", liquid]],
        "holds": holds, "says": {"waste": liquid, "baths": course["baths"]},
    }  # fmt: skip


@step(
    "chloride-test",
    title="Read the chloride of every bath",
    after="electrolysis",
    beside="electrolysis",
    figures={"readings": Figure("1", "readings, one a bath", 2)},
    why={
        "each": "Each bath is read before it is poured away; the ledger ends the treatment, no date does.",
        "no-bath": "There is no bath to read.",
    },
    holds={"sees": "Does the test show the weakest standard on the same day?"},
    cautions=("nitric-acid", "silver-nitrate"),
    record=("Reading, blank, liquid and days of each bath, raw", "Sum by mass of the piece"),
)
def chloride_test(v, done):
    """One reading a bath; its hands are counted into the change of the bath for the dates."""
    if not treated(done):
        return left_out(because("no-bath"))
    baths = done["electrolysis"]["says"]["baths"]
    each = v["work.chloride_test"] / MINUTES
    return planned(
        because("each"), None, {"readings": baths}, [[baths, each, 0, None]], [], [because("sees")]
    )


@step(
    "rinse",
    title="Rinse the bath out",
    after="chloride-test",
    needed=True,
    figures={
        "bath": Figure("mL", "water of one rinse"),
        "baths": Figure("1", "rinses", 2),
        "last": Figure("h", "stand in the last one"),
        "drag_out": Figure("mL", "liquid carried from one to the next"),
    },
    why={
        "after-bath": "Alkali and chloride are rinsed off and out of the cracks, or they bloom later.",
        "no-bath": "It has not been in a bath.",
    },
    holds={
        "neutral": "Are pH and conductivity of the last rinse those of fresh water?",
        "clear": "Is the chloride test of the last rinse clear beside its blank?",
    },
    cautions=("alkali",),
    record=("pH, conductivity and chloride of the last rinse",),
)
def rinse(v, done):
    """Fresh baths for the outside, then one stand that is long enough for the deepest crack."""
    if not treated(done):
        return left_out(because("no-bath"))
    carried = drag_out(v["piece.area"], v["rinsing.film"], v["piece.crack_volume"])
    bath = max(v["rinsing.bath"], v["work.cover_ratio"] * metal_volume(v))
    baths = max(v["rinsing.least_baths"], rinse_baths(v["rinsing.start"], v["rinsing.limit"], carried, bath))
    crack = slab_fourier(v["drying.soak_fraction"] / 100) * (way(v) * 1000) ** 2 / v["rinsing.diffusivity"]
    last = max(v["rinsing.last_stand"], crack * slower(v) / 3600)
    change = v["work.rinse_change"] / MINUTES
    short = v["rinsing.stand"] / MINUTES
    water = baths * bath / 1000
    return telling(
        because("after-bath"), None,
        {"bath": bath, "baths": baths, "last": last, "drag_out": carried},
        [[baths - 1, change + short, 0, None], [1, change, last, None]],
        [["water", water], ["rinse water", water]],
        [because("neutral"), because("clear")],
        {"waste": water},
    )  # fmt: skip


# --- dry ---------------------------------------------------------------------------------------


def soak_hours(v):
    """Return the hours in all alcohol baths together that the deepest crack asks for."""
    clean = soak_time(
        v["piece.crack_depth"], v["drying.soak_fraction"], v["drying.soak_temperature"],
        v["drying.diffusivity"], v["drying.diffusion_activation"], v["drying.soak_temperature"],
        v["piece.crack_through"],
    )["time"]  # fmt: skip
    return clean * slower(v)


def jar(v):
    """Return the alcohol of one soak, mL: for the cracks' own water, and so that the piece lies covered."""
    for_cracks = v["drying.bath_ratio"] * v["piece.crack_volume"]
    return max(v["drying.bath"], for_cracks, v["work.cover_ratio"] * metal_volume(v))


def air_hours(v):
    """Return the hours in moving air until solvent has left the deepest crack, were it full of rust."""
    clean = crack_drying_time(
        v["drying.solvent"], v["piece.crack_depth"], v["drying.room_temperature"], None, None, None,
        v["piece.crack_through"],
    )  # fmt: skip
    return max(v["drying.air_dry"], RUST_FILLED * clean)


@step(
    "dehydrate",
    title="Drive the water out with alcohol",
    after="rinse",
    needed=True,
    figures={
        "soaks": Figure("1", "soaks, one upon the other", 2),
        "bath": Figure("mL", "solvent of one soak"),
        "hours": Figure("h", "all soaks together"),
        "air": Figure("h", "first stay in moving air"),
    },
    why={
        "wet": "The cracks are full of water: alcohol takes its place, and leaves by itself.",
        "dry": "It has not been wet in this plan.",
    },
    refusals={
        "too-much-solvent": "Not feasible on this bench: one soak would take {0 L} of flammable solvent, "
        "and no "
        "more than {1 L} stands open here. A piece that cannot be dried is not made wet: keep it dry, see "
        "Store.",
    },
    holds={
        "strength": "Does the last bath still read as a last bath after the piece?",
        "smell": "Is there no smell of solvent, for a second person too?",
        "still": "Do two weighings in moving air agree?",
    },
    cautions=("alcohols",),
    record=("Density and temperature of each jar", "Hours in each bath", "Weighings in moving air"),
)
def dehydrate(v, done):
    """Enough soaks for the water, enough hours for the crack, then moving air."""
    if not treated(done):
        return left_out(because("dry"))
    bath = jar(v)
    water = drag_out(v["piece.area"], v["rinsing.film"], v["piece.crack_volume"])
    soaks = max(
        v["drying.soaks"], soaks_needed(water, bath, v["drying.water_limit"], v["drying.solvent_water"])
    )
    hours = max(soaks * v["drying.soak"], soak_hours(v))
    air = air_hours(v)
    refused = None
    if bath / 1000 > v["work.largest_jar"]:
        refused = because("too-much-solvent", bath / 1000, v["work.largest_jar"])
    change = v["work.alcohol_change"] / MINUTES
    weigh = v["work.weigh"] / MINUTES
    solvent = soaks * bath / 1000
    return telling(
        because("wet"), refused,
        {"soaks": soaks, "bath": bath, "hours": hours, "air": air},
        [[soaks, change, hours / soaks, None], [1, weigh, air, None], [1, weigh, v["drying.air_dry"], None]],
        [["solvent", solvent], ["solvent waste", bath / 1000]],
        [because("strength"), because("smell"), because("still")],
        {"waste": bath / 1000},
    )  # fmt: skip


def oven_heat(v):
    """Return the temperature of the oven for this piece, degC: stony-irons and glued pieces stay cool."""
    if v["piece.glued"] or v["piece.kind"] != "iron":
        return min(v["drying.glued_ceiling"], v["drying.oven_temperature"])
    return v["drying.oven_temperature"]


def warming_hours(v):
    """Return the hours until the middle of the piece is as warm as the oven, within its margin."""
    heat = oven_heat(v)
    return heat_up_time(
        v["piece.mass"], v["piece.area"], v["drying.room_temperature"], heat, heat - v["drying.oven_margin"],
        v["drying.coefficient"], v["drying.specific_heat"], v["abrasives.density"], v["drying.conductivity"],
        v["drying.oven_ceiling"], None,
    )["time_inside"] / MINUTES  # fmt: skip


def oven_hours(v, warming):
    """Return the hours of one round in the oven: slow rise, warming through, hold, and cooling."""
    rise = ramp_time(v["drying.room_temperature"], oven_heat(v), v["drying.oven_ramp"])
    return max(v["drying.weighing_interval"], rise + v["drying.oven_hold"] + 3 * warming)


def balance_sees(v):
    """Say whether the balance can see the share of the cracks' water that must not be left."""
    hidden = max(v["drying.divisions"] * v["drying.balance"], v["drying.mass_drift"] / 100 * v["piece.mass"])
    return hidden <= v["drying.proof_share"] / 100 * v["piece.crack_volume"]


def vapour_safe(v):
    """Say whether solvent left in the cracks alone keeps the oven below the house's share."""
    solvent = v["drying.solvent"]
    mass = v["piece.crack_volume"] * LIQUID_DENSITY[solvent_place(solvent)]
    verdict = oven_vapour(solvent, mass, v["drying.oven_volume"], oven_heat(v), v["drying.safety_share"])[
        "verdict"
    ]
    return verdict == "go"


@step(
    "oven-dry",
    title="Dry in the oven, and prove it",
    after="dehydrate",
    needed=True,
    figures={
        "temperature": Figure("degC", "oven", 0),
        "warming": Figure("h", "until the metal is as warm as the oven"),
        "rounds": Figure("1", "rounds in the oven, each with its weighing", 2),
        "round": Figure("h", "one round with its rise, hold and cooling"),
    },
    why={
        "prove": "Only a mass that stands still, or a closed box that stays dry, shows that it is dry.",
        "dry": "It has not been wet in this plan.",
    },
    refusals={
        "vapour": "What solvent the cracks may hold would bring the oven above the house's share of the "
        "flammable limit: a larger oven, or none. A piece that cannot be dried is not made wet: keep it dry, "
        "see Store.",
    },
    holds={
        "no-smell": "Is there no smell, and did the mass stand still in moving air?",
        "mass": "Do the last weighings agree within the allowance?",
        "sealed-box": "The balance cannot see the water of these cracks: does the air of a tight box with "
        "the "
        "piece stay as dry as without it?",
    },
    cautions=("ovens", "alcohols"),
    record=("Each round: hours, temperature, mass to the last digit",),
)
def oven_dry(v, done):
    """Two rounds, a hotter one for plain irons; where the balance is too coarse, the closed box."""
    if not treated(done):
        return left_out(because("dry"))
    rounds = 2
    if v["piece.kind"] == "iron" and not v["piece.glued"]:
        rounds = 3
    warming = warming_hours(v)
    each = oven_hours(v, warming)
    hands = 2 * v["work.weigh"] / MINUTES
    segments = [[rounds, hands, each, None]]
    holds = [because("no-smell")]
    if balance_sees(v):
        holds.append(because("mass"))
    else:
        holds.append(because("sealed-box"))
        segments.append([3, v["work.weigh"] / MINUTES, v["drying.weighing_interval"], None])
    refused = None if vapour_safe(v) else because("vapour")
    return telling(
        because("prove"), refused,
        {"temperature": oven_heat(v), "warming": warming, "rounds": rounds, "round": each},
        segments, [], holds,
        {"waste": 0.0, "round": each},
    )  # fmt: skip


# --- the dry box and the watch -----------------------------------------------------------------


@step(
    "store",
    title="Make its dry box",
    after="oven-dry",
    figures={
        "humidity": Figure("%", "most humid air for its grade", 0),
        "gel": Figure("g", "gel, with its reserve"),
        "box": Figure("L", "volume of the box"),
    },
    why={
        "always": "Dry air is the lasting defence of every piece, treated or not. It goes back into this box "
        "after each step to come.",
    },
    holds={
        "proven": "Has the corrected trace of the box stayed below its alarm?",
        "dry": "Does the record show the piece dry?",
    },
    cautions=("ovens",),
    record=("Box, gel with its dry mass and date", "Humidity, raw and corrected"),
)
def store(v, done):
    """Gel for the house's period, by the limit of the grade."""
    level = done["survey"]["says"]["level"]
    limit = v["storage.limit_active"]
    if level == 0:
        limit = v["storage.limit_stable"]
    elif level < 3:
        limit = v["storage.limit_doubtful"]
    gel = gel_mass(
        v["wanted.box"], v["storage.air_changes"], v["storage.gel_period"], v["storage.room_temperature"],
        v["storage.room_humidity"], limit, v["storage.gel_reserve"], v["storage.sensor_error"], None,
        None, None, v["storage.gel_capacity"], None,
    )["reserve_mass"]  # fmt: skip
    return planned(
        because("always"), None, {"humidity": limit, "gel": gel, "box": v["wanted.box"]},
        [[1, v["work.store"] / MINUTES, v["storage.gel_oven_time"] + DAY, None]],
        [["gel", gel]], [because("dry"), because("proven")],
    )  # fmt: skip


@step(
    "monitor",
    title="Watch it in the dry box",
    after="store",
    figures={"watch": Figure("d", "the watch", 0)},
    why={
        "watch": "A step that cannot be undone waits for a quiet watch; the piece is graded anew at its end.",
        "first-look": "The first look shows whether the box holds.",
    },
    holds={
        "quiet": "Was the watch quiet: no bead, no new spot, no flake? A spot sends it back to Rust came "
        "back, "
        "with one treatment more on its record.",
        "graded-anew": "Is it G0 to G2 by the survey at the end of the watch?",
    },
    record=("Looks: date, humidity, what was seen", "Grade at the end of the watch"),
)
def monitor(v, done):
    """The house's watch where something is to follow, or its first look."""
    level = done["survey"]["says"]["level"]
    look = v["work.look"]
    if treated(done) or finishes(v, done) or (coat_wanted(v) and level <= 2) or level > 0:
        found = simple(
            because("watch"), look, DAY * v["specimen.watch"], [because("quiet"), because("graded-anew")]
        )
        watch = v["specimen.watch"]
    else:
        found = simple(because("first-look"), look, DAY * v["storage.first_look"], [because("quiet")])
        watch = v["storage.first_look"]
    return planned(found["why"], None, {"watch": watch}, found["segments"], [], found["holds"])


# --- finish the face ---------------------------------------------------------------------------


@step(
    "flatten",
    title="Flatten the face",
    after="monitor",
    figures={
        "loss": Figure("g", "metal lost"),
        "left": Figure("mm", "thickness left"),
    },
    why={
        "bowed": "The face is out of flat by {0 mm}, more than sanding bears.",
        "flat": "The face is flat within {0 mm}, or its bow has not been measured: lay a straight edge on "
        "it.",
        "no-face": "No face is finished in this plan.",
        "closed": "A face was wanted, and its thickness closes that way: see Sand.",
    },
    holds={"rest": "Is the rest of the thickness gauged at five places?"},
    cautions=("dust",),
    record=("Bow and thickness at five places",),
)
def flatten(v, done):
    """Where the bow is more than the house's flatness; refused where too little would be left."""
    if not finishes(v, done):
        return left_out(because("no-face"))
    if v["piece.warp"] <= v["abrasives.flatness"]:
        return left_out(because("flat", v["abrasives.flatness"]))
    if too_thin(v):
        return left_out(because("closed"))
    lost = flatten_loss(
        face_area(v), v["piece.warp"], v["piece.thickness"], 1, v["abrasives.thin_limit"],
        v["abrasives.density"], v["abrasives.loss_limit"],
    )  # fmt: skip
    hands = v["work.flatten"] * max(1, face_area(v) / FACE_UNIT) / MINUTES
    return planned(
        because("bowed", v["piece.warp"]), None, {"loss": lost["mass"], "left": lost["thickness_left"]},
        [[1, hands, 0, None]], [], [because("rest")],
    )  # fmt: skip


@step(
    "sand",
    title="Sand the face",
    after="flatten",
    figures={
        "face": Figure("cm^2", "the face"),
        "papers": Figure("1", "papers, coarse to fine", 2),
        "removal": Figure("um", "taken off the face"),
        "left": Figure("mm", "thickness left"),
    },
    why={
        "wanted": "A face is wanted, and it comes after the quiet watch.",
        "again": "A face is wanted, and the old etched one does not survive: it is sanded anew from {0}.",
        "not-wanted": "No face is wanted.",
        "closed": "A face was wanted, and its condition closes that way.",
    },
    refusals={
        "active": "A face was wanted, and {0} closes that: what is opened by paper rusts at once. Dry "
        "box; the way "
        "to a face leads through whatever was decided, and a quiet watch.",
        "no-cut": "A face was wanted, and a {0} has no cut face: cutting needs the owner's consent and a "
        "saw, see "
        "the calculation of the metal lost to it. Until then nothing is sanded.",
        "too-thin": "A face was wanted, and sanding would leave {0 mm}, less than the {1 mm} that must "
        "stay. "
        "Leave the face as it is.",
    },
    holds={
        "quiet": "Was the watch quiet, and is the grade G0 to G2?",
        "dry": "Is the piece dry by its record?",
        "scratches": "Under the loupe: are all scratches of the paper before gone?",
    },
    cautions=("dust",),
    record=("Each paper: sheets, minutes", "Thickness left, mass"),
)
def sand(v, done):
    """The papers from the house's first to its last, over the face."""
    if not v["wanted.face"]:
        return left_out(because("not-wanted"))
    if not has_face(v):
        return refused_wish(because("closed"), because("no-cut", v["piece.shape"]))
    if not finishes(v, done):
        return refused_wish(because("closed"), because("active", GRADES[done["survey"]["says"]["level"]]))
    left = thickness_left(v)
    if too_thin(v):
        return refused_wish(because("closed"), because("too-thin", left, v["abrasives.thin_limit"]))
    steps = sanding(v)
    face = face_area(v)
    hands = steps["papers"] * v["work.sand"] * max(1, face / FACE_UNIT) / MINUTES
    sheets = steps["papers"] * ceil(
        hands / steps["papers"] * MINUTES / (FACE_UNIT * v["abrasives.sheet_time"])
    )
    why = because("wanted")
    if v["piece.etched"]:
        why = because("again", v["abrasives.start_precision"])
    return planned(
        why, None, {"face": face, "papers": steps["papers"], "removal": steps["removal"], "left": left},
        [[1, hands, 0, None]], [["papers", sheets]], [because("quiet"), because("dry"), because("scratches")],
    )  # fmt: skip


@step(
    "degrease",
    title="Degrease",
    after="sand",
    why={
        "before": "Fingerprints etch in, and lift a coat: the face is wiped until a pad stays white.",
        "no-need": "Nothing follows that needs a face free of grease.",
    },
    holds={"film": "Does a film of water stay whole on the face?"},
    cautions=("alcohols",),
    record=("Solvent, pads, time of the water film",),
)
def degrease(v, done):
    """Before an etch or a coat."""
    quiet = done["survey"]["says"]["level"] <= 2 or treated(done)
    if etches(v, done) or (coat_wanted(v) and quiet):
        return simple(because("before"), v["work.degrease"], 0, [because("film")])
    return left_out(because("no-need"))


def gate_says(v, etchant):
    """Return the verdict of the etch gate on this piece, everything else being as it must be."""
    cracked = v["piece.crack_depth"] > 0.5
    return etch_gate(
        etchant, v["piece.kind"], cracked, True, True, True, 0.0, 0.0, v["etching.gate"],
        v["etching.etchant_age"],
        v["piece.sulphide"],
    )["verdict"]  # fmt: skip


def kept_from_acid(v, done, etchant):
    """Return the result of an etch that is not done; None where nothing keeps the face from the acid."""
    if v["wanted.etchant"] != etchant:
        return left_out(because("not-wanted"))
    if v["piece.sulphide"]:
        return refused_wish(because("closed"), because("sulphide"))
    if v["piece.glued"]:
        return refused_wish(because("closed"), because("glued"))
    if not done["sand"]["applies"]:
        return refused_wish(because("closed"), because("no-face"))
    if gate_says(v, etchant) != "go":
        return refused_wish(because("closed"), because("gate"))
    return None


def etchant_volume(v, least):
    """Return the etchant for the face, mL."""
    return max(least, v["etching.bath"] * face_area(v))


def etch_passes(v):
    """Return passes and seconds that the face is in the etchant."""
    return etch_time(
        v["etching.base_time"], v["etching.base_temperature"], v["etching.temperature"],
        v["etching.activation_energy"], v["etching.pass_limit"], v["etching.longest"],
    )  # fmt: skip


NO_ACID = {
    "no-face": "Etching was wanted, and no face is finished in this plan.",
    "glued": "Etching was wanted, and the piece is glued: acid creeps along a joint and stays. Leave the "
    "face sanded.",
    "sulphide": "Etching was wanted, and sulphide lies open in the face: acid frees hydrogen sulphide from "
    "it, which poisons and deadens the nose that would warn. Leave the face sanded, or have it sealed first.",
}
BEFORE_ACID = {
    "looked": "Was the face looked at for bronze-coloured nodules of sulphide, and is there none?",
    "laid-out": "Are neutraliser, rinse and a second person ready?",
    "trial": "Has a trial strip given the time today?",
}


@step(
    "etch-ferric-chloride",
    title="Etch with ferric chloride",
    after="degrease",
    figures={
        "volume": Figure("mL", "etchant"),
        "stock": Figure("mL", "of it stock solution"),
        "time": Figure("s", "in the etchant, all passes"),
        "passes": Figure("1", "passes", 2),
    },
    why={
        "wanted": "Wanted, and nothing closes it: the chloride it brings is tested for at the end.",
        "not-wanted": "Ferric chloride is not wanted.",
        "closed": "Wanted, and closed.",
    },
    refusals={
        **NO_ACID,
        "gate": "Ferric chloride was wanted, and it would carry chloride into cracks or between "
        "silicate and "
        "metal: wish for nital, or leave the face sanded.",
    },
    holds=BEFORE_ACID,
    cautions=("ferric-chloride", "hydrogen-sulphide"),
    record=("Etchant, strength, temperature", "Seconds of each pass", "Photograph"),
)
def etch_ferric_chloride(v, done):
    """Where it is wanted and the gate lets it through."""
    kept_from = kept_from_acid(v, done, "ferric chloride")
    if kept_from is not None:
        return kept_from
    volume = etchant_volume(v, v["etching.etchant_volume"])
    mixed = dilute_etchant(v["etching.stock"], v["etching.strength"], volume)
    timed = etch_passes(v)
    return planned(
        because("wanted"), None,
        {"volume": volume, "stock": mixed["stock"], "time": timed["total"], "passes": timed["passes"]},
        [[1, v["work.etch"] / MINUTES, 0, None]],
        [["etchant", volume], ["acid waste", volume / 1000]],
        [because("looked"), because("laid-out"), because("trial")],
    )  # fmt: skip


@step(
    "etch-nital",
    title="Etch with nital",
    after="etch-ferric-chloride",
    figures={
        "volume": Figure("mL", "nital, mixed on the day"),
        "acid": Figure("mL", "of it concentrated nitric acid"),
        "time": Figure("s", "in the etchant, all passes"),
        "passes": Figure("1", "passes", 2),
    },
    why={
        "wanted": "Wanted, and nothing closes it.",
        "not-wanted": "Nital is not wanted.",
        "closed": "Wanted, and closed.",
    },
    refusals={
        **NO_ACID,
        "gate": "The gate of the etch does not let this piece through: leave the face sanded.",
    },
    holds={
        "fresh": "Is the nital mixed today, acid into ethanol, in a vented bottle?",
        **BEFORE_ACID,
    },
    cautions=("nitric-acid", "alcohols", "hydrogen-sulphide"),
    record=("Nital: percent, volume, hour of mixing", "Seconds of each pass", "Photograph"),
)
def etch_nital(v, done):
    """Where it is wanted and the gate lets it through."""
    kept_from = kept_from_acid(v, done, "nital")
    if kept_from is not None:
        return kept_from
    volume = etchant_volume(v, v["etching.nital_volume"])
    mixed = nital_acid(volume, v["etching.nital_percent"], v["etching.nital_limit"], v["etching.alcohol"])
    timed = etch_passes(v)
    return planned(
        because("wanted"), None,
        {"volume": volume, "acid": mixed["acid"], "time": timed["total"], "passes": timed["passes"]},
        [[1, v["work.etch"] / MINUTES, 0, None]],
        [["etchant", volume], ["acid", mixed["acid"]], ["acid waste", volume / 1000]],
        [because("looked"), because("fresh"), because("laid-out"), because("trial")],
    )  # fmt: skip


def etched_now(done):
    """Say whether the plan etches the face."""
    if done["etch-nital"]["applies"]:
        return True
    return done["etch-ferric-chloride"]["applies"]


@step(
    "neutralise",
    title="Neutralise and rinse the face",
    after="etch-nital",
    figures={"bicarbonate": Figure("g", "bicarbonate to have ready")},
    why={"after-etch": "Acid left in a crack creeps back.", "no-etch": "Nothing is etched."},
    cautions=("nitric-acid", "ferric-chloride", "never-together"),
    holds={"paper": "Do two papers, some minutes apart, read neutral on the face?"},
    record=("pH of the face, twice",),
)
def neutralise(v, done):
    """By the acid in the etchant, with the house's reserve."""
    if done["etch-nital"]["applies"]:
        density = interpolate(ACID_STRENGTHS, ACID_DENSITIES, v["etching.acid_percent"])
        pure = done["etch-nital"]["figures"]["acid"] * density * v["etching.acid_percent"] / 100
        amount = neutraliser_mass("nitric acid", pure)
    elif done["etch-ferric-chloride"]["applies"]:
        volume = done["etch-ferric-chloride"]["figures"]["volume"]
        pure = bath_capacity(volume, v["etching.strength"], v["etching.spent"])["ferric_chloride"]
        amount = neutraliser_mass("ferric chloride", pure)
    else:
        return left_out(because("no-etch"))
    ready = amount["sodium_bicarbonate"] * v["etching.bicarbonate_ready"]
    water = v["rinsing.least_baths"] * max(v["rinsing.bath"], v["work.cover_ratio"] * metal_volume(v)) / 1000
    return telling(
        because("after-etch"), None, {"bicarbonate": ready}, [[1, v["work.neutralise"] / MINUTES, 0, None]],
        [["bicarbonate", ready], ["water", water], ["rinse water", water]], [because("paper")],
        {"waste": water},
    )  # fmt: skip


@step(
    "second-etch",
    title="Etch a second time",
    after="neutralise",
    why={
        "later": "Only where the first etch came out too faint; nobody can tell before.",
        "no-etch": "Nothing is etched.",
    },
)
def second_etch(v, done):
    """Never planned: it is asked for by the look of the first."""
    if etched_now(done):
        return left_out(because("later"))
    return left_out(because("no-etch"))


@step(
    "dry-again",
    title="Dry the face and the cracks again",
    after="second-etch",
    needed=True,
    figures={
        "soak": Figure("h", "in alcohol"),
        "bath": Figure("mL", "alcohol"),
        "air": Figure("h", "in moving air"),
        "round": Figure("h", "in the oven, rise and cooling with it"),
    },
    why={
        "after-etch": "The face and its cracks were wet again.",
        "no-etch": "Nothing was wet since the watch.",
    },
    refusals={
        "too-much-solvent": "Drying after an etch would take {0 L} of flammable solvent in one soak, and "
        "no more "
        "than {1 L} stands open here: wish for no etch.",
        "vapour": "What solvent the cracks may hold would bring the oven above the house's share of the "
        "flammable "
        "limit: wish for no etch.",
    },
    holds={"still": "Does the mass stand where it stood before the face was made?"},
    cautions=("alcohols", "ovens"),
    record=("Hours in alcohol, air and oven", "Mass"),
)
def dry_again(v, done):
    """One soak for the hours of the crack, moving air, one round in the oven."""
    if not etched_now(done):
        return left_out(because("no-etch"))
    bath = jar(v)
    soak = max(v["drying.soak"], soak_hours(v))
    air = air_hours(v)
    each = done["oven-dry"]["says"]["round"] if treated(done) else oven_hours(v, warming_hours(v))
    refused = None
    if bath / 1000 > v["work.largest_jar"]:
        refused = because("too-much-solvent", bath / 1000, v["work.largest_jar"])
    elif not vapour_safe(v):
        refused = because("vapour")
    change = v["work.alcohol_change"] / MINUTES
    weigh = v["work.weigh"] / MINUTES
    return planned(
        because("after-etch"), refused, {"soak": soak, "bath": bath, "air": air, "round": each},
        [[1, change, soak, None], [1, weigh, air, None], [1, 2 * weigh, each, None]],
        [["solvent", bath / 1000], ["solvent waste", bath / 1000]], [because("still")],
    )  # fmt: skip


# --- coat, and the end -------------------------------------------------------------------------


@step(
    "coat",
    title="Coat",
    after="dry-again",
    figures={
        "coats": Figure("1", "coats", 2),
        "volume": Figure("mL", "coating for all coats"),
        "recoat": Figure("h", "earliest next coat"),
        "cure": Figure("d", "full cure"),
        "watch": Figure("d", "watch in room air before it", 0),
    },
    why={
        "wanted": "A coating is wanted, and it goes on a dry and quiet piece only. Coated or bare, dry "
        "air keeps it.",
        "not-wanted": "No coating is wanted.",
        "closed": "A coating was wanted, and its condition closes that way.",
    },
    refusals={
        "active": "A coating was wanted, and {0} closes that: a film over living rust shuts the chloride "
        "in. Dry box "
        "instead.",
        "window": "The window for the next coat never falls into the attended hours: plan more hours a "
        "day, or "
        "wish for another coating.",
    },
    holds={
        "dry": "Has the piece passed its dry check by constant mass, or in the closed box, and stayed dry "
        "since?",
        "watch": "Was its watch in room air quiet?",
        "go": "Is the word for air and surface go, measured just now?",
        "breath": "The hardener holds isocyanate: is breathing protection put on before the can is opened?",
        "box": "Is there no smell of solvent in the bag after a night?",
    },
    cautions=("alcohols", "isocyanates"),
    record=("Coating by name, lot, what removes it", "Air and surface at each coat", "Witness plate"),
)
def coat(v, done):
    """The house's watch in room air, then coat upon coat within its window, then the cure."""
    if not coat_wanted(v):
        return left_out(because("not-wanted"))
    level = done["survey"]["says"]["level"]
    if level > 2 and not treated(done):
        return refused_wish(because("closed"), because("active", GRADES[level]))
    amounts = coating_amounts(
        v["wanted.coating"], v["piece.area"], v["coat.dry_film"], v["coat.film_per_coat"],
        v["coating.roughness_peak"], v["coat.volume_solids"], v["coating.thinner"],
        v["coat.transfer_efficiency"],
        v["coat.isocyanate"], None,
    )  # fmt: skip
    window = cure_window(
        v["wanted.coating"], v["coating.room_temperature"], v["coating.room_humidity"],
        v["coat.base_temperature"],
        v["coat.touch_dry"], v["coat.wet_on_wet_close"], v["coat.earliest_recoat"], v["coat.latest_recoat"],
        v["coat.handle"], v["coat.full_cure"], v["coat.early_energy"], v["coat.recoat_energy"],
        v["coat.full_energy"], v["coat.minimum_temperature"], v["coat.maximum_temperature"],
        v["coat.maximum_humidity"],
    )  # fmt: skip
    holds = [because("dry"), because("watch"), because("go")]
    if v["coat.isocyanate"]:
        holds.append(because("breath"))
    holds.append(because("box"))
    hands = v["work.coat"] / MINUTES
    coats = amounts["coats"]
    cure = max(window["full_cure"], DAY * v["coating.wait_before_boxing"])
    segments = [[1, v["work.look"] / MINUTES, DAY * v["coating.watch"], None]]
    if coats > 1:
        segments.append([coats - 1, hands, window["earliest_recoat"], window["latest_recoat"]])
    segments.append([1, hands, cure, None])
    if not window_opens(segments, v["work.day_start"], v["wanted.hours"]):
        return refused_wish(because("closed"), because("window"))
    return planned(
        because("wanted"), None,
        {
            "coats": coats, "volume": amounts["volume"], "recoat": window["earliest_recoat"],
            "cure": window["full_cure"] / DAY, "watch": v["coating.watch"],
        },
        segments, [["coating", amounts["volume"]]], holds,
    )  # fmt: skip


@step(
    "waste",
    title="See the waste off",
    after="coat",
    figures={
        "liquid": Figure("L", "liquid waste in all"),
        "containers": Figure("1", "containers for it, each kind in its own", 2),
    },
    why={
        "some": "What is left is sorted, labelled and booked; nothing of it goes down a drain unasked.",
        "none": "No liquid waste is made.",
    },
    holds={"gone": "Is each kind in its own labelled container, and booked to whoever takes it?"},
    cautions=("never-together",),
    record=("Kind, litres, container, where it went",),
)
def waste(v, done):
    """All liquids that are left, each kind in containers of its own; solvent in the small ones."""
    rinses = done["rinse"]["says"]["waste"] + done["neutralise"]["says"]["waste"]
    solvent = done["dehydrate"]["says"]["waste"]
    acid = 0.0
    if etched_now(done):
        acid = etchant_volume(v, v["etching.etchant_volume"]) / 1000
        solvent = solvent + jar(v) / 1000
    kinds = [done["electrolysis"]["says"]["waste"], rinses, acid]
    liquid = solvent
    containers = 0
    if solvent > 0:
        containers = waste_containers(solvent, v["waste.solvent_container"], v["waste.fill"])
    for i in range(len(kinds)):
        if kinds[i] > 0:
            liquid = liquid + kinds[i]
            containers = containers + waste_containers(kinds[i], v["waste.container"], v["waste.fill"])
    if liquid <= 0:
        return left_out(because("none"))
    hands = v["work.waste"] * containers / MINUTES
    return planned(
        because("some"), None, {"liquid": liquid, "containers": containers}, [[1, hands, 0, None]], [],
        [because("gone")],
    )  # fmt: skip


@step(
    "clean-bench",
    title="Clean the bench",
    after="waste",
    why={"always": "The next piece must not get what this one left."},
    holds={"wiped": "Is every surface wiped wet, and every bottle back behind its door?"},
    cautions=("dust",),
    record=("Date, by whom",),
)
def clean_bench(v, done):
    """Hands on, once."""
    return simple(because("always"), v["work.clean_bench"], 0, [because("wiped")])


# --- what may be -----------------------------------------------------------------------------

# A plan has some forty spanned facts and hundreds of numbers, so it is tried at fewer points than a result.
# Of 60 generators for this prime this is the one whose 5th and 95th per cent of sums of two and of three of
# the
# first ten facts lie nearest to those of normals: within 13 % of their distance.
POINTS = 251
ROOT = 54


def share_at(point):
    """Return the share of what a spanned fact may be that lies below a point, counted from nought."""
    return (point + 0.5) / POINTS


def stride(place):
    """Return how far the spanned fact at a place steps along its points from trial to trial."""
    step_by = 1
    for _ in range(place):
        step_by = step_by * ROOT
        step_by = step_by - POINTS * floor(step_by / POINTS)
    return step_by


# --- when --------------------------------------------------------------------------------------


def next_open(t, hands, day_start, hours):
    """Return the first time from `t` on at which so many hours of hands-on work fit into a day's hours."""
    day = floor(t / DAY)
    opens = day * DAY + day_start
    needed = min(hands, hours)
    if t <= opens:
        return opens
    if t + needed <= opens + hours + 1e-9:
        return t
    return opens + DAY


def hands_begin(t, hands, day_start, hours):
    """Return when work of so many hours begins; what takes more than a day's hours begins in the morning."""
    if hands <= hours:
        return next_open(t, hands, day_start, hours)
    day = floor(t / DAY)
    opens = day * DAY + day_start
    return opens if t <= opens else opens + DAY


def hands_end(begin, hands, hours):
    """Return when work that begins then ends; what takes more than a day's hours goes on the next morning."""
    if hands <= hours:
        return begin + hands
    days = ceil(hands / hours - 1e-9) - 1
    return begin + days * DAY + hands - days * hours


def run_segments(t, segments, day_start, hours):
    """Return begin and end of a step that starts at `t` or later, and whether every window was met."""
    begin = None
    now = t
    closes = None
    met = True
    for i in range(len(segments)):
        hands = segments[i][1]
        for _ in range(segments[i][0]):
            start = hands_begin(now, hands, day_start, hours)
            if begin is None:
                begin = start
            if closes is not None and start > closes + 1e-9:
                met = False
            finish = hands_end(start, hands, hours)
            now = finish + segments[i][2]
            closes = None if segments[i][3] is None else finish + segments[i][3]
    if begin is None:
        begin = t
    return [begin, now, met]


def step_times(t, segments, day_start, hours):
    """Return begin and end of a step; it begins later in the day where a window would else close at night."""
    tried = run_segments(t, segments, day_start, hours)
    first = tried
    for i in range(1, 97):
        if tried[2]:
            return tried
        tried = run_segments(first[0] + i / 4, segments, day_start, hours)
    return tried if tried[2] else first


def window_opens(segments, day_start, hours):
    """Say whether there is an hour of the day from which every window of a step is met."""
    return step_times(0.0, segments, day_start, hours)[2]


def schedule(all_segments, day_start, hours):
    """Return begin and end of each step, one after the other, in hours from midnight of the first day."""
    times = []
    now = day_start
    for i in range(len(all_segments)):
        found = step_times(now, all_segments[i], day_start, hours)
        times.append([found[0], found[1]])
        now = found[1]
    return times
