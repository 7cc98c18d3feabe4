"""Pages on paper: what each sheet carries, and the parts of a procedure that its bench sheet keeps.

Every printed sheet carries the house and its edition, the page's title, its short code (see the package's
``editions``), and which sheet of how many it is. Margin boxes take no words from the page itself, so each
page has a named page of its own in one stylesheet that only printing loads.
"""

import re
from dataclasses import dataclass, field

PART = re.compile(r'<h2 id="([^"]+)"')
SUB_PART = re.compile(r'<h3 class="read-before"')  # what the bench sheet leaves out, up to the next heading
HEADING = re.compile(r"<h[23]\b")
BODY = re.compile(r"<body\b")
STYLES = "assets/sheets.css"

# The sections that a bench sheet keeps, by the first words of their anchors; the rest is read before.
BENCH_PARTS = ("cautions", "you-need", "set-up", "steps", "hold-point", "record", "waste")

# What somebody at the bench looks for first, with the words that lead there.
JUMPS = {"steps": "To the steps", "hold-point": "Hold point", "what-goes-wrong": "What goes wrong"}

COMMON = """@page {
  margin: 14mm 10mm 13mm;
  font: 8pt sans-serif;
  @top-right { content: "%(house)s"; }
  @bottom-left { content: var(--hb-piece, ""); }
  @bottom-right { content: counter(page) " of " counter(pages); }
}
"""

DRAFT = """@page {
  @top-center { content: "%(told)s"; font: bold 11pt sans-serif; color: #9c1010; }
}
"""


@dataclass
class Sheets:
    """The sheets of one build: the title and the code of every page."""

    pages: dict[str, tuple[str, str]] = field(default_factory=dict)

    def noted(self, output: str, page, code: str) -> str:
        """Return a finished page with the name of its sheets, and keep its title and code."""
        name = sheet_name(page.url)
        self.pages[page.url] = (page.title or "", code)
        root = "../" * page.url.count("/")
        link = f'<link rel="stylesheet" href="{root}{STYLES}" media="print"></head>'
        output = output.replace("</head>", link, 1)
        return BODY.sub(f'<body data-sheet="{name}" data-code="{code}"', output, count=1)

    def stylesheet(self, house: str, draft: str) -> str:
        """Return the stylesheet that names each page's sheets.

        Arguments:
            house: what every sheet carries of the house.
            draft: what is said of an edition that is not approved; empty for an approved one.
        """
        rules = [COMMON % {"house": quoted(house)}]
        if draft:
            rules.append(DRAFT % {"told": quoted(draft)})
        for url, (title, code) in sorted(self.pages.items()):
            name = sheet_name(url)
            rules.append(
                f'body[data-sheet="{name}"] {{ page: {name}; }}\n'
                f'@page {name} {{ @top-left {{ content: "{quoted(title)}"; }} '
                f'@bottom-center {{ content: "{code}"; }} }}\n'
            )
        return "".join(rules)


def sheet_name(url: str) -> str:
    """Return the name of a page's sheets, made of its address."""
    return "sheet-" + re.sub(r"[^a-z0-9]+", "-", url.lower().removesuffix(".html")).strip("-")


def in_parts(html: str) -> str:
    """Return a page's text with each section in a part of its own, named by its heading.

    The bench sheet shows some parts and not others, and gives the record's words lines to write on.
    """
    found = [(heading.start(), heading[1]) for heading in PART.finditer(html)]
    if not found:
        return html
    named = [name for _, name in found]
    jumps = [f'<a href="#{name}">{words}</a>' for name, words in JUMPS.items() if name in named]
    jump = f'<p class="hb-jump">{" ".join(jumps)}</p>' if jumps else ""
    pieces = [html[: found[0][0]].replace("</h1>", f"</h1>{jump}", 1)]
    ends = [start for start, _ in found[1:]] + [len(html)]
    for (start, name), end in zip(found, ends, strict=True):
        section = html[start:end]
        kept = " hb-kept" if name in BENCH_PARTS else ""
        section = _left_out(section)
        if name == "record":
            section += _lines(section)
        pieces.append(f'<div class="hb-section{kept}" data-part="{name}">{section}</div>')
    return "".join(pieces)


def _left_out(section: str) -> str:
    """Return a section with what is read before the work, and not at it, marked for the bench sheet."""
    found = SUB_PART.search(section)
    while found:
        following = HEADING.search(section, found.end())
        end = following.start() if following else len(section)
        inside = f'<div class="hb-before">{section[found.start() : end]}</div>'
        section = section[: found.start()] + inside + section[end:]
        found = SUB_PART.search(section, found.start() + len(inside))
    return section


def _lines(record: str) -> str:
    """Return what a record holds as lines to write on: its first paragraph, part by part."""
    first = re.search(r"<p>(.*?)</p>", record, re.DOTALL)
    if not first:
        return ""
    said = " ".join(re.sub(r"<[^>]+>", "", first[1]).split()).rstrip(".")
    items = "".join(f"<li>{item.strip()}</li>" for item in said.split(";") if item.strip())
    return f'<ul class="hb-lines" aria-hidden="true">{items}</ul>'


def quoted(text: str) -> str:
    """Return a text for a string of a stylesheet."""
    return re.sub(r'["\\<>\n\r\x00-\x1f]', lambda sign: f"\\{ord(sign[0]):x} ", text)
