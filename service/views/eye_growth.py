"""What is expected of an aphakic eye, and when its lens is out: the same for the page and the API."""

from datetime import date

from service.views.case import Case
from service.views.eye_courses import courses
from shared.dates import month_on
from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, msg
from shared.growing.growth import Forecast
from shared.growing.growth_course import Course, OutOn, RefractedOn, growth_outside_band, lens_off_expected
from shared.growing.outgrown import trials_habit
from shared.optics.planes import RefractionPlane

AHEAD_MONTHS = (3, 6, 12)
LIMITS_DIOPTRES = (1.0, 2.0, 3.0)


def refusal(course: Course, r: RefractedOn, on: date) -> Message | None:
    """Why nothing is forecast from a refraction for a day; None where something is, at both planes."""
    try:
        found = course.forecast(r, on)
        for plane in RefractionPlane:
            found.band(plane)
    except ClinicalInputError as refused:
        return refused.message
    return None


def newest(course: Course) -> tuple[RefractedOn | None, Message | None]:
    """The refraction that is gone on from, or why there is none."""
    if not course.refractions:
        return None, msg("No refraction is recorded since the operation, without stitches.")
    last = course.refractions[-1]
    refused = refusal(course, last, last.on)
    return (None, refused) if refused else (last, None)


def expected_on(course: Course, today: date) -> list[tuple[date, Forecast]]:
    """From the newest refraction for today and some months on, as far as the published ages go."""
    start, _ = newest(course)
    days = [today, *(month_on(today, months) for months in AHEAD_MONTHS)]
    return [(on, course.forecast(start, on)) for on in days if start and on >= start.on and refusal(course, start, on) is None]


def out_on(c: Case, course: Course) -> list[OutOn]:
    """When its lens is out by each limit, the clinic's own among them."""
    start, _ = newest(course)
    limits = sorted({*LIMITS_DIOPTRES, c.rules.limits.lens_off_dioptres})
    try:
        return [course.lens_out_on(start, limit, course.worn_dioptres) for limit in limits] if start else []
    except ClinicalInputError:  # a power that no lens has, on the way
        return []


def findings(c: Case) -> list[Finding]:
    """What growth brings up, by rules that the clinic has not switched off."""
    known = courses(c)
    found = [*lens_off_expected(known, c.today, c.rules.limits.lens_off_dioptres), *growth_outside_band(known), *([trials_habit()] if known else [])]
    return [f for f in found if f.rule not in c.rules.limits.rules_off]
