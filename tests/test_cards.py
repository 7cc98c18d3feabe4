"""Cards to print: every fact of the register on its card, whatever the house chooses, and an assessment a procedure."""

import csv
import html
import re

import pytest
from support import ROOT, changed_house
from test_choices import CHOICES, chosen
from test_pages import PROCEDURES
from test_safety import HAZARDS, read_as_text, section_of, words

from handbook_calc.compatibility import AGENTS, judged
from handbook_calc.engine.cards import DECKS, Card, Grid, Part, deck
from handbook_calc.engine.directives import Directive, find
from handbook_calc.engine.faults import BadDeclaration
from handbook_calc.engine.fields import Quantity
from handbook_calc.engine.house import SETTINGS
from handbook_calc.engine.render import PageFault, Renderer
from handbook_calc.labels import CONTACTS, WRITE_IT_HERE, never_joins
from handbook_calc.risk import hazards, in_use, steps, titles
from handbook_calc.substances import FIRST_AID, SYMBOLS, register, substance, symbols_of

DATA = ROOT / "handbook_calc" / "data"
TAG = re.compile(r"<[^>]+>")
CARD = re.compile(r'<section class="hb-card" id="([^"]+)".*?(?=<section class="hb-card"|\Z)', re.DOTALL)


def read(name: str) -> dict[str, dict[str, str]]:
    """Read a data file once more, without the code that the cards read it by."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as opened:
        lines = list(csv.DictReader(opened))
    return {(f"{row['kind']}/{row['key']}" if "kind" in row and "key" in row else next(iter(row.values()))): row
            for row in lines}  # fmt: skip


def told(house, name: str) -> dict[str, str]:
    """Return the cards of a deck as a reader sees them, by the end of their address."""
    made = Renderer(house).cards(name)
    return {
        found[1].removeprefix(f"{name}-"): " ".join(html.unescape(TAG.sub(" ", found[0])).split())
        for found in CARD.finditer(made)
    }


def loaded(tmp_path, **values: str):
    return changed_house(tmp_path, {key.replace("__", "."): value for key, value in values.items()})


def slug(name: str) -> str:
    return re.sub(r"[^A-Za-z0-9]", "-", name)


# First-aid cards


def test_each_substance_has_one_card(house):
    ours, others = told(house, "first-aid"), told(house, "first-aid-others")
    assert not set(ours) & set(others)
    assert set(ours) | set(others) == {slug(entry.name) for entry in register().values() if entry.texts}


@pytest.mark.parametrize("name", [entry.name for entry in register().values() if entry.texts])
@pytest.mark.long
def test_no_fact_is_missing_on_a_card(house, name):
    card = (told(house, "first-aid") | told(house, "first-aid-others"))[slug(name)].lower()
    row, texts, aid = read("substances")[name], read("safety_texts"), read("first_aid")
    statements = read("hazard_statements")
    for code in row["statements"].split():
        assert statements[code]["statement"].lower() in card
    assert ("no signal word" if row["signal"] == "none" else row["signal"].lower()) in card
    for way in FIRST_AID:
        assert aid[row["first_aid"]][way].lower() in card
    for kind in ("spill", "fire", "glove", "eye", "breathing"):
        assert texts[f"{kind}/{row[kind]}"]["text"].lower() in card
    for other in AGENTS:
        if other != name and judged(name, other)[0] == "never":
            assert other in card
    for head in (*CONTACTS.values(), "data sheet", "apart"):
        assert head.lower() in card


def test_an_eye_is_rinsed_for_as_long_as_the_house_says(tmp_path):
    card = told(loaded(tmp_path, safety__eye_rinse="30 min"), "first-aid")["nitric-acid"]
    assert "all the way to medical help. At least 30 min ." in card


def test_a_stuck_eye_is_not_told_to_be_rinsed(house):
    card = told(house, "first-aid-others")["superglue"]
    assert "do not pull" in card
    assert "At least" not in card.partition("Skin")[0]


def test_a_number_that_is_not_set_is_a_line_to_write_on(house):
    renderer = Renderer(house)
    one = renderer.cards("first-aid").split('<section class="hb-card"')[1]
    unset = [key for key in CONTACTS if house[f"contacts.{key}"] is None]
    assert unset == ["poison", "doctor", "second_person", "carrier"]
    assert one.count(WRITE_IT_HERE) == one.count("hb-write") == len(unset)
    assert "the number of your country" in one


def test_a_number_that_is_set_is_printed_and_stays_text(tmp_path):
    house = loaded(tmp_path, contacts__poison='"030 19240 <b>{{ value rinsing.bath }}</b>"')
    one = Renderer(house).cards("first-aid").split('<section class="hb-card"')[1]
    assert "030 19240 &lt;b&gt;{{ value rinsing.bath }}&lt;/b&gt;" in one
    assert one.count(WRITE_IT_HERE) == 3


def test_every_substance_of_a_step_or_a_label_is_in_use(house):
    used = {entry.name for entry in in_use(house)}
    assert {"nitric acid", "nital", "ferric chloride", "acetone", "silver nitrate", "2-propanol"} <= used
    for listed in steps().values():
        for step in listed:
            for name in step.substances:
                assert name not in register() or substance(name).name in used


# Symbols, by article 26 of Regulation (EC) 1272/2008; the combinations are worked by hand from its text.


@pytest.mark.parametrize(
    ("codes", "found"),
    [
        ("H225 H319 H336", ["flame", "exclamation mark"]),
        ("H290 H314", ["corrosion"]),
        ("H290 H314 H335", ["corrosion", "exclamation mark"]),  # airways are no skin or eyes
        ("H314 H315 H319", ["corrosion"]),
        ("H301 H319", ["skull and crossbones"]),
        ("H331 H302", ["skull and crossbones"]),
        ("H334 H317 H315", ["health hazard"]),
        ("H334 H332 H317", ["health hazard", "exclamation mark"]),
        ("H317 H351", ["health hazard", "exclamation mark"]),
        ("H412 EUH066", []),
        ("H272 H314 H410", ["flame over circle", "corrosion", "environment"]),
    ],
)
def test_a_graver_symbol_leaves_out_a_lesser_one(codes, found):
    assert sorted(symbols_of(codes.split())) == sorted(found)


def test_each_statement_has_a_symbol_or_none_by_the_standard():
    """From memory of annex I: no symbol with the lowest class for water, with pressure of a can, and with EUH."""
    for code, row in read("hazard_statements").items():
        bare = code.startswith("EUH") or code in ("H412", "H229")
        assert (row["symbol"] == "") == bare, code
        assert bare or row["symbol"] in SYMBOLS


# Labels


@pytest.mark.long
def test_each_label_says_all_of_it(house):
    for row in read("labels").values():
        card = told(house, "bottle-labels")[row["label"]]
        for head in (
            "Holds",
            "Signs",
            "Hazards",
            "Cap",
            "Never joins",
            "Emergency service",
            "Poison service",
        ):
            assert head in card, (row["label"], head)
        assert row["name"] in card
        assert house["house.name"] in card
        assert f"edition {house.edition}" in card
        assert ("Filled from, to" in card) == (row["kind"] == "waste")
        assert ("Handed over by" if row["kind"] == "waste" else "Discard by") in card


def test_a_label_is_of_this_bench_and_not_of_the_whole_register(house):
    card = told(house, "bottle-labels")["nital"]
    assert "acetone" in card
    assert "closed bottle" in card
    assert "hydrochloric acid" not in card
    assert "before the work of the day ends" in card


def test_a_label_prints_the_houses_own_age_and_strength(tmp_path):
    cards = told(loaded(tmp_path, etching__etchant_age="4 h", etching__strength="10 %"), "bottle-labels")
    assert "10 % by mass in water" in cards["etchant"]
    assert "4 h after it was mixed" in cards["etchant"]
    assert WRITE_IT_HERE in cards["nitric-acid"]


def test_a_jar_is_labelled_with_the_solvent_that_the_house_chose(tmp_path):
    for solvent, last in (("2-propanol", "95 %"), ("ethanol", "99 %"), ("acetone", "99.5 %")):
        cards = told(chosen(tmp_path, "drying.solvent", solvent), "bottle-labels")
        assert f"Holds {solvent}: {last} by mass or more" in cards["jar-last"]


def test_lacquer_is_labelled_only_where_it_is_made(tmp_path):
    assert "lacquer" in told(chosen(tmp_path, "coating.brush_kind", "acrylic-brush"), "bottle-labels")
    assert "lacquer" not in told(chosen(tmp_path, "coating.brush_kind", "alkyd-brush"), "bottle-labels")


# Assessments of risk


def test_each_procedure_has_an_assessment_with_its_own_title(house):
    assert set(titles()) == set(steps()) == {path.stem for path in PROCEDURES}
    for path in PROCEDURES:
        assert path.read_text(encoding="utf-8").startswith(f"# {titles()[path.stem]}\n")
    assert list(told(house, "risk")) == list(titles())


def named_in(markdown: str) -> set[str]:
    """Return the hazards that Steps bring up, by the words of test_safety."""
    rows_elsewhere = r"^\s*\|.*\]\([\w-]+\.md.*$"
    text = read_as_text(re.sub(rows_elsewhere, "", section_of(markdown, "Steps"), flags=re.MULTILINE))
    return {hazard.name for hazard in HAZARDS if words(hazard.steps).search(text)}


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_each_hazard_of_the_steps_is_in_the_assessment(path):
    missing = named_in(path.read_text(encoding="utf-8")) - {step.hazard for step in steps()[path.stem]}
    assert not missing, f"add a row to data/risk_steps.csv for {', '.join(sorted(missing))}"


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_each_procedure_leads_to_its_assessment(path):
    assert f"](../cards/risk.md#risk-{path.stem})" in path.read_text(encoding="utf-8")


def test_hazards_are_those_that_pages_are_searched_for():
    assert set(hazards()) == {hazard.name for hazard in HAZARDS}
    for row in hazards().values():
        assert all(len(row[key]) > 10 for key in ("harm", "control", "remains", "persons"))


@pytest.mark.parametrize("stem", steps())
@pytest.mark.long
def test_an_assessment_holds_what_the_register_says(house, stem):
    card = told(house, "risk")[stem].lower()
    for step in steps()[stem]:
        assert all(part.strip().lower() in card for part in re.split(r"\{\{.*?\}\}", step.step))
        said = hazards()[step.hazard]
        shown = ["control", "remains", "persons"]
        shown += ["harm"] if said["beside_register"] or not step.substances else []
        assert all(said[key].lower() in card for key in shown)
        for name in step.substances:
            if name in register():
                assert substance(name).hazards().lower() in card
    for line in ("assessed by, date", "second person, date", "what remains", "children"):
        assert line in card


def test_what_is_true_of_a_strong_alkali_is_not_said_of_a_mild_one(tmp_path):
    harm = hazards()["alkali"]["harm"]
    for salt in ("potassium carbonate", "sodium carbonate", "sodium hydroxide"):
        cards = told(chosen(tmp_path, "electrolysis.salt", salt), "risk")
        for stem in ("electrolysis", "clean-bench", "neutralise"):
            assert harm.lower() not in cards[stem].lower()
        strong = "Causes severe skin burns and eye damage"
        assert (strong in cards["electrolysis"]) == (salt == "sodium hydroxide")


def test_amounts_are_computed_and_never_typed():
    for listed in steps().values():
        for step in listed:
            left = re.sub(r"\{\{.*?\}\}", " ", step.amount)
            assert not re.search(r"\d", left), step


def test_an_amount_follows_the_house(tmp_path):
    card = told(loaded(tmp_path, etching__nital_volume="50 mL"), "risk")["etch-nital"]
    assert "50 mL of 2 %" in card
    # 2 % by volume of a commercial acid of 68 % is 1 mL in 50 mL, by the definition of per cent by volume.
    assert re.search(r"Nitric acid: 1\.0\d* mL of 68 % acid in", card) or "1.00 mL" in card


def test_a_choice_that_the_register_does_not_know_is_named_so(tmp_path):
    house = chosen(tmp_path, "coating.kind", "acrylic-brush")
    entry = house.entries["coating.kind"]
    object.__setattr__(entry, "value", "bench varnish")
    assert "not in the register: its data sheet decides" in told(house, "risk")["coat"]


# Whatever the house chooses, and what a slip is told


@pytest.mark.parametrize(("key", "value"), CHOICES, ids=str)
@pytest.mark.long
def test_every_deck_fills_for_every_permitted_choice(tmp_path, key, value):
    house = chosen(tmp_path, key, value)
    for name in DECKS:
        cards = told(house, name)
        assert cards
        for text in cards.values():
            assert "{{" not in text
            assert "None" not in text.replace("None.", "").replace("None ", "").replace("None:", "")
    used = {entry.name for entry in in_use(house)}
    if key in ("electrolysis.salt", "drying.solvent"):
        assert value in used
        assert slug(value) in told(house, "first-aid")


def test_a_card_tells_the_keeper_which_values_it_prints(house):
    renderer = Renderer(house)
    renderer.note(Directive(1, 0, 1, "cards", "bottle-labels", {}, {}, True), "cards/labels.md")
    for key in (
        "etching.etchant_age",
        "contacts.poison",
        "drying.places.2-propanol.last",
        "electrolysis.salt",
    ):
        assert "cards/labels.md" in renderer.usage.value_pages[key]


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("{{ cards first-aids }}", "'first-aids'.*first-aid"),
        ('{{ cards risk of="sand" }}', "takes no arguments"),
        ("see {{ cards risk }}", "must stand alone"),
    ],
)
def test_a_slip_is_told(house, asked, told):
    with pytest.raises(PageFault, match=told):
        Renderer(house).html_of(find(asked)[0])


def test_a_deck_is_declared_in_full():
    with pytest.raises(
        BadDeclaration, match=r"test_cards.py:\d+: deck 'risk' is declared twice\n.*unknown paper 'A3'"
    ):

        @deck("risk", title="Again", paper="A3")
        def again(house):
            """Make nothing."""
            return []

    with pytest.raises(BadDeclaration, match="no docstring"):

        @deck("silent", title="Silent", paper="card")
        def silent(house):
            return []

    assert "silent" not in DECKS


def test_a_text_of_a_card_is_text(house):
    made = Renderer(house)._card(
        DECKS["risk"],
        Card(
            "x",
            "<b>",
            (Part("<i>", ("a & b", "{{ value rinsing.bath }}")), Grid("<q>", ("<u>",), (("<s>",),))),
        ),
    )
    assert "&lt;b&gt;" in made
    assert "<li>a &amp; b</li>" in made
    assert "500 mL" in html.unescape(TAG.sub("", made)).replace("\xa0", " ")
    assert "<q>" not in made
    assert "<u>" not in made
    assert "<s>" not in made


# Inspection log


def test_every_interval_of_the_log_stands_on_the_form():
    form = (ROOT / "docs" / "reference" / "forms.md").read_text(encoding="utf-8")
    log = form[form.index("## Inspection log") :]
    keys = [key for key in SETTINGS if key.startswith("inspection.")]
    assert len(keys) == 10
    for key in keys:
        assert f"{{{{ value {key} }}}}" in log
        declared = SETTINGS[key]
        assert isinstance(declared, Quantity)
        assert declared.limit == "most"
        assert declared.why


def test_never_joins_is_the_judgement_of_both_sides():
    for name in ("nital", "acetone", "hypochlorite bleach"):
        for other in never_joins(name):
            assert name in never_joins(other)
