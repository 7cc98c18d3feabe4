"""Paper: what each sheet carries, how many sheets a procedure takes, and that nothing is cut off.

Sheets are counted and read in what Chromium would print.
"""

import base64
import re
import subprocess

import pytest
from support import ROOT
from test_in_chromium import open_page

PROCEDURES = sorted(path.stem for path in (ROOT / "docs" / "procedures").glob("*.md"))
A4, LETTER = (8.27, 11.69), (8.5, 11)
# Wide tables, many tables, calculators, and plain text.
WHOLE = [
    "procedures/rinse.html",
    "tables/coating.html",
    "calculators/rinsing.html",
    "safety/never-together.html",
]


def sheets(browser, site, name, tmp_path, choice="page", size=A4, **opened) -> list[str]:
    """Return the text of each sheet of a page as it is printed."""
    open_page(browser, site, name, **opened)
    browser.execute_script(f"document.documentElement.dataset.print = '{choice}'")
    printed = browser.execute_cdp_cmd("Page.printToPDF", {"paperWidth": size[0], "paperHeight": size[1]})
    file = tmp_path / "printed.pdf"
    file.write_bytes(base64.b64decode(printed["data"]))
    text = subprocess.run(
        ["pdftotext", "-layout", file, "-"], capture_output=True, text=True, check=True
    ).stdout
    return [" ".join(sheet.split()) for sheet in text.split("\f")[:-1]]


@pytest.mark.parametrize("size", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.long
def test_the_bench_sheet_of_each_procedure_is_two_sheets_at_most(browser, site, tmp_path, size):
    counted = {
        name: len(sheets(browser, site, f"procedures/{name}.html", tmp_path, "bench", size))
        for name in PROCEDURES
    }
    print(counted)
    assert {name: count for name, count in counted.items() if count > 2} == {}


def test_each_sheet_tells_whom_its_figures_are_worked_for(browser, site, tmp_path):
    for text in sheets(browser, site, "procedures/rinse.html", tmp_path):
        assert "Worked for the example" in text
    assert not any("Worked for" in text for text in sheets(browser, site, "safety/alkali.html", tmp_path))


@pytest.mark.parametrize("choice", ["page", "bench", "tables"])
@pytest.mark.parametrize("name", WHOLE)
@pytest.mark.long
def test_each_sheet_carries_house_edition_title_code_and_number(browser, site, tmp_path, house, name, choice):
    found = sheets(browser, site, name, tmp_path, choice)
    sheet = browser.execute_script("return document.body.dataset.sheet")
    styles = (site / "assets" / "sheets.css").read_text(encoding="utf-8")
    (title,) = re.findall(rf'@page {sheet} {{ @top-left {{ content: "([^"]+)"', styles)
    code = browser.execute_script("return document.body.dataset.code")
    assert re.fullmatch(r"[2-9A-HJ-NP-Z]{3}-[2-9A-HJ-NP-Z]{3}", code)
    for number, text in enumerate(found, 1):
        assert f"{house['house.name']} · edition {house.edition}" in text
        assert code in text
        assert f"{number} of {len(found)}" in text
        assert title in text


@pytest.mark.long
def test_a_bench_sheet_holds_the_work_and_not_the_reading(browser, site, tmp_path):
    (sheet,) = sheets(browser, site, "procedures/rinse.html", tmp_path, "bench")
    for words in (
        "You need",
        "Steps",
        "Hold point",
        "yes / no",
        "Record",
        "edition of the standard",
        "Waste",
    ):
        assert words in sheet
    for words in ("When to use it, and when not", "What goes wrong", "Working, assumptions"):
        assert words not in sheet


def test_a_calculator_is_one_line_on_paper(browser, site, tmp_path):
    text = " ".join(sheets(browser, site, "calculators/rinsing.html", tmp_path))
    assert re.search(r"Liquid a piece carries out of a bath: area 98 cm², .*?→ ", text)
    assert "Copy as text" not in text
    assert "Scripts are off" not in text


@pytest.mark.long
def test_what_is_typed_stands_in_the_printed_line(browser, site, tmp_path):
    open_page(browser, site, "calculators/rinsing.html")
    browser.execute_script(
        "document.querySelector('#calc-drag-out').open = true;window.dispatchEvent(new Event('beforeprint'));"
    )
    browser.execute_async_script(
        "const done = arguments[0]; setTimeout(() => {"
        "const field = document.querySelector('#calc-drag-out [data-argument=area]');"
        "field.value = '250'; field.dispatchEvent(new Event('input', {bubbles: true}));"
        "setTimeout(() => { window.dispatchEvent(new Event('beforeprint')); done(); }, 300); }, 300)"
    )
    line = browser.execute_script(
        "return document.querySelector('#calc-drag-out .hb-calc-given').textContent"
    )
    assert "area 250 cm²" in line


@pytest.mark.long
def test_paper_is_black_on_white_from_the_dark_page(browser, site):
    open_page(browser, site, "tables/coating.html", dark=True)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    seen = browser.execute_script(
        "return ['go', 'wait', 'stop'].map((word) =>"
        " getComputedStyle(document.querySelector(`td.hb-${word}`)).color)"
    )
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    for colour in seen:
        red, green, blue = (int(part) / 255 for part in re.findall(r"\d+", colour)[:3])
        assert 0.2126 * red + 0.7152 * green + 0.0722 * blue < 0.35, seen


@pytest.mark.long
def test_no_table_is_wider_than_the_sheet(browser, site):
    """At the width of the text on A4, with the rules of paper, every table of every look-up page fits."""
    wide = []
    for path in sorted((site / "tables").glob("*.html")):
        open_page(browser, site, f"tables/{path.name}", width=718)
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        wide += browser.execute_script(
            "const most = document.querySelector('article').getBoundingClientRect().right + 1;"
            "return [...document.querySelectorAll('table')].filter((t) => t.getBoundingClientRect().right > most)"
            ".map((t) => location.pathname.split('/').pop() + ' ' + (t.closest('section[id]') || t).id)"
        )
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert wide == []


@pytest.mark.long
def test_the_menu_offers_what_the_page_has(browser, site):
    open_page(browser, site, "procedures/rinse.html")
    words = browser.execute_script(
        "return [...document.querySelectorAll('.hb-print button')].map((b) => b.textContent)"
    )
    assert len(words) == 3
    open_page(browser, site, "reference/glossary.html")
    words = browser.execute_script(
        "return [...document.querySelectorAll('.hb-print button')].map((b) => b.textContent)"
    )
    assert words == ["The whole page"]
