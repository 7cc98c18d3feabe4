"""What a formula's source says about its declaration: codes it raises, words and names it gives back.

Only what stands there literally is compared; what is looked up in a table of data is left to the tests.
"""

import ast
import inspect
import linecache
import textwrap
from dataclasses import dataclass, field
from functools import cache
from typing import Any, cast

from handbook_calc.engine.faults import shown_file

CODES = ("refuse", "because")
NOTED = (ast.Call, ast.Return, ast.Assign, ast.AugAssign, ast.For)
INNER = (ast.stmt, ast.expr, ast.keyword, ast.comprehension, ast.excepthandler)


@dataclass
class Said:
    """What one formula says, the functions it calls included.

    Attributes:
        codes: ``refuse`` and ``because`` -> code -> file:line where it is raised.
        open: which of the two take a code that is not written out, so that no code can be called unused.
    """

    codes: dict[str, dict[str, str]] = field(default_factory=lambda: {name: {} for name in CODES})
    open: set[str] = field(default_factory=set)


@cache
def tree(function) -> tuple[ast.FunctionDef, str, int]:
    """Return a function's parsed source, its file as messages name it, and the line before its first."""
    code = function.__code__
    lines = linecache.getlines(code.co_filename)
    start = code.co_firstlineno - 1
    while start < len(lines) and not lines[start].startswith("def "):
        start += 1
    end = start + 1
    # A function of a module ends before the next line at the margin; a bracket there still belongs to it.
    while end < len(lines) and (lines[end][0] in " \n\r)" or lines[end].isspace()):
        end += 1
    parsed = None
    if lines[start : start + 1] and lines[start].startswith(f"def {function.__name__}("):
        parsed = ast.parse("".join(lines[start:end])).body[0]
    if not isinstance(parsed, ast.FunctionDef):  # a function inside another, as tests declare them
        found, start = inspect.getsourcelines(function)
        parsed = cast(ast.FunctionDef, ast.parse(textwrap.dedent("".join(found))).body[0])
        start -= 1
    return parsed, shown_file(code.co_filename), start


@cache
def nodes(function) -> tuple[ast.AST, ...]:
    """Return the calls, returns, assignments and loops of a function, in the order of its source."""
    found = []
    waiting: list = [tree(function)[0]]
    while waiting:
        node = waiting.pop()
        if isinstance(node, NOTED):
            found.append(node)
        for name in reversed(node._fields):
            inner = getattr(node, name, None)
            if isinstance(inner, list):
                waiting += [entry for entry in reversed(inner) if isinstance(entry, INNER)]
            elif isinstance(inner, INNER):
                waiting.append(inner)
    return tuple(found)


def said(kernel) -> Said:
    """Return the codes that a formula raises, itself or in a function that it calls."""
    found = Said()
    seen: set = set()
    pending = [kernel]
    while pending:
        function = pending.pop()
        if function in seen:
            continue
        seen.add(function)
        for name, call, place in _raised(function):
            _note(found, name, call, place)
        pending += _called(function)
    return found


@cache
def _called(function) -> tuple:
    """Return the functions of ours that a function calls: in the subset, it names no other."""
    named = (function.__globals__.get(name) for name in function.__code__.co_names)
    return tuple(f for f in named if inspect.isfunction(f) and f.__module__.startswith("handbook_calc"))


@cache
def _raised(function) -> tuple[tuple[str, ast.Call, str], ...]:
    """Return each call of ``refuse`` and ``because`` in a function; the source is read only where one is."""
    if not set(CODES) & set(function.__code__.co_names):
        return ()
    _, file, before = tree(function)
    return tuple(
        (node.func.id, node, f"{file}:{before + node.lineno}")
        for node in nodes(function)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CODES
    )


def _note(found: Said, name: str, call: ast.Call, place: str) -> None:
    first = call.args[0] if call.args else None
    for code in _words(first, {}) or ():
        found.codes[name].setdefault(code, place)
    if _words(first, {}) is None:
        found.open.add(name)


def _words(node, assigned: dict[str, list]) -> list[str] | None:
    """Return the texts that an expression may be, or None where that is not written out."""
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) else [] if node.value is None else None
    if isinstance(node, ast.IfExp):
        parts = [_words(node.body, assigned), _words(node.orelse, assigned)]
    elif isinstance(node, ast.Name) and assigned.get(node.id):
        parts = [_words(value, {}) for value in assigned[node.id]]
    else:
        return None
    return None if None in parts else [word for part in parts for word in part or ()]


def _assigned(function) -> dict[str, list]:
    found: dict[str, list] = {argument.arg: [None] for argument in tree(function)[0].args.args}
    for node in nodes(function):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                name = target.id if isinstance(target, ast.Name) else ""
                found.setdefault(name, []).append(node.value)
        elif isinstance(node, ast.AugAssign | ast.For) and isinstance(node.target, ast.Name):
            found.setdefault(node.target.id, []).append(None)
    return found


def returned_names(kernel) -> list[tuple[list[Any], str]]:
    """Return the keys of each dict that a formula gives back as written, with file:line."""
    _, file, before = tree(kernel)
    return [
        (
            [key.value for key in node.value.keys if isinstance(key, ast.Constant)],
            f"{file}:{before + node.lineno}",
        )
        for node in nodes(kernel)
        if isinstance(node, ast.Return) and isinstance(node.value, ast.Dict)
    ]


def returned_words(kernel, result: str, only: bool) -> tuple[dict[str, str], bool]:
    """Return the words that a formula may give for a result, with file:line, and whether these are all.

    Arguments:
        kernel: the formula.
        result: name of the result.
        only: it is the only result, so that the formula gives back the word itself.
    """
    _, file, before = tree(kernel)
    assigned = _assigned(kernel)
    found: dict[str, str] = {}
    complete = True
    for node in nodes(kernel):
        if not isinstance(node, ast.Return):
            continue
        values = [node.value]
        if not only:
            values = [None]
            if isinstance(node.value, ast.Dict):
                pairs = zip(node.value.keys, node.value.values, strict=True)
                values = [v for k, v in pairs if isinstance(k, ast.Constant) and k.value == result]
        for value in values:
            words = _words(value, assigned)
            complete = complete and words is not None
            found |= {word: f"{file}:{before + node.lineno}" for word in words or ()}
    return found, complete
