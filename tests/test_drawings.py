"""The drawings: what may stand in one, what each says, and how one comes into a page."""

import re

import pytest
from support import ROOT

from handbook_calc.engine.directives import find
from handbook_calc.engine.drawings import LARGEST, Drawings
from handbook_calc.engine.render import PageFault, Renderer

FOLDER = ROOT / "docs" / "drawings"
NAMES = sorted(path.stem for path in FOLDER.glob("*.svg"))
# Letters, numbers of steps, and names that hold a digit; anything else is a quantity that nobody computed.
NO_QUANTITY = re.compile(r"\b(?:G[0-5]|H2|[1-9]|10)\b")

GOOD = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 340 100">'
    "<title>A bath</title><desc>A tub with water.</desc>"
    '<defs><marker id="tip" viewBox="0 0 8 8"><path d="M0 0L8 4" fill="currentColor"/></marker></defs>'
    '<path d="M0 0H9" fill="none" stroke="currentColor" marker-end="url(#tip)"/>'
    '<text class="stop" x="1" y="20">{{ value rinsing.bath }} &amp; more</text></svg>'
)


def read(folder, text, name="bath"):
    """Return what is read from a folder that holds one drawing."""
    (folder / f"{name}.svg").write_text(text, encoding="utf-8")
    return Drawings(folder, root=folder)


def test_every_drawing_of_the_handbook_keeps_the_rules():
    drawings = Drawings(FOLDER, root=ROOT)
    assert list(map(str, drawings.faults)) == []
    assert sorted(drawings.found) == NAMES
    assert len(NAMES) >= 29


@pytest.mark.parametrize("name", NAMES)
def test_a_drawing_says_what_it_shows_and_holds_no_typed_quantity(name):
    text = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    (title,) = re.findall(r"<title>(.+?)</title>", text, re.DOTALL)
    (told,) = re.findall(r"<desc>(.+?)</desc>", text, re.DOTALL)
    assert len(title) <= 75
    assert len(told.split()) >= 15, "a text alternative tells what is seen"
    words = re.sub(r"<[^>]+>|\{\{.*?\}\}", " ", text)
    assert not re.search(r"\d", NO_QUANTITY.sub(" ", words)), words
    assert len(text.encode()) < LARGEST


def test_of_two_drawings_of_one_name_the_later_folder_has_it(tmp_path):
    first, own = tmp_path / "first", tmp_path / "own"
    first.mkdir()
    own.mkdir()
    read(first, GOOD)
    read(first, GOOD, "tub")
    read(own, GOOD.replace("A bath", "A pan"))
    drawings = Drawings(first, own)
    assert {name: drawing.title for name, drawing in drawings.found.items()} == {
        "bath": "A pan",
        "tub": "A bath",
    }
    assert list(Drawings(first, first).found) == list(Drawings(first).found)


def test_a_drawing_comes_into_a_page_with_its_values_and_ids_of_its_own(tmp_path, house):
    renderer = Renderer(house, drawings=read(tmp_path, GOOD).found)
    (asked,) = find("{{ picture bath }}")
    html = renderer.html_of(asked)
    assert house.entries["rinsing.bath"].show() in html
    assert 'aria-labelledby="picture-bath-title picture-bath-desc"' in html
    assert '<title id="picture-bath-title">A bath</title>' in html
    assert 'id="picture-bath-tip"' in html
    assert "url(#picture-bath-tip)" in html
    assert "<span" not in html, "no such element stands in a drawing"
    assert "&amp; more" in html
    renderer.note(asked, "a.md")
    assert renderer.usage.value_pages["rinsing.bath"] == {"a.md": None}


@pytest.mark.parametrize(
    ("change", "to", "says"),
    [
        ("<path d", "<script>alert(1)</script><path d", "bath.svg:1: <script> is not allowed in a drawing"),
        ("<path d", '<image href="http://a.b/c.png"/><path d', "<image> is not allowed"),
        ("<path d", '<use href="#tip"/><path d', "<use> is not allowed"),
        ("<path d", "<style>path { fill: red }</style><path d", "<style> is not allowed"),
        ('d="M0 0H9"', 'd="M0 0H9" onclick="x()"', "onclick is not allowed in a drawing"),
        ('d="M0 0H9"', 'd="M0 0H9" style="fill:red"', "style is not allowed"),
        ('fill="none"', 'fill="#ff0000"', "fill '#ff0000' is a colour of its own"),
        ('stroke="currentColor"', 'stroke="black"', "stroke 'black' is a colour of its own"),
        ('"url(#tip)"', '"url(http://a.b/c.svg#tip)"', "leads out of the drawing"),
        ('"url(#tip)"', '"url(#top)"', "#top is not in this file"),
        ('<path d="M0 0H9"', '<path id="tip" d="M0 0H9"', "id 'tip' is given twice"),
        ('class="stop"', 'class="stop md-header"', "class 'stop md-header' is unknown"),
        ("<title>A bath</title>", "", "has no <title>"),
        ("<desc>A tub with water.</desc>", "", "has no <desc>"),
        ("A tub", "{{ value rinsing.bath }} A tub", "title and desc are read aloud as they stand"),
        ('x="1"', 'x="1" font-size="9"', "font-size 9 is too small for a phone; allowed is 12 or more"),
        ("340 100", "900 100", 'must begin with <svg viewBox="0 0 WIDTH HEIGHT">'),
        ("{{ value rinsing.bath }}", "{{ table rinse-baths }}", "only {{ value NAME }} can stand"),
        ("{{ value rinsing.bath }}", "{{ value }}", "'value' names nothing"),
        ("{{ value rinsing.bath }}", "{{ value rinsing.bath", "has braces that are no directive"),
        ("</svg>", "water</svg>", "'water' stands outside <text>"),
        ("</svg>", "", "cannot be read as XML"),
        ("<svg", '<!DOCTYPE svg [<!ENTITY a "b">]><svg', "a document type is not allowed"),
        ("<svg", '<?xml-stylesheet href="a.css"?><svg', "an instruction is not allowed"),
        ("A tub", "A tub " * 2000, f"allowed are at most {LARGEST}"),
    ],
)
def test_what_may_not_stand_in_a_drawing(tmp_path, change, to, says):
    assert change in GOOD
    drawings = read(tmp_path, GOOD.replace(change, to, 1))
    assert any(says in str(fault) for fault in drawings.faults), list(map(str, drawings.faults))
    assert not drawings.found


def test_a_fault_has_its_line(tmp_path):
    drawings = read(tmp_path, GOOD.replace("<path d", "\n\n<path fill='red' d"))
    assert str(drawings.faults[0]).startswith("bath.svg:3: ")


def test_an_unknown_drawing_is_told_with_the_nearest_name(tmp_path, house):
    renderer = Renderer(house, drawings=read(tmp_path, GOOD).found)
    with pytest.raises(PageFault, match="no picture 'bat'; did you mean 'bath'"):
        renderer.html_of(find("{{ picture bat }}")[0])
    with pytest.raises(PageFault, match="takes no arguments"):
        renderer.html_of(find('{{ picture bath width="3" }}')[0])


def test_a_value_that_a_drawing_asks_for_in_vain_stops_the_build(site):
    folder = site.folder / "docs" / "drawings"
    folder.mkdir()
    read(folder, GOOD.replace("rinsing.bath", "rinsing.bth"))
    site.page("p.md", "# P\n\n{{ picture bath }}\n")
    built = site.build()
    assert built.returncode == 1
    assert "docs/p.md:3: no house value or calculation 'rinsing.bth'; did you mean" in built.stderr


@pytest.mark.long
def test_pictures_in_a_small_site(site):
    folder = site.folder / "docs" / "drawings"
    folder.mkdir()
    read(folder, GOOD)
    site.page("p.md", "# P\n\n1.  Step\n\n    {{ picture bath }}\n\n2.  Next\n")
    built = site.build()
    assert built.returncode == 0, built.stderr
    html = site.html("p.html")
    assert re.search(r'<li>.*?<figure class="hb-picture" id="picture-bath"><svg.*?</figure>', html, re.DOTALL)
    assert "A tub with water." in (site.folder / "site" / "search" / "search_index.json").read_text("utf-8")
    site.page("p.md", "# P\n\n{{ picture bath }}\n\n{{ picture bath }}\n")
    built = site.build()
    assert "docs/p.md:5: picture 'bath' is on this page already, in line 3" in built.stderr
    read(folder, GOOD.replace('fill="none"', 'fill="red"'))
    built = site.build()
    assert "docs/drawings/bath.svg:1: fill 'red' is a colour of its own" in built.stderr
