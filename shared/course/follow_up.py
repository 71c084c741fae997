"""Prompts about what surrounds the dose: lenses that changed eyes, near added twice, the year after stopping."""

from collections.abc import Iterator
from datetime import date

from shared.course.review_facts import ReviewFacts
from shared.dates import month_on
from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.optics.exchange import looks_like_exchanged_lenses
from shared.rounding import round_half_up
from shared.sources import number
from shared.vocabulary import AcuityFamily, Laterality, Phase, Status

UNSAID_LINES = 2  # a difference between the eyes that wants its amblyopic eye named (common practice)
OBSERVATION_MONTHS = (3, 6, 12)  # when a child is seen after stopping (common practice)


def near_added_twice(f: ReviewFacts) -> Iterator[Finding]:
    """A lens and glasses of one eye that both add for near: it is added once, at one plane (common practice)."""
    for n in f.near:
        if n.lens_dioptres > 0 and n.spectacles_dioptres > 0:
            text = msg(
                "The lens of the %(eye)s eye adds %(lens)s for near and its glasses %(glasses)s: near is added once.",
                eye=n.eye,
                lens=Quantity(n.lens_dioptres, Unit.DIOPTRE),
                glasses=Quantity(n.spectacles_dioptres, Unit.DIOPTRE),
            )
            yield Finding("near-added-twice", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)


def lenses_exchanged(f: ReviewFacts) -> Iterator[Finding]:
    """Lenses that may have changed eyes (common practice)."""
    if f.over_refractions is not None and looks_like_exchanged_lenses(*f.over_refractions):
        right, left = (Quantity(power, Unit.DIOPTRE) for power in f.over_refractions)
        text = msg("Over-refractions equal and opposite (right %(right)s, left %(left)s): were the lenses exchanged?", right=right, left=left)
        yield Finding("lenses-exchanged", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)


def lens_off(f: ReviewFacts) -> Iterator[Finding]:
    """The lens worn against the refraction over it, near overcorrection allowed for, held against the clinic's limit (common practice)."""
    limit = Quantity(f.limits.lens_off_dioptres, Unit.DIOPTRE)
    for worn in f.lenses_worn:
        left = worn.over_dioptres + worn.near_dioptres
        if abs(left) < f.limits.lens_off_dioptres:
            continue
        off = Quantity(left, Unit.DIOPTRE)
        text = msg(
            "The lens of the %(eye)s eye is off by %(off)s since %(on)s at the latest (the limit here is %(limit)s): fit another power.",
            eye=worn.eye,
            off=off,
            on=worn.on,
            limit=limit,
        )
        working = (
            msg(
                "over-refraction %(over)s + near overcorrection of the lens %(near)s = %(off)s",
                over=Quantity(worn.over_dioptres, Unit.DIOPTRE),
                near=Quantity(worn.near_dioptres, Unit.DIOPTRE),
                off=off,
            ),
        )
        family = msg("The eye has grown out of its lens; a new power is fitted.")
        yield Finding("lens-off", text, Status.COMMON_PRACTICE, value=off, working=working, weight=Weight.CHECK, family=family)


def changed_eye(f: ReviewFacts) -> Iterator[Finding]:
    """After surgery: what has to be signed anew, since nothing signed before holds for this eye (common practice)."""
    for c in f.changed_eyes:
        if c.wants_correction and c.eye:
            text = msg("The %(eye)s eye was operated on %(on)s: its earlier corrections no longer hold. Refract, and sign a new one.", eye=c.eye, on=c.since_on)
            yield Finding("operated-no-correction", text, Status.COMMON_PRACTICE, weight=Weight.ACT)
        if c.wants_regimen:
            text = msg("Operated on %(on)s: patching stays suspended until a regimen is signed again.", on=c.since_on)
            yield Finding("operated-no-regimen", text, Status.COMMON_PRACTICE, weight=Weight.ACT)


def slipped(booked_on: date | None, ends_on: date) -> Message | None:
    """What is said where the next review lies after the end of the plan, or none is booked; None where one is in time (common practice)."""
    if booked_on is None:
        return msg("No review is booked before the plan ends on %(ends)s.", ends=ends_on)
    if booked_on <= ends_on:
        return None
    return msg(
        "The review is booked for %(booked)s, %(days)s days after the plan ends on %(ends)s: no patch is shown in between. "
        "Move it forward, or extend by telephone.",
        booked=booked_on,
        days=(booked_on - ends_on).days,
        ends=ends_on,
    )


def review_slipped(f: ReviewFacts) -> Iterator[Finding]:
    """The next review is booked beyond the end of the plan (common practice); that none is booked is said where visits are booked."""
    if f.ends_on is None or f.booked_on is None or f.phase is Phase.STOP:
        return
    text = slipped(f.booked_on, f.ends_on)
    if text is not None:
        yield Finding("review-slipped", text, Status.COMMON_PRACTICE, weight=Weight.ACT)


def amblyopic_eye_unsaid(f: ReviewFacts) -> Iterator[Finding]:
    """The eyes differ by two lines of one test, and the record does not say which is amblyopic: no dose is proposed without it (common practice)."""
    right, left = f.unsaid_pair or (None, None)
    if right is None or left is None or right.family is not AcuityFamily.OPTOTYPE or right.nominal_logmar is None or left.nominal_logmar is None:
        return
    lines = round_half_up((right.nominal_logmar - left.nominal_logmar) * 10)
    if abs(lines) >= UNSAID_LINES:
        worse = Laterality.RIGHT if lines > 0 else Laterality.LEFT
        text = msg(
            "The %(eye)s eye reads worse by %(lines)s, and no eye is recorded as amblyopic: no dose is proposed before one is.",
            eye=worse,
            lines=Quantity(abs(lines), Unit.LINES),
        )
        yield Finding("amblyopic-eye-unsaid", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)


def not_brought(f: ReviewFacts) -> Iterator[Finding]:
    """A booked visit to which the child was not brought, until the child is seen (common practice)."""
    if f.not_brought_on is None:
        return
    if f.booked_on is None:
        text = msg("Was not brought on %(on)s, and no review is booked: follow the clinic's own pathway, beside the booked visits.", on=f.not_brought_on)
        yield Finding("not-brought", text, Status.COMMON_PRACTICE, weight=Weight.ACT)
    else:
        text = msg("Was not brought on %(on)s; the review is booked for %(booked)s.", on=f.not_brought_on, booked=f.booked_on)
        yield Finding("not-brought", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)


def aphakic_uncorrected(f: ReviewFacts) -> Iterator[Finding]:
    """An aphakic eye for which no correction holds, unless an operation signed here says so already (common practice)."""
    said = {c.eye for c in f.changed_eyes if c.wants_correction}
    for eye in f.uncorrected_aphakic:
        if eye not in said:
            text = msg("No correction is signed for the %(eye)s eye, which is aphakic: without a focused image no hour is treatment.", eye=eye)
            yield Finding("aphakic-uncorrected", text, Status.COMMON_PRACTICE, weight=Weight.ACT)


def observation_dates(stopped_on: date) -> tuple[date, ...]:
    """When a child is seen in the year after stopping: at 3, 6 and 12 months (common practice)."""
    return tuple(month_on(stopped_on, months) for months in OBSERVATION_MONTHS)


def observation(f: ReviewFacts) -> Iterator[Finding]:
    """The year after stopping: its length as ATS2C watched (read), its dates common practice."""
    due = next((on for on in observation_dates(f.stopped_on) if on >= f.today), None) if f.stopped_on else None
    if f.stopped_on is None or due is None:
        return
    text = msg(
        "Treatment stopped on %(on)s: amblyopia may come back, and is watched for over %(weeks)s. Next look on %(due)s.",
        on=f.stopped_on,
        weeks=number("ats2c", "watched_weeks").quantity(Unit.WEEKS),
        due=due,
    )
    yield Finding("observation-year", text, Status.COMMON_PRACTICE, ("ats2c",))
