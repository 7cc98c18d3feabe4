"""Waste: which container a spent liquid goes to, what never joins it, and what makes caustic mild."""

from functools import partial
from math import ceil

from handbook_calc.engine.calculation import (
    Number,
    Reasons,
    Verdict,
    Whole,
    because,
    calculation,
    refuse,
)
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.fields import Choice, Quantity, Several, YesNo
from handbook_calc.engine.house import section
from handbook_calc.engine.rules import at_most, below, rule, shown, up_to
from handbook_calc.engine.tables import Axis, Column, Mark, Refused, Sheet, matrix, table

# Molar masses in g/mol, from the abridged standard atomic weights.
SODIUM_HYDROXIDE = 39.997
CITRIC_ACID = 192.123
CITRIC_ACID_MONOHYDRATE = 210.138
NEUTRALISATION_HEAT = 57.3  # kJ for each mole of water formed, strong acid and strong base
WATER_HEAT = 4.18  # kJ for a litre and a degree

# Lines of the US federal rule for corrosive and ignitable waste.
CORROSIVE_ACID_PH = 2.0
CORROSIVE_ALKALI_PH = 12.5
IGNITABLE_ALCOHOL = 24.0  # % by volume; a weaker one in water is exempt there
# Between these a liquid is called neutral here, and silver is safe from alkali below the upper one.
NEUTRAL_FROM = 6.0
NEUTRAL_TO = 9.0
WARM = 10.0  # degC of warming above which a bath is neutralised in parts

# Strength from which a solvent in water may flash below 60 degC, percent by volume: at or below the lowest of
# three models of activity, except 2-propanol, whose models spread from 1.7 to 2.8. Butanone as acetone.
FLASH_SOLVENTS = ("2-propanol", "ethanol", "methanol", "acetone", "butanone", "another or several")
FLASH_FROM = [2.0, 4.0, 8.0, 1.0, 1.0, 1.0]
OXIDISERS = ("nitric acid", "hydrogen peroxide", "hypochlorite bleach", "permanganate")

METALS = ("none", "iron", "nickel", "cobalt", "copper", "zinc", "lead", "chromium", "unknown")

# Kinds of value that several declarations share.
HEAVY_BATH = 1.2  # kg/L, etchant rinsed out of trays
drum = partial(Quantity, unit="L", low=0.1, high=200)

section(
    "waste",
    Quantity("flammable_from", "alcohol from which a liquid counts as flammable, by volume", unit="%",
             low=0.5, high=5,
             why="by volume; ethanol in water flashes below 60 °C from somewhere between 5 and 10 %"),
    drum("container", "size of one waste container for baths"),
    drum("solvent_container", "size of the waste can for alcohol", high=10, limit="most",
         why="little solvent in one place: a larger store falls under the fire code"),
    drum("silver_container", "size of the silver jar"),
    Quantity("fill", "fullest a container may be", unit="%", low=20, high=90,
             limit="most", why="a drum needs room for gas and warmth"),
    Quantity("end_ph_low", "lowest pH at which a neutralised bath is called done", low=6, high=8),
    Quantity("end_ph_high", "highest pH at which a neutralised bath is called done", low=7, high=9),
    Quantity("iron_ph", "pH at which iron mud is let settle", low=7, high=9),
    Quantity("nickel_ph", "pH at which nickel mud is let settle", low=10, high=11.5,
             why="published best values for nickel are 10.5 and 10.8"),
)  # fmt: skip


below("waste.end_ph_low", "waste.end_ph_high", because="no reading would ever meet it")
at_most("waste.solvent_container", "waste.container", because="solvent is kept in small cans")
at_most("waste.silver_container", "waste.container", because="silver waste is a jar beside the drum")


@rule("waste.container", "waste.fill", "specimen.two_people")
def containers_can_be_carried(house):
    """A full drum of a heavy bath must not be more than one person lifts."""
    litres = house["waste.container"] * house["waste.fill"] / 100
    most = house["specimen.two_people"] / HEAVY_BATH
    if litres > most:
        yield (
            "waste.container",
            f"filled to {shown(house, 'waste.fill')} is {litres * HEAVY_BATH:.3g} kg of a heavy bath, more "
            f"than {shown(house, 'specimen.two_people')}, from which two people lift; allowed is up to "
            f"{up_to(100 * most / house['waste.fill'])} L",
        )


def named_metals(metals):
    """Return how many metals are named; none and unknown are no names."""
    named = 0
    for i in range(len(metals)):
        if metals[i] != "none" and metals[i] != "unknown":
            named = named + 1
    return named


def among(metals, wanted):
    """Say whether a list of metals holds one entry."""
    found = False
    for i in range(len(metals)):
        if metals[i] == wanted:
            found = True
    return found


def flashes_from(solvent, flammable_from):
    """Return the strength from which a liquid counts as flammable: the house's, or the solvent's if lower."""
    line = flammable_from
    for i in range(len(FLASH_SOLVENTS)):
        if FLASH_SOLVENTS[i] == solvent:
            line = min(line, FLASH_FROM[i])
    return line


def refuse_unsafe(ph, alcohol, metals, silver, oxidiser, kind):
    """Refuse what contradicts itself, and what may explode or give poisonous gas in any container."""
    if among(metals, "none") and (named_metals(metals) > 0 or among(metals, "unknown")):
        refuse("contradicting-metals")
    if kind is not None and not oxidiser:
        refuse("contradicting-oxidiser")
    if oxidiser and alcohol > 0:
        refuse("oxidiser-with-alcohol")
    if silver and alcohol > 0:
        refuse("silver-with-alcohol")
    if silver and ph is not None and ph >= NEUTRAL_TO:
        refuse("silver-in-alkali")
    if kind == "hypochlorite bleach":
        if ph is not None and ph < NEUTRAL_TO:
            refuse("bleach-turning-acid")
        if silver:
            refuse("silver-with-bleach")


def container_of(ph, alcohol, metals, silver, oxidiser, kind, line):
    """Return the container that a liquid's worst property asks for; chromium before all else."""
    if among(metals, "chromium"):
        return "chromium"
    if ph is None or among(metals, "unknown"):
        return "hold for test"
    if silver:
        return "silver"
    if oxidiser:
        acid = kind is None or kind == "nitric acid"
        return "oxidising acid" if ph < NEUTRAL_FROM and acid else "oxidiser"
    if alcohol >= line:
        if ph < NEUTRAL_FROM or ph > NEUTRAL_TO:
            return "flammable and corrosive"
        # Strong solvent belongs into closed metal, metals or not; thin, it is neutral nital and may make gas.
        return "alcohol with metal" if named_metals(metals) > 0 and alcohol < IGNITABLE_ALCOHOL else "alcohol"
    if ph < NEUTRAL_FROM:
        return "acid"
    if ph > NEUTRAL_TO:
        return "alkali"
    return "metal liquid" if named_metals(metals) > 0 else "water"


def never_joining(container, ph, metals, silver, oxidiser, kind):
    """Return what never joins a liquid; where pH or metals are not known, nothing does."""
    never = []
    if container == "hold for test":
        never.append(because("anything"))
        return never
    if container == "chromium":
        never.append(because("chromium-apart"))
        return never
    if ph < NEUTRAL_FROM or oxidiser or silver:
        never.append(because("alkali"))
        never.append(because("sulphite"))
    # Neutral liquid with metal in it was made so with bicarbonate or citrate: acid makes it foam.
    neutralised = container == "alcohol with metal" or container == "metal liquid"
    bleach = kind == "hypochlorite bleach"
    if ph > NEUTRAL_TO or container == "alcohol" or neutralised or bleach:
        never.append(because("acid"))
    if ph > NEUTRAL_TO:
        never.append(because("light-metal"))
    # Silver nitrate is an oxidiser itself, and with nitric acid and alcohol it makes fulminate.
    nital_once = container == "alcohol with metal" or (container == "alcohol" and named_metals(metals) > 0)
    if oxidiser or silver or ph < NEUTRAL_FROM or nital_once:
        never.append(because("solvent"))
    never.append(because("rags" if oxidiser else "oxidiser"))
    if silver:
        never.append(because("ammonia"))
    if bleach:
        never.append(because("bleach-ammonia"))
    never.append(because("bleach"))
    return never


def carrier_flags(container, ph, alcohol, metals, silver, oxidiser, line):
    """Return what the carrier must be told, the lines of the law first."""
    flags = []
    if ph is not None and ph <= CORROSIVE_ACID_PH:
        flags.append(because("corrosive-acid"))
    if ph is not None and ph >= CORROSIVE_ALKALI_PH:
        flags.append(because("corrosive-alkali"))
    if container == "hold for test":
        flags.append(because("unmeasured"))
    if alcohol >= IGNITABLE_ALCOHOL:
        flags.append(because("ignitable"))
    elif alcohol >= line:
        flags.append(because("flash"))
    if among(metals, "nickel"):
        flags.append(because("nickel"))
    if among(metals, "chromium"):
        flags.append(because("chromium"))
    if named_metals(metals) > 0:
        flags.append(because("metal"))
        if container == "alcohol":
            flags.append(because("own-can"))
    if alcohol > 0 and ph is not None and ph < NEUTRAL_FROM:
        flags.append(because("acid-alcohol"))
    if silver:
        flags.append(because("silver"))
    if oxidiser:
        flags.append(because("oxidiser"))
    flags.append(because("refer"))
    return flags


@calculation(
    "waste-sort",
    title="Where a spent liquid goes",
    inputs=(
        Quantity("volume", "liquid to be sorted", unit="L", low=0.001, high=1000, example="1 L"),
        Quantity("ph", "pH by paper or meter; none where it was not measured", low=-1, high=15,
                 optional=True, example="11"),
        Quantity("alcohol", "alcohol or acetone, percent by volume", unit="%", low=0, high=100,
                 example="0 %"),
        Several("metals", "metals that are or may be dissolved in it", options=METALS, kind="metal",
               hints=False,
                example="iron, nickel"),
        YesNo("silver", "silver nitrate or silver mud is in it", example="no"),
        YesNo("oxidiser", "nitric acid, peroxide, bleach or permanganate is in it, not neutralised",
              example="no"),
        from_house("waste.flammable_from"),
        Choice("solvent", "which solvent is in it; where none is named the house's line holds",
               options=FLASH_SOLVENTS, kind="solvent", hints=False, optional=True),
        Choice("oxidiser_kind", "which oxidiser is in it; none where it is not named", options=OXIDISERS,
               kind="oxidiser", hints=False, optional=True),
    ),
    results=(
        Verdict(
            "container",
            "where it goes",
            stops=(),
            words={
                "chromium": "a vented plastic vessel for chromium alone, labelled, whatever its pH",
                "hold for test": "closed off in its own labelled vessel until pH and metals are known",
                "silver": "the silver jar",
                "oxidising acid": "the acid oxidiser's own vented bottle, which never held solvent",
                "oxidiser": "the oxidiser's own vented bottle, one for each kind, which never held solvent",
                "alcohol": "the solvent can, metal, closed, earthed",
                "alcohol with metal": "a plastic vessel of its own, vented, labelled flammable, "
                "not the solvent can",
                "flammable and corrosive": "a plastic vessel of its own, vented, away from heat",
                "acid": "the acid drum, plastic, vented",
                "alkali": "the alkali drum, plastic",
                "metal liquid": "the drum for neutral liquid and mud that hold metal",
                "water": "the drum for rinse water",
            },
        ),
        Reasons(
            "never_joins",
            "what never joins it",
            {
                "solvent": "Alcohol, acetone and any other solvent.",
                "rags": "Paper, rags and anything else that burns.",
                "acid": "Acid.",
                "alkali": "Alkali, hydroxide or carbonate.",
                "ammonia": "Ammonia: with silver it leaves a solid that explodes at a touch.",
                "bleach": "Bleach: it frees poisonous chlorine or chloramine.",
                "sulphite": "A sulphite bath: acid frees sulphur dioxide from it.",
                "oxidiser": "Nitric acid, peroxide or any other oxidiser.",
                "light-metal": "Aluminium, zinc and galvanised vessels.",
                "anything": "Anything at all until it is known.",
                "chromium-apart": "Anything else: acid makes it worse, and only the carrier treats it.",
                "bleach-ammonia": "Ammonia and everything with nitrogen in it: poisonous chloramine.",
            },
        ),
        Reasons(
            "flags",
            "what the carrier must be told",
            {
                "unmeasured": "pH or metals are not known: label it so, test, and sort it again.",
                "corrosive-acid": "At pH 2 or below US rules call it corrosive waste.",
                "corrosive-alkali": "At pH 12.5 or above US rules call it corrosive waste.",
                "flash": "It may flash below 60 °C: keep it cool, closed, away from sparks.",
                "ignitable": "With 24 % of solvent or more US rules call it ignitable waste when it "
                "flashes below 60 °C, as every common alcohol does; acetone has no such line and counts "
                "from the first percent.",
                "nickel": "It holds nickel, which many sewers forbid outright and thinning does not mend.",
                "chromium": "It may hold chromium in its poisonous form: do not open it up or treat it.",
                "metal": "It holds dissolved metal: liquid and mud both go to the carrier.",
                "own-can": "A closed metal can of its own: solvent with metal in it may have been nital.",
                "silver": "It holds silver, which is recovered: hand it over separately.",
                "acid-alcohol": "Acid with alcohol in it: if any of the acid was nitric, this answer does "
                "not hold. Cap nothing, and ask again with the oxidiser named: the refusal says what to do.",
                "oxidiser": "It feeds fire: nothing that burns beside it.",
                "refer": "A licensed carrier and the local rule decide; "
                "no answer here is leave to use a drain.",
            },
        ),
    ),
    assumes=(
        "nothing is mixed to make it fit a container",
        "US federal lines are printed as a yardstick; the law of the place decides",
    ),
    sources=("cfr-261-21", "cfr-261-22", "ethanol-flash-table", "flash-models", "bench-practice"),
    refusals={
        "oxidiser-with-alcohol": "a liquid with an oxidiser and {alcohol} of alcohol may explode in any "
        "container, hours after it was filled; do not cap it and add nothing to it; only nital mixed today "
        "by the recipe of this handbook, still cold and quiet, is poured slowly, under extraction, into ten "
        "times as much cold water, brought to neutral with bicarbonate, and sorted again as not oxidising; "
        "anything else, and nital that stood overnight, is warm, fizzes or is brown: do not touch it, leave "
        "the room, close the door, call for help",
        "silver-with-alcohol": "silver nitrate with {alcohol} of alcohol, above all with nitric acid in "
        "it, may form an explosive solid; do not cap it, warm it, shake it or let it dry, and add nothing "
        "to it: fence it off and call a trained chemist; from now on silver liquids stay apart from every "
        "solvent",
        "silver-in-alkali": "silver at pH {ph} may turn into an explosive solid, above all if ammonia was "
        "ever near; do not cap it, shake it or let it dry: keep it wet, fence it off and call a "
        "trained chemist",
        "bleach-turning-acid": "bleach at pH {ph} is giving off poisonous chlorine or is about to; add "
        "nothing, cap nothing: leave the room, close the door, air it from outside, call for help",
        "silver-with-bleach": "silver with bleach gives off chlorine and leaves a solid that nobody here can "
        "judge; add nothing, do not let it dry: fence it off and call a trained chemist",
        "contradicting-oxidiser": "oxidiser says no and oxidiser_kind names {oxidiser_kind}; say yes, or "
        "name none",
        "contradicting-metals": "metals says none and names some besides; name those present, or none",
    },
)  # fmt: skip
def waste_sort(volume, ph, alcohol, metals, silver, oxidiser, flammable_from, solvent, oxidiser_kind):
    """Unsafe mixtures first, then chromium, what is not known, and one container by the worst property."""
    refuse_unsafe(ph, alcohol, metals, silver, oxidiser, oxidiser_kind)
    line = flashes_from(solvent, flammable_from)
    container = container_of(ph, alcohol, metals, silver, oxidiser, oxidiser_kind, line)
    return {
        "container": container,
        "never_joins": never_joining(container, ph, metals, silver, oxidiser, oxidiser_kind),
        "flags": carrier_flags(container, ph, alcohol, metals, silver, oxidiser, line),
    }


@calculation(
    "waste-containers",
    title="Containers that a volume of waste fills",
    inputs=(
        Quantity(
            "volume", "liquid, with what neutralising adds", unit="L", low=0, high=100_000, example="16 L"
        ),
        from_house("waste.container", name="size", about="size of one container"),
        from_house("waste.fill"),
    ),
    results=Whole("containers", "1", "containers"),
    assumes=("one kind of liquid only: what never joins it is kept apart",),
    sources=("bench-practice",),
)
def waste_containers(volume, size, fill):
    """Whole containers, none fuller than allowed."""
    # 1e-9: a volume that just fills one must not ask for two because of the last digit.
    return ceil(volume / (size * fill / 100) - 1e-9)


@calculation(
    "hydroxide-neutraliser",
    title="Citric acid that a hydroxide bath takes",
    inputs=(
        Quantity("volume", "spent bath", unit="L", low=0.01, high=1000, example="1 L"),
        Quantity("strength", "sodium hydroxide it was made with", unit="g/L", low=0.01, high=200,
                 why="baths for irons hold 4 to 40 g/L", example="10 g/L"),
    ),
    results=(
        Number("citric_acid", "g", "citric acid without water", safe="up"),
        Number("citric_acid_monohydrate", "g", "or as the monohydrate, as some shops sell it", safe="up"),
        Number("warming", "delta_degC", "warming at most, if it all went in at once", 2, safe="up"),
        Reasons(
            "cautions",
            "what to keep to",
            {
                "acid-in": "Acid into the bath by the spoonful, stirred, face shield and gauntlets on; "
                "the bath burns until the paper says otherwise.",
                "parts": "It would warm by {warming}: neutralise in parts and let it cool between.",
                "paper": "Weigh out this much, keep the last tenth back, and finish by pH paper: "
                "air has already used up some of the alkali.",
                "sulphite": "Never if the bath holds sulphite: acid frees sulphur dioxide. "
                "Have it taken away as it is.",
                "metals": "Citrate keeps nickel and iron dissolved: the neutral bath is still waste, "
                "and metal is not settled out of it.",
            },
        ),
    ),
    assumes=(
        "C6H8O7 + 3 NaOH -> Na3C6H5O7 + 3 H2O, to the end; the last of it is buffered near pH 8",
        "all the hydroxide is still there",
        "heat as of a strong acid; crystals dissolving take some of it back",
    ),
    sources=("iupac-weights", "citric-exercises", "neutralisation-heat"),
)  # fmt: skip
def hydroxide_neutraliser(volume, strength):
    """One citric acid takes three hydroxides."""
    hydroxide = volume * strength / SODIUM_HYDROXIDE
    citric_acid = hydroxide / 3 * CITRIC_ACID
    warming = hydroxide * NEUTRALISATION_HEAT / (WATER_HEAT * volume)
    cautions = [because("acid-in")]
    if warming > WARM:
        cautions.append(because("parts"))
    cautions.append(because("paper"))
    cautions.append(because("sulphite"))
    cautions.append(because("metals"))
    return {
        "citric_acid": citric_acid,
        "citric_acid_monohydrate": hydroxide / 3 * CITRIC_ACID_MONOHYDRATE,
        "warming": warming,
        "cautions": cautions,
    }


# Liquids of this bench as they come: litres, pH, % alcohol, metals, silver, oxidiser.
BENCH_LIQUIDS = (
    ("Carbonate bath, spent", 5.0, 11.5, 0.0, ("iron", "nickel"), False, False),
    ("Hydroxide bath, spent", 5.0, 13.5, 0.0, ("iron", "nickel"), False, False),
    ("Either bath, after citric acid", 5.0, 7.5, 0.0, ("iron", "nickel"), False, False),
    ("Late rinse water", 2.0, 7.0, 0.0, ("none",), False, False),
    ("Alcohol from the first drying bath", 0.5, 7.0, 80.0, ("none",), False, False),
    ("Lye in alcohol, from an old recipe", 1.0, 13.5, 70.0, ("iron",), False, False),
    ("Ferric chloride, spent", 0.2, 1.5, 0.0, ("iron", "nickel"), False, False),
    ("Ferric chloride, after bicarbonate", 0.5, 8.0, 0.0, ("iron", "nickel"), False, False),
    ("Nital, as it leaves the dish", 0.1, 0.5, 98.0, ("iron", "nickel"), False, True),
    ("Nital, thinned and neutralised", 1.1, 7.5, 9.0, ("iron", "nickel"), False, False),
    ("Nitric acid in water", 0.1, 0.5, 0.0, ("iron", "nickel"), False, True),
    ("Silver test tubes, acid", 0.05, 2.0, 0.0, ("none",), True, False),
    ("Silver test in an alkaline sample", 0.05, 12.0, 0.0, ("none",), True, False),
    ("Bottle without a label", 0.5, None, 0.0, ("unknown",), False, False),
)


@table(
    "waste-containers",
    title="Where the bench's own liquids go",
    question="Which container?",
    notes=(
        "Typical readings: measure your own. Sorting is no licence: a licensed carrier and the local "
        "rule decide, and nothing here goes down a drain.",
    ),
)
def waste_containers_table(bench):
    """The bench's liquids, the unsafe ones among them refused."""
    rows = []
    for liquid, volume, ph, alcohol, metals, silver, oxidiser in BENCH_LIQUIDS:
        given = [liquid, "not measured" if ph is None else ph, alcohol]
        try:
            answer = bench.answer(
                "waste-sort",
                volume=volume,
                ph=ph,
                alcohol=alcohol,
                metals=metals,
                silver=silver,
                oxidiser=oxidiser,
            )
        except Refusal as refusal:
            rows.append([*given, Refused(refusal.message, "no container"), "see below"])
            continue
        container = answer.results["container"]
        cell = Mark("wait", container) if container == "hold for test" else container
        rows.append([*given, cell, answer.show("never_joins")])
    columns = [
        Column("Liquid"),
        Column("pH", "1", 0),
        Column("Alcohol by volume", "%", 0),
        Column("Container"),
        Column("What never joins it"),
    ]
    return Sheet(columns, rows)


@table(
    "citric-amounts",
    title="Citric acid for a spent hydroxide bath",
    question="How much citric acid?",
    notes=(
        "Grams of citric acid without water; of the monohydrate take a tenth more. By the spoonful, "
        "and the pH paper has the last word. Never into a sulphite bath.",
        "This is for hydroxide. A bath of potassium carbonate takes less citric acid than its "
        "own salt weighs, and foams all the while: open tub, less than half full, extraction on.",
    ),
)
def citric_amounts_table(bench):
    """Grams over the baths of a small bench."""
    return matrix(
        Axis("Bath", "L", (0.5, 1.0, 2.0, 5.0, 10.0, 20.0)),
        Axis("Sodium hydroxide it was made with", "g/L", (4.0, 10.0, 20.0, 40.0)),
        "g",
        lambda volume, strength: bench("hydroxide-neutraliser", volume=volume, strength=strength)[
            "citric_acid"
        ],
    )
