"""Cards on paper, as Chromium prints them: one sheet a card, of the right size, with all of it on the sheet.

Needs chromium, chromedriver, pdfinfo and pdftotext, as the other tests of the browser do.
"""

import os
import re
import shutil
import subprocess

import pytest
from support import CHROMIUM_FLAGS

from handbook_calc.engine.cards import DECKS
from handbook_calc.engine.render import Renderer
from handbook_calc.labels import CONTACTS

TOOLS = ("chromium", "chromedriver", "pdfinfo", "pdftotext")
MISSING = [tool for tool in TOOLS if shutil.which(tool) is None]
if MISSING and os.environ.get("HANDBOOK_BROWSER") != "required":
    pytest.skip(f"not installed here: {', '.join(MISSING)}", allow_module_level=True)

A5, A4, A4_LYING = (148, 210), (210, 297), (297, 210)  # mm, ISO 216
PAGES = {
    "first-aid": ("cards/first-aid.html", A5),
    "first-aid-others": ("cards/first-aid-others.html", A5),
    "risk": ("cards/risk.html", A4_LYING),
    "bottle-labels": ("cards/labels.html", A4),
}
SIZE = re.compile(r"^Page +\d+ size: +([\d.]+) x ([\d.]+) pts", re.MULTILINE)


@pytest.fixture(scope="module")
def paper(site, tmp_path_factory):
    """Return what gives the sizes [mm] and the texts of the sheets that a deck is printed on."""
    printed: dict[str, tuple[list[tuple[int, ...]], list[str]]] = {}

    def printed_deck(name: str):
        if name not in printed:
            folder = tmp_path_factory.mktemp("cards")
            out = folder / "cards.pdf"
            subprocess.run(
                ["chromium", *CHROMIUM_FLAGS, f"--user-data-dir={folder / 'profile'}", "--no-pdf-header-footer",
                 f"--print-to-pdf={out}", (site / PAGES[name][0]).as_uri()],
                check=True, capture_output=True, timeout=120,
            )  # fmt: skip
            told = subprocess.run(
                ["pdfinfo", "-f", "1", "-l", "999", str(out)], check=True, capture_output=True, text=True
            )
            sizes = [
                tuple(round(float(points) / 72 * 25.4) for points in size)
                for size in SIZE.findall(told.stdout)
            ]
            text = subprocess.run(["pdftotext", str(out), "-"], check=True, capture_output=True, text=True)
            printed[name] = (sizes, [" ".join(sheet.split()) for sheet in text.stdout.split("\f")[:-1]])
        return printed[name]

    return printed_deck


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.long
def test_every_sheet_has_the_size_of_its_deck(paper, name):
    sizes, sheets = paper(name)
    assert len(sizes) == len(sheets)
    for size in sizes:
        assert all(abs(mine - iso) <= 1 for mine, iso in zip(size, PAGES[name][1], strict=True))


@pytest.mark.parametrize("name", ["first-aid", "first-aid-others", "risk"])
@pytest.mark.long
def test_each_card_is_one_sheet_and_all_of_it_is_on_it(paper, house, name):
    cards = DECKS[name].make(house)
    _, sheets = paper(name)
    assert len(sheets) == len(cards)
    foot = f"{house['house.name']} · edition {house.edition}. The safety data sheet of the bottle goes first."
    for card, sheet in zip(cards, sheets, strict=True):
        assert card.title in sheet
        assert sheet.count(DECKS[name].title) == 1
        assert sheet.count(foot) == 1


@pytest.mark.long
def test_no_label_is_broken_over_two_sheets(paper, house):
    cards = DECKS["bottle-labels"].make(house)
    _, sheets = paper("bottle-labels")
    foot = "The safety data sheet of the bottle goes first."
    heads = [sheet.count("Holds") for sheet in sheets]
    assert sum(heads) == len(cards)
    assert [sheet.count("Poison service") for sheet in sheets] == heads
    assert [sheet.count(foot) for sheet in sheets] == heads


def test_nothing_of_the_page_around_them_is_printed(paper):
    for name in PAGES:
        for sheet in paper(name)[1]:
            assert "How to print" not in sheet
            assert "A printed copy holds only" not in sheet


@pytest.mark.parametrize("width", [360, 1200])
@pytest.mark.parametrize("name", PAGES)
@pytest.mark.long
def test_cards_fit_a_phone(browser, site, name, width):
    browser.set_window_size(width, 800)
    browser.get((site / PAGES[name][0]).as_uri())
    wide = "return document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert browser.execute_script(wide) <= 0
    count = browser.execute_script("return document.querySelectorAll('.hb-card').length")
    assert count > 20


def test_a_write_in_line_is_as_long_as_a_number(browser, site, house):
    browser.set_window_size(400, 800)
    browser.get((site / "cards/first-aid.html").as_uri())
    lines = browser.execute_script(
        "return [...document.querySelectorAll('.hb-card')[0].querySelectorAll('.hb-write')].map(l => l.offsetWidth)"
    )
    assert len(lines) == sum(house[f"contacts.{key}"] is None for key in CONTACTS)
    assert min(lines) > 80


def test_the_pages_hold_the_decks(house):
    renderer = Renderer(house)
    assert set(PAGES) == set(DECKS)
    for name in DECKS:
        assert f'id="deck-{name}"' in renderer.cards(name)
