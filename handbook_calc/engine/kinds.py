"""What is known of a value in a formula before it runs: a truth, a number, a text, a list.

JavaScript compares, adds and tests some kinds by other rules than Python, so the emitter asks here
before it writes a sign. What depends on the caller is of unknown kind, the empty text.
"""

import ast
import inspect
import math
import textwrap
from functools import cache
from typing import cast

from handbook_calc.engine.subset import called

COUNT, WHOLE, NUMBER = "count", "whole", "number"  # a count is a whole number that is never negative
TRUTH, TEXT, LIST, TABLE, NONE, UNKNOWN = "truth", "text", "list", "table", "none", ""
NOT_YET = "not yet"
NUMBERS = (COUNT, WHOLE, NUMBER)
WHOLES = (COUNT, WHOLE, TRUTH)
CALLS = {
    math.exp: NUMBER, math.log: NUMBER, math.sqrt: NUMBER, abs: NUMBER, float: NUMBER,
    math.floor: WHOLE, math.ceil: WHOLE, len: COUNT, str: TEXT,
}  # fmt: skip


class Kinds:
    """The kinds of a function's names and expressions.

    Arguments:
        tree: the function's definition.
        scope: the global names that it sees, with their values.
        note: name of the call that notes a step of the working and gives its second argument back.
    """

    def __init__(self, tree: ast.FunctionDef, scope: dict, note: str = "") -> None:
        self.scope = scope
        self.note = note
        self.names = {argument.arg: UNKNOWN for argument in tree.args.args}
        set_to: dict[str, list[ast.expr]] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                set_to.setdefault(node.targets[0].id, []).append(node.value)
            elif isinstance(node, ast.AugAssign) and isinstance(node.target, ast.Name):
                left = ast.Name(node.target.id, ast.Load())
                set_to.setdefault(left.id, []).append(ast.BinOp(left, node.op, node.value))
            elif isinstance(node, ast.For) and isinstance(node.target, ast.Name):
                bounds = node.iter.args if isinstance(node.iter, ast.Call) else []
                start = bounds[0] if len(bounds) > 1 else ast.Constant(0)
                set_to.setdefault(node.target.id, []).append(start)
        arguments = set(self.names)
        self.names |= {name: NOT_YET for name in set_to if name not in arguments}
        before: dict = {}
        while before != self.names:  # each turn can only make a kind less certain
            before = dict(self.names)
            for name, values in set_to.items():
                if name not in arguments:
                    self.names[name] = _common([self.of(value) for value in values])

    def of(self, node: ast.expr) -> str:
        """Return the kind of an expression, or the empty text where it is unknown."""
        if isinstance(node, ast.Constant):
            return of_value(node.value)
        if isinstance(node, ast.Compare):
            return TRUTH
        if isinstance(node, ast.List | ast.Tuple):
            return LIST
        if isinstance(node, ast.Dict):
            return TABLE
        if isinstance(node, ast.BoolOp):
            return _common([self.of(part) for part in node.values])
        if isinstance(node, ast.IfExp):
            return _common([self.of(node.body), self.of(node.orelse)])
        if isinstance(node, ast.UnaryOp):
            if isinstance(node.op, ast.Not):
                return TRUTH
            return WHOLE if self.of(node.operand) in WHOLES else NUMBER
        if isinstance(node, ast.BinOp):
            return self._binary(node)
        if isinstance(node, ast.Name):
            return self.names[node.id] if node.id in self.names else of_value(self.scope.get(node.id))
        if isinstance(node, ast.Subscript):
            return self._entry(node)
        return self._call(node) if isinstance(node, ast.Call) else UNKNOWN

    def _binary(self, node: ast.BinOp) -> str:
        sides = [self.of(node.left), self.of(node.right)]
        if NOT_YET in sides:
            return NOT_YET
        if isinstance(node.op, ast.Add) and not set(sides) <= {*NUMBERS, TRUTH}:
            known = [kind for kind in sides if kind in (TEXT, LIST, *NUMBERS)]
            return (NUMBER if known[0] in NUMBERS else known[0]) if known else UNKNOWN
        if isinstance(node.op, ast.Add | ast.Mult) and all(kind in (COUNT, TRUTH) for kind in sides):
            return COUNT
        if isinstance(node.op, ast.Add | ast.Sub | ast.Mult) and all(kind in WHOLES for kind in sides):
            return WHOLE
        return NUMBER

    def _entry(self, node: ast.Subscript) -> str:
        if self.of(node.value) == TEXT:
            return TEXT
        if isinstance(node.slice, ast.Slice):
            return self.of(node.value)
        return _common([of_value(value) for value in self._values(node)])

    def _values(self, node: ast.expr) -> list:
        """Return all that a look-up in a constant of the module can give."""
        if isinstance(node, ast.Name) and node.id not in self.names:
            return [self.scope.get(node.id)]
        if not isinstance(node, ast.Subscript):
            return []
        found: list = []
        for value in self._values(node.value):
            found += (
                value.values()
                if isinstance(value, dict)
                else value
                if isinstance(value, list | tuple)
                else []
            )
        return found

    def _call(self, node: ast.Call) -> str:
        if not isinstance(node.func, ast.Name):
            return NONE
        if node.func.id == self.note:
            return self.of(node.args[1])
        function = called(self.scope, node.func.id)
        if function in (min, max):
            kind = _common([self.of(argument) for argument in node.args])
            return WHOLE if kind == TRUTH else kind
        if inspect.isfunction(function) and node.func.id not in self.names:
            return LIST if function.__name__ == "because" else _returned(function)
        return CALLS.get(function, UNKNOWN)


def of_value(value) -> str:
    """Return the kind of a value."""
    if value is None:
        return NONE
    if isinstance(value, bool):
        return TRUTH
    if isinstance(value, int):
        return COUNT if value >= 0 else WHOLE
    kinds = {float: NUMBER, str: TEXT, list: LIST, tuple: LIST, dict: TABLE}
    return kinds.get(type(value), UNKNOWN)


def _common(kinds: list[str]) -> str:
    known = {kind for kind in kinds if kind != NOT_YET}
    if not known:
        return NOT_YET if kinds else UNKNOWN
    if len(known) == 1:
        return known.pop()
    if known <= set(NUMBERS):
        return NUMBER if NUMBER in known else WHOLE
    return UNKNOWN


_asked: set = set()


@cache
def _returned(function) -> str:
    tree = cast(ast.FunctionDef, ast.parse(textwrap.dedent(inspect.getsource(function))).body[0])
    given = [node.value for node in ast.walk(tree) if isinstance(node, ast.Return)]
    if function in _asked or not given or None in given or not ends(tree.body):
        return UNKNOWN  # among them a function that calls itself
    _asked.add(function)
    try:
        kinds = Kinds(tree, function.__globals__)
        return _common([kinds.of(value) for value in given if value])
    finally:
        _asked.discard(function)


def ends(statements: list[ast.stmt]) -> bool:
    """Tell whether a run of statements always ends in a return or a refusal, never after its last line."""
    last = statements[-1]
    if isinstance(last, ast.If):
        return bool(last.orelse) and ends(last.body) and ends(last.orelse)
    if isinstance(last, ast.Expr) and isinstance(last.value, ast.Call):
        return getattr(last.value.func, "id", "") == "refuse"
    return isinstance(last, ast.Return)
