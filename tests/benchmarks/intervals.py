"""Times of the intervals of all calculators in V8; prints figures and ratios, asserts nothing.

    python tests/benchmarks/intervals.py [--typed 0.1]

For each calculation, from what its calculator starts with: one answer, and its interval, once with the
spans of the house and once with a span typed into each number, a tenth to either side. Goals: 16 ms for
the answer, 100 ms for the interval. Other work on the machine moves these times; compare two states of the
code in turns.
"""

import argparse
import json
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from handbook_calc.engine import examples, forms, house, stages  # noqa: E402
from handbook_calc.engine.bench import Bench  # noqa: E402
from handbook_calc.engine.calculation import CATALOGUE  # noqa: E402
from handbook_calc.engine.fields import Count, Quantity  # noqa: E402

ANSWER, INTERVAL = 16.0, 100.0  # ms
MOST_TYPED = 6  # the points of a lattice are kept apart for so many inputs
TURNS = """function timed(text) {
  var asked = JSON.parse(text), begun = Date.now(), count = 0, results;
  do { results = HB.run(asked.name, asked.values); count += 1; } while (Date.now() - begun < 20);
  var times = [(Date.now() - begun) / count];
  asked.spans.forEach(function (spans) {
    var best = Infinity;
    for (var turn = 0; turn < 3; turn += 1) {
      begun = Date.now();
      if (Object.keys(spans).length) HB.propagate(asked.name, asked.values, spans, results);
      best = Math.min(best, Date.now() - begun);
    }
    times.push(best);
  });
  return JSON.stringify(times);
}"""


def main() -> None:
    """Time every calculation and print the slowest first."""
    from py_mini_racer import MiniRacer

    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--typed", type=float, default=0.1, help="half width of a typed span, as a share")
    asked = parser.parse_args()
    stages.load()
    standard = house.load()
    scripts = forms.scripts(standard)
    engine = MiniRacer()
    engine.eval("var window = this;")
    for name in forms.WHOLE:
        engine.eval(scripts[name])
    for name in ("read.js", "answer.js", "interval.js"):
        engine.eval((ROOT / "docs" / "assets" / "bench" / name).read_text(encoding="utf-8"))
    engine.eval(TURNS)
    rows = []
    for name, calculation in CATALOGUE.items():
        answer = examples.example(calculation, Bench(standard))
        spans = [answer.spans, answer.spans | typed(calculation, answer.inputs, asked.typed)]
        text = json.dumps({"name": name, "values": answer.inputs, "spans": spans})
        rows.append((name, *json.loads(str(engine.call("timed", text)))))
    engine.close()
    print("answer and intervals in ms, by the spans of the house and by typed ones; * misses its goal")
    for name, answer, of_house, of_typed in sorted(rows, key=lambda row: -max(row[1:])):
        late = "*" if answer > ANSWER or max(of_house, of_typed) > INTERVAL else " "
        print(f"{late} {name:28} {answer:8.3f} {of_house:6.0f} {of_typed:6.0f}")


def typed(calculation, values: dict, share: float) -> dict:
    """Return a span around each number of the inputs, inside what is allowed."""
    found = {}
    for declared in calculation.inputs:
        value = values.get(declared.name)
        number = isinstance(declared, Quantity) and not isinstance(declared, Count)
        if not number or isinstance(value, bool) or not isinstance(value, int | float) or value <= 0:
            continue
        low, high = max(declared.low, value * (1 - share)), min(declared.high, value * (1 + share))
        if low < value < high and len(found) < MOST_TYPED:
            found[declared.name] = (low, high)
    return found


if __name__ == "__main__":
    main()
