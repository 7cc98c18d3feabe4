"""The book: the whole handbook in one file that asks for no other.

A folder of pages does not open from a message or a stick on a phone; one file does. Each page is a chapter,
its anchors begin with its key, and links between pages lead there. A script shows one chapter at a time, for
a browser takes long over all of them; without it they stand one below the other. On paper each chapter has
sheets of its own name, because margin boxes take no words from the page.
"""

import base64
import hashlib
import mimetypes
import posixpath
import re
from collections import Counter
from dataclasses import dataclass
from html import escape, unescape
from pathlib import Path

from mkdocs.exceptions import PluginError

from handbook_site import chapters as parts
from handbook_site.assets import US, lean, lean_styles
from handbook_site.chapters import ATTRIBUTE, ELSEWHERE, PLACE_IN_FILE, Chapter, Chapters, code_of, target_of
from handbook_site.glossary import PAGE as GLOSSARY
from handbook_site.overlay import found_in
from handbook_site.pages import approval
from handbook_site.preparation import serve_log
from handbook_site.sheets import quoted

NAME = "handbook.html"
STYLES, SCRIPT = "assets/book.css", "assets/book.js"
LOOK = ("assets/handbook.css", "assets/look.css")
# The book is one file: what a page would load later stands in it, before what would ask for it.
BEFORE_US, AFTER_US = ("assets/bench/store.js", "assets/bench/dom.js"), ("assets/handbook.js",)
HOUSE_VALUE = re.compile(r'class="hb-(?:value|fact)\b')
WHY = re.compile(
    r'\s(?:title|data-why)="[^"]*"'
)  # which house value a figure is: the site tells, and tells why
UPRIGHT = re.compile(
    r'<mi mathvariant="normal"( data-n="[^"]*")?>(?=[^<&]{2})'
)  # of several letters it is anyway
USUAL = re.compile(
    r'\s(?:type="text"|autocomplete="off")'
)  # the one is so anyway, the other the script brings
MENU = re.compile(r'(?P<start><select [^>]*data-argument="[^>]*>)(?P<options>.*?)</select>')
MARK = "assets/mark.svg"
GLOSSARY_PAGE = GLOSSARY.removesuffix(".md") + ".html"
LINKS = (
    'The whole handbook in one file, for a phone or a stick: <a href="%(root)shandbook.html">the book</a>'
    ', or for reading devices <a href="%(root)shandbook.epub">as EPUB</a>.'
)
MOST = 4_000_000  # bytes, which a phone takes from a message and opens without waiting

# Shown before the rest is read: no flash of the other colours, and no chapter that vanishes again.
FIRST = (
    'document.documentElement.classList.add("js");'
    'document.documentElement.dataset.mdColorScheme=matchMedia("(prefers-color-scheme: dark)").matches'
    '?"slate":"default";'
)
RULES = (
    "default-src 'none'",
    "img-src data:",
    "base-uri 'none'",
    "form-action 'none'",
)
REGISTERS = ("house-", "source-", "calculation-")  # anchors of rows; no chapter's key begins so
# What a link or the page's address may name; any other anchor is the book's own affair, and may be short.
NAMED = {
    "h1",
    "h2",
    "h3",
    "h4",
    "h5",
    "h6",
    "section",
    "figure",
    "details",
    "div",
    "dt",
    "li",
    "p",
    "tr",
    "table",
}
LISTS = {"aria-labelledby", "aria-describedby", "aria-controls", "headers", "for", "list"}
DROPPED = {"data-why", "srcset", "poster", "download", "style"}
WITH_ATTRIBUTES = re.compile(r"""</a\s*>|<([A-Za-z][\w:-]*+)(\s(?:[^<>"']++|"[^"]*+"|'[^']*+')*+)>""")
TO_REWRITE = re.compile(r"\s(?:id|href|src|for|list|headers|aria-[cdl]|data-why|srcset|poster|style)|url\(#")


@dataclass(frozen=True)
class Cover:
    """What the first sheet says of the house and the edition.

    Attributes:
        title: the name of the handbook.
        about: what it is, in a sentence.
        house: the name of the bench.
        edition: the edition, with the mark of what it holds.
        state: by whom and when it was approved, or what is told of a draft.
        draft: what every sheet of a draft says; empty for an approved edition.
        date: the day of the edition, or an empty text.
        mark: the mark as SVG.
    """

    title: str
    about: str
    house: str
    edition: str
    state: str
    draft: str
    date: str
    mark: str


def wanted(config) -> bool:
    """Tell whether the site has a book: it has the book's own files, and mkdocs.yml does not refuse it."""
    settings = config.extra.get("handbook") or {}
    chosen = settings.get("book", True) if isinstance(settings, dict) else True
    if not isinstance(chosen, bool):
        raise PluginError(
            f"mkdocs.yml: extra: handbook: book: '{chosen}' is not understood; write true or false"
        )
    return chosen and all(found_in(config, name).is_file() for name in (STYLES, SCRIPT))


def alone(chapters: list[Chapter]) -> set[str]:
    """Return the anchors that need no chapter before them: thousands of links lead to the registers."""
    counted = Counter(name for chapter in chapters for name in chapter.ids if name.startswith(REGISTERS))
    return {name for name, count in counted.items() if count == 1}


class Book:
    """Writes the book of one build.

    Attributes:
        site: the folder of the finished site, where pictures and scripts are taken from.
        chapters: the pages, in order.
        cover: what stands on the first sheet.
        glossary: the address of the page of terms.
    """

    def __init__(self, site: Path, chapters: list[Chapter], cover: Cover, glossary: str) -> None:
        self.site, self.chapters, self.cover = site, chapters, cover
        self.by_url = {chapter.url: chapter for chapter in chapters}
        self.index = parts.index_of(chapters, glossary)
        self._short = 0
        self._alone = alone(chapters)
        self._pictures: dict[str, str] = {}

    def html(self, styles: str, scripts: list[str]) -> str:
        """Return the book.

        Arguments:
            styles: the style sheets of the pages and of the book.
            scripts: the texts of the scripts, in order.
        """
        body = [self._cover(), self._contents()]
        for place, chapter in enumerate(self.chapters):
            body.append(self._chapter(chapter, place))
        body.append(self._index())
        styles = without_comments(styles) + self.sheets()
        scripts = [in_script(text) for text in scripts]
        policy = "; ".join(
            (
                *RULES,
                f"style-src {_digest(styles)}",
                " ".join(("script-src", *map(_digest, (FIRST, *scripts)))),
            )
        )
        title = f"{self.cover.title} · {self.cover.house} · edition {self.cover.edition}"
        return (
            '<!doctype html>\n<html lang="en" class="bk" data-md-color-scheme="default"><head>'
            '<meta charset="utf-8">'
            f'<meta http-equiv="Content-Security-Policy" content="{escape(policy, quote=False)}">'
            '<meta name="viewport" content="width=device-width,initial-scale=1">'
            '<meta name="robots" content="noindex">'
            f"<title>{escape(title)}</title>"
            f'<link rel="icon" href="{_data("image/svg+xml", self.cover.mark.encode())}">'
            f"<style>{styles}</style><script>{FIRST}</script></head>"
            f'<body class="bk-body">{self._bar()}<main>\n'
            + "\n".join(body)
            + "\n</main>"
            + "".join(f"<script>{text}</script>" for text in scripts)
            + "</body></html>\n"
        )

    def _bar(self) -> str:
        return (
            '<header class="bk-bar md-header"><nav class="md-header__inner" aria-label="Book">'
            '<a class="bk-to" href="#bk-contents">Contents</a><a class="bk-to" href="#bk-index">Index</a>'
            '<span class="bk-here" aria-hidden="true"></span></nav></header>'
        )

    def _cover(self) -> str:
        cover = self.cover
        stopped = ' class="hb-draft"' if cover.draft else ""
        size = self.sheet_count()
        return (
            '<section class="pg bk-cover md-typeset" id="bk-cover" tabindex="-1" aria-labelledby="bk-title">'
            f'<div class="bk-mark" aria-hidden="true">{cover.mark.replace("#f7f4ed", "currentColor")}</div>'
            f'<h1 id="bk-title">{escape(cover.title)}</h1><p class="bk-about">{escape(cover.about)}</p>'
            f'<p class="bk-house" data-house="{escape(cover.house)}">{escape(cover.house)}</p>'
            f'<p class="bk-edition">Edition {escape(cover.edition)}</p>'
            f"<p{stopped}>{escape(cover.state[:1].upper() + cover.state[1:])}</p>"
            f'<p>Code of the whole book <span class="hb-code">{code_of(self.chapters)}</span>: '
            "two books of the same code say the same. Whether a printed chapter still holds is told by the "
            "code at the foot of its own sheets.</p>"
            '<p class="bk-open"><a class="md-button" href="#bk-contents">Contents</a> '
            '<a class="md-button" href="#bk-index">Index</a></p>'
            '<p class="bk-paper">It is one file, and needs no other and no network. Printed from this '
            f"page or from the contents it is the whole book, about {size} sheets of A4; printed from a "
            "chapter, that chapter alone.</p>"
            "<noscript><p>Scripts are off: all chapters stand below each other, the calculators "
            "show the answers for the values of the house and cannot be changed.</p></noscript></section>"
        )

    def sheet_count(self) -> int:
        """Return about how many sheets of A4 the book takes, for readers who think of printing it."""
        words = sum(len(_printed_words(chapter.html)) for chapter in self.chapters)
        return max(round(words / SIGNS_A_SHEET / 10) * 10, 10)

    def _contents(self) -> str:
        listed, open_parts = [], ()
        for chapter in self.chapters:
            shared = 0
            while (
                shared < min(len(open_parts), len(chapter.parts))
                and open_parts[shared] == chapter.parts[shared]
            ):
                shared += 1
            if chapter.parts != open_parts:
                listed.append("</ol>" if listed else "")
                listed += [
                    f"<h{2 + depth}>{escape(chapter.parts[depth])}</h{2 + depth}>"
                    for depth in range(shared, len(chapter.parts))
                ]
                if shared == len(chapter.parts):
                    listed.append(
                        f"<h2>{escape(chapter.parts[-1])}, further</h2>" if chapter.parts else "<h2>More</h2>"
                    )
                listed.append('<ol class="bk-list">')
                open_parts = chapter.parts
            elif not listed:
                listed.append('<ol class="bk-list">')
            listed.append(
                f'<li><span class="bk-number">{chapter.number}</span> '
                f'<a href="#{chapter.key}">{escape(chapter.title)}</a></li>'
            )
        listed.append(
            '</ol><ol class="bk-list"><li><span class="bk-number"></span> '
            '<a href="#bk-index">Index</a></li></ol>'
        )
        return (
            '<section class="pg bk-contents md-typeset" id="bk-contents" tabindex="-1"'
            ' aria-labelledby="bk-contents-title">'
            '<h1 id="bk-contents-title">Contents</h1><div class="bk-find" role="search"></div>'
            '<p class="bk-on-paper">The number of a chapter stands at the head of each of its sheets.</p>'
            f"{''.join(listed)}</section>"
        )

    def _chapter(self, chapter: Chapter, place: int) -> str:
        text = self.rewritten(chapter)
        kind = "" if chapter.number.isdigit() else " bk-appendix"
        turn = [
            (self.chapters[place - 1] if place else None, "‹ %s", "prev"),
            (self.chapters[place + 1] if place + 1 < len(self.chapters) else None, "%s ›", "next"),
        ]
        links = "".join(
            f'<a rel="{rel}" href="#{other.key}">{escape(form % other.name)}</a>'
            for other, form, rel in turn
            if other
        )
        return (
            f'<article class="pg md-typeset bk-sheet-{chapter.key}{kind}" id="{chapter.key}" tabindex="-1" '
            f'data-number="{chapter.number}">{text}'
            f'<nav class="bk-turn" aria-label="From {escape(chapter.name)}">{links}</nav></article>'
        )

    def _index(self) -> str:
        kinds = []
        for number, (kind, entries) in enumerate(self.index):
            listed = []
            for entry in entries:
                (chapter, anchor), *others = entry.places
                more = ", ".join(
                    f'<a href="#{self.place(other, at)}" title="{escape(other.title)}">{other.number}</a>'
                    for other, at in sorted(others, key=lambda place: self.chapters.index(place[0]))
                )
                listed.append(
                    f'<li><a href="#{self.place(chapter, anchor)}">{escape(entry.title)}</a> '
                    f'<span class="bk-where">{chapter.number}{", " + more if more else ""}</span></li>'
                )
            kinds.append(
                f'<h2 id="bk-index-{number}">{kind}</h2><ul class="bk-entries">{"".join(listed)}</ul>'
            )
        return (
            '<section class="pg bk-index md-typeset" id="bk-index" tabindex="-1"'
            ' aria-labelledby="bk-index-title"><h1 id="bk-index-title">Index</h1>'
            "<p>The numbers are those of the chapters. The first is where a term is explained, or where a "
            f"table stands first.</p>{''.join(kinds)}</section>"
        )

    def place(self, chapter: Chapter, anchor: str) -> str:
        """Return the anchor in the book of an anchor in a chapter, for an attribute."""
        if anchor in self._alone:
            return escape(anchor)
        return escape(f"{chapter.key}--{anchor}" if anchor else chapter.key)

    def rewritten(self, chapter: Chapter) -> str:
        """Return a chapter's text with the book's anchors, and with its pictures inside."""
        short: dict[str, str] = {}
        dead = False  # inside a link that leads out of the book to a file of the site

        def anchor(name: str) -> str:
            name = unescape(name)
            if name not in short:
                if chapter.ids.get(name) in NAMED:
                    short[name] = self.place(chapter, name)
                else:
                    self._short += 1
                    short[name] = f"i{_base36(self._short)}"
            return short[name]

        def tag(found: re.Match) -> str:
            nonlocal dead
            name, text = found.groups()
            if name is None:
                ended, dead = dead, False
                return "</span>" if ended else found[0]
            if not TO_REWRITE.search(text):
                return found[0]

            if name == "input":
                text = USUAL.sub("", text)
            if " title=" in text and HOUSE_VALUE.search(text):
                text = WHY.sub("", text)

            def attribute(one: re.Match) -> str:
                nonlocal dead
                key = one[1].lower()
                value = one[2] if one[2] is not None else one[3] if one[3] is not None else one[4]
                if key in DROPPED:
                    return ""
                if value is None:
                    return one[0]
                if key == "id":
                    value = anchor(value)
                elif key in LISTS:
                    value = " ".join(anchor(part) for part in value.split())
                elif key in ("href", "xlink:href"):
                    to = self._address(value, chapter, anchor)
                    if to is None:
                        dead = name == "a"
                        return ""
                    value = to
                elif key == "src":
                    value = self.picture(value, chapter)
                    if not value:
                        return ""
                elif "url(#" in value:
                    value = PLACE_IN_FILE.sub(lambda place: f"url(#{anchor(place[1])})", value)
                return f' {one[1]}="{value.replace(chr(34), "&quot;")}"'

            attributes = ATTRIBUTE.sub(attribute, text)
            return f"<{'span' if dead and name == 'a' else name}{attributes}>"

        html = UPRIGHT.sub(r"<mi\1>", WITH_ATTRIBUTES.sub(tag, chapter.html))
        return MENU.sub(_chosen_only, html)

    def _address(self, href: str, chapter: Chapter, anchor) -> str | None:
        if ELSEWHERE.match(href):
            return href
        found = target_of(href, chapter, self.by_url)
        if found is None:
            return None
        other, name = found
        if other is chapter and name:
            return f"#{anchor(name)}"
        return f"#{self.place(other, name)}"

    def picture(self, source: str, chapter: Chapter) -> str:
        """Return a picture as an address that holds it; an empty text where there is none."""
        if source.startswith("data:"):
            return source
        path = posixpath.normpath(
            posixpath.join(posixpath.dirname(chapter.url), unescape(source).partition("?")[0])
        )
        kind = mimetypes.guess_type(path)[0] or ""
        file = self.site / path
        if path.startswith("..") or not kind.startswith("image/") or not file.is_file():
            return ""
        if path not in self._pictures:
            self._pictures[path] = _data(kind, file.read_bytes())
        return self._pictures[path]

    def sheets(self) -> str:
        """Return the styles of the sheets: house and edition on each; number, title and code by chapter."""
        rules = [PAPER % {"house": quoted(f"{self.cover.house} · edition {self.cover.edition}")}]
        if self.cover.draft:
            rules.append(DRAFT % {"told": quoted(self.cover.draft)})
        heads = [(chapter.key, chapter.name, chapter.code) for chapter in self.chapters]
        heads += [("bk-contents", "Contents", ""), ("bk-index", "Index", "")]
        for key, head, code in heads:
            chosen = f"#{key}" if key.startswith("bk-") else f".bk-sheet-{key}"
            rules.append(
                f'{chosen}{{page:bk-{key}}}@page bk-{key}{{@top-left{{content:"{quoted(head)}"}}'
                f'@bottom-center{{content:"{quoted(code)}"}}}}\n'
            )
        return "".join(rules)


# What a sheet holds of text, tables and room between them: measured, and held by the test that prints.
SIGNS_A_SHEET = 3400

PAPER = """@page {
  size: A4;
  margin: 15mm 12mm 14mm;
  font: 8pt sans-serif;
  @top-right { content: "%(house)s"; }
  @bottom-right { content: counter(page) " of " counter(pages); }
}
"""
DRAFT = """@page {
  @top-center { content: "%(told)s"; font: bold 10pt sans-serif; color: #9c1010; }
}
"""


def write(config, kept: Chapters, renderer) -> None:
    """Write the book into the finished site.

    Arguments:
        config: of the build, whose folder of the site is complete.
        kept: the finished pages.
        renderer: knows the house and the state of its edition.
    """
    from handbook_site import epub  # only a site with a book needs what it brings

    site = Path(config.site_dir)
    book = Book(site, kept.finished(), cover_of(config, renderer), GLOSSARY_PAGE)
    styles = "".join(_text(found_in(config, name)) for name in (*LOOK, STYLES))
    first, last = ([_text(found_in(config, name)) for name in names] for names in (BEFORE_US, AFTER_US))
    scripts = [*first, _text(site / US), *last]
    scripts += [_text(site / name) for name in _calculator_scripts(book.chapters)]
    content = book.html(styles, [*filter(None, scripts), _text(found_in(config, SCRIPT))]).encode()
    (site / NAME).write_bytes(content)
    (site / epub.NAME).write_bytes(epub.epub(book, _text(found_in(config, epub.STYLES))))
    if len(content) > MOST:
        serve_log.warning(
            f"{NAME} is {len(content) / 1e6:.1f} MB, more than the {MOST / 1e6:.0f} MB that a phone opens "
            "well: make pictures smaller, or leave the book out with extra: handbook: book: false"
        )


def cover_of(config, renderer) -> Cover:
    """Return what the first sheet says, from the house standard and the state of its edition."""
    house = renderer.house
    draft = renderer.past.draft if renderer.past else ""
    return Cover(
        title=config.site_name,
        about=config.site_description or "",
        house=house["house.name"],
        edition=house.edition,
        state=approval(house, draft),
        draft=draft,
        date=house["house.date"] or "",
        mark=_text(found_in(config, MARK)),
    )


def linked(output: str, page) -> str:
    """Return a page with the way to the book: at its foot, and on the first page above."""
    root = "../" * page.url.count("/")
    told = LINKS % {"root": root}
    output = output.replace("</article>", f'<p class="hb-edition hb-book">{told}</p></article>', 1)
    if page.is_homepage:
        output = re.sub(
            r"(<article\b.*?</h1>)", lambda f: f"{f[1]}<p>{told}</p>", output, count=1, flags=re.DOTALL
        )
    return output


def _calculator_scripts(chapters: list[Chapter]) -> list[str]:
    from handbook_calc.engine.forms import BEGIN, WITH_WHOLE

    calculators = any('<details class="hb-calc"' in chapter.html for chapter in chapters)
    return [f"assets/{name}" for name in (*WITH_WHOLE, BEGIN)] if calculators else []


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.is_file() else ""


def without_comments(styles: str) -> str:
    """Return a stylesheet without its comments and indents."""
    return lean_styles(styles).replace("</", "<\\/")


def in_script(text: str) -> str:
    """Return a script as it may stand inside a page: what would end it there is written otherwise."""
    return lean(text).replace("</", "<\\/").replace("<!--", "<\\!--")


def _chosen_only(menu: re.Match) -> str:
    """Return a menu with what is chosen alone; its script brings the rest, which without it is of no use."""
    options = menu["options"]
    if options.count("<option") < 4:
        return menu[0]
    chosen = re.search(r"<option selected>[^<]*</option>", options)
    empty = "<option></option>" if options.startswith("<option></option>") else ""
    return f"{menu['start']}{empty}{chosen[0] if chosen else ''}</select>"


def _printed_words(html: str) -> str:
    """Return the words of a chapter that stand on paper: of a calculator, its first line."""
    return re.sub(r"<[^>]+>", " ", parts.CALCULATOR.sub(lambda found: found["head"], html))


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _data(kind: str, content: bytes) -> str:
    return f"data:{kind};base64,{base64.b64encode(content).decode()}"


def _base36(number: int) -> str:
    found = ""
    while number:
        number, rest = divmod(number, 36)
        found = "0123456789abcdefghijklmnopqrstuvwxyz"[rest] + found
    return found
