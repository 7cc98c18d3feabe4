"""What a declaration must hold beyond itself, checked when every stage is there.

House values may be declared after what uses them, and a formula may call a function below it, so this
waits until all stage modules are imported; every fault is told, not only the first.
"""

from collections.abc import Iterator

from handbook_calc.engine import kernels
from handbook_calc.engine.calculation import CATALOGUE, Calculation, Reasons, Verdict
from handbook_calc.engine.defaults import PLACE, FromHouse, house_field
from handbook_calc.engine.faults import BadDeclaration, nearest
from handbook_calc.engine.fields import Field, Quantity
from handbook_calc.engine.quantities import convert


def check() -> None:
    """Check every calculation of the catalogue.

    Raises:
        BadDeclaration: every fault, one a line, each with file and line.
    """
    faults = [fault for declared in CATALOGUE.values() for fault in complaints(declared)]
    if faults:
        raise BadDeclaration("\n".join(dict.fromkeys(faults)))


def complaints(declared: Calculation) -> Iterator[str]:
    """Say, with file and line, what does not fit between a declaration, its formula and the house."""
    at = f"{declared.place}: calculation '{declared.name}': "
    unresolved = False
    for given in declared.given:
        if isinstance(given, FromHouse):
            try:
                _ = given.field
            except BadDeclaration as fault:
                unresolved = True
                yield str(fault)
                continue
            for argument in PLACE.findall(given.key):
                if argument not in declared.names:
                    near = nearest(argument, declared.names)
                    yield f"{given.place}: '{given.key}' names {argument}, which is no input{near}"
    if not unresolved:
        for text in (*_example_complaints(declared), *_limit_complaints(declared)):
            yield at + text
    yield from _formula_complaints(declared, at)


def _example_complaints(declared: Calculation) -> Iterator[str]:
    for entry in declared.inputs:
        if entry.house:
            continue
        if not entry.example:
            if not entry.optional:
                yield (
                    f"{entry.name} has no house value and no example; its calculator needs one to start "
                    'from: example="25 degC", or example="{piece.mass}" for a house value'
                )
        elif key := house_key(entry.example):
            yield from _house_example_complaints(entry, key)
        else:
            try:
                entry.read_optional(entry.example)
            except ValueError as error:
                yield f"{entry.name}: its example {entry.example} {error}"


def _limit_complaints(declared: Calculation) -> Iterator[str]:
    if not declared.limit:
        return
    held = house_field(declared.limit) if "." in declared.limit else declared.input(declared.limit)
    if held is None:
        yield f"its limit names no house value '{declared.limit}'"
        return
    result = declared.results[0]
    try:
        convert(1.0, held.unit, result.unit)
    except ValueError:
        yield f"its limit {declared.limit} is in '{held.unit}', and {result.name} is in '{result.unit}'"


def _house_example_complaints(entry: Field, key: str) -> Iterator[str]:
    start = house_field(key)
    if start is None:
        yield f"{entry.name}: its example names no house value '{key}'"
    elif isinstance(entry, Quantity):
        ends = (start.low, start.high) if isinstance(start, Quantity) else ()
        try:
            low, high = (convert(end, start.unit, entry.unit) for end in ends)
        except ValueError:
            yield f"{entry.name}: its example {key} is in '{start.unit}', and it wants '{entry.unit}'"
            return
        if low < entry.low or high > entry.high:
            yield (
                f"{entry.name} takes {entry.allowed()}, and its example {key} may be {start.allowed()}; "
                "take all of that"
            )


def house_key(example: str) -> str:
    """Return the house value that an example names in braces, or an empty text."""
    return example[1:-1] if example.startswith("{") and example.endswith("}") else ""


def _formula_complaints(declared: Calculation, at: str) -> Iterator[str]:
    said = kernels.said(declared.kernel)
    reasons = {c for r in declared.results if isinstance(r, Reasons) for c in r.sentences}
    for verb, known, kind in (
        ("refuse", set(declared.refusals), "its refusals"),
        ("because", reasons, "the sentences of its Reasons"),
    ):
        for code, place in said.codes[verb].items():
            if code not in known:
                yield (
                    f"{place}: calculation '{declared.name}': {verb}('{code}') is not declared among "
                    f"{kind}{nearest(code, known)}"
                )
        unused = known - set(said.codes[verb])
        # Beside a code that is not declared, one that is not raised is most often the same slip.
        if verb not in said.open and not set(said.codes[verb]) - known:
            for code in sorted(unused):
                yield f"{at}'{code}' is declared among {kind} and never raised by the formula"
    names = [result.name for result in declared.results]
    for returned, place in kernels.returned_names(declared.kernel) if len(names) > 1 else ():
        if sorted(returned) != sorted(names):
            yield (
                f"{place}: calculation '{declared.name}': the formula gives {', '.join(returned)}; "
                f"the declaration names the results {', '.join(names)}"
            )
    for result in declared.results:
        if isinstance(result, Verdict):
            yield from _word_complaints(declared, result, at)


def _word_complaints(declared: Calculation, verdict: Verdict, at: str) -> Iterator[str]:
    words, complete = kernels.returned_words(declared.kernel, verdict.name, len(declared.results) == 1)
    for word, place in words.items():
        if word not in verdict.words:
            yield (
                f"{place}: calculation '{declared.name}': {verdict.name} '{word}' is none of its declared "
                f"words{nearest(word, verdict.words)}"
            )
    for word in verdict.words:
        if complete and word not in words and set(words) <= set(verdict.words):
            yield f"{at}{verdict.name} '{word}' is declared and never given by the formula"
