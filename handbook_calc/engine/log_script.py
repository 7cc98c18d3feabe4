"""The log in JavaScript: the reader of its rows and all that `log` reckons, and what the declarations say.

As with the plan, the very functions are emitted, into a file of their own. ``HB.log`` holds them.
"""

import json
from functools import cache

from handbook_calc.engine.browser import LONG_TEXTS, PRELUDE, Collector
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.entries import ASKED, COLUMNS, NEEDED, described
from handbook_calc.engine.house import House
from handbook_calc.engine.logbook import facts
from handbook_calc.engine.subset import FORMULA, READER

READS = ("cells_of", "read_log", "standing", "impossible", "row_text", "heading_line", "next_row", "hours_of")
RECKONS = ("findings", "marks", "states", "baths", "ledger_rows")


@cache
def script() -> str:
    """Return the functions of a log as one script.

    Raises:
        CannotTranslate: one of them uses what has no counterpart in JavaScript.
    """
    from handbook_calc import log, readings

    before = len(LONG_TEXTS)
    collector = Collector()
    names = [f"{name}:{collector.function(getattr(readings, name), READER)}" for name in READS]
    names += [f"{name}:{collector.function(getattr(log, name), FORMULA)}" for name in RECKONS]
    asks = ",".join(f'"{name}":{collector.function(asked.kernel, FORMULA)}' for name, asked in ASKED.items())
    text = collector.text()
    assert len(LONG_TEXTS) == before  # sentences are the declarations', and no list in a function
    return f"(function(){{\n{PRELUDE}{text}HB.log={{asks:{{{asks}}},{','.join(names)}}};\n}})();\n"


def data(house: House) -> str:
    """Return the kinds of reading, the columns, the sentences and the house's values, as a script."""
    from handbook_calc.log import FINDINGS

    told = {
        "logColumns": COLUMNS,
        "logNeeded": NEEDED,
        "logKinds": described(),
        "logAsks": [
            {"name": name, "title": CATALOGUE[name].title, "lacks": asked.lacks}
            for name, asked in ASKED.items()
        ],
        "logFindings": FINDINGS,
        "logValues": facts(house),
    }
    lines = "".join(
        f"HB.{name}={json.dumps(value, ensure_ascii=False, separators=(',', ':'), allow_nan=False)};\n"
        for name, value in told.items()
    )
    return f"var HB=window.HB=window.HB||{{}};\n{lines}"


def scripts(house: House) -> dict[str, str]:
    """Return the scripts of the log by file name."""
    return {"log.js": script(), "log-data.js": data(house)}
