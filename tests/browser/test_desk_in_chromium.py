"""The keeper's desk and the reasons of numbers, from a folder: typed, touched, by keyboard."""

import json
import re
import sys
import time
from pathlib import Path

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from support import ROOT, copy_of_the_project, run, waiting
from test_in_chromium import open_page

from handbook_calc.engine import house as house_module
from handbook_calc.engine.faults import HouseFaults

PAGE = "keeper/house-standard.html"


def wait_for(told, *, seconds=5):
    """Return what is told once it is there."""
    end = time.monotonic() + seconds
    while not (found := told()):
        assert time.monotonic() < end, "nothing is told"
        time.sleep(0.05)
    return found


def at_the_desk(browser):
    """Open the desk, if it is not open yet, and wait until it is laid."""
    for button in browser.find_elements(By.CSS_SELECTOR, ".hb-desk-open"):
        browser.execute_script("arguments[0].click()", button)
    wait_for(lambda: browser.find_elements(By.ID, "hb-desk-key"))


def change(browser, key, value, reason="tried in a test"):
    """Change a house value at the desk, as a keeper does."""
    at_the_desk(browser)
    picked = browser.find_element(By.ID, "hb-desk-key")
    picked.clear()
    picked.send_keys(key, Keys.ENTER)
    field = browser.find_element(By.ID, f"hb-desk-{key}")
    assert browser.switch_to.active_element == field
    field.clear()
    field.send_keys(value)
    why = browser.find_element(By.ID, f"hb-desk-why-{key}")
    why.clear()
    why.send_keys(reason)


def faults(browser) -> list[str]:
    return [item.text for item in browser.find_elements(By.CSS_SELECTOR, ".hb-desk-faults li")]


def written(browser) -> str:
    return browser.find_element(By.ID, "hb-desk-text").get_attribute("value")


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("drying.oven_temperature", "900 degC"),
        ("drying.oven_temperature", "90"),
        ("drying.oven_temperature", "90 furlongs"),
        ("drying.safety_share", "80 %"),
        ("electrolysis.salt", "table salt"),
        ("rinsing.least_baths", "2.5"),
        ("house.date", "2026-02-30"),
        ("house.edition", "a b"),
        ("drying.oven_temperature", "110 degC"),
        ("specimen.few_spots", "12 %"),
    ],
)
@pytest.mark.long
def test_a_faulty_value_is_told_as_it_is_typed_in_the_words_of_the_check(browser, site, key, value):
    with pytest.raises(HouseFaults) as caught:
        house_module.load(ROOT / "docs" / "house-standard.yml", tried={key: value})
    expected = {fault.text.replace("\u00a0", " ") for fault in caught.value.faults}
    open_page(browser, site, PAGE)
    change(browser, key, value)
    (told,) = [text.replace("\u00a0", " ") for text in faults(browser)]
    start = re.match(r"[\w.]+: .*? (?:is|has|does|needs)\b", told)
    assert start
    assert any(text.startswith(start[0]) for text in expected), (told, expected)
    assert "allowed is" in told
    assert written(browser) == ""
    assert not browser.find_element(By.CSS_SELECTOR, ".hb-desk-save button").is_enabled()


@pytest.mark.long
def test_what_a_value_would_do_is_what_the_command_says(browser, site, tmp_path):
    """The first answers of the calculators, in the page and by the command, worked out on two ways."""
    open_page(browser, site, PAGE)
    change(browser, "drying.safety_share", "12.5 %")
    told = [
        item.text.replace("\u00a0", " ") for item in browser.find_elements(By.CSS_SELECTOR, "#hb-desk li")
    ]
    shown = {
        found.groups()
        for text in told
        if (found := re.search(r": was (.*?), is (.*?)(?: \([+-][\d.e+]+ %\))?$", text))
    }
    folder = copy_of_the_project(tmp_path)
    made = run(
        [sys.executable, "-m", "handbook_calc", "changes", "--set", "drying.safety_share=12.5 %", "--json"],
        folder,
    )
    assert made.returncode == 0, made.stderr
    changes = json.loads(made.stdout)["changes"]
    mine = {
        (c["was"]["text"], c["is"]["text"])
        for c in changes
        if re.match(r"page calculators/\S+ \| calc [\w-]+ \| ", c["key"])
    }
    plain = {tuple(re.sub(r" \(\S+ to \S+\)", "", text) for text in pair) for pair in mine}
    assert len(plain) >= 2
    assert plain <= shown
    assert (
        'changes --set drying.safety_share="12.5 %"'
        in browser.find_element(By.CSS_SELECTOR, "#hb-desk pre").text
    )


@pytest.mark.long
def test_a_keepers_round_from_value_to_reprint_list(browser, site, tmp_path):
    (tmp_path / "ours").mkdir()
    folder = copy_of_the_project(tmp_path / "ours")
    command = [sys.executable, "-m", "handbook_calc"]
    assert run([*command, "record", "2026.1"], folder).returncode == 0
    printed = run([*command, "sheets", "--printed", "procedures/oven-dry", "--place", "on the oven"], folder)
    assert printed.returncode == 0, printed.stderr
    open_page(browser, site, "procedures/oven-dry.html")
    old = browser.execute_script("return document.body.dataset.code")

    open_page(browser, site, PAGE)
    change(browser, "drying.oven_temperature", "90 degC", "the new oven: it holds no less # at night")
    assert "status: draft" in written(browser)
    change(browser, "house.edition", "2027.1")
    change(browser, "house.date", "2027-11-25")
    change(browser, "house.status", "approved")
    assert faults(browser) == []
    saved = tmp_path / "saved"
    saved.mkdir()
    browser.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(saved)})
    text = written(browser)
    browser.find_element(By.XPATH, "//button[text()='Save as file']").click()
    wait_for(lambda: list(saved.glob("*.yml")))
    (file,) = saved.glob("*.yml")
    assert file.read_text("utf-8") == text
    assert file.name == "lantern-yard-bench.yml"
    (folder / "house").mkdir()
    file.rename(folder / "house" / file.name)

    settings = (folder / "mkdocs.yml").read_text("utf-8")
    (folder / "mkdocs.yml").write_text(settings.replace('house: ""', f"house: house/{file.name}"), "utf-8")
    overlay = ["--house", f"house/{file.name}"]
    checked = run([*command, "check", *overlay], folder)
    assert checked.returncode == 0, checked.stderr
    assert "edition 2027.1" in checked.stdout
    assert run([*command, "record", "2027.1", *overlay], folder).returncode == 0
    told = run([*command, "sheets", *overlay], folder).stdout
    assert "print again, and take the old one down: 1\n  procedures/oven-dry, copy 1, on the oven" in told
    built = run([sys.executable, "-m", "mkdocs", "build", "--strict"], folder)
    assert built.returncode == 0, built.stderr

    open_page(browser, folder / "site", "keeper/printed-copies.html")
    field = browser.find_element(By.ID, "hb-sheet-code")
    waiting(browser, 10).until(lambda _: field.is_enabled())
    field.send_keys(old)
    said = browser.find_element(By.ID, "hb-sheet-told").text
    assert "Take it down and print it again: other values now." in said
    assert "was 80 °C, is 90 °C" in said.replace("\u00a0", " ")
    changed = (folder / "site" / "keeper" / "what-changed.html").read_text("utf-8")
    assert "drying.oven_temperature" in changed


@pytest.mark.long
def test_an_opened_file_keeps_its_comments(browser, site, tmp_path):
    file = tmp_path / "ours.yml"
    file.write_text(
        "# Ours since the flood.\ndrying:\n  # Chosen: old oven.\n  oven_temperature: 85 degC\n  # Chosen: kept.\n  oven_volume: 45 L\n",
        "utf-8",
    )
    open_page(browser, site, PAGE)
    change(browser, "drying.oven_temperature", "95 degC", "new oven")
    browser.find_element(By.ID, "hb-desk-file").send_keys(str(file))
    wait_for(lambda: "45 L" in written(browser))
    grade = "Common practice"
    assert written(browser).startswith(
        f"# Ours since the flood.\ndrying:\n  # {grade}: new oven\n  oven_temperature: 95 degC\n  # Chosen: kept.\n  oven_volume: 45 L\n"
    )


@pytest.mark.long
def test_what_was_written_is_there_after_the_page_was_left(browser, site):
    open_page(browser, site, PAGE)
    change(browser, "rinsing.bath", "800 mL")
    open_page(browser, site, "index.html")
    open_page(browser, site, PAGE)
    wait_for(lambda: browser.find_elements(By.ID, "hb-desk-rinsing.bath"))  # it opens by itself
    assert browser.find_element(By.ID, "hb-desk-rinsing.bath").get_attribute("value") == "800 mL"
    browser.find_element(By.XPATH, "//button[text()='Take back']").click()
    assert browser.find_elements(By.ID, "hb-desk-rinsing.bath") == []
    assert written(browser) == ""


@pytest.mark.long
def test_each_row_of_the_standard_leads_to_the_desk(browser, site):
    open_page(browser, site, PAGE)
    row = browser.find_element(By.ID, "house-rinsing.film")
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", row)
    wait_for(lambda: row.find_elements(By.CSS_SELECTOR, ".hb-desk-change"))[0].click()
    wait_for(lambda: browser.find_elements(By.ID, "hb-desk-rinsing.film"))
    field = browser.switch_to.active_element
    assert field.get_attribute("id") == "hb-desk-rinsing.film"
    assert field.get_attribute("value").startswith("215 mL/m^2 (")
    assert "Reads as 215" in browser.find_element(By.CSS_SELECTOR, ".hb-desk-said").text


# --- why this number ---------------------------------------------------------------------------


def why(browser):
    boxes = browser.find_elements(By.CSS_SELECTOR, ".hb-why:not([hidden])")
    return boxes[0] if boxes else None


@pytest.mark.long
def test_a_figure_says_why_by_keyboard_and_gives_the_focus_back(browser, site):
    open_page(browser, site, "procedures/dehydrate.html")
    figure = browser.find_element(By.CSS_SELECTOR, '.hb-value[data-why*="soak-time"]')
    assert figure.get_attribute("role") == "button"
    browser.execute_script("arguments[0].focus()", figure)
    figure.send_keys(Keys.ENTER)
    box = wait_for(lambda: why(browser))
    assert browser.switch_to.active_element == box
    for words in (
        "Formulas",
        "From",
        "Worked out",
        "How sure",
        "House values",
        "Sources",
        "drying.diffusivity",
        "piece.crack_depth",
    ):
        assert words in box.text
    box.find_element(By.XPATH, ".//button[text()='drying.diffusivity']").click()
    assert "Tables that depend on it" in box.text
    assert "Rests on: " in box.text
    box.send_keys(Keys.ESCAPE)
    assert why(browser) is None
    assert browser.switch_to.active_element == figure


@pytest.mark.long
def test_a_house_value_and_a_table_say_why_when_touched(browser, site):
    open_page(browser, site, "procedures/oven-dry.html")
    figure = browser.find_element(By.CSS_SELECTOR, '.hb-value[data-why="value drying.oven_temperature"]')
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", figure)
    figure.click()
    box = wait_for(lambda: why(browser))
    assert "Pages that depend on it" in box.text
    link = box.find_element(By.CSS_SELECTOR, "a")
    assert link.get_attribute("href").endswith("keeper/house-standard.html#house-drying.oven_temperature")
    section = browser.find_element(By.ID, "table-oven-solvent")
    button = section.find_element(By.CSS_SELECTOR, ".hb-ask")
    browser.execute_script("arguments[0].click()", button)
    assert "drying.safety_share" in wait_for(lambda: why(browser)).text
    cell = section.find_element(By.CSS_SELECTOR, "td.n")
    browser.execute_script("arguments[0].click()", cell)
    assert f"Why {cell.text}?" in wait_for(lambda: why(browser)).text
    assert browser.get_log("browser") == []


def test_every_link_of_a_reason_leads_somewhere(browser, site):
    open_page(browser, site, "procedures/rinse.html")
    figure = browser.find_element(By.CSS_SELECTOR, ".hb-value[data-why]")
    browser.execute_script("arguments[0].click()", figure)
    box = wait_for(lambda: why(browser))
    links = {link.get_attribute("href") for link in box.find_elements(By.CSS_SELECTOR, "a")}
    assert links
    for href in links:
        path, _, anchor = href.removeprefix("file://").partition("#")
        text = Path(path).read_text("utf-8")
        assert not anchor or f'id="{anchor}"' in text


@pytest.mark.parametrize(
    "kept",
    [
        '{"__proto__": {"text": "1", "grade": "Chosen", "reason": ""}}',
        '{"constructor": {"text": "1", "grade": "Chosen", "reason": ""}}',
        '{"rinsing.film": 5, "house.name": null}',
        '{"rinsing.film": {"text": {}, "grade": "Chosen", "reason": ""}}',
        '[1, 2]',
        '"text"',
        '{"cut',
    ],
)  # fmt: skip
@pytest.mark.long
def test_what_was_kept_in_another_form_leaves_the_desk_at_work(browser, site, kept):
    open_page(browser, site, PAGE)
    browser.execute_script(
        "HB.store.set('desk', '?');"
        "const key = Object.keys(localStorage).find((name) => name.endsWith('/desk'));"
        "localStorage.setItem(key, arguments[0]);",
        kept,
    )
    open_page(browser, site, PAGE)
    at_the_desk(browser)
    assert faults(browser) == []
    change(browser, "drying.oven_temperature", "90 degC")
    assert faults(browser) == []
    assert "oven_temperature: 90 degC" in written(browser)


@pytest.mark.long
def test_a_kept_value_of_an_unknown_grade_keeps_its_text(browser, site):
    open_page(browser, site, PAGE)
    draft = {"text": "90 degC", "grade": "__proto__", "reason": "measured"}
    browser.execute_script("HB.store.set('desk', {'drying.oven_temperature': arguments[0]});", draft)
    open_page(browser, site, PAGE)
    at_the_desk(browser)
    assert "Chosen: measured" in written(browser)
    assert "oven_temperature: 90 degC" in written(browser)


@pytest.mark.parametrize("key", ["__proto__", "constructor", "toString", "<b>x</b>"])
@pytest.mark.long
def test_a_name_that_is_no_house_value_is_said_at_the_desk(browser, site, key):
    open_page(browser, site, PAGE)
    at_the_desk(browser)
    picked = browser.find_element(By.ID, "hb-desk-key")
    picked.send_keys(key, Keys.ENTER)
    told = browser.find_element(By.CSS_SELECTOR, ".hb-desk-told").text
    assert told == f"There is no house value '{key}'; choose one of the list."
