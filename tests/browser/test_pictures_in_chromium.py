"""Drawings and plots as they come out: letters that can be read on a phone, nothing cut off, dark, and paper."""

import re
import subprocess

import pytest
from support import ROOT
from test_in_chromium import open_page, printed, switch_units

SHOWN = re.compile(r"\{\{ (?:picture|plot) [\w-]+ \}\}")
PAGES = sorted(
    path.relative_to(ROOT / "docs").with_suffix(".html").as_posix()
    for path in (ROOT / "docs").rglob("*.md")
    if SHOWN.search(path.read_text(encoding="utf-8"))
)

# What is wrong with the letters of each picture: too small, over its edge, or on each other.
LETTERS = """
const found = [];
for (const figure of document.querySelectorAll('.hb-picture, .hb-plot')) {
  const svg = figure.querySelector('svg'), edge = svg.getBoundingClientRect();
  const scale = edge.width / svg.viewBox.baseVal.width;
  const texts = [...svg.querySelectorAll('text')].filter(node => node.textContent.trim() && node.getClientRects().length)
    .map(node => ({words: node.textContent, box: node.getBoundingClientRect(),
                   size: parseFloat(getComputedStyle(node).fontSize) * scale}));
  for (const {words, box, size} of texts) {
    if (size < 11) found.push([figure.id, 'small', words, size]);
    if (box.left < edge.left - 1 || box.right > edge.right + 1 || box.top < edge.top - 1 || box.bottom > edge.bottom + 3)
      found.push([figure.id, 'cut off', words]);
  }
  texts.forEach(({words, box}, i) => texts.slice(i + 1).forEach(other => {
    const wide = Math.min(box.right, other.box.right) - Math.max(box.left, other.box.left);
    const high = Math.min(box.bottom, other.box.bottom) - Math.max(box.top, other.box.top);
    if (wide > 1 && high > 4) found.push([figure.id, 'meet', words, other.words]);
  }));
}
return found;
"""


def test_there_are_pictures():
    assert len(PAGES) >= 30


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.long
def test_letters_can_be_read_on_a_phone(browser, site, name):
    open_page(browser, site, name, width=360)
    assert browser.execute_script(LETTERS) == []
    switch_units(browser)
    in_us = browser.execute_script(LETTERS)
    switch_units(browser)
    assert in_us == []


DARK = """
const text = document.querySelector('.hb-drawing text'), body = document.body;
return [getComputedStyle(text).fill, getComputedStyle(body).backgroundColor];
"""


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("name", ["index.html", "procedures/electrolysis.html", "tables/storage.html"])
@pytest.mark.long
def test_a_picture_takes_the_colour_of_the_page(browser, site, name, dark):
    open_page(browser, site, name, dark=dark)
    ink, ground = (
        sum(map(float, re.findall(r"[\d.]+", colour)[:3])) for colour in browser.execute_script(DARK)
    )
    assert (ink > 500) == dark
    assert (ground < 200) == dark


@pytest.mark.long
def test_the_map_is_whole_on_one_sheet(site, tmp_path):
    printed(site, "index.html", tmp_path)
    sheets = subprocess.run(
        ["pdftotext", "-layout", str(tmp_path / "page.pdf"), "-"], check=True, capture_output=True, text=True
    ).stdout.split("\f")
    (first,) = [i for i, sheet in enumerate(sheets) if "A piece arrives\n" in sheet]
    (last,) = [i for i, sheet in enumerate(sheets) if "It never waits damp in air." in sheet]
    assert first == last
