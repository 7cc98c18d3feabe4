"""Log: what the readings of a piece say, by the calculations that the pages use.

``entries`` are those that stand, in order of time (see `readings`); ``v`` the facts and house values by key;
times are hours from 1 January 2000 on the bench's clock. All is in the formulas' subset: the page runs it
too.
"""

from math import floor

from handbook_calc.alkalinity import bath_chloride_limit
from handbook_calc.chloride import bath_passes
from handbook_calc.engine.calculation import because
from handbook_calc.engine.entries import asked
from handbook_calc.plan import level_of, way
from handbook_calc.specimen import GRADES

DAY = 24
SHORTEST = 0.05  # d, a bath read sooner has not stood
SAME_DAY = 24  # h between a reading and its standard
OFF = 2  # times the error that the house allows a test, from which a standard tells that the test is off
ALL = 100  # %
SLACK = 1  # h by which a bath's last day may be short: it is read first, and filled anew after
WATER = 1.0  # g/mL
GUESS_ERROR = 10  # times by which the volume of the cracks may be wrong
RUSTED = 0.01  # of the mass, which no piece gains between two weighings
LEAST_WATER = 0.0001  # g
LATEST = 12  # h: a day alone counts as its noon
WET = ["bath", "bath emptied", "sanding pass", "etching pass", "coat"]


# --- series ------------------------------------------------------------------------------------


def of_kind(entries, what):
    """Return the entries of one kind."""
    found = []
    for i in range(len(entries)):
        if entries[i]["what"] == what:
            found.append(entries[i])
    return found


def baths(entries):
    """Return each bath: when it was filled, its litres, its blank or None, and what was read in it."""
    found = []
    for i in range(len(entries)):
        if entries[i]["what"] == "bath":
            found.append(bath_from(entries, i))
    return found


def bath_from(entries, start):
    """Return the bath that begins with an entry."""
    blank = None
    readings = []
    emptied = None
    for j in range(start + 1, len(entries)):
        what = entries[j]["what"]
        if what == "bath" or what == "bath emptied":
            emptied = entries[j]["at"]
            break
        if what == "blank":
            blank = entries[j]["value"]
        if what == "chloride":
            readings.append(entries[j])
    return {
        "row": entries[start]["row"], "at": entries[start]["at"], "litres": entries[start]["value"],
        "blank": blank, "readings": readings, "emptied": emptied,
    }  # fmt: skip


def ledger_rows(entries):
    """Return a row a bath that can be counted: reading, blank, litres, days. The last blank holds on."""
    found = []
    all_baths = baths(entries)
    blank = None
    for i in range(len(all_baths)):
        one = all_baths[i]
        if one["blank"] is not None:
            blank = one["blank"]
        count = len(one["readings"])
        if count > 0 and blank is not None:
            last = one["readings"][count - 1]
            days = stood(one["at"], last["at"])
            if days >= SHORTEST:
                found.append([last["value"], blank, one["litres"], days])
    return found


def stood(filled, read):
    """Return the days between two times; within an hour of a whole day they are whole."""
    days = (read - filled) / DAY
    whole = floor(days + 0.5)
    if whole > 0 and abs(days - whole) * DAY <= SLACK + 1e-9:
        return whole
    return days


def coarsest(entries, what):
    """Return the coarsest step or limit that readings of a kind were made with; None where none says."""
    found = None
    for i in range(len(entries)):
        if entries[i]["what"] == what and entries[i]["by"] is not None:
            found = entries[i]["by"] if found is None else max(found, entries[i]["by"])
    return found


def drying(entries):
    """Return the weighings since the piece was last put into the oven, or was last wet or worked on."""
    start = 0
    for i in range(len(entries)):
        what = entries[i]["what"]
        if what == "oven":
            start = i
        for k in range(len(WET)):
            if what == WET[k]:
                start = i
    return of_kind(later(entries, start), "weighing")


def later(entries, start):
    """Return the entries from a place on."""
    found = []
    for i in range(start, len(entries)):
        found.append(entries[i])
    return found


def since(entries, what):
    """Return the last entry of a kind and all after it; nothing where there is none."""
    start = -1
    for i in range(len(entries)):
        if entries[i]["what"] == what:
            start = i
    return later(entries, start) if start >= 0 else []


def passes(entries, what):
    """Return each stretch of work between two weighings that holds passes of one kind alone.

    One row a stretch: mass before, mass after, coarsest step of the balance or None, time of all passes,
    what the last pass was done with, whether all passes were done with that, the row of the weighing after.
    """
    found = []
    before = None
    time = 0
    by = None
    alone = True
    for i in range(len(entries)):
        one = entries[i]
        if one["what"] == "weighing":
            if before is not None and time > 0:
                step = one["by"] if before["by"] is None else before["by"]
                if one["by"] is not None and step is not None:
                    step = max(step, one["by"])
                found.append([before["value"], one["value"], step, time, by, alone, one["row"]])
            before = one
            time = 0
            alone = True
        elif one["what"] == what:
            if time > 0 and by != one["by"]:
                alone = False
            by = one["by"]
            time = time + one["value"]
        else:
            for k in range(len(WET)):
                if one["what"] == WET[k]:
                    alone = False
    return found


def hours_above(entries, limit, now):
    """Return the hours since the last look for which the box was above a limit, by its readings.

    From a reading above the limit to the next reading counts as above.
    """
    total = 0
    above = None
    for i in range(len(entries)):
        what = entries[i]["what"]
        if what == "look" or what == "box closed" or what == "box humidity":
            if above is not None:
                total = total + entries[i]["at"] - above
            above = None
        if what == "look" or what == "box closed":
            total = 0
        if what == "box humidity" and entries[i]["value"] > limit:
            above = entries[i]["at"]
    if above is not None:
        total = total + max(0, now - above)
    return total


def box_limit(v):
    """Return the humidity at which the box of a piece of this grade is kept, %."""
    level = level_of(v)
    if level == 0:
        return v["storage.limit_stable"]
    if level <= 2:
        return v["storage.limit_doubtful"]
    return v["storage.limit_active"]


# --- what is asked of the calculations ---------------------------------------------------------

NO_BATH = "No bath of it can be counted yet: one bath, its blank and a reading are needed."


@asked("chloride-ledger", {"no-bath": NO_BATH})
def ask_ledger(entries, v, now):
    """Every bath that can be counted."""
    rows = ledger_rows(entries)
    if len(rows) < 1:
        return [because("no-bath"), {}]
    return [None, {"readings": rows, "piece_mass": v["piece.mass"]}]


@asked("chloride-stop", {"no-bath": NO_BATH})
def ask_stop(entries, v, now):
    """Every bath that can be counted, by the coarsest test that was used."""
    rows = ledger_rows(entries)
    if len(rows) < 1:
        return [because("no-bath"), {}]
    limit = coarsest(entries, "chloride")
    return [None, {"readings": rows, "piece_mass": v["piece.mass"], "detection_limit": limit}]


@asked("stop-forecast", {
    "few-baths": "Two baths that can be counted are needed for a forecast of the end; there are {0}.",
    "ended": "The last two baths pass the house's limits: there is nothing left to foretell.",
})  # fmt: skip
def ask_end(entries, v, now):
    """Every bath that can be counted, and as deep a crack as the piece's file says."""
    rows = ledger_rows(entries)
    if len(rows) < 2:
        return [because("few-baths", len(rows)), {}]
    if passes_house(rows[len(rows) - 1], v) and passes_house(rows[len(rows) - 2], v):
        return [because("ended"), {}]
    return [None, {"readings": rows, "piece_mass": v["piece.mass"], "depth": way(v)}]


@asked("chloride-forecast", {
    "few-readings": "Three readings of the bath in hand are needed for a forecast of its change; "
    "there are {0}.",
})  # fmt: skip
def ask_change(entries, v, now):
    """The readings of the last bath, above its blank."""
    all_baths = baths(entries)
    if len(all_baths) < 1:
        return [because("few-readings", 0), {}]
    last = all_baths[len(all_baths) - 1]
    blank = 0 if last["blank"] is None else max(0, last["blank"])
    rows = []
    for i in range(len(last["readings"])):
        one = last["readings"][i]
        level = one["value"] if one["value"] < 0 else max(0, one["value"] - blank)
        rows.append([(one["at"] - last["at"]) / DAY, level])
    if len(rows) < 3:
        return [because("few-readings", len(rows)), {}]
    return [None, {"readings": rows, "series": "one bath"}]


@asked("constant-mass", {
    "few-weighings": "Two weighings since it last went into the oven or was worked on are needed; "
    "there are {0}.",
})  # fmt: skip
def ask_dry(entries, v, now):
    """The weighings since the piece was last wet, with the coarsest balance."""
    weighings = drying(entries)
    if len(weighings) < 2:
        return [because("few-weighings", len(weighings)), {}]
    rows = []
    for i in range(len(weighings)):
        rows.append([weighings[i]["at"] - weighings[0]["at"], weighings[i]["value"]])
    step = coarsest(weighings, "weighing")
    water = max(LEAST_WATER, v["piece.crack_volume"] * WATER)
    return [None, {"weighings": rows, "resolution": step, "crack_water_guess": water}]


@asked("mass-change", {"few-weighings": "Two weighings are needed for a balance of its mass; there are {0}."})
def ask_change_of_mass(entries, v, now):
    """The first weighing and the last."""
    weighings = of_kind(entries, "weighing")
    count = len(weighings)
    if count < 2:
        return [because("few-weighings", count), {}]
    return [None, {"before": weighings[0]["value"], "after": weighings[count - 1]["value"]}]


@asked("storage-verdict", {"no-box": "No humidity of its box was read since the box was closed."})
def ask_box(entries, v, now):
    """The last humidity of the box, by the grade of the piece."""
    read = of_kind(since(entries, "box closed"), "box humidity")
    if len(read) < 1:
        return [because("no-box"), {}]
    return [None, {"grade": GRADES[level_of(v)], "humidity": read[len(read) - 1]["value"]}]


@asked("next-inspection", {"no-box": "The box was not closed yet."})
def ask_look(entries, v, now):
    """The days since the box was closed, and the hours above the limit since the last look."""
    box = since(entries, "box closed")
    if len(box) < 1 or now < box[0]["at"]:
        return [because("no-box"), {}]
    out = hours_above(box, box_limit(v), now)
    days = (day_of(now) - day_of(box[0]["at"])) / DAY
    return [None, {"closed_for": days, "hours_out": out}]


def passes_house(row, v):
    """Tell whether a bath stood long enough and stayed below the house's limits."""
    return bath_passes(
        row, v["piece.mass"], v["electrolysis.stop_limit"], v["electrolysis.mass_limit"],
        v["electrolysis.stand"],
    )  # fmt: skip


# --- what is pointed out -----------------------------------------------------------------------

FINDINGS = {
    "impossible": "Row {0}: {1} cannot be true; allowed is {2}. It is left out: read again, or correct the "
    "row.",
    "future": "Row {0} is dated after today.",
    "before": "Row {0} is dated before the piece arrived.",
    "no-bath": "Row {0}: chloride was read with no bath filled; enter the bath.",
    "no-blank": "Row {0}: no blank was read in this bath, so that of an earlier one counts.",
    "without-blank": "Row {0}: no blank was read in this bath or before it, so it is not counted.",
    "unread": "Row {0}: nothing was read in this bath, so what it took out is missing from every sum.",
    "too-soon": "Row {0}: read within the hour in which the bath was filled; it is not counted.",
    "beyond-alkali": "Row {0}: {1 mg/L} is more chloride, ion for ion, than the alkali of a fresh bath could "
    "hold ({2 mg/L}); look for a slip of units or of dilution, else the bath was changed too late.",
    "beyond-piece": "Row {0}: this bath alone would hold {1 g} of chloride, more than a piece of "
    "nothing but crystals of chloride.",
    "no-standard": "Row {0}: no known sample was read within a day of it.",
    "standard-off": "Row {0}: the known sample reads {1 mg/L} for {2 mg/L}; the test is off, and so is what "
    "it read that day.",
    "too-heavy": "Row {0}: the mass rose by {1 g} since the weighing before it, more than water and rust can "
    "add; weigh again, with the balance set to zero.",
}
CRYSTALS = 0.56  # of the mass of iron(II) chloride without water is chloride


def findings(entries, wrong, v, now):
    """Return what cannot be true or takes a reading's worth away, each with the row.

    Arguments:
        wrong: entries that cannot be true, each ``[row, text, what is allowed]``.
    """
    found = []
    for i in range(len(wrong)):
        found.append(because("impossible", wrong[i][0], wrong[i][1], wrong[i][2]))
    arrived = of_kind(entries, "arrived")
    for i in range(len(entries)):
        if entries[i]["at"] > now + LATEST:
            found.append(because("future", entries[i]["row"]))
        if len(arrived) > 0 and entries[i]["at"] < day_of(arrived[0]["at"]):
            found.append(because("before", entries[i]["row"]))
    found = findings_of_baths(found, entries, v)
    found = findings_of_standards(found, entries, v)
    return findings_of_masses(found, entries, v)


def day_of(hours):
    """Return the first hour of the day of a time."""
    return floor(hours / DAY) * DAY


def findings_of_baths(found, entries, v):
    """Add what is wrong with baths and what was read in them."""
    filled = False
    for i in range(len(entries)):
        if entries[i]["what"] == "bath":
            filled = True
        if entries[i]["what"] == "bath emptied":
            filled = False
        if entries[i]["what"] == "chloride" and not filled:
            found.append(because("no-bath", entries[i]["row"]))
    hold = bath_chloride_limit(
        v["electrolysis.salt"], v["electrolysis.strength"], ALL, v["electrolysis.temperature"]
    )
    all_baths = baths(entries)
    blank = None
    for i in range(len(all_baths)):
        one = all_baths[i]
        found = findings_of_bath(found, one, blank, hold, v["piece.mass"])
        if one["blank"] is not None:
            blank = one["blank"]
    return found


def findings_of_bath(found, one, blank, hold, mass):
    """Add what is wrong with one bath; `blank` is the last one before it."""
    count = len(one["readings"])
    if count < 1:
        if one["emptied"] is not None:
            found.append(because("unread", one["row"]))
        return found
    if one["blank"] is None:
        found.append(because("without-blank" if blank is None else "no-blank", one["row"]))
    last = one["readings"][count - 1]
    if stood(one["at"], last["at"]) < SHORTEST:
        found.append(because("too-soon", last["row"]))
    for j in range(count):
        level = one["readings"][j]["value"]
        if level > hold:
            found.append(because("beyond-alkali", one["readings"][j]["row"], level, hold))
        if level * one["litres"] > CRYSTALS * mass * 1000:
            held = level * one["litres"] / 1000
            found.append(because("beyond-piece", one["readings"][j]["row"], held))
    return found


def findings_of_standards(found, entries, v):
    """Add readings without a known sample, and known samples that read wrong."""
    known = of_kind(entries, "standard")
    for i in range(len(known)):
        true = v["electrolysis.check_standard"] if known[i]["by"] is None else known[i]["by"]
        off = OFF * v["electrolysis.calibration_error"] / 100 * true
        if known[i]["value"] < 0 or abs(known[i]["value"] - true) > off + 1e-9 * true:
            found.append(because("standard-off", known[i]["row"], abs(known[i]["value"]), true))
    for i in range(len(entries)):
        if entries[i]["what"] == "chloride":
            near = False
            for j in range(len(known)):
                if abs(known[j]["at"] - entries[i]["at"]) <= SAME_DAY:
                    near = True
            if not near:
                found.append(because("no-standard", entries[i]["row"]))
    return found


def findings_of_masses(found, entries, v):
    """Add masses that rose more than a piece can."""
    weighings = of_kind(entries, "weighing")
    for i in range(1, len(weighings)):
        before = weighings[i - 1]["value"]
        rise = weighings[i]["value"] - before
        if rise > GUESS_ERROR * v["piece.crack_volume"] * WATER + RUSTED * before:
            found.append(because("too-heavy", weighings[i]["row"], rise))
    return found


# --- where the plan stands ---------------------------------------------------------------------


def marks(entries, ids):
    """Return when each step was begun and done, hours or None: by its own rows, and by its readings."""
    found = []
    for i in range(len(ids)):
        begun = None
        done = None
        for j in range(len(entries)):
            one = entries[j]
            begins = one["what"] == "step begun" and one["value"] == ids[i]
            if begun is None and (begins or one["step"] == ids[i]):
                begun = one["at"]
            if one["what"] == "step done" and one["value"] == ids[i]:
                done = one["at"]
        found.append([begun, done])
    return found


def states(planned, marked, ends, now):
    """Return where each step stands, in the plan's hours: state, begin, end, the hour that it was due.

    A step is done; not marked, where a later one was begun; under way; late; due; or ahead, as all are that
    wait for one under way. What comes after
    a step that ended on another day than planned moves by whole days, so that the hours of the day stay.

    Arguments:
        planned: begin, end and the longest that each takes, in order.
        marked: what `marks` gives, in the plan's hours.
        ends: the end of each by a forecast, or None.
        now: the hour that it is.
    """
    last = -1
    for i in range(len(marked)):
        if marked[i][0] is not None or marked[i][1] is not None:
            last = i
    found = []
    delay = 0
    waiting = False
    for i in range(len(planned)):
        begin = planned[i][0] + delay
        end = planned[i][1] + delay
        begun = marked[i][0]
        done = marked[i][1]
        if done is not None:
            first = min(begin, done) if begun is None else min(begun, done)
            found.append(["done", first, done, begin])
            delay = DAY * (floor(done / DAY) - floor(planned[i][1] / DAY))
        elif begun is not None and i == last:
            begin = begun
            end = begun + planned[i][1] - planned[i][0] if ends[i] is None else ends[i]
            late = now > begun + planned[i][2] and now > end
            end = max(end, now)
            found.append(["late" if late else "under way", begin, end, begin])
            delay = DAY * (floor(end / DAY) - floor(planned[i][1] / DAY))
            waiting = True
        elif waiting:
            found.append(["ahead", begin, end, begin])
        elif i < last:
            found.append(["not marked", begin, end, begin])
        else:
            over = floor(now / DAY) - floor(begin / DAY)
            if over > 0:
                found.append(["late", begin + DAY * over, end + DAY * over, begin])
                delay = delay + DAY * over
            else:
                found.append(["due" if over == 0 else "ahead", begin, end, begin])
    return found
