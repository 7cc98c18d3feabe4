r"""One function of the subset as JavaScript that means the same.

Refusal is the default: what has no rule here is refused with file and line. Each rule gives the text
and how strongly its parts hold together, so that brackets stand only where they are needed. Where the
two languages differ, the script calls a helper of `HELPERS`: JavaScript divides by zero, takes an empty
list for true, joins numbers to texts, and gives NaN where Python raises.

Texts are taken as made of signs below U+D800; from there on the two languages count and order signs
differently, so a reader refuses such a sign (``sign >= "\ud800"``) before it looks at a text.
"""

import ast
import inspect
import json
import math
import re
from typing import Any, NamedTuple

from handbook_calc.engine.calculation import Calculation, because, refuse
from handbook_calc.engine.kinds import (
    COUNT,
    LIST,
    NONE,
    NUMBERS,
    TABLE,
    TEXT,
    TRUTH,
    UNKNOWN,
    WHOLES,
    Kinds,
    ends,
)
from handbook_calc.engine.subset import called

SET, CHOICE, OR, AND, EQUAL, ORDER, SUM, PRODUCT, SIGN, CALL, ATOM = range(11)  # weakest first
OPERATORS = {
    ast.Or: ("||", OR), ast.And: ("&&", AND),
    ast.Not: ("!", SIGN), ast.USub: ("-", SIGN), ast.UAdd: ("+", SIGN),
    ast.Eq: ("===", EQUAL), ast.NotEq: ("!==", EQUAL), ast.Is: ("===", EQUAL), ast.IsNot: ("!==", EQUAL),
    ast.Lt: ("<", ORDER), ast.LtE: ("<=", ORDER), ast.Gt: (">", ORDER), ast.GtE: (">=", ORDER),
    ast.Add: ("+", SUM), ast.Sub: ("-", SUM), ast.Mult: ("*", PRODUCT), ast.Div: ("/", PRODUCT),
    ast.Pow: ("_p", CALL), ast.In: ("", SIGN), ast.NotIn: ("!", SIGN),
}  # fmt: skip
FUNCTIONS = {
    math.exp: "exp", math.log: "log", math.sqrt: "sqrt", math.floor: "floor", math.ceil: "ceil", abs: "abs",
    min: "min", max: "max", refuse: "_r", because: "_b", float: "_f", str: "String", len: "",
}  # fmt: skip
NOTE = "_n"
HELPERS = r"""var _x=function(){throw {refused:"no-result",sentence:HB.none,numbers:[]};};
var _m=function(f){return function(a){var y=f(a);if(y!==y&&a===a||!isFinite(y)&&isFinite(a))_x();return y;};};
var _w=function(f){return function(a){if(!isFinite(a))_x();return f(a)+0;};};
var exp=_m(Math.exp),log=_m(Math.log),sqrt=_m(Math.sqrt),floor=_w(Math.floor),ceil=_w(Math.ceil),abs=Math.abs;
var min=function(a){for(var i=1;i<arguments.length;i++)if(arguments[i]<a)a=arguments[i];return a;};
var max=function(a){for(var i=1;i<arguments.length;i++)if(arguments[i]>a)a=arguments[i];return a;};
var _p=function(a,b){if(a===1||a===-1&&(b===1/0||b===-1/0))return 1;
var y=Math.pow(a,b);if(!isFinite(y)&&isFinite(a)&&isFinite(b))_x();return y;};
var _z=function(b){if(b==0)_x();return b;};
var _t=function(a){return a!==a||
(Array.isArray(a)?a.length>0:a&&typeof a=="object"?Object.keys(a).length>0:!!a);};
var _e=function(a,b){if(typeof a=="boolean")a=+a;if(typeof b=="boolean")b=+b;if(a===b)return true;
if(!a||!b||typeof a!="object"||typeof b!="object"||Array.isArray(a)!==Array.isArray(b))return false;
var k=Object.keys(a),l=Object.keys(b);
return k.length===l.length&&k.every(function(i){return l.includes(i)&&_e(a[i],b[i]);});};
var _i=function(a,i){return a[typeof i=="number"&&i<0?i+a.length:i];};
var _f=function(a){if(!/^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(a))
throw Error("no number: "+a);return Number(a);};
"""


class Refused(ValueError):
    """What the emitter has no rule for; `node` is where."""

    def __init__(self, node, text: str) -> None:
        super().__init__(text)
        self.node = node


class Part(NamedTuple):
    """An expression in JavaScript, and the strength of its outermost sign."""

    text: str
    strength: int

    def within(self, least: int) -> str:
        """Return the text, in brackets where it holds together less than what stands around it."""
        return self.text if self.strength >= least else f"({self.text})"


def literal(value) -> str:
    """Return a number, text, list or None as JavaScript; a dict as a Map, which brings no keys of its own.

    Raises:
        ValueError: the value has no exact counterpart.
    """
    if value is None or isinstance(value, bool):
        return json.dumps(value)
    if isinstance(value, str):
        text = json.dumps(value, ensure_ascii=False)
        return re.sub("[\ud800-\udfff\u2028\u2029]", lambda sign: f"\\u{ord(sign[0]):04x}", text)
    if isinstance(value, list | tuple):
        return f"[{','.join(map(literal, value))}]"
    if isinstance(value, dict):
        return f"new Map({literal(list(value.items()))})"
    if (
        not isinstance(value, int | float)
        or not math.isfinite(value)
        or (isinstance(value, int) and abs(value) > 2**53)
    ):
        raise ValueError(f"{value!r} has no exact counterpart")
    if value == int(value) and abs(value) < 1e15:
        return str(int(value)) if value or math.copysign(1, value) > 0 else "-0"
    return re.sub(
        r"(?<![\d.])0(?=\.)", "", re.sub(r"e([+-]?)0*", lambda e: "e" + e[1].strip("+"), repr(value))
    )


def plural(node) -> bool:
    """Tell whether a statement needs braces where one statement is asked for."""
    return isinstance(node, ast.If | ast.For | ast.While | ast.Pass)


class Emitter(ast.NodeVisitor):
    """Writes one function.

    Arguments:
        tree: its definition, held to the subset before.
        scope: the global names that it sees, with their values.
        names: gives the script's name of a `function`, a `constant` and a `calculation`, and gathers them.
    """

    def __init__(self, tree: ast.FunctionDef, scope: dict, names) -> None:
        self.tree, self.scope, self.names = tree, scope, names
        self.kinds = Kinds(tree, scope, NOTE)
        self.arguments = [argument.arg for argument in tree.args.args]
        self.locals = {name: short(i) for i, name in enumerate(self.kinds.names)}
        self.spare: list[str] = []

    def function(self, name: str) -> str:
        """Return the function as JavaScript under the name `name`."""
        body = self.run(self.tree.body)
        body += "" if ends(self.tree.body) else "return null;"
        own = [self.locals[local] for local in self.locals if local not in self.arguments] + self.spare
        declared = f"var {','.join(own)};" if own else ""
        given = ",".join(self.locals[argument] for argument in self.arguments)
        return f"function {name}({given}){{{(declared + body).removesuffix(';')}}}"

    def generic_visit(self, node):
        raise Refused(node, f"{type(node).__name__} has no rule; see engine/subset.py for what is allowed")

    def temporary(self) -> str:
        """Return a new name of the function's own, for a value that is worked out once and used twice."""
        self.spare.append(short(len(self.locals) + len(self.spare)))
        return self.spare[-1]

    def inside(self, node, least: int) -> str:
        """Return an expression, in brackets where the strength around it asks for them."""
        return self.visit(node).within(least)

    # --- statements: each gives its text ---

    def run(self, statements) -> str:
        """Return statements one after the other."""
        return "".join(self.visit(statement) for statement in statements)

    def block(self, statements) -> str:
        """Return what a condition or loop governs, in braces unless it is one plain statement."""
        text = self.run(statements)
        return (
            text
            if len(statements) == 1 and not plural(statements[0]) and text
            else f"{{{text.removesuffix(';')}}}"
        )

    def visit_Pass(self, node):
        return ""

    def visit_Break(self, node):
        return "break;"

    def visit_Continue(self, node):
        return "continue;"

    def visit_Expr(self, node):
        if isinstance(node.value, ast.Constant):
            return ""
        call = node.value
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute):
            if call.func.attr != "append" or getattr(call.func.value, "id", "") not in self.locals:
                raise Refused(
                    node, f"method {call.func.attr} of this has no rule; allowed is append to an own list"
                )
            return f"{self.inside(call.func.value, CALL)}.push({self.inside(call.args[0], SET)});"
        return f"{self.visit(call).text};"

    def visit_Assign(self, node):
        if len(node.targets) != 1 or not isinstance(node.targets[0], ast.Name):
            raise Refused(node, "assignment to anything but one name")
        return f"{self.locals[node.targets[0].id]}={self.visit(node.value).text};"

    def visit_AugAssign(self, node):
        if not isinstance(node.target, ast.Name):
            raise Refused(node, "assignment to anything but one name")
        left = ast.copy_location(ast.Name(node.target.id, ast.Load()), node)
        whole = self.visit(ast.copy_location(ast.BinOp(left, node.op, node.value), node)).text
        name, sign = self.locals[left.id], OPERATORS[type(node.op)][0]
        if isinstance(node.op, ast.Pow):
            return f"{name}={whole};"
        value = self.inside(node.value, SET)
        return f"{name}{sign}={self.divisor(node.value) if isinstance(node.op, ast.Div) else value};"

    def visit_Return(self, node):
        text = self.visit(node.value).text if node.value else "null"
        return f"return{' ' if re.match('[A-Za-z0-9_.]', text) else ''}{text};"

    def visit_If(self, node):
        text = f"if({self.truth(node.test).text}){self.block(node.body)}"
        if not node.orelse:
            return text
        chained = len(node.orelse) == 1 and isinstance(node.orelse[0], ast.If)
        other = self.visit(node.orelse[0]) if chained else self.block(node.orelse)
        return f"{text}else{' ' if other[0] != '{' else ''}{other}"

    def visit_While(self, node):
        return f"while({self.truth(node.test).text}){self.block(node.body)}"

    def visit_For(self, node: Any):  # the subset has seen that it counts over a range
        counter, bounds = node.target.id, node.iter.args
        first = bounds[0] if len(bounds) > 1 else ast.Constant(0)
        last = bounds[1] if len(bounds) > 1 else bounds[0]
        step = self.inside(bounds[2], SET) if len(bounds) > 2 else "1"
        begin, end, name = self.inside(first, SET), self.visit(last), self.locals[counter]
        changed = {
            part.id
            for part in ast.walk(node)
            if isinstance(part, ast.Name) and isinstance(part.ctx, ast.Store)
        }
        bare = name
        if self.read_outside(counter) or counter in {
            part.id for part in ast.walk(last) if isinstance(part, ast.Name)
        }:
            bare = self.temporary()  # JavaScript's counter ends one step further than Python's
        if self.fixed(last, changed):
            start, limit = f"{bare}={begin}", end.within(SUM)
        else:
            limit = self.temporary()
            start = f"{bare}={begin},{limit}={end.text}"
        advance = f"{bare}++" if step == "1" else f"{bare}+={step}"
        if bare == name:
            return f"for({start};{bare}<{limit};{advance}){self.block(node.body)}"
        body = f"{name}={bare};{self.run(node.body)}".removesuffix(";")
        return f"for({start};{bare}<{limit};{advance}){{{body}}}"

    def read_outside(self, counter: str) -> bool:
        """Tell whether a loop's counter is read anywhere but in the bodies of its loops."""
        inner = [
            part
            for loop in ast.walk(self.tree)
            if isinstance(loop, ast.For) and getattr(loop.target, "id", "") == counter
            for statement in loop.body
            for part in ast.walk(statement)
        ]
        reads = [part for part in ast.walk(self.tree) if isinstance(part, ast.Name) and part.id == counter]
        return any(
            isinstance(part.ctx, ast.Load) and not any(part is other for other in inner) for part in reads
        )

    def fixed(self, node, changed: set) -> bool:
        """Tell whether the end of a range stays the same while its loop runs, however often it is asked."""
        if isinstance(node, ast.Name):
            return node.id not in changed
        if isinstance(node, ast.Call):  # the length of a constant is a number in the script
            return self.visit(node).text.isdecimal()
        return isinstance(node, ast.Constant)

    # --- expressions: each gives a Part ---

    def visit_Constant(self, node):
        return self.value(node, node.value)

    def value(self, node, value) -> Part:
        """Return a constant; a negative number is as weak as its sign."""
        try:
            text = literal(value)
        except ValueError as error:
            raise Refused(node, str(error)) from None
        return Part(text, SIGN if text[0] == "-" else ATOM)

    def visit_Name(self, node):
        if node.id in self.locals:
            return Part(self.locals[node.id], ATOM)
        value = self.constant(node)
        if isinstance(value, dict):
            raise Refused(
                node, f"the dict {node.id} may only be looked up, measured or asked for a key with 'in'"
            )
        return (
            Part(self.names.constant(value), ATOM)
            if isinstance(value, list | tuple)
            else self.value(node, value)
        )

    def constant(self, node):
        """Return the value of a module's constant, or None where the node is anything else."""
        return self.scope.get(node.id) if isinstance(node, ast.Name) and node.id not in self.locals else None

    def visit_List(self, node: ast.List | ast.Tuple):
        return Part(f"[{','.join(self.inside(entry, SET) for entry in node.elts)}]", ATOM)

    visit_Tuple = visit_List

    def visit_Dict(self, node):
        entries = []
        for key, value in zip(node.keys, node.values, strict=True):
            if (
                not isinstance(key, ast.Constant)
                or not isinstance(key.value, str)
                or key.value == "__proto__"
            ):
                raise Refused(node, "a key that is not a plain text")
            name = key.value if re.fullmatch(r"[A-Za-z_]\w*", key.value, re.ASCII) else literal(key.value)
            entries.append(f"{name}:{self.inside(value, SET)}")
        return Part(f"{{{','.join(entries)}}}", ATOM)

    def visit_UnaryOp(self, node):
        if type(node.op) not in OPERATORS:
            raise Refused(node, f"operator {type(node.op).__name__} has no rule; allowed are - + not")
        sign, strength = OPERATORS[type(node.op)]
        if isinstance(node.op, ast.Not):
            return Part(f"!{self.truth(node.operand).within(SIGN)}", strength)
        self.numbers(node, node.operand)
        return Part(joined(sign, self.inside(node.operand, SIGN)), strength)

    def visit_BinOp(self, node):
        if not isinstance(node.op, ast.Add | ast.Sub | ast.Mult | ast.Div | ast.Pow):
            raise Refused(node, f"operator {type(node.op).__name__} has no rule; allowed are + - * / **")
        sign, strength = OPERATORS[type(node.op)]
        kinds = {self.kinds.of(node.left), self.kinds.of(node.right)}
        if not isinstance(node.op, ast.Add) or TEXT not in kinds or not kinds <= {TEXT, UNKNOWN}:
            self.numbers(node, node.left, node.right)
        if isinstance(node.op, ast.Pow):
            return Part(f"{sign}({self.inside(node.left, SET)},{self.inside(node.right, SET)})", strength)
        left = self.inside(node.left, strength)
        right = (
            self.divisor(node.right)
            if isinstance(node.op, ast.Div)
            else self.inside(node.right, strength + 1)
        )
        return Part(left + joined(sign, right), strength)

    def numbers(self, node, *operands) -> None:
        """Refuse a sum to do with what is known to be no number."""
        for operand in operands:
            kind = self.kinds.of(operand)
            if kind in (TEXT, LIST, TABLE, NONE):
                raise Refused(node, f"arithmetic with a {kind}; only texts may be added, and only to texts")

    def divisor(self, node) -> str:
        """Return what stands below a line, asked whether it is zero unless it is plainly not."""
        value = node.value if isinstance(node, ast.Constant) else self.constant(node)
        certain = isinstance(value, int | float) and value != 0
        return self.inside(node, SIGN) if certain else f"_z({self.inside(node, SET)})"

    def visit_BoolOp(self, node):
        for part in node.values[:-1]:
            kind = self.kinds.of(part)
            if kind not in (*WHOLES, TEXT):
                raise Refused(node, f"'and' or 'or' gives back a {kind or 'value of unknown kind'}; "
                                    "use it as a condition, or write 'b if a else c'")  # fmt: skip
        return self.both(node, self.visit)

    def both(self, node, each) -> Part:
        """Join the parts of an `and` or `or`."""
        sign, strength = OPERATORS[type(node.op)]
        return Part(sign.join(each(part).within(strength + 1) for part in node.values), strength)

    def truth(self, node) -> Part:
        """Return an expression as a condition: true in JavaScript exactly where Python takes it for true."""
        if isinstance(node, ast.BoolOp):
            return self.both(node, self.truth)
        kind = self.kinds.of(node)
        if kind in (*WHOLES, TEXT):
            return self.visit(node)
        if kind == LIST:
            return Part(f"{self.inside(node, CALL)}.length", CALL)
        return Part(f"_t({self.inside(node, SET)})", CALL)

    def visit_IfExp(self, node):
        test = self.truth(node.test).within(OR)
        return Part(f"{test}?{self.inside(node.body, SET)}:{self.inside(node.orelse, SET)}", CHOICE)

    def visit_Compare(self, node):
        terms = [node.left, *node.comparators]
        if len(node.ops) > 1 and any(isinstance(operator, ast.In | ast.NotIn) for operator in node.ops):
            raise Refused(node, "'in' within a chain; join the two with 'and'")
        pairs = []
        left = self.visit(terms[0]) if not isinstance(node.ops[0], ast.In | ast.NotIn) else None
        for before, operator, term in zip(terms, node.ops, terms[1:], strict=False):
            if isinstance(operator, ast.In | ast.NotIn):
                return self.contains(operator, before, term)
            right = again = self.visit(term)
            if term is not terms[-1] and not isinstance(term, ast.Name | ast.Constant):
                again = Part(self.temporary(), ATOM)
                right = Part(f"{again.text}={right.text}", SET)
            assert left is not None  # an 'in' has returned
            pairs.append(
                self.compared(node, left, operator, right, self.kinds.of(before), self.kinds.of(term))
            )
            left = again
        return pairs[0] if len(pairs) == 1 else Part("&&".join(pair.within(AND + 1) for pair in pairs), AND)

    def compared(self, node, left: Part, operator, right: Part, *kinds: str) -> Part:
        """Return one comparison of two parts of these kinds."""
        sign, strength = OPERATORS[type(operator)]
        if isinstance(operator, ast.Is | ast.IsNot):
            if NONE not in kinds:
                raise Refused(node, "'is' with anything but None; compare with ==")
        elif LIST in kinds or TABLE in kinds:
            raise Refused(node, "comparison of a list; compare its entries")
        elif strength == ORDER:
            if NONE in kinds or (TEXT in kinds and not set(kinds) <= {TEXT, UNKNOWN}):
                raise Refused(node, f"order between {' and '.join(kind or 'unknown' for kind in kinds)}")
        elif not (TEXT in kinds or NONE in kinds or set(kinds) <= set(NUMBERS) or set(kinds) == {TRUTH}):
            return Part(f"{sign[0].strip('=')}_e({left.within(SET)},{right.within(SET)})", SIGN)
        return Part(f"{left.within(strength)}{sign}{right.within(strength + 1)}", strength)

    def contains(self, operator, part, whole) -> Part:
        """Return ``part in whole`` for a text, a list of texts or the keys of a constant dict."""
        value = self.constant(whole)
        if isinstance(value, dict):
            text = f"{self.names.constant(value)}.has({self.inside(part, SET)})"
        else:
            entries = value if isinstance(value, list | tuple) else getattr(whole, "elts", ())
            plain = all(isinstance(getattr(entry, "value", entry), str) for entry in entries)
            if not plain or self.kinds.of(whole) not in (TEXT, LIST, UNKNOWN):
                raise Refused(whole, "'in' something other than a text, a list of texts or a constant dict")
            text = f"{self.inside(whole, CALL)}.includes({self.inside(part, SET)})"
        sign, strength = OPERATORS[type(operator)]
        return Part(sign + text, strength if sign else CALL)

    def visit_Subscript(self, node):
        key, table = node.slice, self.constant(node.value)
        if isinstance(table, dict):
            if isinstance(key, ast.Slice):
                raise Refused(node, "a slice of a dict")
            return Part(f"{self.names.constant(table)}.get({self.inside(key, SET)})", CALL)
        base, kind = self.inside(node.value, CALL), self.kinds.of(key)
        if isinstance(key, ast.Slice):
            if key.step or self.kinds.of(node.value) == TABLE:
                raise Refused(node, "a slice with a step, or of a dict")
            bounds = [bound for bound in (key.lower or ast.Constant(0), key.upper) if bound]
            if any(self.kinds.of(bound) not in (*NUMBERS, UNKNOWN) for bound in bounds):
                raise Refused(node, "a slice whose bound is no number")
            return Part(f"{base}.slice({','.join(self.inside(bound, SET) for bound in bounds)})", CALL)
        if isinstance(key, ast.Constant) and isinstance(key.value, str):
            return Part(f"{base}[{literal(key.value)}]", CALL)
        if kind not in (*NUMBERS, UNKNOWN):
            raise Refused(node, f"look-up by a {kind}; allowed is a number, or a text in a constant dict")
        index = self.visit(key).text
        return Part(f"{base}[{index}]" if kind == COUNT else f"_i({base},{index})", CALL)

    def visit_Call(self, node):
        if not isinstance(node.func, ast.Name) or node.func.id in self.locals:
            raise Refused(node, "call of anything but a function's name; append stands on a line of its own")
        given = ",".join(self.inside(argument, SET) for argument in node.args if node.func.id != "len")
        function = called(self.scope, node.func.id)
        if node.func.id == NOTE:
            name = NOTE
        elif isinstance(function, Calculation):
            return Part(f"_g({self.names.calculation(function.name)},[{given}])", CALL)
        elif function is len:
            return self.length(node.args[0])
        elif function is str and self.kinds.of(node.args[0]) not in WHOLES[:2]:
            raise Refused(node, "str of what is not plainly a whole number; write str(floor(a))")
        elif function not in FUNCTIONS and not inspect.isfunction(function):
            raise Refused(node, f"call of {node.func.id} has no rule")
        else:
            name = FUNCTIONS[function] if function in FUNCTIONS else self.names.function(function)
        return Part(f"{name}({given})", CALL)

    def length(self, node) -> Part:
        """Return a length, of a module's constant as a number."""
        value = self.constant(node)
        if value is not None:
            return Part(str(len(value)), ATOM)
        if self.kinds.of(node) not in (TEXT, LIST, UNKNOWN):
            raise Refused(node, f"len of a {self.kinds.of(node)}; allowed is a text or a list")
        return Part(f"{self.inside(node, CALL)}.length", CALL)


def joined(sign: str, right: str) -> str:
    """Return a sign and what follows it, never two signs that would run together."""
    return f"{sign} {right}" if right[0] in "+-" and right[0] == sign[-1] else sign + right


def short(number: int) -> str:
    """Return the name of a function's own value by its number: a to z, A to Z, then x0, x1 ..."""
    letters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
    return letters[number] if number < len(letters) else f"x{number - len(letters)}"
