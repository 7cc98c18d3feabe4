"""House values of no single stage: the edition, the piece of the worked figures, safety, telephones."""

from itertools import pairwise

from handbook_calc.engine.fields import Choice, Day, Quantity, Words
from handbook_calc.engine.house import section
from handbook_calc.engine.rules import rule

section(
    "house",
    Words("name", "name of the bench, as printed on every page"),
    Words("edition", "name of this edition of the standard", pattern=r"[\w.-]{1,20}", like="2026.1"),
    Day("date", "day this edition was approved; of a draft, the day of its last change"),
    Choice("status", "whether this edition may be used at the bench", options=("draft", "approved"),
           kind="status"),
    Words("keeper", "who keeps the standard and answers for it"),
)  # fmt: skip
section(
    "approval",
    Words("proposed_by", "role that proposed this edition"),
    Day("proposed_on", "day it was proposed; none while it is being written", optional=True),
    Words("checked_by", "role that checked it: read every change, and what it does"),
    Day("checked_on", "day it was checked; none before that", optional=True),
    Words("approved_by", "role that approved it, on the edition's date"),
    Quantity("notable", "share by which a figure must move to be told before the others, when an edition is "
             "compared with an earlier one", unit="%", low=0.1, high=50),
)  # fmt: skip
section(
    "piece",
    Words("number", "number of the piece that the worked figures are about"),
    Quantity("mass", "its mass", unit="g", low=1, high=30_000),
    Quantity("area", "its whole surface, faces and edge", unit="cm^2", low=1, high=10_000),
    Quantity("length", "its greatest length", unit="mm", low=5, high=1000),
    Quantity("width", "its greatest width", unit="mm", low=5, high=1000),
    Quantity("thickness", "its thickness", unit="mm", low=0.5, high=300),
    Quantity("crack_depth", "depth of its deepest crack, best guess", unit="mm", low=0.1, high=50),
    Quantity("crack_volume", "liquid its cracks can hold, best guess", unit="mL", low=0, high=50),
)
section(
    "safety",
    Quantity("eye_rinse", "shortest rinse of an eye or of burnt skin in running water", unit="min",
             low=15, high=60, limit="least", why="15 min is the least that a standard or a data sheet asks"),
    Quantity("eyewash_reach", "longest walk to running water for the eyes", unit="s", low=1, high=10,
             limit="most", why="the standard for eyewashes allows 10 s"),
    Quantity("burn_cooling", "shortest cooling of a burn in running water", unit="min", low=20, high=60,
             limit="least", why="burns services ask for 20 min"),
)  # fmt: skip
# Whom to call; what is not set is printed as a line to write on.
section(
    "contacts",
    Words("emergency", "number of the emergency service", optional=True),
    Words("poison", "number of the poison information service", optional=True),
    Words("doctor", "doctor or hospital, if possible one with an eye department", optional=True),
    Words("second_person", "second person who can be called to this bench", optional=True),
    Words("carrier", "licensed waste carrier", optional=True),
)
LOOKED_AT = "what saves somebody is of no use once it has stopped working unseen"
section(
    "inspection",
    Quantity("eyewash", "longest time between two runs of the eyewash", unit="d", low=1, high=7,
             limit="most", why="the standard for eyewashes asks for a run each week"),
    Quantity("residual_current", "longest time between two presses of the test button of the "
             "residual-current device", unit="d", low=1, high=183, limit="most",
             why="makers ask for the button twice a year at the least"),
    Quantity("extinguisher", "longest time between two looks at the extinguisher", unit="d", low=1, high=31,
             limit="most", why="the standard for extinguishers asks for a look each month"),
    Quantity("extinguisher_service", "longest time between two services of the extinguisher by a trained "
             "person", unit="d", low=30, high=366, limit="most",
             why="the standard for extinguishers asks for a service each year"),
    Quantity("hood", "longest time between two tests of hood and fan with smoke or a paper strip", unit="d",
             low=1, high=31, limit="most", why=LOOKED_AT),
    Quantity("hood_measured", "longest time between two measurements of the hood's draught", unit="d", low=30,
             high=426, limit="most", why="a legal limit for extraction is fourteen months"),
    Quantity("stores", "longest time between two looks at the stores of solvent, acid and waste: lids, "
             "vented caps, trays, smell", unit="d", low=1, high=7, limit="most",
             why="a cap that no longer vents, and a can that leaks, show within a week"),
    Quantity("first_aid", "longest time between two looks into the first-aid box", unit="d", low=1, high=92,
             limit="most", why=LOOKED_AT),
    Quantity("smoke_alarm", "longest time between two presses of the smoke alarm's button", unit="d", low=1,
             high=31, limit="most", why="makers and fire services ask for the button each month"),
    Quantity("risk", "longest time until an assessment of risks is read again", unit="d", low=30, high=366,
             limit="most", why="a year is the longest that anybody names"),
)  # fmt: skip


@rule("house.status", "house.date", "approval")
def an_approved_edition_was_proposed_and_checked(house):
    """Proposed, checked, approved: in this order, and by two roles, or by one on two days."""
    days = [
        ("approval.proposed_on", "proposed"),
        ("approval.checked_on", "checked"),
        ("house.date", "approved"),
    ]
    known = [(key, said, house[key]) for key, said in days if house[key] is not None]
    if house["house.status"] == "approved":
        for key, said in days:
            if house[key] is None:
                yield key, f"is not set, and house.status is approved; write the day it was {said}, or draft"
    for (_, before, first), (key, said, day) in pairwise(known):
        if day < first:
            yield key, f"is before {first}, the day it was {before}: an edition is {before}, then {said}"
    proposed, checked = house["approval.proposed_on"], house["approval.checked_on"]
    if checked and checked == proposed and house["approval.checked_by"] == house["approval.proposed_by"]:
        yield (
            "approval.checked_on",
            "is the day it was proposed, by the same role; a lone keeper lets a day pass and reads it again",
        )
