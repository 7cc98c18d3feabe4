"""The switch to US units in Chromium: what still stands in metric on a page, and that it all comes back."""

import re
import time

import pytest
from support import ROOT, waiting
from test_in_chromium import open_page, switch_units

from handbook_calc.engine.quantities import US_UNITS, label

SWITCH = "document.querySelector('.hb-switch').click()"
ALL_AT_WORK = """
return Promise.all([...document.querySelectorAll('details.hb-calc')].map((box) => HB.withCalculator(box))).then(() => null);
"""

# What stays in metric units on a page that is read in US units, and why. Each must still be met somewhere.
STAYS = {
    "math": "a formula keeps its units; what was given is converted before it, and what it gives told in both",
    ".hb-converted": "tells both",
    "a[href*='#source-']": "a title, as it was published",
    ".hb-in-metric": "ticks that are not shown; those of the reader's unit stand at the same place",
    ".hb-help": "told in the unit of its field, whose value is too small for any US unit",
}
SAID = {
    r"for each litre": "a ratio",
    r"ounce has": "what an ounce is",
    r"µm": "the size of a grit is its name",
}
OF_GRITS = ("calculators/abrasives", "procedures/sand", "procedures/etch-ferric-chloride", "reference/disagreements",
            "tables/abrasives", "handbook")  # fmt: skip
# Texts, and what is read aloud or stands beside a cell, with a number in a unit that has a twin, or that end in one.
LEFT = r"""
const unit = arguments[0], twins = arguments[1], stays = arguments[2];
const number = String.raw`[−-]?\d[\d.]*(?:×10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)?`;
const figure = new RegExp(`(?:^|[^\\w.])\\d[\\d.]*[ \u00a0](?:${unit})(?![\\w/²³·^°])`);
const ends = new RegExp(`(?:[,(\u00a0]|[a-z] )\\s*(?:${unit})\\)?$`);
const both = new RegExp(`${number}[ \u00a0](?:${unit})(?: \\(${number} to ${number}\\),| \\()${number}[ \u00a0](?:${twins})\\)?`, "g");
const turned = new RegExp(`${number}[ \u00a0](?:${twins}) \\(${number}[ \u00a0](?:${unit})\\)`, "g");
const found = [], met = new Set();
const look = (text, at) => {
  const alone = text.trim().replace(both, "").replace(turned, "");
  if (!figure.test(alone) && !(ends.test(alone) && alone.length < 120)) return;
  const reason = stays.find((one) => at.closest(one));
  if (reason) met.add(reason);
  else found.push(text.trim());
};
const root = document.querySelector(".md-content") || document.body;
const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
while (walk.nextNode()) {
  const node = walk.currentNode;
  const at = node instanceof Text ? node.parentElement : node;
  if (at.closest("script, style, [data-register]")) continue;
  if (node instanceof Text) look(node.data, at);
  else for (const name of ["title", "aria-label", "data-head", "alt", "placeholder"])
    if (node.hasAttribute(name)) look(node.getAttribute(name), at);
}
for (const help of root.querySelectorAll('.hb-field:has(select[data-unit] option:checked) .hb-help')) {
  const menu = help.closest('.hb-field').querySelector('select[data-unit]');
  const told = menu.selectedOptions[0].textContent;
  if (/ to /.test(help.textContent) && !help.textContent.split(';')[0].includes(told)) found.push(help.textContent);
  const readers = HB.us[menu.value];
  if (readers && [...menu.options].some(({ value }) => value === readers)) found.push(help.textContent);
}
return [found, [...met]];
"""


def pages(site):
    found = sorted(str(page.relative_to(site)) for page in site.rglob("*.html"))
    return [page for page in found if page != "404.html"]


READY = """
const boxes = [...document.querySelectorAll('details.hb-calc')];
for (const box of boxes) box.open = true;
return !boxes.length || (HB.calculatorOf && boxes.every(box => HB.declared && box.id.slice(5) in HB.declared));
"""


def labels():
    """Return the units that have a twin, and the twins, as people read them; within brackets without their own."""
    others = {label(other) for other in US_UNITS.values()}
    return {label(unit) for unit in US_UNITS}, others | {re.sub("[()]", "", other) for other in others}


def open_with_calculators(browser, site, page):
    """Open a page and its calculators, and wait for the scripts that work them."""
    open_page(browser, site, page)
    waiting(browser, 20).until(lambda driver: driver.execute_script(READY))


@pytest.fixture
def in_us(browser, site):
    open_page(browser, site, "index.html")
    switch_units(browser)
    yield browser
    browser.execute_script("HB.store.set('units', 'metric')")


TURNED = """
for (const box of document.querySelectorAll('details')) box.open = true;
return Boolean(HB.pageIn) && [...document.querySelectorAll('details.hb-calc')].every(
  (box) => HB.isStarted && HB.isStarted(box) && !box.querySelector('[aria-busy]'));
"""


@pytest.mark.long
def test_nothing_stays_metric_but_what_is_declared_to(in_us, site):
    units, others = ("|".join(sorted(map(re.escape, some), key=len, reverse=True)) for some in labels())
    left, met = {}, set()
    for page in pages(site):
        open_page(in_us, site, page)
        waiting(in_us, 60).until(lambda driver: driver.execute_script(TURNED))
        time.sleep(0.3)  # curves are drawn after the next frame
        found, reasons = in_us.execute_script(LEFT, units, others, list(STAYS))
        met |= set(reasons)
        for text in found:
            said = [words for words in SAID if re.search(words, text)]
            said = [words for words in said if words != "µm" or page.startswith(OF_GRITS)]
            met |= set(said)
            if not said:
                left.setdefault(page, []).append(text)
    assert left == {}
    assert met == STAYS.keys() | SAID.keys()


KEPT = """
HB.keepPieces(new Map([['LY-017', arguments[0]]]));
HB.store.set('piece', 'LY-017');
HB.store.set('log/LY-017', arguments[1]);
"""
FORGOTTEN = (
    "HB.keepPieces(new Map()); HB.store.set('piece', undefined); HB.store.set('log/LY-017', undefined)"
)


@pytest.mark.long
def test_the_pages_of_an_own_piece_turn_too(in_us, site):
    piece, log = ((ROOT / "docs" / "pieces" / f"LY-017.{end}").read_text("utf-8") for end in ("yml", "csv"))
    units, others = ("|".join(sorted(map(re.escape, some), key=len, reverse=True)) for some in labels())
    stays = [*STAYS, ".hb-log-rows"]  # as they were typed
    in_us.execute_script(KEPT, piece, log)
    try:
        for page in ("pieces/own", "pieces/own-log", "procedures/rinse", "calculators/chloride"):
            open_page(in_us, site, f"{page}.html")
            waiting(in_us, 60).until(
                lambda driver: driver.execute_script("return document.documentElement.dataset.ownPiece")
            )
            waiting(in_us, 60).until(lambda driver: driver.execute_script(TURNED))
            time.sleep(1)
            assert in_us.execute_script(LEFT, units, others, stays)[0] == [], page
            text = in_us.execute_script("return document.querySelector('.md-content').textContent")
            assert re.search(r"\d\u00a0(?:in|°F|gal|oz \(avoirdupois\))", text) or page == "pieces/own-log"
            assert page != "pieces/own-log" or "mass, oz (avoirdupois)" in text
    finally:
        in_us.execute_script(FORGOTTEN)


SAYS = """
const found = [];
const walk = document.createTreeWalker(document.querySelector('.md-content'), NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
while (walk.nextNode()) {
  const node = walk.currentNode;
  if (node instanceof Text) found.push(node.data);
  else for (const name of ['title', 'aria-label', 'data-head', 'value'])
    if (node.hasAttribute(name)) found.push(`${name}: ${name === 'value' ? node.value : node.getAttribute(name)}`);
}
return found.map((text) => text.replace(/\\s+/g, ' ').trim()).filter(Boolean);
"""


def settled(browser):
    waiting(browser, 20).until(lambda driver: not driver.find_elements("css selector", "[aria-busy]"))
    time.sleep(0.3)  # the band of a curve comes after its interval


@pytest.mark.parametrize(
    "page",
    ["tables/coating", "tables/chloride", "calculators/alcohol", "calculators/chloride", "calculators/oven",
     "procedures/etch-nital", "procedures/instruments", "procedures/sand"],
)  # fmt: skip
@pytest.mark.long
def test_back_in_metric_a_page_says_what_it_said(browser, site, page):
    open_with_calculators(browser, site, f"{page}.html")
    browser.execute_script(ALL_AT_WORK)
    settled(browser)
    before = browser.execute_script(SAYS)
    switch_units(browser)
    waiting(browser, 10).until(lambda driver: driver.execute_script("return Boolean(HB.pageIn)"))
    settled(browser)
    assert browser.execute_script(SAYS) != before
    switch_units(browser)
    settled(browser)
    assert browser.execute_script(SAYS) == before


LOADED = "return [...document.scripts].some(script => /assets\\/us\\.js$/.test(script.src))"


HEADS = (
    "return [...document.querySelectorAll('[data-us]')].every(head => head.textContent === head.dataset.us)"
)


def test_what_turns_a_page_is_loaded_for_us_units_alone(browser, site):
    open_with_calculators(browser, site, "calculators/oven.html")
    browser.execute_script(ALL_AT_WORK)
    assert not browser.execute_script(LOADED)
    switch_units(browser)
    assert browser.execute_script(LOADED)
    open_page(browser, site, "tables/oven.html")  # in US units from the beginning
    waiting(browser, 10).until(lambda driver: driver.execute_script(HEADS))
    browser.execute_script("HB.store.set('units', 'metric')")


@pytest.fixture
def without_us(browser):
    """Let the browser find no script of US units, until what is given back is called."""

    def found():
        browser.execute_cdp_cmd("Network.setBlockedURLs", {"urls": []})

    browser.execute_cdp_cmd("Network.enable", {})
    browser.execute_cdp_cmd("Network.setBlockedURLs", {"urls": ["*assets/us.js"]})
    yield found
    found()
    browser.execute_cdp_cmd("Network.disable", {})
    browser.execute_script(
        "HB.store.set('units', 'metric'); HB.store.set('piece', undefined); HB.keepPieces(new Map())"
    )


NO_UNITS = "return document.querySelector('.hb-no-units')?.textContent || ''"
SHOWN = """
return {button: document.querySelector('.hb-switch').textContent, root: document.documentElement.dataset.units,
  tables: [...document.querySelectorAll('article table')].map((table) => table.textContent)};
"""


def says(browser):
    return waiting(browser, 10).until(lambda driver: driver.execute_script(NO_UNITS))


def test_where_the_script_of_us_units_is_missing_all_is_metric(browser, site, without_us):
    """Figures of a reader's own piece, too: a number of ounces below a heading of grams weighs 28 times as much."""
    text = (ROOT / "docs" / "pieces" / "LY-017.yml").read_text(encoding="utf-8")
    open_page(browser, site, "tables/etching.html")
    browser.execute_script(
        "HB.keepPieces(new Map([['LY-017', arguments[0]]])); HB.store.set('piece', 'LY-017')", text
    )

    def opened():
        open_page(browser, site, "tables/etching.html")
        waiting(browser, 10).until(lambda driver: driver.find_elements("css selector", ".hb-own-note"))

    opened()
    metric = browser.execute_script(SHOWN)
    assert metric["button"] == "metric"
    browser.execute_script("HB.store.set('units', 'us')")
    opened()
    assert says(browser).startswith(
        "The file assets/us.js is not beside the pages, so all stays in metric units"
    )
    shown = browser.execute_script(SHOWN)
    assert shown["tables"] == metric["tables"]
    assert shown["button"] == "metric"
    browser.execute_script(SWITCH)  # asks again
    assert says(browser)
    without_us()
    browser.execute_script(SWITCH)
    waiting(browser, 10).until(lambda driver: driver.execute_script(SHOWN)["button"] == "US units")
    assert not browser.execute_script(NO_UNITS)
    assert browser.execute_script(SHOWN)["tables"] != metric["tables"]
    browser.execute_script(SWITCH)
    assert browser.execute_script(SHOWN)["tables"] == metric["tables"]


def test_calculators_work_in_metric_where_the_script_of_us_units_is_missing(browser, site, without_us):
    open_page(browser, site, "index.html")
    browser.execute_script("HB.store.set('units', 'us')")
    open_with_calculators(browser, site, "calculators/oven.html")
    assert says(browser)
    browser.execute_script(ALL_AT_WORK)
    assert browser.find_elements("css selector", ".hb-calc .hb-missing") == []
    assert (
        browser.execute_script(
            "return document.querySelectorAll('.hb-calc :is(input, select):disabled').length"
        )
        == 0
    )


ROWS = """
return (async () => {
const box = document.getElementById('calc-constant-mass');
box.open = true;
const calculator = await HB.withCalculator(box);
const field = calculator.fields.get('weighings');
const cell = box.querySelector('tbody tr:last-of-type td:nth-of-type(2) input');
const put = (text) => { cell.value = text; cell.dispatchEvent(new Event('input', {bubbles: true})); };
if (arguments[0] !== null) put(arguments[0]);
const { values } = HB.compute(calculator) || { values: null };
return {
  shown: box.querySelector('tbody tr:last-of-type td:nth-of-type(2) input').value,
  heads: [...box.querySelectorAll('.hb-grid thead th')].map((head) => head.textContent),
  beside: box.querySelector('tbody tr:last-of-type td:nth-of-type(2)').dataset.head,
  label: cell.getAttribute('aria-label'),
  mass: values && values.weighings.at(-1)[1],
  error: field.error.textContent,
  typed: HB.isTyped(field),
  written: HB.written(field),
};
})();
"""


def test_rows_are_shown_and_typed_in_the_readers_unit_and_kept_as_they_were_given(in_us, site):
    open_with_calculators(in_us, site, "calculators/oven.html")
    began = in_us.execute_script(ROWS, None)
    assert began["heads"][2] == "mass of the piece, oz (avoirdupois)"
    assert began["beside"] == "mass of the piece, oz (avoirdupois)"
    assert began["label"].endswith("mass of the piece, oz (avoirdupois)")
    assert not began["typed"]  # it is shown otherwise, and not another weighing
    assert float(began["shown"]) == pytest.approx(began["mass"] / 28.349523125, rel=1e-5)
    bare = in_us.execute_script(ROWS, "6.5")
    assert bare["mass"] == pytest.approx(6.5 * 28.349523125)  # NIST SP 811, appendix B.8
    assert bare["written"].endswith("6.5 oz_avdp")
    assert in_us.execute_script(ROWS, "186.3 g")["mass"] == 186.3
    wrong = in_us.execute_script(ROWS, "9000")
    assert "9000 oz (avoirdupois) is out of range; allowed is" in wrong["error"]
    assert wrong["error"].endswith("3520 oz (avoirdupois)")
    in_us.execute_script(ROWS, "6.5")
    switch_units(in_us)
    back = in_us.execute_script(ROWS, None)
    assert back["heads"][2] == "mass of the piece, g"
    assert back["beside"] == "mass (g)"
    assert back["shown"] == "6.5 oz_avdp"  # as it was given
    assert back["mass"] == pytest.approx(6.5 * 28.349523125)
    in_us.execute_script(
        "document.querySelector('#calc-constant-mass .hb-tools button:nth-of-type(2)').click()"
    )


WORKING = """
return (async () => {
const box = document.getElementById('calc-slab-area');
box.open = true;
const calculator = await HB.withCalculator(box);
const field = calculator.fields.get('length');
field.control.value = arguments[0];
field.control.dispatchEvent(new Event('input', {bubbles: true}));
window.dispatchEvent(new Event('beforeprint'));
const texts = (selector) => [...box.querySelectorAll(selector)].map((node) => node.textContent);
return [texts('.hb-converted li'), texts('.hb-step').at(-1), texts('.hb-calc-given')[0], HB.asText(calculator)];
})();
"""


def test_a_working_converts_what_was_given_first_and_tells_both(in_us, site):
    open_with_calculators(in_us, site, "calculators/specimen.html")
    lines, last, given, text = in_us.execute_script(WORKING, "4")
    assert any(line.endswith(": 4 in = 101.6 mm") for line in lines)
    assert re.fullmatch(r"= [\d.]+\u00a0cm² \([\d.]+\u00a0in²\)", last)
    for line in (given, text):
        assert "length 4 in" in line
        assert not re.search(r"\d mm\b", line)
    assert any(line.endswith(": 4 cm = 40 mm") for line in in_us.execute_script(WORKING, "4 cm")[0])
    switch_units(in_us)
    assert in_us.execute_script(WORKING, "4")[0] == []
    in_us.execute_script("HB.store.set(HB.typedName(document.getElementById('calc-slab-area')), undefined)")


def test_a_working_tells_what_was_typed_and_not_what_it_comes_back_to(in_us, site):
    open_with_calculators(in_us, site, "calculators/alcohol.html")
    typed = """
    return (async () => {
    const box = document.getElementById('calc-' + arguments[0]);
    box.open = true;
    const { control } = (await HB.withCalculator(box)).fields.get(arguments[1]);
    for (const text of arguments[2]) {
      control.value = text;
      for (const kind of ['input', 'change']) control.dispatchEvent(new Event(kind, {bubbles: true}));
    }
    return [[...box.querySelectorAll('.hb-converted li')].map((node) => node.textContent), box.querySelector('.hb-steps').textContent];
    })();
    """
    lines, worked = in_us.execute_script(typed, "jar-vapour", "temperature", ["80"])
    assert lines == ["temperature of the jar: 80 °F = 26.66667 °C"]
    assert "26.66667\u00a0°C (80 °F)" in worked
    lines, _ = in_us.execute_script(typed, "flammable-volume", "solvent_volume", ["500 ml", "3 floz"])
    # An ounce is 29.573 53 mL: NIST SP 811, appendix B.8.
    assert lines[0] == "liquid that evaporates: 3 US fl oz = 88.72059 mL"
    lines, _ = in_us.execute_script(typed, "flammable-volume", "solvent_volume", ["3 floz", "500 ml"])
    assert not [line for line in lines if line.startswith("liquid that evaporates")]


@pytest.mark.long
def test_a_plot_shows_the_ticks_of_the_readers_unit(browser, site):
    open_page(browser, site, "tables/coating.html")
    seen = """return ['metric', 'us'].map(kind => [...document.querySelectorAll(`.hb-plot .hb-in-${kind}`)]
        .map(group => getComputedStyle(group).display !== 'none'))"""
    metric, us = browser.execute_script(seen)
    assert metric
    assert all(metric)
    assert not any(us)
    switch_units(browser)
    metric, us = browser.execute_script(seen)
    assert not any(metric)
    assert all(us)
    switch_units(browser)


@pytest.mark.long
def test_what_is_allowed_is_told_in_the_unit_of_the_menu(browser, site):
    open_with_calculators(browser, site, "calculators/specimen.html")
    told = """
    return (async () => {
    const box = document.getElementById('calc-slab-area');
    box.open = true;
    const field = (await HB.withCalculator(box)).fields.get('length');
    if (arguments[0]) { field.menu.value = arguments[0]; field.menu.dispatchEvent(new Event('input', {bubbles: true})); }
    if (arguments[1]) { field.control.value = arguments[1]; field.control.dispatchEvent(new Event('input', {bubbles: true})); }
    return [field.help.textContent, field.error.textContent];
    })();
    """
    assert browser.execute_script(told, "", "")[0].startswith("0.1 to 2000 mm")
    assert browser.execute_script(told, "in", "")[0].startswith("0.003938 to 78.74 in")
    assert browser.execute_script(told, "", "78.74")[1] == ""  # what is printed as allowed may be typed
    assert browser.execute_script(told, "", "0.003938")[1] == ""
    help_text, error = browser.execute_script(told, "", "79")
    assert "is out of range; allowed is 0.003938 to 78.74 in" in error
    assert help_text.endswith("changed from 3.543 in")
    assert browser.execute_script(told, "mm", "")[0].startswith("0.1 to 2000 mm")


FIELDS = """
return (async () => {
const found = [];
for (const box of document.querySelectorAll('details.hb-calc')) {
  const calculator = await HB.withCalculator(box);
  for (const [name, field] of calculator.fields) {
    if (!field.menu || !field.control.value) continue;
    const known = HB.knownOf(field), [low, high] = [field.input.low, field.input.high];
    const shown = field.control.value, [value] = shown.split(' ');
    let read = null;
    try { read = HB.readKnown(field.input, shown, field.menu.value).value; } catch (problem) { read = problem.message; }
    found.push({name: `${box.id} ${name}`, shown, read, value: known.value, exact: field.start === field.source});
  }
}
return found;
})();
"""


@pytest.mark.parametrize("stage", ["specimen", "electrolysis", "alcohol", "coating", "oven", "abrasives"])
@pytest.mark.long
def test_a_starting_value_is_a_short_number_that_means_the_same(in_us, site, stage):
    open_page(in_us, site, f"calculators/{stage}.html")
    fields = in_us.execute_script(FIELDS)
    assert len(fields) > 5
    for field in fields:
        assert field["exact"], field  # the answer is still that of the house's own number
        for number in re.findall(r"\d[\d.]*(?:e-?\d+)?", field["shown"]):
            assert len(number.split("e")[0].replace(".", "").strip("0")) <= 7, field
        assert field["read"] == pytest.approx(field["value"], rel=6e-4, abs=0.01), field


def test_a_value_at_the_edge_of_what_is_allowed_stays_inside_in_another_unit(browser, site):
    open_with_calculators(browser, site, "calculators/specimen.html")
    texts = browser.execute_script("""
    return (async () => {
    const box = document.getElementById('calc-slab-area');
    box.open = true;
    const field = (await HB.withCalculator(box)).fields.get('length');
    return ['0.1', '2000'].map(text => {
      const put = (node, value) => { node.value = value; node.dispatchEvent(new Event('input', {bubbles: true})); };
      put(field.menu, 'mm');
      put(field.control, text);
      put(field.menu, 'in');
      const shown = field.control.value;
      put(field.control, shown);
      return [shown, field.error.textContent];
    });
    })();
    """)
    assert texts == [["0.003938", ""], ["78.74", ""]]
