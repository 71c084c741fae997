"""Care beside patching, from one child's record: the facts the schedules ask for, and the items they date."""

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise

from schedules import care_items as schedules
from schedules.adherence import Span
from schedules.care_facts import BookedVisit, CareDone, CareFacts, EyeStatus, LensLedger, SecondaryLens, StitchedEye, WornLens
from schedules.care_sets import RANGES
from schedules.care_words import CareItem, CareKind
from service.clock import local_today
from service.facts import SignedCorrection
from service.views import eye_courses
from service.views.case import Case
from service.views.in_force import correction_in_force
from shared.growing.growth_course import Course
from shared.lens_words import LensState, WearSchedule
from shared.vocabulary import BookingState, CorrectionKind, Laterality, Operation, YesNo

# How far back a check that nobody made is looked for: none comes round less often than once a year.
LOOKED_BACK = timedelta(days=400)
MET_EARLY = timedelta(days=RANGES["together_days"][1] + 1)
_OUTSIDE_THE_EYE = (Operation.SQUINT_SURGERY, Operation.LID_SURGERY, Operation.EYE_REMOVED)


def care_items_of(c: Case, span: Span) -> tuple[CareItem, ...]:
    """What is to be done beside patching on the half-open days of a span, by date."""
    return schedules.care_items(care_facts(c), c.care_sets, span)


def overdue_of(c: Case) -> tuple[CareItem, ...]:
    """What waits for the clinic today; a check made early is met by the date ahead that it stands for."""
    span = Span(max(c.child.born_on, c.today - LOOKED_BACK), c.today + MET_EARLY)
    return schedules.overdue(schedules.clinic_items(care_facts(c), c.care_sets, span), c.today)


def care_facts(c: Case) -> CareFacts:
    return CareFacts(
        born_on=c.child.born_on,
        statuses=_statuses(c),
        lenses=tuple(lens for eye in Laterality for lens in _lenses(c, eye)),
        glasses_from_on=_glasses_from_on(c),
        stitched=tuple(StitchedEye(eye, on) for eye in Laterality for on in _stitched_on(c, eye)),
        done=tuple(_done(c)),
        sheet=c.care_record.sheet,
        booked=tuple(BookedVisit(b.number, b.on) for b in c.bookings if b.state is BookingState.BOOKED),
        revisions=c.revisions,
        stock=c.care_record.stock,
        ledgers=_ledgers(c),
        secondary_lenses=tuple(SecondaryLens(eye, on) for eye, on in c.care_record.secondary_lenses.items()),
    )


def _statuses(c: Case) -> tuple[EyeStatus, ...]:
    """Of two recorded for one day the later."""
    found = {(s.eye, s.since_on): EyeStatus(s.eye, s.since_on, s.status) for s in c.child.statuses}
    return tuple(found.values())


def _signed_on(c: Case, document: SignedCorrection) -> date:
    return local_today(document.signed_at, c.child.time_zone)


def _held_when_signed(c: Case, document: SignedCorrection, eye: Laterality) -> bool:
    """Not measured before an operation that was recorded by the time it was signed."""
    changed_on = c.child.changed_on(eye, _signed_on(c, document))
    return changed_on is None or document.visit_on >= changed_on


def _glasses_from_on(c: Case) -> tuple[date, ...]:
    glasses = [d for d in c.corrections if d.kind is CorrectionKind.SPECTACLES]
    return tuple(sorted({_signed_on(c, d) for d in glasses if any(_held_when_signed(c, d, eye) for eye in d.eyes)}))


def _lenses(c: Case, eye: Laterality) -> Iterator[WornLens]:
    """As the ledger tells when each was worn; from its signature on where no ledger was begun. On one day the last put in counts."""
    known = eye_courses.courses(c)
    documents = {d.public_id: d for d in c.corrections if d.kind is CorrectionKind.CONTACT_LENS and eye in d.eyes}
    kept = [lens for lens in c.ledger if lens.made.eye is eye]
    worn = {}
    for lens in kept:
        for entry, following in pairwise([*lens.entries, None]):
            if entry is not None and entry.state is LensState.IN_USE:
                worn[entry.on] = (documents[lens.made.correction_id], following.on if following else None)
    if not kept:
        worn = {_signed_on(c, d): (d, None) for d in documents.values() if _held_when_signed(c, d, eye)}
    for from_on, (document, ended_on) in worn.items():
        yield _lens(c, document, eye, from_on, ended_on, known)


def _lens(c: Case, document: SignedCorrection, eye: Laterality, from_on: date, ended_on: date | None, known: tuple[Course, ...]) -> WornLens:
    in_force = correction_in_force(c, CorrectionKind.CONTACT_LENS, eye) is document
    out_on = eye_courses.power_out_on(c, document, eye, known) if in_force else None
    power_until_on = max(out_on, from_on) if out_on else None
    said = c.care_record.lens_wear(document.public_id, eye)
    if said:
        return WornLens(eye, from_on, said.wear_schedule, said.out_every_days, said.replace_every_days, power_until_on, ended_on)
    return WornLens(eye, from_on, wear_signed(document, eye), None, None, power_until_on, ended_on)


def wear_signed(document: SignedCorrection, eye: Laterality) -> WearSchedule | None:
    """As its range says. Worn overnight it is known only with its labelled days, which no range holds."""
    typed = document.content["eyes"][eye].get("wear_schedule")
    return WearSchedule(typed) if typed and typed != WearSchedule.OVERNIGHT else None


def _stitched_on(c: Case, eye: Laterality) -> list[date]:
    """Surgery that took the eye's lens or put one in leaves stitches (common practice); any other where a visit saw some before the next."""
    optical = {s.since_on for s in c.child.statuses if s.eye is eye and s.status.operated and s.since_on > c.child.born_on}
    operated = sorted({o.on for o in c.operations if o.eye in (eye, None) and o.operation not in _OUTSIDE_THE_EYE} | optical)
    seen_in = [v.on for v in c.visits if v.eyes[eye].stitches_in is YesNo.YES]
    following = dict(pairwise([*operated, date.max]))
    return [on for on in operated if on in optical or any(on <= seen < following[on] for seen in seen_in)]


def _done(c: Case) -> Iterator[CareDone]:
    for v in c.visits:
        for eye in Laterality:
            f = v.eyes[eye]
            if f.refraction is not None or f.over_refraction is not None:
                yield CareDone(CareKind.REFRACTION_CHECK, eye, v.on)
            if f.pressure_mmhg is not None:
                yield CareDone(CareKind.PRESSURE_CHECK, eye, v.on)
            if f.stitches_in is not None:
                yield CareDone(CareKind.STITCH_CHECK, eye, v.on)


def _ledgers(c: Case) -> tuple[LensLedger, ...]:
    ruled = eye_courses.ledger(c)
    found = []
    for eye in Laterality:
        entered = [lens.last.on for lens in c.ledger if lens.made.eye is eye]
        if entered:
            found.append(LensLedger(eye, max(entered), tuple(lens for lens in ruled if lens.eye is eye)))
    return tuple(found)
