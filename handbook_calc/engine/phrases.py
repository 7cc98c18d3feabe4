"""A line of a formula as a person writes it: names in words, signs of arithmetic, table look-ups told.

A line is read once into the few kinds of part below; `text` and `markup` write them out, so that the
command line, the pages and the book say the same. What code calls something, and a person would not, has
its words in ``data/working_words.csv``: a constant (``FARADAY``), a helper of formulas (``sine()``), a name
inside one formula (``kept``), or any part of a line as the code has it (``band[3]``).
"""

import ast
import inspect
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from html import escape

from handbook_calc.engine import cells, kernels, numerals, quantities
from handbook_calc.engine.data import DATA

FILE = "working_words.csv"
GUARD = 1e-6  # what a formula adds for the last digit of a float, and nobody writes
# From here on the words of a look-up say how it was made; the line that uses it can leave that out.
HOW = re.compile(r"(?:,| from the table| at which|(?: at| by| after| for| of| that| up to)? ?\(?$).*")
PLACE = re.compile(r"\{([^{}]+?)(?: ([^ {}]+))?\}")
SUM, PRODUCT, SIGN, POWER, WHOLE = 4, 5, 6, 7, 9  # how tightly a part holds together
SIGNS = {
    ast.Lt: "<", ast.LtE: "≤", ast.Gt: ">", ast.GtE: "≥",
    ast.Eq: "is", ast.NotEq: "is not", ast.Is: "is", ast.IsNot: "is not",
}  # fmt: skip
OPPOSITES = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
ROOTS = {2: "the square root of ", 3: "the cube root of "}
NBSP = "\u00a0"
RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
UNTOLD = "-"  # the words of a number that is no step for a reader: a place in a list, a guard


class Unsaid(ValueError):
    """A part of a line that has no words; the text is that part as the code has it."""


@dataclass(frozen=True)
class Figure:
    """A number that stands in the line, with its unit where a sentence needs one."""

    value: float
    unit: str = ""


@dataclass(frozen=True)
class Named:
    """An input or an earlier line, and the unit that its number has in a sentence."""

    name: str
    words: str
    unit: str = ""


@dataclass(frozen=True)
class Constant:
    """A constant of nature or of the trade: its words, and its number."""

    words: str
    value: float


@dataclass(frozen=True)
class Phrase:
    """Words with parts between them.

    Attributes:
        parts: texts, and parts of other kinds.
        choice: it is a choice between two ways, set apart by brackets.
        told: it is a sentence of the file of words, which is printed once, with its numbers in it.
    """

    parts: tuple
    choice: bool = False
    told: bool = False


@dataclass(frozen=True)
class Found:
    """What a line before this one found: looked up in a table, or by a helper of formulas."""

    name: str
    said: Phrase

    @property
    def words(self) -> str:
        """Return what was found, without how."""
        parts = self.said.parts
        return HOW.split(parts[0])[0] if parts and isinstance(parts[0], str) else ""


@dataclass(frozen=True)
class Sign:
    """Two parts with + − · or ÷ between them."""

    sign: str
    left: object
    right: object


@dataclass(frozen=True)
class Minus:
    """The negative of a part."""

    part: object


@dataclass(frozen=True)
class Power:
    """A part to the power of another."""

    base: object
    power: object


@dataclass(frozen=True)
class Around:
    """A part inside signs of its own: a root, a logarithm, an absolute value."""

    kind: str
    part: object


# ---- from a formula's line to its parts ----


@cache
def rows() -> dict[tuple[str, str], tuple[str, str]]:
    """Return (calculation, stage or nothing; what the code calls it) -> its words and its unit, or nothing.

    Raises:
        ValueError: a row is not complete, or stands twice.
    """
    found: dict[tuple[str, str], tuple[str, str]] = {}
    lines = [(line, row) for line, row in cells.rows_of(cells.text_of(DATA / FILE)) if any(row)]
    for line, row in lines[1:]:
        if len(row) != 4 or not row[1] or not (row[2] or row[3]):
            raise ValueError(f"{FILE}:{line}: a row is where, what the code calls it, its words, its unit")
        if (row[0], row[1]) in found:
            raise ValueError(f"{FILE}:{line}: {row[1]} stands twice")
        found[row[0], row[1]] = row[2], row[3]
    return found


class Reader:
    """Reads the lines of one formula.

    Arguments:
        calculation: the catalogue's name of the formula's calculation.
        kernel: the formula, for the constants and helpers that it sees.
        used: gathers the rows of the file of words that were needed.
    """

    def __init__(self, calculation: str, kernel, used: set | None = None) -> None:
        self.scope = kernel.__globals__
        self.places = (calculation, kernel.__module__.rpartition(".")[2], "")
        self.used = used if used is not None else set()
        self.set, self.started = _numbers_set(kernels.tree(kernel)[0])
        self.found: dict[str, Found] = {}

    def line(self, node: ast.expr):
        """Return the parts of an expression.

        Raises:
            Unsaid: a part of it has no words.
        """
        return self._said(node, {})

    def name(self, name: str) -> str:
        """Return what a person calls a name of the formula."""
        return self._words(name) or name.strip("_").replace("_", " ")

    def unit(self, node: ast.expr) -> str:
        """Return the label of the unit that an expression of the formula comes in, or nothing."""
        unit = self._of(ast.unparse(node), 1) or self._of(_called(node), 1)
        return quantities.label(unit) if unit else ""

    def has_words(self, node: ast.expr) -> bool:
        """Tell whether an expression is told in words of its own, and not by the signs and names in it."""
        if isinstance(node, ast.Name | ast.Constant):
            return False
        return bool(self._words(ast.unparse(node)) or self._words(_called(node)))

    def where(self, test: ast.expr | None, called: str) -> str:
        """Return under which condition a line of that name holds: `` where no density limit is given``.

        A condition that has no words is left out, and that something is given, which shows in the line.
        """
        turned = isinstance(test, ast.UnaryOp) and isinstance(test.op, ast.Not)
        held = test.operand if isinstance(test, ast.UnaryOp) and turned else test
        if not isinstance(held, ast.Compare) or len(held.ops) != 1 or type(held.ops[0]) not in OPPOSITES:
            return ""
        sign = OPPOSITES[type(held.ops[0])]() if turned else held.ops[0]
        if isinstance(sign, ast.IsNot):
            return ""
        if isinstance(sign, ast.Is):
            words = self.name(ast.unparse(held.left))
            return f" where {'none' if words == called else f'no {words}'} is given"
        held = ast.Compare(held.left, [sign], held.comparators)
        try:
            return f" where {text(self.line(held))}"
        except Unsaid:
            return ""

    def _words(self, what: str) -> str:
        return self._of(what, 0)

    def _of(self, what: str, column: int) -> str:
        for place in self.places:
            row = rows().get((place, what))
            if row and row[column]:
                self.used.add((place, what))
                return row[column]
        return ""

    def _said(self, node: ast.expr, arguments: Mapping[str, ast.expr], unit: str = ""):
        if isinstance(node, ast.Constant):
            return self._constant(node.value, unit)
        words = self._words(ast.unparse(node))
        if words == UNTOLD:
            raise Unsaid(ast.unparse(node))
        if isinstance(node, ast.Name):
            return self._name(node, words, unit)
        if words:
            return self._phrase(words, {})
        if isinstance(node, ast.BinOp):
            return self._binary(node)
        if isinstance(node, ast.UnaryOp):
            if isinstance(node.op, ast.USub):
                return Minus(self._said(node.operand, arguments))
            return Phrase(("not ", self._said(node.operand, arguments)))
        if isinstance(node, ast.Compare) and len(node.ops) == 1:
            return self._compared(node)
        if isinstance(node, ast.BoolOp):
            word = " and " if isinstance(node.op, ast.And) else " or "
            return Phrase(_joined([self._said(part, arguments) for part in node.values], word, word))
        if isinstance(node, ast.IfExp):
            return self._choice(node)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            return self._call(node, node.func.id)
        raise Unsaid(ast.unparse(node))

    def _constant(self, value, unit: str):
        if value is None:
            return Phrase(("none",))
        if isinstance(value, bool):
            return Phrase(("yes" if value else "no",))
        return Phrase((value,)) if isinstance(value, str) else Figure(value, unit)

    def _name(self, node: ast.Name, words: str, unit: str):
        if node.id in self.found:
            return self.found[node.id]
        if node.id in self.set:
            return Figure(self.set[node.id], unit)
        value = self.scope.get(node.id) if node.id.isupper() else None
        if node.id == "pi":
            return Constant("π", self.scope["pi"])
        if isinstance(value, int | float) and words:
            return Constant(words, value)
        if node.id.isupper():
            raise Unsaid(node.id)
        return Named(node.id, words or self.name(node.id), unit)

    def _phrase(self, words: str, arguments: Mapping[str, ast.expr]) -> Phrase:
        parts: list = []
        at = 0
        for place in PLACE.finditer(words):
            parts.append(words[at : place.start()])
            at = place.end()
            node = arguments.get(place[1]) or ast.parse(place[1], mode="eval").body
            parts.append(self._said(node, {}, quantities.label(place[2]) if place[2] else ""))
        return Phrase(tuple(part for part in (*parts, words[at:]) if part != ""), told=True)

    def _binary(self, node: ast.BinOp):
        left, right = self._said(node.left, {}), self._said(node.right, {})
        if isinstance(node.op, ast.Pow):
            root = _root(node.right)
            if root == 2:
                return Around("root", left)
            return Phrase((ROOTS[root], left)) if root else Power(left, right)
        if isinstance(node.op, ast.Add | ast.Sub) and isinstance(right, Figure) and right.value <= GUARD:
            return left
        signs = {ast.Add: "+", ast.Sub: "−", ast.Mult: "·", ast.Div: "÷"}
        return Sign(signs[type(node.op)], left, right)

    def _compared(self, node: ast.Compare) -> Phrase:
        sign = SIGNS[type(node.ops[0])]
        left, right = self._said(node.left, {}), self._said(node.comparators[0], {})
        if right == Phrase(("none",)):
            return Phrase((left, " is not given" if sign == "is" else " is given"))
        return Phrase((left, f" {sign} ", right))

    def _choice(self, node: ast.IfExp) -> Phrase:
        one, other = self._said(node.body, {}), self._said(node.orelse, {})
        test = node.test
        if isinstance(test, ast.Compare) and isinstance(test.ops[0], ast.Is):
            words = self.name(ast.unparse(test.left))
            asked = "none" if ast.dump(test.left) == ast.dump(node.orelse) else f"no {words}"
            return Phrase((other, ", or ", one, f" where {asked} is given"), choice=True)
        return Phrase((one, " where ", self._said(test, {}), ", otherwise ", other), choice=True)

    def _call(self, node: ast.Call, name: str):
        words = self._words(f"{name}()")
        if words == UNTOLD:
            raise Unsaid(ast.unparse(node))
        if words:
            function = self.scope[name]
            # a calculation that another uses has its inputs' names, a helper those of its arguments
            parameters = getattr(function, "names", None) or list(inspect.signature(function).parameters)
            return self._phrase(words, dict(zip(parameters, node.args, strict=False)))
        parts = [self._said(argument, {}) for argument in node.args]
        if name in ("sqrt", "log", "abs"):
            return Around({"sqrt": "root", "log": "ln", "abs": "size"}[name], parts[0])
        if name == "exp":
            return Power(Phrase(("e",)), parts[0])
        if name in ("ceil", "floor"):
            way = "up" if name == "ceil" else "down"
            return Phrase((parts[0], f", rounded {way} to a whole number"))
        if name in ("min", "max"):
            return _bounded(name, parts, node.args)
        raise Unsaid(ast.unparse(node))


def _called(node: ast.expr) -> str:
    return f"{node.func.id}()" if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) else ""


def _root(power: ast.expr) -> int:
    """Return 2 or 3 where a power is a square or cube root."""
    return {"0.5": 2, "1 / 2": 2, "1 / 3": 3}.get(ast.unparse(power), 0)


def _joined(parts: list, between: str, last: str) -> tuple:
    found: list = [parts[0]]
    for i, part in enumerate(parts[1:], 1):
        found += [last if i == len(parts) - 1 else between, part]
    return tuple(found)


def _bounded(name: str, parts: list, nodes: list) -> Phrase:
    """Say the larger or smaller of parts; one that is fixed is a bound of the other."""
    fixed = [i for i, part in enumerate(parts) if isinstance(part, Figure | Constant)]
    if len(parts) == 2 and len(fixed) == 1:
        bound, other = parts[fixed[0]], parts[1 - fixed[0]]
        return Phrase((other, f", but at {'least' if name == 'max' else 'most'} ", bound))
    inner = next((i for i, node in enumerate(nodes) if _is_call(node, "min" if name == "max" else "max")), -1)
    if len(parts) == 2 and inner >= 0 and isinstance(parts[inner], Phrase):
        held = parts[inner].parts  # "the smaller of ", one, " and ", other
        one, other = (parts[1 - inner], held[1]) if name == "max" else (held[1], parts[1 - inner])
        return Phrase((held[3], ", but between ", one, " and ", other))
    which = {"min": ("smaller", "smallest"), "max": ("larger", "largest")}[name][len(parts) > 2]
    return Phrase((f"the {which} of ", *_joined(parts, ", ", " and ")))


def _is_call(node, name: str) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name


def _numbers_set(tree: ast.FunctionDef) -> tuple[dict[str, float], set[str]]:
    """Return the names that a formula sets once and for all to a number that is written out, and the rest.

    The rest are those that it sets to such a number and to something else.
    """
    found: dict[str, list] = {argument.arg: [None] for argument in tree.args.args}
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            found.setdefault(node.id, []).append(None)
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            value = node.value.value if isinstance(node.value, ast.Constant) else None
            found.setdefault(node.targets[0].id, []).append(value)
    numbers = {name: [v for v in values if type(v) in (int, float)] for name, values in found.items()}
    once = {name: values[0] for name, values in numbers.items() if len(values) == 1 and len(found[name]) == 2}
    return once, {name for name, values in numbers.items() if values and name not in once}


# ---- from the parts to text, and to the markup of a page ----


GIVEN, FOUND = 7, 5  # digits of what was given, and of what was found


def worked(value: float, digits: int = FOUND) -> str:
    """Return a number of the working as it is printed."""
    return numerals.worked(float(value), digits).replace("-", "−", 1)


def _holds(part, values: Mapping[str, str] | None = None) -> int:
    if isinstance(part, Sign):
        return SUM if part.sign in "+−" else PRODUCT
    if isinstance(part, Minus):
        return SIGN
    if isinstance(part, Power):
        return POWER
    if isinstance(part, Phrase):
        # words alone are one thing; words around parts are taken together where signs stand beside them
        alone = len(part.parts) == 1 and isinstance(part.parts[0], str) and "," not in part.parts[0]
        return WHOLE if alone else 0
    if isinstance(part, Found) and not (part.words or values):
        return 0
    if isinstance(part, Named | Found | Constant) and re.search("[ ×]", text(part, values)):
        return POWER  # a power of several words, or of a number with a power of ten, is told by brackets
    return WHOLE


def text(part, values: Mapping[str, str] | None = None) -> str:
    """Return a line as text; with `values`, printed numbers by name, the same line with these put in."""
    if isinstance(part, str):
        return part
    if isinstance(part, Figure):
        return _with_unit(quantities.as_given(part.value), part.unit)
    if isinstance(part, Constant):
        return part.words if values is None else _signed(worked(part.value))
    if isinstance(part, Found):
        if values and part.name in values:
            return _signed(values[part.name])
        return part.words or text(part.said, values)
    if isinstance(part, Named):
        known = values is not None and part.name in values
        return _with_unit(_signed(values[part.name]), part.unit) if known else part.words  # pyright: ignore[reportOptionalSubscript] - known says that it is there
    if isinstance(part, Phrase):
        return "".join(_in_words(inner, values, part.told) for inner in part.parts)
    if isinstance(part, Minus):
        return f"−{_held(part.part, SIGN, values)}"
    if isinstance(part, Power):
        return _power(part, values)
    if isinstance(part, Around):
        inner = text(part.part, values)
        if part.kind == "size":
            return f"|{inner}|"
        return f"{'√' if part.kind == 'root' else 'ln'}({inner})"
    assert isinstance(part, Sign)
    least = SUM if part.sign in "+−" else PRODUCT
    behind = least + (part.sign in "−÷")
    return f"{_held(part.left, least, values)} {part.sign} {_held(part.right, behind, values)}"


def _in_words(part, values, told) -> str:
    """Return a part between words: a choice is set apart by brackets, and a constant tells its number."""
    if isinstance(part, Constant) and (told or values is None):
        return f"{part.words} ({worked(part.value)})"
    inner = text(part, values)
    return f"({inner})" if isinstance(part, Phrase) and part.choice else inner


def _power(part: Power, values) -> str:
    base = _held(part.base, WHOLE, values)
    if isinstance(part.power, Figure) and part.power.value == int(part.power.value):
        raised = quantities.as_given(part.power.value).translate(RAISED)
        return f"{base}{raised}"
    return f"{base} to the power of {_held(part.power, WHOLE, values)}"


def _held(part, least: int, values) -> str:
    inner = text(part, values)
    return inner if _holds(part, values) >= least else f"({inner})"


def _signed(number: str) -> str:
    return f"({number})" if number.startswith("−") else number


def _with_unit(number: str, unit: str) -> str:
    return f"{number}{NBSP}{unit}" if unit else number


def apart(part) -> tuple[str, ...]:
    """Return the names of the two numbers of which a line is the difference, or nothing."""
    if isinstance(part, Phrase) and part.parts and not part.told:
        return apart(part.parts[0])
    if isinstance(part, Sign) and part.sign == "−":
        sides = (part.left, part.right)
        names = [side.name for side in sides if isinstance(side, Named | Found)]
        return tuple(names) if len(names) == len(sides) else ()
    return ()


def is_told(part) -> bool:
    """Tell whether a line is a sentence: it is printed once, with its numbers in it."""
    return isinstance(part, Phrase) and part.told


def markup(part, values: Mapping[str, str] | None = None) -> str:
    """Return a line as HTML: what stands in a row as text, which a narrow screen wraps, the rest as MathML.

    Each name and constant carries what the page needs to put its number in. With `values` the numbers
    stand in it already, and the names beside them.
    """
    if isinstance(part, str):
        return escape(part)
    if isinstance(part, Phrase):
        return "".join(_marked_in_words(inner, values, part.told) for inner in part.parts)
    if isinstance(part, Named):
        words = "" if values is None else f' data-w="{escape(part.words)}"'
        return f"<span{_data(part)}{words}>{escape(text(part, values))}</span>"
    if isinstance(part, Found | Constant):
        return f"<span{_data(part)}>{escape(text(part, values if isinstance(part, Found) else None))}</span>"
    if isinstance(part, Figure):
        return escape(text(part))
    if isinstance(part, Sign | Minus) and not any(map(_is_high, parts_of(part))):
        return _in_a_row(part, values)
    return f"<math>{_math(part)}</math>"


def _is_high(part) -> bool:
    """Tell whether a part is drawn higher than a line of text: a fraction, a power, a root."""
    return isinstance(part, Power | Around) or (isinstance(part, Sign) and part.sign == "÷")


def _in_a_row(part, values) -> str:
    if isinstance(part, Minus):
        return f"−{_marked_held(part.part, SIGN, values)}"
    if not isinstance(part, Sign):
        return markup(part, values)
    least = SUM if part.sign in "+−" else PRODUCT
    behind = _marked_held(part.right, least + (part.sign == "−"), values)
    return f"{_marked_held(part.left, least, values)} {part.sign} {behind}"


def _marked_held(part, least: int, values) -> str:
    if _holds(part) >= least:
        return _in_a_row(part, values)
    if isinstance(part, Found):  # a number in its place needs no brackets
        return f"<span{_data(part)}>({escape(text(part))})</span>"
    return f"({_in_a_row(part, values)})"


def _marked_in_words(part, values, told) -> str:
    if isinstance(part, Constant):
        words = escape(_in_words(part, values, told))
        return words if told else f"<span{_data(part)}>{words}</span>"
    inner = markup(part, values)
    return f"({inner})" if isinstance(part, Phrase) and part.choice else inner


def _data(part: Named | Found | Constant) -> str:
    if isinstance(part, Constant):
        return f' data-v="{part.value:.9g}"'
    unit = "" if isinstance(part, Found) else f' data-u="{escape(part.unit)}"' if part.unit else ""
    return f' data-n="{escape(part.name)}"{unit}'


def _math(part) -> str:
    if isinstance(part, str):
        return f"<mtext>{escape(_edged(part))}</mtext>"
    if isinstance(part, Figure):
        return f"<mn>{text(part)}</mn>"
    if isinstance(part, Named | Found | Constant):
        words = part.words or f"({text(part)})"
        return f"<mi{_data(part)}>{escape(words)}</mi>"
    if isinstance(part, Phrase):
        inner = "".join(_math(inner) for inner in part.parts)
        return inner if len(part.parts) == 1 else f"<mrow>{inner}</mrow>"
    if isinstance(part, Minus):
        return f"<mrow><mo>−</mo>{_math_held(part.part, SIGN)}</mrow>"
    if isinstance(part, Power):
        return f"<msup>{_math_held(part.base, WHOLE)}{_math(part.power)}</msup>"
    if isinstance(part, Around):
        inner = _math(part.part)
        if part.kind == "root":
            return f"<msqrt>{inner}</msqrt>"
        if part.kind == "size":
            return f"<mrow><mo>|</mo>{inner}<mo>|</mo></mrow>"
        return f"<mrow><mi>ln</mi><mo>(</mo>{inner}<mo>)</mo></mrow>"
    assert isinstance(part, Sign)
    if part.sign == "÷":
        return f"<mfrac>{_math(part.left)}{_math(part.right)}</mfrac>"
    least = SUM if part.sign in "+−" else PRODUCT
    right = _math_held(part.right, least + (part.sign == "−"))
    return f"<mrow>{_math_held(part.left, least)}<mo>{part.sign}</mo>{right}</mrow>"


def _math_held(part, least: int) -> str:
    inner = _math(part)
    if isinstance(part, Found) or _holds(part) >= least:  # what was found has its brackets among its words
        return inner
    return f"<mrow><mo>(</mo>{inner}<mo>)</mo></mrow>"


def _edged(words: str) -> str:
    """Return words whose spaces at the ends MathML would drop."""
    inner = words.strip(" ")
    before = NBSP if words.startswith(" ") else ""
    return f"{before}{inner}{NBSP if words.endswith(' ') else ''}"


def parts_of(part) -> Iterator[object]:
    """Return a part and all inside it."""
    yield part
    inner = part.parts if isinstance(part, Phrase) else [
        getattr(part, name) for name in ("left", "right", "part", "base", "power") if hasattr(part, name)
    ]  # fmt: skip
    for one in inner:
        yield from parts_of(one)
