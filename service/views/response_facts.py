"""What the dose-response model is given, gathered from one child's case: one test's series, and the hours received up to each visit."""

from dataclasses import dataclass
from datetime import date, timedelta

from service.views.case import Case
from service.views.in_force import baseline_from
from shared.course.expected_response import Dose
from shared.course.response import Course, Observed, check_cause, check_family
from shared.dates import age_years
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.sources import number
from shared.vocabulary import AcuityFamily, AcuityMethod, Laterality, Phase


@dataclass(frozen=True)
class Gathered:
    """`start_on`: from then on hours are counted; `observed_on`: the visits of `course`, in its order."""

    course: Course
    method: AcuityMethod
    start_on: date
    observed_on: tuple[date, ...]
    as_now: Dose | None


def gather(c: Case) -> Gathered:
    """Raises `ClinicalInputError` in words where there is nothing to forecast from."""
    check_cause(c.child.aetiology)
    amblyopic, began_on = c.child.amblyopic_eye.laterality, c.course_from
    if amblyopic is None:
        raise ClinicalInputError("amblyopic_eye", msg("No forecast while no eye is recorded as the amblyopic one."))
    if began_on is None:
        raise ClinicalInputError("start_on", msg("No forecast before patching has begun."))
    if any((r.covered_eye is amblyopic or r.turn_days) and r.phase is Phase.OCCLUSION and r.start_on >= began_on for r in c.revisions):
        raise ClinicalInputError("covered_eye", msg("No forecast: some of these hours covered the amblyopic eye, and they are not told apart."))
    method = _method(c)
    baseline_on, deficit = _baseline(c, amblyopic, method, began_on)
    start_on = max(began_on, baseline_on)
    best = dict(_scores(c, amblyopic, method))
    seen_on = tuple(on for on in best if on > start_on)
    hours = _hours(c, start_on, seen_on)
    observed = tuple(Observed(best[baseline_on] - best[on], *hours[on]) for on in seen_on)
    course = Course(c.child.aetiology, method.family, age_years(c.child.born_on, start_on), deficit, observed)
    return Gathered(course, method, start_on, seen_on, _as_now(c, start_on))


def _method(c: Case) -> AcuityMethod:
    """That of the newest test of letters or pictures which measured both eyes."""
    families = set()
    for visit in reversed(c.visits):
        for test in reversed(visit.tests):
            method = test.series(Laterality.RIGHT)
            if method is not None and method is test.series(Laterality.LEFT) and all(test.usable(eye) for eye in Laterality):
                if method.family is AcuityFamily.OPTOTYPE:
                    return method
                families.add(method.family)
    for family in families:
        check_family(family)
    raise ClinicalInputError("method", msg("No forecast before one test of letters or pictures has measured both eyes."))


def _scores(c: Case, eye: Laterality, method: AcuityMethod) -> list[tuple[date, float]]:
    """Usable logMAR of one eye in one series, oldest first; the last of a day stands for it."""
    return [
        (visit.on, acuity.logmar)
        for visit in c.visits
        for test in visit.tests
        if test.series(eye) is method and test.usable(eye) and (acuity := test.acuity(eye)) and acuity.logmar is not None
    ]


def _baseline(c: Case, amblyopic: Laterality, method: AcuityMethod, began_on: date) -> tuple[date, float]:
    """The last day before the patch on which this test measured both eyes, within the limit; else the first since. With the deficit in logMAR.

    Nothing counts from before squint surgery, after which acuity is compared anew.
    """
    own, other = dict(_scores(c, amblyopic, method)), dict(_scores(c, amblyopic.other, method))
    limit = timedelta(weeks=number("own-response-model", "start_within").value)
    first_on = max(began_on - limit, baseline_from(c) or date.min)
    days = [on for on in own if on in other and on >= first_on]
    if not days:
        raise ClinicalInputError("method", msg("No forecast: since the patch began, or shortly before, no one test has measured both eyes."))
    before = [on for on in days if on <= began_on]
    on = before[-1] if before else days[0]
    return on, own[on] - other[on]


def _hours(c: Case, start_on: date, days: tuple[date, ...]) -> dict[date, tuple[float, float]]:
    """Hours received up to each day: reported alone, and with the unknown days of each stretch worn like its known ones."""
    found, first_on, least, most = {}, start_on, 0.0, 0.0
    for on in days:
        known, possible = _span_hours(c, first_on, on)
        least, most, first_on = least + known, most + possible, on
        found[on] = (least, most)
    return found


def _span_hours(c: Case, first_on: date, end_on: date) -> tuple[float, float]:
    """Where nothing at all is known of a stretch, its unknown days may have been worn as prescribed."""
    a = c.adherence(first_on, end_on)
    share = 1.0 if a.high is None else a.high
    return a.received_minutes / 60, max(a.received_minutes, share * a.prescribed_minutes) / 60


def _as_now(c: Case, start_on: date) -> Dose | None:
    days = (c.today - start_on).days
    if not days:
        return None
    least, most = (hours / days for hours in _span_hours(c, start_on, c.today))
    return Dose(msg("as until now"), least, most)
