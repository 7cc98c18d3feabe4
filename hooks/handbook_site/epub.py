"""The handbook for reading devices: an EPUB 3 of the same chapters as the book.

Written with `zipfile` after the open standard (W3C, EPUB 3.3), for it is a zip of XHTML and two lists. No
script runs in it, so a calculator is a worked example: its question, what was given, the answer. The same
pages give the same bytes.
"""

import io
import re
import uuid
import zipfile
from html import escape, unescape
from xml.sax.saxutils import quoteattr

from handbook_site.chapters import (
    ATTRIBUTE,
    CALCULATOR,
    ELSEWHERE,
    TAG,
    TITLE,
    Chapter,
    code_of,
    line_of,
    target_of,
)

NAME = "handbook.epub"
STYLES = "assets/reading-copy.css"
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
# Of use to a page's scripts and to nothing else.
LEFT_OUT = re.compile(
    r"data-|aria-live$|on|style$|tabindex$|inputmode$|autocomplete$|srcset$|poster$|download$|open$|rel$|target$|align$"
)
CONTROLS = {
    "input",
    "select",
    "option",
    "button",
    "label",
    "fieldset",
    "legend",
    "output",
    "noscript",
    "iframe",
    "form",
}
NAMESPACES = {
    "svg": ' xmlns="http://www.w3.org/2000/svg"',
    "math": ' xmlns="http://www.w3.org/1998/Math/MathML"',
}
NOT_XML = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
JUMP = re.compile(r'<p class="hb-jump">.*?</p>', re.DOTALL)
ANSWERS = re.compile(r'<div class="hb-answer[^"]*"[^>]*>(.*?)</div><details class="hb-working">', re.DOTALL)
THE_FIRST_DAY = (1980, 1, 1, 0, 0, 0)  # that a zip can say
FILES = "book"

CONTAINER = (
    '<?xml version="1.0" encoding="utf-8"?>\n'
    '<container version="1.0" xmlns="urn:oasis:names:tc:opendocument:xmlns:container"><rootfiles>'
    f'<rootfile full-path="{FILES}/package.opf" media-type="application/oebps-package+xml"/>'
    "</rootfiles></container>\n"
)
PAGE = (
    '<?xml version="1.0" encoding="utf-8"?>\n<!DOCTYPE html>\n'
    '<html xmlns="http://www.w3.org/1999/xhtml" xmlns:epub="http://www.idpf.org/2007/ops"'
    ' lang="en" xml:lang="en">'
    '<head><meta charset="utf-8"/><title>%(title)s</title><link rel="stylesheet" href="style.css"/></head>'
    "<body>%(body)s</body></html>\n"
)


def epub(book, styles: str) -> bytes:
    """Return the EPUB of a book.

    Arguments:
        book: the chapters, the cover and the index; see `handbook_site.book`.
        styles: its stylesheet.
    """
    chapters, cover = book.chapters, book.cover
    names = {chapter.url: f"{chapter.key}.xhtml" for chapter in chapters}
    files: dict[str, str] = {
        "bk-cover.xhtml": _page(cover.title, _cover(cover, chapters)),
        "bk-contents.xhtml": _page("Contents", _contents(chapters, names)),
    }
    drawn: set[str] = set()
    for chapter in chapters:
        body = Text(chapter, book, names).xhtml()
        if "<svg" in body:
            drawn.add(names[chapter.url])
        files[names[chapter.url]] = _page(chapter.name, f'<section id="top">{body}</section>')
    files["bk-index.xhtml"] = _page("Index", _index(book, names))
    files["style.css"] = styles
    files["mark.svg"] = cover.mark.replace("#f7f4ed", "#2b343b")
    whole = {
        "META-INF/container.xml": CONTAINER,
        f"{FILES}/package.opf": _package(cover, files, drawn),
        **{f"{FILES}/{name}": text for name, text in files.items()},
    }
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as pack:
        # First and as it is, so that a reader knows the file by its first bytes.
        pack.writestr(_entry("mimetype", zipfile.ZIP_STORED), "application/epub+zip")
        for name, text in whole.items():
            pack.writestr(_entry(name, zipfile.ZIP_DEFLATED), text.encode())
    return packed.getvalue()


def _entry(name: str, kind: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, THE_FIRST_DAY)
    entry.compress_type = kind
    entry.external_attr = 0o644 << 16
    return entry


def _page(title: str, body: str) -> str:
    return NOT_XML.sub("\ufffd", PAGE % {"title": escape(title), "body": body})


def _package(cover, files: dict[str, str], drawn: set[str]) -> str:
    kinds = {"xhtml": "application/xhtml+xml", "css": "text/css", "svg": "image/svg+xml"}
    items, spine = [], []
    for number, name in enumerate(files):
        says = (
            ["nav"]
            if name == "bk-contents.xhtml"
            else ["svg"]
            if name in drawn or name == "bk-cover.xhtml"
            else []
        )
        says += ["cover-image"] if name == "mark.svg" else []
        properties = f' properties="{" ".join(says)}"' if says else ""
        kind = kinds[name.rpartition(".")[2]]
        items.append(f'<item id="f{number}" href="{name}" media-type="{kind}"{properties}/>')
        if kind == kinds["xhtml"]:
            spine.append(f'<itemref idref="f{number}"/>')
    identity = uuid.uuid5(uuid.NAMESPACE_URL, f"{cover.title}\n{cover.house}\n{cover.edition}")
    day = cover.date if re.fullmatch(r"\d{4}-\d{2}-\d{2}", cover.date) else "1980-01-01"
    title = f"{cover.title}, {cover.house}, edition {cover.edition}" + (
        f" ({cover.draft})" if cover.draft else ""
    )
    return NOT_XML.sub(
        "\ufffd",
        '<?xml version="1.0" encoding="utf-8"?>\n'
        '<package xmlns="http://www.idpf.org/2007/opf" version="3.0" unique-identifier="id" xml:lang="en">'
        '<metadata xmlns:dc="http://purl.org/dc/elements/1.1/">'
        f'<dc:identifier id="id">urn:uuid:{identity}</dc:identifier><dc:title>{escape(title)}</dc:title>'
        f"<dc:language>en</dc:language><dc:creator>{escape(cover.house)}</dc:creator>"
        f'<meta property="dcterms:modified">{day}T00:00:00Z</meta></metadata>'
        f"<manifest>{''.join(items)}</manifest><spine>{''.join(spine)}</spine></package>\n",
    )


def _cover(cover, chapters: list[Chapter]) -> str:
    stopped = ' class="hb-draft"' if cover.draft else ""
    mark = cover.mark.replace("#f7f4ed", "currentColor")
    return (
        f"<h1>{escape(cover.title)}</h1>{mark}<p>{escape(cover.about)}</p>"
        f"<p><strong>{escape(cover.house)}</strong></p><p>Edition {escape(cover.edition)}</p>"
        f"<p{stopped}>{escape(cover.state[:1].upper() + cover.state[1:])}</p>"
        f"<p>Code of the whole book {code_of(chapters)}.</p>"
        "<p>A copy to read. The calculators stand here as worked examples, for the values of the house; in "
        "the pages and in the book of one file they compute.</p>"
    )


def _contents(chapters: list[Chapter], names: dict[str, str]) -> str:
    """Return the contents: the list that a reading device shows, nested as the menu is."""
    lines = ['<nav epub:type="toc" id="toc"><h1>Contents</h1><ol class="contents">']
    lines.append('<li><a href="bk-cover.xhtml">Cover</a></li>')
    open_parts: tuple[str, ...] = ()
    for chapter in chapters:
        shared = 0
        while (
            shared < min(len(open_parts), len(chapter.parts)) and open_parts[shared] == chapter.parts[shared]
        ):
            shared += 1
        lines.append("</ol></li>" * (len(open_parts) - shared))
        lines += [f'<li><span>{escape(part)}</span><ol class="contents">' for part in chapter.parts[shared:]]
        open_parts = chapter.parts
        lines.append(f'<li><a href="{names[chapter.url]}">{escape(chapter.name)}</a></li>')
    lines.append("</ol></li>" * len(open_parts))
    lines.append('<li><a href="bk-index.xhtml">Index</a></li></ol></nav>')
    return "".join(lines)


def _index(book, names: dict[str, str]) -> str:
    kinds = []
    for kind, entries in book.index:
        listed = []
        for entry in entries:
            (chapter, anchor), *others = entry.places
            more = "".join(f', <a href="{_to(names, other, at)}">{other.number}</a>' for other, at in others)
            first = f'<a href="{_to(names, chapter, anchor)}">{escape(entry.title)}</a>'
            listed.append(f"<li>{first} {chapter.number}{more}</li>")
        kinds.append(f'<h2>{escape(kind)}</h2><ul class="contents">{"".join(listed)}</ul>')
    return f"<h1>Index</h1>{''.join(kinds)}"


def _to(names: dict[str, str], chapter: Chapter, anchor: str) -> str:
    return escape(f"{names[chapter.url]}#{anchor}" if anchor else names[chapter.url])


class Text:
    """The text of one chapter as XHTML."""

    def __init__(self, chapter: Chapter, book, names: dict[str, str]) -> None:
        self._chapter, self._book, self._names = chapter, book, names

    def xhtml(self) -> str:
        """Return the text, each tag closed, each link to a file of the EPUB."""
        html = CALCULATOR.sub(_example, JUMP.sub("", self._chapter.html))
        kept: list[str] = []
        open_tags: list[tuple[str, str]] = []  # as it was called, and as it is written
        at, drawn = 0, False
        for found in TAG.finditer(html):
            if at < found.start():
                kept.append(_words(html[at : found.start()]))
            at = found.end()
            closing, name, attributes = found.groups()
            name = name if drawn else name.lower()  # a drawing's names have capitals
            drawn = (drawn or name == "svg") and not (closing and name == "svg")
            if name in CONTROLS:
                continue
            if closing:
                _close(name, open_tags, kept)
                continue
            written, told = self._opened(name, attributes) if attributes or name in NAMESPACES else (name, "")
            if name in VOID or attributes.endswith("/"):
                kept.append(f"<{written}{told}/>")
            else:
                kept.append(f"<{written}{told}>")
                open_tags.append((name, written))
        kept.append(_words(html[at:]))
        kept += [f"</{written}>" for _, written in reversed(open_tags)]
        return "".join(kept)

    def _opened(self, name: str, text: str) -> tuple[str, str]:
        """Return what a tag is called in the EPUB, and its attributes."""
        written, told = name, NAMESPACES.get(name, "")
        seen = {"xmlns"}
        for key, *values in ATTRIBUTE.findall(text):
            value = unescape("".join(values))
            if key in seen or LEFT_OUT.match(key) or (":" in key and key != "xlink:href"):
                continue
            seen.add(key)
            if key in ("href", "xlink:href"):
                value = self._address(value)
                if not value:
                    written = "span" if name == "a" else name
                    continue
                key = "href"
            elif key == "src":
                value = self._book.picture(value, self._chapter)
                if not value:
                    continue
            told += f" {key}={quoteattr(value)}"
        if name == "img" and " src=" not in told:
            written = "span"  # a picture from elsewhere
            told = re.sub(r' alt=("[^"]*"|\'[^\']*\')', r" title=\1", told)
        return written, told

    def _address(self, href: str) -> str:
        if ELSEWHERE.match(href):
            return href
        found = target_of(href, self._chapter, self._book.by_url)
        if found is None:
            return ""
        other, anchor = found
        return f"{self._names[other.url]}#{anchor}" if anchor else self._names[other.url]


def _close(name: str, open_tags: list[tuple[str, str]], kept: list[str]) -> None:
    """Close a tag, and before it what was left open inside; what was never opened is left out."""
    if not open_tags or (open_tags[-1][0] != name and all(known != name for known, _ in open_tags)):
        return
    known = ""
    while known != name:
        known, written = open_tags.pop()
        kept.append(f"</{written}>")


def _example(calculator: re.Match) -> str:
    """Return a calculator as a worked example."""
    title, answers = TITLE.search(calculator["head"]), ANSWERS.search(calculator["body"])
    results = answers[1] if answers else ""
    return (
        f'<div class="hb-example" id="{calculator["anchor"]}">'
        f"<p><strong>{title[1] if title else ''}</strong></p>"
        f"<p>{escape(line_of(calculator))}</p>{results}</div>"
    )


def _words(text: str) -> str:
    """Return the text between two tags with the entities that XML knows."""
    if "&" in text:
        text = escape(unescape(text), quote=False)
    return text.replace("<", "&lt;") if "<" in text else text
