"""Directives in pages: values in sentences, tables and calculators in slots, and nothing left raw.

A value stays a mark of signs that no text holds until Markdown is done with the page. So its words are
text whatever they are, and every mark that Markdown put anywhere but into the text (an attribute, code, a
comment, nowhere at all) is found. Tables and calculators go into the finished page, because converting
them as Markdown and indexing them cell by cell is most of a build's time; the search index gets their words.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import escape, unescape

from mkdocs.exceptions import PluginError

from handbook_site.preparation import DESK, RAW, Preparation, serve_log

CHECK = 'id="hb-sheet-check"'  # where a page asks for the code of a printed sheet
OWN_PLAN = """# Plan of your own piece

A piece that you type under *Your piece* in the head of any page is planned here, on this device, by the
same steps as the pieces of the bench. Nothing that you type is sent anywhere.

<div id="hb-own-plan" class="hb-own-plan">No piece is typed yet.</div>
"""
OWN_LOG = """# Log of your own piece

What you read of a piece goes in here, row by row, as it is read: it is kept on this device as the text of a
file, sent nowhere, and never written over. A reading that was wrong is corrected by a new row. Save the file
after each day: a browser that is cleaned forgets it.

<div id="hb-own-log" class="hb-own-log">No piece is typed yet.</div>

## What a page does not do

What the logs of all pieces say of the bench itself is reckoned by the command line alone, from the saved
files, each beside the file of its piece. It prints lines for the house standard, and applies none:

```sh
python -m handbook_calc learn
```
"""
CHECK_SCRIPT, CHECK_DATA = "sheets.js", "sheets-data.js"
DESK_SCRIPT = "desk-open.js"

SLOT = re.compile(r'<p class="hb-slot" id="([^"]*)">hbslot(\d+)</p>')
ANCHOR = re.compile(r'<(?:tr|section class="hb-card") id="([^"]+)"')
FILLED_SLOT = re.compile(r'<p class="hb-slot" id="[^"]*" data-slot="(\d+)">.*?</p>', re.DOTALL)

# Code points that Unicode sets aside for use inside a program, never for text.
FIRST, LAST = "\ufdd0", "\ufddb"
DIGITS = str.maketrans("0123456789", "".join(chr(0xFDD1 + digit) for digit in range(10)))
NUMBERS = str.maketrans("".join(chr(0xFDD1 + digit) for digit in range(10)), "0123456789")
MARK = re.compile("\ufdd0([\ufdd1-\ufdda]+)\ufddb")
NO_TEXT = re.compile("[\ufdd0-\ufdef\x00\x02\x03]")

PIECE = re.compile(r"<!--|<(pre|code|script|style|textarea|title)\b|<[A-Za-z/!?]", re.IGNORECASE)
TAG = re.compile(r"""<(?:[^<>"']|"[^"]*"|'[^']*')*>?""")
MAY_HOLD_BRACES = re.compile(r"[{}｛｝﹛﹜❴❵]|&(?:#|[lr]brace|[lr]cub)", re.IGNORECASE)


@dataclass(frozen=True)
class Slot:
    """A place in a page: what will stand there, its words for the search index, and its line."""

    html: str
    words: str
    line: int


@dataclass
class Asked:
    """What one page asked for: its slots, its values with their lines, and the lines of all directives."""

    slots: list[Slot] = field(default_factory=list)
    values: list[tuple[str, int]] = field(default_factory=list)
    lines: set[int] = field(default_factory=set)


class Pages:
    """Fills the pages of one build, and keeps the faults that show only then."""

    def __init__(self, prepared: Preparation) -> None:
        self._prepared = prepared
        self._faults: list[str] = []

    def marked(self, markdown: str, page) -> str:
        """Return a page's text with a mark for each value and a slot for whatever stands on its own."""
        from handbook_calc.engine.directives import find
        from handbook_calc.engine.render import PageFault

        lines = NO_TEXT.sub("\ufffd", markdown).split("\n")
        skipped = (page.file.content_string or "").count("\n") - markdown.count("\n")
        kept = page.meta["handbook"] = Asked()
        counts: dict[str, int] = {}
        placed: dict[int, list[str]] = {}  # the parts of each line so far, from its start
        ends: dict[int, int] = {}
        for asked in find(markdown):
            row, number = asked.line - 1, asked.line + skipped
            kept.lines.add(number)
            in_text = asked.verb == "value"
            try:
                html = self._prepared.renderer.html_of(asked)
            except PageFault as fault:
                html, in_text = self._told(fault, page, number), True
            if in_text:
                put = f"{FIRST}{str(len(kept.values)).translate(DIGITS)}{LAST}"
                kept.values.append((html, number))
            else:
                put = self._slot(asked, html, number, lines[row][: asked.start], kept, counts)
            placed.setdefault(row, []).append(lines[row][ends.get(row, 0) : asked.start] + put)
            ends[row] = asked.end
        for row, parts in placed.items():
            lines[row] = "".join([*parts, lines[row][ends[row] :]])
        planned = self._plan(page.file.src_uri)
        if planned:
            kept.slots.append(Slot(*planned, len(lines)))
            lines += ["", f"hbslot{len(kept.slots) - 1}", "{: #plan .hb-slot }", ""]
        return "\n".join(lines)

    def of_pieces(self) -> Iterator[tuple[str, str]]:
        """Yield the page of each piece, and that of all, by the place of its source."""
        plans = self._prepared.plans
        if plans:
            text = "What is planned on this bench, piece by piece, and what all of it takes."
            yield "pieces/index.md", f"# Pieces\n\n{text}\n"
            yield "pieces/own.md", OWN_PLAN
            yield "pieces/own-log.md", OWN_LOG
        for name in plans:
            file = f"The facts stand in [{name}.yml]({name}.yml); change them there, and the plan follows."
            yield f"pieces/{name}.md", f"# Plan of {name}\n\n{file} Dates are the likely ones.\n"

    def _plan(self, uri: str) -> tuple[str, str] | None:
        """Return HTML and words of the plans that a page shows; None for any other page."""
        from handbook_calc.engine import log_sheet, logbook, sheet

        folder, _, file = uri.rpartition("/")
        if folder != "pieces" or not self._prepared.plans:
            return None
        name, plans = file.removesuffix(".md"), self._prepared.plans
        if name == "index":
            return sheet.bench_html(plans), " ".join(map(sheet.words, plans.values()))
        if name not in plans:
            return None
        plan = plans[name]
        log = log_sheet.html(plan.log, plan) if isinstance(plan, logbook.Continued) and plan.log else ""
        return sheet.html(plan) + log, sheet.words(plan)

    def _told(self, fault: Exception, page, number: int) -> str:
        told = f"{self._prepared.docs}/{page.file.src_uri}:{number}: {fault}"
        if not self._prepared.serving:
            self._faults.append(told)
        return f'<span class="hb-fault" role="alert">{escape(told)}</span>'

    def _slot(self, asked, html: str, number: int, indent: str, kept: Asked, counts: dict[str, int]) -> str:
        name = f"{asked.verb}-{asked.name}"
        counts[name] = counts.get(name, 0) + 1
        anchor = name if counts[name] == 1 else f"{name}-{counts[name]}"
        if anchor != name:  # the second calculator of a kind on a page: its fields need ids of their own
            html = re.sub(rf'(?<=[" ]){re.escape(name)}(?=[-" ])', anchor, html)
        words = self._prepared.renderer.words(asked.name) if asked.verb == "table" else _text_of(html)
        kept.slots.append(Slot(html, words, number))
        # The slot stands in a paragraph of its own, at the indent of the directive.
        return f"\n{indent}hbslot{len(kept.slots) - 1}\n{indent}{{: #{anchor} .hb-slot }}\n"

    def filled(self, html: str, page) -> str:
        """Return a page with its values, and in its slots their words for the search index to find."""
        kept = page.meta["handbook"]
        where = f"{self._prepared.docs}/{page.file.src_uri}"
        self._faults += [f"{where}:{fault}" for fault in _raw(html, page)]
        self._faults += [f"{where}:{fault}" for fault in _slots_not_placed(html, kept)]
        if page.present_anchor_ids is not None:  # a link may lead to a row of a table, or to a card
            rows = (unescape(anchor) for slot in kept.slots for anchor in ANCHOR.findall(slot.html))
            page.present_anchor_ids.update(rows)
        html, faults = _with_values(html, kept)
        self._faults += [f"{where}:{fault}" for fault in faults]
        _fill_titles(page, kept)

        def with_words(found: re.Match) -> str:
            anchor, number = found[1], int(found[2])
            return f'<p class="hb-slot" id="{anchor}" data-slot="{number}">{kept.slots[number].words}</p>'

        return SLOT.sub(with_words, html)

    def stop_on_faults(self) -> None:
        """Stop if any page would be published with a directive in its text, or without one it asked for.

        Raises:
            PluginError: all of them, with page and line.
        """
        if self._faults and not self._prepared.serving:
            raise PluginError("\n".join(self._faults))
        for fault in self._faults:
            serve_log.warning(fault)

    def finished(self, output: str, page) -> str:
        """Return a page of the theme with its tables, calculators, their scripts, and the edition's stamp."""
        slots = page.meta["handbook"].slots
        root = "../" * page.url.count("/")
        output = FILLED_SLOT.sub(lambda found: slots[int(found[1])].html, output)
        faults = "".join(
            f'<p class="hb-fault" role="alert">{escape(fault)}</p>'
            for fault in self._prepared.standing_faults
        )
        if faults:
            output = re.sub(r"(<article[^>]*>)", lambda found: found[1] + faults, output, count=1)
        output = self._naming_the_example(output)
        output = self._stamped(output, page)
        output = self._with_scripts(output)
        return output.replace('href="%ROOT%/', f'href="{root}').replace('src="%ROOT%/', f'src="{root}')

    def _naming_the_example(self, output: str) -> str:
        """Return a page that says, where figures follow a piece, that they are the example's."""
        if 'hb-of-piece"' not in output and 'class="hb-of-example"' not in output:
            return output
        number = escape(self._prepared.renderer.house["piece.number"])
        told = (
            f'<p class="hb-example" role="note">Figures underlined with dots are worked for {number}, '
            "the example, and for no piece of yours.</p>"
        )
        return output.replace("</h1>", f"</h1>{told}", 1)

    def _with_scripts(self, output: str) -> str:
        """Return a page with the scripts of what stands on it."""
        from handbook_calc.engine.forms import BEGIN

        names: list[str] = []
        if '<details class="hb-calc"' in output:
            names.append(BEGIN)
        if DESK in output and self._prepared.scripts:
            names.append(DESK_SCRIPT)
        if CHECK in output:
            names.append(CHECK_SCRIPT)
        loaded = "".join(f'<script src="%ROOT%/assets/{name}"></script>' for name in names)
        return output.replace("</body>", f"{loaded}</body>", 1) if loaded else output

    def _stamped(self, output: str, page) -> str:
        """Return a page with its edition at the foot, on the screen and on paper, and what a draft says."""
        renderer = self._prepared.renderer
        draft = renderer.past.draft if renderer.past else ""
        code = self._prepared.sheets.get(page.file.src_uri, "")
        output = output.replace("</article>", f"{_stamp(renderer.house, draft, code)}</article>", 1)
        if draft:
            told = f'<p class="hb-draft" role="note">{escape(draft)}</p>'
            output = re.sub(r"(<article[^>]*>)", lambda found: found[1] + told, output, count=1)
        return output


def running_head(house) -> str:
    """Return what every printed sheet carries of the house."""
    return f"{house['house.name']} · edition {house.edition}"


def approval(house, draft: str) -> str:
    """Return what is said of the state of an edition, as a sentence that begins small."""
    steps = [
        (word, house[f"approval.{word}_on"], house[f"approval.{word}_by"]) for word in ("proposed", "checked")
    ]
    if draft:
        told = ", ".join(f"{word} {day or 'not yet'} by the {role}" for word, day, role in steps)
        return f"{draft}. It was {told}. Do not work by a printed copy of it."
    return (
        f"approved {house['house.date']} by the {house['approval.approved_by']}. "
        "A printed copy holds only while this edition does."
    )


def _stamp(house, draft: str, code: str) -> str:
    # Scripts keep what a reader sets under the house's name: from a folder, all sites share one store.
    name = escape(house["house.name"])
    said = escape(approval(house, draft))
    sheet = f' Sheet <span class="hb-code">{code}</span>.' if code else ""  # a plan has no code
    return f'<p class="hb-edition" data-house="{name}">{escape(running_head(house))}, {said}{sheet}</p>'


def _text_of(html: str) -> str:
    return re.sub(r"<[^>]+>", " ", html)


def _pieces(html: str) -> Iterator[tuple[str, str]]:
    """Yield the parts of a page in order: ``text``, ``tag``, or ``apart`` (code, scripts, comments)."""
    at = 0
    missing: set[str] = set()  # ends that do not come any more, so that none is looked for twice
    while found := PIECE.search(html, at):
        yield "text", html[at : found.start()]
        end, kind = -1, "apart"
        close = "-->" if found[0] == "<!--" else f"</{found[1]}" if found[1] else ""
        if close and close not in missing:
            end = html.find(close, found.end())
            if end < 0:
                missing.add(close)
            end += len(close) if end >= 0 and found[0] == "<!--" else 0
        if end < 0:
            tag = TAG.match(html, found.start())
            assert tag is not None  # each piece begins as a tag does
            kind, end = "tag", tag.end()
            if html[end - 1] != ">":
                end = html.find(">", end) + 1 or len(html)
        yield kind, html[found.start() : end]
        at = end
    yield "text", html[at:]


def _with_values(html: str, kept: Asked) -> tuple[str, list[str]]:
    """Return a page with its values in place of their marks, and the complaints about misplaced ones."""
    if not kept.values:
        return html, []
    placed: set[int] = set()
    faults: list[str] = []

    def in_text(mark: re.Match) -> str:
        placed.add(_number(mark))
        return kept.values[_number(mark)][0]

    def elsewhere(mark: re.Match) -> str:
        value, line = kept.values[_number(mark)]
        placed.add(_number(mark))
        faults.append(
            f"{line}: a value cannot stand in the title of a link, the text of a picture, "
            "an attribute or code; put it into the sentence"
        )
        return escape(_plain(value))

    parts = [MARK.sub(in_text if kind == "text" else elsewhere, part) for kind, part in _pieces(html)]
    faults += [
        f"{line}: a value cannot stand here, Markdown leaves it out; put it into the sentence"
        for number, (_, line) in enumerate(kept.values)
        if number not in placed
    ]
    return "".join(parts), faults


def _number(mark: re.Match) -> int:
    return int(mark[1].translate(NUMBERS))


def _plain(value: str) -> str:
    return unescape(re.sub(r"<[^>]+>", "", value))


def _fill_titles(page, kept: Asked) -> None:
    """Put values into the headings of the page's contents and into its title."""

    def words(text: str) -> str:
        return MARK.sub(lambda mark: escape(_plain(kept.values[_number(mark)][0])), text)

    waiting = list(page.toc)
    while waiting:
        heading = waiting.pop()
        heading.title = words(heading.title)
        waiting += heading.children
    if page.title and FIRST in page.title:
        page.title = words(page.title)


def _slots_not_placed(html: str, kept: Asked) -> list[str]:
    placed = {int(number) for _, number in SLOT.findall(html)}
    return [
        f"{slot.line}: a table, calculator, picture or plot cannot stand here; put it on a line of its own, "
        "not in HTML or a footnote, and keep attr_list among the markdown_extensions"
        for number, slot in enumerate(kept.slots)
        if number not in placed
    ]


def _raw(html: str, page) -> list[str]:
    """Return line and complaint of what a reader would see of a directive that is not filled."""
    from handbook_calc.engine.directives import near_miss

    if not MAY_HOLD_BRACES.search(html):
        return []
    texts: dict[str, list[str]] = {"text": [], "tag": [], "apart": []}
    for kind, part in _pieces(html):
        texts[kind].append(part)
    seen = unescape("".join(texts["text"]))
    found = [left[0] for text in (seen, unescape(" ".join(texts["tag"]))) for left in RAW.finditer(text)]
    faults = [
        f"{_line_of(left, page)}: '{left}' was taken for code and left unfilled; indent it by "
        "four columns for each list item or caution that it stands in"
        for left in found
    ]
    for line in RAW.sub("", seen).split("\n"):
        near = near_miss(line)
        if near:
            faults.append(
                f"{_line_of(near, page)}: '{near}' would be published as it stands; write a directive whole "
                "and outside code, or put it between backticks to show it"
            )
    return faults


def _line_of(text: str, page) -> int:
    """Return the likeliest line of a text in the page's source."""
    taken = page.meta["handbook"].lines
    lines = [
        (number, line)
        for number, line in enumerate((page.file.content_string or "").split("\n"), 1)
        if number not in taken
    ]
    exact = (number for number, line in lines if text in line)
    braces = (number for number, line in lines if MAY_HOLD_BRACES.search(line))
    return next(exact, next(braces, 1))
