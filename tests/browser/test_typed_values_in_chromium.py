"""What a reader typed, in Chromium: kept to the last digit, converted and not relabelled, rows as a grid."""

import time

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select
from support import waiting
from test_calculators_in_chromium import nothing_kept, stages_with_calculators  # noqa: F401 - a fixture
from test_in_chromium import open_page, switch_units

from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.fields import Count, Quantity, Rows

RINSING = "calculators/rinsing.html"
ALCOHOL = "calculators/alcohol.html"
OVEN = "calculators/oven.html"
CHLORIDE = "calculators/chloride.html"
FINGER = 44  # CSS pixels, the least side of a target for a finger: WCAG 2.2, criterion 2.5.5


def opened(browser, site, page, name):
    """Open a page, and a calculator on it, and wait until it is made."""
    open_page(browser, site, page)
    return unfold(browser, name)


def unfold(browser, name):
    browser.execute_script(
        "const box = document.getElementById('calc-' + arguments[0]); box.open = true;"
        "return HB.withCalculator(box).then(() => {});",
        name,
    )
    return browser.find_element(By.ID, f"calc-{name}")


def field(box, argument):
    return box.find_element(By.CSS_SELECTOR, f"[data-argument={argument}]")


def menu(box, argument):
    return Select(box.find_element(By.XPATH, f".//*[@data-argument='{argument}']/../select"))


def write(control, text):
    control.send_keys(Keys.CONTROL, "a")
    control.send_keys(text, Keys.TAB)


def shown(control):
    return control.get_property("value")


def answer(box):
    """Return the answer of a calculator, with its interval where one is to come."""
    waiting(box.parent, 10).until(lambda _: not box.find_elements(By.CSS_SELECTOR, "[aria-busy=true]"))
    return box.find_element(By.CSS_SELECTOR, ".hb-calc-short").get_property("textContent")


def reload_without_address(browser, site, page):
    browser.get("about:blank")
    open_page(browser, site, page)


@pytest.mark.parametrize("text", ["60", "070.50", "1.234567890123", "2e1", "9.8×10¹", "59.9999"])
@pytest.mark.long
def test_a_typed_value_survives_unit_switch_reload_and_back_to_the_last_sign(browser, site, text):
    box = opened(browser, site, RINSING, "drag-out")
    # A key of the browser's own keyboard has no power of ten: the text is put in and told as input.
    browser.execute_script(
        "arguments[0].value = arguments[1]; arguments[0].dispatchEvent(new Event('input', {bubbles: true}))",
        field(box, "area"),
        text,
    )
    said = answer(box)
    switch_units(browser)
    assert shown(field(box, "area")) != text
    assert menu(box, "area").first_selected_option.text == "in²"
    switch_units(browser)
    assert shown(field(box, "area")) == text
    assert answer(box) == said
    browser.refresh()
    box = unfold(browser, "drag-out")
    assert (shown(field(box, "area")), answer(box)) == (text, said)
    browser.get((site / "index.html").as_uri())
    browser.back()
    box = unfold(browser, "drag-out")
    assert (shown(field(box, "area")), answer(box)) == (text, said)
    reload_without_address(browser, site, RINSING)
    box = unfold(browser, "drag-out")
    assert (shown(field(box, "area")), answer(box)) == (text, said)


@pytest.mark.long
def test_the_menu_of_units_converts_and_comes_back_to_what_was_typed(browser, site):
    box = opened(browser, site, ALCOHOL, "soak-time")
    depth = field(box, "depth")
    write(depth, "60")
    said = answer(box)
    units = menu(box, "depth")
    assert [option.text for option in units.options] == ["mm", "µm", "cm", "in"]
    units.select_by_visible_text("in")
    assert shown(depth) == "2.362"  # 60 / 25.4 = 2.3622
    assert answer(box) == said
    assert "depth=60%20mm" in browser.current_url
    units.select_by_visible_text("cm")
    assert shown(depth) == "6"
    units.select_by_visible_text("mm")
    assert shown(depth) == "60"
    units.select_by_visible_text("in")
    write(depth, "2.5")
    assert "depth=2.5%20in" in browser.current_url
    units.select_by_visible_text("mm")
    assert shown(depth) == "63.5"


@pytest.mark.long
def test_a_unit_typed_in_the_field_goes_to_the_menu_and_once_into_the_address(browser, site):
    box = opened(browser, site, "calculators/coating.html", "dew-point")
    temperature = field(box, "temperature")
    write(temperature, "70 F")
    assert shown(temperature) == "70"
    assert menu(box, "temperature").first_selected_option.text == "°F"
    assert "temperature=70%20degF&" in f"{browser.current_url}&"
    write(temperature, "294.26 K")  # a unit that the menu does not offer stays where it was typed
    assert shown(temperature) == "294.26 K"
    assert "temperature=294.26%20K&" in f"{browser.current_url}&"
    assert box.find_element(By.CSS_SELECTOR, ".hb-error").text == ""
    browser.refresh()
    assert shown(field(unfold(browser, "dew-point"), "temperature")) == "294.26 K"


@pytest.mark.long
def test_every_calculator_of_a_page_survives_a_reload(browser, site):
    open_page(browser, site, ALCOHOL)
    changed = {}
    for calculation in [c for c in CATALOGUE.values() if c.stage == "alcohol"]:
        numbers = [d for d in calculation.inputs if isinstance(d, Quantity) and not isinstance(d, Count)]
        if not numbers:
            continue
        first = numbers[0]
        box = unfold(browser, calculation.name)
        control = field(box, first.name)
        value = repr((float(shown(control).partition(" ")[0] or first.low) + first.low) / 2 + 0.0001)
        browser.execute_script(
            "arguments[0].value = arguments[1]; arguments[0].dispatchEvent(new Event('input', {bubbles: true}))",
            control,
            value,
        )
        changed[calculation.name] = (first.name, value, answer(box))
    reload_without_address(browser, site, ALCOHOL)
    marks = browser.find_elements(By.CSS_SELECTOR, ".hb-calc > summary .hb-changed:not([hidden])")
    assert len(marks) == len(changed) > 10
    for name, (argument, value, said) in changed.items():
        box = browser.find_element(By.ID, f"calc-{name}")
        assert (shown(field(box, argument)), answer(box)) == (value, said), name


@pytest.mark.long
def test_start_again_brings_the_pages_own_values_and_forgets(browser, site):
    box = opened(browser, site, RINSING, "drag-out")
    began, said = shown(field(box, "area")), answer(box)
    write(field(box, "area"), "777")
    mark = box.find_element(By.CSS_SELECTOR, ".hb-changed")
    assert mark.is_displayed()
    assert f"changed from {began} cm²" in box.text
    box.find_element(By.XPATH, ".//button[.='Start again']").click()
    assert (shown(field(box, "area")), answer(box)) == (began, said)
    assert not mark.is_displayed()
    reload_without_address(browser, site, RINSING)
    box = unfold(browser, "drag-out")
    assert (shown(field(box, "area")), answer(box)) == (began, said)


@pytest.mark.parametrize("stage", stages_with_calculators())
@pytest.mark.long
def test_opening_a_calculator_changes_no_answer_that_the_page_was_printed_with(browser, site, stage):
    """Starting values are rounded for reading; what is computed from is exact."""
    open_page(browser, site, f"calculators/{stage}.html")
    each = """
    return Promise.all(Array.from(document.querySelectorAll("details.hb-calc"), async box => {
      const texts = () => [...box.querySelectorAll("[data-result] dd")].map(d => d.textContent.replace(/\\s+/g, " "));
      const printed = texts();
      const made = await HB.withCalculator(box);
      HB.compute(made);
      const longest = Math.max(0, ...[...box.querySelectorAll("input[data-exact]")].map(i => i.value.length));
      return [box.id, printed, texts(), longest];
    }));
    """
    for name, printed, computed, longest in browser.execute_script(each):
        assert printed == computed, name
        assert longest <= len("-1.234e-10"), name


@pytest.mark.long
def test_another_entry_of_the_houses_list_brings_its_values_and_survives(browser, site):
    families = [
        (c, d.name) for c in CATALOGUE.values() for d in c.inputs
        if any(f"{{{d.name}}}" in other.house for other in c.inputs)
    ]  # fmt: skip
    calculation, argument = families[0]
    box = opened(browser, site, f"calculators/{calculation.stage}.html", calculation.name)
    choice = Select(field(box, argument))
    names = [o for o in choice.options if o.text and o.text == o.get_attribute("value")]
    others = [o.text for o in names if not o.is_selected()]
    choice.select_by_visible_text(others[-1])
    followed = [d.name for d in calculation.inputs if f"{{{argument}}}" in d.house]
    values = {name: shown(field(box, name)) for name in followed}
    assert "changed" not in field(box, followed[0]).find_element(By.XPATH, "../..").text
    said = answer(box)
    browser.refresh()
    box = unfold(browser, calculation.name)
    assert Select(field(box, argument)).first_selected_option.text == others[-1]
    assert {name: shown(field(box, name)) for name in followed} == values
    assert answer(box) == said
    marked = [e for e in box.find_elements(By.CSS_SELECTOR, ".hb-help") if "changed" in e.text]
    assert len(marked) == 1


@pytest.mark.long
def test_a_substance_is_chosen_by_any_of_its_names(browser, site):
    box = opened(browser, site, "calculators/waste.html", "never-together")
    agent = Select(field(box, "agent"))
    agent.select_by_visible_text("bleach: hypochlorite bleach")
    Select(field(box, "other")).select_by_visible_text("nitric acid")
    assert agent.first_selected_option.text == "hypochlorite bleach"
    assert answer(box) == "never"
    assert "agent=hypochlorite%20bleach" in browser.current_url
    browser.get("about:blank")
    page = (site / "calculators/waste.html").as_uri()
    browser.get(f"{page}#calc-never-together?agent=Bleach&other=Aqua%20Fortis")
    box = unfold(browser, "never-together")
    assert [shown(field(box, name)) for name in ("agent", "other")] == ["hypochlorite bleach", "nitric acid"]
    assert answer(box) == "never"


@pytest.mark.parametrize("name", ["__proto__", "constructor", "hasOwnProperty"])
@pytest.mark.long
def test_an_address_may_name_anything_and_harms_nothing(browser, site, name):
    address = (site / RINSING).as_uri()
    browser.get_log("browser")
    browser.get(f"{address}#calc-drag-out?{name}=1&area=55%20cm%5E2&{name}")
    time.sleep(0.3)
    box = browser.find_element(By.ID, "calc-drag-out")
    assert shown(field(box, "area")) == "55"
    write(field(box, "area"), "56")
    assert name not in browser.current_url
    assert browser.execute_script("return ({}).polluted === undefined && Object.keys({}).length") == 0
    assert [entry for entry in browser.get_log("browser") if entry["level"] == "SEVERE"] == []


@pytest.mark.long
def test_one_choice_computes_once(browser, site):
    box = opened(browser, site, ALCOHOL, "soak-time")
    browser.execute_script(
        "window.turns = 0; const compute = HB.compute; HB.compute = c => { window.turns += 1; return compute(c); };"
    )
    menu(box, "depth").select_by_visible_text("cm")
    assert browser.execute_script("return window.turns") == 1
    write(field(box, "depth"), "7")
    assert browser.execute_script("return window.turns") == 2


def test_with_scripts_off_fields_are_fixed_and_say_so(browser, site):
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        browser.get((site / ALCOHOL).as_uri())
        root = browser.execute_cdp_cmd("DOM.getDocument", {})["root"]["nodeId"]

        def count(selector):
            asked = {"nodeId": root, "selector": selector}
            return len(browser.execute_cdp_cmd("DOM.querySelectorAll", asked)["nodeIds"])

        assert count(".hb-calc :is(input, select)") > 50
        assert count(".hb-calc :is(input, select):enabled") == 0
        assert count(".hb-calc button") == 0
        assert count(".hb-calc noscript > p") == count(".hb-calc")
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    box = opened(browser, site, ALCOHOL, "soak-time")
    assert field(box, "depth").is_enabled()
    assert "Scripts are off" not in box.text


# ---- rows ----


def cells(box):
    return [
        [cell.get_property("value") for cell in row.find_elements(By.TAG_NAME, "input")]
        for row in box.find_elements(By.CSS_SELECTOR, ".hb-grid tbody tr")
    ]


def paste(browser, cell, text):
    browser.execute_script(
        "const data = new DataTransfer(); data.setData('text', arguments[1]);"
        "arguments[0].dispatchEvent(new ClipboardEvent("
        "'paste', {clipboardData: data, bubbles: true, cancelable: true}))",
        cell,
        text,
    )


@pytest.mark.long
def test_rows_are_filled_by_keyboard_alone(browser, site):
    box = opened(browser, site, OVEN, "constant-mass")
    for button in box.find_elements(By.CSS_SELECTOR, ".hb-grid button")[:1:-1]:
        button.send_keys(Keys.ENTER)  # two rows to start from
    first = box.find_element(By.CSS_SELECTOR, ".hb-grid input")
    first.send_keys(Keys.CONTROL, "a")
    first.send_keys("0", Keys.TAB)
    browser.switch_to.active_element.send_keys(Keys.CONTROL, "a")
    browser.switch_to.active_element.send_keys("310.5", Keys.ENTER)
    browser.switch_to.active_element.send_keys(Keys.CONTROL, "a")
    browser.switch_to.active_element.send_keys("310.42", Keys.ENTER)  # a third row begins
    browser.switch_to.active_element.send_keys("0.31042 kg", Keys.ARROW_UP)
    assert browser.switch_to.active_element.get_attribute("aria-label") == "row 2: mass of the piece, g"
    browser.find_element(By.CSS_SELECTOR, "#calc-constant-mass tbody tr:nth-child(2) input").send_keys(
        Keys.CONTROL, "a"
    )
    browser.switch_to.active_element.send_keys("1 d")
    browser.find_element(By.CSS_SELECTOR, "#calc-constant-mass tbody tr:nth-child(3) input").send_keys("48")
    assert cells(box) == [["0", "310.5"], ["1 d", "310.42"], ["48", "0.31042 kg"]]
    assert "310.42" not in box.find_element(By.CSS_SELECTOR, ".hb-rows .hb-error").text
    assert browser.find_element(By.CSS_SELECTOR, "#calc-constant-mass .hb-calc-short").text != "–"
    remove = box.find_elements(By.CSS_SELECTOR, ".hb-grid button")[1]
    assert remove.get_attribute("aria-label") == "Remove row 2"
    remove.send_keys(Keys.ENTER)
    assert cells(box) == [["0", "310.5"], ["48", "0.31042 kg"]]
    assert browser.switch_to.active_element.get_attribute("aria-label") == "Remove row 2"
    browser.refresh()
    assert cells(unfold(browser, "constant-mass")) == [["0", "310.5"], ["48", "0.31042 kg"]]


@pytest.mark.long
def test_every_cell_has_a_name_of_its_own_and_every_button_fits_a_finger(browser, site):
    for calculation in CATALOGUE.values():
        if not any(isinstance(d, Rows) for d in calculation.inputs):
            continue
        box = opened(browser, site, f"calculators/{calculation.stage}.html", calculation.name)
        box.find_element(By.XPATH, ".//button[.='Add a row']").click()
        labels = [e.get_attribute("aria-label") for e in box.find_elements(By.CSS_SELECTOR, ".hb-grid input")]
        assert len(set(labels)) == len(labels) > 1
        for button in box.find_elements(By.TAG_NAME, "button"):
            assert min(button.size["width"], button.size["height"]) >= FINGER
        for cell in box.find_elements(By.CSS_SELECTOR, ".hb-grid input"):
            assert cell.size["height"] >= FINGER


@pytest.mark.parametrize(
    ("text", "filled"),
    [
        ("0\t310.5\n24\t310.48\n48\t310.48\n", [["0", "310.5"], ["24", "310.48"], ["48", "310.48"]]),
        ("0 h 310.5 g; 2 d 310.48 g", [["0", "310.5"], ["2 d", "310.48"]]),
        ("0;310.5\n24;310.48", [["0", "310.5"], ["24", "310.48"]]),
    ],
)
@pytest.mark.long
def test_a_copied_table_is_pasted_into_the_grid(browser, site, text, filled):
    box = opened(browser, site, OVEN, "constant-mass")
    paste(browser, box.find_element(By.CSS_SELECTOR, ".hb-grid input"), text)
    assert cells(box)[: len(filled)] == filled
    assert "rows pasted" in box.text
    assert box.find_element(By.CSS_SELECTOR, ".hb-rows .hb-error").text == ""


@pytest.mark.long
def test_what_does_not_fit_is_not_pasted_in_part(browser, site):
    box = opened(browser, site, OVEN, "constant-mass")
    before = cells(box)
    paste(browser, box.find_element(By.CSS_SELECTOR, ".hb-grid input"), "1\t2\t3\n4\t5\t6")
    assert cells(box) == before
    assert "nothing was pasted: the text has 3 columns, and 2 fit here" in box.text
    paste(browser, box.find_element(By.CSS_SELECTOR, ".hb-grid input"), "\n".join(["1\t2"] * 101))
    assert cells(box) == before
    assert "nothing was pasted: the text has 101 rows, and 100 fit here" in box.text


@pytest.mark.long
def test_a_reading_below_what_the_test_sees_can_be_typed(browser, site):
    box = opened(browser, site, CHLORIDE, "chloride-ledger")
    cell = box.find_element(By.CSS_SELECTOR, ".hb-grid tbody tr:last-of-type input")
    assert cell.get_attribute("inputmode") == "text"  # a keypad of digits cannot write "below"
    write(cell, "below 5 mg/L")
    assert box.find_element(By.CSS_SELECTOR, ".hb-rows .hb-error").text == ""
    assert answer(box) != "–"
    write(cell, "low")
    assert (
        "row 4, chloride in the bath: low is not a number"
        in box.find_element(By.CSS_SELECTOR, ".hb-rows .hb-error").text
    )
    assert cell.get_attribute("aria-invalid") == "true"
    assert answer(box) == "–"


@pytest.mark.parametrize("stage", stages_with_calculators())
@pytest.mark.long
def test_open_calculators_fit_a_phone(browser, site, stage):
    open_page(browser, site, f"calculators/{stage}.html", width=360)
    browser.execute_script(
        "return Promise.all(Array.from(document.querySelectorAll('details.hb-calc'),"
        " b => { b.open = true; return HB.withCalculator(b); })).then(() => {})"
    )
    wide = """
    return [...document.querySelectorAll(".hb-calc :is(input, select, button, legend, label)")]
      .filter(e => e.getBoundingClientRect().right > 361).map(e => e.outerHTML.slice(0, 200));
    """
    assert browser.execute_script(wide) == []
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 360


# --- no answer stands beside fields that it is not for -------------------------------------------------

LEDGER = "chloride-ledger"
UNREADABLE = [
    "readings=80 mg/L;30 mg/L",
    "readings=1;2;3",
    "readings=80 mg/L, 0.1 mg/L, 1 L, 3 d, 9; 30 mg/L, 0.1 mg/L, 1 L, 3 d",
    'readings=[["80"]]',
    "readings=[[]]",
    "readings=[[null,null,null,null]]",
    "readings=;;;",
    "readings=%00",
    "readings=80 mg/L, x, 1 L, 3 d",
]


def state(box):
    """Return the answer in short, what the answer says, and the faults at the fields."""
    short = answer(box)
    said = [node.text for node in box.find_elements(By.CSS_SELECTOR, ".hb-said")]
    faults = [node.get_property("textContent") for node in box.find_elements(By.CSS_SELECTOR, ".hb-error")]
    return short, said, [fault for fault in faults if fault]


@pytest.mark.parametrize("asked", UNREADABLE)
def test_rows_of_an_address_that_cannot_be_read_are_told_and_have_no_answer(browser, site, asked):
    browser.get("about:blank")
    browser.get((site / CHLORIDE).as_uri() + f"#calc-{LEDGER}?{asked}")
    box = browser.find_element(By.ID, f"calc-{LEDGER}")
    waiting(browser, 10).until(lambda _: state(box)[1])
    short, said, faults = state(box)
    assert (short, said) == ("–", ["Mend the marked field first."])
    assert len(faults) == 1
    assert not [entry for entry in browser.get_log("browser") if entry["level"] == "SEVERE"]


def test_what_is_too_much_in_a_row_is_counted_and_stands_in_its_last_cell(browser, site):
    browser.get("about:blank")
    browser.get((site / CHLORIDE).as_uri() + f"#calc-{LEDGER}?{UNREADABLE[2]}")
    box = browser.find_element(By.ID, f"calc-{LEDGER}")
    waiting(browser, 10).until(lambda _: state(box)[2])
    assert "has 5 entries in row 1; allowed is 1 to 100 rows" in state(box)[2][0]
    cells = box.find_elements(By.CSS_SELECTOR, ".hb-grid tbody input")
    assert [shown(cell) for cell in cells[:4]] == ["80", "0.1", "1", "3; 9"]
    write(cells[3], "3")
    assert state(box)[2] == []
    assert state(box)[0] != "–"


KEPT = [
    [["80"]], [["80", "0.1", "1", "3", "9"]], [[]], [["80", 0.1, 1, 3]], [[None] * 4], "80", {"0": ["80"]}, [80], 7,
]  # fmt: skip


@pytest.mark.parametrize("cells", KEPT)
def test_rows_that_were_kept_in_another_form_leave_the_example(browser, site, cells):
    box = opened(browser, site, CHLORIDE, LEDGER)
    example = answer(box), [shown(cell) for cell in box.find_elements(By.CSS_SELECTOR, ".hb-grid input")]
    keep = "HB.store.set(HB.typedName(document.getElementById('calc-' + arguments[0])), {readings: {text: '', unit: '', cells: arguments[1]}})"
    browser.execute_script(keep, LEDGER, cells)
    reload_without_address(browser, site, CHLORIDE)
    box = unfold(browser, LEDGER)
    found = answer(box), [shown(cell) for cell in box.find_elements(By.CSS_SELECTOR, ".hb-grid input")]
    assert found == example
    assert not [entry for entry in browser.get_log("browser") if entry["level"] == "SEVERE"]


@pytest.mark.parametrize("broken", ["run", "readKnown", "showField", "working", "propagation", "knownOf"])
def test_where_the_work_breaks_off_no_answer_stays(browser, site, broken):
    """One fault put into each part of the work; then mended, and begun again."""
    box = opened(browser, site, RINSING, "drag-out")
    before = answer(box)
    assert before != "–"
    browser.execute_script(
        "window.whole = HB[arguments[0]]; HB[arguments[0]] = () => { throw new TypeError('broken'); }", broken
    )
    filled = "return HB.withCalculator(arguments[0]).then((made) => HB.openAt(made, '#calc-drag-out?area=200 cm^2'))"
    browser.execute_script(filled + ".then(() => {})", box)
    waiting(browser, 10).until(lambda _: state(box)[1])
    for _ in range(2):
        short, said, _faults = state(box)
        assert short == "–"
        assert said == ["This could not be worked, by a fault of the page. Start again."]
        assert {node.text for node in box.find_elements(By.CSS_SELECTOR, "dd")} == {"–"}
        assert any(entry["level"] == "SEVERE" for entry in browser.get_log("browser"))
        browser.execute_script("return HB.withCalculator(arguments[0]).then(HB.compute).then(() => {})", box)
        waiting(browser, 10).until(lambda _: state(box)[1])
    browser.execute_script("HB[arguments[0]] = window.whole", broken)
    box.find_element(By.XPATH, ".//button[text()='Start again']").click()
    assert answer(box) == before
    assert state(box)[1:] == ([], [])
    browser.get_log("browser")


def test_two_pages_keep_each_what_was_typed_into_it(browser, site):
    page, name = "calculators/alcohol.html", "soak-time"
    box = opened(browser, site, page, name)
    first = browser.current_window_handle
    browser.switch_to.new_window("tab")
    try:
        second = opened(browser, site, page, name)
        write(field(second, "depth"), "7")
        browser.switch_to.window(first)
        write(field(box, "temperature"), "19")
        reload_without_address(browser, site, page)
        box = unfold(browser, name)
        assert (shown(field(box, "depth")), shown(field(box, "temperature"))) == ("7", "19")
        write(field(box, "depth"), "8")  # the last that is written of a field is kept
        browser.switch_to.window(browser.window_handles[-1])
        box_again = browser.find_element(By.ID, f"calc-{name}")
        write(field(box_again, "temperature"), "20")
        browser.switch_to.window(first)
        reload_without_address(browser, site, page)
        box = unfold(browser, name)
        assert (shown(field(box, "depth")), shown(field(box, "temperature"))) == ("8", "20")
        box.find_element(By.XPATH, ".//button[text()='Start again']").click()
        reload_without_address(browser, site, page)
        box = unfold(browser, name)
        assert "changed" not in box.find_element(By.CSS_SELECTOR, ".hb-fields").text
    finally:
        for handle in browser.window_handles:
            if handle != first:
                browser.switch_to.window(handle)
                browser.close()
        browser.switch_to.window(first)


# --- what was typed is told once, as it was typed ------------------------------------------------------


def test_a_choice_that_is_none_of_the_list_is_told_at_its_field(browser, site):
    browser.get("about:blank")
    browser.get((site / "calculators" / "coating.html").as_uri() + "#calc-coating-amounts?coating=nope")
    box = browser.find_element(By.ID, "calc-coating-amounts")
    waiting(browser, 10).until(lambda _: state(box)[1])
    assert state(box) == ("–", ["Mend the marked field first."], ["nope is none of the choices"])


@pytest.mark.parametrize(("page", "name", "argument", "text", "begins"), [
    ("calculators/specimen.html", "area-from-mass", "mass", "6.5 oz", "6.5 oz is ambiguous"),
    ("calculators/alcohol.html", "jar-vapour", "temperature", "70 oz", "70 oz is ambiguous"),
    ("calculators/alcohol.html", "jar-vapour", "temperature", "many", "many is not a number"),
    ("calculators/alcohol.html", "jar-vapour", "temperature", "80", "80 °C is out of range"),
    ("calculators/alcohol.html", "jar-vapour", "temperature", "400 F", "400 F is out of range"),
])  # fmt: skip
def test_a_refused_text_is_told_once(browser, site, page, name, argument, text, begins):
    box = opened(browser, site, page, name)
    browser.execute_script(
        "arguments[0].value = arguments[1]; arguments[0].dispatchEvent(new Event('input', {bubbles: true}))",
        field(box, argument),
        text,
    )
    assert state(box)[2][0].startswith(begins)
