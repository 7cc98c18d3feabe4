"""The part of Python that a formula may use.

A formula written in this part means the same in every language that has floating point numbers,
so that the pages' own calculators can be made from the very same functions. What is left out is
what differs silently elsewhere: ``%`` and ``//`` of negatives, rounding of halves, keyword
arguments, string formatting, look-ups that may miss.
"""

import ast
import builtins
import inspect
import math
import textwrap
from functools import cache

from handbook_calc.engine.calculation import Calculation, because, refuse

STATEMENTS = (
    ast.Assign, ast.AugAssign, ast.If, ast.For, ast.While, ast.Break, ast.Continue, ast.Return,
    ast.Expr, ast.Pass,
)  # fmt: skip
EXPRESSIONS = (
    ast.BinOp, ast.UnaryOp, ast.BoolOp, ast.Compare, ast.IfExp, ast.Call, ast.Constant, ast.Name,
    ast.List, ast.Subscript, ast.Dict, ast.Attribute,
)  # fmt: skip
OPERATORS = (
    ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow, ast.USub, ast.UAdd, ast.Not, ast.And, ast.Or,
    ast.Lt, ast.LtE, ast.Gt, ast.GtE, ast.Eq, ast.NotEq, ast.Is, ast.IsNot,
)  # fmt: skip
MATHS = {math.exp, math.log, math.sqrt, math.floor, math.ceil, abs, min, max, len, refuse, because}


def complaints(function) -> list[str]:
    """Return what a formula, or a function it calls, uses outside the subset, as file:line texts."""
    return list(_complaints(function))


@cache
def _complaints(function) -> tuple[str, ...]:
    lines, start = inspect.getsourcelines(function)
    tree = ast.parse(textwrap.dedent("".join(lines))).body[0]
    checker = _Checker(function, start)
    for statement in tree.body:
        checker.statement(statement)
    found = checker.found
    for called in checker.called:
        found += _complaints(called)
    return tuple(dict.fromkeys(found))


class _Checker:
    def __init__(self, function, start: int) -> None:
        self.scope = function.__globals__
        self.file = (inspect.getsourcefile(function) or "?").rpartition("handbook_calc/")[2]
        self.start = start
        self.locals = set(function.__code__.co_varnames)
        self.name = function.__name__
        self.found: list[str] = []
        self.called: list = []

    def bad(self, node, text: str) -> None:
        self.found.append(f"{self.file}:{self.start + node.lineno - 1}: {self.name}: {text}")

    def statement(self, node) -> None:
        if not isinstance(node, STATEMENTS):
            self.bad(node, f"{type(node).__name__.lower()} statement")
            return
        if isinstance(node, ast.Expr):
            if not isinstance(node.value, ast.Constant):
                self.expression(node.value)
            return
        if isinstance(node, ast.Assign):
            if len(node.targets) != 1 or not isinstance(node.targets[0], ast.Name | ast.Subscript):
                self.bad(node, "assignment to anything but one name or entry")
            self.expression(node.value)
        elif isinstance(node, ast.AugAssign):
            self.operator(node, node.op)
            self.expression(node.value)
        elif isinstance(node, ast.Return):
            if node.value is not None:
                self.expression(node.value)
        elif isinstance(node, ast.For):
            self._for(node)
        elif isinstance(node, ast.If | ast.While):
            self.expression(node.test)
            if isinstance(node, ast.While) and node.orelse:
                self.bad(node, "else of a loop")
            for part in [*node.body, *node.orelse]:
                self.statement(part)

    def _for(self, node) -> None:
        call = node.iter
        over_range = (
            isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "range"
        )
        if not over_range:
            self.bad(node, "a loop over anything but range(...)")
        else:
            step = call.args[2] if len(call.args) == 3 else ast.Constant(1)
            if not (isinstance(step, ast.Constant) and step.value > 0):
                self.bad(node, "a range whose step is not a positive number")
            for argument in call.args[:2]:
                self.expression(argument)
        if node.orelse:
            self.bad(node, "else of a loop")
        counter = node.target.id if isinstance(node.target, ast.Name) else ""
        for part in node.body:
            for inner in ast.walk(part):
                if isinstance(inner, ast.Name) and isinstance(inner.ctx, ast.Store) and inner.id == counter:
                    self.bad(inner, f"loop counter {counter} is set inside its loop")
            self.statement(part)

    def operator(self, node, operator) -> None:
        if not isinstance(operator, OPERATORS):
            self.bad(node, f"operator {type(operator).__name__}")

    def expression(self, node) -> None:
        if not isinstance(node, EXPRESSIONS):
            self.bad(node, f"{type(node).__name__}")
            return
        if isinstance(node, ast.Call):
            self.call(node)
        elif isinstance(node, ast.Attribute):
            self.bad(node, f".{node.attr}")
        elif isinstance(node, ast.Name):
            self._name(node)
        elif isinstance(node, ast.Subscript):
            if isinstance(node.slice, ast.Slice):
                self.bad(node, "slice")
            else:
                self.expression(node.value)
                self.expression(node.slice)
        elif isinstance(node, ast.Dict):
            for key, value in zip(node.keys, node.values, strict=True):
                if not (isinstance(key, ast.Constant) and isinstance(key.value, str)):
                    self.bad(node, "a key that is not a plain text")
                self.expression(value)
        else:
            if isinstance(node, ast.Compare):
                for operator in node.ops:
                    self.operator(node, operator)
            elif hasattr(node, "op"):
                self.operator(node, node.op)
            for child in ast.iter_child_nodes(node):
                if isinstance(child, ast.expr):
                    self.expression(child)

    def _name(self, node) -> None:
        if node.id in self.locals:
            return
        if node.id not in self.scope:
            self.bad(node, f"name {node.id}")
        elif not _constant(self.scope[node.id]):
            self.bad(node, f"{node.id} is no number, text or list")

    def call(self, node) -> None:
        if node.keywords or any(isinstance(argument, ast.Starred) for argument in node.args):
            self.bad(node, "an argument by name")
        for argument in node.args:
            self.expression(argument)
        if isinstance(node.func, ast.Attribute):
            if node.func.attr != "append" or not isinstance(node.func.value, ast.Name):
                self.bad(node, f"method {node.func.attr}")
            return
        if not isinstance(node.func, ast.Name):
            self.bad(node, "call of an expression")
            return
        called = self.scope.get(node.func.id, getattr(builtins, node.func.id, None))
        if isinstance(called, Calculation):
            if len(node.args) != len(called.inputs):
                self.bad(node, f"{node.func.id} takes {len(called.inputs)} arguments")
            self.called.append(called.kernel)
        elif called in MATHS:
            if called in (min, max) and len(node.args) < 2:
                self.bad(node, f"{node.func.id} of fewer than two numbers")
            if called is math.log and len(node.args) != 1:
                self.bad(node, "logarithm to a given base")
        elif inspect.isfunction(called) and called.__module__.startswith("handbook_calc."):
            if called.__defaults__ or called.__kwdefaults__:
                self.bad(node, f"{node.func.id} has default arguments")
            self.called.append(called)
        else:
            self.bad(node, f"call of {node.func.id}")


def _constant(value) -> bool:
    if isinstance(value, list | tuple):
        return all(map(_constant, value))
    return isinstance(value, int | float | str | None)
