"""What a review may say of a child's response: gain against hours, the next weeks under each dose, and whose model this is."""

from dataclasses import dataclass

from shared.course.response import BAND, SLOWER_THAN, Band, Course, Response, respond
from shared.dates import DAYS_A_WEEK
from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.rounding import round_half_up
from shared.sources import number
from shared.vocabulary import AcuityMethod, Status

SLOW_FROM = 0.5  # more likely slow than not: only then is it worth a second look (common practice)
_SOURCES = ("stewart-2007", "own-response-model", "holmes-2001", "wallace-2013", "ats3", "ats5")


@dataclass(frozen=True)
class Dose:
    """Hours a day really worn, at least and at most; `label` says whose."""

    label: Message
    least_hours: float
    most_hours: float


@dataclass(frozen=True)
class Outlook:
    """What one dose would be expected to bring: further gain in logMAR after the weeks, and the weeks to the next 0.1 logMAR (None: not reached)."""

    dose: Dose
    further: Band
    weeks_to_next_line: float | None


@dataclass(frozen=True)
class Expected:
    """The model's answer for one course: before any visit, with the visits, and for each dose."""

    course: Course
    before: Response
    now: Response
    outlooks: tuple[Outlook, ...]
    weeks: float
    findings: tuple[Finding, ...]


def expected_response(course: Course, method: AcuityMethod | None, doses: tuple[Dose, ...]) -> Expected:
    """Gain, pace and outlook of a course under each dose in hours a day.

    Raises `ClinicalInputError` naming `hours` where a dose cannot be; everything else was refused when the `Course` was made.
    """
    before, now = respond(course, heed_gains=False), respond(course)
    weeks = number("own-response-model", "outlook").value
    outlooks = tuple(_outlook(now, dose, weeks) for dose in doses)
    return Expected(course, before, now, outlooks, weeks, _findings(course, method, before, now))


def published_doses() -> tuple[Dose, ...]:
    """The two doses of ATS2B in hours a day, as if they were really worn."""
    less, more = number("ats2b", "hours").value, number("ats2b", "hours_more").value
    text = msg("%(hours)s a day, really worn", hours=Quantity(less, Unit.HOURS)), msg("%(hours)s a day, really worn", hours=Quantity(more, Unit.HOURS))
    return Dose(text[0], less, less), Dose(text[1], more, more)


def _outlook(now: Response, dose: Dose, weeks: float) -> Outlook:
    days = weeks * DAYS_A_WEEK
    further = now.further(dose.least_hours * days, dose.most_hours * days)
    hours, a_week = now.hours_to_next_line().median, (dose.least_hours + dose.most_hours) / 2 * DAYS_A_WEEK
    return Outlook(dose, further, hours / a_week if a_week and hours < float("inf") else None)


def _findings(course: Course, method: AcuityMethod | None, before: Response, now: Response) -> tuple[Finding, ...]:
    found = [_own_model(course)]
    if course.observed:
        found += [_so_far(course, before), _pace(now)]
    if now.most_hours > now.least_hours:
        found.append(_unknown_hours(now))
    if method is not AcuityMethod.CROWDED_HOTV:
        text = msg("The model takes the published error of one HOTV score for every test of letters or pictures; this child's test is another.")
        found.append(Finding("response-other-test", text, Status.COMMON_PRACTICE, ("holmes-2001", "own-response-model")))
    return tuple(found)


def _own_model(course: Course) -> Finding:
    """The caution that stands wherever the model is shown."""
    younger, older = number("stewart-2007", "younger_hours"), number("stewart-2007", "older_hours")
    text = msg(
        "This project's own model on published points, two of them from memory (%(younger)s for %(gain)s at %(young_age)s, %(older)s at %(old_age)s). "
        "It shows a range for children like this one: no promise, and no dose.",
        younger=younger.quantity(Unit.HOURS),
        gain=number("stewart-2007", "gain").quantity(Unit.LOGMAR),
        young_age=number("stewart-2007", "younger_age").quantity(Unit.YEARS),
        older=older.quantity(Unit.HOURS),
        old_age=number("stewart-2007", "older_age").quantity(Unit.YEARS),
    )
    working = (
        msg("gain after D hours: A (1 − exp(−s D / A)); s = 0.1 logMAR / H, with H hours per 0.1 logMAR at the start, A a share of the deficit"),
        msg(
            "at the start: %(age)s old, deficit %(deficit)s",
            age=Quantity(course.age_years, Unit.YEARS),
            deficit=Quantity(course.deficit_logmar, Unit.LOGMAR),
        ),
        msg("H varies from child to child, log-normal; the share is Beta: both are this project's own assumptions"),
    )
    return Finding("own-response-model", text, Status.weakest(younger.status, older.status), _SOURCES, working=working)


def _so_far(course: Course, before: Response) -> Finding:
    """The measured gain beside what was expected beforehand for the hours received."""
    gain, band = Quantity(course.observed[-1].gain_logmar, Unit.LOGMAR_CHANGE), before.gain_so_far()
    text = msg(
        "Gain so far %(gain)s; for children of this age and deficit and these hours, expected %(median)s, %(share)s of them between %(low)s and %(high)s.",
        share=Quantity((BAND[1] - BAND[0]) * 100, Unit.PERCENT),
        gain=gain,
        median=Quantity(band.median, Unit.LOGMAR_CHANGE),
        low=Quantity(band.low, Unit.LOGMAR_CHANGE),
        high=Quantity(band.high, Unit.LOGMAR_CHANGE),
    )
    return Finding("response-so-far", text, Status.MEMORY, _SOURCES, gain)


def _pace(now: Response) -> Finding:
    """How likely the child is one of the slowest; nothing is said of why."""
    slow = now.slow()
    text = msg(
        "The chance that this child responds more slowly than %(most)s of children of this age, for the hours really worn, is %(slow)s "
        "(%(before)s before any visit).",
        most=Quantity(SLOWER_THAN * 100, Unit.PERCENT),
        slow=Quantity(slow * 100, Unit.PERCENT),
        before=Quantity((1 - SLOWER_THAN) * 100, Unit.PERCENT),
    )
    working = (msg("before a dose goes up: retest, refraction and correction really worn, clear axis, pressure, wear"),) if slow >= SLOW_FROM else ()
    weight = Weight.CHECK if slow >= SLOW_FROM else Weight.NOTE
    return Finding("response-pace", text, Status.MEMORY, _SOURCES, Quantity(slow * 100, Unit.PERCENT), working, weight)


def _unknown_hours(now: Response) -> Finding:
    text = msg(
        "Hours received are not known exactly: %(least)s reported; %(most)s if unknown days were worn like the known ones. Every value between is weighed in.",
        least=Quantity(round_half_up(now.least_hours), Unit.HOURS),
        most=Quantity(round_half_up(now.most_hours), Unit.HOURS),
    )
    return Finding("response-hours-unknown", text, Status.COMMON_PRACTICE)
