"""The words of a finished page as the search looks through them: sections, and passages within.

A section begins at a heading, at a calculator or at a table with a caption, and has the anchor to which a hit
leads. A passage is a paragraph, a step, a row: what stands in one belongs together, so a question is answered
by the passage that holds most of its words.
"""

import re
from html import unescape

ARTICLE = re.compile(r"<article[^>]*>(.*)</article>", re.DOTALL)
# What nobody would look for by its words, or what stands there a second time: formulas and their steps,
# the choices of a menu, what a calculator was given, marks beside a heading.
UNSAID = re.compile(
    r"<(math|script|style|noscript|select|template)\b.*?</\1>"
    r'|<a class="headerlink".*?</a>'
    r'|<span class="hb-(?:changed|calc-given|help|error)".*?</span>|<p class="hb-stamp.*?</p>'
    r'|<li data-step="[^"]*".*?</li>'
    r"|<!--.*?-->",
    re.DOTALL,
)
BEGINS = re.compile(
    r'<h(?P<level>[1-6])\b[^>]*\sid="(?P<heading>[^"]*)"[^>]*>(?P<of_heading>.*?)</h(?P=level)>'
    r'|<span class="hb-calc-title" id="(?P<calculator>[^"]*)-title">(?P<of_calculator>.*?)</span>'
    r'|<caption id="(?P<table>[^"]*)-title">(?P<of_table>.*?)</caption>',
    re.DOTALL,
)
ENDS = re.compile(r'</table>|</div></details></div></details>|</section>(?=<section class="hb-card")')
PARTED = re.compile(
    r"</?(?:p|li|tr|dt|dd|h[1-6]|summary|blockquote|pre|dl|ul|ol|figure|figcaption|details)\b[^>]*>|<br\b[^>]*>"
    r'|<div class="hb-part"[^>]*>'
)
KEPT_TOGETHER = re.compile(r"</?(?:sub|sup|em|strong|b|i|a|abbr|code|mark|wbr)\b[^>]*>|\u00ad|&shy;")
TAG = re.compile(r"""<(?:[^<>"']|"[^"]*"|'[^']*')*>""")
FIGURE = re.compile(r"[-\u2212+]?[\d.,]*\d[%.,]?")
BEGIN, BETWEEN, BEGUN, END = "\x1c", "\x1d", "\x1f", "\x1e"  # signs that no text holds
SIGN = re.compile(f"{BEGIN}([^{BEGUN}]*){BEGUN}|({END})")
SHORT = 60  # characters: a passage with less is told together with the next one
# Where figures are from stands on the keeper's pages; under every table and calculator it is only in the way.
ORIGIN = re.compile(
    r"(?:Worked for the example, \S+\.\s*)?House values\b[^:]*:.*|Sources?: .*|Working, assumptions, source$"
    r"|Worked for the example, \S+\.$|In numbers: .*|The same numbers as CSV\."
)


def sections_of(html: str, once: bool = False) -> list[tuple[str, str, list[str]]]:
    """Return the sections of a page; the first, below its title, has neither anchor nor heading.

    Arguments:
        html: of the finished page.
        once: whether a section says each word only once, as is enough on a page that is a register.

    Returns:
        The anchor, the heading and the passages of each.
    """
    article = ARTICLE.search(html)
    text = UNSAID.sub(" ", article[1] if article else "")
    text = ENDS.sub(END, BEGINS.sub(_begun, text))
    text = TAG.sub(" ", KEPT_TOGETHER.sub("", PARTED.sub("\n", text.replace("\n", " "))))
    into = under = first = ["", "", ""]
    sections = [first]
    for part in filter(None, SIGN.split(unescape(text))):
        if part == END:
            into = under
        elif BETWEEN in part:
            kind, anchor, heading = part.split(BETWEEN)
            if kind == "1":
                into = first
            else:
                into = [anchor, " ".join(heading.split()), ""]
                sections.append(into)
            if kind.isdecimal():
                under = into
        else:
            into[2] += f"\n{part}"
    return [(anchor, heading, _passages(text, anchor, once)) for anchor, heading, text in sections]


def _begun(found: re.Match) -> str:
    kind = found["level"] or found.lastgroup or ""
    anchor = found["heading"] or found["calculator"] or found["table"] or ""
    heading = found["of_heading"] or found["of_calculator"] or found["of_table"] or ""
    return f"{BEGIN}{BETWEEN.join([kind, anchor, TAG.sub(' ', KEPT_TOGETHER.sub('', heading))])}{BEGUN}"


def _passages(text: str, anchor: str, once: bool) -> list[str]:
    """Return the passages of a section: short ones joined, no figure of a table said twice."""
    of_table = anchor.startswith("table-")
    said: set[str] = set()
    passages: list[str] = []
    joined: list[str] = []
    for line in text.split("\n"):
        words = ORIGIN.sub("", " ".join(line.split())).split()
        for word in words:
            if word not in said or not (once or (of_table and FIGURE.fullmatch(word))):
                joined.append(word)
                said.add(word)
        if sum(map(len, joined)) >= SHORT:
            passages.append(" ".join(joined))
            joined = []
    return [*passages, " ".join(joined)] if joined else passages
