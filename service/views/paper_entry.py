"""A sheet that came back: two weeks of days, what was signed for each, and what is noted of it already."""

from dataclasses import dataclass
from datetime import date, timedelta

from schedules.adherence import counted
from schedules.regimen import Regimen, in_force
from service.actions.wear import PAPER_DAYS_BACK
from service.facts import Child
from service.i18n import Words
from service.views.case import Case
from service.views.family import reasons, said_in_words, spoken
from service.views.home_sheet import DAYS
from service.views.planned import is_off
from shared.vocabulary import Phase


@dataclass(frozen=True)
class PaperDay:
    """`open`: the plan asked for something. `glasses_alone`: for no patch. `standing` is what is noted already, in words."""

    on: date
    open: bool
    glasses_alone: bool
    prescribed: str
    standing: tuple[str, ...]


@dataclass(frozen=True)
class PaperEntry:
    child: Child
    from_on: date
    earliest: date
    today: date
    days: tuple[PaperDay, ...]
    reasons: tuple[tuple[str, str], ...]


def days_of_sheet(c: Case, from_on: date | None) -> tuple[date, ...]:
    """Fourteen days from `from_on`, none after today; the last fourteen where that is no day that can still be noted."""
    earliest = c.today - timedelta(days=PAPER_DAYS_BACK)
    first_on = from_on if from_on is not None and earliest <= from_on <= c.today else c.today - timedelta(days=DAYS - 1)
    return tuple(on for on in (first_on + timedelta(days=n) for n in range(DAYS)) if on <= c.today)


def view(c: Case, words: Words, days: tuple[date, ...]) -> PaperEntry:
    return PaperEntry(
        child=c.child,
        from_on=days[0],
        earliest=c.today - timedelta(days=PAPER_DAYS_BACK),
        today=c.today,
        days=tuple(_day(c, in_force(c.revisions, on), on, words) for on in days),
        reasons=reasons(words),
    )


def glasses_alone(c: Case, on: date) -> bool:
    """Whether the plan of the day asks for glasses or a lens, and for no patch."""
    regimen = in_force(c.revisions, on)
    return regimen is not None and regimen.phase is Phase.REFRACTIVE_ADAPTATION


def _day(c: Case, regimen: Regimen | None, on: date, words: Words) -> PaperDay:
    minutes = regimen.minutes_on(on) if regimen else 0
    alone = glasses_alone(c, on)
    return PaperDay(
        on=on,
        open=alone or (regimen is not None and regimen.phase is Phase.OCCLUSION),
        glasses_alone=alone,
        prescribed=_prescribed(c, on, minutes, words, alone=alone),
        standing=tuple(said_in_words(e.minutes, e.reason, e.correction_worn, words) for e in counted(c.entries) if e.local_on == on),
    )


def _prescribed(c: Case, on: date, minutes: int, words: Words, *, alone: bool) -> str:
    if is_off(c, on):
        return words.gettext("a day off")
    if minutes:
        return spoken(minutes, words)
    return words.gettext("glasses all day") if alone else words.gettext("no patch")
