"""What stands before any hour of patching: double vision, a new deviation, sore skin, a blocked axis, pressure. Operated eyes are watched for life."""

from collections.abc import Iterator
from datetime import date

from shared.course.review_facts import OperatedEye, ReviewFacts
from shared.dates import MONTHS_A_YEAR, completed_months
from shared.examination_words import Skin
from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.sources import Published, number, source
from shared.vocabulary import Phase, RedReflex, Status, YesNo

GUIDELINE = "aao-ppp-2022"


def double_vision(f: ReviewFacts) -> Iterator[Finding]:
    """Double vision, or a deviation where there was none: stop for the time being and watch (guideline, read second-hand)."""
    status = source(GUIDELINE).status
    if f.double_vision_on is not None:
        text = msg("Double vision was said on %(on)s: stop the patch for the time being and see why.", on=f.double_vision_on)
        family = msg("Seeing double: please leave the patch off until we have looked.")
        if f.phase is Phase.ATROPINE:
            text = msg("Double vision was said on %(on)s: stop the drops for the time being and see why.", on=f.double_vision_on)
            family = msg("Seeing double: please give no more drops until we have looked.")
        yield Finding("double-vision", text, status, (GUIDELINE,), weight=Weight.ACT, family=family)
    if f.new_deviation_on is not None:
        text = msg(
            "A deviation of the eyes on %(on)s, where the cover test before found none: stop the patch for the time being and see why.", on=f.new_deviation_on
        )
        if f.phase is Phase.ATROPINE:
            text = msg(
                "A deviation of the eyes on %(on)s, where the cover test before found none: stop the drops for the time being and see why.",
                on=f.new_deviation_on,
            )
        yield Finding("new-deviation", text, status, (GUIDELINE,), weight=Weight.ACT)


def skin(f: ReviewFacts) -> Iterator[Finding]:
    """Sore skin wants another way of treatment, red skin another patch (guideline, read second-hand, and common practice)."""
    if f.skin is Skin.SORE:
        text = msg("The skin under the patch is sore: another way of treatment until it has healed.")
        family = msg("Sore skin: leave the patch off until it has healed, and ring us.")
        yield Finding("skin-sore", text, source(GUIDELINE).status, (GUIDELINE,), weight=Weight.ACT, family=family)
    elif f.skin is Skin.RED:
        text = msg("The skin under the patch is red: another make or shape, or the other side of the frame.")
        family = msg("Red skin: put the patch a little differently each day, and tell us if it does not get better.")
        yield Finding("skin-red", text, Status.COMMON_PRACTICE, weight=Weight.CHECK, family=family)


def axis(f: ReviewFacts) -> Iterator[Finding]:
    """A blocked axis in an operated eye comes before everything that is asked of it: it is the commonest event there (common practice)."""
    for eye in f.operated_eyes:
        if blocked(eye):
            text = msg(
                "The axis of the %(eye)s eye was not clear on %(on)s: hours behind it are no treatment. See it first.", eye=eye.eye, on=eye.axis_on or f.today
            )
            family = msg("Something stands in the way of sight in the operated eye; the surgeon looks at it first.")
            yield Finding("axis-first", text, Status.COMMON_PRACTICE, weight=Weight.ACT, family=family)
        elif eye.axis_on is None:
            text = msg("Red reflex and axis of the %(eye)s eye were never recorded: look, before more is asked of it.", eye=eye.eye)
            yield Finding("axis-not-seen", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)


def blocked(eye: OperatedEye) -> bool:
    """Whether the newest look along the axis found something in the way."""
    poor = (RedReflex.REDUCED, RedReflex.ABSENT, RedReflex.WHITE)
    return eye.red_reflex in poor or eye.axis_clear is YesNo.NO or eye.membrane is YesNo.YES


def pressure_high(f: ReviewFacts) -> Iterator[Finding]:
    """The newest pressure of an operated eye above the limit (from memory)."""
    limit = number("pressure-watch", "suspect_above")
    for eye in f.operated_eyes:
        if eye.pressure_mmhg is None or eye.pressure_on is None or eye.pressure_mmhg <= limit.value:
            continue
        value = Quantity(eye.pressure_mmhg, Unit.MMHG)
        text = msg(
            "Pressure of the %(eye)s eye %(value)s on %(on)s, above %(limit)s: suspect glaucoma, and see the eye now.",
            eye=eye.eye,
            value=value,
            on=eye.pressure_on,
            limit=limit.quantity(Unit.MMHG),
        )
        working: tuple[Message, ...] = (msg("a thick cornea, as in many aphakic eyes, reads higher"),)
        if eye.on_steroid:
            working = (msg("the eye was on steroid"), *working)
        family = msg("The pressure in the operated eye is higher than we like; the doctor sees it now.")
        yield Finding("pressure-high", text, limit.status, (limit.source_key,), value, working, Weight.ACT, family)


def pressure_due(f: ReviewFacts) -> Iterator[Finding]:
    """An operated eye without a pressure for as long as its interval (from memory); the end of a plan never ends the watch."""
    risk = number("iats-glaucoma-2021", "glaucoma_by_ten")
    for eye in f.operated_eyes:
        every = pressure_interval(eye, f.born_on, f.today)
        if eye.pressure_on is not None and completed_months(eye.pressure_on, f.today) < every.value:
            continue
        text = msg(
            "Pressure of the %(eye)s eye: none recorded within %(months)s, the interval at this age and time after surgery. "
            "Glaucoma came to %(risk)s of eyes operated in infancy within ten years; the watch is for life.",
            eye=eye.eye,
            months=every.quantity(Unit.MONTHS),
            risk=risk.quantity(Unit.PERCENT),
        )
        tried = (msg("attempted on %(on)s, not obtained", on=eye.pressure_tried_on),) if eye.pressure_tried_on else ()
        family = msg("The pressure of the operated eye is measured again and again, for life, also when all is well.")
        status, sources = Status.weakest(every.status, risk.status), (every.source_key, risk.source_key)
        yield Finding("pressure-due", text, status, sources, working=tried, weight=Weight.CHECK, family=family)


def pressure_interval(eye: OperatedEye, born_on: date | None, today: date) -> Published:
    """Months between pressures: three in the year after surgery, six until school age, then twelve, for life (from memory)."""
    if completed_months(eye.operated_on, today) < MONTHS_A_YEAR:
        return number("pressure-watch", "months_first_year")
    school = number("pressure-watch", "school_age").value * MONTHS_A_YEAR
    if born_on is None or completed_months(born_on, today) < school:
        return number("pressure-watch", "months_to_school")
    return number("pressure-watch", "months_later")
