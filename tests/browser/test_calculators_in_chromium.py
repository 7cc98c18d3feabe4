"""Every calculator in Chromium, opened from a folder: filled, read, refused, switched, kept in the address."""

import re
import time

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from support import ROOT, waiting
from test_in_chromium import open_page, requests_to_other_hosts, switch_units

from handbook_calc.engine import examples
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE, Number, Whole
from handbook_calc.engine.checks import checks
from handbook_calc.engine.stages import STAGES

FILL = """
return (async (name, values) => {
const box = document.getElementById("calc-" + name);
box.open = true;
await HB.withCalculator(box);
const form = box.querySelector("[data-calculation]");
for (const [argument, text] of Object.entries(values)) {
  const control = form.querySelector('[data-argument="' + argument + '"]');
  if (control.querySelector("table")) {  // rows are pasted over an emptied grid
    control.querySelectorAll("tbody button").forEach(button => button.click());
    const data = new DataTransfer();
    data.setData("text", text + ";");
    const paste = new ClipboardEvent("paste", {clipboardData: data, bubbles: true, cancelable: true});
    control.querySelector("input").dispatchEvent(paste);
    continue;
  }
  control.value = text;
  control.dispatchEvent(new Event("input", {bubbles: true}));
}
const said = form.querySelector(".hb-said");
return {
  form: form.getAttribute("data-calculation"),
  said: said ? said.textContent : "",
  errors: [...form.querySelectorAll(".hb-error")].map(e => e.textContent).filter(Boolean),
  results: Object.fromEntries([...form.querySelectorAll("[data-result]")].map(
    d => [d.getAttribute("data-result"), d.querySelector("dd").textContent])),
  short: box.querySelector(".hb-calc-short").textContent,
};
})(...arguments);
"""


WORKING = """return [...document.querySelectorAll('#calc-' + arguments[0] + ' [data-step]')]
    .filter(line => !line.hidden).map(line => line.textContent)"""


def outline(line):
    """What a line sets, the digits in it in their order, and what it comes to.

    Fractions, roots and powers are signs of another kind on the page.
    """
    first, *_, last = (part.strip() for part in re.sub(" +", " ", line).split("= "))
    digits = "".join(re.findall(r"[\d.]", line.translate(str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789"))))
    return first, digits, last


@pytest.fixture(autouse=True)
def nothing_kept(browser):
    """What one test typed is not there for the next."""
    browser.get("about:blank")
    browser.execute_cdp_cmd("Storage.clearDataForOrigin", {"origin": "file://", "storageTypes": "all"})


def stages_with_calculators():
    return [stage for stage in STAGES if any(c.stage == stage for c in CATALOGUE.values())]


def as_typed(declared, value):
    """Return the text a person types into a field for a value in the declared unit."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return (
            f"below {-value!r} {declared.unit}" if value < 0 and declared.form == "reading" else repr(value)
        )
    return declared.show(value).replace("\u00a0", " ").replace("; ", "\n")


@pytest.mark.parametrize("stage", stages_with_calculators())
def test_every_calculator_gives_what_python_gives(recorded, site, stage):
    browser = recorded
    open_page(browser, site, f"calculators/{stage}.html")
    for calculation in [c for c in CATALOGUE.values() if c.stage == stage]:
        rows = [c for c in checks() if c.calculation == calculation.name and c.expected != ""]
        answered = [c for c in rows if not c.expected.startswith("refused")]
        for check in (answered[0], answered[-1]):
            answer = Bench(None).ask(check.calculation, **check.inputs)
            typed = {d.name: as_typed(d, answer.inputs[d.name]) for d in calculation.inputs}
            seen = browser.execute_script(FILL, calculation.name, typed)
            told = browser.execute_script(WORKING, calculation.name)
            assert list(map(outline, told)) == list(map(outline, answer.working())), (check, told)
            assert seen["form"] == calculation.name
            assert seen["errors"] == [], (check, seen)
            assert seen["said"] == "", (check, seen)
            for result in calculation.results:
                if isinstance(result, Number | Whole):
                    assert seen["results"][result.name] == answer.show(result.name), check
                elif hasattr(result, "words"):
                    assert seen["results"][result.name].startswith(str(answer.results[result.name])), check
    assert requests_to_other_hosts(browser) == []


def test_every_default_is_right_without_any_script(site, house):
    for stage in stages_with_calculators():
        html = (site / "calculators" / f"{stage}.html").read_text(encoding="utf-8")
        for calculation in [c for c in CATALOGUE.values() if c.stage == stage]:
            box = html[html.index(f'id="calc-{calculation.name}"') :]
            box = box[: box.index("</details></div></details>")]
            assert "data-result=" in box
            assert '<output class="hb-calc-short">' in box
            assert "<dd>–</dd>" not in box


def test_a_value_out_of_range_is_told_at_its_field_in_pythons_words(browser, site):
    open_page(browser, site, "calculators/rinsing.html")
    seen = browser.execute_script(FILL, "drag-out", {"area": "-3"})
    assert seen["errors"] == ["-3 cm² is out of range; allowed is 0.1 to 20000 cm²"]
    assert seen["results"]["volume"] == "–"
    seen = browser.execute_script(FILL, "drag-out", {"area": "1,500"})
    assert "could be 1500 or 1.500" in seen["errors"][0]
    seen = browser.execute_script(FILL, "drag-out", {"area": ""})
    assert "is missing" in seen["errors"][0]
    seen = browser.execute_script(FILL, "drag-out", {"area": "100"})
    assert seen["errors"] == []


def test_a_refusal_says_why_and_what_to_do(browser, site):
    open_page(browser, site, "calculators/rinsing.html")
    seen = browser.execute_script(FILL, "rinse-baths", {"drag_out": "600", "bath": "500"})
    assert "that is no rinse; use at least five times as much water" in seen["said"]
    assert seen["short"] == "refused"


@pytest.mark.long
def test_the_address_keeps_what_was_typed(browser, site):
    open_page(browser, site, "calculators/rinsing.html")
    browser.execute_script(FILL, "drag-out", {"area": "123"})
    address = browser.execute_script("return location.href")
    assert "#calc-drag-out?area=123%20cm%5E2" in address
    browser.get("about:blank")
    browser.get(address)
    time.sleep(0.3)
    script = "return document.querySelector('#calc-drag-out [data-argument=area]').value"
    assert browser.execute_script(script) == "123"
    assert browser.execute_script("return document.getElementById('calc-drag-out').open") is True


@pytest.mark.long
def test_an_address_cut_short_on_its_way_still_opens_the_calculator(browser, site):
    address = (site / "calculators/rinsing.html").as_uri()
    browser.get_log("browser")
    browser.get("about:blank")
    browser.get(f"{address}#calc-drag-out?constructor=1&area=55%20cm%5E2&film=2%E0%A4%A")
    time.sleep(0.3)
    script = "return document.querySelector('#calc-drag-out [data-argument=area]').value"
    assert browser.execute_script(script) == "55"
    assert browser.execute_script("return document.getElementById('calc-drag-out').open") is True
    assert [entry for entry in browser.get_log("browser") if entry["level"] == "SEVERE"] == []


def test_one_switch_changes_units_everywhere_and_is_remembered(browser, site):
    open_page(browser, site, "calculators/specimen.html")
    short = "return document.querySelector('#calc-slab-area .hb-calc-short').textContent"
    metric = browser.execute_script(short)
    assert "cm²" in metric
    switch_units(browser)
    waiting(browser, 10).until(lambda driver: "in²" in driver.execute_script(short))
    open_page(browser, site, "tables/specimen.html")
    us = "return document.documentElement.dataset.units === 'us'"
    waiting(browser, 10).until(lambda driver: driver.execute_script(us))
    heading = "return document.querySelector('#table-slab-areas thead').textContent"
    assert "(cells in in²)" in browser.execute_script(heading)
    cell = "return document.querySelector('#table-slab-areas tbody th').textContent"
    row = float(browser.execute_script(cell))
    open_page(browser, site, "procedures/flatten.html")
    waiting(browser, 10).until(lambda driver: driver.execute_script(us))
    sentence = "return [...document.querySelectorAll('.hb-value')].map(v => v.textContent).join('|')"
    assert "0.984\u00a0in|" in browser.execute_script(sentence)  # 25 mm
    open_page(browser, site, "tables/specimen.html")
    waiting(browser, 10).until(lambda driver: driver.execute_script(us))
    switch_units(browser)
    assert float(browser.execute_script(cell)) == pytest.approx(25.4 * row, rel=0.01)
    open_page(browser, site, "calculators/specimen.html")
    assert browser.execute_script(short) == metric


@pytest.mark.parametrize("stage", ["storage", "electrolysis", "coating"])
@pytest.mark.long
def test_the_switch_of_units_changes_no_value_and_says_so_of_none(browser, site, stage):
    open_page(browser, site, f"calculators/{stage}.html")
    browser.execute_script("document.querySelectorAll('.hb-calc').forEach((box) => { box.open = true; })")
    waiting(browser, 30).until(
        lambda b: not b.execute_script("return document.querySelectorAll('.hb-calc :disabled').length")
    )
    changed = "return [...document.querySelectorAll('.hb-calc')].filter((b) => !b.querySelector('.hb-changed').hidden).map((b) => b.id)"
    for _ in range(2):
        switch_units(browser)
        browser.execute_async_script("setTimeout(arguments[0], 300)")
        assert browser.execute_script(changed) == []


def test_working_puts_the_numbers_in(browser, site):
    open_page(browser, site, "calculators/rinsing.html")
    browser.execute_script(
        FILL, "rinse-residue", {"start": "1000", "drag_out": "50", "bath": "950", "baths": "3"}
    )
    steps = browser.execute_script(
        "return [...document.querySelectorAll('#calc-rinse-residue [data-step]')].map(s => s.textContent)"
    )
    assert "= 50" in steps[0]
    assert steps[0].endswith("= 0.05")
    assert steps[-1].endswith("= 0.125\u00a0mg/L")


TOLD = """return [...document.querySelectorAll('#calc-' + arguments[0] + ' [data-step]')]
    .filter(line => !line.hidden && !line.querySelector('math')).map(line => line.textContent.replace(/ +/g, " "))"""


@pytest.mark.parametrize(("page", "name", "values"), [
    ("alcohol", "alcohol-strength", {"density": "0.83", "temperature": "25"}),
    ("coating", "spray-check", {"air_temperature": "18", "humidity": "61.25"}),
    ("electrolysis", "cathode-current", {"area": "120"}),
    ("etching", "bath-capacity", {"mass_percent": "11.5"}),
    ("alcohol", "soak-sequence", {"temperature": "15"}),
    ("electrolysis", "electrode-potential", {"reading": "-812.5"}),
    ("oven", "air-lift", {"mass": "120"}),  # two numbers that lie close together, with digits enough
    ("storage", "closed-box-humidity", {"humidity": "70"}),
    ("specimen", "bulk-density", {"air_density": "1.2"}),  # the other way of a choice
])  # fmt: skip
@pytest.mark.long
def test_working_in_words_is_that_of_the_command_line(browser, site, house, page, name, values):
    open_page(browser, site, f"calculators/{page}.html")
    browser.execute_script(FILL, name, values)
    given = examples.starting_values(CATALOGUE[name], Bench(house), {})
    inputs = given | {key: float(value) for key, value in values.items()}
    printed = Bench(house).answer(name, **inputs).working()
    seen = browser.execute_script(TOLD, name)
    assert seen
    assert [line for line in seen if line not in printed] == []


def test_a_curve_marks_the_readers_point(browser, site):
    open_page(browser, site, "calculators/chloride.html")
    browser.execute_script(FILL, "extracted-fraction", {"time": "7", "depth": "4"})
    label = browser.execute_script(
        "return document.querySelector('#calc-extracted-fraction .hb-curve svg').getAttribute('aria-label')"
    )
    assert "your point: 7.00" in label


CURVE = """
const box = document.querySelector('#calc-' + arguments[0] + ' .hb-curve svg');
const texts = [...box.querySelectorAll('text')].map(node => node.textContent);
const mark = box.querySelector('.hb-mark');
return {texts, label: box.getAttribute('aria-label'), dots: box.querySelectorAll('.hb-dot').length,
  limit: !!box.querySelector('.hb-limit'), line: !!box.querySelector('.hb-line'),
  height: box.viewBox.baseVal.height, mark: Number(mark.getAttribute('cy'))};
"""


def drawn_curve(browser, site, page, name, values):
    open_page(browser, site, f"calculators/{page}.html")
    browser.execute_script(FILL, name, values)
    return browser.execute_script(CURVE, name)


def test_a_curve_has_its_limit_and_names_its_axes(browser, site):
    drawn = drawn_curve(browser, site, "chloride", "extracted-fraction", {"time": "7", "depth": "4"})
    assert drawn["limit"]
    assert "limit 95\u00a0%" in drawn["texts"]
    assert "time in the bath, d" in drawn["texts"]
    assert "share that has come out, %" in drawn["texts"]
    assert drawn["label"].endswith("; limit: 95.0\u00a0%")


def test_a_limit_that_is_an_input_follows_it(browser, site):
    drawn = drawn_curve(browser, site, "etching", "etch-time", {"longest": "120 s"})
    assert "limit 120\u00a0s" in drawn["texts"]


def test_a_curve_over_a_count_is_points(browser, site):
    values = {"start": "20 mg/L", "drag_out": "2.3", "bath": "500", "baths": "3"}
    drawn = drawn_curve(browser, site, "rinsing", "rinse-residue", values)
    assert drawn["dots"] == 9
    assert not drawn["line"]
    assert {"0", "2", "4", "6", "8"} <= set(drawn["texts"]), "no half baths"


def test_a_curve_keeps_the_readers_point_in_sight(browser, site):
    """The life of a gel runs to hundreds of thousands of days where a box hardly leaks."""
    drawn = drawn_curve(browser, site, "storage", "gel-life", {"gel_mass": "100", "air_changes": "0.3"})
    assert drawn["height"] * 0.2 < drawn["mark"] < drawn["height"] * 0.75
    for text in drawn["texts"]:
        number = text.replace(",", "")
        if number.replace(".", "").isdigit() and float(number) > 0:
            assert number.strip("0.")[0] in "12468357"
            assert float(number) < 20_000


@pytest.mark.long
def test_copy_as_text_holds_inputs_result_and_edition(browser, site, house):
    open_page(browser, site, "calculators/rinsing.html")
    browser.execute_script(FILL, "drag-out", {"area": "123"})
    text = browser.execute_script(
        "return HB.asText(HB.calculatorOf(document.getElementById('calc-drag-out')))"
    )
    assert "area 123 cm²" in text
    assert "mL" in text
    assert f"edition {house.edition}" in text


@pytest.mark.long
def test_a_calculator_works_by_keyboard_alone(browser, site):
    from selenium.webdriver.common.keys import Keys

    open_page(browser, site, "calculators/rinsing.html")
    summary = browser.find_element(By.CSS_SELECTOR, "#calc-drag-out > summary")
    summary.send_keys(Keys.ENTER)
    field = browser.find_element(By.CSS_SELECTOR, "#calc-drag-out [data-argument=area]")
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys("200")
    answer = browser.find_element(By.CSS_SELECTOR, "#calc-drag-out [data-result=volume] dd")
    assert answer.text.startswith("4.5 mL (")
    for control in browser.find_elements(By.CSS_SELECTOR, "#calc-drag-out [data-argument]"):
        name = control.get_attribute("id")
        assert browser.find_elements(By.CSS_SELECTOR, f'label[for="{name}"]')
        for described in control.get_attribute("aria-describedby").split():
            assert browser.find_elements(By.ID, described)
    assert (
        browser.find_element(By.CSS_SELECTOR, "#calc-drag-out .hb-answer").get_attribute("aria-live")
        == "polite"
    )


def test_the_pages_of_calculators_are_all_there():
    for stage in stages_with_calculators():
        text = (ROOT / "docs" / "calculators" / f"{stage}.md").read_text(encoding="utf-8")
        for calculation in [c for c in CATALOGUE.values() if c.stage == stage]:
            assert f"{{{{ calc {calculation.name} }}}}" in text


LOADED = """
return [...document.scripts].map(script => script.src.split("/assets/")[1]).filter(Boolean)
  .filter(name => !name.startsWith("javascripts/"));
"""
UNTOUCHED = ["pages.js", "bench/begin.js"]
ENGINE = ["reader.js", "calculators.js"]


def test_what_works_a_calculator_is_loaded_when_it_is_reached_and_no_other_comes_with_it(browser, site):
    open_page(browser, site, "calculators/rinsing.html")
    assert sorted(browser.execute_script(LOADED)) == sorted(UNTOUCHED)
    box = browser.find_element(By.ID, "calc-drag-out")
    fixed = "return [...arguments[0].querySelectorAll('input, select')].every(control => control.disabled)"
    assert browser.execute_script(fixed, box)
    box.find_element(By.CSS_SELECTOR, "summary").send_keys(Keys.NULL)  # the keyboard reaches it
    wait = waiting(browser, 10)
    wanted = [*UNTOUCHED, *ENGINE, "calculations/drag-out.js", "bench/curve.js"]
    curve = browser.execute_script("return Boolean(arguments[0].querySelector('[data-curve]'))", box)
    wanted = wanted if curve else wanted[:-1]
    wait.until(lambda b: sorted(b.execute_script(LOADED)) == sorted(wanted))
    assert browser.execute_script(fixed, box), "its fields open with it"
    box.find_element(By.CSS_SELECTOR, "summary").send_keys(Keys.ENTER)
    wait.until(lambda b: not b.execute_script(fixed, box))
    assert sorted(browser.execute_script(LOADED)) == sorted(wanted)


def test_where_a_script_is_missing_the_fields_stay_fixed_and_say_so_until_it_is_there(browser, site):
    browser.execute_cdp_cmd("Network.enable", {})
    browser.execute_cdp_cmd("Network.setBlockedURLs", {"urls": ["*calculations/drag-out.js"]})
    try:
        open_page(browser, site, "calculators/rinsing.html")
        box = browser.find_element(By.ID, "calc-drag-out")
        summary = box.find_element(By.CSS_SELECTOR, "summary")
        browser.execute_script("arguments[0].click()", summary)
        wait = waiting(browser, 10)
        wait.until(lambda b: box.find_elements(By.CSS_SELECTOR, ".hb-missing"))
        assert "Copy the whole folder" in box.find_element(By.CSS_SELECTOR, ".hb-missing").text
        assert not box.find_element(By.CSS_SELECTOR, "[data-argument=area]").is_enabled()
    finally:
        browser.execute_cdp_cmd("Network.setBlockedURLs", {"urls": []})
    for _ in range(2):  # shut and opened again
        browser.execute_script("arguments[0].click()", summary)
    wait.until(lambda b: box.find_element(By.CSS_SELECTOR, "[data-argument=area]").is_enabled())
    assert not box.find_elements(By.CSS_SELECTOR, ".hb-missing")


@pytest.mark.long
def test_the_readers_us_units_and_what_was_typed_load_what_they_need_at_once(browser, site):
    open_page(browser, site, "calculators/rinsing.html")
    browser.execute_script(FILL, "drag-out", {"area": "123"})
    open_page(browser, site, "index.html")
    open_page(browser, site, "calculators/rinsing.html")
    wait = waiting(browser, 10)
    box = browser.find_element(By.ID, "calc-drag-out")
    wait.until(lambda b: box.find_element(By.CSS_SELECTOR, ".hb-changed").is_displayed())
    parts = [name for name in browser.execute_script(LOADED) if name.startswith("calculations/")]
    assert parts == ["calculations/drag-out.js"]
    switch_units(browser)
    shown = "return [...document.querySelectorAll('.hb-calc-short')].map(short => short.textContent)"
    wait.until(lambda b: not any("cm" in text for text in b.execute_script(shown)))
    parts = [name for name in browser.execute_script(LOADED) if name.startswith("calculations/")]
    assert len(parts) == len(browser.find_elements(By.CSS_SELECTOR, "details.hb-calc")) == len(set(parts))


def test_every_listing_says_live_what_was_printed(browser, site):
    cells = "return [...document.querySelectorAll('.hb-listing td')].map(cell => cell.textContent)"
    busy = "return Boolean(document.querySelector('.hb-bench [aria-busy]'))"
    anew = """
    return Promise.all([...document.querySelectorAll('details.hb-calc')].filter((box) => box.querySelector('.hb-listing'))
      .map(async (box) => {
        const made = await HB.withCalculator(box);
        made.fresh = false;
        HB.compute(made);
      })).then(() => {});
    """
    seen = 0
    for stage in stages_with_calculators():
        open_page(browser, site, f"calculators/{stage}.html")
        printed = browser.execute_script(cells)
        seen += bool(printed)
        browser.execute_script(anew)
        waiting(browser, 10).until(lambda b: not b.execute_script(busy))
        assert browser.execute_script(cells) == printed, stage
    assert seen > 3
