"""House values that belong to no single stage: the edition, and safety."""

from handbook_calc.engine.fields import Day, Quantity, Words
from handbook_calc.engine.house import section

section(
    "house",
    Words("name", "name of the bench, as printed on every page"),
    Words("edition", "name of this edition of the standard", pattern=r"[\w.-]{1,20}", like="2026.1"),
    Day("date", "day this edition was approved"),
    Words("keeper", "who keeps the standard and answers for it"),
)
section(
    "safety",
    Quantity("eye_rinse", "shortest rinse of an eye or of burnt skin in running water", unit="min",
             low=15, high=60, limit="least", why="15 min is the least that a standard or a data sheet asks"),
    Quantity("eyewash_reach", "longest walk to running water for the eyes", unit="s", low=1, high=10,
             limit="most", why="the standard for eyewashes allows 10 s"),
)  # fmt: skip
