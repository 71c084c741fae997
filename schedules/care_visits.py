"""Care at the clinic: what a child comes for, when it is due, and what may be done in one journey."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import chain, takewhile

from schedules.adherence import Span
from schedules.care_facts import CareFacts
from schedules.care_sets import CareSet, care_set_on
from schedules.care_words import CareItem, CareKind, ordinal_of
from schedules.regimen import Regimen, plan_endings
from shared.course.care_schedule import DATES_STATUS, LensSurgery, met, outside_schedule, recurring, refraction_dates, schedule_sources
from shared.course.harm import pressure_interval
from shared.course.review_facts import OperatedEye
from shared.findings import Message, msg
from shared.vocabulary import Laterality, OpticalStatus, Status


def first_correction(f: CareFacts, sets: Sequence[CareSet], _span: Span) -> Iterator[CareItem]:
    """Glasses or a lens within the clinic's days after the surgery that took an eye's lens, or put one in (common practice)."""
    for eye in Laterality:
        for change in f.changes(eye):
            days = care_set_on(sets, change.from_on).first_correction_days
            on, following_on = change.from_on + timedelta(days=days), f.changed_after(change.from_on, eye) or date.max
            if not change.status.operated or on >= following_on:
                continue
            family = msg("The first glasses or lens after surgery of the %(eye)s eye, by today at the latest.", eye=eye)
            clinic = msg("First correction of the %(eye)s eye within %(days)s days after surgery on %(on)s.", eye=eye, days=days, on=change.from_on)
            met_on = _first_worn(f, eye, change.from_on, following_on)
            yield CareItem(CareKind.FIRST_CORRECTION, on, ordinal_of(eye), eye, family, clinic, change.from_on, met_on=met_on)


def _first_worn(f: CareFacts, eye: Laterality, from_on: date, following_on: date) -> date | None:
    worn = chain((lens.from_on for lens in f.lenses if lens.eye is eye), f.glasses_from_on)
    return min((on for on in worn if from_on <= on < following_on), default=None)


def stitches(f: CareFacts, sets: Sequence[CareSet], _span: Span) -> Iterator[CareItem]:
    """The wound's stitches, a week or two after surgery (common practice)."""
    for stitched in f.stitched:
        eye, held = stitched.eye, care_set_on(sets, stitched.on)
        on, latest_on = (stitched.on + timedelta(days=days) for days in (held.stitches_from_days, held.stitches_until_days))
        following_on = min((s.on for s in f.stitched if s.eye is eye and s.on > stitched.on), default=date.max)
        met_on = min((d for d in f.done_on(CareKind.STITCH_CHECK, eye) if stitched.on < d < following_on), default=None)
        family = msg("The stitches of the %(eye)s eye are looked at, by %(latest)s at the latest.", eye=eye, latest=latest_on)
        clinic = msg("Stitches of the %(eye)s eye: any loose or broken? Surgery was on %(on)s.", eye=eye, on=stitched.on)
        yield CareItem(CareKind.STITCH_CHECK, on, ordinal_of(eye), eye, family, clinic, stitched.on, latest_on=latest_on, met_on=met_on)


def refraction(f: CareFacts, sets: Sequence[CareSet], span: Span) -> Iterator[CareItem]:
    """Each operated eye by the published schedule whose children were like this one, then by the clinic's interval; no plan's end ends it.

    A child with glasses and no operated eye: by the clinic's interval (common practice).
    """
    operated = [change for eye in Laterality if (change := f.first_operated(eye))]
    for change in operated:
        surgery = LensSurgery(f.born_on, change.from_on, change.status, fellow_operated=len(operated) > 1)
        yield from _refraction_of(f, change.eye, surgery, sets, min(span.end_on, _absent_on(f, change.eye)))
    if not operated and f.glasses_from_on:
        done = [d.on for d in f.done if d.kind is CareKind.REFRACTION_CHECK]
        yield from _refraction_by_interval(None, min(f.glasses_from_on), done, sets, span.end_on)


def _refraction_of(f: CareFacts, eye: Laterality, surgery: LensSurgery, sets: Sequence[CareSet], end_on: date) -> Iterator[CareItem]:
    held, operated_on = care_set_on(sets, surgery.operated_on), surgery.operated_on
    done = [d for d in f.done_on(CareKind.REFRACTION_CHECK, eye) if d > operated_on]
    last_on = operated_on
    schedule = next((s for s in held.refraction_schedules if outside_schedule(s, surgery) is None), None)
    if schedule is not None:
        family = msg("The power of the %(eye)s eye is measured: a growing eye changes.", eye=eye)
        clinic = msg("Refraction of the %(eye)s eye due by the published schedule, counted from surgery on %(on)s.", eye=eye, on=operated_on)
        known = DATES_STATUS, schedule_sources(schedule)
        for due in met(refraction_dates(schedule, surgery), done, held.together_days):
            if due.on >= end_on:
                return
            yield CareItem(CareKind.REFRACTION_CHECK, due.on, ordinal_of(eye), eye, family, clinic, operated_on, *known, met_on=due.met_on)
            last_on = due.on
    yield from _refraction_by_interval(eye, last_on, done, sets, end_on)


def _refraction_by_interval(eye: Laterality | None, start_on: date, done: Iterable[date], sets: Sequence[CareSet], end_on: date) -> Iterator[CareItem]:
    def months_from(on: date) -> int:
        return care_set_on(sets, on).refraction_months

    family = msg("The power of the %(eye)s eye is measured: a growing eye changes.", eye=eye) if eye else msg("The power of the eyes is measured.")
    clinic = msg("Refraction due by the clinic's own interval: no published schedule holds here.")
    for due in takewhile(lambda due: due.on < end_on, recurring(start_on, done, months_from)):
        yield CareItem(CareKind.REFRACTION_CHECK, due.on, ordinal_of(eye), eye, family, clinic, start_on, met_on=due.met_on)


def pressure(f: CareFacts, _sets: Sequence[CareSet], span: Span) -> Iterator[CareItem]:
    """Each operated eye for life, by the interval at its age and time after surgery (from memory); no plan's end ends it."""
    for eye in Laterality:
        change = f.first_operated(eye)
        if change is not None:
            yield from _pressure_of(f, OperatedEye(eye, change.from_on), min(span.end_on, _absent_on(f, eye)))


def _pressure_of(f: CareFacts, operated: OperatedEye, end_on: date) -> Iterator[CareItem]:
    def months_from(on: date) -> int:
        return int(pressure_interval(operated, f.born_on, on).value)

    eye, operated_on = operated.eye, operated.operated_on
    family = msg("The pressure of the %(eye)s eye is measured: for life, also when all is well.", eye=eye)
    clinic = msg("Pressure of the %(eye)s eye due; operated on %(on)s and watched for life.", eye=eye, on=operated_on)
    interval = pressure_interval(operated, f.born_on, operated_on)
    known = interval.status, (interval.source_key,)
    for due in takewhile(lambda due: due.on < end_on, recurring(operated_on, f.done_on(CareKind.PRESSURE_CHECK, eye), months_from)):
        yield CareItem(CareKind.PRESSURE_CHECK, due.on, ordinal_of(eye), eye, family, clinic, operated_on, *known, met_on=due.met_on)


def _absent_on(f: CareFacts, eye: Laterality) -> date:
    return next((c.from_on for c in f.changes(eye) if c.status is OpticalStatus.ABSENT), date.max)


def power_out_of_date(f: CareFacts, _sets: Sequence[CareSet], _span: Span) -> Iterator[CareItem]:
    """The day the eye is expected to have grown out of a lens; the forecast's date is derived. Met when that lens is no longer worn."""
    for lens in f.lenses:
        on, end_on = lens.power_until_on, f.lens_ends_on(lens)
        if on is None or (end_on is not None and on >= end_on):
            continue
        family = msg("The %(eye)s eye may have grown out of its lens by now: have the power checked.", eye=lens.eye)
        clinic = msg("Power of the lens of the %(eye)s eye expected out of date by the growth forecast: refract over the lens.", eye=lens.eye)
        yield CareItem(CareKind.POWER_OUT_OF_DATE, on, ordinal_of(lens.eye), lens.eye, family, clinic, lens.from_on, Status.DERIVED, met_on=end_on)


def reviews(f: CareFacts, _sets: Sequence[CareSet], _span: Span) -> Iterator[CareItem]:
    """The day each plan runs out, met by the next that begins, and the visits that stand in the book."""
    for on in plan_endings(f.revisions):
        ended = max((r for r in f.revisions if r.ends_on == on), key=lambda r: r.number)
        review_on = ended.review_on or on
        met_on = min((r.start_on for r in f.revisions if r.start_on > on), default=None)
        yield CareItem(CareKind.REVIEW_DUE, review_on, ordinal_of(None), None, *_review_words(ended, on), ended.start_on, met_on=met_on)
    for visit in f.booked:
        family, clinic = msg("Your visit at the clinic."), msg("Stands in the book.")
        yield CareItem(CareKind.VISIT, visit.on, visit.number, None, family, clinic, visit.on)


def _review_words(ended: Regimen, ends_on: date) -> tuple[Message, Message]:
    """To the family and to the clinic."""
    if not ended.grace_days:
        return msg("The plan ends: no patch from today until the clinic has said how it goes on."), msg("Review due: the signed plan ends.")
    return (
        msg("The clinic sees your child by today. Should that slip, the plan goes on until the day before %(ends)s, no longer.", ends=ends_on),
        msg("Review due: the signed plan ends on %(ends)s at the latest.", ends=ends_on),
    )


def secondary_lens(f: CareFacts, _sets: Sequence[CareSet], _span: Span) -> Iterator[CareItem]:
    """Time to plan an implant, on the clinic's date, for an eye that is still without a lens; met when the eye changes."""
    for s in f.secondary_lenses:
        if f.status_on(s.eye, s.on) is OpticalStatus.APHAKIC:
            family = msg("Time to talk with the surgeon about a lens in the %(eye)s eye.", eye=s.eye)
            clinic = msg("Plan the secondary lens of the %(eye)s eye, as the clinic set it.", eye=s.eye)
            yield CareItem(
                CareKind.SECONDARY_LENS, s.on, ordinal_of(s.eye), s.eye, family, clinic, f.changes(s.eye)[0].from_on, met_on=f.changed_after(s.on, s.eye)
            )


@dataclass(frozen=True)
class Trip:
    """One journey on a day, and what is done on it; a proposal, like every date here."""

    on: date
    items: tuple[CareItem, ...]


def trips(items: Iterable[CareItem], sets: Sequence[CareSet]) -> tuple[Trip, ...]:
    """Visits close together, as one trip each: on a booked day, else on the earliest day that is due, which is never passed.

    An item joins by coming forward at most the clinic's days, never before its own range or cause. What is done already needs no trip.
    """
    left = sorted((i for i in items if i.kind.is_visit and i.met_on is None), key=lambda i: (i.due_on, i.kind, i.ordinal))
    booked = sorted({i.on for i in left if i.kind is CareKind.VISIT})
    found = []
    while left:
        on = booked.pop(0) if booked else left[0].due_on
        joined = [i for i in left if _may_join(i, on, care_set_on(sets, on).together_days)]
        left = [i for i in left if i not in joined]
        if joined:
            found.append(Trip(on, tuple(joined)))
    return tuple(sorted(found, key=lambda trip: trip.on))


def _may_join(item: CareItem, on: date, together_days: int) -> bool:
    if item.kind is CareKind.VISIT:
        return item.on == on
    opens_on = item.on if item.latest_on else max(item.caused_on, item.on - timedelta(days=together_days))
    return opens_on <= on <= item.due_on
