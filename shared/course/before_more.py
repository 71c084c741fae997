"""What comes before a dose goes up, in its order: retest, refraction and correction really worn, clear axis, pressure and length, wear; then the dose."""

from collections.abc import Iterator
from dataclasses import dataclass

from shared.course.readings import since_baseline
from shared.course.review_facts import Reading, ReviewFacts
from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.vocabulary import Status


@dataclass(frozen=True)
class Step:
    """One step of the order; `done` says when, or `asked` what to do where it has not been done since the plateau began."""

    rule: str
    done: Message | None
    asked: Message


def steps(f: ReviewFacts, since: Reading) -> Iterator[Step]:
    """Each step in the order of the trade (common practice), held against the reading since which nothing was gained. The retest is the newest reading."""
    refracted = f.refracted_on is not None and f.refracted_on >= since.on
    yield Step("settle-refract-first", msg("refracted on %(on)s", on=f.refracted_on) if refracted and f.refracted_on else None, msg("refract"))
    yield Step("settle-correction-first", _worn_with_correction(f), msg("see that lens or glasses are worn"))
    for eye in f.operated_eyes:
        seen = eye.axis_on is not None and eye.axis_on >= since.on
        done = msg("axis of the %(eye)s eye seen on %(on)s", eye=eye.eye, on=eye.axis_on) if seen and eye.axis_on else None
        yield Step("settle-axis-first", done, msg("look at reflex and axis of the %(eye)s eye", eye=eye.eye))
        measured = eye.pressure_on is not None and eye.pressure_on >= since.on
        done = msg("pressure of the %(eye)s eye taken on %(on)s", eye=eye.eye, on=eye.pressure_on) if measured and eye.pressure_on else None
        yield Step("settle-pressure-first", done, msg("take pressure and length of the %(eye)s eye", eye=eye.eye))


def _worn_with_correction(f: ReviewFacts) -> Message | None:
    share = f.without_correction_share
    if share is None:
        return msg("no time was noted with the patch on and lens or glasses off")
    if share > 1 - f.limits.low_share:
        return None
    return msg("lens or glasses were off on %(share)s of the time with the patch on, as noted", share=Quantity(share * 100, Unit.PERCENT))


def taken(f: ReviewFacts, since: Reading) -> tuple[Message, ...]:
    """What was done since the plateau began, the retest first."""
    again = since_baseline(f, f.amblyopic)[-1]
    return (msg("measured again on %(on)s, no better", on=again.on), *(s.done for s in steps(f, since) if s.done))


def first_open(f: ReviewFacts, since: Reading) -> Finding | None:
    """The first step that was not taken since the plateau began, as a proposal; None where the dose is what is left."""
    undone = next((s for s in steps(f, since) if s.done is None), None)
    if undone is None:
        return None
    text = msg("Proposed, before the dose goes up: %(step)s. Nothing of that is recorded since %(on)s.", step=undone.asked, on=since.on)
    return Finding(undone.rule, text, Status.COMMON_PRACTICE, working=taken(f, since), weight=Weight.CHECK)
