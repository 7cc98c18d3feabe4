"""Ways of using the pages, in Chromium: keys only, gloves, twice the size, no motion, no scripts, dark rooms."""

import json
import shutil
import time
from pathlib import Path

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys
from test_in_chromium import open_page

PROCEDURE = "procedures/etch-nital.html"
GLOVE = 44  # px; WCAG 2.2, success criterion 2.5.5, Target Size (Enhanced)

# What is touched at work: calculators, grids, ticks, timers, choices, and the way to them. A checkbox counts with
# its label; a link or figure in running text is read, and has no size of its own.
TARGETS = """
for (const part of document.querySelectorAll('article details')) part.open = true;
const inText = ':is(.md-sidebar, .md-search, .md-footer, .hb-value, label.hb-narrow)';
return [...document.querySelectorAll(
    'button, select, textarea, summary, article input, .hb-jump a, .hb-print a, .md-header label.md-icon')]
  .filter(n => !n.closest(inText) && n.checkVisibility({visibilityProperty: true}))
  .map(n => [n, (n.matches('[type=checkbox], [type=radio]') && n.closest('label') || n).getBoundingClientRect()])
  .filter(([, box]) => box.width > 0 && (box.height < arguments[0] - 0.5 || box.width < arguments[0] - 0.5))
  .map(([n, box]) => `${n.tagName} ${n.className} in ${n.parentElement.className}: ${box.width} x ${box.height}`);
"""


def press(browser, *keys):
    chain = ActionChains(browser)
    for key in keys:
        chain.send_keys(key)
    chain.perform()


def focused(browser):
    """Return the words of what has the focus, and whether a reader sees where that is."""
    return browser.execute_script("""
    const at = document.activeElement, style = getComputedStyle(at);
    const box = at.getBoundingClientRect();
    return [(at.getAttribute('aria-label') || at.textContent || '').trim(),
      box.width > 0 && (style.outlineStyle !== 'none' || style.boxShadow !== 'none' || at === document.body)];
    """)


def walk_to(browser, words, most=80):
    """Go on with the tabulator until what has these words has the focus."""
    for _ in range(most):
        press(browser, Keys.TAB)
        said, seen = focused(browser)
        if words in said:
            assert seen, f"the focus on '{said}' is not seen"
            return
    raise AssertionError(f"'{words}' is not reached with {most} tabulators")


@pytest.mark.long
def test_a_procedure_is_worked_through_with_keys_only(browser, site):
    open_page(browser, site, PROCEDURE)
    walk_to(browser, "Work through the steps")
    press(browser, Keys.ENTER)
    head = "return document.querySelector('.hb-work-head').textContent"
    assert browser.execute_script(head).startswith("Step 1 of ")
    seen = set()
    for _ in range(60):
        now = browser.execute_script(head)
        if now.startswith("Hold point"):
            break
        seen.add(now.split(" of ")[0])
        walk_to(browser, "Done")
        press(browser, Keys.ENTER)
    assert len(seen) >= 5
    walk_to(browser, "No")
    press(browser, Keys.ENTER)
    assert "On no:" in browser.execute_script("return document.querySelector('.hb-work-step').textContent")
    press(browser, Keys.ESCAPE)
    assert not browser.execute_script("return document.querySelector('dialog.hb-work[open]')")
    assert "the steps" in focused(browser)[0], "the focus comes back to where the work was opened"


@pytest.mark.long
def test_a_calculator_is_filled_with_keys_only(browser, site):
    open_page(browser, site, "calculators/alcohol.html")
    browser.execute_script("document.querySelector('.hb-calc summary').focus()")
    press(browser, Keys.ENTER)
    before = browser.execute_script("return document.querySelector('.hb-calc .hb-answer').textContent")
    press(browser, Keys.TAB)
    browser.switch_to.active_element.send_keys(Keys.CONTROL, "a")
    press(browser, "7.7", Keys.TAB)
    time.sleep(0.5)
    assert (
        browser.execute_script("return document.querySelector('.hb-calc .hb-answer').textContent") != before
    )


@pytest.mark.parametrize(
    "name",
    [
        PROCEDURE, "calculators/alcohol.html", "calculators/rinsing.html", "reference/troubleshooting.html",
        "keeper/house-standard.html", "keeper/printed-copies.html", "index.html",
    ],
)  # fmt: skip
@pytest.mark.long
def test_a_glove_hits_what_it_touches(browser, site, name):
    open_page(browser, site, name, width=360)
    time.sleep(0.3)
    assert browser.execute_script(TARGETS, GLOVE) == []
    if name == PROCEDURE:
        browser.execute_script("document.querySelector('.hb-work-start button').click()")
        assert browser.execute_script(TARGETS, GLOVE) == []
        browser.execute_script("document.querySelector('.hb-work-head button').click()")


@pytest.mark.parametrize("name", [PROCEDURE, "calculators/alcohol.html", "tables/coating.html"])
@pytest.mark.long
def test_at_twice_the_size_nothing_is_cut_off_or_scrolls_sideways(browser, site, name):
    # At 200 % a window of 1280 px has room for 640: WCAG 2.2, success criterion 1.4.4, Resize Text.
    size = {"width": 640, "height": 450, "deviceScaleFactor": 2, "mobile": False}
    open_page(browser, site, name)
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    browser.execute_script(
        "for (const part of document.querySelectorAll('article details')) part.open = true"
    )
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 640
    cut = browser.execute_script("""
    return [...document.querySelectorAll('article :is(button, summary, label, h1, h2, h3)')]
      .filter(n => n.checkVisibility() && getComputedStyle(n).overflow === 'hidden' &&
        n.scrollWidth > n.clientWidth + 1)
      .map(n => n.textContent.trim().slice(0, 40));
    """)
    assert cut == []


@pytest.mark.long
def test_nothing_moves_for_a_reader_who_asked_for_that(browser, site):
    open_page(browser, site, PROCEDURE, width=360)
    reduce = [{"name": "prefers-reduced-motion", "value": "reduce"}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": reduce})
    browser.execute_script("document.querySelector('.hb-work-start button').click()")
    moving = browser.execute_script("""
    return document.getAnimations().map(a => a.animationName || a.transitionProperty)
      .concat([...document.querySelectorAll('article *, dialog *, .md-header, html')]
        .filter(n => { const s = getComputedStyle(n);
          return [...s.transitionDuration.split(', '), ...s.animationDuration.split(', ')]
            .some(t => parseFloat(t) > 0.01) || s.scrollBehavior === 'smooth'; })
        .map(n => n.className));
    """)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})
    browser.execute_script("document.querySelector('.hb-work-head button').click()")
    assert moving == []


def scheme(browser):
    return browser.execute_script("return document.body.dataset.mdColorScheme")


@pytest.mark.long
def test_the_colours_follow_the_system_until_the_reader_chooses(browser, site):
    open_page(browser, site, "index.html", dark=True)
    assert scheme(browser) == "slate"
    features = [{"name": "prefers-color-scheme", "value": "light"}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
    time.sleep(0.2)
    assert scheme(browser) == "default", "a page that is open follows"
    open_page(browser, site, "procedures/rinse.html", dark=True)
    assert scheme(browser) == "slate", "and so does the next"
    browser.execute_script("""
    [...document.querySelectorAll('label[for^=__palette]')].find(n => n.checkVisibility()).click();
    """)
    time.sleep(0.2)
    assert scheme(browser) == "default"
    for name, dark in [("procedures/sand.html", True), ("index.html", False), ("index.html", True)]:
        open_page(browser, site, name, dark=dark)
        assert scheme(browser) == "default", "what was chosen stays"


@pytest.mark.parametrize("dark", [False, True])
def test_the_colours_are_there_before_any_script_file(browser, site, tmp_path, dark):
    """Else a dark room is lit up by each page that is opened."""
    for name in ("assets", "index.html"):
        whole = Path(site) / name
        shutil.copytree(whole, tmp_path / name) if whole.is_dir() else shutil.copy(whole, tmp_path / name)
    for script in (tmp_path / "assets").rglob("*.js"):
        script.unlink()
    open_page(browser, tmp_path, "index.html", dark=dark)
    assert scheme(browser) == ("slate" if dark else "default")
    canvas = browser.execute_script("return document.querySelector('meta[name=color-scheme]').content")
    assert canvas == ("dark" if dark else "light")


@pytest.mark.parametrize(
    "harm", ["'{'", "'7'", "'{\"color\": 7}'", "'[]'", '\'{"color": {"media": "(x)"}}\'']
)
def test_a_choice_of_colours_that_cannot_be_read_is_none(browser, site, harm):
    open_page(browser, site, "index.html", dark=True)
    key = "new URL('.', location).pathname + '.__palette'"
    browser.execute_script(f"localStorage.setItem({key}, {harm})")
    open_page(browser, site, "index.html", dark=True)
    assert scheme(browser) == "slate"
    choice = "return [...document.querySelectorAll('label[for^=__palette]')].filter(n => n.checkVisibility())"
    (other,) = browser.execute_script(choice)
    other.click()
    assert scheme(browser) == "default"
    open_page(browser, site, "index.html", dark=True)
    assert scheme(browser) == "default"
    browser.execute_script(f"localStorage.removeItem({key})")


def test_the_colours_change_where_nothing_may_be_kept(browser, site):
    refused = "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('refused', 'SecurityError'); }});"
    script = browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": refused})[
        "identifier"
    ]
    try:
        open_page(browser, site, "index.html", dark=True)
        assert scheme(browser) == "slate"
        browser.execute_script("document.querySelector('input[name=__palette]:not(:checked)').click()")
        assert scheme(browser) == "default"
    finally:
        browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", {"identifier": script})


def test_the_colours_change_by_key_and_keep_the_focus(browser, site):
    open_page(browser, site, "index.html")
    browser.execute_script("document.querySelector('input[name=__palette]:checked').focus()")
    for wanted in ("slate", "default"):
        press(browser, Keys.ENTER)
        assert scheme(browser) == wanted
        assert browser.execute_script("return document.activeElement.checked")
    assert browser.current_url.endswith("index.html")


@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.long
def test_the_menu_opens_a_section_where_it_stands(browser, site, width):
    open_page(browser, site, "procedures/coat.html", width=width)
    address = browser.current_url
    for words, inside in [("Reference", "Glossary"), ("Safety", "Never together")]:
        browser.execute_script(
            """
        const section = [...document.querySelectorAll('.md-nav__item--pruned > a')]
          .find(link => link.textContent.includes(arguments[0]));
        section.click();
        """,
            words,
        )
        end = time.monotonic() + 10
        found = None
        while not found and time.monotonic() < end:
            found = browser.execute_script(
                """
            return [...document.querySelectorAll('.md-nav__toggle:checked ~ .md-nav a.md-nav__link')]
              .filter(link => link.textContent.trim() === arguments[0]).map(link => link.href)[0];
            """,
                inside,
            )
        assert found, f"{words} does not open"
        assert Path(found.removeprefix("file://")).is_file()
    assert browser.current_url == address


def test_the_whole_menu_stands_in_its_data_as_on_the_pages(site):
    data = (site / "assets" / "menu-data.js").read_text(encoding="utf-8")
    menu = json.loads(data.partition(".menu=")[2].rstrip(";\n"))

    def urls(items):
        for item in items:
            if "url" in item:
                yield item["url"]
            else:
                yield from urls([*([item["index"]] if "index" in item else []), *item["items"]])

    found = list(urls(menu))
    pages = {path.relative_to(site).as_posix() for path in site.rglob("*.html")} - {
        "404.html",
        "handbook.html",
    }
    assert set(found) == pages
    assert len(found) == len(set(found))


def test_without_scripts_fields_are_shut_and_say_so(browser, site):
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        open_page(browser, site, "calculators/alcohol.html", width=360)
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    fields = ".hb-calc :is(input, select, textarea)"
    shut, said = browser.execute_script(f"""
    return [[...document.querySelectorAll('{fields}')].every(n => n.disabled),
      [...document.querySelectorAll('.hb-calc')].every(n => /script/i.test(n.textContent))];
    """)
    assert shut
    assert said


@pytest.mark.parametrize(
    "place", ["404.html", "procedures/404.html", "procedures/deeper/still/404.html", "tables/404.html"]
)
@pytest.mark.long
def test_the_page_for_a_lost_address_leads_home_from_any_folder(browser, site, tmp_path, place):
    # A server shows this page at the address that was asked for; the same bytes are laid there.
    home = tmp_path / "some" / "folder"
    (home / place).parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(site / "404.html", home / place)
    open_page(browser, home, place, width=360)
    links = browser.execute_script("return [...document.querySelectorAll('a')].map(a => a.href)")
    assert links[0] == (home / "index.html").as_uri()
    for link in links:
        assert (site / link.removeprefix(f"{home.as_uri()}/")).is_file()
    style = browser.execute_script("return getComputedStyle(document.querySelector('main')).maxWidth")
    assert style != "none", "its style stands in it, and its policy lets it"
