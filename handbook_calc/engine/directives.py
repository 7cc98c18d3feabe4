"""Finding what a page asks for: ``{{ value key }}``, ``{{ table id }}``, ``{{ calc name }}``.

Text in code is left alone: fenced blocks, indented blocks, inline code, HTML comments.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from handbook_calc.engine.faults import brief

ASKED = re.compile(r"\{\{(?!\{)(.*?)\}\}|\{\{\s*(?=(?:value|table|calc)\b)(?P<open>.*)")
FENCE = re.compile(r"\s*(`{3,}|~{3,})")
CONTAINER = re.compile(r"(?:[-*+:]|\d+[.)])\s+|(?:!!!|\?\?\?\+?|===[+!]?)\s|\[\^[^\]]+\]:")
# Inline code stays within its line; a comment may run over several.
UNREAD = re.compile(r"(`+)(?!`)[^\n]*?(?<!`)\1(?!`)|<!--(?s:.*?)-->")
ARGUMENT = re.compile(r'(\w+)=(?:"([^"]*)"|([\w.-]+))(?=\s|$)')
VERBS = ("value", "table", "calc")


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


def find(markdown: str) -> list[Directive]:
    """Return every directive of a page outside code, in order."""
    if "{{" not in markdown:
        return []
    found = []
    lines = markdown.split("\n")
    for number, line in _outside_code(UNREAD.sub(_covered, markdown)):
        for asked in ASKED.finditer(line):
            alone = lines[number - 1].strip() == asked[0]
            found.append(_parse(asked, number, alone))
    return found


def _covered(unread: re.Match) -> str:
    """Return as many signs and lines: code still counts as text of its line, a comment does not."""
    return re.sub(r"[^\n]", "x" if unread[1] else " ", unread[0])


def _parse(asked: re.Match, line: int, alone: bool) -> Directive:
    verb, _, rest = (asked[1] or asked["open"] or "").strip().partition(" ")
    name, _, arguments = rest.strip().partition(" ")
    literals, keys = {}, {}
    complaint = ""
    for argument in ARGUMENT.finditer(arguments):
        if argument[1] in literals or argument[1] in keys:
            complaint = f"{argument[1]} is given twice in '{verb} {name}'; keep one of them"
        (literals if argument[2] is not None else keys)[argument[1]] = argument[2] or argument[3] or ""
    left = ARGUMENT.sub("", arguments).strip()
    if asked["open"]:
        complaint = f"'{verb}' is not closed; write {{{{ {verb} NAME }}}} on one line"
    elif verb not in VERBS:
        complaint = f"unknown directive '{brief(verb)}'; allowed are {', '.join(VERBS)}"
    elif not name:
        complaint = f"'{verb}' names nothing; write {{{{ {verb} NAME }}}}"
    elif left:
        write = 'write arguments as name=house.key or name="2 mL"'
        complaint = f"cannot read '{brief(left)}' in '{verb} {name}'; {write}"
    elif verb != "value" and not alone:
        complaint = f"'{verb} {name}' must stand alone on its line"
    return Directive(line, *asked.span(), verb, name, literals, keys, alone, complaint)


def _outside_code(markdown: str) -> Iterator[tuple[int, str]]:
    """Yield (line number, line) for every line that is not in a code block."""
    fence = ""
    containers: list[int] = []
    blank_before = True
    in_indented = False
    for number, line in enumerate(markdown.split("\n"), 1):
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
        while containers and indent < containers[-1] and (blank_before or opens):
            containers.pop()
        base = containers[-1] if containers else 0
        in_indented = indent >= base + 4 and (blank_before or in_indented)
        blank_before = False
        if in_indented:
            continue
        if opened:
            fence = opened[1]
            continue
        if opens:
            containers.append(base + 4)
        yield number, line
