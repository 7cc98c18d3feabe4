"""The chapters of the book: the text of each page in the order of the menu, without what only a site can do.

Kept from the finished pages, so that the book says what they say, of a draft too. What is written from them
is HTML of this project and Markdown, read here tag by tag; no other text is taken for a tag.
"""

import posixpath
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape, unescape

ARTICLE = re.compile(r"<article\b[^>]*>(.*)</article>", re.DOTALL)
TAG = re.compile(r"""<(/?)([A-Za-z][\w:-]*+)((?:[^<>"']++|"[^"]*+"|'[^']*+')*+)>""")
ATTRIBUTE = re.compile(r"""\s+([^\s"'<>/=]+)(?:\s*=\s*(?:"([^"]*)"|'([^']*)'|([^\s"'=<>`]+)))?""")
ID = re.compile(r'<([A-Za-z][\w:-]*+)[^<>]*?\sid="([^"]*+)"')
PLACE_IN_FILE = re.compile(r"url\(#([^)]+)\)")
ELSEWHERE = re.compile(r"(?:https?:|mailto:)", re.IGNORECASE)
TABLE = re.compile(r'<section class="hb-table" id="(table-[^"]+)"[^>]*>')
CAPTION = re.compile(r"<caption[^>]*>(.*?)</caption>", re.DOTALL)
CALCULATOR = re.compile(
    r'<details class="hb-calc" id="(?P<anchor>[^"]+)"><summary>(?P<head>.*?)</summary>'
    r'(?P<body><div [^>]*data-calculation="(?P<name>[^"]+)".*?)</details></div></details>',
    re.DOTALL,
)
GIVEN = re.compile(r'<span class="hb-calc-given"[^>]*>(.*?)</span>', re.DOTALL)
ANSWER = re.compile(r'<output class="hb-calc-short">(.*?)</output>', re.DOTALL)
TITLE = re.compile(r'<span class="hb-calc-title"[^>]*>(.*?)</span>', re.DOTALL)

# The rows of these tables fill a hundred sheets, and nobody reads them at the bench.
LOOKED_UP = ("tables/", "calculators/")
LEFT_TO_THE_SITE = ("outside-checks",)
# What makes a table stand as cards on a phone; in the book tables scroll, and each mark of a cell weighs.
AS_CARDS = re.compile(r'<table role="table" data-phone="cards".*?</table>', re.DOTALL)
MARK_OF_CARDS = re.compile(r' (?:role|data-phone|data-head)="[^"]*"')
# Plans follow each reading of one piece, and what a reader typed is on the device: neither is the handbook.
NO_CHAPTERS = "pieces/"
# Written on by hand, on sticky paper of its own size.
DECKS_LEFT_TO_THE_SITE = ("bottle-labels",)
ONLY_THERE = '<p class="hb-only-there">%s in the folder of pages only, on its page %s.</p>'

# Of a page that has scripts and files beside it; the book is alone.
LEFT_OUT = re.compile(
    r'<a class="headerlink"[^>]*>.*?</a>'
    r'|\s?<a href="[^"]*" download>[^<]*</a>\.?'
    r'|<ul class="hb-lines"[^>]*>.*?</ul>'
    r"|<script\b.*?</script\s*>|<style\b.*?</style\s*>|<!--.*?-->",
    re.DOTALL | re.IGNORECASE,
)
STAMP = re.compile(
    r'<p class="hb-edition"[^>]*>.*?(Sheet <span class="hb-code">[^<]*</span>\.)</p>', re.DOTALL
)
DESK = re.compile(r'<div id="hb-desk">.*?</div>', re.DOTALL)
SHEET_CHECK = re.compile(r'<div id="hb-sheet-check">.*?</div>\s*</div>', re.DOTALL)


@dataclass
class Chapter:
    """One page of the handbook as a chapter.

    Attributes:
        url: its address in the site.
        title: its name, as plain text.
        code: the code of its sheets.
        parts: the names of the parts of the menu that it stands in, outermost first.
        html: its text, with links as in the site.
        key: what its anchors in the book begin with.
        number: what the contents call it: a number, or a letter for what stands in the appendix.
        ids: its anchors, as in the site, with the tags that have them.
        moved: where what an anchor names stands instead.
    """

    url: str
    title: str
    code: str
    parts: tuple[str, ...]
    html: str
    key: str = ""
    number: str = ""
    ids: dict[str, str] = field(default_factory=dict)
    moved: dict[str, tuple["Chapter", str]] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Return number and title, as at the head of each sheet."""
        return f"{self.number} {self.title}"


@dataclass
class Entry:
    """One line of the index: what is looked up, and where it stands, with the best place first."""

    title: str
    places: list[tuple[Chapter, str]] = field(default_factory=list)


class Chapters:
    """The pages of one build, as they are finished."""

    def __init__(self, order: Iterable[str]) -> None:
        self._order = {url: place for place, url in enumerate(order)}
        self._kept: dict[str, Chapter] = {}

    def keep(self, output: str, page, code: str) -> None:
        """Keep the text of a finished page, if it is a chapter."""
        if page.url.startswith(NO_CHAPTERS):
            return
        article = ARTICLE.search(output)
        if article:
            parts = tuple(plain(section.title) for section in reversed(page.ancestors))
            title = plain(page.title or "")
            self._kept[page.url] = Chapter(page.url, title, code, parts, article[1])

    def finished(self) -> list[Chapter]:
        """Return the chapters in the order of the menu, numbered, without what only a site can do."""
        chapters = sorted(
            self._kept.values(), key=lambda c: (self._order.get(c.url, len(self._order)), c.url)
        )
        keys = keys_of([chapter.url for chapter in chapters])
        numbers = {"": 0, "keeper": 0}
        for chapter in chapters:
            group = "keeper" if chapter.url.startswith("keeper/") else ""
            numbers[group] += 1
            chapter.number = letters(numbers[group]) if group else str(numbers[group])
            chapter.key = keys[chapter.url]
            chapter.html = for_the_book(chapter)
        say_once(chapters)
        for chapter in chapters:
            chapter.ids = {unescape(name): tag.lower() for tag, name in ID.findall(chapter.html)}
        return chapters


def keys_of(urls: list[str]) -> dict[str, str]:
    """Return for each page what its anchors begin with: short where that is unmistakable."""
    long = {url: re.sub(r"[^a-z0-9]+", "-", url.lower().removesuffix(".html")).strip("-") for url in urls}
    short = {
        url: f"{url[0].lower()}-{long[url].partition('-')[2]}" if "/" in url else long[url] for url in urls
    }
    taken = list(short.values())
    keys = {url: short[url] if taken.count(short[url]) == 1 else long[url] for url in urls}
    seen: set[str] = set()
    for url, key in keys.items():
        while keys[url] in seen or not key:
            key = keys[url] = f"{key or 'page'}-2"
        seen.add(keys[url])
    return keys


def letters(number: int) -> str:
    """Return A, B, ... Z, AA, AB, ... for 1, 2, ..."""
    found = ""
    while number:
        number, rest = divmod(number - 1, 26)
        found = chr(ord("A") + rest) + found
    return found


def plain(html: str) -> str:
    """Return the words of a piece of HTML."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def for_the_book(chapter: Chapter) -> str:
    """Return a page's text without what needs files beside it; what is left to the site is told."""
    html = LEFT_OUT.sub("", chapter.html).strip()
    html = AS_CARDS.sub(lambda table: MARK_OF_CARDS.sub("", table[0]), html)
    there = escape(chapter.url)
    html = DESK.sub(lambda _: ONLY_THERE % ("This works", there), html)
    html = STAMP.sub(r'<p class="hb-edition">\1</p>', re.sub(r"\n[ \t]+", "\n", html))
    html = SHEET_CHECK.sub(lambda _: ONLY_THERE % ("A code can be tried", there), html)

    for name in LEFT_TO_THE_SITE:
        found = re.search(rf'<section class="hb-table" id="table-{name}"[^>]*>', html)
        if found:
            table = html[found.start() : end_of(html, found.start())]
            told = ONLY_THERE % (f"{_caption(table)}: {table.count('<tr') - 1} rows, which stand", there)
            html = html.replace(table, f"{found[0]}{told}</section>")
    for name in DECKS_LEFT_TO_THE_SITE:
        found = re.search(rf'<section class="[^"]*hb-cards[^"]*" id="deck-{name}"[^>]*>', html)
        if found:
            told = ONLY_THERE % ("They are printed", there)
            after = html[end_of(html, found.start()) :]
            html = f'{html[: found.start()]}<div id="deck-{name}">{told}</div>{after}'
    return html


def end_of(html: str, start: int) -> int:
    """Return where the section ends that begins at a place; sections stand in sections."""
    depth = 0
    for found in re.compile(r"<(/?)section\b").finditer(html, start):
        depth += -1 if found[1] else 1
        if not depth:
            return html.index(">", found.end()) + 1
    return len(html)


def _caption(table: str) -> str:
    found = CAPTION.search(table)
    return found[1] if found else ""


def say_once(chapters: list[Chapter]) -> None:
    """Let a chapter lead to what stands in another, and not repeat it.

    The site has each table and calculator where it is used and once more on the page of its stage. In a book
    both are at hand. A procedure has all its tables; any other chapter leads to one that stands in another. A
    calculator that starts from the same values as one before leads there, with its answer.
    """
    standing: dict[str, tuple[Chapter, str]] = {}
    # What is done, what is said of it, what is looked up: each leads back to those before.
    for chapter in sorted(chapters, key=lambda chapter: _rank(chapter.url)):
        if _rank(chapter.url):
            _say_tables_once(chapter, standing)
        for found in TABLE.finditer(chapter.html):
            standing.setdefault(found[1], (chapter, found[1]))
        _say_calculators_once(chapter, standing)


def _rank(url: str) -> int:
    return 0 if url.startswith("procedures/") else 2 if url.startswith(LOOKED_UP) else 1


def _say_tables_once(chapter: Chapter, standing: dict[str, tuple[Chapter, str]]) -> None:
    kept, at = [], 0
    for found in TABLE.finditer(chapter.html):
        if found[1] not in standing:
            continue
        end = end_of(chapter.html, found.start())
        title = _caption(chapter.html[found.start() : end])
        kept += [chapter.html[at : found.start()], _led(chapter, found[1], title, standing[found[1]])]
        at = end
    chapter.html = "".join([*kept, chapter.html[at:]])


def _say_calculators_once(chapter: Chapter, standing: dict[str, tuple[Chapter, str]]) -> None:
    """Lead to the calculators that stand already; where work is described, one of other values stands too."""
    anew = not chapter.url.startswith(LOOKED_UP)

    def led(found: re.Match) -> str:
        name = found["name"]
        if anew:
            name += found[0].replace(found["anchor"], "").partition('<details class="hb-working">')[0]
        to = standing.get(f"calc {name}")
        title = TITLE.search(found["head"])
        if to and title:
            return _led(chapter, found["anchor"], title[1], to, f": {escape(line_of(found))}" if anew else "")
        for key in (name, found["name"]):
            standing.setdefault(f"calc {key}", (chapter, found["anchor"]))
        return found[0]

    chapter.html = CALCULATOR.sub(led, chapter.html)


def line_of(calculator: re.Match) -> str:
    """Return what was given to a calculator, and its answer."""
    given, answer = GIVEN.search(calculator["head"]), ANSWER.search(calculator["head"])
    return f"{plain(given[1]) if given else ''} → {plain(answer[1]) if answer else ''}"


def _led(chapter: Chapter, anchor: str, title: str, to: tuple[Chapter, str], said: str = "") -> str:
    other, there = to
    chapter.moved[unescape(anchor)] = (other, unescape(there))
    address = posixpath.relpath(other.url, posixpath.dirname(chapter.url) or ".")
    return (
        f'<p class="hb-led" id="{anchor}">{title}{said}: in chapter {other.number}, '
        f'<a href="{escape(address)}#{there}">{escape(other.title)}</a>.</p>'
    )


def target_of(href: str, chapter: Chapter, chapters: dict[str, Chapter]) -> tuple[Chapter, str] | None:
    """Return the chapter and the anchor in it that a link of a page leads to; None outside the book."""
    address, _, anchor = unescape(href).partition("#")
    address = address.partition("?")[0]
    url = (
        posixpath.normpath(posixpath.join(posixpath.dirname(chapter.url), address))
        if address
        else chapter.url
    )
    found = chapters.get(url)
    if found is None:
        return None
    if anchor in found.moved:
        return found.moved[anchor]
    return found, anchor if anchor.partition("?")[0] in found.ids else ""


def index_of(chapters: list[Chapter], glossary: str) -> list[tuple[str, list[Entry]]]:
    """Return what the index lists, by kind, each in the order of the alphabet.

    Arguments:
        chapters: the whole book.
        glossary: the address of the page that explains the terms.
    """
    kinds = [
        ("Terms", terms_of(chapters, glossary)),
        ("Tables", _found(chapters, r'<caption id="(table-[^"]+)-title">(.*?)</caption>')),
        (
            "Pictures and plots",
            _found(
                chapters,
                r'<figure class="hb-(?:picture|plot)" id="([^"]+)">.*?<figcaption>(.*?)</figcaption>',
            ),
        ),
        (
            "Calculators",
            _found(chapters, r'<details class="hb-calc" id="([^"]+)"><summary><span [^>]*>(.*?)</span>'),
        ),
    ]
    return [
        (kind, sorted(entries, key=lambda e: (e.title.casefold(), e.title)))
        for kind, entries in kinds
        if entries
    ]


def _found(chapters: list[Chapter], pattern: str) -> list[Entry]:
    entries: dict[str, Entry] = {}
    for chapter in chapters:
        for anchor, title in re.findall(pattern, chapter.html, re.DOTALL):
            words = plain(title)
            places = entries.setdefault(words, Entry(words)).places
            if all(known is not chapter for known, _ in places):
                places.append((chapter, unescape(anchor)))
    return list(entries.values())


def terms_of(chapters: list[Chapter], glossary: str) -> list[Entry]:
    """Return each term of the glossary with the chapters that use it; gives the terms anchors there."""
    explained = next((chapter for chapter in chapters if chapter.url == glossary), None)
    if explained is None:
        return []
    entries: dict[str, Entry] = {}

    def with_anchor(found: re.Match) -> str:
        words = plain(found[1])
        anchor = "term-" + (re.sub(r"[^\w]+", "-", words.casefold()).strip("-") or str(len(entries)))
        while anchor in explained.ids:
            anchor += "-2"
        explained.ids[anchor] = "dt"
        entries[words] = Entry(words, [(explained, anchor)])
        return f'<dt id="{escape(anchor)}">{found[1]}</dt>'

    explained.html = re.sub(r"<dt>(.*?)</dt>", with_anchor, explained.html, flags=re.DOTALL)
    forms = {form: entry for words, entry in entries.items() for form in (words, f"{words}s")}
    forms |= {form[0].upper() + form[1:]: entry for form, entry in forms.items()}
    for chapter in chapters:
        for form in dict.fromkeys(re.findall(r"<abbr\b[^>]*>([^<]*)</abbr>", chapter.html)):
            entry = forms.get(unescape(form))
            if entry and all(place is not chapter for place, _ in entry.places):
                entry.places.append((chapter, ""))
    return list(entries.values())


def code_of(chapters: list[Chapter]) -> str:
    """Return the short code of the whole book: made of the codes of its chapters, so it changes with any."""
    from handbook_calc.editions import sheet_code

    return sheet_code("handbook", "", " ".join(f"{c.url} {c.code}" for c in chapters))
