"""The log of the reader's own piece in Chromium, from ``file://``: entered, pasted, corrected, saved, forgotten, opened."""

from datetime import datetime

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import Select
from support import ROOT, run, waiting
from test_in_chromium import open_page
from test_piece_in_chromium import open_file, open_panel, press, ready

from handbook_calc import readings

pytestmark = pytest.mark.usefixtures("browser")

PAGE = "pieces/own-log.html"
LOGGED = ROOT / "docs" / "pieces" / "LY-017.yml"
HEADING = readings.heading_line()
ROWS = """2026-10-01 09:00\tbath\t0.25 L
2026-10-01 09:10\tblank\t1 mg/L\t1 mg/L
2026-10-08 08:50\tstandard\t10 mg/L\t10 mg/L
2026-10-08 09:00\tchloride\t130 mg/L\t1 mg/L
2026-10-08 09:30\tbath\t0.25 L
2026-10-08 09:40\tblank\t1 mg/L\t1 mg/L
2026-10-15 08:50\tstandard\t10 mg/L\t10 mg/L
2026-10-15 09:00\tchloride\t40 mg/L\t1 mg/L
"""
HOSTILE = {
    "a script": (f"{HEADING}\n1,2026-10-01,<script>document.title='taken'</script>,,,,2026.1,\n".encode(), 2),
    "a formula for a value": (f"{HEADING}\n1,2026-10-01,look,=cmd(),,,2026.1,\n".encode(), 2),
    "no CSV": (b"<html><body>hello</body></html>\n", 1),
    "huge": (f"{HEADING}\n".encode() + b"1,2026-10-01,look,sound,,,2026.1,\n" * 70_000, 1),
    "bad bytes": (f"{HEADING}\n1,2026-10-01,look,".encode() + b"\xff\xfe\n", 2),
    "a sign that nobody sees": (f"{HEADING}\n\n1,2026-10-01,note,a\u202eb,,,2026.1,\n".encode(), 3),
    "a number used twice": (f"{HEADING}\n{'1,2026-10-01,look,sound,,,2026.1,' + chr(10)}".encode() * 2, 3),
    "an open quotation mark": (f'{HEADING}\n1,2026-10-01,note,"a,,,2026.1,\n'.encode(), 2),
}


def open_log(browser, site, **page):
    """Open the log's page and wait until it stands; `page` is that of `open_page`."""
    open_page(browser, site, PAGE, **page)
    waiting(browser, 60).until(
        lambda b: b.execute_script(
            "return (document.getElementById('hb-own-log') || {dataset: {}}).dataset.ready"
        )
    )
    ready(browser)


def kept(browser):
    return browser.execute_script("return HB.store.get('log/LY-017') || ''")


def told(browser):
    return browser.find_element(By.CSS_SELECTOR, ".hb-log-told").text


def push(browser, text, within="#hb-own-log"):
    """Press the button that begins with a text."""
    for button in browser.find_elements(By.CSS_SELECTOR, f"{within} button"):
        if button.get_property("textContent").startswith(text) and button.is_displayed():
            browser.execute_script("arguments[0].click()", button)
            return
    raise AssertionError(f"no button {text}")


def fill(browser, name, text):
    browser.execute_script(
        "const c = document.getElementById('hb-log-' + arguments[0]); c.value = arguments[1];"
        "c.dispatchEvent(new Event('input', {bubbles: true}));",
        name,
        text,
    )


def choose(browser, kind):
    Select(browser.find_element(By.ID, "hb-log-what")).select_by_value(kind)


def enter(browser, kind, value, **others):
    choose(browser, kind)
    for name, text in {"value": value, **others}.items():
        fill(browser, name, text)
    browser.find_element(By.CSS_SELECTOR, ".hb-log-add").click()


def paste(browser, rows):
    browser.execute_script("document.querySelector('.hb-log-paste').open = true")
    fill(browser, "rows", rows)
    push(browser, "Enter the rows")


def cells(browser):
    """Return the rows of the table of the log as they stand."""
    script = """return [...document.querySelectorAll('.hb-log-rows tbody tr')].map(
        row => [...row.cells].filter(cell => cell.className !== 'hb-log-act').map(cell => cell.innerHTML))"""
    return browser.execute_script(script)


@pytest.fixture
def mine(browser, site):
    """A reader has opened the file of a piece of the bench as a piece of their own, and looks at its log."""
    open_page(browser, site, PAGE)
    assert "No piece is typed yet" in browser.find_element(By.ID, "hb-own-log").text
    open_file(browser, LOGGED)
    ready(browser)
    open_log(browser, site)
    return browser


def test_a_reading_is_entered_and_still_there_after_a_reload(mine, site):
    before = datetime.now().replace(second=0, microsecond=0)
    enter(mine, "weighing", "186,41", **{"with": "1"})
    assert "Row 1 is entered: weighing, 186,41 g" in told(mine)
    heading, line = kept(mine).splitlines()
    assert heading == HEADING
    number, when, rest = line.split(",", 2)
    assert number == "1"
    assert before <= datetime.fromisoformat(when) <= datetime.now()
    edition = mine.execute_script("return HB.edition").partition(" ")[0]
    assert rest == f'weighing,"186,41 g",1 g,,{edition},'
    mine.refresh()
    open_log(mine, site)
    assert cells(mine)[0][2:5] == ["weighing", "186,41 g", "1 g"]
    assert "1 row," in mine.find_element(By.CSS_SELECTOR, ".hb-log-result").text


@pytest.mark.long
def test_fields_are_large_and_bring_the_keypad_of_numbers(mine, site):
    open_log(mine, site, width=360)
    for kind in ("weighing", "chloride", "standard", "step done", "look", "coat"):
        choose(mine, kind)
        for control in mine.find_elements(By.CSS_SELECTOR, ".hb-log-entry :is(input, select, button)"):
            if control.is_displayed() and control.get_attribute("type") != "checkbox":
                assert control.rect["height"] >= 44, control.get_attribute("id")
        value = mine.find_element(By.ID, "hb-log-value")
        number = kind in ("weighing", "chloride", "standard")
        assert (value.get_attribute("inputmode") == "decimal") is number
    assert mine.execute_script("return document.documentElement.scrollWidth <= innerWidth")
    choose(mine, "chloride")
    fill(mine, "value", "1")
    mine.find_element(By.ID, "hb-log-value-below").click()
    mine.find_element(By.CSS_SELECTOR, ".hb-log-add").click()
    assert ",chloride,< 1 mg/L," in kept(mine)


@pytest.mark.long
def test_the_kinds_of_the_step_that_is_due_come_first(mine, site):
    first = "return document.querySelector('#hb-log-what optgroup').label"
    paste(mine, "2026-10-01 09:00\tarrived\n" + ROWS)
    open_log(mine, site)
    assert mine.execute_script(first) == mine.execute_script(
        "return HB.planSteps.find(step => step.id === 'electrolysis').title"
    )


@pytest.mark.long
def test_a_reading_that_cannot_be_read_is_told_at_its_field(mine):
    enter(mine, "weighing", "a lot")
    assert mine.find_element(By.ID, "hb-log-value-error").text
    assert told(mine).startswith("Not entered: value: ")
    assert mine.switch_to.active_element.get_attribute("id") == "hb-log-value"
    assert kept(mine) == ""
    enter(mine, "room humidity", "900 %")
    assert "cannot be true" in told(mine)
    assert "900 % cannot be true" in mine.find_element(By.CSS_SELECTOR, ".hb-log-finds").text


@pytest.mark.long
def test_rows_are_pasted_whole_or_not_at_all(mine):
    paste(mine, ROWS + "2026-10-16\tchloride\t40\n")
    assert "line 9: value: 40" in told(mine)
    assert kept(mine) == ""
    paste(mine, ROWS)
    assert told(mine).startswith("8 rows are entered. Look at this: Row 4: 130 mg/L is more chloride")
    assert len(kept(mine).splitlines()) == 9
    shown = mine.find_element(By.CSS_SELECTOR, ".hb-log-result").text
    assert "Chloride drawn out so far" in shown
    titles = [title.text for title in mine.find_elements(By.CSS_SELECTOR, ".hb-log-result figcaption")]
    assert titles == ["Chloride read in each bath", "Chloride out so far"]
    drawing = mine.find_element(By.CSS_SELECTOR, ".hb-log-result svg desc").get_property("textContent")
    assert "2 readings: 130 at 7.38, 40.0 at 14.4. Limit, stop limit:" in drawing


@pytest.mark.long
def test_a_correction_and_a_row_struck_out_are_new_rows(mine):
    paste(mine, ROWS)
    before = kept(mine)
    push(mine, "Correct", "tr:nth-child(4)")
    assert mine.find_element(By.ID, "hb-log-value").get_property("value") == "130"
    assert mine.find_element(By.ID, "hb-log-when").get_property("value") == "2026-10-08T09:00"
    fill(mine, "value", "13")
    mine.find_element(By.CSS_SELECTOR, ".hb-log-add").click()
    after = kept(mine)
    assert after.startswith(before)
    edition = mine.execute_script("return HB.edition").partition(" ")[0]
    assert after[len(before) :] == f"9,2026-10-08 09:00,chloride,13 mg/L,1 mg/L,,{edition},4\n"
    assert cells(mine)[3][3] == "<s>130 mg/L</s>"
    push(mine, "Correct", "tr:nth-child(9)")
    push(mine, "Strike row 9 out")
    assert kept(mine) == after, "one touch strikes nothing out"
    push(mine, "Really strike row 9 out")
    assert kept(mine).startswith(after)
    assert kept(mine).endswith(f",struck out,,,,{edition},9\n")
    assert cells(mine)[8][3] == "<s>13 mg/L</s>"


def test_the_page_says_what_the_command_says(mine, site, tmp_path):
    (tmp_path / "LY-017.yml").write_bytes(LOGGED.read_bytes())
    text = LOGGED.with_suffix(".csv").read_text(encoding="utf-8")
    (tmp_path / "LY-017.csv").write_text(text, encoding="utf-8")
    mine.execute_script("HB.keepLog('LY-017', arguments[0])", text)
    open_log(mine, site)
    shown = mine.find_element(By.CSS_SELECTOR, ".hb-log-result").text.replace("\u00a0", " ").lower()
    printed = run(["python", "-m", "handbook_calc", "log", str(tmp_path / "LY-017.yml")], ROOT).stdout
    lines = printed.replace("\u00a0", " ").splitlines()
    said = [line.strip() for line in lines if line.startswith("   ") and " by edition " not in line[:14]]
    assert len(said) > 10
    for line in said:
        words = line.lower()
        state, _, step = words.partition(": ")
        if state in ("late", "due", "under way"):
            title, _, rest = step.partition(" (")
            words = f"{state}: {title}{rest.partition(')')[2]}"
        assert words in shown, line
    for line in (line for line in lines if line.startswith("look at this: ")):
        assert line.removeprefix("look at this: ").lower() in shown


@pytest.mark.long
def test_calculators_and_plan_go_on_from_the_log(mine, site):
    paste(mine, ROWS)
    open_page(mine, site, "calculators/chloride.html")
    ready(mine)
    box = mine.find_element(By.ID, "calc-chloride-ledger")
    short = box.find_element(By.CSS_SELECTOR, ".hb-calc-short").get_property("textContent")
    found = mine.execute_script(
        "const box = document.getElementById('calc-chloride-ledger'); box.open = true;"
        "return HB.calculatorOf(box).fields.get('readings').source.cells"
    )
    assert found == [["130", "1", "0.25", "7"], ["40", "1", "0.25", "7"]]
    assert float(short.replace("\u00a0", " ").split()[0]) == pytest.approx(0.25 * (129 + 39), rel=0.01)
    # Weighings there are none, and the example's are nobody's.
    open_page(mine, site, "calculators/oven.html")
    ready(mine)
    dry = mine.find_element(By.CSS_SELECTOR, "#calc-constant-mass .hb-calc-short")
    assert dry.get_property("textContent") == "–"
    open_page(mine, site, "pieces/own.html")
    waiting(mine, 60).until(
        lambda b: b.execute_script("return document.getElementById('hb-own-plan').dataset.sure")
    )
    state = mine.find_element(By.CSS_SELECTOR, "#step-electrolysis .hb-plan-state").text
    assert state.partition(",")[0] in ("under way", "late")


@pytest.mark.long
def test_a_log_is_saved_forgotten_with_its_piece_and_opened_again_the_same(mine, site, tmp_path):
    mine.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(tmp_path)})
    given = "\ufeff" + LOGGED.with_suffix(".csv").read_text(encoding="utf-8").replace("\n", "\r\n")
    (tmp_path / "given.csv").write_bytes(given.encode())
    mine.find_element(By.ID, "hb-log-file").send_keys(str(tmp_path / "given.csv"))
    waiting(mine, 20).until(lambda _: told(mine))
    assert "given.csv is the log of LY-017 now" in told(mine)
    enter(mine, "note", 'a, "b"')
    before = kept(mine)
    push(mine, "Save LY-017.csv")
    file = tmp_path / "LY-017.csv"
    waiting(mine, 20).until(lambda _: file.exists())
    assert file.read_bytes() == before.encode()
    assert file.read_bytes().startswith(given.encode())
    open_panel(mine)
    press(mine, "Forget LY-017")
    asked = mine.find_element(By.CSS_SELECTOR, ".hb-pieces").text
    assert "Really forget LY-017 and its log?" in asked
    assert kept(mine) == before, "one touch forgets nothing"
    press(mine, "Really forget")
    waiting(mine, 20).until(lambda b: not b.execute_script("return HB.pieceName()"))
    assert kept(mine) == ""
    open_file(mine, LOGGED)
    ready(mine)
    open_log(mine, site)
    mine.find_element(By.ID, "hb-log-file").send_keys(str(file))
    waiting(mine, 20).until(lambda _: kept(mine))
    assert kept(mine) == before


@pytest.mark.parametrize("case", HOSTILE.values(), ids=HOSTILE)
@pytest.mark.long
def test_a_hostile_log_is_refused_whole_and_nothing_is_lost(mine, tmp_path, case):
    content, line = case
    paste(mine, ROWS)
    before = kept(mine)
    file = tmp_path / "hostile.csv"
    file.write_bytes(content)
    mine.find_element(By.ID, "hb-log-file").send_keys(str(file))
    waiting(mine, 20).until(lambda _: "refused whole" in told(mine))
    assert f"line {line}: " in told(mine)
    assert kept(mine) == before
    assert mine.title.startswith("Log of your own piece")
    assert not mine.find_elements(By.CSS_SELECTOR, "#hb-own-log script")


@pytest.mark.long
def test_an_older_file_takes_the_place_of_a_log_only_when_that_was_saved(mine, tmp_path):
    mine.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(tmp_path)})
    paste(mine, ROWS)
    before = kept(mine)
    older = "".join(before.splitlines(keepends=True)[:5])
    (tmp_path / "older.csv").write_text(older, encoding="utf-8")
    mine.find_element(By.ID, "hb-log-file").send_keys(str(tmp_path / "older.csv"))
    waiting(mine, 20).until(lambda _: "Nothing was changed" in told(mine))
    assert "in row 5, 6, 7, 8" in told(mine)
    assert kept(mine) == before
    push(mine, "Save the log kept here, then take older.csv")
    assert kept(mine) == older
    file = tmp_path / "LY-017.csv"
    waiting(mine, 20).until(lambda _: file.exists())
    assert file.read_text(encoding="utf-8") == before


@pytest.mark.long
def test_what_another_tab_entered_is_not_written_over(mine):
    paste(mine, ROWS)
    other = kept(mine) + "9,2026-10-16 09:00,look,sound,,,2026.1,\n"
    mine.execute_script("HB.store.set('log/LY-017', arguments[0])", other)
    enter(mine, "room humidity", "45")
    assert kept(mine).startswith(other)
    assert kept(mine).splitlines()[-1].startswith("10,")


@pytest.mark.long
def test_a_browser_that_keeps_nothing_gives_the_file(mine, tmp_path):
    mine.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(tmp_path)})
    mine.execute_script("HB.store.set = () => false")
    enter(mine, "room humidity", "45")
    waiting(mine, 20).until(lambda _: (tmp_path / "LY-017.csv").exists())
    assert "keeps nothing" in told(mine)
    assert ",room humidity,45 %," in (tmp_path / "LY-017.csv").read_text(encoding="utf-8")


@pytest.mark.long
def test_a_piece_with_another_number_takes_its_log_along(mine):
    paste(mine, ROWS)
    before = kept(mine)
    open_panel(mine)
    press(mine, "Change LY-017")
    mine.execute_script(
        "const c = document.getElementById('hb-piece-piece-number'); c.value = 'LY-117';"
        "c.dispatchEvent(new Event('input', {bubbles: true}));"
    )
    press(mine, "Keep it")
    waiting(mine, 30).until(lambda b: b.execute_script("return HB.pieceName()") == "LY-117")
    assert mine.execute_script("return HB.store.get('log/LY-117')") == before
    assert kept(mine) == ""


@pytest.mark.long
def test_paper_carries_every_row_with_the_number_of_the_piece_and_the_edition(mine, site):
    text = LOGGED.with_suffix(".csv").read_text(encoding="utf-8")
    mine.execute_script("HB.keepLog('LY-017', arguments[0])", text)
    open_log(mine, site)
    count = len(text.splitlines()) - 1
    assert len(cells(mine)) < count
    mine.execute_cdp_cmd("Page.printToPDF", {})
    assert len(cells(mine)) == count
    mine.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        caption = mine.find_element(By.CSS_SELECTOR, ".hb-log-rows thead .hb-log-of")  # on every sheet
        assert caption.is_displayed()
        edition = mine.execute_script("return HB.edition").partition(" ")[0]
        assert caption.text == f"Log of LY-017, by edition {edition} of the house standard"
        for gone in (".hb-log-entry", ".hb-log-paste", ".hb-log-tools", ".hb-log-act"):
            assert not mine.find_element(By.CSS_SELECTOR, gone).is_displayed(), gone
    finally:
        mine.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


@pytest.mark.long
def test_what_the_page_does_not_do_is_said_with_its_command(mine):
    assert "python -m handbook_calc learn" in mine.find_element(By.TAG_NAME, "article").text


def test_what_is_dangerous_in_a_row_is_told_beside_the_form_as_it_is_entered(mine):
    enter(mine, "oven", "500 degF")
    assert "Row 1 is entered: oven, 500 °F." in told(mine)
    assert "Look at this: Row 1: 500 °F cannot be true; allowed is 20 to 200 °C." in told(mine)
    enter(mine, "weighing", "14.53 oz_avdp")
    assert "Look at this" not in told(mine), "what was told before is not told again as new"
    assert [row[3] for row in cells(mine)] == ["<s>500 °F</s>", "14.53 oz (avoirdupois)"]
    assert "14.53 oz_avdp" in kept(mine), "what is kept stays as it was typed"
