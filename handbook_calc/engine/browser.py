"""The formulas in JavaScript, made from the same functions that compute the tables.

Nothing here knows a formula. Each function is read from its own file, held to the subset of
`subset`, its global names are resolved, and `to_js`, the one place that knows the translator, turns
the lot into JavaScript.
"""

import ast
import builtins
import inspect
import math
import re
import textwrap

from handbook_calc.engine import figures
from handbook_calc.engine.calculation import CATALOGUE, Calculation, because, refuse
from handbook_calc.engine.subset import complaints
from handbook_calc.engine.working import Noting

# Names of one letter for what a formula names itself, without f and x, which begin other names here.
# The script's own helpers begin with an underscore: the translator takes a capital for a class.
LETTERS = "abcdeghijklmnopqrstuvwyzABCD"
MATHS = {
    math.exp: "exp",
    math.log: "log",
    math.sqrt: "sqrt",
    math.floor: "floor",
    math.ceil: "ceil",
    abs: "abs",
    min: "min",
    max: "max",
    len: "len",
    refuse: "_r",
    because: "_b",
}


class CannotTranslate(ValueError):
    """A formula that cannot be translated: names the function, its file and line."""


def to_js(python: str) -> str:
    """Translate Python source of plain functions to JavaScript; the only use of the translator."""
    import pscript

    script = pscript.py2js(python, docstrings=False)
    # The translator's own helpers for lists are needed for one call only, which JavaScript has.
    script = re.sub(r"_pymeth_append\.call\((\w+), ", r"\1.push(", script)
    script = re.sub(r"^var _pymeth_append = function.*?^};\n", "", script, flags=re.MULTILINE | re.DOTALL)
    script = re.sub(r"\bflx_f\d+ ", "", script)
    lines = filter(None, map(_tight, script.splitlines()))
    return "\n".join(re.sub(r"^((?:\}else )?(?:if|while))\(\((.*)\)\)\{$", _single, line) for line in lines)


def _single(found: re.Match) -> str:
    """Drop the second pair of brackets round a condition, if it is one pair."""
    depth = 0
    for sign in re.sub(r'"(?:[^"\\]|\\.)*"', "", found[2]):
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if depth < 0:
            return found[0]
    return f"{found[1]}({found[2]}){{"


def _tight(line: str) -> str:
    """Return a line without the white space that only a reader would want; texts stay as they are."""
    parts = re.split(r'("(?:[^"\\]|\\.)*")', line.strip())
    for i in range(0, len(parts), 2):
        part = re.sub(r"\s+//.*$", "", parts[i])
        part = re.sub(r"([-+]) (?=[-+])", r"\1\0", part)  # 'a - -b' must not become 'a--b'
        part = re.sub(r" ?([^\w\s\0\"$]) ?", r"\1", part)
        parts[i] = part.replace("\0", " ")
    return "".join(parts)


def script() -> str:
    """Return every formula of the catalogue as one script: ``HB.kernels[name](...)``.

    Raises:
        CannotTranslate: a formula uses what the subset does not have, or what the translator refuses.
    """
    collector = _Collector()
    LONG_TEXTS.clear()
    kernels = {name: collector.function(c.kernel, noted=True) for name, c in CATALOGUE.items()}
    helpers = {
        helper.__name__: collector.function(helper) for helper in (figures.significant, figures.rescale)
    }
    try:
        body = to_js("\n".join(collector.sources))
    except Exception as error:  # the translator raises many kinds; find which function it was
        raise CannotTranslate(_culprit(collector, error)) from error
    constants = "".join(f"var {name}={_constant(value)};\n" for value, name in collector.constants.values())
    names = ",".join(f'"{name}":{function}' for name, function in kernels.items())
    shared = ",".join(f"{name}:{function}" for name, function in helpers.items())
    exports = f"HB.kernels={{{names}}};\nHB.figures={{{shared}}};"
    return f"(function(){{\n{PRELUDE}{constants}{body}\n{exports}\n}})();\n"


PRELUDE = """var HB=window.HB=window.HB||{};
var exp=Math.exp,log=Math.log,sqrt=Math.sqrt,floor=Math.floor,ceil=Math.ceil;
var _r=function(){throw {refused:arguments[0],figures:[].slice.call(arguments,1)};};
var _b=function(){return [].slice.call(arguments);};
var _n=function(step,value){if(HB.steps)HB.steps[step]=value;return value;};
var pick=function(words,which){return which.map(function(i){return words[i];});};
var _g=function(name,values){var kept=HB.steps;HB.steps=null;
try{return HB.guarded(name,values);}finally{HB.steps=kept;}};
"""


def _culprit(collector, error) -> str:
    for function, source in zip(collector.functions, collector.sources, strict=True):
        try:
            to_js(source)
        except Exception as cause:
            line = inspect.getsourcelines(function)[1]
            file = (inspect.getsourcefile(function) or "?").rpartition("handbook_calc/")[2]
            said = str(cause).strip().splitlines()[-1]
            return f"handbook_calc/{file}:{line}: {function.__name__} cannot be translated: {said}"
    return str(error)


def _literal(value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if value is None:
        return "null"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list | tuple):
        return f"[{','.join(map(_literal, value))}]"
    if isinstance(value, float) and value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return repr(value)


# Lists of sentences are data for readers, not part of a formula: they travel with the declarations.
LONG_TEXTS: list = []
LONG = 25


def _constant(value) -> str:
    """Return a list as a literal; one of few words said often is written as a pick from those words."""
    if value and all(isinstance(entry, str) for entry in value):
        if sum(map(len, value)) > LONG * len(value):
            LONG_TEXTS.append(list(value))
            return f"HB.texts[{len(LONG_TEXTS) - 1}]"
        words = list(dict.fromkeys(value))
        if len(words) <= len(value) / 2:
            return f"pick({_literal(words)},[{','.join(str(words.index(entry)) for entry in value)}])"
    return _literal(value)


class _Collector:
    """Gathers functions and the constants they use, each once, under names of its own."""

    def __init__(self) -> None:
        self.names: dict = {}
        self.sources: list[str] = []
        self.functions: list = []
        self.constants: dict[int, tuple] = {}

    def function(self, function, noted: bool = False) -> str:
        """Return the script's name of a function, and gather its source on first sight."""
        if function in self.names:
            return self.names[function]
        wrong = complaints(function)
        if wrong:
            raise CannotTranslate(f"handbook_calc/{wrong[0]} cannot be translated")
        name = f"f{len(self.names)}"
        self.names[function] = name
        tree = ast.parse(textwrap.dedent(inspect.getsource(function))).body[0]
        tree.decorator_list = []
        tree.name = name
        if isinstance(tree.body[0], ast.Expr) and isinstance(tree.body[0].value, ast.Constant):
            del tree.body[0]
        if noted:
            tree = Noting("_n", function.__globals__).visit(tree)
        tree = _Resolver(self, function).visit(tree)
        plain = ast.parse("PSCRIPT_OVERLOAD = False").body
        tree.body = plain + tree.body
        self.sources.append(ast.unparse(ast.fix_missing_locations(tree)))
        self.functions.append(function)
        return name

    def constant(self, value) -> str:
        """Return the script's name of a list."""
        if id(value) not in self.constants:
            self.constants[id(value)] = (value, f"c{len(self.constants)}")
        return self.constants[id(value)][1]


class _Resolver(ast.NodeTransformer):
    """Gives every global name of a function its meaning in the script."""

    def __init__(self, collector: _Collector, function) -> None:
        self.collector = collector
        self.scope = function.__globals__
        names = function.__code__.co_varnames
        self.locals = {name: LETTERS[i] if i < len(LETTERS) else f"x{i}" for i, name in enumerate(names)}

    def visit_arg(self, node):
        node.arg = self.locals[node.arg]
        return node

    def visit_Call(self, node):
        node.args = [self.visit(argument) for argument in node.args]
        if isinstance(node.func, ast.Attribute):
            node.func.value = self.visit(node.func.value)
            return node
        if node.func.id == "_n":
            return node
        called = self.scope.get(node.func.id, getattr(builtins, node.func.id, None))
        if isinstance(called, Calculation):
            return ast.Call(
                ast.Name("_g", ast.Load()),
                [ast.Constant(called.name), ast.List(node.args, ast.Load())],
                [],
            )
        node.func.id = MATHS[called] if called in MATHS else self.collector.function(called)
        return node

    def visit_Name(self, node):
        if node.id in self.locals:
            return ast.Name(self.locals[node.id], node.ctx)
        value = self.scope[node.id]
        if isinstance(value, list | tuple):
            return ast.Name(self.collector.constant(value), ast.Load())
        return ast.Constant(value)

    def visit_For(self, node):
        node.target = self.visit(node.target)
        node.iter.args = [self.visit(argument) for argument in node.iter.args]
        node.body = [self.visit(part) for part in node.body]
        return node
