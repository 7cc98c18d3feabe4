"""The working of one result: each line of the formula with the value it took.

The lines are read from the function itself, so the printed working cannot drift from the code.
"""

import ast
import inspect
import textwrap
from dataclasses import dataclass
from functools import cache

from handbook_calc.engine.calculation import Calculation
from handbook_calc.engine.quantities import significant


@dataclass(frozen=True)
class Step:
    """One line of the working: its number, what is set, the expression, and the value it took."""

    number: int
    name: str
    expression: str
    value: float

    def __str__(self) -> str:
        equals = f"{self.name} = {self.expression}" if self.name else self.expression
        return f"{equals} = {significant(self.value, 5)}"


class Noting(ast.NodeTransformer):
    """Wraps the right side of each assignment and return outside loops in ``note(step, value)``.

    Steps are counted in the order of the source; `lines` holds the name and expression of each.
    `scope` holds the functions that the formula calls: what a `place_in_list` finds is no figure.
    """

    def __init__(self, note: str, scope: dict) -> None:
        self.note = note
        self.scope = scope
        self.lines: list[tuple[str, ast.expr]] = []

    def visit_For(self, node):
        return node

    def visit_While(self, node):
        return node

    def visit_Assign(self, node):
        if len(node.targets) == 1 and isinstance(node.targets[0], ast.Name):
            node.value = self._noted(node.targets[0].id, node.value)
        return node

    def visit_Return(self, node):
        if node.value is not None and not isinstance(node.value, ast.Dict | ast.Name):
            node.value = self._noted("", node.value)
        return node

    def _noted(self, name, value):
        if isinstance(value, ast.Constant | ast.List) or self._looks_up(value):
            return value
        self.lines.append((name, value))
        step = ast.Constant(len(self.lines) - 1)
        return ast.Call(ast.Name(self.note, ast.Load()), [step, value], [])

    def _looks_up(self, value) -> bool:
        called = self.scope.get(getattr(value.func, "id", "")) if isinstance(value, ast.Call) else None
        return getattr(called, "place_in_list", False)


@cache
def noted(kernel) -> tuple:
    """Return the compiled noting twin of a formula, and the name and expression of each step."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(kernel)))
    tree.body[0].decorator_list = []  # pyright: ignore[reportAttributeAccessIssue] - a formula is a function
    noting = Noting("__note", kernel.__globals__)
    noting.visit(tree)
    lines = tuple(noting.lines)
    code = compile(ast.fix_missing_locations(tree), inspect.getsourcefile(kernel) or "formula", "exec")
    return code, lines


def working(calculation: Calculation, values: dict) -> list[Step]:
    """Return the lines of the formula that were used, with the numbers they gave.

    Arguments:
        calculation: a calculation of the catalogue.
        values: its inputs by name, in declared units; taken as checked.
    """
    code, lines = noted(calculation.kernel)
    steps: list[Step] = []

    def note(number, value):
        if isinstance(value, int | float) and not isinstance(value, bool):
            name, expression = lines[number]
            steps.append(Step(number, name, ast.unparse(expression), value))
        return value

    scope = dict(calculation.kernel.__globals__, __note=note)
    exec(code, scope)  # the code is the package's own formula, read from its own file
    calculation._compute([values[name] for name in calculation.names], scope[calculation.kernel.__name__])
    return steps
