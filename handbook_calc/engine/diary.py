"""A plan's hands-on work as a calendar file, by RFC 5545, and as the list of one day.

Times are those of the bench's own clock, without a zone. The same plan gives the same bytes: the stamp is the
day of the edition, and the name of an event does not hold its date, so that a moved event stays the same one.
"""

import hashlib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from handbook_calc.engine.planning import Plan, Planned

LINE = 75  # octets of a line of the file, its end not counted
ALARM = "-PT30M"


@dataclass(frozen=True)
class Work:
    """A stretch of hands-on work: its step, which of how many of that step it is, and when."""

    plan: Plan
    planned: Planned
    count: int
    of: int
    begin: datetime
    end: datetime

    @property
    def title(self) -> str:
        """Return what is to be done, with the number of the piece."""
        part = f" ({self.count} of {self.of})" if self.of > 1 else ""
        return f"{self.plan.number}: {self.planned.step.title}{part}"


def work_of(plan: Plan) -> Iterator[Work]:
    """Yield the hands-on work of a plan in order; none where no start is known or its route is refused."""
    if plan.refused:
        return
    for planned in plan.steps:
        for count, (begin, end) in enumerate(planned.hands, 1):
            try:
                first, last = plan.moment(begin), plan.moment(end)
            except OverflowError:  # beyond what a calendar can hold
                return
            if first and last:
                yield Work(plan, planned, count, len(planned.hands), first, last)


def of_day(plans: Sequence[Plan], day: date) -> list[Work]:
    """Return what is to be done on a day with all pieces, in order of the hour."""
    found = [work for plan in plans for work in work_of(plan) if work.begin.date() <= day <= work.end.date()]
    return sorted(found, key=lambda work: (work.begin, work.plan.number))


def under_way(plans: Sequence[Plan], day: date) -> list[tuple[Plan, Planned]]:
    """Return the steps that wait on a day: begun, not ended, and no hands asked for."""
    busy = {(work.plan.number, work.planned.step.id) for work in of_day(plans, day)}
    found = []
    for plan in plans:
        for planned in plan.steps if not plan.refused else ():
            begin, end = plan.day(planned.begin), plan.day(planned.end)
            waits = begin and begin <= day.isoformat() and (end is None or day.isoformat() <= end)
            if waits and planned.hands and (plan.number, planned.step.id) not in busy:
                found.append((plan, planned))
    return found


def calendar(plan: Plan) -> bytes:
    """Return the hands-on work of a plan as a calendar file."""
    stamp = plan.house["house.date"].replace("-", "") + "T000000Z"
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//handbook_calc//plan of a piece//EN"]
    for work in work_of(plan):
        planned = work.planned
        told = [
            planned.why,
            *planned.holds,
            *(f"First read: safety/{name}" for name in planned.step.cautions),
        ]
        lines += [
            "BEGIN:VEVENT",
            f"UID:{_name(plan.number)}-{planned.step.id}-{work.count}@plan.invalid",
            f"DTSTAMP:{stamp}",
            "SEQUENCE:0",
            f"DTSTART:{work.begin:%Y%m%dT%H%M%S}",
            f"DTEND:{work.end:%Y%m%dT%H%M%S}",
            f"SUMMARY:{_escaped(work.title)}",
            f"DESCRIPTION:{_escaped(chr(10).join(told))}",
            "BEGIN:VALARM",
            "ACTION:DISPLAY",
            f"DESCRIPTION:{_escaped(work.title)}",
            f"TRIGGER:{ALARM}",
            "END:VALARM",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines).encode()


def _name(number: str) -> str:
    """Return the number of a piece as part of the name of an event; two numbers never give one name."""
    plain = re.sub(r"[^A-Za-z0-9]+", "-", number).strip("-")
    return plain if plain == number else f"{plain}-{hashlib.sha256(number.encode()).hexdigest()[:8]}"


def _escaped(text: str) -> str:
    """Return a text as the value of a property; the backslash goes first."""
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return re.sub(r"\r?\n", r"\\n", text)


def _folded(line: str) -> str:
    """Return a line in parts of at most 75 octets, broken between whole signs."""
    parts, used = [""], 0
    for sign in line:
        size = len(sign.encode())
        if used + size > LINE:
            parts.append(" ")
            used = 1
        parts[-1] += sign
        used += size
    return "\r\n".join(parts)
