"""The pages' content policy in Chromium, opened from a folder: what is ours works, what is smuggled in does not."""

import time

import pytest
from support import waiting
from test_in_chromium import open_page

KINDS = [
    "index.html",
    "procedures/rinse.html",
    "calculators/rinsing.html",
    "tables/coating.html",
    "keeper/house-standard.html",
    "reference/glossary.html",
    "safety/index.html",
]
SMUGGLED = """
const box = document.createElement("div");
document.querySelector("article").append(box);
box.innerHTML = '<img src="x.png" onerror="window.ran = 1"><a id="bad" href="javascript:window.ran=2">a</a>'
  + '<iframe srcdoc="<script>parent.ran = 3</script>"></iframe><p style="color:red">p</p>';
const script = document.createElement("script");
script.textContent = "window.ran = 4";
box.append(script);
document.getElementById("bad").click();
const far = document.createElement("script");
far.src = "https://other.example/a.js";
box.append(far);
"""


def policy_messages(browser):
    return [e["message"] for e in browser.get_log("browser") if "Content Security Policy" in e["message"]]


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.long
def test_no_page_breaks_its_own_policy(browser, site, name):
    browser.get_log("browser")
    open_page(browser, site, name)
    time.sleep(0.3)
    for box in browser.find_elements("css selector", "details.hb-calc > summary")[:3]:
        browser.execute_script("arguments[0].click()", box)
    browser.execute_script("document.querySelectorAll('.md-option')[1]?.click()")
    time.sleep(0.3)
    assert [entry["message"] for entry in browser.get_log("browser")] == []


def test_what_is_smuggled_in_does_not_run(browser, site):
    open_page(browser, site, "index.html")
    browser.get_log("browser")
    browser.execute_script(SMUGGLED)
    time.sleep(0.5)
    assert browser.execute_script("return window.ran") is None
    told = policy_messages(browser)
    assert len(told) >= 4, told
    assert any("other.example" in message for message in told)


@pytest.mark.long
def test_the_page_still_changes_from_light_to_dark(browser, site):
    open_page(browser, site, "procedures/rinse.html")
    ask = "return document.body.getAttribute('data-md-color-scheme')"
    before = browser.execute_script(ask)
    browser.execute_script(
        "[...document.querySelectorAll('label[for^=__palette]')].find(n => n.checkVisibility()).click()"
    )
    time.sleep(0.3)
    assert {before, browser.execute_script(ask)} == {"default", "slate"}
    browser.execute_script("localStorage.clear()")


@pytest.mark.parametrize("name", ["index.html", "procedures/rinse.html"])
@pytest.mark.long
def test_search_answers_from_a_folder_under_the_policy(browser, site, name):

    open_page(browser, site, name)
    browser.get_log("browser")
    browser.find_element("css selector", "[data-md-component=search-query]").send_keys("dew point")
    found = waiting(browser, 20).until(lambda b: b.find_elements("css selector", ".md-search-result__link"))
    assert len(found) > 3
    assert policy_messages(browser) == []
