"""Spans in Chromium: typed, answered with an interval, kept in the address, copied, and drawn as a band."""

import re
import time
from urllib.parse import unquote

import pytest
from selenium.webdriver.common.by import By
from support import waiting
from test_calculators_in_chromium import nothing_kept  # noqa: F401 - a fixture
from test_typed_values_in_chromium import (
    ALCOHOL,
    answer,
    field,
    menu,
    opened,
    shown,
    switch_units,
    unfold,
    write,
)

from handbook_calc.engine import examples, house
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE

INTERVAL = re.compile(r"^[\d.]+\s\S+ \([\d.]+ to [\d.]+\)$")
TOLD = """
const [control, text, done] = arguments;
const short = control.closest("details").querySelector(".hb-calc-short");
control.value = text;
const begun = performance.now();
control.dispatchEvent(new Event("input", {bubbles: true}));
const first = performance.now() - begun;
(function look() {
  if (short.textContent.includes(" to ")) done([first, performance.now() - begun, short.textContent]);
  else setTimeout(look, 1);
})();
"""


def with_interval(browser, box):
    """Wait for the interval behind an answer; return the answer."""
    waiting(browser, 10).until(lambda _: INTERVAL.match(answer(box)))
    return answer(box)


def notes(box, result):
    found = box.find_elements(By.CSS_SELECTOR, f"[data-result={result}] .hb-spread")
    return [note.get_property("textContent") for note in found]


@pytest.mark.long
def test_a_calculator_starts_from_the_spans_of_the_house(browser, site):
    box = opened(browser, site, ALCOHOL, "soak-time")
    standard = house.load()
    expected = examples.example(CATALOGUE["soak-time"], Bench(standard))
    assert shown(field(box, "depth")) == "4 (2 to 8)"
    assert with_interval(browser, box) == expected.show()
    assert notes(box, "time") == expected.notes("time")


@pytest.mark.long
def test_a_typed_span_is_answered_kept_sent_and_copied(browser, site):
    box = opened(browser, site, ALCOHOL, "soak-time")
    write(field(box, "diffusivity"), "300 um^2/s (150 to 600)")
    write(field(box, "depth"), "4")
    waiting(browser, 10).until(lambda _: answer(box) == "31\u00a0h (16 to 62)")
    assert notes(box, "time") == ["5 to 95 %, most of it from diffusivity"]
    assert "diffusivity=300 um^2/s (150 to 600)" in unquote(browser.current_url)
    text = browser.execute_script("return HB.asText(HB.calculatorOf(arguments[0]))", box)
    assert "31\u00a0h (16 to 62); 5 to 95 %, most of it from diffusivity" in text
    browser.refresh()
    box = unfold(browser, "soak-time")
    waiting(browser, 10).until(lambda _: answer(box) == "31\u00a0h (16 to 62)")


@pytest.mark.long
def test_a_span_follows_the_unit_and_comes_back(browser, site):
    box = opened(browser, site, ALCOHOL, "soak-time")
    depth = field(box, "depth")
    write(depth, "6 (3 to 9)")
    said = with_interval(browser, box)
    menu(box, "depth").select_by_visible_text("cm")
    assert shown(depth) == "0.6 (0.3 to 0.9)"
    assert with_interval(browser, box) == said
    menu(box, "depth").select_by_visible_text("mm")
    assert shown(depth) == "6 (3 to 9)"
    assert "depth=6 (3 to 9) mm" in unquote(browser.current_url)
    switch_units(browser)
    assert shown(depth) == "0.2362 (0.1181 to 0.3543)"
    switch_units(browser)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("4 (5 to 8)", "is not between the ends of its span"),
        ("4 (2 to 8000)", "has a span whose high end is out of range"),
        ("4 (2", "is not a value with a span"),
    ],
)
@pytest.mark.long
def test_a_span_that_cannot_be_is_told_beside_its_field(browser, site, text, says):
    box = opened(browser, site, ALCOHOL, "soak-time")
    depth = field(box, "depth")
    write(depth, text)
    error = depth.find_element(By.XPATH, "./ancestor::*[contains(@class,'hb-field')]//*[@class='hb-error']")
    assert says in error.get_property("textContent")
    time.sleep(0.2)
    assert answer(box) == "–"  # what was to come for the last answer does not


@pytest.mark.long
def test_a_verdict_that_flips_says_where(browser, site):
    box = opened(browser, site, ALCOHOL, "soak-time")
    write(field(box, "temperature"), "18 (15 to 25)")
    with_interval(browser, box)
    assert notes(box, "verdict") == ["go, but not if temperature is more than 20\u00a0°C (then stop)"]


@pytest.mark.long
def test_the_curve_has_a_band(browser, site):
    box = opened(browser, site, ALCOHOL, "soak-time")
    waiting(browser, 10).until(lambda _: box.find_elements(By.CSS_SELECTOR, ".hb-curve .hb-band"))
    for name in ("depth", "diffusivity"):
        write(field(box, name), {"depth": "4", "diffusivity": "300 um^2/s"}[name])
    waiting(browser, 10).until(lambda _: answer(box) == "30.8\u00a0h")
    assert not box.find_elements(By.CSS_SELECTOR, ".hb-curve .hb-band")
    assert not box.find_elements(By.CSS_SELECTOR, "[data-result] .hb-spread")


@pytest.mark.long
def test_the_answer_comes_first_and_the_interval_soon(browser, site):
    """Bounds for a busy machine; a quiet one takes some milliseconds and some tens of them."""
    box = opened(browser, site, ALCOHOL, "soak-time")
    write(field(box, "depth"), "4")
    first, second, text = browser.execute_async_script(TOLD, field(box, "depth"), "5 (3 to 7)")
    print(f"answer after {first:.1f} ms, interval after {second:.1f} ms")
    assert INTERVAL.match(text)
    assert first < 160
    assert second < 1000
