"""The formula in type: a function's own lines as MathML, so that the printed formula is the code."""

import ast
from html import escape

from handbook_calc.engine.quantities import as_given
from handbook_calc.engine.working import noted

BINDS = {
    ast.Or: 1, ast.And: 2, ast.Compare: 3, ast.Add: 4, ast.Sub: 4, ast.Mult: 5, ast.Div: 5,
    ast.USub: 6, ast.Pow: 7,
}  # fmt: skip
SIGNS = {
    ast.Add: "+", ast.Sub: "−", ast.Mult: "·", ast.Lt: "<", ast.LtE: "≤", ast.Gt: ">", ast.GtE: "≥",
    ast.Eq: "=", ast.NotEq: "≠", ast.Is: "is", ast.IsNot: "is not",
}  # fmt: skip
AROUND = {"abs": ("|", "|"), "floor": ("⌊", "⌋"), "ceil": ("⌈", "⌉")}


def formula(kernel) -> list[str]:
    """Return one MathML element for each step of a formula, in the order of its lines."""
    return [f'<math displaystyle="true">{_row(name, value)}</math>' for name, value in noted(kernel)[1]]


def _row(name: str, value: ast.expr) -> str:
    left = f"{_name(name)}<mo>=</mo>" if name else ""
    return f"<mrow>{left}{_typeset(value)}</mrow>"


def _name(name: str) -> str:
    words = name.strip("_").replace("_", " ")
    return f'<mi mathvariant="normal" data-n="{escape(name)}">{escape(words)}</mi>'


def _binds(node: ast.expr) -> int:
    kind = node.op if isinstance(node, ast.BinOp | ast.UnaryOp | ast.BoolOp) else node
    return BINDS.get(type(kind), 0 if isinstance(node, ast.IfExp) else 9)


def _inside(node: ast.expr, least: int) -> str:
    """Typeset a part, in brackets where it binds more loosely than what stands around it."""
    text = _typeset(node)
    return text if _binds(node) >= least else f"<mo>(</mo>{text}<mo>)</mo>"


def _typeset(node: ast.expr) -> str:
    if isinstance(node, ast.Constant):
        return _constant(node.value)
    if isinstance(node, ast.Name):
        return _name(node.id)
    if isinstance(node, ast.BinOp):
        return _binary(node)
    if isinstance(node, ast.UnaryOp):
        sign = "<mtext>not </mtext>" if isinstance(node.op, ast.Not) else "<mo>−</mo>"
        return f"<mrow>{sign}{_inside(node.operand, 6)}</mrow>"
    if isinstance(node, ast.BoolOp):
        word = " and " if isinstance(node.op, ast.And) else " or "
        parts = [_inside(part, _binds(node) + 1) for part in node.values]
        return f"<mrow>{f'<mtext>{word}</mtext>'.join(parts)}</mrow>"
    if isinstance(node, ast.Compare):
        parts = [_inside(node.left, 4)]
        for operator, right in zip(node.ops, node.comparators, strict=True):
            parts.append(f"<mo>{escape(SIGNS[type(operator)])}</mo>{_inside(right, 4)}")
        return f"<mrow>{''.join(parts)}</mrow>"
    if isinstance(node, ast.IfExp):
        return (
            f"<mrow>{_typeset(node.body)}<mtext> if </mtext>{_typeset(node.test)}"
            f"<mtext>, else </mtext>{_typeset(node.orelse)}</mrow>"
        )
    if isinstance(node, ast.Subscript):
        return f"<msub><mrow>{_typeset(node.value)}</mrow><mrow>{_typeset(node.slice)}</mrow></msub>"
    if isinstance(node, ast.Call):
        return _call(node)
    return f"<mtext>{escape(ast.unparse(node))}</mtext>"


def _constant(value) -> str:
    if isinstance(value, bool) or value is None:
        return f"<mtext>{ {True: 'yes', False: 'no', None: 'not given'}[value] }</mtext>"
    if isinstance(value, str):
        return f"<mtext>{escape(value)}</mtext>"
    return f"<mn>{as_given(value)}</mn>"


def _binary(node: ast.BinOp) -> str:
    if isinstance(node.op, ast.Div):
        return f"<mfrac><mrow>{_typeset(node.left)}</mrow><mrow>{_typeset(node.right)}</mrow></mfrac>"
    if isinstance(node.op, ast.Pow):
        return f"<msup><mrow>{_inside(node.left, 8)}</mrow><mrow>{_typeset(node.right)}</mrow></msup>"
    binds = _binds(node)
    left = _inside(node.left, binds)
    right = _inside(node.right, binds + (1 if isinstance(node.op, ast.Sub) else 0))
    return f"<mrow>{left}<mo>{SIGNS[type(node.op)]}</mo>{right}</mrow>"


def _call(node: ast.Call) -> str:
    name = node.func.id if isinstance(node.func, ast.Name) else ast.unparse(node.func)
    inner = "<mo>,</mo>".join(_typeset(argument) for argument in node.args)
    if name == "sqrt":
        return f"<msqrt>{inner}</msqrt>"
    if name in AROUND:
        before, after = AROUND[name]
        return f"<mrow><mo>{before}</mo>{inner}<mo>{after}</mo></mrow>"
    shown = {"log": "ln"}.get(name, name.strip("_").replace("_", " "))
    return f'<mrow><mi mathvariant="normal">{escape(shown)}</mi><mo>(</mo>{inner}<mo>)</mo></mrow>'
