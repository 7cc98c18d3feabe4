"""The plan in JavaScript: the steps' own functions, and what their declarations say.

The functions are emitted as the formulas are, into a file of their own: a page without a plan does not load
it.
`docs/assets/bench/planning.js` runs them as `planning` does.
"""

import json
from collections.abc import Iterator
from functools import cache

from handbook_calc.engine.browser import LONG_TEXTS, PRELUDE, Collector
from handbook_calc.engine.house import House
from handbook_calc.engine.interval import Leaf
from handbook_calc.engine.planning import CANNOT, KINDS, facts, facts_for
from handbook_calc.engine.steps import ALIAS, MATERIALS, STEPS, keys_read

FUNCTIONS = ("schedule", "hands_begin", "hands_end", "share_at", "stride")


@cache
def script() -> str:
    """Return every step as one script: ``HB.plan.steps[id](v, done)``, and the functions of the calendar.

    Raises:
        CannotTranslate: a step uses what has no counterpart in JavaScript.
    """
    from handbook_calc import plan

    before = len(LONG_TEXTS)
    collector = Collector()
    steps = ",".join(f'"{id}":{collector.function(step.kernel)}' for id, step in STEPS.items())
    shared = ",".join(f"{name}:{collector.function(getattr(plan, name))}" for name in FUNCTIONS)
    text = collector.text()
    assert len(LONG_TEXTS) == before  # sentences of a step are its declaration's, and no list in a formula
    made = f"HB.plan={{steps:{{{steps}}},points:{plan.POINTS},{shared}}};\n"
    return f"(function(){{\n{PRELUDE}{text}{made}}})();\n"


def data(house: House) -> str:
    """Return what the steps and the facts say, and the house's values that the steps read, as a script."""
    values, leaves = facts(house)
    told = {
        "planSteps": [
            {
                "id": step.id,
                "title": step.title,
                "beside": step.beside,
                "needed": step.needed,
                "sentences": {**step.why, **step.refusals, **step.holds},
                "figures": {
                    name: {"unit": figure.unit, "about": figure.about, "digits": figure.digits}
                    for name, figure in step.figures.items()
                },
                "cautions": step.cautions,
                "record": step.record,
                "keys": keys_read(step.kernel),
            }
            for step in STEPS.values()
        ],
        "materials": MATERIALS,
        "planCannot": CANNOT,
        "planValues": values,
        "planSpans": [
            _plain(leaf) for leaf in leaves
        ],
        "planCoats": {name: list(_coat_spans(house, name)) for name in house.names(KINDS)},
    }  # fmt: skip
    lines = "".join(
        f"HB.{name}={json.dumps(value, ensure_ascii=False, separators=(',', ':'), allow_nan=False)};\n"
        for name, value in told.items()
    )
    return f"var HB=window.HB=window.HB||{{}};\n{lines}"


def _plain(leaf: Leaf) -> dict:
    return {
        "key": leaf.name, "value": leaf.value, "low": leaf.low, "high": leaf.high, "unit": leaf.unit,
        "least": leaf.least, "most": leaf.most,
    }  # fmt: skip


def _coat_spans(house: House, coating: str) -> Iterator[dict]:
    """Yield the values of a coating that are known as a span, as the steps read them."""
    for leaf in facts_for(house, coating)[1]:
        if leaf.name.startswith(ALIAS):
            yield _plain(leaf)


def scripts(house: House) -> dict[str, str]:
    """Return the scripts of the plan by file name."""
    return {"plan.js": script(), "plan-data.js": data(house)}
