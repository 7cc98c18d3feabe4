"""The glossary as tooltips: every page explains the terms that it uses."""

import re
from pathlib import Path

PAGE = "reference/glossary.md"
# A term in italics is an everyday word: it is explained in the glossary and nowhere else.
TERM = re.compile(r"^([^*\s].*)\n:   (.+)$", re.MULTILINE)


class Glossary:
    """What each term means, under every form in which a sentence may hold it."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._lines: dict[str, tuple[str, list[str]]] = {}  # by page, as it was when last asked for
        self._meanings: dict[str, str] = {}
        for term, meaning in TERM.findall(text):
            for form in (term, term[0].upper() + term[1:]):
                self._meanings |= {form: meaning, f"{form}s": meaning}

    def as_it_stands(self, path: Path) -> "Glossary":
        """Return the glossary of now: this one, if nothing in its page has changed."""
        # A sign that is not UTF-8 is reported with the page it stands in.
        text = path.read_text(encoding="utf-8", errors="replace") if path.is_file() else ""
        return self if text == self._text else Glossary(text)

    def lines_for(self, source: str, markdown: str) -> list[str]:
        """Return a line for each term that a page uses, from which Markdown makes its tooltips."""
        if source == PAGE:
            return []
        before, lines = self._lines.get(source, ("", []))
        if before != markdown:
            used = [f"*[{form}]: {meaning}" for form, meaning in self._meanings.items() if form in markdown]
            lines = ["", *used] if used else []
            self._lines[source] = (markdown, lines)
        return lines
