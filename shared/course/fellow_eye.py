"""The covered eye: whether it lost sight under the patch, and whether it is the right one to cover."""

from collections.abc import Iterator

from shared.course.readings import reliable
from shared.course.review_facts import ReviewFacts
from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.rounding import round_half_up
from shared.sight.acuity import change_between
from shared.sight.acuity_repeatability import repeatability
from shared.sources import number
from shared.vocabulary import AcuityFamily, AcuityMethod, Phase, Status

PAUSED = msg("The eye we cover sees less than before. Please leave the patch off until we have looked at it again.")
NO_DROPS = msg("The eye that has the drops sees less than before. Please give no more drops until we have looked at it again.")
MEASURED_AGAIN = msg("The eye we cover read a little less today. That is often chance; we measure it again before anything is changed.")


def covered_eye(f: ReviewFacts) -> Iterator[Finding]:
    """The plan in force covers the eye recorded as amblyopic, without a reason for it (common practice)."""
    if f.covers_amblyopic_unsaid:
        text = msg("The plan in force covers the eye that is now recorded as amblyopic: check the record and the plan at once.")
        yield Finding(
            "covers-amblyopic-eye", text, Status.COMMON_PRACTICE, weight=Weight.ACT, family=msg("Please stop the patch until we have spoken with you.")
        )


def fellow_eye_loss(f: ReviewFacts) -> Iterator[Finding]:
    """The covered eye against its best earlier reading with this test; a fall from a measurement to a category counts across tests."""
    fallen = next(_fallen_to_category(f), None)
    if fallen is not None:
        yield fallen
        return
    good = reliable(f.fellow)
    if len(good) < 2 or good[-1].acuity.family is AcuityFamily.LOW_VISION:
        return
    now, best = good[-1], min(good[:-1], key=lambda r: r.acuity.logmar if r.acuity.logmar is not None else 9.0)
    if now.acuity.family is AcuityFamily.GRATING:
        drop, known = change_between(best.acuity, now.acuity), repeatability(AcuityMethod.GRATING_CARDS)
        if known and drop.value > 0 and known.is_beyond(drop):
            text = msg("Fellow eye down by %(drop)s on grating cards since %(on)s: retest.", drop=drop, on=best.on)
            yield Finding("fellow-eye-grating", text, known.status, (known.source,), drop, (known.measured_on,), Weight.CHECK, MEASURED_AGAIN)
        return
    if best.acuity.nominal_logmar is None or now.acuity.nominal_logmar is None:
        return
    lines = round_half_up((now.acuity.nominal_logmar - best.acuity.nominal_logmar) * 10)
    limit = number("aao-ppp-2022", "fellow_lines")
    working = (msg("%(before)s on %(on)s, %(now)s on %(now_on)s, in chart steps", before=best.acuity.typed, on=best.on, now=now.acuity.typed, now_on=now.on),)
    value = Quantity(lines, Unit.LINES)
    if lines >= limit.value:
        text = msg("Fellow eye worse by %(lines)s: pause the patch and see why.", lines=value)
        if f.phase is Phase.ATROPINE:
            text = msg("Fellow eye worse by %(lines)s: pause the drops and see why; it measures worse while a drop works.", lines=value)
        yield Finding("fellow-eye-two-lines", text, limit.status, (limit.source_key,), value, working, Weight.ACT, _pause(f))
    elif lines >= 1:
        text = msg("Fellow eye worse by %(lines)s: it may be no more than a retest gives; measure it again.", lines=value)
        known = repeatability(f.method) if f.method else None
        status, sources = (Status.weakest(Status.DERIVED, known.status), (known.source,)) if known else (Status.COMMON_PRACTICE, ())
        yield Finding("fellow-eye-one-line", text, status, sources, value, working, Weight.CHECK, MEASURED_AGAIN)


def fellow_eye_lost(f: ReviewFacts) -> bool:
    """The fellow eye has lost enough to act on: then it measures neither what the amblyopic eye gained nor what is left."""
    return any(p.weight is Weight.ACT for p in fellow_eye_loss(f))


def _fallen_to_category(f: ReviewFacts) -> Iterator[Finding]:
    """Across every test: from a measurement to a category, or from a category to a worse one (common practice)."""
    good = reliable(f.fellow_any or f.fellow)
    if len(good) < 2:
        return
    now, best = good[-1], min(good[:-1], key=lambda r: r.acuity.category_rank)
    if now.acuity.category_rank > best.acuity.category_rank:
        text = msg("Fellow eye down from “%(before)s” to “%(now)s”: pause the patch and see why.", before=best.acuity.typed, now=now.acuity.typed)
        if f.phase is Phase.ATROPINE:
            text = msg("Fellow eye down from “%(before)s” to “%(now)s”: pause the drops and see why.", before=best.acuity.typed, now=now.acuity.typed)
        yield Finding("fellow-eye-category", text, Status.COMMON_PRACTICE, weight=Weight.ACT, family=_pause(f))


def _pause(f: ReviewFacts) -> Message:
    """What the family leaves out for now."""
    return NO_DROPS if f.phase is Phase.ATROPINE else PAUSED
