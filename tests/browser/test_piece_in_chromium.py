"""The reader's own piece in Chromium, from ``file://``: typed once, answered for on every page, saved, forgotten, opened."""

from pathlib import Path

import pytest
from selenium.webdriver.common.by import By
from support import ROOT, changed_piece, run, waiting
from test_in_chromium import open_page

from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench

pytestmark = pytest.mark.usefixtures("browser")

MINE = {
    "piece-number": "MB-7",
    "piece-kind": "iron",
    "piece-shape": "end piece",
    "piece-mass": "2.3 kg",
    "piece-length": "140 mm",
    "piece-width": "90 mm",
    "piece-thickness": "60 mm",
    "piece-crack_depth": "25 mm (12 mm to 40 mm)",
    "piece-rusted_share": "20 %",
    "piece-beads": "no",
    "piece-crack_length": "40 mm",
    "piece-glued": "no",
    "piece-coated": "none",
    "piece-etched": "no",
    "piece-sulphide": "no",
    "wanted-start": "2026-12-01",
}
HOSTILE = {
    "a script": "piece:\n  number: <script>document.title = 'taken'</script>\n",
    "a tag": "piece: !!python/object:os.system\n  number: X-1\n",
    "an anchor": "piece: &a\n  number: X-1\nwanted: *a\n",
    "no lines": "<html><body>hello</body></html>\n",
    "another section": "house:\n  edition: 9\n",
    "a list": "- piece\n- wanted\n",
    "a wrong unit": "piece:\n  number: X-1\n  kind: iron\n  mass: 3 km\n",
}


def press(browser, text):
    """Press the button of the panel that begins with a text."""
    for button in browser.find_elements(By.CSS_SELECTOR, ".hb-piece-panel button"):
        if button.text.startswith(text):
            button.click()
            return
    raise AssertionError(f"no button {text}")


def open_panel(browser):
    browser.execute_script("document.querySelector('.hb-piece').click()")
    waiting(browser, 20).until(lambda b: b.find_elements(By.CSS_SELECTOR, ".hb-piece-panel h2"))


def ready(browser):
    """Wait until the page answers for the piece that is chosen."""
    waiting(browser, 30).until(
        lambda b: b.execute_script("return document.documentElement.dataset.ownPiece === 'ready'")
    )


def type_facts(browser, facts):
    for name, text in facts.items():
        browser.execute_script(
            "const c = document.getElementById('hb-piece-' + arguments[0]); c.value = arguments[1];"
            "c.dispatchEvent(new Event('input', {bubbles: true}));",
            name,
            text,
        )


def type_mine(browser, site, facts=MINE, page="procedures/electrolysis.html"):
    open_page(browser, site, page)
    open_panel(browser)
    press(browser, "Type a new piece")
    type_facts(browser, facts)
    press(browser, "Keep it")


def shown(browser, asked):
    """Return the figures of the page that were asked for by a directive."""
    nodes = browser.find_elements(By.CSS_SELECTOR, f".hb-value[data-why^='{asked}']")
    return [node.get_property("textContent") for node in nodes]


def kept(browser):
    return browser.execute_script("return Object.fromEntries(HB.pieces())")


@pytest.fixture
def mine(browser, site):
    """A reader has typed a piece."""
    type_mine(browser, site)
    ready(browser)
    return browser


@pytest.mark.long
def test_every_page_answers_for_the_piece_after_a_reload_and_from_another_page(mine, site, tmp_path):
    text = kept(mine)["MB-7"]
    path = tmp_path / "MB-7.yml"
    path.write_text(text, encoding="utf-8")
    standard = house_module.load(piece=path, root=tmp_path, asking=True)
    bench = Bench(standard)
    volume = bench.answer("piece-volume", mass=bench.value("piece.mass"))
    assert volume.show() in shown(mine, "value piece-volume")
    time_of = bench.answer(
        "extraction-time", fraction=95.0, depth=bench.value("piece.crack_depth")
    ).show("time")  # fmt: skip

    open_page(mine, site, "calculators/chloride.html")
    ready(mine)
    box = mine.find_element(By.ID, "calc-extraction-time")
    short = box.find_element(By.CSS_SELECTOR, ".hb-calc-short")
    waiting(mine, 20).until(lambda _: "(" in short.get_property("textContent"))
    assert short.get_property("textContent") == time_of
    # Readings of the example are nobody's here.
    ledger = mine.find_element(By.ID, "calc-chloride-ledger")
    assert ledger.find_element(By.CSS_SELECTOR, ".hb-calc-short").get_property("textContent") == "–"

    open_page(mine, site, "tables/specimen.html")
    ready(mine)
    cell = mine.execute_script("return document.querySelector('#table-slab-areas tbody td').textContent")
    area = bench.answer("slab-area", length=30.0, width=20.0, thickness=60.0).results["area"]
    assert float(cell) == pytest.approx(area, rel=0.01)
    aside = mine.find_element(By.CSS_SELECTOR, "#table-flatten-losses .hb-own-note")
    assert "cannot make them anew for MB-7" in aside.text
    assert not mine.execute_script("return document.querySelector('#table-flatten-losses details').open")

    mine.refresh()
    ready(mine)
    assert "MB-7" in mine.find_element(By.CSS_SELECTOR, ".hb-piece").get_property("textContent")


def test_the_plan_in_the_page_is_the_plan_of_the_command(mine, site, tmp_path):
    path = tmp_path / "MB-7.yml"
    path.write_text(kept(mine)["MB-7"], encoding="utf-8")
    open_page(mine, site, "pieces/own.html")
    waiting(mine, 60).until(
        lambda b: b.execute_script("return document.getElementById('hb-own-plan').dataset.sure")
    )
    told = mine.find_element(By.CSS_SELECTOR, "#hb-own-plan .hb-plan").text.replace("\u00a0", " ")
    printed = run(["python", "-m", "handbook_calc", "plan", str(path)], ROOT).stdout.replace("\u00a0", " ")
    head = printed.splitlines()[1].partition(" from the first")[0]
    assert f"from the first step to the last {head}" in told
    for line in printed.splitlines():
        if line.startswith("   ") and ": " in line and "hold:" not in line and "first read" not in line:
            name, _, amount = line.strip().partition(": ")
            assert amount in told, (name, amount)


@pytest.mark.long
def test_a_piece_is_saved_forgotten_and_opened_again_the_same(mine, site, tmp_path):
    mine.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(tmp_path)})
    before = kept(mine)
    figures = shown(mine, "value")
    open_panel(mine)
    press(mine, "Save MB-7.yml")
    file = tmp_path / "MB-7.yml"
    waiting(mine, 20).until(lambda _: file.exists())
    assert file.read_text(encoding="utf-8") == before["MB-7"]
    press(mine, "Forget MB-7")
    assert kept(mine) == before, "one touch forgets nothing"
    press(mine, "Really forget")
    waiting(mine, 20).until(lambda b: not b.execute_script("return HB.pieceName()"))
    assert kept(mine) == {}
    assert "LY-014" in mine.find_element(By.CSS_SELECTOR, ".hb-example").text
    open_file(mine, file)
    ready(mine)
    assert kept(mine) == before
    assert shown(mine, "value") == figures


def open_file(browser, path: Path):
    open_panel(browser)
    browser.find_element(By.ID, "hb-piece-file").send_keys(str(path))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
@pytest.mark.long
def test_a_hostile_file_is_refused_whole_and_nothing_is_lost(mine, site, tmp_path, text):
    before = kept(mine)
    file = tmp_path / "hostile.yml"
    file.write_text(text, encoding="utf-8")
    open_file(mine, file)
    told = mine.find_element(By.CSS_SELECTOR, ".hb-piece-told")
    waiting(mine, 20).until(lambda _: told.text)
    assert "refused whole" in told.text
    assert "line " in told.text
    assert kept(mine) == before
    assert mine.title.startswith("Electrolysis")
    assert not mine.find_elements(By.CSS_SELECTOR, ".hb-piece-panel script")


@pytest.mark.long
def test_a_huge_file_and_one_that_is_no_text_are_refused(mine, tmp_path):
    before = kept(mine)
    for name, content in (("huge.yml", b"# x\n" * 30_000), ("bytes.yml", b"\xff\xfe\x00piece:")):
        (tmp_path / name).write_bytes(content)
        open_file(mine, tmp_path / name)
        told = mine.find_element(By.CSS_SELECTOR, ".hb-piece-told")
        waiting(mine, 20).until(lambda _, told=told: "Nothing was changed" in told.text)
        press(mine, "Close")
    assert kept(mine) == before


@pytest.mark.long
def test_what_is_wrong_is_told_at_its_field_and_nothing_is_kept(browser, site):
    type_mine(browser, site, {**MINE, "piece-mass": "3 km", "wanted-hours": "40 h"})
    told = browser.find_element(By.ID, "hb-piece-piece-mass-error")
    waiting(browser, 20).until(lambda _: told.text)
    assert "kg" in told.text or "g" in told.text
    assert browser.find_element(By.ID, "hb-piece-wanted-hours-error").text
    assert kept(browser) == {}


def test_a_typed_mass_never_meets_the_examples_readings(browser, site):
    open_page(browser, site, "calculators/chloride.html")
    browser.execute_script(
        "return (async () => { const box = document.getElementById('calc-chloride-ledger'); box.open = true;"
        "await HB.withCalculator(box); const mass = box.querySelector('[data-argument=piece_mass]'); mass.value = '2300';"
        "mass.dispatchEvent(new Event('input', {bubbles: true})); })()"
    )
    said = browser.find_element(By.CSS_SELECTOR, "#calc-chloride-ledger .hb-said")
    assert "are still the example's" in said.get_property("textContent")


def test_without_a_piece_the_example_is_named_on_every_page_that_follows_one(browser, site):
    for page in sorted(path.relative_to(site).as_posix() for path in site.rglob("*.html")):
        text = (site / page).read_text(encoding="utf-8")
        if "hb-of-piece" in text or "hb-of-example" in text:
            assert 'class="hb-example"' in text, page


@pytest.mark.long
def test_a_browser_that_keeps_nothing_gives_the_file(browser, site, tmp_path):
    browser.execute_cdp_cmd(
        "Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(tmp_path)}
    )
    open_page(browser, site, "index.html")
    browser.execute_script("HB.store.set = () => false")
    open_panel(browser)
    press(browser, "Type a new piece")
    type_facts(browser, MINE)
    press(browser, "Keep it")
    waiting(browser, 20).until(lambda _: (tmp_path / "MB-7.yml").exists())
    assert "keeps nothing" in browser.find_element(By.CSS_SELECTOR, ".hb-piece-told").text


@pytest.mark.long
def test_the_example_itself_typed_as_a_piece_gives_the_examples_own_figures(browser, site, tmp_path):
    open_page(browser, site, "procedures/electrolysis.html")
    example = shown(browser, "value")
    file = changed_piece(tmp_path, {"piece.number": "LY-014"})
    open_file(browser, file)
    ready(browser)
    assert shown(browser, "value") == example


@pytest.mark.long
def test_a_renamed_piece_keeps_its_log_or_nothing_is_changed_where_the_store_is_full(mine, site):
    before = kept(mine)
    mine.execute_script("HB.store.set('log/MB-7', 'x'.repeat(400000));")
    # The length of what still goes in is halved until the store takes nothing more.
    mine.execute_script(
        "for (let n = 1 << 20, i = 0; n > 500; i++)"
        " try { localStorage.setItem('fill' + i, 'z'.repeat(n)) } catch { n = Math.floor(n / 2) }"
    )
    open_panel(mine)
    press(mine, "Change MB-7")
    type_facts(mine, {"piece-number": "MB-8"})
    press(mine, "Keep it")
    assert "what was kept before stands" in mine.find_element(By.CSS_SELECTOR, ".hb-piece-told").text
    open_page(mine, site, "index.html")
    assert kept(mine) == before
    assert mine.execute_script("return [HB.store.get('log/MB-7').length, HB.hasLog('MB-8')]") == [
        400000,
        False,
    ]


@pytest.mark.long
def test_a_piece_changed_in_another_window_is_not_overwritten(mine):
    open_panel(mine)
    press(mine, "Change MB-7")
    type_facts(mine, {"piece-mass": "2.4 kg"})
    mine.execute_script(
        "const all = HB.pieces(); all.set('MB-7', all.get('MB-7').replace('2.3 kg', '2.2 kg')); HB.keepPieces(all)"
    )
    press(mine, "Keep it")
    assert (
        "was changed or forgotten in another window"
        in mine.find_element(By.CSS_SELECTOR, ".hb-piece-told").text
    )
    assert "2.2 kg" in kept(mine)["MB-7"]


@pytest.mark.long
def test_a_mended_file_takes_the_place_of_a_piece_whose_log_stays(mine, site, tmp_path):
    mine.execute_script("HB.store.set('log/MB-7', 'kept')")
    path = tmp_path / "MB-7.yml"
    path.write_text(kept(mine)["MB-7"].replace("2.3 kg", "2.2 km"), encoding="utf-8")
    open_panel(mine)
    told = lambda: mine.find_element(By.CSS_SELECTOR, ".hb-piece-told").text  # noqa: E731
    wait = waiting(mine, 10)
    mine.find_element(By.ID, "hb-piece-file").send_keys(str(path))
    wait.until(lambda _: "refused whole" in told())
    path.write_text(kept(mine)["MB-7"].replace("2.3 kg", "2.2 kg"), encoding="utf-8")
    mine.find_element(By.ID, "hb-piece-file").send_keys(str(path))
    wait.until(lambda _: "there is a piece MB-7 already" in told())
    press(mine, "Put this in the place of MB-7")
    wait.until(lambda b: "2.2 kg" in b.execute_script("return HB.pieces().get('MB-7')"))
    assert mine.execute_script("return HB.store.get('log/MB-7')") == "kept"


@pytest.mark.long
def test_however_many_pieces_are_typed_none_is_lost(browser, site):
    open_page(browser, site, "index.html")
    browser.execute_script(
        "HB.keepPieces(new Map(Array.from({length: 300}, (_, i) => [`MB-${i}`, 'piece:'])))"
    )
    assert len(kept(browser)) == 300


@pytest.mark.long
def test_a_number_of_any_length_fits_the_panel_of_a_phone(browser, site):
    open_page(browser, site, "index.html", width=360)
    browser.execute_script("HB.keepPieces(new Map([['x'.repeat(120), 'piece:']]))")
    open_panel(browser)
    wide = "const p = document.querySelector('.hb-piece-panel'); return p.scrollWidth - p.clientWidth"
    assert browser.execute_script(wide) <= 1


OF_EXAMPLE = """return Object.fromEntries([...document.querySelectorAll('.hb-example-figure')].map(
    mark => [mark.closest('.hb-bench').dataset.calculation + ' '
        + mark.closest('.hb-field').querySelector('[data-argument]').dataset.argument, !mark.hidden]))"""


def control_of(browser, calculation, argument):
    return browser.find_element(By.CSS_SELECTOR, f"#calc-{calculation} [data-argument={argument}]")


def test_a_rinse_starts_from_what_the_piece_itself_carries(mine, site):
    open_page(mine, site, "calculators/rinsing.html")
    ready(mine)
    carried = mine.execute_script(
        "return HB.calculatorOf(document.getElementById('calc-drag-out')) && HB.compute("
        "HB.calculatorOf(document.getElementById('calc-drag-out'))).results.volume"
    )
    assert carried > 5, "which is twice what the example carries"
    for calculation in ("rinse-residue", "rinse-baths"):
        text = control_of(mine, calculation, "drag_out").get_property("value")
        assert float(text.split(" (")[0]) == pytest.approx(carried, rel=1e-3)
    # How far its crack gapes nobody has told; a bath and its water are no figures of a piece.
    assert mine.execute_script(OF_EXAMPLE) == {"crack-exchange width": True}
    said = mine.find_element(By.CSS_SELECTOR, "#calc-drag-out .hb-of-chosen").get_property("textContent")
    assert said.startswith("Filled in of MB-7: piece.area (")
    houses = mine.find_element(By.CSS_SELECTOR, "#calc-drag-out .hb-working").get_property("textContent")
    assert "piece.area" not in houses.replace(said, "")


def test_a_figure_that_only_the_piece_could_tell_is_called_the_examples_until_it_is_typed(mine, site):
    open_page(mine, site, "calculators/abrasives.html")
    ready(mine)
    marks = mine.execute_script(OF_EXAMPLE)
    rate = {f"removal-rate {name}": True for name in ("mass_before", "mass_after", "area", "time")}
    assert marks == {**rate, "stock-loss area": True}
    line = """const box = document.getElementById('calc-removal-rate'); HB.inPrint(box);
        return box.querySelector('.hb-calc-given').textContent"""
    assert "mass before 186 g (the example's)" in mine.execute_script(line)
    mine.execute_script("document.getElementById('calc-removal-rate').open = true")
    control = control_of(mine, "removal-rate", "mass_before")
    control.clear()
    control.send_keys("2300.2")
    assert mine.execute_script(OF_EXAMPLE)["removal-rate mass_before"] is False
    shut = "return getComputedStyle(document.querySelector(`#calc-${arguments[0]} .hb-calc-title`), '::after').content"
    assert "figures of the example" in mine.execute_script(shut, "removal-rate")
    assert mine.execute_script(shut, "sanded-slice") == "none"
    assert "mass before 2300.2 g, mass after 185.4 g (the example's)" in mine.execute_script(line)
    control.clear()
    control.send_keys("186")  # the very figure of the example, and typed
    assert mine.execute_script(OF_EXAMPLE)["removal-rate mass_before"] is False


def test_what_was_typed_of_a_piece_outlasts_a_press_on_close_until_it_is_thrown_away(browser, site):
    open_page(browser, site, "procedures/electrolysis.html")
    open_panel(browser)
    press(browser, "Type a new piece")
    type_facts(browser, {"piece-number": "IR-7", "piece-mass": "412 g"})
    press(browser, "Close")
    browser.refresh()
    open_panel(browser)
    panel = browser.find_element(By.CSS_SELECTOR, ".hb-piece-panel")
    assert "What you typed of a new piece is still here, and not kept yet." in panel.text
    press(browser, "Go on typing")
    field = browser.find_element(By.ID, "hb-piece-piece-mass")
    assert field.get_property("value") == "412 g"
    press(browser, "Throw away what was typed")
    assert field.get_property("value") == "412 g", "once is not enough with wet gloves"
    press(browser, "Really throw it away?")
    assert browser.find_element(By.ID, "hb-piece-piece-mass").get_property("value") == "unknown"
    press(browser, "Back to the list")
    assert "not kept yet" not in panel.text
    assert kept(browser) == {}
    # And once a piece is kept, nothing of it is a draft any more.
    press(browser, "Type a new piece")
    type_facts(browser, MINE)
    press(browser, "Keep it")
    ready(browser)
    open_panel(browser)
    assert "not kept yet" not in browser.find_element(By.CSS_SELECTOR, ".hb-piece-panel").text


def test_the_buttons_of_the_panel_stand_apart(browser, site):
    open_page(browser, site, "procedures/electrolysis.html", width=360)
    open_panel(browser)
    button, label = browser.execute_script(
        """const box = document.querySelector('.hb-piece-tools');
        return [box.querySelector('button'), box.querySelector('label')].map(
            one => {const {left, right, top, bottom} = one.getBoundingClientRect(); return [left, right, top, bottom]})"""
    )
    assert label[0] - button[1] >= 8 or label[2] - button[3] >= 8


def test_the_panel_tells_what_is_allowed_in_us_units(browser, site):
    open_page(browser, site, "procedures/electrolysis.html")
    browser.execute_script("HB.store.set('units', 'us')")
    browser.refresh()
    waiting(browser, 20).until(lambda b: b.execute_script("return Boolean(window.HB && HB.faultInUS)"))
    try:
        open_panel(browser)
        press(browser, "Type a new piece")
        type_facts(browser, {**MINE, "piece-length": "400 in", "piece-crack_depth": "unknown"})
        helps = browser.find_element(By.ID, "hb-piece-piece-crack_depth-help").text
        assert helps.startswith("Taken: 0.394 in (0.0787 in to 1.97 in)"), helps
        press(browser, "Keep it")
        error = browser.find_element(By.ID, "hb-piece-piece-length-error").text
        assert error.startswith("400 in is out of range; allowed is 0.197 to 39.3 in"), error
        assert "mm" not in browser.find_element(By.CSS_SELECTOR, ".hb-piece-told").text
    finally:
        browser.execute_script("HB.store.set('units', 'metric')")
