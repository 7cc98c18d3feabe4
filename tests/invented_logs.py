"""Write the invented logs of the demonstration bench: ``python tests/invented_logs.py``.

The bench, its pieces and every reading are invented. What the readings are made from is not what the handbook
fits: two cracks of different depth instead of one, by a finite-volume model in numpy; a box whose walls hold
water; a front in the oven that slows by a power of its own; errors of three kinds, and readings rounded as the
instrument shows them.
"""

import csv
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

PIECES = Path(__file__).resolve().parents[1] / "docs" / "pieces"
HEADING = "row,when,what,value,with,note,edition,corrects"
INVENTED = "invented: bench and piece are made up and a model with noise made every reading of this log"
CELLS = 200


def released(days, diffusivity, depths, shares):
    """Return the share that has left cracks of several depths (m) after some days, by finite volumes."""
    out = np.zeros(len(days))
    for depth, share in zip(depths, shares, strict=True):
        width = depth / CELLS
        field = np.ones(CELLS)
        matrix = np.zeros((CELLS, CELLS))
        for i in range(CELLS):
            if i > 0:
                matrix[i, i - 1] += 1
                matrix[i, i] -= 1
            if i < CELLS - 1:
                matrix[i, i + 1] += 1
                matrix[i, i] -= 1
        matrix[0, 0] -= 2  # the mouth, half a cell away, is clean
        values, vectors = np.linalg.eigh(matrix * diffusivity * 86_400 / width**2)
        start = vectors.T @ field
        for k, day in enumerate(days):
            left = vectors @ (np.exp(values * day) * start)
            out[k] += share * (1 - left.mean())
    return out


class Sheet:
    """The rows of one log."""

    def __init__(self, begin: str, edition: str) -> None:
        self.begin = datetime.fromisoformat(begin)
        self.edition = edition
        self.rows: list[tuple[datetime, tuple]] = []
        self.put(0, 9, "note", INVENTED)

    def put(self, day, hour, what, value="", by="", note="", corrects: int | str = ""):
        when = self.begin + timedelta(days=day, hours=hour)
        number = len(self.rows) + 1
        cells = (number, f"{when:%Y-%m-%d %H:%M}", what, value, by, note, self.edition, corrects)
        self.rows.append((when, cells))
        return number

    def write(self, name: str) -> None:
        with (PIECES / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            file.write(f"{HEADING}\n")
            csv.writer(file, lineterminator="\n").writerows(cells for _, cells in self.rows)


def shown(level: float) -> str:
    """Return a chloride reading as a strip or a burette shows it."""
    return "below 1 mg/L" if level < 1 else f"{level:.0f} mg/L" if level >= 10 else f"{level:.1f} mg/L"


def baths(sheet, rng, *, first, ends, litres, chloride, diffusivity, depths, shares, inside=()):
    """Put the baths of a piece: filled, blank, readings, known sample; `inside` are days read between."""
    batch = rng.lognormal(0, 0.05)  # an error that all readings of this lot share
    out = dict(zip([*inside, *ends], released([*inside, *ends], diffusivity, depths, shares), strict=True))
    start, had = 0.0, 0.0
    for number, end in enumerate(ends):
        sheet.put(first + start, 9.5, "bath", f"{litres:g} L")
        sheet.put(first + start, 9.75, "blank", "below 1 mg/L", "1 mg/L")
        if number == 0:
            sheet.put(first + start, 10, "current", "4.1 mA")
        for day in [*(d for d in inside if start < d < end), end]:
            true = chloride * (out[day] - had) / litres
            read = true * batch * rng.lognormal(0, 0.08) + rng.normal(0, 0.3)
            sheet.put(first + day, 9, "chloride", shown(max(read, 0.0)), "1 mg/L")
            sheet.put(
                first + day, 9.1, "standard", f"{10 * batch * rng.lognormal(0, 0.03):.1f} mg/L", "10 mg/L"
            )
        start, had = end, out[end]


def box_test(sheet, rng, *, first, changes, room, start=5.0, hours=(0, 8, 24, 48, 72, 120)):
    """Put a run of the empty box: its walls take up a tenth of what leaks in at first."""
    for count, hour in enumerate(hours):
        air = room - (room - start) * np.exp(-changes * hour / 24)
        air -= 0.1 * (air - start) * np.exp(-hour / 60)
        read = f"{air + rng.normal(0, 0.4):.1f} %"
        if count == 0:
            sheet.put(first, 9, "box closed", read, "0 g", "empty box, to find its leak")
        else:
            sheet.put(first + hour / 24, 9, "box humidity", read)
        if count % 2 == 0:
            sheet.put(first + hour / 24, 9.1, "room humidity", f"{room + rng.normal(0, 1):.0f} %")


def drying(sheet, rng, *, first, mass, water, whole, times, step=0.001, oven="80 degC"):
    """Put a piece into the oven and weigh it until it stands."""
    sheet.put(first, 9, "oven", oven)
    for hour in times:
        left = max(0.0, 1 - (hour / whole) ** 0.55)
        read = mass + water * left + rng.normal(0, step * 0.6)
        sheet.put(first + hour / 24, 9, "weighing", f"{round(read / step) * step:.3f} g", "1 mg")


def ly_017() -> None:
    """A slice that has gone the whole way to its box, and on to its face."""
    rng = np.random.default_rng(17)
    sheet = Sheet("2026-03-02", "2025.4")
    sheet.put(0, 9.25, "arrived")
    sheet.put(0, 9.5, "weighing", "96.214 g", "1 mg", "with lacquer and loose rust")
    sheet.put(0, 9.75, "thickness", "3.2 mm")
    sheet.put(0, 9.8, "photograph", "LY-017-face-1.jpg")
    sheet.put(0, 10, "step done", "intake")
    sheet.put(1, 11, "step done", "instruments")
    sheet.put(1, 15, "step done", "survey")
    sheet.put(1, 16, "step done", "decide")
    sheet.put(2, 12, "step done", "rust-came-back", "", "the film came off in a gel of solvent")
    sheet.put(2, 15, "step done", "clean")
    baths(sheet, rng, first=3, ends=[1, 2, 4, 7, 14, 21, 28], litres=0.3, chloride=9.1, diffusivity=7.5e-12,
          depths=(0.0014, 0.0021), shares=(0.35, 0.65), inside=(0.25, 0.5))  # fmt: skip
    sheet.put(31, 9.5, "bath emptied")
    sheet.put(31, 10, "step done", "electrolysis")
    sheet.put(32, 12, "step done", "rinse")
    sheet.put(36, 12, "step done", "dehydrate")
    drying(sheet, rng, first=37, mass=95.871, water=0.0135, whole=30.0,
           times=(2, 6, 12, 24, 36, 60, 84, 108))  # fmt: skip
    wrong = sheet.put(42, 9, "weighing", "98.570 g", "1 mg")
    sheet.put(42, 9, "weighing", "95.870 g", "1 mg", "two digits turned round", wrong)
    sheet.put(42, 10, "step done", "oven-dry")
    box_test(sheet, rng, first=43, changes=0.24, room=52)
    sheet.edition = "2026.1"
    sheet.put(48, 11, "box closed", "9 %", "60 g")
    sheet.put(48, 12, "step done", "store")
    for day, humidity in ((49, 7.5), (55, 7.1), (69, 7.9)):
        sheet.put(day, 9, "box humidity", f"{humidity} %")
        sheet.put(day, 9.2, "look", "sound")
    sheet.put(79, 9, "box humidity", "8.3 %")
    sheet.put(79, 9.2, "look", "sound")
    sheet.put(79, 10, "step done", "monitor")
    mass = 95.870
    sheet.put(79, 10.5, "weighing", f"{mass:.3f} g", "1 mg")
    for number, (paper, minutes, rate) in enumerate((("P240", 4, 5.6), ("P240", 4, 5.6), ("P240", 3, 5.6),
                                                     ("P240", 5, 5.6), ("P400", 5, 2.9))):  # fmt: skip
        sheet.put(79, 11 + number * 0.5, "sanding pass", f"{minutes} min", paper)
        mass -= rate * rng.lognormal(0, 0.12) * minutes * 1e-4 * 36.5 * 7.88
        sheet.put(79, 11.25 + number * 0.5, "weighing", f"{mass:.3f} g", "1 mg")
    sheet.put(79, 14, "step done", "sand")
    sheet.write("LY-017")


def ly_022() -> None:
    """A stony-iron that is kept dry and watched: two boxes were tried before one was good enough."""
    rng = np.random.default_rng(22)
    sheet = Sheet("2026-03-09", "2025.4")
    sheet.put(0, 9.25, "arrived")
    sheet.put(0, 9.5, "weighing", "538.60 g", "0.01 g")
    sheet.put(0, 10, "step done", "intake")
    sheet.put(1, 11, "step done", "instruments")
    sheet.put(2, 10, "step done", "survey")
    sheet.put(2, 10.5, "step done", "stony-irons")
    sheet.put(2, 11, "step done", "decide")
    sheet.put(3, 10, "step done", "clean")
    box_test(sheet, rng, first=3, changes=0.55, room=48)
    box_test(sheet, rng, first=9, changes=0.31, room=50, start=4.0)
    sheet.put(15, 9, "box closed", "8 %", "120 g", "the second box")
    sheet.put(15, 10, "step done", "store")
    for day, humidity, found in ((16, 6.8, "sound"), (22, 6.5, "sound"), (52, 14.5, "sound"), (53, 7.0, "sound"),
                                 (82, 7.4, "sound"), (142, 8.8, "sound")):  # fmt: skip
        sheet.put(day, 9, "box humidity", f"{humidity} %")
        sheet.put(day, 9.2, "look", found)
    sheet.put(52, 9.5, "note", "the lid lay on a label; set right")
    sheet.put(82, 10, "step done", "monitor")
    sheet.write("LY-022")


def ly_030() -> None:
    """A whole mass in its baths, half way."""
    rng = np.random.default_rng(30)
    sheet = Sheet("2026-06-01", "2025.4")
    sheet.put(0, 9.25, "arrived")
    sheet.put(0, 9.5, "weighing", "1851.4 g", "0.1 g")
    sheet.put(0, 10, "step done", "intake")
    sheet.put(1, 11, "step done", "instruments")
    sheet.put(1, 14, "step done", "survey")
    sheet.put(1, 15, "step done", "decide")
    sheet.put(2, 13, "step done", "rust-came-back")
    sheet.put(3, 9, "step done", "clean")
    baths(sheet, rng, first=4, ends=[2, 4, 7, 14, 21, 28, 35, 42], litres=2.35, chloride=330.0,
          diffusivity=7.5e-12, depths=(0.005, 0.0085), shares=(0.25, 0.75), inside=(0.5, 1))  # fmt: skip
    sheet.edition = "2026.1"
    sheet.put(46, 9.5, "bath", "2.35 L")
    sheet.put(46, 9.75, "blank", "below 1 mg/L", "1 mg/L")
    sheet.write("LY-030")


if __name__ == "__main__":
    ly_017()
    ly_022()
    ly_030()
