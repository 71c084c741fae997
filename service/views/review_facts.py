"""What the review's rules are given, gathered from one child's case."""

from schedules.adherence import Adherence
from schedules.regimen import prescribed_dose
from service.facts_of_visits import AcuityTest
from service.views import eye_courses, eyes_looked_at, in_force, planned
from service.views.case import Case, by_test, newest_pair
from shared.course.review_facts import Reading, ReviewFacts
from shared.errors import ClinicalInputError
from shared.sight.acuity import Acuity
from shared.treatment.dose import Proposal
from shared.treatment.occlusion import propose
from shared.vocabulary import AcuityMethod, AmblyopicEye, BookingKind, Laterality


def review_facts(c: Case) -> ReviewFacts:
    """The course so far, in the newest test that measured both eyes; wear since the course began."""
    amblyopic = c.child.amblyopic_eye.laterality
    pair = newest_pair(c.visits)
    method = pair[1].series(Laterality.RIGHT) if pair else None
    if method is AcuityMethod.OBSERVED:
        method = None
    newest, under_review = c.newest.regimen if c.newest else None, c.under_review
    found = c.adherence(c.course_from or c.today, c.today)
    return ReviewFacts(
        today=c.today,
        aetiology=c.child.aetiology,
        method=method,
        amblyopic=_readings(c, amblyopic, method),
        fellow=_readings(c, amblyopic.other if amblyopic else None, method),
        phase=under_review.phase if under_review else None,
        minutes_per_day=last.minutes if (last := prescribed_dose(c.revisions, c.last_day_of_plan)) else 0,
        weeks_on_dose=c.weeks_on_dose(),
        review_on=newest.review_on if newest else None,
        ended_unreviewed=c.current is None and under_review is not None and newest is not None and newest.start_on <= c.today,
        known_days_share=found.days_known / found.days_prescribed if found.days_prescribed else None,
        received_share_of_known=found.high,
        adaptation_weeks=c.weeks_of_glasses,
        operated_eyes=eyes_looked_at.operated_eyes(c),
        fellow_any=_all_readings(c, amblyopic.other if amblyopic else None),
        dose_published=_dose_published(c),
        covers_amblyopic_unsaid=_covers_amblyopic_unsaid(c),
        baseline_from=in_force.baseline_from(c),
        booked_on=booked.on if (booked := c.booked(BookingKind.REVIEW)) else None,
        not_brought_on=c.not_brought_on,
        changed_eyes=in_force.changed_eyes(c),
        unsaid_pair=_unsaid_pair(c, pair[1]) if pair else None,
        uncorrected_aphakic=in_force.uncorrected_aphakic(c),
        stopped_on=in_force.stopped_on(c),
        lens_eyes=in_force.lens_eyes(c),
        lenses=eye_courses.ledger(c),
        over_refractions=in_force.over_refractions(c),
        near=in_force.near_in_force(c),
        examined=bool(c.visits),
        double_vision_on=eyes_looked_at.double_vision_on(c),
        new_deviation_on=eyes_looked_at.new_deviation_on(c),
        skin=eyes_looked_at.skin(c),
        refracted_on=eyes_looked_at.refracted_on(c, amblyopic) if amblyopic else None,
        lenses_worn=eyes_looked_at.lenses_worn(c),
        without_correction_share=_without_correction(found),
        born_on=c.child.born_on,
        courses=eye_courses.courses(c),
        limits=c.rules.limits,
        days=planned.day_findings(c),
        grace_days=newest.grace_days if newest else 0,
    )


def _without_correction(found: Adherence) -> float | None:
    """The share of all the time with the patch on in which lens or glasses were off; None where it was never on."""
    patched = found.received_minutes + found.without_correction_minutes
    return found.without_correction_minutes / patched if patched else None


def _unsaid_pair(c: Case, test: AcuityTest) -> tuple[Acuity, Acuity] | None:
    right, left = test.acuity(Laterality.RIGHT), test.acuity(Laterality.LEFT)
    return (right, left) if right and left and c.child.amblyopic_eye is AmblyopicEye.NOT_YET_KNOWN else None


def _covers_amblyopic_unsaid(c: Case) -> bool:
    """A plan in force covers what is now recorded as the amblyopic eye, and its signer gave no reason for that."""
    if c.current is None or c.current.content.get("covered_reason"):
        return False
    r, amblyopic = c.current.regimen, c.child.amblyopic_eye.laterality
    return r.covered_eye is not None and amblyopic is not None and (r.covered_eye is amblyopic or r.turn_days > 0)


def _all_readings(c: Case, eye: Laterality | None) -> tuple[Reading, ...]:
    if eye is None:
        return ()
    return tuple(Reading(v.on, acuity, t.usable(eye)) for v in c.visits for t in v.tests if (acuity := t.acuity(eye)) is not None)


def _readings(c: Case, eye: Laterality | None, method: AcuityMethod | None) -> tuple[Reading, ...]:
    if eye is None or method is None:
        return ()
    series = by_test(c.visits, eye).get(method, [])
    return tuple(Reading(on, acuity, test.usable(eye)) for on, test in series if (acuity := test.acuity(eye)) is not None)


def _dose_published(c: Case) -> bool:
    facts = c.occlusion_facts(adaptation_weeks=c.weeks_of_glasses, glasses_needed=True, waking_hours=None)
    try:
        return facts is not None and isinstance(propose(facts), Proposal)
    except ClinicalInputError:
        return False
