"""How a calculation is declared, called, refused and shown."""

import math

import pytest

from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import (
    CATALOGUE,
    BadDeclaration,
    Label,
    Listing,
    Number,
    Reasons,
    Verdict,
    because,
    calculation,
    place_in_list,
    refuse,
)
from handbook_calc.engine.faults import BadInput, Refusal
from handbook_calc.engine.fields import Choice, Count, Quantity, Rows, Several, Words, YesNo

LENGTH = Quantity("length", "a length", unit="mm", low=1, high=10)


@pytest.fixture
def declare():
    """Declare a calculation that leaves the catalogue again."""
    before = dict(CATALOGUE)

    def one(kernel, **options):
        options = {
            "title": "A trial",
            "inputs": (LENGTH,),
            "results": Number("area", "mm^2", "an area"),
            "sources": ("hand",),
        } | options
        return calculation("a-trial", **options)(kernel)

    yield one
    CATALOGUE.clear()
    CATALOGUE.update(before)


def square(length):
    """The square of a length."""
    area = length * length
    return area


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"inputs": (Quantity("width", "w", unit="mm", low=0, high=1),)}, "the function takes"),
        ({"sources": ()}, "names no source"),
        ({"sources": "hand"}, "are tuples"),
        ({"inputs": (Quantity("length", "l", unit="mm"),)}, "no finite range"),
        ({"results": ()}, "results are"),
    ],
)
def test_a_bad_declaration_is_refused_at_import(declare, options, says):
    with pytest.raises(BadDeclaration, match=says):
        declare(square, **options)


def test_a_formula_without_words_is_refused(declare):
    def bare(length):
        return length

    with pytest.raises(BadDeclaration, match="no docstring"):
        declare(bare)


def test_a_name_is_declared_once(declare):
    with pytest.raises(BadDeclaration, match="declared in rinsing already"):
        calculation(
            "drag-out",
            title="T",
            inputs=(LENGTH,),
            results=Number("a", "mm", "a"),
            sources=("hand",),
        )(square)


def test_call_checks_names_presence_and_range(declare):
    trial = declare(square)
    assert trial(3) == 9
    assert trial(length=3) == 9
    with pytest.raises(BadInput, match=r"a-trial: length = 11 mm is out of range; allowed is 1 to 10 mm"):
        trial(11)
    with pytest.raises(BadInput, match=r"no argument 'lenght'; did you mean 'length'\?; it takes length"):
        trial(lenght=3)
    with pytest.raises(BadInput, match=r"length is missing \(a length\)"):
        trial()
    with pytest.raises(BadInput, match="is not a number"):
        trial("3")
    with pytest.raises(BadInput, match="is out of range"):
        trial(math.nan)


@pytest.mark.parametrize("body", [lambda x: 1 / (x - 3), lambda x: math.inf * x, lambda x: math.exp(400 * x)])
def test_no_result_is_ever_infinite_or_missing(declare, body):
    def kernel(length):
        """A formula that breaks at 3."""
        return body(length)

    with pytest.raises(Refusal, match="no finite result"):
        declare(kernel)(3)


def test_refusal_sentence_is_filled(declare):
    def kernel(length):
        """Refuses long ones."""
        if length > 5:
            refuse("long", length - 5)
        return length

    trial = declare(kernel, refusals={"long": "{length} is {0 mm} too long; cut it"})
    assert trial(4) == 4
    with pytest.raises(Refusal) as caught:
        trial(8.0)
    assert str(caught.value) == "a-trial: 8\u00a0mm is 3\u00a0mm too long; cut it"
    assert caught.value.code == "long"


def test_every_kind_of_input_and_result(declare):
    def kernel(length, turns, metal, parts, sure, weighings, label):
        """Everything at once."""
        reasons = []
        if sure:
            reasons.append(because("sure", length))
        return {
            "area": length * turns,
            "verdict": "go",
            "reasons": reasons,
            "rows": [[metal, 1.5], ["none", 2.5]],
            "name": None,
        }

    trial = declare(
        kernel,
        inputs=(
            LENGTH,
            Count("turns", "turns", low=1, high=9),
            Choice("metal", "a metal", options=("iron", "nickel"), kind="metal"),
            Several("parts", "parts", options=("face", "edge")),
            YesNo("sure", "sure"),
            Rows("weighings", "weighings", columns=(
                Quantity("time", "t", unit="h", low=0, high=100),
                Quantity("mass", "m", unit="g", low=0, high=100),
            ), least=2, most=3),
            Words("label", "a label", optional=True),
        ),
        results=(
            Number("area", "mm", "area"),
            Verdict("verdict", "verdict", stops=(), words={"go": "{area} is enough"}),
            Reasons("reasons", "why", {"sure": "sure of {0 mm}"}),
            Listing("rows", "rows", (Label("metal", "m"), Number("size", "um", "s"))),
            Label("name", "name", optional=True),
        ),
    )  # fmt: skip
    written = {
        "length": "0.3 cm",
        "turns": "2",
        "metal": "iron",
        "parts": "face, edge",
        "sure": "yes",
        "weighings": "0 h 10 g; 1 d 9 g",
    }
    answer = Bench(None).ask("a-trial", **written)
    assert answer.inputs["weighings"] == [[0.0, 10.0], [24.0, 9.0]]
    for same in ('[["0 h", "10 g"], ["1 d", "9 g"]]', "[[0, 10], [24, 9]]", "0 h, 10 g\n1 d, 0.009 kg"):
        assert trial.read("weighings", same) == [[0.0, 10.0], [24.0, 9.0]]
    assert answer.show("area") == "6.00\u00a0mm"
    assert answer.show("reasons") == "sure of 3\u00a0mm"
    plain = answer.plain()["results"]
    assert plain["rows"]["value"][0] == {"metal": "iron", "size": 1.5}
    assert plain["reasons"]["value"] == ["sure of 3\u00a0mm"]
    assert "name" not in answer.plain()["inputs"]
    assert trial.result("verdict").sentence("go", answer.given()) == "6.00\u00a0mm is enough"

    for change, says in (
        ({"turns": "2.5"}, "turns = 2.5 is not a whole number"),
        ({"metal": "iorn"}, "did you mean 'iron'?; allowed is one of iron, nickel"),
        ({"parts": "face, face"}, "names one entry twice"),
        ({"parts": "face, back"}, "holds 'back', which is not a known"),
        ({"sure": "perhaps"}, "allowed is yes or no"),
        ({"weighings": "0 h 10 g"}, "has 1 rows; allowed is 2 to 3 rows of 'time [h] mass [g]'"),
        ({"weighings": "0 h 10 g; 1 h"}, "has 1 entries in row 2"),
        ({"weighings": "0 h 10 g; 1 h 900 g"}, "in row 2 mass = 900 g, which is out of range"),
        ({"weighings": "[[1, 2"}, "not readable as a JSON list"),
    ):
        with pytest.raises(BadInput) as caught:
            Bench(None).ask("a-trial", **(written | change))
        assert says in str(caught.value)


def test_working_is_the_formula_itself(declare):
    declare(square)
    steps = Bench(None).ask("a-trial", length="3 mm").working()
    assert steps == ["area = length · length = 3 · 3 = 9\u00a0mm²"]


@place_in_list
def nearest_shelf(length):
    """A place in a list, whatever the helper is called."""
    return 0 if length < SHELVES[1] else 1


def halved(length):
    """A figure of a helper that has no words."""
    return length / 2


SHELVES = (0, 5)


def shelf_and_area(length):
    """The area above a shelf."""
    shelf = nearest_shelf(length)
    above = halved(length)
    area = (above + shelf) * length
    return area


def test_working_leaves_out_places_in_lists_and_what_has_no_words(declare):
    declare(shelf_and_area)
    steps = Bench(None).ask("a-trial", length="6 mm").working()
    assert steps == ["area = (above + shelf) · length = (above + shelf) · 6 = 24\u00a0mm²"]


def test_working_follows_the_branch_taken():
    steps = (
        Bench(None)
        .ask("rinse-baths", start="1 mg/L", limit="2 mg/L", drag_out="1 mL", bath="100 mL")
        .working()
    )
    assert steps == []
    steps = (
        Bench(None)
        .ask("rinse-baths", start="1000 mg/L", limit="0.125 mg/L", drag_out="50 mL", bath="950 mL")
        .working()
    )
    assert steps[0] == "share kept = drag-out ÷ (drag-out + bath) = 50 ÷ (50 + 950) = 0.05"


def test_house_values_fill_what_is_left_out(house):
    bench = Bench(house)
    answer = bench.ask("rinse-baths", drag_out="2 mL")
    assert answer.inputs["bath"] == house["rinsing.bath"]
    assert set(bench.used_values) == {"rinsing.start", "rinsing.limit", "rinsing.bath"}
    bench = Bench(house)
    bench.ask("rinse-baths", drag_out="2 mL", bath="300 mL")
    assert "rinsing.bath" not in bench.used_values


def test_an_unknown_calculation_suggests_the_nearest(house):
    with pytest.raises(BadInput, match="no calculation 'rinse-bath'; did you mean 'rinse-baths'"):
        Bench(house).ask("rinse-bath")


# --- what cannot be ----------------------------------------------------------------------------------


def test_a_result_beyond_its_ceiling_is_refused_with_what_sets_it(declare):
    def kernel(length):
        """As long."""
        return length

    ceiling = Number("depth", "mm", "depth", most=5, because="no piece here is deeper")
    trial = declare(kernel, results=ceiling)
    assert trial(5.0) == 5
    with pytest.raises(Refusal) as found:
        trial(5.01)
    assert found.value.code == "beyond"
    assert found.value.message == (
        "depth comes to 5.01\u00a0mm, and more than 5\u00a0mm is beyond what can be: no piece here is deeper; "
        "check each argument"
    )
    assert f"    Refusal: {ceiling.beyond}." in trial.__doc__


def test_a_ceiling_goes_with_what_sets_it(declare):
    def kernel(length):
        """As long."""
        return length

    with pytest.raises(BadDeclaration, match="depth has most= or because= alone"):
        declare(kernel, results=Number("depth", "mm", "depth", most=5))
