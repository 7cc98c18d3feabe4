"""The part of Python that a formula may use, and the wider part that a reader of texts may use.

What is written in this part means the same in every language that has floating point numbers, so that
the pages' own calculators can be made from the very same functions. What is left out is what differs
silently elsewhere: ``%`` and ``//`` of negatives, rounding of halves, keyword arguments, string
formatting, look-ups that may miss. A formula is given checked numbers and words; a reader takes a text
apart sign by sign, so it may also slice, look a sign up, and change text to number.
"""

import ast
import builtins
import inspect
import math
import textwrap
from functools import cache
from typing import cast

from handbook_calc.engine.calculation import Calculation, because, refuse

FORMULA, READER = "formula", "reader"
STATEMENTS = (
    ast.Assign, ast.AugAssign, ast.If, ast.For, ast.While, ast.Break, ast.Continue, ast.Return,
    ast.Expr, ast.Pass,
)  # fmt: skip
EXPRESSIONS = (
    ast.BinOp, ast.UnaryOp, ast.BoolOp, ast.Compare, ast.IfExp, ast.Call, ast.Constant, ast.Name,
    ast.List, ast.Subscript, ast.Dict,
)  # fmt: skip
OPERATORS = (
    ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow, ast.USub, ast.UAdd, ast.Not, ast.And, ast.Or,
    ast.Lt, ast.LtE, ast.Gt, ast.GtE, ast.Eq, ast.NotEq, ast.Is, ast.IsNot,
)  # fmt: skip
FUNCTIONS = (math.exp, math.log, math.sqrt, math.floor, math.ceil, abs, min, max, len, refuse, because)
READERS_EXPRESSIONS = (ast.Tuple, ast.Slice)
READERS_OPERATORS = (ast.In, ast.NotIn)
READERS_FUNCTIONS = (str, float)
INSTEAD = {
    "operator Mod": "write a - b * floor(a / b)",
    "operator FloorDiv": "write floor(a / b)",
    "operator In": "compare with ==, or move it to a function that reads texts",
    "operator NotIn": "compare with !=, or move it to a function that reads texts",
    "call of round": "write floor(a + 0.5)",
    "call of int": "write floor(a)",
    "call of sum": "add up in a loop",
    "call of isinstance": "give the function one kind of value",
    "JoinedStr": "join texts with +",
    "ListComp": "write a loop with append",
    "method join": "join texts with +",
}


def complaints(function, level: str = FORMULA) -> list[str]:
    """Return what a function, or a function it calls, uses outside the subset, as file:line texts.

    Arguments:
        function: a formula, or a function that reads texts.
        level: FORMULA or READER; what a function calls is held to the same level.
    """
    found: list[str] = []
    waiting, seen = [function], {function}
    while waiting:
        texts, callees = _complaints(waiting.pop(), level)
        found += texts
        waiting += [callee for callee in callees if callee not in seen]
        seen |= set(callees)
    return list(dict.fromkeys(found))


def called(scope: dict, name: str):
    """Return the function that a name stands for among these global names, or None."""
    return scope.get(name, getattr(builtins, name, None))


def place(function, start: int, node) -> str:
    """Return file, line and function of a node, the way every complaint begins."""
    file = (inspect.getsourcefile(function) or "?").rpartition("handbook_calc/")[2]
    return f"{file}:{start + node.lineno - 1}: {function.__name__}"


@cache
def _complaints(function, level: str) -> tuple[tuple[str, ...], tuple]:
    lines, start = inspect.getsourcelines(function)
    tree = cast(ast.FunctionDef, ast.parse(textwrap.dedent("".join(lines))).body[0])
    checker = _Checker(function, start, level)
    checker.arguments(tree)
    for statement in tree.body:
        checker.statement(statement)
    return tuple(checker.found), tuple(checker.called)


class _Checker:
    def __init__(self, function, start: int, level: str) -> None:
        self.function = function
        self.scope = function.__globals__
        self.start = start
        self.reads = level == READER
        self.expressions = EXPRESSIONS + (READERS_EXPRESSIONS if self.reads else ())
        self.operators = OPERATORS + (READERS_OPERATORS if self.reads else ())
        self.functions = FUNCTIONS + (READERS_FUNCTIONS if self.reads else ())
        self.locals = set(function.__code__.co_varnames)
        self.found: list[str] = []
        self.called: list = []

    def bad(self, node, text: str) -> None:
        instead = f"; {INSTEAD[text]}" if text in INSTEAD else ""
        self.found.append(f"{place(self.function, self.start, node)}: {text}{instead}")

    def arguments(self, tree) -> None:
        given = tree.args
        if given.vararg or given.kwarg or given.kwonlyargs or given.posonlyargs or given.defaults:
            self.bad(tree, "arguments that are not plain names; give each by its place")

    def statement(self, node) -> None:
        if not isinstance(node, STATEMENTS):
            self.bad(node, f"{type(node).__name__.lower()} statement")
            return
        if isinstance(node, ast.Expr):
            if not isinstance(node.value, ast.Constant):
                self.expression(node.value)
            return
        if isinstance(node, ast.Assign):
            if len(node.targets) != 1 or not isinstance(node.targets[0], ast.Name):
                self.bad(node, "assignment to anything but one name")
            self.expression(node.value)
        elif isinstance(node, ast.AugAssign):
            if not isinstance(node.target, ast.Name):
                self.bad(node, "assignment to anything but one name")
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
            if not (isinstance(step, ast.Constant) and type(step.value) is int and step.value > 0):
                self.bad(node, "a range whose step is not a positive number")
            for argument in call.args[:2]:
                self.expression(argument)
        if node.orelse:
            self.bad(node, "else of a loop")
        counter = node.target.id if isinstance(node.target, ast.Name) else ""
        if not counter:
            self.bad(node, "a loop counter that is not one name")
        for part in node.body:
            for inner in ast.walk(part):
                if isinstance(inner, ast.Name) and isinstance(inner.ctx, ast.Store) and inner.id == counter:
                    self.bad(inner, f"loop counter {counter} is set inside its loop")
            self.statement(part)

    def operator(self, node, operator) -> None:
        if not isinstance(operator, self.operators):
            self.bad(node, f"operator {type(operator).__name__}")

    def expression(self, node) -> None:
        if isinstance(node, ast.Attribute):
            self.bad(node, f".{node.attr}")
        elif not isinstance(node, (*self.expressions, ast.Slice)):
            self.bad(node, f"{type(node).__name__}")
        elif isinstance(node, ast.Call):
            self.call(node)
        elif isinstance(node, ast.Name):
            self._name(node)
        elif isinstance(node, ast.Subscript):
            self.expression(node.value)
            self.expression(node.slice)
        elif isinstance(node, ast.Slice):
            if not self.reads:
                self.bad(node, "slice")
            elif node.step:
                self.bad(node, "slice with a step")
            for bound in filter(None, (node.lower, node.upper)):
                self.expression(bound)
        elif isinstance(node, ast.Dict):
            for key, value in zip(node.keys, node.values, strict=True):
                if not (isinstance(key, ast.Constant) and isinstance(key.value, str)):
                    self.bad(node, "a key that is not a plain text")
                self.expression(value)
        else:
            if isinstance(node, ast.Compare):
                for operator in node.ops:
                    self.operator(node, operator)
            elif isinstance(node, ast.BinOp | ast.BoolOp | ast.UnaryOp):
                self.operator(node, node.op)
            for child in ast.iter_child_nodes(node):
                if isinstance(child, ast.expr):
                    self.expression(child)

    def _name(self, node) -> None:
        if node.id in self.locals:
            return
        if node.id not in self.scope:
            self.bad(node, f"name {node.id}")
        elif not _constant(self.scope[node.id], self.reads):
            kinds = "number, text, list or dict of texts" if self.reads else "number, text or list"
            self.bad(node, f"{node.id} is no {kinds}")

    def call(self, node) -> None:
        if node.keywords or any(isinstance(argument, ast.Starred) for argument in node.args):
            self.bad(node, "an argument by name")
        self._callee(node)
        for argument in node.args:
            self.expression(argument)

    def _callee(self, node) -> None:
        if isinstance(node.func, ast.Attribute):
            if node.func.attr != "append" or not isinstance(node.func.value, ast.Name):
                self.bad(node, f"method {node.func.attr}")
            elif len(node.args) != 1:
                self.bad(node, "append of anything but one value")
            elif node.func.value.id not in self.locals:
                self.bad(node, "append to a list that is not the function's own")
            return
        if not isinstance(node.func, ast.Name):
            self.bad(node, "call of an expression")
            return
        function = None if node.func.id in self.locals else called(self.scope, node.func.id)
        if isinstance(function, Calculation):
            if len(node.args) != len(function.inputs):
                self.bad(node, f"{node.func.id} takes {len(function.inputs)} arguments")
            self.called.append(function.kernel)
        elif function in self.functions:
            if function in (min, max) and len(node.args) < 2:
                self.bad(node, f"{node.func.id} of fewer than two numbers")
            if function is math.log and len(node.args) != 1:
                self.bad(node, "logarithm to a given base")
            if function in (str, float, len, abs) and len(node.args) != 1:
                self.bad(node, f"{node.func.id} of anything but one value")
        elif inspect.isfunction(function) and function.__module__.startswith("handbook_calc."):
            if (
                function.__code__.co_argcount != len(node.args)
                or function.__defaults__
                or function.__kwdefaults__
            ):
                self.bad(node, f"{node.func.id} takes {function.__code__.co_argcount} arguments by place")
            self.called.append(function)
        else:
            self.bad(node, f"call of {node.func.id}")


def _constant(value, reads: bool) -> bool:
    if isinstance(value, dict):
        return reads and all(isinstance(key, str) and _constant(entry, False) for key, entry in value.items())
    if isinstance(value, list | tuple):
        return all(_constant(entry, False) for entry in value)
    return isinstance(value, int | float | str | None)
