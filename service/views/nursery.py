"""What a nursery or a school sees of one child: today, and what it noted itself. No history, no diagnosis, nothing of a home."""

from dataclasses import dataclass
from datetime import date

from schedules.adherence import counted
from schedules.day import Place
from schedules.planner import PlannedDay, PlannedSession
from schedules.regimen import in_force, prescribed_minutes
from service.actions.wear import nursery
from service.facts import Clinic, NurseryLink
from service.i18n import Words
from service.views.case import Case
from service.views.family import StandingEntry, correction_in_words, missing_correction, reasons, said_in_words, spoken
from service.views.planned import clock_span, planned_day
from shared.findings import Message
from shared.vocabulary import Laterality


@dataclass(frozen=True)
class NurseryPage:
    """`minutes` are those that fall to the place today; `until_on` is the link's last day."""

    label: str
    base: str
    on: date
    until_on: date
    minutes: int
    time: str
    sessions: tuple[str, ...]
    covered_eye: Laterality | None
    correction: str
    missing_correction: Message | None
    standing: tuple[StandingEntry, ...]
    reasons: tuple[tuple[str, str], ...]
    clinic: Clinic


def view(c: Case, link: NurseryLink, clinic: Clinic, words: Words, base: str) -> NurseryPage:
    regimen, minutes = in_force(c.revisions, c.today), minutes_here(c)
    who = nursery(link).who
    own = [e for e in counted(c.entries) if e.local_on == c.today and e.recorded_by == who]
    return NurseryPage(
        label=link.label,
        base=base,
        on=c.today,
        until_on=link.until_on,
        minutes=minutes,
        time=spoken(minutes, words),
        sessions=tuple(map(clock_span, _here(planned_day(c, c.today)))),
        covered_eye=regimen.covered_on(c.today) if regimen else None,
        correction=correction_in_words(c.child, c.today, words),
        missing_correction=missing_correction(regimen),
        standing=tuple(StandingEntry(e.key, said_in_words(e.minutes, e.reason, e.correction_worn, words)) for e in own),
        reasons=reasons(words),
        clinic=clinic,
    )


def minutes_here(c: Case) -> int:
    """Of today's minutes those of the sessions at the place, or all of them where the family has set no hours; none on a day off."""
    planned = planned_day(c, c.today)
    if planned.all_day_minutes:
        return prescribed_minutes(c.revisions, c.today)
    return sum(session.minutes for session in _here(planned))


def _here(planned: PlannedDay) -> list[PlannedSession]:
    return [session for session in planned.sessions if session.where is Place.NURSERY]
