"""Prompts about what surrounds the dose: lenses, near added twice, a changed eye, a review that slips, the year after stopping."""

from collections.abc import Iterator
from datetime import date, timedelta

from shared.dates import month_on
from shared.exchange import looks_like_exchanged_lenses
from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.ledger import ledger_findings
from shared.review_facts import NearInForce, ReviewFacts
from shared.sources import number
from shared.vocabulary import Phase, Status

OBSERVATION_MONTHS = (3, 6, 12)  # when a child is seen after stopping (common practice)


def near_added_twice(near: tuple[NearInForce, ...]) -> Iterator[Finding]:
    """A lens and glasses of one eye (D) that both add for near: it is added once, at one plane (common practice)."""
    for n in near:
        if n.lens_dioptres > 0 and n.spectacles_dioptres > 0:
            text = msg(
                "The lens of the %(eye)s eye adds %(lens)s for near and its glasses %(glasses)s: near is added once.",
                eye=n.eye,
                lens=Quantity(n.lens_dioptres, Unit.DIOPTRE),
                glasses=Quantity(n.spectacles_dioptres, Unit.DIOPTRE),
            )
            yield Finding("near-added-twice", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)


def lenses(f: ReviewFacts) -> Iterator[Finding]:
    """What the ledger says, and lenses that may have changed eyes."""
    yield from ledger_findings(f.lens_eyes, f.lenses, f.today)
    if f.over_refractions is not None and looks_like_exchanged_lenses(*f.over_refractions):
        right, left = (Quantity(power, Unit.DIOPTRE) for power in f.over_refractions)
        text = msg("Over-refractions equal and opposite (right %(right)s, left %(left)s): were the lenses exchanged?", right=right, left=left)
        yield Finding("lenses-exchanged", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)


def changed_eye(f: ReviewFacts) -> Iterator[Finding]:
    """After surgery: what has to be signed anew, since nothing signed before holds for this eye (no published rule was found)."""
    for c in f.changed_eyes:
        if c.wants_correction:
            text = msg("The %(eye)s eye was operated on %(on)s: its earlier corrections no longer hold. Refract, and sign a new one.", eye=c.eye, on=c.since_on)
            yield Finding("operated-no-correction", text, Status.COMMON_PRACTICE, weight=Weight.ACT)
        if c.wants_regimen:
            text = msg("The %(eye)s eye was operated on %(on)s: patching stays suspended until a regimen is signed again.", eye=c.eye, on=c.since_on)
            yield Finding("operated-no-regimen", text, Status.COMMON_PRACTICE, weight=Weight.ACT)


def review_slipped(f: ReviewFacts) -> Iterator[Finding]:
    """The next review is booked beyond the end of the plan, or not at all near its end (common practice); an infant first."""
    if f.review_on is None or f.phase is Phase.STOP:
        return
    if f.booked_on is not None and f.booked_on > f.review_on:
        days = (f.booked_on - f.review_on).days
        text = msg(
            "The review is booked for %(booked)s, %(days)s days after the plan ends on %(ends)s: no patch is shown in between. "
            "Move it forward, or extend by telephone.",
            booked=f.booked_on,
            days=days,
            ends=f.review_on,
        )
        yield Finding("review-slipped", text, Status.COMMON_PRACTICE, weight=Weight.ACT)


def observation_dates(stopped_on: date) -> tuple[date, ...]:
    """When a child is seen in the year after stopping: at 3, 6 and 12 months (common practice)."""
    return tuple(month_on(stopped_on, months) for months in OBSERVATION_MONTHS)


def observation(f: ReviewFacts) -> Iterator[Finding]:
    """The year after stopping (ATS2C watched for 52 weeks, read)."""
    watched, share = number("ats2c", "watched_weeks"), number("ats2c", "recurrence")
    if f.stopped_on is None or f.today >= f.stopped_on + timedelta(weeks=watched.value):
        return
    due = next((on for on in observation_dates(f.stopped_on) if on >= f.today), None)
    if due is None:
        return
    text = msg(
        "Treatment stopped on %(on)s; amblyopia came back in %(share)s within %(weeks)s in one trial. Next look on %(due)s.",
        on=f.stopped_on,
        share=share.quantity(Unit.PERCENT),
        weeks=watched.quantity(Unit.WEEKS),
        due=due,
    )
    yield Finding("observation-year", text, Status.weakest(watched.status, Status.COMMON_PRACTICE), ("ats2c",))
