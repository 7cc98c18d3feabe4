"""House values that belong to no single stage: the edition, the piece of the worked figures, safety."""

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
