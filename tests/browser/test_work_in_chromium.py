"""A procedure worked through: ticks that last, hold points that stop, timers that tell the truth after a sleep."""

import time

import pytest
from test_in_chromium import open_page

PAGE = "procedures/etch-nital.html"
START = ".hb-work-start button"


def click(browser, selector, words=""):
    browser.execute_script(
        "const [selector, words] = arguments;"
        "[...document.querySelectorAll(selector)].find((b) => b.textContent.includes(words)).click()",
        selector, words,
    )  # fmt: skip


def text(browser, selector):
    return browser.execute_script(
        "return (document.querySelector(arguments[0]) || {}).textContent || ''", selector
    )


@pytest.fixture
def opened(browser, site):
    open_page(browser, site, PAGE, width=390)
    click(browser, START, "Work through")
    return browser


@pytest.mark.long
def test_ticks_are_kept_and_the_work_goes_on_where_it_stopped(opened, site):
    assert text(opened, ".hb-work-head").startswith("Step 1 of ")
    click(opened, ".hb-work-foot button", "Done")
    click(opened, ".hb-work-foot button", "Done")
    assert text(opened, ".hb-work-head").startswith("Step 3 of ")
    open_page(opened, site, PAGE, width=390)
    assert text(opened, ".hb-work-status").startswith("2 of ")
    click(opened, START, "Work through")
    assert text(opened, ".hb-work-head").startswith("Step 3 of ")
    click(opened, ".hb-work-foot button", "Back")
    assert "Done before" in text(opened, ".hb-work-foot")
    click(opened, ".hb-work-head button", "Close")
    click(opened, START, "Clear")
    assert text(opened, ".hb-work-status") == ""


@pytest.mark.long
def test_a_no_at_a_hold_point_does_not_go_on(opened):
    for _ in range(40):
        if text(opened, ".hb-work-head").startswith("Hold point"):
            break
        click(opened, ".hb-work-foot button", "Done")
    assert text(opened, ".hb-work-head").startswith("Hold point 1 of ")
    click(opened, ".hb-work-foot button", "No")
    assert text(opened, ".hb-work-head").startswith("Hold point 1 of ")
    assert "On no:" in text(opened, ".hb-work-step")
    assert opened.execute_script("return document.querySelector('.hb-work').classList.contains('hb-work-no')")
    click(opened, ".hb-work-foot button", "Yes")
    assert not text(opened, ".hb-work-head").startswith("Hold point 1 of ")


@pytest.mark.long
def test_buttons_fit_a_glove_and_nothing_hangs_over(opened):
    sizes = opened.execute_script(
        "return [...document.querySelectorAll('.hb-work button')].map((b) => b.getBoundingClientRect())"
        ".map((r) => [r.width, r.height])"
    )
    assert all(width >= 44 and height >= 44 for width, height in sizes)
    assert opened.execute_script("return document.querySelector('.hb-work-step').scrollWidth") <= 390


def timed_step(browser):
    for _ in range(40):
        if browser.execute_script("return document.querySelector('.hb-work-timer') !== null"):
            return
        click(browser, ".hb-work-foot button", "Done")
    raise AssertionError("no step has a time")


@pytest.mark.long
def test_timers_outlast_a_reload_and_another_page_and_say_what_comes_then(opened, site):
    timed_step(opened)
    click(opened, ".hb-work-timer")
    click(opened, ".hb-work-timer")
    assert len(opened.find_elements("css selector", ".hb-timers p")) == 2
    open_page(opened, site, "procedures/rinse.html", width=390)
    assert len(opened.find_elements("css selector", ".hb-timers p")) == 2
    # The phone slept: what was kept is the moment of the end, and that has passed.
    opened.execute_script(
        "const all = HB.store.get('timers'); all[0].due = Date.now() - 840000; HB.store.set('timers', all);"
    )
    time.sleep(0.8)
    assert text(opened, ".hb-spoken").startswith("Time is up: Etch with nital")
    open_page(opened, site, "index.html", width=390)
    time.sleep(0.7)
    assert "ended 14:0" in text(opened, ".hb-timers .hb-due")
    assert "Then: " in text(opened, ".hb-timers .hb-due")
    click(opened, ".hb-timers .hb-due button", "Done")
    assert len(opened.find_elements("css selector", ".hb-timers p")) == 1


@pytest.mark.long
def test_what_was_kept_by_others_breaks_nothing(browser, site):
    open_page(browser, site, PAGE)
    browser.execute_script(
        "HB.store.set('timers', {x: 1}); HB.store.set('ticks/procedures/etch-nital.html/', [1, 2]);"
    )
    open_page(browser, site, PAGE)
    browser.execute_script("HB.store.set('timers', [null, {due: 'soon'}, 3])")
    browser.get_log("browser")
    open_page(browser, site, PAGE)
    click(browser, START, "Work through")
    assert text(browser, ".hb-work-head").startswith("Step 1 of ")
    assert [entry["message"] for entry in browser.get_log("browser") if entry["level"] == "SEVERE"] == []


@pytest.mark.parametrize(
    "name", ["procedures/electrolysis.html", "procedures/oven-dry.html", "procedures/coat.html"]
)
@pytest.mark.long
def test_every_step_of_the_page_is_walked(browser, site, name):
    open_page(browser, site, name)
    on_page = browser.execute_script(
        "return document.querySelectorAll('[data-part=steps] ol').length"
        " && [...document.querySelectorAll('[data-part=steps] > ol > li')].length"
    )
    click(browser, START, "Work through")
    assert f"of {on_page}" in text(browser, ".hb-work-head")


@pytest.mark.long
def test_of_timers_kept_in_another_form_the_sound_ones_go_on(browser, site):
    open_page(browser, site, PAGE, width=390)
    browser.execute_script(
        "const due = Date.now() + 1e6, then = 'next';"
        "HB.store.set('timers', [{due, what: 'no number', then}, {id: null, due, what: 'x', then}, 'x', null,"
        " {id: 1, due, what: {}, then}, {id: 1, due, what: 'one', then}, {id: 1, due, what: 'twin', then},"
        " {id: 2, due, what: 'two', then}, {id: 3, due: 'soon', what: 'three', then}]);"
    )
    open_page(browser, site, PAGE, width=390)
    rows = "return [...document.querySelectorAll('.hb-timers p span')].map((one) => one.textContent)"
    assert browser.execute_script(rows) == ["one", "two"]
    click(browser, ".hb-timers button", "Stop")
    assert browser.execute_script(rows) == ["two"]


@pytest.mark.parametrize("kept", ["[]", "'done'", "{'x': {}}", 'JSON.parse(\'{"__proto__": "done"}\')'])
@pytest.mark.long
def test_a_tick_is_kept_whatever_was_kept_before(browser, site, kept):
    open_page(browser, site, PAGE, width=390)
    browser.execute_script(f"HB.store.set('ticks/{PAGE}/' + (HB.pieceName ? HB.pieceName() : ''), {kept})")
    open_page(browser, site, PAGE, width=390)
    assert text(browser, ".hb-work-status") == ""
    click(browser, START, "Work through")
    click(browser, ".hb-work-foot button", "Done")
    open_page(browser, site, PAGE, width=390)
    assert text(browser, ".hb-work-status").startswith("1 of ")


@pytest.mark.parametrize("page", ["coat", "oven-dry", "stony-irons", "chloride-test", "electrolysis"])
@pytest.mark.long
def test_every_caution_of_the_steps_is_read_in_the_work_and_before_its_act(browser, site, page):
    """A caution above a whole list, such as that of brushed urethane, is read with the first step of it."""
    open_page(browser, site, f"procedures/{page}.html", width=390)
    titles = (
        "return [...document.querySelectorAll(arguments[0] + ' :is(.danger, .warning) > .admonition-title')]"
        ".filter((title) => !title.closest('.hb-before')).map((title) => title.textContent)"
    )
    told = browser.execute_script(titles, '[data-part="steps"]')
    click(browser, START, "Clear")
    click(browser, START, "Work through")
    read = []
    while text(browser, ".hb-work-head").startswith("Step"):
        read += browser.execute_script(titles, ".hb-work-step")
        first = browser.execute_script(
            "const step = document.querySelector('.hb-work-step > div');"
            "return !step.querySelector('.admonition') || step.firstElementChild.matches('.admonition')"
        )
        assert first, text(browser, ".hb-work-head")
        click(browser, ".hb-work-foot button", "Done")
    assert told
    assert read == told
