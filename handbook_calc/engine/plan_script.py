"""The plan in JavaScript: the steps' own functions, and what their declarations say.

The functions are emitted as the formulas are, into a file of their own: a page without a plan does not load
it.
`docs/assets/bench/planning.js` runs them as `planning` does.
"""

import json

from handbook_calc.engine.browser import LONG_TEXTS, PRELUDE, Collector
from handbook_calc.engine.fields import Choice, Quantity
from handbook_calc.engine.house import OF_PIECE, SETTINGS, House
from handbook_calc.engine.planning import CANNOT, facts
from handbook_calc.engine.steps import MATERIALS, STEPS, keys_read

FUNCTIONS = ("schedule", "hands_begin", "hands_end", "share_at", "stride")


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
            {"key": leaf.name, "value": leaf.value, "low": leaf.low, "high": leaf.high, "unit": leaf.unit,
             "least": leaf.least, "most": leaf.most}
            for leaf in leaves
        ],
        "facts": {
            key: {
                "about": field.about,
                "form": field.form,
                "unit": field.unit,
                "allowed": field.allowed(),
                "optional": field.optional,
                "instead": [
                    {"words": instead.words, "taken": instead.taken, "costs": instead.costs}
                    for instead in field.instead
                ],
                **({"low": field.low, "high": field.high} if isinstance(field, Quantity) else {}),
                **({"options": field.names()} if isinstance(field, Choice) else {}),
            }
            for key, field in SETTINGS.items()
            if key.partition(".")[0] in OF_PIECE
        },
    }  # fmt: skip
    lines = "".join(
        f"HB.{name}={json.dumps(value, ensure_ascii=False, separators=(',', ':'), allow_nan=False)};\n"
        for name, value in told.items()
    )
    return f"var HB=window.HB=window.HB||{{}};\n{lines}"


def scripts(house: House) -> dict[str, str]:
    """Return the scripts of the plan by file name."""
    return {"plan.js": script(), "plan-data.js": data(house)}
