"""The months so far as pictures: acuity of both eyes and dose by week on one time axis."""

from datetime import date, timedelta

from schedules.adherence import Span, adherence
from service.i18n import Words
from service.views import charts
from service.views.case import Case
from shared.findings import Unit
from shared.sight.acuity_repeatability import repeatability
from shared.vocabulary import AcuityMethod, Laterality, Phase

WEEK = timedelta(days=7)


def first_on(c: Case) -> date | None:
    """The first day of the axis: the first visit or the first plan."""
    days = [v.on for v in c.visits[:1]] + [r.start_on for r in c.revisions[:1]]
    return min(days) if days else None


def bands(c: Case, words: Words) -> tuple[charts.PhaseBand, ...]:
    """The phases as they really were, each up to the next revision or its own end."""
    found: list[charts.PhaseBand] = []
    revisions = sorted(c.revisions, key=lambda r: r.number)
    for n, r in enumerate(revisions):
        ends = [later.start_on for later in revisions[n + 1 :]] + ([r.ends_on] if r.ends_on else []) + [c.today]
        end_on = min(ends)
        if end_on <= r.start_on:
            continue
        label = words.label(r.phase)
        if found and found[-1].label == label and found[-1].end_on == r.start_on:
            found[-1] = charts.PhaseBand(found[-1].first_on, end_on, label)
        else:
            found.append(charts.PhaseBand(r.start_on, end_on, label))
    return tuple(found)


def acuity_chart(c: Case, words: Words) -> charts.LineChart | None:
    start = first_on(c)
    points = tuple(p for eye in Laterality for p in _points(c, eye, words))
    if start is None or not points:
        return None
    return charts.acuity_chart(points, bands(c, words), start, c.today + timedelta(days=1), words)


def _points(c: Case, eye: Laterality, words: Words) -> list[charts.AcuityPoint]:
    amblyopic = c.child.amblyopic_eye.laterality
    role = eye.value if amblyopic is None else "amblyopic" if eye is amblyopic else "fellow"
    return [
        charts.AcuityPoint(
            on=v.on,
            eye_role=role,
            logmar=acuity.logmar,
            reliable=test.usable(eye),
            series=words.label(method),
            repeatability=_bar(method),
            label=_name(eye, amblyopic, words),
        )
        for v in c.visits
        for test in v.tests
        if (acuity := test.acuity(eye)) and acuity.logmar is not None and (method := test.series(eye)) and method is not AcuityMethod.OBSERVED
    ]


def _bar(method: AcuityMethod) -> float | None:
    """Half a bar in logMAR; none where it is not known, or known for gratings, whose octave is an inference."""
    known = repeatability(method)
    return known.limit.value if known and known.limit.unit is Unit.LOGMAR else None


def _name(eye: Laterality, amblyopic: Laterality | None, words: Words) -> str:
    side = words.gettext("Right eye") if eye is Laterality.RIGHT else words.gettext("Left eye")
    if amblyopic is None:
        return side
    role = words.gettext("amblyopic") if eye is amblyopic else words.gettext("fellow")
    return f"{side} ({role})"


def weeks(c: Case) -> tuple[charts.WeekDose, ...]:
    """Whole weeks from the first occlusion day; the last may be cut by today."""
    start = next((r.start_on for r in c.revisions if r.phase is Phase.OCCLUSION), None)
    found = []
    while start is not None and start < c.today:
        a = adherence(c.revisions, c.entries, Span(start, min(start + WEEK, c.today)))
        days = min(7, (c.today - start).days)
        found.append(charts.WeekDose(start, a.prescribed_minutes, a.received_minutes, a.days_unknown, a.without_correction_minutes, days, a.days_prescribed))
        start += WEEK
    return tuple(found)


def dose_chart(c: Case, found: tuple[charts.WeekDose, ...], words: Words) -> charts.DoseChart | None:
    start = first_on(c)
    if start is None or not found:
        return None
    return charts.dose_chart(found, bands(c, words), start, c.today + timedelta(days=1), words)
