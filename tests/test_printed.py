"""Printed copies: what each sheet's code tells, which sheets must be taken down, and what a draft says."""

import json
import re

import pytest
from py_mini_racer import MiniRacer
from support import ROOT
from test_editions import Bench, bench, later, recorded, told  # noqa: F401 - fixtures

from handbook_calc import editions, printed
from handbook_calc.editions import CODE_LENGTH, SIGNS, Line, Record, sheet_code
from handbook_calc.printed import AGAIN, DOWN, HOLDS, LATER, Copy

CODE = re.compile(rf"[{SIGNS}]{{3}}-[{SIGNS}]{{3}}")


def test_a_code_is_of_the_page_the_edition_and_the_content():
    code = sheet_code("a.md", "1 (ab)", "x")
    assert CODE.fullmatch(code)
    others = [
        sheet_code("b.md", "1 (ab)", "x"),
        sheet_code("a.md", "2 (ab)", "x"),
        sheet_code("a.md", "1 (ab)", "y"),
    ]
    assert len({code, *others}) == 4
    assert sheet_code("a.md", "1 (ab)", "x") == code
    assert not set(SIGNS) & set("01ILO")  # signs that are taken for each other in a bad print


def test_codes_hardly_ever_meet():
    """Ten years of four editions of a hundred pages: by chance 0.009 of a pair shares a code (birthday problem)."""
    codes = [sheet_code(f"{page}.md", str(edition), "x") for page in range(100) for edition in range(40)]
    assert len(codes) - len(set(codes)) <= 1
    assert len(SIGNS) ** CODE_LENGTH > 8e8


def test_every_page_has_a_code_that_follows_what_it_shows(later):  # noqa: F811
    before = {line.name: line for line in later.record("2026.1").of_kind("sheet")}
    later.set(drying__safety_share="20 %")
    now = {line.name: line for line in later.state().of_kind("sheet")}
    assert len({line.text for line in now.values()}) == len(now)
    assert before["oven.md"].source != now["oven.md"].source
    assert before["sand.md"].source == now["sand.md"].source
    assert before["sand.md"].text != now["sand.md"].text  # it is of another edition
    path = later.docs / "sand.md"
    path.write_text(path.read_text("utf-8") + "\nMore.\n", "utf-8")
    reworded = {line.name: line for line in later.state().of_kind("sheet")}["sand.md"]
    assert reworded.source.split()[1] == now["sand.md"].source.split()[1]
    assert reworded.source.split()[0] != now["sand.md"].source.split()[0]


# --- the register ------------------------------------------------------------------------------


@pytest.mark.long
def test_a_keepers_round_from_print_to_reprint(bench, capsys):  # noqa: F811
    assert told(capsys, "record", "2026.1")[0] == 0
    for sheet, place in (("oven", "on the oven"), ("sand.md", "at the wheel"), ("oven", "in the folder")):
        assert told(capsys, "sheets", "--printed", sheet, "--place", place)[0] == 0
    register = (bench.docs / "editions" / "printed.csv").read_text("utf-8")
    assert register.splitlines() == [
        "sheet,copy,place,edition",
        "oven,1,on the oven,2026.1",
        "oven,2,in the folder,2026.1",
        "sand,1,at the wheel,2026.1",
    ]
    assert "holds: 3" in told(capsys, "sheets")[1]

    bench.set(drying__safety_share="20 %", house__status="draft")
    out = told(capsys, "sheets")[1]
    assert "holds until this draft is approved: 2" in out
    status, _, err = told(capsys, "sheets", "--printed", "oven", "--place", "x")
    assert status == 2
    assert "is a draft, not for the bench: print it when it is approved" in err

    bench.raised()
    bench.set(house__status="approved")
    out = told(capsys, "sheets")[1]
    assert "print again, and take the old one down: 2\n  oven, copy 1, on the oven: other values since" in out
    assert "holds: 1\n  sand, copy 1, at the wheel: nothing on it has changed since" in out
    assert told(capsys, "record", "2027.1")[0] == 0
    assert told(capsys, "sheets", "--printed", "oven", "--place", "on the oven")[0] == 0
    assert told(capsys, "sheets", "--taken-down", "oven", "2")[0] == 0
    status, out, _ = told(capsys, "sheets", "--json")
    assert [(r["sheet"], r["copy"], r["edition"], r["do"]) for r in json.loads(out)] == [
        ("oven", 1, "2027.1", HOLDS),
        ("sand", 1, "2026.1", HOLDS),
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("sheet,copy\n", "printed.csv:1: does not begin with the columns sheet,copy,place,edition"),
        ("", "printed.csv:1: does not begin"),
        ("sheet,copy,place,edition\noven,x,here,1\n", "printed.csv:2: copy x is no number from 1 to 9999"),
        ("sheet,copy,place,edition\noven,1,here\n", "printed.csv:2: has 3 entries"),
        ("sheet,copy,place,edition\noven,1,,1\n", "printed.csv:2: sheet, place and edition must be written"),
        (
            "sheet,copy,place,edition\noven,1,a,1\n\noven,1,b,1\n",
            "printed.csv:4: copy 1 of oven is there twice",
        ),
        (f"sheet,copy,place,edition\noven,{'9' * 5000},a,1\n", "printed.csv:2: copy 9999"),
        ("sheet,copy,place,edition\noven,\u0663,a,1\n", "printed.csv:2: copy \u0663 is no number"),
        ("sheet,copy,place,edition\noven,1,\x1b[2Ja,1\n", "printed.csv:2: holds the sign U+001B"),
        (f"sheet,copy,place,edition\noven,1,{'x' * 200_000},1\n", "printed.csv:2: is no row of a CSV file"),
        ('sheet,copy,place,edition\noven,1,"x,1\noven,2,y,1\n', "printed.csv:2: is no row of a CSV file"),
        ("sheet;copy;place;edition\n", "printed.csv:1: does not begin with the columns"),
    ],
)
@pytest.mark.long
def test_a_slip_in_the_register_is_one_clear_line(bench, capsys, text, says):  # noqa: F811
    (bench.docs / "editions").mkdir()
    (bench.docs / "editions" / "printed.csv").write_text(text, "utf-8")
    status, out, err = told(capsys, "sheets")
    assert (status, out) == (2, "")
    assert says in err
    assert len(err.splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--printed", "ovn", "--place", "x"), "no sheet 'ovn'; did you mean 'oven'?"),
        (("--printed", "oven"), "a copy needs a place"),
        (("--place", "x"), "name the sheet with --printed SHEET"),
        (("--taken-down", "oven", "3"), "no copy 3 of 'oven'; registered are: none"),
    ],
)
@pytest.mark.long
def test_what_cannot_be_entered_is_told(bench, capsys, arguments, says):  # noqa: F811
    status, _, err = told(capsys, "sheets", *arguments)
    assert status == 2
    assert says in err
    assert not printed.path_of(bench.docs).exists()


def record(edition: str, status: str, *sheets: Line) -> Record:
    return Record(edition, "ab", f"2026-01-0{edition}", status, "0.1.0", "Bench", sheets)


def sheet(name: str, content: str) -> Line:
    return Line(f"sheet {name}.md", f"{name}.md", "AAA-AAA", unit=name, source=content)


@pytest.mark.parametrize(
    ("copy", "status", "word", "why"),
    [
        (("same", "1"), "approved", HOLDS, "nothing on it has changed since"),
        (("other", "1"), "approved", AGAIN, "other values since edition 1"),
        (("other", "1"), "draft", LATER, "other values since edition 1"),
        (("words", "1"), "approved", AGAIN, "other words since edition 1"),
        (("gone", "1"), "approved", DOWN, "the handbook has no such page any more"),
        (("same", "0"), "approved", AGAIN, "edition 0 is not recorded: nobody can tell what differs"),
        (("same", "2"), "approved", DOWN, "edition 2 was recorded as a draft, not for the bench"),
        (("same", "3"), "approved", HOLDS, "of this edition"),
        (("same", "3"), "draft", DOWN, "of a draft, not for the bench"),
    ],
)
def test_what_is_to_be_done_with_a_copy(copy, status, word, why):
    known = [
        record(
            "1",
            "approved",
            sheet("same", "1 1"),
            sheet("other", "1 1"),
            sheet("words", "1 1"),
            sheet("gone", "1 1"),
        ),
        record("2", "draft", sheet("same", "1 1")),
    ]
    now = record("3", status, sheet("same", "1 1"), sheet("other", "1 2"), sheet("words", "2 1"))
    (ruling,) = printed.rulings([Copy(copy[0], 1, "there", copy[1])], known, now, 0.05)
    assert (ruling.word, ruling.why) == (word, why)


# --- in the site -------------------------------------------------------------------------------


@pytest.fixture
def checked(site):
    """A small site with the page of codes, at its second edition; yields it with the codes of the first."""
    site.page("oven.md", "# Oven\n\nAt {{ value drying.oven_temperature }}.\n\n{{ table oven-solvent }}\n")
    site.page("sand.md", "# Sand\n\nTo {{ value abrasives.finish }}.\n")
    site.page("keeper/house-standard.md", "# House standard\n\n{{ table house-values }}\n")
    site.page("keeper/sources-and-checks.md", "# Sources\n\n{{ table sources }}\n")
    for name in ("what-changed", "printed-copies"):
        site.page(f"keeper/{name}.md", (ROOT / "docs" / "keeper" / f"{name}.md").read_text("utf-8"))
    assert site.build("build").returncode == 0
    codes = {name: code_of(site, f"{name}.html") for name in ("oven", "sand")}
    state = Bench.__new__(Bench)
    state.folder, state.docs = site.folder, site.folder / "docs"
    editions.save(state.state(), state.docs)
    state.raised()
    state.set(drying__oven_temperature="90 degC")
    return site, codes, state


def code_of(site, name: str) -> str:
    found = re.search(r'hb-code">([^<]*)<', site.html(name))
    assert found
    assert f' data-code="{found[1]}"' in site.html(name)
    return found[1]


DOM = """
var window = this, node = function () {
  return { textContent: "", className: "", children: [], value: "", disabled: true,
    appendChild: function (c) { this.children.push(c); }, addEventListener: function (n, f) { this.heard = f; } };
};
var field = node(), told = node();
var document = {
  getElementById: function (id) { return id === "hb-sheet-code" ? field : told; },
  createElement: node,
};
function said(code) {
  told.children = []; field.value = code; field.heard();
  var texts = [];
  (function walk(n) { if (n.textContent) texts.push(n.textContent); n.children.forEach(walk); })({ children: told.children });
  return texts.join(" | ");
}
"""


def said_by(site):
    machine = MiniRacer()
    machine.eval(DOM)
    machine.eval((site.folder / "site" / "assets" / "sheets-data.js").read_text("utf-8"))
    machine.eval((ROOT / "docs" / "assets" / "sheets.js").read_text("utf-8"))
    return lambda code: str(machine.eval(f"said({json.dumps(code)})"))


@pytest.mark.long
def test_the_code_of_a_printed_sheet_tells_whether_it_is_current_and_what_differs(checked):
    site, codes, _ = checked
    built = site.build("build")
    assert built.returncode == 0, built.stderr
    said = said_by(site)
    old = said(codes["oven"].lower().replace("-", " "))
    assert old.startswith("Oven, edition 2026.1 (")
    assert "Take it down and print it again: other values now." in old
    assert "value drying.oven_temperature: was 80 °C, is 90 °C (+10 °C)" in old
    assert "sand" not in old
    assert "It still holds: nothing on it has changed since." in said(codes["sand"])
    assert "It is current." in said(code_of(site, "oven.html"))
    assert said("222-222").startswith("Take it down: no recorded edition has a sheet of this code.")
    assert said("22") == "A code has six signs, as at the foot of each sheet."
    assert said("") == ""
    assert code_of(site, "oven.html") in site.html("keeper/printed-copies.html")


@pytest.mark.long
def test_a_draft_says_so_on_every_page_and_every_printed_sheet(checked):
    site, codes, bench_of_site = checked
    bench_of_site.set(house__status="draft", approval__checked_on="none")
    assert site.build("build").returncode == 0
    for page in ("index.html", "oven.html", "sand.html", "keeper/printed-copies.html"):
        html = site.html(page)
        assert html.count('<p class="hb-draft" role="note">Draft, not for the bench</p>') == 1
        assert (
            "It was proposed 2026-11-09 by the keeper of the standard, checked not yet by the second" in html
        )
        assert 'media="print"' in html
    styles = (site.folder / "site" / "assets" / "sheets.css").read_text("utf-8")
    assert '@top-center { content: "Draft, not for the bench"' in styles
    said = said_by(site)
    assert "It holds until the draft of edition 2027.1 (" in said(codes["oven"])
    assert "Take it down: a draft, not for the bench." in said(code_of(site, "oven.html"))


@pytest.mark.long
def test_an_approved_edition_says_by_whom_and_no_word_of_a_draft(checked):
    site, _, _ = checked
    assert site.build("build").returncode == 0
    html = site.html("oven.html")
    assert "hb-draft" not in html
    assert "approved 2027-11-25 by the head of the bench." in html
    styles = (site.folder / "site" / "assets" / "sheets.css").read_text("utf-8")
    assert "top-center" not in styles
    assert f'content: "{code_of(site, "oven.html")}"' in styles


@pytest.mark.long
def test_what_changed_under_a_recorded_name_is_published_as_a_draft(checked):
    site, _, bench_of_site = checked
    bench_of_site.set(house__edition="2026.1", house__date="2026-11-25")
    assert site.build("build").returncode == 0
    assert "Draft, not for the bench: changed since its edition was recorded" in site.html("sand.html")


@pytest.mark.long
def test_changed_cells_are_marked_with_a_word_and_what_changed_is_a_page(checked):
    site, _, _ = checked
    assert site.build("build").returncode == 0
    number = r"<span>[\d.]+</span>"  # millilitres, which no unit of the reader's replaces
    marked = f'<td class="n">{number} <span class="hb-was">was {number}</span></td>'
    assert re.search(marked, site.html("oven.html"))
    changed = site.html("keeper/what-changed.html")
    assert "from edition 2026.1 (" in changed.lower()
    assert "drying.oven_temperature" in changed
    assert "the same" in changed
    assert not list((site.folder / "site").rglob("2026.1.csv"))


@pytest.mark.long
def test_a_harmed_record_stops_the_build_with_its_line(checked):
    site, _, bench_of_site = checked
    editions.path_of(bench_of_site.docs, "2026.1").write_text("record,1\n", "utf-8")
    built = site.build("build")
    assert built.returncode != 0
    assert "docs/editions/2026.1.csv:1: is no record of an edition" in built.stderr
    assert "Traceback" not in built.stderr
