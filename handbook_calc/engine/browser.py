"""The formulas in JavaScript, made from the same functions that compute the tables.

Nothing here knows a formula. Each function is read from its own file, held to the subset of `subset`, and
written by `emitter`; here they are gathered, each once, with the constants they use. A page gets them by the
calculation, each with all that it uses, or all of them as one script.
"""

import ast
import inspect
import re
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from typing import cast

from handbook_calc.engine import numerals, reading, spread
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.emitter import HELPERS, NOTE, Emitter, Refused, literal
from handbook_calc.engine.phrases import Reader
from handbook_calc.engine.subset import FORMULA, READER, complaints, place
from handbook_calc.engine.working import Noting

# What the hand-written scripts call besides the formulas: HB.<group>.<function>, and how it is checked.
SHARED = {
    "spread": (
        FORMULA,
        (
            spread.sampled,
            spread.share_of,
            spread.generator,
            spread.quantile,
            spread.interval_texts,
            spread.whole_texts,
            spread.safe_edge,
            spread.counted,
            spread.trials,
        ),
    ),
    "numerals": (
        FORMULA,
        (numerals.significant, numerals.sided, numerals.worked, numerals.decades, numerals.round_step),
    ),
    "reading": (
        READER,
        (
            reading.value,
            reading.span,
            reading.reading,
            reading.cells,
            reading.rows,
            reading.number_apart,
            reading.rescaled,
        ),
    ),
}


class CannotTranslate(ValueError):
    """A formula that cannot be translated: names the function, its file and line."""


PRELUDE = """var HB=window.HB=window.HB||{};
var _r=function(code){throw {refused:code,numbers:[].slice.call(arguments,1)};};
var _b=function(){return [].slice.call(arguments);};
var _n=function(step,value){if(HB.steps)HB.steps[step]=value;return value;};
var pick=function(words,which){return which.map(function(i){return words[i];});};
var _d=function(v){return typeof v=="number"?isFinite(v):!v||typeof v!="object"||Object.values(v).every(_d);};
var _g=function(name,values){var kept=HB.steps;HB.steps=null;
try{var v=HB.guarded(name,values);if(!_d(v))_x();return v;}finally{HB.steps=kept;}};
"""
# What the text of a formula may call of `PRELUDE` and of the emitter's `HELPERS`.
MEANS = (
    "_r", "_b", "_n", "_g", "pick", "_x", "_p", "_z", "_t", "_e", "_i", "_f",
    "exp", "log", "sqrt", "floor", "ceil", "abs", "min", "max",
)  # fmt: skip


@dataclass(frozen=True)
class Part:
    """What a page needs to run one calculation.

    Attributes:
        script: its formula and those that it calls, ``HB.kernels[name](...)``, for after `Formulas.reader`.
        calculations: its name, and those of the calculations that it calls.
        texts: the places in `LONG_TEXTS` of the lists of sentences that they name.
    """

    script: str
    calculations: tuple[str, ...]
    texts: tuple[int, ...]


@dataclass(frozen=True)
class Formulas:
    """The scripts of all formulas.

    Attributes:
        reader: what every calculation runs by: ``HB.reading``, the other groups of `SHARED`, the helpers.
        whole: every formula of the catalogue as one script.
        parts: each calculation alone.
        texts: the lists of sentences that the formulas name, which travel with the declarations.
    """

    reader: str
    whole: str
    parts: dict[str, Part]
    texts: tuple[list[str], ...]


def formulas() -> Formulas:
    """Return every formula of the catalogue as scripts.

    Raises:
        CannotTranslate: a formula uses what the subset does not have, or what the emitter refuses.
    """
    LONG_TEXTS.clear()
    collector = Collector()
    kernels = {name: collector.function(c.kernel, told=name) for name, c in CATALOGUE.items()}
    written = collector.written()
    whole = f"{PRELUDE}{HELPERS}{_lines(written.values())}HB.kernels={{{_named(kernels)}}};\n"
    parts = {name: _part(name, kernels, collector, written) for name in kernels}
    return Formulas(_reader(), _closed(whole), parts, tuple(LONG_TEXTS))


def _part(name: str, kernels: dict[str, str], collector: "Collector", written: dict[str, str]) -> Part:
    found, waiting = {}, [name]
    used: set[str] = set()
    while waiting:
        calculation = waiting.pop()
        if calculation not in found:
            found[calculation] = kernels[calculation]
            names, called = collector.behind(kernels[calculation])
            used |= names
            waiting += sorted(called)
    text = _lines(written[each] for each in written if each in used)
    texts = dict.fromkeys(int(place) for place in LONG_TEXT.findall(text))
    means = ",".join(mean for mean in MEANS if re.search(rf"(?<![\w.]){re.escape(mean)}\(", text))
    text += f"Object.assign(HB.kernels,{{{_named(found)}}});\n"
    return Part(f"(function({{{means}}}){{\n{text}}})(HB.means);\n", tuple(found), tuple(texts))


def _reader() -> str:
    """Return what every calculation runs by, and what the hand-written scripts call."""
    collector = Collector()
    groups = "".join(
        f"HB.{group}={{{_named({f.__name__: collector.function(f, level) for f in functions})}}};\n"
        for group, (level, functions) in SHARED.items()
    )
    means = f"HB.means={{{','.join(MEANS)}}};\n"
    return _closed(f"{PRELUDE}{collector.text()}{groups}{means}")


def _lines(texts: Iterable[str]) -> str:
    return "".join(f"{text}\n" for text in texts)


def _named(functions: dict[str, str]) -> str:
    return ",".join(f'"{name}":{function}' for name, function in functions.items())


def _closed(text: str) -> str:
    return f"(function(){{\n{text}}})();\n"


# Lists of sentences are data for readers, not part of a formula: they travel with the declarations.
LONG_TEXTS: list = []
LONG = 25
LONG_TEXT = re.compile(r"\bHB\.texts\[(\d+)\]")


def _constant(value) -> str:
    """Return a list or dict as a literal; a list of few words said often is a pick from those words."""
    if isinstance(value, list | tuple) and value and all(isinstance(entry, str) for entry in value):
        words = list(dict.fromkeys(value))
        places = ",".join(str(words.index(entry)) for entry in value)
        if sum(map(len, value)) > LONG * len(value):
            LONG_TEXTS.append(words)
            texts = f"HB.texts[{len(LONG_TEXTS) - 1}]"
            return texts if len(words) == len(value) else f"pick({texts},[{places}])"
        if len(words) <= len(value) / 2:
            return f"pick({literal(words)},[{places}])"
    return literal(value)


class Collector:
    """Gathers functions and the constants they use, each once, under names of its own."""

    def __init__(self) -> None:
        self.names: dict = {}
        self.texts: dict[str, str] = {}
        self.constants: dict[str, tuple] = {}
        self.level = FORMULA
        self._uses: dict[str, set[str]] = {}  # by function, the functions and constants in its text
        self._calls: dict[str, set[str]] = {}  # by function, the calculations that it runs
        self._at: list[str] = []  # the functions that are being written

    def function(self, function, level: str = "", told: str = "") -> str:
        """Return the script's name of a function, and write it on first sight.

        Arguments:
            function: a plain function of the subset.
            level: what it may use; where it is empty, what its caller may.
            told: name of the calculation whose working is told the value of each step; empty for none.

        Raises:
            CannotTranslate: it, or a function it calls, uses what has no counterpart.
        """
        if function in self.names:
            return self._used(self.names[function])
        before, self.level = self.level, level or self.level
        wrong = complaints(function, self.level)
        if wrong:
            raise CannotTranslate(f"handbook_calc/{wrong[0]} cannot be translated")
        name = self.names[function] = self._used(f"f{len(self.names)}")
        self._uses[name], self._calls[name] = set(), set()
        self._at.append(name)
        lines, start = inspect.getsourcelines(function)
        tree = cast(ast.FunctionDef, ast.parse(textwrap.dedent("".join(lines))).body[0])
        if told:
            tree = ast.fix_missing_locations(Noting(NOTE, tree, Reader(told, function)).visit(tree))
        try:
            self.texts[name] = Emitter(tree, function.__globals__, self).function(name)
        except Refused as error:
            where = place(function, start, error.node)
            raise CannotTranslate(f"handbook_calc/{where}: {error}; cannot be translated") from None
        self.level = before
        self._at.pop()
        return name

    def constant(self, value) -> str:
        """Return the script's name of a list or a dict."""
        return self._used(self.constants.setdefault(repr(value), (value, f"c{len(self.constants)}"))[1])

    def calculation(self, name: str) -> str:
        """Return the name of a calculation that a function runs with all its checks, as JavaScript."""
        self._calls[self._at[-1]].add(name)
        return literal(name)

    def _used(self, name: str) -> str:
        if self._at:
            self._uses[self._at[-1]].add(name)
        return name

    def behind(self, function: str) -> tuple[set[str], set[str]]:
        """Return the functions and constants that a function needs, itself too, and the calculations it runs.

        Arguments:
            function: its name in the script.
        """
        found, called, waiting = set(), set(), [function]
        while waiting:
            name = waiting.pop()
            if name not in found:
                found.add(name)
                called |= self._calls.get(name, set())
                waiting += self._uses.get(name, ())
        return found, called

    def written(self) -> dict[str, str]:
        """Return the text of each constant and each function gathered so far, by its name in the script."""
        constants = {name: f"var {name}={_constant(value)};" for value, name in self.constants.values()}
        return constants | self.texts

    def text(self) -> str:
        """Return the helpers, the constants and the functions gathered so far."""
        return HELPERS + _lines(self.written().values())
