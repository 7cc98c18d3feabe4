"""What the emitter writes for each rule, what it refuses, and that its programs mean in V8 what they mean in Python."""

import ast
import importlib.util
import inspect
import json
import math
import re
import warnings

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import examples, for_each

from handbook_calc.engine import browser, emitter, kinds, subset
from handbook_calc.engine.calculation import refuse
from handbook_calc.engine.emitter import Emitter, Refused

SCOPE = {
    name: getattr(math, name) for name in ("exp", "log", "sqrt", "floor", "ceil")
} | {
    "refuse": refuse,
    "SIZES": [1.5, 2, 3],
    "WORDS": ["iron", "copper"],
    "DIGITS": "0123456789",
    "TABLE": {"mm": 0.001, "m": 1},
    "LIMIT": 0.25,
    "BELOW": -2,
    "NOTHING": 0,
}  # fmt: skip


class Names:
    """Gives constants and functions the names that a test can read."""

    def constant(self, value):
        return next(name for name, entry in SCOPE.items() if entry is value)

    def function(self, function):
        return function.__name__

    def calculation(self, name):
        return f'"{name}"'


def emitted(code, **scope):
    tree = ast.parse(code).body[0]
    return Emitter(tree, SCOPE | scope, Names()).function("f")


def expression(text):
    """Return what is written for an expression of a, b, c."""
    start, end = "function f(a,b,c){", "}"
    whole = emitted(f"def f(a, b, c):\n    return {text}\n")
    assert whole.startswith(start)
    return whole.removeprefix(start).removesuffix(end).partition("return")[2].strip()


@for_each(
    "python, javascript",
    [
        # brackets: as few as keep the meaning
        ("a + b + c", "a+b+c"),
        ("a + (b + c)", "a+(b+c)"),
        ("a - b - c", "a-b-c"),
        ("a - (b - c)", "a-(b-c)"),
        ("(a + b) * c", "(a+b)*c"),
        ("a * b + c", "a*b+c"),
        ("a * (b * c)", "a*(b*c)"),
        ("a / 2 / 4", "a/2/4"),
        ("2 / (4 * a)", "2/_z(4*a)"),
        ("a / (b / c)", "a/_z(b/_z(c))"),
        ("a / b * c", "a/_z(b)*c"),
        ("a * (b / 2)", "a*(b/2)"),
        ("-a * b", "-a*b"),
        ("-(a * b)", "-(a*b)"),
        ("-(a + b)", "-(a+b)"),
        ("a - -b", "a- -b"),
        ("a + +b", "a+ +b"),
        ("a - +b", "a-+b"),
        ("- -a", "- -a"),
        ("a * -b", "a*-b"),
        ("a - BELOW", "a- -2"),
        ("BELOW * a", "-2*a"),
        # powers are calls, so that a sign before them stays outside
        ("-a ** b", "-_p(a,b)"),
        ("(-a) ** b", "_p(-a,b)"),
        ("a ** b ** c", "_p(a,_p(b,c))"),
        ("(a ** b) ** c", "_p(_p(a,b),c)"),
        ("a ** -b", "_p(a,-b)"),
        ("2 * a ** 2", "2*_p(a,2)"),
        # below a line
        ("a / LIMIT", "a/.25"),
        ("a / BELOW", "a/-2"),
        ("a / NOTHING", "a/_z(0)"),
        ("a / 0", "a/_z(0)"),
        ("a / -b", "a/_z(-b)"),
        # numbers and texts
        ("0.5", ".5"),
        ("10.0", "10"),
        ("1e-09", "1e-9"),
        ("1.5e-07", "1.5e-7"),
        ("1e22", "1e22"),
        ("123456789012345.6", "123456789012345.6"),
        ("-0.05", "-.05"),
        ("'10\u207b\u00b9'", '"10\u207b\u00b9"'),
        ("'\\ud800\"\\\\\\n'", '"\\ud800\\"\\\\\\n"'),
        ("None", "null"),
        ("True", "true"),
        # comparing
        ("a < b", "a<b"),
        ("(a < b) == (b < c)", "a<b===b<c"),
        ("a < b < c", "a<b&&b<c"),
        ("a < b + 1 <= c", "a<(d=b+1)&&d<=c"),
        ("a + 1 < b", "a+1<b"),
        ("a == b", "_e(a,b)"),
        ("a != b", "!_e(a,b)"),
        ("a == 'iron'", 'a==="iron"'),
        ("a != 'iron'", 'a!=="iron"'),
        ("a * b == 0", "a*b===0"),
        ("WORDS[1] == a", 'c[1]===a'.replace("c", "WORDS")),
        ("a is None", "a===null"),
        ("a is not None", "a!==null"),
        # conditions
        ("b if a < 1 else c", "a<1?b:c"),
        ("b if a else c", "_t(a)?b:c"),
        ("b if floor(a) else c", "floor(a)?b:c"),
        ("(b if a < 1 else c) + 1", "(a<1?b:c)+1"),
        ("a + (b if a < 1 else c)", "a+(a<1?b:c)"),
        ("1 if a < 1 else 2 if a < 2 else 3", "a<1?1:a<2?2:3"),
        ("(1 if a < 1 else 2) if b < 1 else 3", "b<1?a<1?1:2:3"),
        ("1 if (True if a < 1 else False) else 3", "(a<1?true:false)?1:3"),
        ("not a", "!_t(a)"),
        ("not a < b", "!(a<b)"),
        ("not (a < 1 or b < 1)", "!(a<1||b<1)"),
        ("a < 1 or b < 1 and c < 1", "a<1||b<1&&c<1"),
        ("(a < 1 or b < 1) and c < 1", "(a<1||b<1)&&c<1"),
        ("1 if a and b else 2", "_t(a)&&_t(b)?1:2"),
        ("1 if [a] else 2", "[a].length?1:2"),
        # lists, texts, look-ups
        ("[a, b]", "[a,b]"),
        ("(a, b)", "[a,b]"),
        ("a[0]", "a[0]"),
        ("a[b]", "_i(a,b)"),
        ("a[-1]", "_i(a,-1)"),
        ("a[len(a) - 1]", "_i(a,a.length-1)"),
        ("a[0][1]", "a[0][1]"),
        ("a['mass']", 'a["mass"]'),
        ("SIZES[0]", "SIZES[0]"),
        ("len(SIZES)", "3"),
        ("len(TABLE)", "2"),
        ("len(a)", "a.length"),
        ("a[1:]", "a.slice(1)"),
        ("a[:b]", "a.slice(0,b)"),
        ("a[b:c]", "a.slice(b,c)"),
        ("'abc'[0]", '"abc"[0]'),
        ("a + 'mm'", 'a+"mm"'),
        ("a in DIGITS", '"0123456789".includes(a)'),
        ("a not in DIGITS", '!"0123456789".includes(a)'),
        ("a in WORDS", "WORDS.includes(a)"),
        ("a in ('x', 'y')", '["x","y"].includes(a)'),
        ("a in TABLE", "TABLE.has(a)"),
        ("not a in TABLE", "!TABLE.has(a)"),
        ("TABLE[a]", "TABLE.get(a)"),
        ("float(a)", "_f(a)"),
        ("str(len(a))", "String(a.length)"),
        ("str(floor(a))", "String(floor(a))"),
        ("{'mass': a, 'two words': b}", '{mass:a,"two words":b}'),
        ("min(a, b, c)", "min(a,b,c)"),
        ("abs(-a)", "abs(-a)"),
        ("refuse('code', a)", '_r("code",a)'),
    ],
)  # fmt: skip
def test_an_expression_is_written_with_no_bracket_too_many_or_too_few(python, javascript):
    assert expression(python) == javascript


@for_each(
    "python, javascript",
    [
        ("b = a\nreturn b", "var b;b=a;return b"),
        ("a += 1\na -= 1 - a\na *= 2\na /= a\na **= 2\nreturn a", "a+=1;a-=1-a;a*=2;a/=_z(a);a=_p(a,2);return a"),
        ("if a < 1:\n  return 1\nreturn 2", "if(a<1)return 1;return 2"),
        ("if a < 1:\n  return 1\nelif a < 2:\n  return 2\nelse:\n  return 3",
         "if(a<1)return 1;else if(a<2)return 2;else return 3;".removesuffix(";")),
        ("if a < 1:\n  if a < 0:\n    return 1\nelse:\n  return 2\nreturn 3",
         "if(a<1){if(a<0)return 1}else return 2;return 3"),
        ("if a < 1:\n  pass\nelse:\n  a = 1\nreturn a", "if(a<1){}else a=1;return a"),
        ("if a < 1:\n  a = 1\n  a = 2\nreturn a", "if(a<1){a=1;a=2}return a"),
        ("if a < 1:\n  a = 1", "if(a<1)a=1;return null"),
        ("return", "return null"),
        ("refuse('why')", '_r("why")'),
        ("while a < 9:\n  a = a * 2\n  if a > 5:\n    break\nreturn a", "while(a<9){a=a*2;if(a>5)break}return a"),
        ("for i in range(3):\n  a += i\nreturn a", "var b;for(b=0;b<3;b++)a+=b;return a"),
        ("for i in range(1, 9, 2):\n  continue\nreturn a", "var b;for(b=1;b<9;b+=2)continue;return a"),
        ("for i in range(len(SIZES)):\n  a += SIZES[i]\nreturn a", "var b;for(b=0;b<3;b++)a+=SIZES[b];return a"),
        ("for i in range(len(a)):\n  a.append(1)\nreturn a", "var b,c;for(b=0,c=a.length;b<c;b++)a.push(1);return a"),
        ("b = 3\nfor i in range(b):\n  b = b + 1\nreturn b", "var b,c,d;b=3;for(c=0,d=b;c<d;c++)b=b+1;return b"),
        ("for i in range(a):\n  pass\nreturn i", "var b,c;for(c=0;c<a;c++){b=c}return b".replace("{b=c}", "{b=c;}")),
        ("i = 4\nfor i in range(0, i):\n  a += i\nreturn a", "var b,c,d;b=4;for(c=0,d=b;c<d;c++){b=c;a+=b}return a"),
        ("b = []\nb.append(a)\nreturn b", "var b;b=[];b.push(a);return b"),
        ("b = [a]\nif not b:\n  return 1\nreturn 2", "var b;b=[a];if(!b.length)return 1;return 2"),
        ("b = a > 1\nif b:\n  return 1\nreturn 2", "var b;b=a>1;if(b)return 1;return 2"),
        ("'''Words.'''\nreturn a", "return a"),
    ],
)  # fmt: skip
def test_a_statement_is_written_on_one_line(python, javascript):
    body = "".join(f"    {line}\n" for line in python.split("\n"))
    assert emitted(f"def f(a):\n{body}") == f"function f(a){{{javascript}}}".replace("b=c;}", "b=c}")


@pytest.mark.parametrize(
    ("python", "said"),
    [
        ("return a % 2", "operator Mod has no rule; allowed are + - * / **"),
        ("return a // 2", "operator FloorDiv has no rule"),
        ("return a @ 2", "operator MatMult has no rule"),
        ("return ~a", "operator Invert has no rule"),
        ("return round(a)", "call of round has no rule"),
        ("return int(a)", "call of int has no rule"),
        ("return isinstance(a, str)", "call of isinstance has no rule"),
        ("return a.b", "Attribute has no rule"),
        ("return [b for b in a]", "ListComp has no rule"),
        ("return f'{a}'", "JoinedStr has no rule"),
        ("return lambda: a", "Lambda has no rule"),
        ("return {1, 2}", "Set has no rule"),
        ("return (b := a)", "NamedExpr has no rule"),
        ("return {a: 1}", "a key that is not a plain text"),
        ("return {'__proto__': 1}", "a key that is not a plain text"),
        ("with a:\n  pass", "With has no rule"),
        ("try:\n  pass\nfinally:\n  pass", "Try has no rule"),
        ("raise ValueError", "Raise has no rule"),
        ("assert a", "Assert has no rule"),
        ("import math", "Import has no rule"),
        ("b, c = a", "assignment to anything but one name"),
        ("b = c = a", "assignment to anything but one name"),
        ("a[0] = 1", "assignment to anything but one name"),
        ("a[0] += 1", "assignment to anything but one name"),
        ("a.sort()", "method sort of this has no rule; allowed is append to an own list"),
        ("WORDS.append(a)", "method append of this has no rule; allowed is append to an own list"),
        ("b = a.append(1)", "append stands on a line of its own"),
        ("return a or 1", "'and' or 'or' gives back a value of unknown kind; use it as a condition"),
        ("return [a] and 1", "'and' or 'or' gives back a list"),
        ("return a == [1]", "comparison of a list; compare its entries"),
        ("return a is 1", "'is' with anything but None; compare with =="),
        ("return 'a' < 1", "order between text and count"),
        ("return None < a", "order between none and unknown"),
        ("return a + 1 + 'b'", "arithmetic with a text; only texts may be added, and only to texts"),
        ("return 'ab' * 2", "arithmetic with a text"),
        ("return [a] + [a]", "arithmetic with a list"),
        ("return -[a]", "arithmetic with a list"),
        ("a += [1]", "arithmetic with a list"),
        ("return a[::2]", "a slice with a step"),
        ("return a[None:2]", "a slice whose bound is no number"),
        ("return a['m' + a]", "look-up by a text; allowed is a number, or a text in a constant dict"),
        ("return TABLE", "the dict TABLE may only be looked up"),
        ("return a in [1, 2]", "'in' something other than a text, a list of texts or a constant dict"),
        ("return a in SIZES", "'in' something other than"),
        ("return a < 2 in WORDS", "'in' within a chain"),
        ("return str(a)", "str of what is not plainly a whole number; write str(floor(a))"),
        ("return str(0.5)", "str of what is not plainly a whole number"),
        ("return len(0.5)", "len of a number; allowed is a text or a list"),
        ("return 1e999", "inf has no exact counterpart"),
        ("return 9007199254740993", "9007199254740993 has no exact counterpart"),
    ],
)  # fmt: skip
def test_what_has_no_rule_is_refused_in_words(python, said):
    body = "".join(f"    {line}\n" for line in python.split("\n"))
    with pytest.raises(Refused) as caught:
        emitted(f"def f(a):\n{body}")
    assert said in str(caught.value)
    assert caught.value.node.lineno >= 2


def parsed(text: str) -> ast.FunctionDef:
    """Return the one function of a text."""
    (function,) = ast.parse(text).body
    assert isinstance(function, ast.FunctionDef)
    return function


def test_an_unheard_of_node_is_refused_by_default():
    class Novelty(ast.expr):
        pass

    with pytest.raises(Refused, match="Novelty has no rule"):
        Emitter(parsed("def f(a):\n    return a"), {}, Names()).visit(Novelty())


def test_the_subset_and_the_emitters_rules_are_the_same_list():
    rules = {name.removeprefix("visit_") for name in vars(Emitter) if name.startswith("visit_")}
    allowed = subset.STATEMENTS + subset.EXPRESSIONS + subset.READERS_EXPRESSIONS
    assert rules | {"Slice"} == {node.__name__ for node in allowed}  # a slice is written with its subscript
    assert set(emitter.OPERATORS) == set(subset.OPERATORS + subset.READERS_OPERATORS)
    assert set(emitter.FUNCTIONS) == set(subset.FUNCTIONS + subset.READERS_FUNCTIONS)


@pytest.mark.long
def test_writing_every_formula_warns_of_nothing_and_is_the_same_each_time():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        first = browser.formulas()
    assert browser.formulas() == first


# --- the same meaning in V8 ----------------------------------------------------------------------

PLAIN = """
HB.none = "no result";
function plain(v) { return typeof v === "number" && !isFinite(v) ? String(v) : v; }
function tried(f, rows) {
  return JSON.stringify(rows.map(function (row) {
    try { return [JSON.parse(JSON.stringify(f.apply(null, row), function (key, v) { return plain(v); }))]; }
    catch (problem) { if (problem.refused) return problem.refused; throw problem; }
  }));
}
"""


@pytest.fixture(scope="module")
def v8():
    from py_mini_racer import MiniRacer

    engine = MiniRacer()
    engine.eval("var window = this;" + browser.PRELUDE + emitter.HELPERS + PLAIN)
    for name in ("SIZES", "WORDS", "TABLE"):
        engine.eval(f"var {name} = {emitter.literal(SCOPE[name])};")
    yield engine
    engine.close()


class Powers(ast.NodeTransformer):
    """Makes a complex power a fault, as it is to the caller of a formula."""

    def visit_BinOp(self, node):
        self.generic_visit(node)
        if isinstance(node.op, ast.Pow):
            return ast.Call(ast.Name("_power", ast.Load()), [node.left, node.right], [])
        return node

    @staticmethod
    def power(base, exponent):
        value = base**exponent
        if isinstance(value, complex):
            raise ValueError("complex")
        return value


def plain(value):
    if isinstance(value, float) and not math.isfinite(value):
        return "NaN" if value != value else "Infinity" if value > 0 else "-Infinity"
    if isinstance(value, list | tuple):
        return [plain(entry) for entry in value]
    return {key: plain(entry) for key, entry in value.items()} if isinstance(value, dict) else value


def in_python(code, rows):
    """Return what Python answers for rows of arguments: each a list of one value, or the code of a refusal."""
    scope = SCOPE | {"_power": Powers.power}
    tree = ast.fix_missing_locations(Powers().visit(ast.parse(code)))
    exec(compile(tree, "tried", "exec"), scope)
    answers = []
    for row in rows:
        try:
            answers.append([plain(scope["f"](*row))])
        except (ArithmeticError, ValueError):
            answers.append("no-result")
    return answers


def in_v8(v8, codes, rows):
    """Return what V8 answers for each of these functions, asked in one call."""
    written = json.dumps(rows).replace("NaN", "0/0").replace("Infinity", "1/0")
    functions = ",".join(map(emitted, codes))
    return json.loads(v8.eval(f"'['+[{functions}].map(f=>tried(f,{written}))+']'", timeout_sec=20))


def same(ours, theirs, near):
    if isinstance(ours, list):
        return (
            isinstance(theirs, list)
            and len(ours) == len(theirs)
            and all(map(same, ours, theirs, [near] * len(ours)))
        )
    if isinstance(ours, bool) or isinstance(theirs, bool) or not isinstance(ours, int | float):
        return type(ours) is type(theirs) and ours == theirs
    return isinstance(theirs, int | float) and (
        math.isclose(ours, theirs, rel_tol=1e-9) if near else float(ours) == float(theirs)
    )


def agree(v8, codes, rows, near=False):
    codes = [codes] if isinstance(codes, str) else codes
    for code, answers in zip(codes, in_v8(v8, codes, rows), strict=True):
        for row, ours, theirs in zip(rows, in_python(code, rows), answers, strict=True):
            assert same(ours, theirs, near), (code, emitted(code), row, ours, theirs)


EDGES = [
    0.0,
    1.0,
    -1.0,
    0.5,
    -0.5,
    2.0,
    -2.0,
    3.0,
    1e-320,
    1e308,
    -1e308,
    709.0,
    710.0,
    1e16,
    math.inf,
    -math.inf,
    math.nan,
]


@pytest.mark.parametrize(
    "text",
    ["a + b", "a - b", "a * b", "a / b", "a ** b", "-a ** b", "exp(a)", "log(a)", "sqrt(a)", "floor(a) + 0.0",
     "ceil(a) + 0.0", "abs(a)", "min(a, b)", "max(a, b)", "min(a, b, 1)", "a < b", "a <= b", "a == b", "a != b",
     "1 if a else 2", "not a", "exp(-1 / a)", "min(5, 1 / a)", "a < b < 2", "(a < b) == (b < 2)", "a == (b < 2)",
     "(a < 1) + (b < 1)", "-(a < b)"],
)  # fmt: skip
def test_edges_of_the_numbers_end_alike(v8, text):
    """IEEE 754 and, where Python raises, no result in the page either."""
    rows = [[a, b] for a in EDGES for b in EDGES]
    agree(v8, f"def f(a, b):\n    return {text}\n", rows, near=True)


@pytest.mark.parametrize(
    "value", [0, 1, 0.0, -0.0, "", "a", None, True, False, [], [0], [[]], math.nan, {}, {"a": 1}]
)
@pytest.mark.parametrize("other", [0, 1, "", "0", None, True, False, math.nan])
def test_truth_and_likeness_of_every_kind_are_pythons(v8, value, other):
    agree(v8, "def f(a, b):\n    return [a == b, not a, 1 if a else 2, 1 if a or b else 2, 1 if a and b else 2, a is None]\n",
          [[value, other], [other, value], [value, value]] if value == value else [[value, other]])  # fmt: skip


NUMBERS = st.sampled_from(["a", "b", "c", "0", "1", "2", "3.0", "0.5", "0.1", "LIMIT", "BELOW", "SIZES[1]"])


SIGNS = ["<", "<=", ">", ">=", "==", "!="]


@st.composite
def expressions(draw, depth=3):
    """A number or a truth made from a, b, c; every part in brackets, so that the tree is plain."""
    if depth == 0 or draw(st.integers(0, 5)) == 0:
        return draw(NUMBERS)
    kind = draw(
        st.sampled_from(["sum", "sum", "sum", "minus", "min", "max", "abs", "floor", "choice", "truth"])
    )
    if kind == "truth":
        return draw(truths(depth - 1))
    one, two = draw(expressions(depth - 1)), draw(expressions(depth - 1))
    if kind == "sum":
        return f"({one}) {draw(st.sampled_from('+-*/'))} ({two})"
    if kind == "choice":
        return f"({one}) if ({draw(truths(depth - 1))}) else ({two})"
    return {
        "minus": f"-({one})",
        "min": f"min({one}, {two}, 1)",
        "max": f"max({one}, {two})",
        "abs": f"abs({one})",
        "floor": f"floor(max(-100, min(100, {one})))",
    }[kind]


@st.composite
def truths(draw, depth):
    """A comparison, a chain of two, or truths joined."""
    kind = draw(st.sampled_from(["compare", "chain", "and", "or", "not"]))
    if depth and kind in ("and", "or"):
        return f"({draw(truths(depth - 1))}) {kind} ({draw(truths(depth - 1))})"
    if depth and kind == "not":
        return f"not ({draw(truths(depth - 1))})"
    inner = max(depth - 1, 0)
    first, second = draw(expressions(inner)), draw(expressions(inner))
    third = f" {draw(st.sampled_from(SIGNS))} ({draw(expressions(inner))})" if kind == "chain" else ""
    return f"({first}) {draw(st.sampled_from(SIGNS))} ({second}){third}"


ROWS = [[a, b, c] for a in (0.0, 1.0, -2.5, 7.0) for b in (1.0, -1.0, 0.1) for c in (3.0, 0.0)]


def returning(text):
    """Return a function that gives an expression, with no bracket that Python does not need."""
    return f"def f(a, b, c):\n    return {ast.unparse(ast.parse(text))}\n"


@examples(60)
@given(texts=st.lists(expressions(), min_size=5, max_size=20))
@pytest.mark.long
def test_random_expressions_give_the_very_same_number(v8, texts):
    agree(v8, list(map(returning, texts)), ROWS)


SMALL = st.sampled_from(["a", "b", "c", "1.0", "2.0", "3.0"])


@st.composite
def powers(draw, depth=3):
    """Sums and powers of small numbers, every part in brackets."""
    kind = draw(st.sampled_from(["**", "**", "+", "-", "*", "/", "minus"])) if depth else ""
    if not kind or draw(st.integers(0, 4)) == 0:
        return draw(SMALL)
    if kind == "minus":
        return f"-({draw(powers(depth - 1))})"
    return f"({draw(powers(depth - 1))}) {kind} ({draw(powers(depth - 1))})"


@examples(40)
@given(texts=st.lists(powers(), min_size=5, max_size=20))
@pytest.mark.long
def test_random_powers_keep_their_signs_and_order(v8, texts):
    rows = [[a, b, c] for a in (0.0, 1.5, -2.0) for b in (0.5, -1.0, 2.0) for c in (0.0, 2.0, -3.0)]
    agree(v8, list(map(returning, texts)), rows, near=True)


@st.composite
def programs(draw):
    """A small program on a, b, c and the list `kept`, with loops that end."""
    counter = iter(range(100))
    value = expressions(2).map(lambda text: ast.unparse(ast.parse(text)))

    def block(depth, loops, indent):
        lines = []
        for _ in range(draw(st.integers(1, 3))):
            kind = draw(
                st.sampled_from(
                    ["set", "set", "add", "append", "if", "for", "while", "leave"]
                    if depth
                    else ["set", "add"]
                )
            )
            if kind == "set":
                name = draw(st.sampled_from("abcd"))
                # times 1.0, because Python's whole numbers grow without end
                given = draw(truths(1)) if name == "d" else f"1.0 * ({draw(value)})"
                lines.append(f"{indent}{name} = {given}")
            elif kind == "add":
                lines.append(
                    f"{indent}{draw(st.sampled_from('abc'))} {draw(st.sampled_from('+-*/'))}= {draw(value)}"
                )
            elif kind == "append":
                lines.append(f"{indent}kept.append({draw(value)})")
            elif kind == "if":
                lines.append(
                    f"{indent}if {draw(st.sampled_from(['kept', 'not kept', 'a', 'not b', 'd', 'not d']) | value)}:"
                )
                lines += block(depth - 1, loops, indent + "  ")
                if draw(st.booleans()):
                    lines += [f"{indent}else:", *block(depth - 1, loops, indent + "  ")]
            elif kind == "for":
                name = f"n{next(counter)}"
                bounds = draw(
                    st.sampled_from(
                        ["3", "1, 6, 2", "min(3, len(kept))", "2, 2", "floor(min(4, abs(a)))", "len(SIZES)"]
                    )
                )
                lines.append(f"{indent}{name} = 9")
                lines.append(f"{indent}for {name} in range({bounds}):")
                lines += block(depth - 1, True, indent + "  ")
                lines.append(f"{indent}  kept.append({name})")
                if draw(st.booleans()):
                    lines.append(f"{indent}kept.append({name})")
            elif kind == "while":
                name = f"n{next(counter)}"
                lines.append(f"{indent}{name} = 0")
                lines.append(f"{indent}while {name} < 3 and ({draw(value)}):")
                lines.append(f"{indent}  {name} += 1")
                lines += block(depth - 1, True, indent + "  ")
            else:
                word = draw(st.sampled_from(["break", "continue"])) if loops else "return kept"
                lines.append(f"{indent}if {draw(value)}:\n{indent}  {word}")
        return lines

    body = "\n".join(block(2, False, "  "))
    return f"def f(a, b, c):\n  kept = []\n  d = a < b\n{body}\n  return [a, b, c, kept]\n"


@examples(60)
@given(codes=st.lists(programs(), min_size=2, max_size=6))
@pytest.mark.long
def test_random_programs_end_with_the_very_same_values(v8, codes):
    agree(v8, codes, ROWS[::4])


# --- readers of texts ----------------------------------------------------------------------------

READING = '''
from math import floor

DIGITS = "0123456789"
FACTORS = {"mm": 0.001, "m": 1.0, "in": 0.0254}
AFTER = ("mm", "m")
MANY = {"pair": [1, 2.5], "word": "text"}


def read(text):
    """Take a number and a unit apart."""
    at = 0
    while at < len(text) and (text[at] in DIGITS or text[at] == "."):
        at = at + 1
    if at == 0 or text[0:at] == ".":
        return ("no number", at, text[at:])
    unit = text[at:]
    if unit not in FACTORS:
        return ("no unit " + str(at) + " of " + str(len(text)), at, unit)
    if dots(text) > 1:
        return ("dots", dots(text), "")
    return ["", float(text[:at]) * FACTORS[unit], "common" if unit in AFTER else text[-1]]


def dots(text):
    found = []
    for i in range(len(text)):
        if text[i] == ".":
            found.append(i)
    return len(found)


def folds(a):
    return a["x":]


def slices(text):
    return text[1:2]


def looks(text):
    return text in FACTORS


def tells(text):
    return isinstance(text, str)


def inner(text):
    return slices(text)


def adds(a):
    return [a] + [a]


def again(n):
    if n < 1:
        return 1
    return n * again(n - 1)
'''


@pytest.fixture(scope="module")
def reading(tmp_path_factory):
    path = tmp_path_factory.mktemp("reading") / "reading.py"
    path.write_text(READING, encoding="utf-8")
    spec = importlib.util.spec_from_file_location("handbook_calc.reading_tried", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def gathered(function, level):
    collector = browser.Collector()
    name = collector.function(function, level)
    return collector.text(), name


TYPED = [
    "",
    "5mm",
    "5.25in",
    ".5m",
    ".",
    "1.2.3mm",
    "12",
    "12__proto__",
    "3constructor",
    "7toString",
    "x",
    "1e5m",
    "4µm",
    "4 m",
]


def test_a_reader_of_texts_reads_alike_in_both(v8, reading):
    text, name = gathered(reading.read, subset.READER)
    theirs = json.loads(
        v8.eval(f"(function(){{{text};return tried({name},{json.dumps([[t] for t in TYPED])});}})()")
    )
    assert [[plain(reading.read(typed))] for typed in TYPED] == theirs


@examples(60)
@given(typed=st.lists(st.text('0123456789.minE_+-µ "\\\u2028', max_size=9), min_size=1, max_size=20))
def test_random_texts_are_read_alike_in_both(v8, reading, typed):
    text, name = gathered(reading.read, subset.READER)
    theirs = json.loads(
        v8.eval(f"(function(){{{text};return tried({name},{json.dumps([[t] for t in typed])});}})()")
    )
    assert [[plain(reading.read(entry))] for entry in typed] == theirs


@pytest.mark.parametrize(
    "text",
    ["5", "-5", "+.5", "5.", "0.1", "1e3", "12E-2", "00012", "9007199254740993", "0.30000000000000004"],
)
def test_a_plain_decimal_becomes_the_same_number(v8, text):
    agree(v8, "def f(a):\n    return float(a)\n", [[text]])


@pytest.mark.parametrize("text", ["", " 1", "0x10", "Infinity", "1_0", "nan", "1,5", "٣"])
def test_what_is_no_plain_decimal_never_becomes_a_number(v8, text):
    with pytest.raises(Exception, match="no number"):
        v8.eval(f"_f({json.dumps(text)})")


def test_a_dict_constant_has_no_keys_but_its_own(v8):
    rows = [[word] for word in ("mm", "m", "__proto__", "constructor", "toString", "size", "")]
    agree(v8, "def f(a):\n    return TABLE[a] if a in TABLE else -1\n", rows)


def test_signs_below_the_surrogates_are_counted_and_ordered_alike(v8):
    signs = ["a", "é", "µ", "⁵", "×", "\u2212", "\ud7ff", "z", "A"]
    agree(
        v8,
        "def f(a, b):\n    return [a < b, a == b, len(a + b), (a + b)[1], a in 'aé⁵']\n",
        [[a, b] for a in signs for b in signs],
    )
    agree(
        v8,
        "def f(a):\n    return len(a) > 0 and a[0] >= '\\ud800'\n",
        [["\U0001f600"], ["\uff15"], ["5"], [""]],
    )


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("read", r"operator In; compare with ==, or move it to a function that reads texts"),
        ("slices", r"reading\.py:\d+: slices: slice"),
        ("inner", r"reading\.py:\d+: slices: slice"),
        ("looks", r"looks: FACTORS is no number, text or list"),
        ("tells", r"tells: call of isinstance; give the function one kind of value"),
    ],
)
def test_a_formula_may_not_do_what_a_reader_may(reading, name, said):
    function = getattr(reading, name)
    assert re.search(said, "\n".join(subset.complaints(function, subset.FORMULA)))
    with pytest.raises(browser.CannotTranslate, match=r"reading\.py:\d+: "):
        gathered(function, subset.FORMULA)


def test_what_a_reader_may_not_do_is_told_with_file_line_and_function(reading):
    with pytest.raises(browser.CannotTranslate, match=r"reading\.py:\d+: tells: call of isinstance; give"):
        gathered(reading.tells, subset.READER)
    with pytest.raises(
        browser.CannotTranslate, match=r"reading\.py:\d+: folds: a slice whose bound is no number"
    ):
        gathered(reading.folds, subset.READER)
    line = inspect.getsourcelines(reading.adds)[1] + 1
    with pytest.raises(
        browser.CannotTranslate, match=rf"reading\.py:{line}: adds: arithmetic with a list; only"
    ):
        gathered(reading.adds, subset.FORMULA)


def test_a_function_that_calls_itself_is_written_once(v8, reading):
    text, name = gathered(reading.again, subset.FORMULA)
    assert text.count("function f0(") == 1
    assert json.loads(v8.eval(f"(function(){{{text};return tried({name},[[5]]);}})()")) == [
        [reading.again(5)]
    ]


# --- kinds ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        ("x = 1", "count"),
        ("x = -1", "whole"),
        ("x = 0\n  x = x + 1", "count"),
        ("x = 0\n  x = x - 1", "whole"),
        ("x = 0\n  x = x / 2", "number"),
        ("x = 0\n  x = a", ""),
        ("x = 0\n  x = x + a", "number"),
        ("x = a + 'm'", "text"),
        ("x = a < 1", "truth"),
        ("x = not a", "truth"),
        ("x = [a]", "list"),
        ("x = None\n  x = 1", ""),
        ("x = WORDS[0]", "text"),
        ("x = SIZES[0]", "number"),
        ("for x in range(4):\n    pass", "count"),
        ("for x in range(-4, 4):\n    pass", "whole"),
        ("x = len(a)", "count"),
        ("x = floor(a)", "whole"),
        ("x = max(1, 2)", "count"),
        ("x = max(a, 2)", ""),
    ],
)
def test_a_kind_is_claimed_only_where_it_is_certain(body, kind):
    tree = parsed(f"def f(a):\n  {body}\n")
    assert kinds.Kinds(tree, SCOPE).names["x"] == kind
