"""Finding what a page asks for: ``{{ value key }}``, ``{{ table id }}``, and so on through `VERBS`.

Text in code is left alone: fenced blocks, indented blocks, inline code, HTML comments. Everywhere else
braces are for directives, so what only looks like one (``{ value x }}``, ``{% value x %}``, braces
written as entities, a directive split over lines) is returned with a complaint: published as it stands, it
would pass unseen. Each sign is looked at a fixed number of times, whatever the page holds.
"""

import difflib
import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from handbook_calc.engine.faults import brief

FENCE = re.compile(r"\s*(`{3,}|~{3,})")
FOOTNOTE = re.compile(r"\[\^[^\]]+\]:")
CONTAINER = re.compile(rf"(?:[-*+:]|\d+[.)])\s+|(?:!!!|\?\?\?\+?|===[+!]?)\s|{FOOTNOTE.pattern}")
# A list item that begins with an admonition opens both at once.
CAUTION_FIRST = re.compile(r"(?:[-*+]|\d+[.)])\s+(?:!!!|\?\?\?\+?)\s")
UNREAD = re.compile(r"`+|<!--")
ARGUMENT = re.compile(r"""(?<!\w)(\w+)=(?:"([^"]*)"|([\w.-]+))(?=\s|$)""")
VERBS = ("value", "table", "calc", "cards", "picture", "plot")
LONGEST = 1000  # signs; the longest of a real page has a fifth of that

# How else a brace can be written, so that a reader would see one all the same.
OPENING = re.compile(r"&(?:#0*123|#x0*7b|lbrace|lcub)(?:;|(?!\w))|\\\{|[｛﹛❴]", re.IGNORECASE)
CLOSING = re.compile(r"&(?:#0*125|#x0*7d|rbrace|rcub)(?:;|(?!\w))|\\\}|[｝﹜❵]", re.IGNORECASE)
PERCENT = re.compile(r"&(?:#0*37|#x0*25|percnt)(?:;|(?!\w))|[％﹪]", re.IGNORECASE)
UNSEEN = re.compile("[\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
BRACES = re.compile(r"\{[ \t\xa0]*[{%]|[}%][ \t\xa0]*\}")
ONE_BRACE = re.compile(r"\{[ \t\xa0]*([A-Za-z]{3,8})(?=[\s}]|$)")
A_VERB = rf"(?:{'|'.join(VERBS)})\s+[\w.-]"
NEAR_BRACE = re.compile(
    rf"[{{}}](?:[^\w\n]|_){{0,6}}(?<=[\s{{}}]){A_VERB}|(?:^|\s){A_VERB}[\w.-]*[^\w{{}}\n]{{0,3}}\}}"
)
OTHER_BRACKETS = re.compile(rf"(?:\[\[|\(\(|<<|<%)[ \t\xa0]*(?:{'|'.join(VERBS)})\s")
FANCY_QUOTES = re.compile("[“”„‟‘’‚«»″]")
FILLED = "\0"  # stands for a directive while the rest of its line is looked at
ON_ONE_LINE = " on one line"
# A brace too many at a directive; what is left alone is a list of attributes: ``{: .class }``.
SIGNS = rf"[^\w{{}}{FILLED}]{{0,3}}"
BRACE_BESIDE = re.compile(
    rf"\{{{SIGNS}{FILLED}|\}}{FILLED}|{FILLED}{SIGNS}\}}|{FILLED}\{{|{FILLED}\s*\{{[^{{}}]*(?:\{{|$)"
)
IN_BRACES = re.compile(r"\{[^{}]*\}")


@dataclass(frozen=True)
class Directive:
    """One directive of a page.

    Attributes:
        line: line in the text given, from 1.
        start, end: columns of the braces in that line.
        verb, name: as written.
        literals: arguments written in quotes.
        keys: arguments that name a house value.
        alone: nothing else stands on the line.
        complaint: what is wrong with its form, or empty.
    """

    line: int
    start: int
    end: int
    verb: str
    name: str
    literals: dict[str, str]
    keys: dict[str, str]
    alone: bool
    complaint: str = ""

    @property
    def written(self) -> str:
        """Return what it asks for in one spelling: ``value soak-time depth=piece.crack_depth``."""
        given = [f'{name}="{text}"' for name, text in self.literals.items()]
        given += [f"{name}={key}" for name, key in self.keys.items()]
        return " ".join([self.verb, self.name, *sorted(given)])


@lru_cache(maxsize=512)
def find(markdown: str) -> tuple[Directive, ...]:
    """Return every directive of a page outside code, in order, and every near miss of one."""
    found: list[Directive] = []
    split_at = -1  # the line of a directive that is not closed there: its end is no fault of its own
    for number, line, whole, in_footnote in _outside_code(markdown):
        here, left = _directives(line, number, whole)
        if in_footnote:
            here = [
                _complaining(asked, "cannot stand in a footnote; put it into the sentence") for asked in here
            ]
        near = "" if any(asked.complaint for asked in here) and FILLED in left else near_miss(left)
        if near and not (near.strip() == "}}" and 0 < number - split_at < 4):
            here.append(Directive(number, len(whole), len(whole), "", "", {}, {}, False, _missed(near)))
        if here and here[-1].complaint.endswith(ON_ONE_LINE):
            split_at = number
        found += here
    return tuple(found)


def near_miss(text: str) -> str:
    """Return what in a text looks like a directive and is none, as a reader would see it, or nothing."""
    if not re.search(r"[{}％﹪%&｛｝﹛﹜❴❵\[(<]", text):
        return ""
    text = UNSEEN.sub("", OPENING.sub("{", CLOSING.sub("}", PERCENT.sub("%", text))))
    looks = (form.search(text) for form in (BRACES, BRACE_BESIDE, NEAR_BRACE, OTHER_BRACKETS))
    missed = next(filter(None, looks), None)
    if not missed:
        for word in ONE_BRACE.finditer(text):
            if difflib.get_close_matches(word[1].lower(), VERBS, n=1, cutoff=0.7):
                missed = word
                break
    if not missed:
        return ""
    end = missed.end()
    if missed[0][0] in "{[(<":
        closed = re.compile(r"[}%\])>]{1,2}").search(text, end)
        end = closed.end() if closed else len(text)
    return brief(re.sub(f"{FILLED}+", "{{ ... }}", text[missed.start() : end]), 60)


def _missed(near: str) -> str:
    return (
        f"'{near}' is no directive and would be published as it stands; write {{{{ value NAME }}}}, "
        "{{ table NAME }}, {{ calc NAME }}, {{ cards NAME }}, {{ picture NAME }} or {{ plot NAME }}, or put "
        "it between backticks to show it"
    )


def _complaining(asked: Directive, complaint: str) -> Directive:
    return asked if asked.complaint else replace(asked, complaint=f"a {asked.verb} {complaint}")


def _directives(line: str, number: int, whole: str) -> tuple[list[Directive], str]:
    """Return the directives of a line, and the line with `FILLED` in their places."""
    if "{{" not in line:
        return [], line
    found, left, at = [], [], 0
    end = 0
    while (start := line.find("{{", at)) >= 0:
        left.append(line[at:start])
        if 0 <= end < start + 2:
            end = line.find("}}", start + 2)
        inner = line.find("{{", start + 2)
        closed = end >= 0 and not (start + 2 < inner < end)
        at = end + 2 if closed else inner if inner > start + 2 else len(line)
        if closed:
            alone = whole.strip() == line[start:at]
            asked = _parse(line[start + 2 : end], number, (start, at), alone)
            if line[start - 1 : start] in ("\\", "{") or line[start + 2] == "{" or line[at : at + 1] == "}":
                shown = brief(line[max(start - 1, 0) : at + 1].strip())
                asked = replace(asked, complaint=f"'{shown}' has a sign too many; {_write()}")
        else:
            verb = brief((line[start + 2 : at].split() or [""])[0])
            told = f"'{verb}' is not closed; write {{{{ {verb or 'value'} NAME }}}}{ON_ONE_LINE}"
            asked = Directive(number, start, at, verb, "", {}, {}, False, told)
        found.append(asked)
        left.append(FILLED * (at - start))
    left.append(line[at:])
    text = "".join(left)
    starts = [asked.start for asked in found]
    for braces in IN_BRACES.finditer(text):
        for index in range(bisect_left(starts, braces.start()), bisect_left(starts, braces.end())):
            found[index] = _complaining(found[index], "cannot stand in braces; put it into the sentence")
    return found, text


def _write(verb: str = "value") -> str:
    return f"write {{{{ {verb} NAME }}}}"


def parse(text: str, line: int) -> Directive:
    """Return the directive that stands between two pairs of braces outside a page."""
    return _parse(text, line, (0, len(text)), True)


def _parse(text: str, line: int, span: tuple[int, int], alone: bool) -> Directive:
    if len(text) > LONGEST:
        told = f"a directive of {len(text)} signs is too long; {_write()}"
        return Directive(line, *span, "", "", {}, {}, alone, told)
    verb, name, arguments = [*text.split(None, 2), "", "", ""][:3]
    literals, keys = {}, {}
    complaint = ""
    for argument in ARGUMENT.finditer(arguments):
        if argument[1] in literals or argument[1] in keys:
            complaint = f"{argument[1]} is given twice in '{verb} {name}'; keep one of them"
        (literals if argument[2] is not None else keys)[argument[1]] = argument[2] or argument[3] or ""
    left = ARGUMENT.sub("", arguments).strip()
    if verb not in VERBS:
        complaint = f"unknown directive '{brief(verb)}'; allowed are {', '.join(VERBS)}"
    elif not name:
        complaint = f"'{verb}' names nothing; {_write(verb)}"
    elif left:
        write = 'write arguments as name=house.key or name="2 mL"'
        straight = " with straight quotes" if FANCY_QUOTES.search(left) else ""
        complaint = f"cannot read '{brief(left)}' in '{verb} {brief(name)}'; {write}{straight}"
    elif verb != "value" and not alone:
        complaint = f"'{verb} {name}' must stand alone on its line"
    return Directive(line, *span, verb, name, literals, keys, alone, complaint)


def _outside_code(markdown: str) -> Iterator[tuple[int, str, str, bool]]:
    """Yield every line that is not in a code block.

    Yields:
        Its number, its text with code and comments covered, as written, and whether it is in a footnote.
    """
    fence = ""
    containers: list[tuple[int, bool]] = []
    blank_before = True
    in_indented = in_comment = False
    lines = markdown.split("\n")
    last_close = markdown.count("\n", 0, markdown.rfind("-->")) if "-->" in markdown else -1
    for number, whole in enumerate(lines, 1):
        line = whole
        if in_comment:
            end = line.find("-->")
            if end < 0:
                continue
            in_comment = False
            line, in_comment = _covered(" " * (end + 3) + line[end + 3 :], number <= last_close)
            blank_before = blank_before or not line.strip()
            if line.strip():
                yield number, line, whole, bool(containers and containers[-1][1])
            continue
        opened = FENCE.match(line)
        if fence:
            if opened and opened[1].startswith(fence) and not line.strip().strip(fence[0]):
                fence = ""
            continue
        if not line.strip():
            blank_before = True
            continue
        expanded = line.expandtabs(4)
        indent = len(expanded) - len(expanded.lstrip())
        opens = CONTAINER.match(expanded.lstrip())
        # A line that goes on with a paragraph may be indented less without leaving its list item.
        while containers and indent < containers[-1][0] and (blank_before or opens):
            containers.pop()
        base = containers[-1][0] if containers else 0
        in_indented = indent >= base + 4 and (blank_before or in_indented)
        blank_before = False
        if in_indented:
            continue
        if opened:
            fence = opened[1]
            continue
        if opens:
            in_footnote = bool(containers and containers[-1][1]) or bool(FOOTNOTE.match(expanded.lstrip()))
            containers.append((base + 4, in_footnote))
            if CAUTION_FIRST.match(expanded.lstrip()):
                containers.append((base + 8, in_footnote))
        line, in_comment = _covered(line, number <= last_close)
        if not line.strip():
            blank_before = True
            continue
        yield number, line, whole, bool(containers and containers[-1][1])


def _covered(line: str, closed_below: bool) -> tuple[str, bool]:
    """Return a line with as many signs in place of code and comments, and whether a comment goes on below.

    Code still counts as text of its line, a comment does not. Code stays within its line.
    """
    if "`" not in line and "<!--" not in line:
        return line, False
    closing: dict[int, int] = {}
    following: dict[int, int] = {}
    for ticks in reversed(list(re.finditer("`+", line))):
        size = len(ticks[0])
        if size in following:
            closing[ticks.start()] = following[size]
        following[size] = ticks.end()
    parts, at = [], 0
    last_end = line.rfind("-->")
    for unread in UNREAD.finditer(line):
        start = unread.start()
        if start < at:
            continue
        if unread[0] != "<!--":
            end, sign = closing.get(start, -1), "x"
        elif start + 4 <= last_end:
            end, sign = line.find("-->", start + 4) + 3, " "
        elif closed_below:
            parts += [line[at:start], " " * (len(line) - start)]
            return "".join(parts), True
        else:
            continue
        if end >= 0:
            parts += [line[at:start], sign * (end - start)]
            at = end
    return "".join([*parts, line[at:]]), False
