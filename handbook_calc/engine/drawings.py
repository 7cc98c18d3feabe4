"""The handbook's own drawings: each is read, held to a few rules, and made ready to stand inside a page.

A drawing stands in the page itself, so it takes the page's colour, in the dark and on paper too. What could
run, load, clash or vanish there is refused: scripts, references to the outside, colours of its own, letters
too small for a phone. Ids get the drawing's name in front. House values enter as ``{{ value KEY }}``.
"""

import re
from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from math import ceil
from pathlib import Path
from xml.parsers import expat

from handbook_calc.engine.directives import Directive, parse
from handbook_calc.engine.faults import Fault, brief

FOLDER = "drawings"
WIDEST = 400  # units of the view
LETTER = 12 / 345  # height of the smallest letter, over that width: 11 px on a phone of 360 px
LARGEST = 8000  # bytes
SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
ELEMENTS = SHAPES | {"svg", "title", "desc", "g", "defs", "marker", "pattern", "clipPath", "text", "tspan"}
PAINTS = {"fill", "stroke"}
ATTRIBUTES = PAINTS | {
    "viewBox", "id", "class", "d", "x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "dx", "dy",
    "width", "height", "points", "transform", "fill-opacity", "stroke-opacity", "opacity", "stroke-width",
    "stroke-dasharray", "stroke-linecap", "stroke-linejoin", "fill-rule", "clip-path", "marker-start",
    "marker-mid", "marker-end", "refX", "refY", "markerWidth", "markerHeight", "orient", "patternUnits",
    "patternTransform", "text-anchor", "font-size", "font-weight", "font-style",
}  # fmt: skip
CLASSES = {"go", "wait", "stop"}  # the page's colours for these three, beside the word
LOCAL = re.compile(r"url\(#([\w-]+)\)")
SLOT = re.compile(r"\{\{.*?\}\}", re.DOTALL)
HOW = "see 'Add a drawing' in DEVELOPERS.md"


@dataclass(frozen=True)
class Drawing:
    """A drawing ready for a page: `parts` are pieces of its SVG, and the directives between them."""

    name: str
    title: str
    parts: tuple[str | Directive, ...]

    @cached_property
    def asked(self) -> tuple[Directive, ...]:
        """Return the house values that the drawing asks for."""
        return tuple(part for part in self.parts if isinstance(part, Directive))


class Drawings:
    """The drawings of one folder or several; of two that are called the same, that of the later folder.

    Attributes:
        found: the drawings by name.
        faults: what is wrong with them, each with file and line.
    """

    def __init__(self, *folders: Path, root: Path | None = None) -> None:
        self.found: dict[str, Drawing] = {}
        self.faults: list[Fault] = []
        files = {path.stem: path for folder in folders for path in sorted(folder.glob("*.svg"))}
        for path in files.values():
            inside = root is not None and path.is_relative_to(root)
            file = path.relative_to(root).as_posix() if root and inside else str(path)
            try:
                reader = _Reader(path.stem, file, path.read_bytes())
            except OSError as error:
                self.faults.append(Fault(file, 1, f"cannot be read: {error.strerror}"))
                continue
            self.faults += reader.faults
            if not reader.faults:
                self.found[path.stem] = reader.drawing()


@dataclass
class _Reader:
    """One walk through a file: what it holds is written anew, and what it may not hold is noted."""

    name: str
    file: str
    content: bytes
    faults: list[Fault] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._parts: list[str | Directive] = []
        self._open: list[str] = []
        self._texts: dict[str, str] = {"title": "", "desc": ""}
        self._ids: set[str] = set()
        self._wanted: list[tuple[int, str]] = []
        self._text = ""
        self._smallest = 12
        self._parser = expat.ParserCreate()
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._gather
        self._parser.StartDoctypeDeclHandler = lambda *_: self._fault("a document type is not allowed")
        self._parser.ProcessingInstructionHandler = lambda *_: self._fault("an instruction is not allowed")
        if len(self.content) > LARGEST:
            self._fault(f"{len(self.content)} bytes; allowed are at most {LARGEST}")
        try:
            self._parser.Parse(self.content, True)
        except expat.ExpatError as error:
            told = expat.errors.messages.get(error.code, "not readable")
            self.faults.append(Fault(self.file, error.lineno, f"cannot be read as XML: {told}"))
            return
        for part, text in self._texts.items():
            if not text:
                self.faults.append(Fault(self.file, 1, f"has no <{part}>; say in words what it shows"))
        for line, wanted in self._wanted:
            if wanted not in self._ids:
                self.faults.append(Fault(self.file, line, f"#{wanted} is not in this file"))

    def drawing(self) -> Drawing:
        return Drawing(self.name, self._texts["title"], tuple(self._parts))

    def _fault(self, told: str) -> None:
        self.faults.append(Fault(self.file, max(self._parser.CurrentLineNumber, 1), told))

    def _start(self, element: str, attributes: dict[str, str]) -> None:
        self._write_text()
        if element not in ELEMENTS:
            self._fault(f"<{element}> is not allowed in a drawing; allowed are {', '.join(sorted(ELEMENTS))}")
        if not self._open:
            attributes = self._as_root(element, attributes)
        self._open.append(element)
        written = []
        for key, value in attributes.items():
            if key not in ATTRIBUTES and not (len(self._open) == 1 and key in ROOT):
                self._fault(f"{key} is not allowed in a drawing; {HOW}")
            written.append(f' {key}="{escape(self._checked(key, value))}"')
        if element in self._texts:  # both are named by the root
            written.append(f' id="{self._own(element)}"')
        self._parts.append(f"<{element}{''.join(written)}>")

    def _as_root(self, element: str, attributes: dict[str, str]) -> dict[str, str]:
        box = attributes.get("viewBox", "").split()
        numbers = [part for part in box if re.fullmatch(r"\d+(\.\d+)?", part)]
        if element != "svg" or len(numbers) != 4 or box[:2] != ["0", "0"] or float(box[2]) > WIDEST:
            self._fault(f'must begin with <svg viewBox="0 0 WIDTH HEIGHT">, WIDTH at most {WIDEST}')
        else:
            self._smallest = ceil(LETTER * float(box[2]))
        kept = {key: value for key, value in attributes.items() if key != "xmlns"}
        names = f"{self._own('title')} {self._own('desc')}"
        return kept | {"class": "", "role": "img", "aria-labelledby": names, "font-size": str(self._smallest)}

    def _own(self, name: str) -> str:
        return f"picture-{self.name}-{name}"

    def _checked(self, key: str, value: str) -> str:
        """Return an attribute as it is written into the page."""
        if key == "id":
            if value in self._ids:
                self._fault(f"id '{value}' is given twice")
            self._ids.add(value)
            return self._own(value)
        if key == "class" and len(self._open) == 1:
            return "hb-drawing"
        if key == "class":
            if not set(value.split()) <= CLASSES:
                self._fault(f"class '{brief(value)}' is unknown; allowed are {', '.join(sorted(CLASSES))}")
            return " ".join(f"hb-{word}" for word in value.split())
        if key == "font-size" and not (re.fullmatch(r"\d+", value) and int(value) >= self._smallest):
            least = self._smallest
            self._fault(f"font-size {brief(value)} is too small for a phone; allowed is {least} or more")
        for name in LOCAL.findall(value):
            self._wanted.append((self._parser.CurrentLineNumber, name))
        left = LOCAL.sub("", value).strip()
        if key in PAINTS and left not in ("", "none", "currentColor"):
            self._fault(
                f"{key} '{brief(value)}' is a colour of its own, which is lost on another ground; "
                "allowed are none and currentColor"
            )
        elif re.search(r"url|:", left):
            self._fault(f"{key} '{brief(value)}' leads out of the drawing; allowed is url(#ID)")
        return LOCAL.sub(lambda found: f"url(#{self._own(found[1])})", value)

    def _gather(self, text: str) -> None:
        self._text += text

    def _end(self, element: str) -> None:
        self._write_text()
        self._open.pop()
        last = self._parts[-1]
        if element in SHAPES and isinstance(last, str) and last.startswith(f"<{element}"):
            self._parts[-1] = last[:-1] + "/>"
        else:
            self._parts.append(f"</{element}>")

    def _write_text(self) -> None:
        """Write the text gathered since the last tag, with the directives in it."""
        text, self._text = " ".join(self._text.split()), ""
        inside = self._open[-1] if self._open else ""
        if not text:
            return
        if inside in self._texts:
            self._texts[inside] += text
            if "{{" in text:
                self._fault("title and desc are read aloud as they stand; ask for values in the text shown")
        elif inside not in ("text", "tspan"):
            self._fault(f"'{brief(text)}' stands outside <text>")
        at = 0
        for slot in SLOT.finditer(text):
            asked = parse(slot[0][2:-2], self._parser.CurrentLineNumber)
            if asked.complaint or asked.verb != "value":
                self._fault(asked.complaint or "only {{ value NAME }} can stand in a drawing")
            self._parts += [escape(text[at : slot.start()], quote=False), asked]
            at = slot.end()
        if re.search(r"[{}]", text[at:]):
            self._fault(f"'{brief(text[at:])}' has braces that are no directive")
        self._parts.append(escape(text[at:], quote=False))


ROOT = {"role", "aria-labelledby"}
