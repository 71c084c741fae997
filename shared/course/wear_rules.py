"""What was worn: not known, not worn, worn without a focused image, and worn beyond what was signed are findings of their own, never one."""

from collections.abc import Iterator

from shared.course.review_facts import ReviewFacts
from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.vocabulary import Status


def wear(f: ReviewFacts) -> Iterator[Finding]:
    """Not known and not worn, each against the clinic's limit (common practice): with either, nothing can be said of the dose."""
    limit = _percent(f.limits.low_share)
    if f.known_days_share is None:
        return
    if f.known_days_share < f.limits.low_share:
        share = _percent(f.known_days_share)
        text = msg(
            "Wear is not known: something was noted on %(share)s of the days (the limit here is %(limit)s). Ask before judging the dose.",
            share=share,
            limit=limit,
        )
        family = msg("Please note each day what was worn, also when it was nothing: a day without a note tells us nothing.")
        yield Finding("wear-not-known", text, Status.COMMON_PRACTICE, value=share, weight=Weight.CHECK, family=family)
    if f.received_share_of_known is not None and f.received_share_of_known < f.limits.low_share:
        share = _percent(f.received_share_of_known)
        text = msg("Little is worn: %(share)s of the prescribed time on the days that are known (the limit here is %(limit)s).", share=share, limit=limit)
        family = msg("The hours are hard to reach, and that happens in many families. Tell us what stands in the way; we look for hours that fit your day.")
        yield Finding("wear-low", text, Status.COMMON_PRACTICE, value=share, weight=Weight.CHECK, family=family)


def over_patching(f: ReviewFacts) -> Iterator[Finding]:
    """Worn beyond what was signed, against the clinic's limit (common practice): the covered eye pays for it."""
    if f.received_share_of_known is not None and f.received_share_of_known > f.limits.over_share:
        share, limit = _percent(f.received_share_of_known), _percent(f.limits.over_share)
        text = msg(
            "More is worn than was signed: %(share)s of the prescribed time on the days that are known (the limit here is %(limit)s). "
            "Measure the covered eye, and see that the family knows the hours.",
            share=share,
            limit=limit,
        )
        family = msg("Longer than agreed is not better: the eye we cover needs its time too. Please keep to the hours of the plan.")
        yield Finding("worn-beyond-signed", text, Status.COMMON_PRACTICE, value=share, weight=Weight.CHECK, family=family)


def without_correction(f: ReviewFacts) -> Iterator[Finding]:
    """Hours with the patch on and lens or glasses off are no treatment (common practice)."""
    if f.without_correction_share is not None and f.without_correction_share > 1 - f.limits.low_share:
        share = _percent(f.without_correction_share)
        text = msg("On %(share)s of the time with the patch on, lens or glasses were off: without a focused image no hour is treatment.", share=share)
        family = msg("The patch helps only while lens or glasses are on. Please put them on first, and ring us when they are lost or do not fit.")
        yield Finding("worn-without-correction", text, Status.COMMON_PRACTICE, value=share, weight=Weight.CHECK, family=family)


def _percent(share: float) -> Quantity:
    return Quantity(share * 100, Unit.PERCENT)
