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
    """One line of the working: what is set, the expression, and the value it took."""

    name: str
    expression: str
    value: float

    def __str__(self) -> str:
        equals = f"{self.name} = {self.expression}" if self.name else self.expression
        return f"{equals} = {significant(self.value, 5)}"


class _Noting(ast.NodeTransformer):
    """Wraps the right side of each assignment and return outside loops in a call of `note`."""

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

    @staticmethod
    def _noted(name, value):
        looks_up = isinstance(value, ast.Call) and getattr(value.func, "id", "").startswith("index_")
        if isinstance(value, ast.Constant | ast.List) or looks_up:
            return value
        return ast.Call(
            ast.Name("__note", ast.Load()),
            [ast.Constant(name), ast.Constant(ast.unparse(value)), value],
            [],
        )


@cache
def _noting_kernel(kernel):
    source = textwrap.dedent(inspect.getsource(kernel))
    tree = ast.parse(source)
    function = tree.body[0]
    function.decorator_list = []
    tree = ast.fix_missing_locations(_Noting().visit(tree))
    return compile(tree, inspect.getsourcefile(kernel) or "formula", "exec"), function.name


def working(calculation: Calculation, values: dict) -> list[Step]:
    """Return the lines of the formula that were used, with the numbers they gave.

    Arguments:
        calculation: a calculation of the catalogue.
        values: its inputs by name, in declared units; taken as checked.
    """
    steps: list[Step] = []

    def note(name, expression, value):
        if isinstance(value, int | float) and not isinstance(value, bool):
            steps.append(Step(name, expression, value))
        return value

    code, name = _noting_kernel(calculation.kernel)
    scope = dict(calculation.kernel.__globals__, __note=note)
    exec(code, scope)  # the code is the package's own formula, read from its own file
    calculation._compute(values, scope[name])
    return steps
