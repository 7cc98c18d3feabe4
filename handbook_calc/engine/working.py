"""The working of one result: each line of the formula with the value it took, as a person writes it.

The lines are read from the function itself, so the printed working cannot drift from the code; `phrases`
says them.
"""

import ast
import copy
import inspect
import textwrap
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from handbook_calc.engine import phrases, quantities
from handbook_calc.engine.calculation import Calculation
from handbook_calc.engine.kinds import NUMBERS, UNKNOWN, Kinds
from handbook_calc.engine.phrases import NBSP

CLOSE = 10  # a difference that is so many times smaller than its numbers loses digits


@dataclass(frozen=True)
class Line:
    """One line of a formula that gives a number.

    Attributes:
        number: its place among the lines that are noted.
        name: what the code calls what is set; empty for what the formula gives back, a name of its own for
            what is found inside another line.
        said: its parts, to be written out.
        words: what a person calls what is set, and where; empty for what is found inside another line.
        result: the result that it gives back, or nothing.
        unit: label of its unit.
    """

    number: int
    name: str
    said: Any
    words: str
    result: str
    unit: str

    @property
    def is_plain(self) -> bool:
        """Tell whether there is nothing to say between what is set and what it comes to."""
        return isinstance(self.said, phrases.Figure) or phrases.text(self.said) == self.words

    def with_unit(self, text: str) -> str:
        """Return what the line comes to, printed before, with its unit."""
        return f"{text}{NBSP}{self.unit}" if self.unit else text


@dataclass(frozen=True)
class Step:
    """A line that was used.

    Attributes:
        line: the line.
        value: what it came to.
        shown: the same as it is printed.
        known: the printed numbers of what came before.
    """

    line: Line
    value: float
    shown: str
    known: dict[str, str]

    @property
    def number(self) -> int:
        """Return the line's place among the lines that are noted."""
        return self.line.number

    def __str__(self) -> str:
        said = self.line.said
        filled = phrases.text(said, self.known)
        found = [self.line.words]
        if phrases.is_told(said):
            found.append(filled)
        elif not self.line.is_plain:
            found.append(phrases.text(said))
            found += [] if filled == self.shown.partition(NBSP)[0] else [filled]
        found.append(self.shown)
        # what stands twice in a row says nothing more
        return " = ".join(one for one, before in zip(found, ["", *found], strict=False) if one != before)


class Noted(NamedTuple):
    """What one note is about.

    Attributes:
        name: what the code sets; empty for what the formula gives back.
        expression: what it is set to; what is noted inside it stands there by its name.
        where: the condition under which it was set so, or None.
        given_back: it stands in what the formula gives back.
    """

    name: str
    expression: ast.expr
    where: ast.expr | None = None
    given_back: bool = False


class Noting(ast.NodeTransformer):
    """Wraps each number that a formula sets or gives back outside loops in ``note(step, value)``.

    What is looked up, or found by a helper, inside a line is a step of its own before that line, and of a
    choice each way is. Steps are counted in that order; `lines` holds what each is about. What is found by
    trial, in a loop, or begins as a plain number, is noted where a line uses it; the place that a
    `place_in_list` finds is no step.

    Arguments:
        note: name of the function that notes.
        tree: the formula.
        reader: knows the formula, and what in it has words.
    """

    def __init__(self, note: str, tree: ast.FunctionDef, reader: phrases.Reader) -> None:
        self.note = note
        self.scope = reader.scope
        self.reader = reader
        self.kinds = Kinds(tree, reader.scope)
        self.moving = {
            node.id
            for loop in ast.walk(tree)
            if isinstance(loop, ast.For | ast.While | ast.AugAssign)
            for node in ast.walk(loop)
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
        }
        # No line of their own has told these when a line uses them.
        self.untold = self.moving | reader.started
        self.lines: list[Noted] = []

    def visit_For(self, node):
        return node

    def visit_While(self, node):
        return node

    def visit_Assign(self, node):
        target = node.targets[0]
        if len(node.targets) == 1 and isinstance(target, ast.Name) and target.id not in self.moving:
            node.value = self._line(target.id, node.value)
        return node

    def visit_Return(self, node):
        if isinstance(node.value, ast.Dict):
            for i, (key, value) in enumerate(zip(node.value.keys, node.value.values, strict=True)):
                stands = isinstance(value, ast.Name) and value.id not in self.moving  # it was a line already
                if isinstance(key, ast.Constant) and not stands:
                    node.value.values[i] = self._line(str(key.value), value, given_back=True)
        elif node.value is not None and not isinstance(node.value, ast.Name):
            node.value = self._line("", node.value, given_back=True)
        return node

    def _line(self, name, value, where=None, given_back=False):
        if isinstance(value, ast.IfExp) and not self.reader.has_words(value) and self._is_number(value):
            value.body = self._line(name, value.body, value.test, given_back)
            value.orelse = self._line(name, value.orelse, ast.UnaryOp(ast.Not(), value.test), given_back)
            return value
        if not self._is_number(value) and not (where and isinstance(value, ast.Constant)):
            return value
        if not self.reader.has_words(value):
            self._look_inside(value)
        return self._noted(name, value, where, given_back)

    def _look_inside(self, node) -> None:
        for field, value in ast.iter_fields(node):
            if isinstance(value, ast.expr):
                setattr(node, field, self._found(value))
            elif isinstance(value, list) and isinstance(node, ast.Call):
                setattr(node, field, [self._found(one) for one in value])

    def _found(self, node):
        if isinstance(node, ast.Name):
            untold = node.id in self.untold and self._is_number(node)
            return self._noted(node.id, node) if untold else node
        if self.reader.has_words(node):
            return self._noted(f"_{len(self.lines)}", node) if self._is_number(node) else node
        self._look_inside(node)
        return node

    def _noted(self, name, value, where=None, given_back=False):
        self.lines.append(Noted(name, _Read(self).visit(copy.deepcopy(value)), where, given_back))
        step = ast.Constant(len(self.lines) - 1)
        return ast.Call(ast.Name(self.note, ast.Load()), [step, value], [])

    def _is_number(self, value) -> bool:
        if isinstance(value, ast.Constant | ast.List):
            return False
        called = self.scope.get(getattr(value.func, "id", "")) if isinstance(value, ast.Call) else None
        if getattr(called, "place_in_list", False):
            return False
        return self.kinds.of(value) in (*NUMBERS, UNKNOWN)


class _Read(ast.NodeTransformer):
    """Puts the name of what is noted inside an expression in its place."""

    def __init__(self, noting: Noting) -> None:
        self.noting = noting

    def visit_Call(self, node):
        if isinstance(node.func, ast.Name) and node.func.id == self.noting.note:
            step = node.args[0]
            assert isinstance(step, ast.Constant)
            assert isinstance(step.value, int)
            return ast.Name(self.noting.lines[step.value].name, ast.Load())
        return self.generic_visit(node)


@cache
def noted(calculation: Calculation) -> tuple[Any, tuple[Noted, ...]]:
    """Return the compiled noting twin of a calculation's formula, and what each step is about."""
    kernel = calculation.kernel
    tree = ast.parse(textwrap.dedent(inspect.getsource(kernel)))
    function = tree.body[0]
    assert isinstance(function, ast.FunctionDef)
    function.decorator_list = []
    noting = Noting("__note", function, phrases.Reader(calculation.name, kernel))
    noting.visit(tree)
    lines = tuple(noting.lines)
    code = compile(ast.fix_missing_locations(tree), inspect.getsourcefile(kernel) or "formula", "exec")
    return code, lines


@cache
def lines_of(calculation: Calculation) -> tuple[Line | None, ...]:
    """Return the lines of a formula; None for one that has no words, because it gives no number."""
    reader = phrases.Reader(calculation.name, calculation.kernel)
    own = {result.name: quantities.label(result.unit) for result in calculation.results}
    (first, *others) = own
    found: list[Line | None] = []
    for number, (name, expression, where, returned) in enumerate(noted(calculation)[1]):
        result = name or ("" if others else first)
        try:
            said = reader.line(expression)
        except phrases.Unsaid:
            found.append(None)
            continue
        if inside(name):
            assert isinstance(said, phrases.Phrase)
            reader.found[name] = phrases.Found(name, said)
            found.append(Line(number, name, said, "", "", reader.unit(expression)))
            continue
        returned = returned or _is_given_back(calculation.kernel, name, first)
        given_back = result if result in own and returned else ""
        called = reader.name(result)
        if result in own and result in calculation.names:
            called += " sought"  # not the one that was given: time sought = time · ...
        unit = own[given_back] if given_back else reader.unit(ast.Name(result))
        found.append(Line(number, name, said, called + reader.where(where, called), given_back, unit))
    return tuple(found)


def inside(name: str) -> bool:
    """Tell whether a name is that of what is found inside another line."""
    return name[:1] == "_"


def _is_given_back(kernel, name: str, first: str) -> bool:
    """Tell whether a name of a formula is what it gives back under that name, so that the unit is its own."""
    for node in ast.walk(ast.parse(textwrap.dedent(inspect.getsource(kernel)))):
        if not isinstance(node, ast.Return):
            continue
        if isinstance(node.value, ast.Name) and node.value.id == name == first:
            return True
        if isinstance(node.value, ast.Dict):
            for key, value in zip(node.value.keys, node.value.values, strict=True):
                if isinstance(key, ast.Constant) and key.value == name == getattr(value, "id", ""):
                    return True
    return False


def working(calculation: Calculation, values: dict) -> list[Step]:
    """Return the lines of the formula that were used, with the numbers they gave.

    Arguments:
        calculation: a calculation of the catalogue.
        values: its inputs by name, in declared units; taken as checked.
    """
    code, _ = noted(calculation)
    lines = lines_of(calculation)
    used: list[tuple[Line, float]] = []

    def note(number, value):
        line = lines[number]
        if line and _is_figure(value):
            used.append((line, value))
        return value

    scope = dict(calculation.kernel.__globals__, __note=note)
    exec(code, scope)  # the code is the package's own formula, read from its own file
    calculation._compute([values[name] for name in calculation.names], scope[calculation.kernel.__name__])
    numbers = {name: value for name, value in values.items() if _is_figure(value)}
    return _told(used, numbers)


def _told(used: list[tuple[Line, float]], given: dict[str, float]) -> list[Step]:
    """Return the lines that were used as steps; what two of them look up is told once."""
    close = _close(used, given)
    known = {name: phrases.worked(value, phrases.GIVEN) for name, value in given.items()}
    steps: dict[str, Step] = {}
    for line, value in used:
        text = phrases.worked(value, phrases.GIVEN if line.name in close else phrases.FOUND)
        step = Step(line, value, line.with_unit(text), dict(known))
        steps.setdefault(str(step), step)
        if line.name:
            known[line.name] = text
    return list(steps.values())


def _close(used: list[tuple[Line, float]], given: dict[str, float]) -> set[str]:
    """Return the names of numbers that lie so close together that their difference needs more digits."""
    numbers, found = dict(given), set()
    for line, value in used:
        names = phrases.apart(line.said)
        one, other = [numbers.get(name, 0) for name in names] or (0, 0)
        if abs(one - other) * CLOSE < abs(one):
            found |= set(names)
        if line.name:
            numbers[line.name] = value
    return found


def _is_figure(value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
