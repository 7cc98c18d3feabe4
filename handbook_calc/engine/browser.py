"""The formulas in JavaScript, made from the same functions that compute the tables.

Nothing here knows a formula. Each function is read from its own file, held to the subset of `subset`, and
written by `emitter`; here they are gathered, each once, with the constants they use.
"""

import ast
import inspect
import textwrap
from typing import cast

from handbook_calc.engine import numerals, reading, spread
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.emitter import HELPERS, NOTE, Emitter, Refused, literal
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
        (numerals.significant, numerals.worked, numerals.rescale, numerals.decades, numerals.round_step),
    ),
    "reading": (
        READER,
        (reading.value, reading.span, reading.reading, reading.cells, reading.rows, reading.number_apart),
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


def script() -> str:
    """Return every formula of the catalogue as one script: ``HB.kernels[name](...)``.

    Raises:
        CannotTranslate: a formula uses what the subset does not have, or what the emitter refuses.
    """
    LONG_TEXTS.clear()
    collector = Collector()
    kernels = {name: collector.function(c.kernel, noted=True) for name, c in CATALOGUE.items()}
    names = ",".join(f'"{name}":{function}' for name, function in kernels.items())
    groups = f"HB.kernels={{{names}}};\n"
    for group, (level, functions) in SHARED.items():
        names = ",".join(f"{f.__name__}:{collector.function(f, level)}" for f in functions)
        groups += f"HB.{group}={{{names}}};\n"
    return f"(function(){{\n{PRELUDE}{collector.text()}{groups}}})();\n"


# Lists of sentences are data for readers, not part of a formula: they travel with the declarations.
LONG_TEXTS: list = []
LONG = 25


def _constant(value) -> str:
    """Return a list or dict as a literal; a list of few words said often is a pick from those words."""
    if isinstance(value, list | tuple) and value and all(isinstance(entry, str) for entry in value):
        if sum(map(len, value)) > LONG * len(value):
            LONG_TEXTS.append(list(value))
            return f"HB.texts[{len(LONG_TEXTS) - 1}]"
        words = list(dict.fromkeys(value))
        if len(words) <= len(value) / 2:
            return f"pick({literal(words)},[{','.join(str(words.index(entry)) for entry in value)}])"
    return literal(value)


class Collector:
    """Gathers functions and the constants they use, each once, under names of its own."""

    def __init__(self) -> None:
        self.names: dict = {}
        self.texts: dict[str, str] = {}
        self.constants: dict[str, tuple] = {}
        self.level = FORMULA

    def function(self, function, level: str = "", noted: bool = False) -> str:
        """Return the script's name of a function, and write it on first sight.

        Arguments:
            function: a plain function of the subset.
            level: what it may use; where it is empty, what its caller may.
            noted: whether it tells the working the value of each step.

        Raises:
            CannotTranslate: it, or a function it calls, uses what has no counterpart.
        """
        if function in self.names:
            return self.names[function]
        before, self.level = self.level, level or self.level
        wrong = complaints(function, self.level)
        if wrong:
            raise CannotTranslate(f"handbook_calc/{wrong[0]} cannot be translated")
        name = self.names[function] = f"f{len(self.names)}"
        lines, start = inspect.getsourcelines(function)
        tree = cast(ast.FunctionDef, ast.parse(textwrap.dedent("".join(lines))).body[0])
        if noted:
            tree = ast.fix_missing_locations(Noting(NOTE, function.__globals__, tree).visit(tree))
        try:
            self.texts[name] = Emitter(tree, function.__globals__, self).function(name)
        except Refused as error:
            where = place(function, start, error.node)
            raise CannotTranslate(f"handbook_calc/{where}: {error}; cannot be translated") from None
        self.level = before
        return name

    def constant(self, value) -> str:
        """Return the script's name of a list or a dict."""
        return self.constants.setdefault(repr(value), (value, f"c{len(self.constants)}"))[1]

    def text(self) -> str:
        """Return the helpers, the constants and the functions gathered so far."""
        constants = "".join(f"var {name}={_constant(value)};\n" for value, name in self.constants.values())
        return HELPERS + constants + "".join(f"{text}\n" for text in self.texts.values())
