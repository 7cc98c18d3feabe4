"""Work: how long hands are busy at each step, and what this bench takes on; house values of the plan."""

from handbook_calc.engine.fields import Quantity
from handbook_calc.engine.house import section

STAGE = "specimen"


def _hands(name: str, about: str) -> Quantity:
    return Quantity(name, f"hands on: {about}", unit="min", low=1, high=960)


section(
    "work",
    Quantity("day_start", "hour of the day at which work begins", unit="h", low=0, high=20),
    _hands("intake", "take a piece in and record it"),
    _hands("instruments", "check balance, pen and hygrometer"),
    _hands("survey", "survey a piece under the loupe and map it"),
    _hands("decide", "choose the route and write the reason"),
    _hands("read_cautions", "read the cautions of a stony-iron or a glued piece, and mark its joints"),
    _hands("came_back", "find out why rust came back, and take a film off"),
    _hands("clean", "lift the rust from ten square centimetres"),
    _hands("bath_change", "mix a bath, change it, and label it"),
    _hands("chloride_test", "read a bath beside its blank and its standards"),
    _hands("rinse_change", "lift the piece into the next rinse"),
    _hands("alcohol_change", "lift the piece into the next alcohol and look after the jars"),
    _hands("weigh", "weigh the piece, or load the oven"),
    _hands("flatten", "flatten a face of ten square centimetres"),
    _hands("sand", "one paper on ten square centimetres of face"),
    _hands("degrease", "degrease a piece"),
    _hands("etch", "lay out, try and etch a face"),
    _hands("neutralise", "neutralise and rinse an etched face"),
    _hands("coat", "check the air and put on one coat"),
    _hands("store", "dry and weigh the gel, and close the box"),
    _hands("look", "one look in the watch, with photographs"),
    _hands("waste", "sort, label and book a container of waste"),
    _hands("clean_bench", "clean the bench"),
    Quantity("bath_ratio", "volume of a treatment bath over that of the metal", low=2, high=100),
    Quantity("least_bath", "smallest treatment bath", unit="L", low=0.02, high=5),
    Quantity("cover_ratio", "volume of a rinse or an alcohol bath over that of the metal", low=1.5,
             high=50),
    Quantity("largest_bath", "largest treatment bath that this bench can handle", unit="L", low=0.5,
             high=500),
    Quantity("largest_jar", "most flammable solvent in one soak", unit="L", low=0.1, high=20, limit="most",
             why="more than that in one open vessel is work for a plant with its own fire protection"),
    Quantity("longest_course", "longest course of baths that this bench takes on", unit="d", low=7,
             high=3650),
)  # fmt: skip
