"""Two weeks of a signed plan on one sheet of paper, for a home without a phone: what to do each day, and boxes to fill in."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from schedules.day import Place
from schedules.planner import PlannedSession
from schedules.regimen import Regimen, in_force
from service.facts import Clinic
from service.i18n import Words
from service.views.case import Case
from service.views.family import correction_in_words, missing_correction, spoken, wears_lens
from service.views.planned import clock_span, is_off, planned_day
from shared.findings import Message
from shared.vocabulary import Laterality, Phase

DAYS = 14
LATEST_START = timedelta(days=28)  # as far as a calendar of ours looks ahead
HOUR = 60
RADIUS = 9.0


class Paper(StrEnum):
    A4 = "a4"
    LETTER = "letter"


def paper_named(name: str) -> Paper:
    """A4 where no size, or none of these, is named."""
    return Paper.LETTER if name == Paper.LETTER else Paper.A4


class Mark(StrEnum):
    """What is drawn on the face."""

    PATCH = "patch"
    DROP = "drop"


@dataclass(frozen=True)
class SheetDay:
    """`hours` are the outlines to be coloured in, one for each hour, the last for what is left of one."""

    on: date
    mark: Mark | None
    eye: Laterality | None
    words: str
    sessions: tuple[str, ...]
    hours: tuple[str, ...]


@dataclass(frozen=True)
class HomeSheet:
    """`days` end with the plan; `one_face` is the mark and the eye of every day that has any, else each day shows its own."""

    label: str
    base: str
    from_on: date
    today: date
    latest: date
    paper: Paper
    pictures: bool
    days: tuple[SheetDay, ...]
    asks_for_something: bool
    last_on: date | None
    one_face: tuple[Mark, Laterality] | None
    patch: bool
    lens: bool
    correction: str
    missing_correction: Message | None
    too_short: str
    clinic: Clinic


def view(c: Case, clinic: Clinic, words: Words, *, label: str, base: str, from_on: date | None, paper: Paper, pictures: bool) -> HomeSheet:
    """From `from_on`, or from today where that is no day of the next four weeks."""
    latest = c.today + LATEST_START
    first_on = from_on if from_on is not None and c.today <= from_on <= latest else c.today
    dated = list(_in_force(c, first_on))
    days = tuple(_day(c, regimen, on, words) for on, regimen in dated)
    faces = {(day.mark, day.eye) for day in days if day.mark and day.eye}
    found = next((finding for on, _ in dated if (finding := planned_day(c, on).finding)), None)
    patching = next((regimen for _, regimen in dated if regimen.phase is Phase.OCCLUSION), None)
    return HomeSheet(
        label=label,
        base=base,
        from_on=first_on,
        today=c.today,
        latest=latest,
        paper=paper,
        pictures=pictures,
        days=days,
        asks_for_something=any(regimen.phase not in (Phase.PAUSE, Phase.STOP) for _, regimen in dated),
        last_on=days[-1].on if days else None,
        one_face=next(((mark, eye) for mark, eye in faces if mark and eye), None) if len(faces) == 1 else None,
        patch=patching is not None,
        lens=wears_lens(c.child, first_on),
        correction=correction_in_words(c.child, first_on, words),
        missing_correction=missing_correction(patching),
        too_short=words.text(found.family) if found and found.family else "",
        clinic=clinic,
    )


def _in_force(c: Case, first_on: date) -> Iterator[tuple[date, Regimen]]:
    """Up to fourteen days, but none past the first on which nothing is signed."""
    for on in (first_on + timedelta(days=n) for n in range(DAYS)):
        regimen = in_force(c.revisions, on)
        if regimen is None:
            return
        yield on, regimen


def _day(c: Case, regimen: Regimen, on: date, words: Words) -> SheetDay:
    if is_off(c, on):
        return SheetDay(on, None, None, words.gettext("a day off: no patch"), (), ())
    minutes = regimen.minutes_on(on)
    if minutes:
        sessions = tuple(_session(session, words) for session in planned_day(c, on).sessions)
        return SheetDay(on, Mark.PATCH, regimen.covered_on(on), spoken(minutes, words), sessions, tuple(hours_drawn(minutes)))
    if regimen.drops and regimen.drop_on(on):
        return SheetDay(on, Mark.DROP, regimen.drops.eye, words.gettext("one drop"), (), ())
    glasses = regimen.phase is Phase.REFRACTIVE_ADAPTATION
    return SheetDay(on, None, None, words.gettext("glasses all day") if glasses else words.gettext("no patch"), (), ())


def _session(session: PlannedSession, words: Words) -> str:
    span = clock_span(session)
    return words.gettext("%(span)s at nursery") % {"span": span} if session.where is Place.NURSERY else span


def hours_drawn(minutes: int) -> Iterator[str]:
    """Paths around the origin: a circle for an hour, for the rest the part of it that a clock's hand would sweep."""
    whole, rest = divmod(minutes, HOUR)
    yield from [f"M0 {-RADIUS:g}A{RADIUS:g} {RADIUS:g} 0 1 1 0 {RADIUS:g}A{RADIUS:g} {RADIUS:g} 0 1 1 0 {-RADIUS:g}Z"] * whole
    if rest:
        angle = math.tau * rest / HOUR
        x, y = RADIUS * math.sin(angle), -RADIUS * math.cos(angle)
        yield f"M0 0V{-RADIUS:g}A{RADIUS:g} {RADIUS:g} 0 {int(rest > HOUR / 2)} 1 {x:.2f} {y:.2f}Z"
