"""The book in Chromium: alone in a folder, on a phone and on paper."""

import base64
import json
import re
import shutil
import subprocess
import time

import pytest
from support import waiting
from test_in_chromium import open_page

NAME = "handbook.html"


@pytest.fixture(scope="module")
def alone(real_site, tmp_path_factory):
    """A folder that holds the book and nothing else, as a message or a stick brings it."""
    folder = tmp_path_factory.mktemp("a stick")
    shutil.copy(real_site / NAME, folder)
    return folder


def opened(browser, alone, place="", **kind):
    browser.get("about:blank")  # the same file with another anchor would not be read again
    return open_page(browser, alone, NAME, **kind) if not place else _at(browser, alone, place, **kind)


def _at(browser, alone, place, width=1280):
    size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    browser.get((alone / NAME).as_uri() + place)
    return browser


def shown(browser):
    return browser.execute_script(
        "return [...document.querySelectorAll('.pg')].filter((p) => p.offsetHeight).map((p) => p.id)"
    )


@pytest.mark.long
def test_it_asks_for_no_other_file_and_says_nothing_to_the_console(recorded, alone):
    browser = recorded
    browser.get_log("performance")
    browser.get_log("browser")
    opened(browser, alone)
    time.sleep(0.3)
    messages = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    asked = [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]
    asked = [url for url in asked if not url.startswith(("data:", "about:"))]
    assert asked == [(alone / NAME).as_uri()]
    assert [entry["message"] for entry in browser.get_log("browser")] == []


def test_one_chapter_is_shown_and_links_lead_to_others_and_back(browser, alone):
    opened(browser, alone)
    assert shown(browser) == ["bk-cover"]
    browser.find_element("css selector", ".bk-open a").click()
    assert shown(browser) == ["bk-contents"]
    browser.execute_script("document.querySelector('#bk-contents a[href=\"#p-rinse\"]').click()")
    assert shown(browser) == ["p-rinse"]
    assert browser.title.startswith("9 Rinse") or re.match(r"\d+ Rinse", browser.title)
    browser.execute_script("document.querySelector('#p-rinse .hb-jump a').click()")
    assert browser.execute_script(
        "const top = document.getElementById('p-rinse--steps').getBoundingClientRect().top;"
        "return top >= 0 && top < 200"
    )
    browser.back()
    browser.back()
    waiting(browser, 5).until(lambda b: shown(b) == ["bk-contents"])


@pytest.mark.long
def test_a_calculator_opens_by_its_address_and_computes(browser, alone):
    opened(browser, alone, "#p-rinse--calc-rinse-sequence?start=40 mg/L")
    assert shown(browser) == ["p-rinse"]
    answer = "#p-rinse--calc-rinse-sequence .hb-calc-short"
    text = "return document.querySelector(arguments[0]).textContent"
    first = waiting(browser, 10).until(lambda b: b.execute_script(text, answer))
    field = browser.find_element("css selector", "#p-rinse--calc-rinse-sequence [data-argument=start]")
    assert field.get_attribute("value") == "40"
    assert field.is_enabled()
    field.clear()
    field.send_keys("4000")
    waiting(browser, 10).until(lambda b: b.execute_script(text, answer) not in (first, "–"))


@pytest.mark.long
def test_a_menu_has_all_its_choices_and_keeps_what_was_chosen(browser, alone, real_site):
    """The file holds the chosen one alone; the page of the site has them all."""
    read = (
        "return [...document.querySelectorAll('select[data-argument]')].map((m) =>"
        " [m.closest('[data-calculation]').dataset.calculation, m.dataset.argument, m.value,"
        " [...m.options].map((o) => o.text)])"
    )
    opened(browser, alone)
    ours = {tuple(menu[:2]): menu[2:] for menu in browser.execute_script(read)}
    assert len(ours) > 50
    open_page(browser, real_site, "calculators/abrasives.html")
    for name, argument, chosen, options in browser.execute_script(read):
        assert ours[name, argument][1] == options
        assert ours[name, argument][0] in options
        assert chosen in options


@pytest.mark.long
def test_the_search_finds_what_is_asked_for(browser, alone):
    opened(browser, alone, "#bk-contents")
    browser.find_element("css selector", "#bk-asked").send_keys("dew point")
    found = waiting(browser, 5).until(lambda b: b.find_elements("css selector", ".bk-find li a"))
    assert any("dew point" in link.text.lower() or "Coat" in link.text for link in found[:3])
    found[0].click()
    assert shown(browser) not in ([], ["bk-contents"])


@pytest.mark.parametrize("place", ["", "#bk-contents", "#bk-index", "#p-rinse", "#c-rinsing", "#r-glossary"])
@pytest.mark.long
def test_nothing_hangs_over_the_edge_of_a_phone(browser, alone, place):
    opened(browser, alone, place, width=360)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 360


@pytest.mark.long
def test_it_turns_dark_with_the_system_and_by_its_button(browser, alone):
    opened(browser, alone, dark=True)
    ask = "return getComputedStyle(document.body).backgroundColor"
    dark = browser.execute_script(ask)
    browser.find_element("css selector", ".bk-scheme").click()
    light = browser.execute_script(ask)
    assert dark == "rgb(23, 27, 31)"
    assert light == "rgb(253, 252, 249)"


@pytest.mark.long
def test_without_scripts_all_chapters_stand_and_the_fields_say_why_they_are_fixed(browser, alone):
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        opened(browser, alone)
        text = browser.find_element("css selector", "#bk-cover noscript").text
        assert "Scripts are off" in text
        assert browser.find_element("css selector", "#p-rinse h1").is_displayed()
        assert browser.find_element("css selector", "#p-sand h1").is_displayed()
        assert not browser.find_element("css selector", "[data-argument]").is_enabled()
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def printed(browser, file):
    result = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    file.write_bytes(base64.b64decode(result["data"]))
    text = subprocess.run(
        ["pdftotext", "-layout", file, "-"], capture_output=True, text=True, check=True
    ).stdout
    return [" ".join(sheet.split()) for sheet in text.split("\f")[:-1]]


@pytest.mark.long
def test_from_a_chapter_that_chapter_is_printed(browser, alone, tmp_path, house):
    opened(browser, alone, "#p-rinse")
    sheets = printed(browser, tmp_path / "chapter.pdf")
    assert 2 <= len(sheets) <= 6
    for number, sheet in enumerate(sheets, 1):
        assert re.match(r"\d+ Rinse ", sheet)
        assert f"{house['house.name']} · edition {house.edition}" in sheet
        assert sheet.endswith(f"{number} of {len(sheets)}")
    text = " ".join(sheets)
    assert re.search(r"after one rinse upon the other: start 20 mg/L, .*?→ 0\.0", text)  # a worked example
    assert "Scripts are off" not in text


@pytest.mark.long
def test_the_whole_book_is_printed_from_its_cover(browser, alone, tmp_path, house):
    browser.set_script_timeout(300)
    browser.command_executor.client_config.timeout = 300
    opened(browser, alone)
    (told,) = re.findall(r"about (\d+) sheets", browser.find_element("css selector", ".bk-paper").text)
    chapters = browser.execute_script(
        "return [...document.querySelectorAll('article.pg')].map((a) => a.dataset.number)"
    )
    sheets = printed(browser, tmp_path / "book.pdf")
    print(f"{len(sheets)} sheets, told {told}")
    assert abs(len(sheets) - int(told)) <= 0.1 * len(sheets)
    heads = []
    for number, sheet in enumerate(sheets, 1):
        assert f"{house['house.name']} · edition {house.edition}" in sheet
        assert sheet.endswith(f"{number} of {len(sheets)}")
        head = sheet.split(" ", 1)[0]
        if not heads or heads[-1] != head:
            heads.append(head)
    assert [head for head in heads if head in set(chapters)] == chapters
    assert heads[-1] == "Index"
