"""The search: the same script that the pages run, in V8, on the words of the real handbook; faults of its files."""

import csv
import json
import re

import pytest
from handbook_site.passages import sections_of
from py_mini_racer import MiniRacer
from support import ROOT

WORDS = ROOT / "docs" / "search-words.csv"
OURS = "house: '', words: ours.csv"


class Search:
    """The finder of a built site."""

    def __init__(self, site) -> None:
        self.engine = MiniRacer()
        self.engine.eval("var window = globalThis; window.HB = {};")
        self.engine.eval((site / "search" / "words.js").read_text(encoding="utf-8"))
        self.engine.eval("var finder = HB.finder(HB.found);")

    def first(self, question: str, count: int = 3) -> list[str]:
        """Return the first pages found."""
        return [hit["url"] for hit in self.ask(question)[:count]]

    def ask(self, question: str) -> list[dict]:
        """Return all that is found."""
        return json.loads(str(self.engine.eval(f"JSON.stringify(finder.ask({json.dumps(question)}))")))


@pytest.fixture(scope="module")
def search(real_site):
    return Search(real_site)


def test_what_readers_type_finds_the_page(search):
    missed = []
    with (ROOT / "tests" / "searched.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            pages = [f"{page}.html" for page in row["pages"].split()]
            if not set(pages) & set(search.first(row["question"])):
                missed.append(f"{row['question']}: {search.first(row['question'])}, wanted {row['pages']}")
    assert missed == []


@pytest.mark.long
def test_every_name_of_a_page_finds_it(search):
    """A name given to several pages finds each of them among the first."""
    missed = []
    for row in rows_of(WORDS):
        if row["finds"].endswith(".md"):
            page = re.sub(r"\.md$", ".html", row["finds"])
            if page not in search.first(row["typed"], 4):
                missed.append(f"{row['typed']}: {search.first(row['typed'], 4)}, wanted {page}")
    assert missed == []


@pytest.mark.long
def test_every_word_said_instead_stands_in_the_handbook(real_site, search):
    text = (real_site / "search" / "words.js").read_text(encoding="utf-8").rpartition('"instead"')[0].lower()
    missing = [
        f"{row['typed']}: {row['finds']}"
        for row in rows_of(WORDS)
        if not row["finds"].endswith(".md")
        and not any(re.search(rf"\b{re.escape(word)}", text) for word in row["finds"].lower().split())
    ]
    assert missing == []


def rows_of(path) -> list[dict]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("electrolysis", "Elektrolysis"),
        ("dehydrate", "dehidrate"),
        ("ferric chloride", "ferric cloride"),
        ("Widmanstatten", "Widmanstätten"),
        ("P400", "p 400"),
        ("hygrometer", "hygormeter"),
        ("neutralise", "NEUTRALIZE"),
    ],
)
def test_slips_accents_and_case_change_little(search, one, other):
    assert search.first(one, 1)[0] in search.first(other)


def test_a_word_still_being_typed_finds_what_begins_so(search):
    assert "procedures/dehydrate.html" in search.first("dehyd")
    assert search.ask("d") == search.ask("d")


def test_procedure_before_table_before_what_the_keeper_asks(search):
    found = search.first("silica gel", 90)
    assert found[0] == "procedures/store.html"
    assert found.index("tables/storage.html") < found.index("keeper/sources-and-checks.html")


@pytest.mark.parametrize(
    "question", ["", "   ", "?!", "é", "the of and", "<script>", "__proto__", "constructor", "a" * 5000]
)
def test_no_question_breaks_it(search, question):
    assert isinstance(search.ask(question), list)


def test_a_question_of_unknown_words_finds_nothing_rather_than_anything(search):
    assert search.ask("zzyzxq qqqqzz") == []


@pytest.mark.parametrize(
    ("question", "read"),
    [
        ("roten egs", "rotten eggs"),
        ("ferric cloride", "ferric chloride"),
        ("silica gel", ""),
        ("dehyd", ""),
        ("zzyzxq", ""),
    ],
)
def test_what_was_mended_in_a_question_is_told(search, question, read):
    assert str(search.engine.eval(f"finder.mended({json.dumps(question)})")) == read


@pytest.mark.parametrize(
    ("question", "page", "anchor"),
    [
        ("solvent vapour in a closed oven", "calculators/oven.html", "calc-oven-vapour"),
        (
            "how dry is each grade kept, when does the alarm sound",
            "tables/storage.html",
            "table-humidity-limits",
        ),
        ("acetic acid card", "cards/first-aid-others.html", "first-aid-others-acetic-acid-title"),
        ("read the potential", "procedures/electrolysis.html", "read-the-potential"),
    ],
)
def test_a_hit_leads_to_the_calculator_the_table_the_card_the_section(search, question, page, anchor):
    (hit,) = [one for one in search.ask(question) if one["url"] == page]
    assert hit["sections"][0]["anchor"] == anchor


def test_words_in_one_passage_count_for_more_than_the_same_words_far_apart(search):
    """A row of the table of troubles holds both; many pages hold both somewhere."""
    (hit,) = [one for one in search.ask("card and hygrometer differ") if "troubleshooting" in one["url"]]
    assert hit["sections"][0]["text"].startswith("Store Card and hygrometer differ")


PAGE = """<nav>No.</nav><article class="x"><h1 id="top">Rinse<a class="headerlink" href="#top">¶</a></h1>
<p>Water with H<sub>2</sub>O, and
enough of it to fill a whole line of this page.</p><h2 id="a">A<a class="headerlink" href="#a">¶</a></h2><ul>
<li>Short.</li><li>This one is long enough to stand for itself, with sixty letters and more.</li></ul>
<table><caption id="table-x-title">Times</caption><tr><td>the very first row of this table, quite long enough to be a passage all by itself</td>
<td>1.5</td></tr><tr><td>1.5</td><td>2.5 after it</td></tr></table><p>Behind the table, and of the section again.</p>
<math><mi>gone</mi></math></article>"""


def test_a_page_is_parted_into_sections_and_passages():
    assert sections_of(PAGE) == [
        ("", "", ["Water with H2O, and enough of it to fill a whole line of this page."]),
        (
            "a",
            "A",
            [
                "Short. This one is long enough to stand for itself, with sixty letters and more.",
                "Behind the table, and of the section again.",
            ],
        ),
        (
            "table-x",
            "Times",
            [
                "the very first row of this table, quite long enough to be a passage all by itself 1.5",
                "2.5 after it",
            ],
        ),
    ]
    once = sections_of("<article><p>Dry it and dry it again and again.</p></article>", once=True)
    assert once == [("", "", ["Dry it and dry again again."])]
    assert sections_of("") == [("", "", [])]


# The files of words


def small(site, words: str = "", **config) -> None:
    (site.folder / "docs" / "assets").mkdir()
    (site.folder / "docs" / "assets" / "search.js").write_text("", encoding="utf-8")
    site.page("rinse.md", "# Rinse\n\nWater.\n")
    if words:
        (site.folder / "ours.csv").write_text(words, encoding="utf-8")
        site.config(extra=f"{{handbook: {{{OURS}}}}}", plugins="[search]", **config)


@pytest.mark.long
def test_a_house_adds_its_own_words(site):
    small(site, "typed,finds\nswill,rinse.md\nH2O,water\n")
    result = site.build()
    assert result.returncode == 0, result.stderr
    found = json.loads((site.folder / "site/search/words.js").read_text("utf-8")[9:-2])
    (page,) = (page for page in found["pages"] if page["url"] == "rinse.html")
    assert page["called"] == ["swill"]
    assert found["instead"] == [["H2O", "water"]]
    index = (site.folder / "site/search/search_index.json").read_text("utf-8")
    assert "Water." in index  # for other tools; no page loads it
    assert 'name="search"' not in site.html("rinse.html")
    assert 'data-md-component="search"' not in site.html("404.html")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            "typed,finds\nswill,rinze.md\n",
            "ours.csv:2: there is no page 'rinze.md'; write its way from the folder docs",
        ),
        (
            "typed,finds\nin the eye,safty/\n",
            "ours.csv:2: there is no folder 'safty/' in the folder docs; write it as it stands there, with a slash",
        ),
        ("typed,finds\nin the eye,../\n", "ours.csv:2: there is no folder '../' in the folder docs"),
        ("swill,rinse.md\n", "ours.csv:1: begins with 'swill,rinse.md'; the first line is 'typed,finds'"),
        ("typed,finds\n\nswill\n", "ours.csv:3: 'swill' is not a pair"),
        ("typed,finds\nswill,\n", "ours.csv:2: 'swill,' is not a pair"),
        (
            "typed,finds\na,water\na,water\n",
            "ours.csv:3: 'a' for 'water' stands there twice; keep one of them",
        ),
        (f"typed,finds\na,{'b' * 200_000}\n", "ours.csv:2: is no row of a CSV file: field larger than"),
        ("typed,finds\n\na\x1b[2J,water\n", "ours.csv:3: holds the sign U+001B, which nobody sees"),
        ("typed,finds\na,../outside.md\n", "ours.csv:2: there is no page '../outside.md'"),
        (f"typed,finds\na,{'b' * 9000}.md\n", "ours.csv:2: there is no page 'bbb"),
        ("\n", "ours.csv:1: begins with ''; the first line is 'typed,finds'"),
        (b"typed,finds\n\xff,water\n".decode("latin-1"), None),
    ],
)
@pytest.mark.long
def test_a_fault_in_a_file_of_words_has_its_line(site, words, told):
    small(site, words)
    result = site.build()
    if told is None:
        assert result.returncode == 0, result.stderr
        return
    assert result.returncode != 0
    assert told in result.stderr
    assert "Traceback" not in result.stderr


def test_a_file_of_words_that_cannot_be_read_is_told(site):
    small(site, "typed,finds\n")
    (site.folder / "ours.csv").write_bytes(b"typed,finds\n\xff,water\n")
    assert "ours.csv:2: is not UTF-8 text" in site.build().stderr
    (site.folder / "ours.csv").unlink()
    assert "ours.csv:1: the file of search words cannot be read" in site.build().stderr


@pytest.mark.long
def test_a_site_without_this_search_keeps_the_themes(site):
    result = site.build()
    assert result.returncode == 0, result.stderr
    assert 'name="search"' in site.html("index.html")
    assert not (site.folder / "site/search/words.js").exists()
