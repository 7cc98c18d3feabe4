"""Every house value in its allowed range, alone or with others, gives a handbook; the long form is a script."""

import random
import re

import pytest
import range_walk
from support import Site

from handbook_calc.engine import house, render
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.directives import find
from handbook_calc.engine.render import PageFault
from handbook_calc.engine.tables import Span

SINGLES = random.Random(7).sample(list(range_walk.singles()), 20)
CORNERS = list(range_walk.corners(5, seed=7))
# Settings that once stopped the build, each by another way.
KNOWN = [
    {"piece.crack_volume": "0 mL"},
    {"coating.kinds.microcrystalline-wax.film_per_coat": "0.1 um"},
    {"electrolysis.concentrate_percent": "0.5 %"},
    {"piece.width": "5 mm"},
    {"electrolysis.freeboard": "30 cm"},
    {"coating.kinds.acrylic-aerosol.maximum_humidity": "0 %"},
    {"etching.temperature": "10 degC"},
]


@pytest.mark.parametrize("change", [*KNOWN, *SINGLES, *CORNERS], ids=lambda change: " ".join(change)[:60])
@pytest.mark.long
def test_an_allowed_standard_gives_a_handbook_or_is_a_contradiction_by_file_line_and_key(change):
    assert range_walk.failure(change) in ("", "contradiction")


def renderer_for(tmp_path, key, value):
    site = Site(tmp_path)
    site.set(key, value)
    return render.Renderer(house.load(tmp_path / "docs" / "house-standard.yml", root=tmp_path))


def test_a_refused_sentence_says_so_in_its_place(tmp_path):
    renderer = renderer_for(tmp_path, "piece.width", "5 mm")
    (asked,) = find(
        "It fills {{ value fill-factor mass=piece.mass length=piece.length width=piece.width "
        'thickness=piece.thickness kind="iron" }}.'
    )
    told = renderer.html_of(asked)
    assert "hb-refused" in told
    assert "no figure here, refused: fill-factor: " in told
    assert [line for line in renderer.refused if line.startswith("value fill-factor: ")]


def test_a_calculator_opens_with_its_refusal(tmp_path):
    renderer = renderer_for(tmp_path, "piece.width", "5 mm")
    (asked,) = find("{{ calc fill-factor mass=piece.mass width=piece.width }}")
    told = renderer.html_of(asked)
    assert '<output class="hb-calc-short">refused</output>' in told
    assert 'class="hb-answer hb-refused"' in told


def test_a_sound_piece_has_its_tables_of_rinses_and_soaks(tmp_path):
    renderer = renderer_for(tmp_path, "piece.crack_volume", "0 mL")
    rinses = renderer.computed("rinse-series")
    soaks = renderer.computed("soak-series")
    assert rinses.places_refused() == soaks.places_refused() == []
    film = Bench(renderer.house)("drag-out", area=renderer.house["piece.area"], crack_volume=0.0)
    start, bath = renderer.house["rinsing.start"], renderer.house["rinsing.bath"]
    for number, _, outside, inside, left, _ in rinses.rows:
        # Well mixed, each bath keeps the share that the film brings: the balance of chloride itself.
        value = outside.value if isinstance(outside, Span) else outside
        assert value == pytest.approx(start * (film / (film + bath)) ** number, rel=1e-9)
        assert (inside, left) == (None, None)
    assert "a sound piece" in " ".join(rinses.notes)
    assert [(row[2], row[3].state) for row in soaks.rows] == [(None, "go")]


def test_one_refused_coating_leaves_the_others_in_the_table(tmp_path):
    renderer = renderer_for(tmp_path, "coating.kinds.microcrystalline-wax.film_per_coat", "0.1 um")
    rows = {row[0]: row for row in renderer.computed("coating-kinds").rows}
    assert rows["microcrystalline-wax"][4].word == "refused"
    assert "20 coats" in rows["microcrystalline-wax"][4].reason
    assert isinstance(rows["acrylic-brush"][4], int)
    assert [
        told
        for told in renderer.refused
        if told.startswith("table coating-kinds: row microcrystalline-wax: ")
    ]
    lines = renderer.computed("coating-kinds").csv().splitlines()
    assert ",refused" in next(line for line in lines if line.startswith("microcrystalline-wax,"))
    assert "refused" in renderer.words("coating-kinds")
    assert re.search(r'<td[^>]* class="hb-stop"[^>]*>refused<sup>', renderer.table("coating-kinds"))


def test_what_the_page_itself_asks_wrongly_stays_a_fault_of_the_page(tmp_path):
    renderer = renderer_for(tmp_path, "piece.width", "46 mm")
    (asked,) = find('{{ value piece-volume mass="186 g" density="50 g/cm^3" }}')
    with pytest.raises(PageFault, match="density = 50 g/cm\\^3 is out of range"):
        renderer.html_of(asked)


@pytest.mark.long
def test_the_build_goes_on_and_lists_what_it_refused(tmp_path):
    site = Site(tmp_path)
    site.set("coating.kinds.microcrystalline-wax.film_per_coat", "0.1 um")
    site.page("page.md", '# P\n\n{{ calc coating-amounts coating="microcrystalline-wax" }}\n')
    built = site.build()
    assert built.returncode == 0, built.stderr
    assert "refused in its place, by house values that are each allowed: calc coating-amounts" in built.stderr


@pytest.mark.parametrize("day", ["2026-02-30", "2026-13-01", "2025-02-29"])
def test_a_date_is_a_day_of_the_calendar(tmp_path, day):
    site = Site(tmp_path)
    line = site.set("house.date", day)
    with pytest.raises(house.HouseFaults, match=f"house-standard.yml:{line}: house.date: {day} is no day"):
        house.load(tmp_path / "docs" / "house-standard.yml", root=tmp_path)
