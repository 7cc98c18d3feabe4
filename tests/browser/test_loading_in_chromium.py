"""What a page loads later, in Chromium: files that are missing or cut short, and pages that are come back to."""

import shutil

import pytest
from selenium.webdriver.common.by import By
from support import waiting
from test_in_chromium import open_page

ENABLED = "return Boolean(document.querySelector('#calc-drag-out [data-argument=area]:enabled'))"
RETRY = "const box = document.getElementById('calc-drag-out'); box.open = false; setTimeout(() => { box.open = true; }, 50)"
CUT = ["reader.js", "calculators.js", "calculations/drag-out.js"]


@pytest.fixture(scope="module")
def copied(site, tmp_path_factory):
    """A copy of the site in which files may be spoilt."""
    folder = tmp_path_factory.mktemp("copied") / "site"
    shutil.copytree(site, folder)
    return folder


@pytest.fixture(autouse=True)
def told_here(chromium):
    """Faults that are meant to be are left to no test that comes after."""
    yield
    chromium.get_log("browser")


@pytest.mark.parametrize("name", CUT)
@pytest.mark.parametrize("kept", [0, 0.6])
@pytest.mark.long
def test_a_script_that_was_cut_short_is_told_as_one_that_is_missing(browser, copied, name, kept):
    path = copied / "assets" / name
    whole = path.read_text(encoding="utf-8")
    path.write_text(whole[: int(kept * len(whole))], encoding="utf-8")
    try:
        browser.get((copied / "calculators" / "rinsing.html").as_uri() + "#calc-drag-out?area=200")
        box = browser.find_element(By.ID, "calc-drag-out")
        wait = waiting(browser, 10)
        wait.until(lambda b: b.find_elements(By.CSS_SELECTOR, "#calc-drag-out[open] .hb-missing"))
        assert "Copy the whole folder" in box.find_element(By.CSS_SELECTOR, ".hb-missing").text
        assert not browser.execute_script(ENABLED)
    finally:
        path.write_text(whole, encoding="utf-8")
    browser.execute_script(RETRY)
    wait.until(lambda b: b.execute_script(ENABLED))
    assert not browser.find_elements(By.CSS_SELECTOR, ".hb-missing")


def test_the_search_asks_again_for_a_file_that_was_missing(browser, copied):
    path = copied / "search" / "words.js"
    whole = path.read_text(encoding="utf-8")
    path.write_text(whole[: len(whole) // 2], encoding="utf-8")
    told = "return document.querySelector('.md-search-result__meta').textContent"
    type_in = """
    const box = document.querySelector('.md-search__input');
    box.focus(); box.value = arguments[0]; box.dispatchEvent(new Event('input'));
    """
    wait = waiting(browser, 10)
    try:
        open_page(browser, copied, "index.html")
        browser.execute_script(type_in, "rust")
        wait.until(lambda b: "is not beside the pages" in b.execute_script(told))
    finally:
        path.write_text(whole, encoding="utf-8")
    browser.execute_script(type_in, "rust")
    wait.until(lambda b: "pages" in b.execute_script(told) and "beside" not in b.execute_script(told))


def test_the_check_of_a_printed_sheet_says_that_its_codes_are_missing(browser, copied):
    path = copied / "assets" / "sheets-data.js"
    whole = path.read_text(encoding="utf-8")
    path.write_text(whole[: len(whole) // 2], encoding="utf-8")
    try:
        open_page(browser, copied, "keeper/printed-copies.html")
        told = "return document.getElementById('hb-sheet-told').textContent"
        waiting(browser, 10).until(lambda b: "sheets-data.js is not beside" in b.execute_script(told))
        assert not browser.find_element(By.ID, "hb-sheet-code").is_enabled()
    finally:
        path.write_text(whole, encoding="utf-8")


def test_a_page_that_is_come_back_to_is_in_the_units_that_were_chosen_meanwhile(browser, site):
    """A browser may keep the page as it was left, with its scripts at rest, and show it again as it stood."""
    open_page(browser, site, "tables/rinsing.html")
    units = "return document.documentElement.dataset.units || 'metric'"
    assert browser.execute_script(units) == "metric"
    browser.execute_script("""
    dispatchEvent(new PageTransitionEvent('pagehide', { persisted: true }));
    localStorage.setItem(arguments[0], '"us"');
    dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true }));
    """, browser.execute_script("return `handbook/1/${document.querySelector('[data-house]').dataset.house}/units`"))  # fmt: skip
    assert browser.execute_script(units) == "us"
    assert browser.find_element(By.CSS_SELECTOR, ".hb-switch").text == "US units"


def test_a_table_far_below_is_measured_when_the_reader_comes_near(browser, site):
    open_page(browser, site, "tables/abrasives.html")
    fits = "return [...document.querySelectorAll('.hb-scroll')].map(box => box.matches('.hb-fits'))"
    wait = waiting(browser, 10)
    wait.until(lambda b: any(b.execute_script(fits)))
    assert not all(browser.execute_script(fits))
    wide = "return arguments[0].scrollWidth <= arguments[0].clientWidth"
    for box in browser.find_elements(By.CSS_SELECTOR, ".hb-scroll"):
        browser.execute_script("arguments[0].closest('.hb-table').scrollIntoView()", box)
        wait.until(
            lambda b, box=box: b.execute_script(wide, box) == ("hb-fits" in box.get_attribute("class"))
        )


@pytest.mark.long
def test_a_row_that_the_address_names_is_in_sight_once_its_table_is_measured(browser, site):
    open_page(browser, site, "keeper/house-standard.html")
    rows = browser.execute_script(
        "return [...document.querySelectorAll('.hb-scroll tr[id]')].map(row => row.id)"
    )
    named = rows[len(rows) // 2]
    browser.get((site / "keeper" / "house-standard.html").as_uri() + f"?x#{named}")
    seen = f"""
    const at = document.getElementById('{named}').getBoundingClientRect();
    return at.top > 0 && at.bottom < innerHeight && Boolean(document.querySelector('.hb-fits'));
    """
    waiting(browser, 10).until(lambda b: b.execute_script(seen))


@pytest.mark.long
def test_no_browser_puts_back_what_was_typed_beside_an_answer_that_is_not_for_it(browser, site):
    """Some put back the choices of a page that is loaded again, in fixed fields too (the standard of HTML calls this
    the form's data, and lets a field ask not to have it)."""
    free = """
    return [...document.querySelectorAll('.hb-bench :is(input, select)')]
      .filter(field => !field.options || field.options.length > 1)
      .map(field => [field.id, field.getAttribute('autocomplete')]);
    """
    choices = 0
    for path in sorted((site / "calculators").glob("*.html")):
        open_page(browser, site, f"calculators/{path.name}")
        assert {kept for _, kept in browser.execute_script(free)} <= {"off"}, path
        choices += browser.execute_script("return document.querySelectorAll('select[data-argument]').length")
    assert choices > 5


@pytest.mark.parametrize("name", ["pages.js", "reader.js", "calculators.js"])
@pytest.mark.parametrize("kept", [None, 0.6])
def test_fields_that_stay_fixed_say_why(browser, copied, name, kept):
    """Without the script of every page nothing of ours is there that makes the notice, either."""
    path = copied / "assets" / name
    whole = path.read_text(encoding="utf-8")
    if kept is None:
        path.unlink()
    else:
        path.write_text(whole[: int(kept * len(whole))], encoding="utf-8")
    try:
        browser.get((copied / "calculators" / "rinsing.html").as_uri())
        browser.execute_script("document.getElementById('calc-drag-out').open = true")
        waiting(browser, 10).until(
            lambda b: b.find_elements(By.CSS_SELECTOR, "#calc-drag-out .hb-missing[role=alert]")
        )
        assert (
            "Copy the whole folder"
            in browser.find_element(By.CSS_SELECTOR, "#calc-drag-out .hb-missing").text
        )
        assert not browser.execute_script(ENABLED)
    finally:
        path.write_text(whole, encoding="utf-8")
