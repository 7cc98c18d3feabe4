"""The built handbook in Chromium, opened from a folder: search, other hosts, phone, dark, print.

Needs chromium, chromedriver and pdftotext. Without them the tests are skipped and say so, except
where HANDBOOK_BROWSER=required is set.
"""

import json
import os
import re
import shutil
import subprocess
import time

import pytest
from support import CHROMIUM_FLAGS, ROOT, waiting

TOOLS = ("chromium", "chromedriver", "pdftotext")
MISSING = [tool for tool in TOOLS if shutil.which(tool) is None]
if MISSING and os.environ.get("HANDBOOK_BROWSER") != "required":
    pytest.skip(f"not installed here: {', '.join(MISSING)}", allow_module_level=True)

PAGES = [
    "index.html",
    "procedures/rinse.html",
    "procedures/dehydrate.html",
    "procedures/oven-dry.html",
    "procedures/sand.html",
    "procedures/coat.html",
    "tables/alcohol.html",
    "tables/coating.html",
    "pieces/index.html",
    "pieces/LY-014.html",
    "pieces/LY-035.html",
    "keeper/house-standard.html",
    "keeper/sources-and-checks.html",
]


# What turns a page into US units is loaded when it is first asked for.
SWITCHED = """
return new Promise((done) => {
  document.addEventListener('hb-units', () => done(null), {once: true});
  document.querySelector('.hb-switch').click();
});
"""


def switch_units(browser):
    """Change to the other units, and wait until the page has them."""
    browser.execute_script(SWITCHED)


def open_page(browser, site, name, width=1280, dark=False):
    size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    scheme = "dark" if dark else "light"
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
    browser.get((site / name).as_uri())
    return browser


def requests_to_other_hosts(browser):
    found = []
    for entry in browser.get_log("performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            address = message["params"]["request"]["url"]
            if re.match(r"(?:https?|wss?):", address):
                found.append(address)
    return found


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.long
def test_no_request_leaves_the_folder_and_the_console_is_clean(recorded, site, name):
    browser = recorded
    browser.get_log("performance")
    browser.get_log("browser")
    open_page(browser, site, name)
    time.sleep(0.3)
    assert requests_to_other_hosts(browser) == []
    assert [entry["message"] for entry in browser.get_log("browser") if entry["level"] == "SEVERE"] == []


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.long
def test_nothing_hangs_over_the_edge_of_a_phone(browser, site, name):
    open_page(browser, site, name, width=360)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 360


@pytest.mark.parametrize(
    ("words", "page"),
    [
        ("rinse baths needed", "rinse"),
        ("azeotrope", "dehydrate"),
        ("P1200", "sand"),
        ("coldest surface that may be coated", "coat"),
        ("0.0015", "rins"),
    ],
)
@pytest.mark.long
def test_search_works_from_a_file_and_finds_what_tables_hold(browser, site, words, page):
    from selenium.webdriver.common.by import By

    open_page(browser, site, "index.html")
    browser.find_element(By.CSS_SELECTOR, "[data-md-component=search-query]").send_keys(words)
    links = waiting(browser, 20).until(lambda b: b.find_elements(By.CSS_SELECTOR, ".md-search-result__link"))
    assert any(page in link.get_attribute("href") for link in links[:10])


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("name", ["procedures/coat.html", "tables/coating.html", "procedures/rinse.html"])
@pytest.mark.long
def test_words_and_marks_stand_out_from_their_ground(browser, site, name, dark):
    open_page(browser, site, name, dark=dark)
    poor = browser.execute_script(CONTRAST)
    assert poor == []


CONTRAST = """
function rgb(text) { return text.match(/[\\d.]+/g).map(Number); }
function light(c) {
  const [r, g, b] = c.slice(0, 3).map(v => { v /= 255; return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
function ground(node) {
  while (node) {
    const c = rgb(getComputedStyle(node).backgroundColor);
    if (c.length < 4 || c[3] === 1) return c;
    node = node.parentElement;
  }
  return [255, 255, 255];
}
function over(front, back) {
  const a = front.length > 3 ? front[3] : 1;
  return front.slice(0, 3).map((v, i) => v * a + back[i] * (1 - a));
}
const poor = [];
for (const node of document.querySelectorAll(
    'table.hb td, table.hb th, .hb-notes li, .hb-edition, .hb-value, .hb-calc dt, .hb-calc dd, article p')) {
  const back = ground(node);
  const a = light(over(rgb(getComputedStyle(node).color), back)), b = light(back);
  const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  if (ratio < 4.5) poor.push([node.className || node.tagName, node.textContent.slice(0, 30), ratio.toFixed(2)]);
}
return poor.slice(0, 5);
"""


def printed(site, name, tmp_path):
    out = tmp_path / "page.pdf"
    subprocess.run(
        ["chromium", *CHROMIUM_FLAGS, f"--user-data-dir={tmp_path / 'print'}", f"--print-to-pdf={out}",
         "--no-pdf-header-footer", (site / name).as_uri()],
        check=True, capture_output=True, timeout=60,
    )  # fmt: skip
    text = subprocess.run(["pdftotext", "-layout", str(out), "-"], check=True, capture_output=True, text=True)
    return text.stdout


@pytest.mark.parametrize("table", ["dew-points", "spray-grid", "wet-film"])
@pytest.mark.long
def test_a_printed_table_keeps_every_column(browser, site, tmp_path, table, house):
    from handbook_calc.engine.tables import TABLES, shown

    filled = TABLES[table].compute(house)
    text = " ".join(printed(site, "tables/coating.html", tmp_path).split())
    for row in filled.rows[:3]:
        line = " ".join(shown(cell, column) for cell, column in zip(row, filled.columns, strict=True))
        assert " ".join(line.split()) in text


@pytest.mark.long
def test_a_printed_page_carries_its_edition(site, tmp_path, house):
    text = " ".join(printed(site, "procedures/rinse.html", tmp_path).split())
    assert f"edition {house.edition}" in text
    assert "A printed copy holds only while this edition does." in text


def test_nothing_lands_without_the_browser_tests():
    assert (ROOT / ".ci" / "run").read_text(encoding="utf-8").count("HANDBOOK_BROWSER=required") == 1
