"""Tables on a phone of 360 px, in Chromium: what fits, what stays in sight, what becomes cards."""

import time

import pytest
from selenium.webdriver.common.by import By
from support import ROOT, waiting
from test_in_chromium import open_page, switch_units

WIDTH = 360
MOST_SIDEWAYS = 0.1  # of all tables, as often as they stand on pages

MEASURE = """
for (const box of document.querySelectorAll('details')) box.open = true;
return [...document.querySelectorAll('article table')].filter(t => !t.closest('.hb-calc')).map(t => {
  const box = t.closest('.hb-scroll, .md-typeset__scrollwrap') || t.parentElement;
  return box.scrollWidth > box.clientWidth;
});
"""
HEAD = """
const inside = document.querySelector('.md-header__inner');
const topic = inside.querySelectorAll('.md-header__topic')[1], title = topic.querySelector('.md-ellipsis') || topic;
const chip = inside.querySelector('.hb-piece'), at = node => node.getBoundingClientRect();
const number = document.createRange();
number.selectNodeContents(chip.lastChild);
const beside = [...inside.children].filter(node => node !== chip && !node.contains(topic) && at(node).width);
const over = beside.filter(node => at(node).left < at(chip).right - 1 && at(node).right > at(chip).left + 1);
const lap = (one, other) => Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top);
return {cut: title.scrollHeight > title.clientHeight + 2 || title.scrollWidth > title.clientWidth + 1,
  over: over.map(node => node.className), lap: lap(at(title), at(number)), high: at(chip).height,
  seen: at(number).right <= innerWidth && at(number).bottom <= at(inside).bottom, number: chip.lastChild.textContent};
"""


@pytest.mark.long
def test_at_most_one_table_in_ten_scrolls_sideways_and_no_title_in_the_head_is_cut(browser, site):
    metric, us, cut = [], [], []
    for page in sorted(site.rglob("*.html")):
        if page.name in ("404.html", "handbook.html"):
            continue
        open_page(browser, site, page.relative_to(site), width=WIDTH)
        if page.parent.name == "calculators" or "<table" not in page.read_text(encoding="utf-8"):
            cut += [page] * browser.execute_script(HEAD)["cut"]
            continue
        metric += browser.execute_script(MEASURE)
        switch_units(browser)
        cut += [page] * browser.execute_script(HEAD)["cut"]  # whose button is the wider one
        us += browser.execute_script(MEASURE)
        switch_units(browser)
    assert cut == []
    assert len(metric) > 300
    for sideways in (metric, us):
        assert sum(sideways) <= MOST_SIDEWAYS * len(metric)


@pytest.mark.long
def test_a_wide_table_keeps_its_first_column_and_its_head(browser, site):
    open_page(browser, site, "keeper/sources-and-checks.html", width=WIDTH)
    before, after = browser.execute_script("""
    const box = document.querySelector('#table-outside-checks .hb-scroll');
    const first = box.querySelector('tbody tr:nth-child(40) th'), head = box.querySelector('thead');
    box.scrollIntoView();
    first.scrollIntoView({block: 'center'});
    const at = () => [first.getBoundingClientRect().left, head.getBoundingClientRect().top];
    const before = at();
    box.scrollLeft = 200;
    box.scrollTop += 60;
    return [before, at()];
    """)
    assert after == pytest.approx(before, abs=1)


@pytest.mark.parametrize("width", [WIDTH, 1280])
@pytest.mark.long
def test_the_head_of_a_table_that_fits_stays_on_the_page(browser, site, width):
    open_page(browser, site, "tables/abrasives.html", width=width)
    box = browser.find_element(By.CSS_SELECTOR, "#table-grit-numbers .hb-scroll")
    browser.execute_script("arguments[0].scrollIntoView()", box)  # measured when the reader is near
    waiting(browser, 10).until(lambda b: "hb-fits" in box.get_attribute("class"))
    top, below = browser.execute_script("""
    const table = document.querySelector('#table-grit-numbers table');
    table.rows[table.rows.length - 3].scrollIntoView({block: 'center'});
    const bar = document.querySelector('.md-header').getBoundingClientRect().bottom;
    const head = table.tHead.getBoundingClientRect();
    return [head.top - bar, table.rows[2].getBoundingClientRect().bottom - bar];
    """)
    assert below < 0, "the row is out of sight, so the head would be too"
    assert top == pytest.approx(0, abs=2)


@pytest.mark.parametrize(
    ("page", "table"),
    [("reference/troubleshooting.html", "troubleshooting"), ("safety/never-together.html", "never-together")],
)
@pytest.mark.long
def test_rows_of_words_are_cards_as_wide_as_the_phone_and_still_a_table(browser, site, page, table):
    open_page(browser, site, page, width=WIDTH)
    cells = browser.execute_script(f"""
    const row = document.querySelector('#table-{table} tbody tr');
    return [...row.cells].map(c => [c.getBoundingClientRect().width, c.getBoundingClientRect().top,
      getComputedStyle(c, '::before').content, c.dataset.head]);
    """)
    assert min(width for width, _, _, _ in cells) > 0.75 * WIDTH
    assert [top for _, top, _, _ in cells] == sorted({top for _, top, _, _ in cells}), "one below the other"
    assert all(shown == f'"{head}"' for _, _, shown, head in cells)
    tree = browser.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    roles = [node["role"]["value"] for node in tree if not node["ignored"]]
    for role in ("table", "columnheader", "row", "rowheader"):
        assert role in roles
    assert roles.count("cell") + roles.count("gridcell") > 100


def test_cards_print_as_a_table(browser, site):
    open_page(browser, site, "reference/troubleshooting.html", width=WIDTH)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        shown = browser.execute_script("""
        const row = document.querySelector('#table-troubleshooting tbody tr');
        return [getComputedStyle(row).display, getComputedStyle(row.cells[1]).display,
          getComputedStyle(row.cells[1], '::before').content];
        """)
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert shown == ["table-row", "table-cell", "none"]


@pytest.mark.long
def test_cards_name_their_columns_in_the_readers_units(browser, site):
    open_page(browser, site, "tables/abrasives.html", width=WIDTH)
    heads = """
    const row = document.querySelector('#table-thickness-after tbody tr');
    return [...row.cells].map(c => c.dataset.head);
    """
    metric = browser.execute_script(heads)
    switch_units(browser)
    us = browser.execute_script(heads)
    switch_units(browser)
    assert metric[1].endswith("Left\u00a0mm") or metric[1].endswith("Left mm")
    assert us[1].endswith("Left in")
    assert browser.execute_script(heads)[1].split() == metric[1].split()


@pytest.mark.parametrize("page", ["etch-ferric-chloride", "electrolysis", "rust-came-back"])
@pytest.mark.long
def test_the_head_tells_the_page_and_the_chosen_piece(browser, site, page):
    text = (ROOT / "docs" / "pieces" / "LY-014.yml").read_text(encoding="utf-8")
    open_page(browser, site, "index.html", width=WIDTH)
    browser.execute_script(
        "HB.keepPieces(new Map([['LY-014', arguments[0]]])); HB.store.set('piece', 'LY-014')", text
    )
    open_page(browser, site, f"procedures/{page}.html", width=WIDTH)
    browser.execute_script("window.scrollTo(0, 900)")
    for _ in range(2):  # in metric, and in US units, whose button is wider
        time.sleep(0.6)
        head = browser.execute_script(HEAD)
        assert head["number"] == "LY-014"
        assert not head["cut"]
        assert head["over"] == []
        assert head["lap"] <= 2
        assert head["seen"]
        assert head["high"] >= 44
        switch_units(browser)
