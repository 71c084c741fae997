"""Atropine in the fellow eye: the schedules that were published, and nothing outside them. Prescribed and signed by a person licensed for it."""

from dataclasses import replace
from datetime import date, timedelta

from shared.dates import month_on
from shared.findings import Finding, Message, Quantity, Unit, msg
from shared.sight.acuity import Acuity
from shared.sight.bands import ATS1_MODERATE, ATS8_MODERATE, ATS9_MODERATE, WEEKEND_SEVERE
from shared.sources import number
from shared.treatment.dose import NoPublishedDose, OcclusionFacts
from shared.treatment.protocol import Row, Use
from shared.treatment.protocol_rows import TRIALS, months, particulars, past
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import AcuityFamily, OpticalStatus, Phase, Status

CAUTIONS: tuple[Message, ...] = (
    msg("A proposal, not an order: the prescriber and local guidelines decide."),
    msg("Flushing, fever, a dry mouth, a fast pulse, restlessness or confusion: stop the drops and call at once."),
    msg("The pupil stays wide and near sight blurred for days: shade the eyes in bright light, and say so before an operation or an eye test."),
    msg("Keep the bottle out of children's reach: swallowed, it is a poison. Press on the inner corner of the eye after the drop, and wash the hands."),
    msg("Measure both eyes at every visit: the eye that has the drop can lose sight, and it measures worse while the drop works."),
)


def _rows() -> tuple[Row, ...]:
    """Every day (ATS1, ATS4) or on the weekend (ATS4, ATS8, ATS9, the severe series). The first visit is ATS1's; the weekend drop's strength is from memory."""
    visit = number("ats1-course", "visit")
    daily = Row(
        rule="atropine-daily",
        title=msg("Atropine every day, moderate amblyopia under seven years"),
        use=Use.ALTERNATIVE,
        phase=Phase.ATROPINE,
        aetiologies=TRIALS,
        from_month=months(number("ats1-course", "youngest")),
        below_month=months(number("ats1", "below_age")),
        sources=("ats1", "ats4", "ats1-course"),
        status=Status.weakest(number("ats1", "strength").status, Status.DERIVED),  # the visit is that of the trial's other arm
        band=ATS1_MODERATE,
        first=(msg("the correction in force is signed and worn"), msg("acuity of both eyes by letters or pictures, with one test")),
        reviews=((0, visit),),
        longest=number("ats1", "months"),
    )
    weekend = replace(
        daily,
        rule="atropine-weekend",
        title=msg("Atropine on Saturday and Sunday, moderate amblyopia under seven years"),
        from_month=months(number("ats8", "youngest")),
        below_month=months(number("ats8", "below_age")),
        sources=("ats8", "ats4", "ats1-course"),
        status=Status.weakest(number("ats8", "strength").status, Status.DERIVED),
        band=ATS8_MODERATE,
        pattern=Pattern.WEEKEND,
        longest=number("ats8", "weeks"),
    )
    return daily, weekend, *_older_and_severe(weekend)


def _older_and_severe(weekend: Row) -> tuple[Row, ...]:
    older = replace(
        weekend,
        rule="atropine-weekend-at-7-to-12",
        title=msg("Atropine on Saturday and Sunday, moderate amblyopia, 7 to 12 years"),
        from_month=months(number("ats9", "youngest")),
        below_month=past(number("ats9", "oldest")),
        sources=("ats9", "ats1-course"),
        band=ATS9_MODERATE,
        longest=number("ats9", "weeks"),
    )
    severe = replace(
        weekend,
        rule="atropine-weekend-severe",
        title=msg("Atropine on Saturday and Sunday, severe amblyopia, 3 to 6 years"),
        from_month=months(number("weekend-atropine-2009", "youngest")),
        below_month=months(number("weekend-atropine-2009", "older_from")),
        sources=("weekend-atropine-2009", "ats1-course"),
        band=WEEKEND_SEVERE,
        longest=number("weekend-atropine-2009", "weeks"),
    )
    severe_older = replace(
        severe,
        rule="atropine-weekend-severe-at-7-to-12",
        title=msg("Atropine on Saturday and Sunday, severe amblyopia, 7 to 12 years"),
        from_month=months(number("weekend-atropine-2009", "older_from")),
        below_month=past(number("weekend-atropine-2009", "oldest")),
        longest=number("weekend-atropine-2009", "weeks_older"),
    )
    return older, severe, severe_older


ROWS = _rows()


def schedules(f: OcclusionFacts) -> tuple[Row, ...] | NoPublishedDose:
    """The published schedules for a child like this one, or why there are none. Ages in completed months; an acuity that is not known fits every band."""
    if OpticalStatus.ABSENT in (f.amblyopic_eye_status, f.fellow_eye_status):
        return NoPublishedDose(msg("One eye is absent: the other is the only one this child has, and no drop blurs it."))
    if f.amblyopic_eye_status.operated or f.fellow_eye_status.operated:
        return NoPublishedDose(msg("The trials of atropine were of phakic eyes; here one is operated."), ("ats1", "ats8"))
    youngest, oldest = number("ats8", "youngest"), number("ats9", "oldest")
    if f.age_months < months(youngest):
        return NoPublishedDose(msg("No schedule of atropine is published under %(years)s.", years=youngest.quantity(Unit.YEARS)), ("ats1", "ats8"))
    if f.age_months >= past(oldest):
        return NoPublishedDose(msg("No schedule of atropine here goes beyond %(years)s.", years=oldest.quantity(Unit.YEARS)), ("ats9",))
    found = tuple(r for r in ROWS if r.takes(f.aetiology, f.age_months, _line(f.amblyopic_acuity)) and r.rule not in f.rules_off)
    if _categorical(f.amblyopic_acuity) or not found:
        return NoPublishedDose(msg("The trials of atropine took neither this cause nor an acuity outside their bands."), ("ats1", "ats8", "ats9"))
    return found


def _line(acuity: Acuity | None) -> float | None:
    return acuity.nominal_logmar if acuity is not None and acuity.family is AcuityFamily.OPTOTYPE else None


def _categorical(acuity: Acuity | None) -> bool:
    """Counting fingers and less: the eye could not take over."""
    return acuity is not None and acuity.family is AcuityFamily.LOW_VISION


def second_look(f: OcclusionFacts) -> Message | None:
    """Why a second confirmation with a reason is asked for: the amblyopic eye would have to do alone what it hardly can, or nobody knows what it sees.

    The limit is the worse edge of the moderate band, in chart steps of logMAR (ATS1, as read); asking twice beyond it is common practice.
    """
    line, limit = _line(f.amblyopic_acuity), ATS1_MODERATE.worst
    if line is None:
        return msg("What the amblyopic eye sees by letters or pictures is not known, and with the drop the child depends on it.")
    if line > limit.value:
        return msg(
            "The amblyopic eye sees %(line)s, worse than %(limit)s, and with the drop the child depends on it.",
            line=Quantity(line, Unit.LOGMAR),
            limit=limit.quantity(Unit.LOGMAR),
        )
    return None


def finding(schedule: Row) -> Finding:
    """One schedule as a finding: what it is, how well it is known, and what the trial of its own saw."""
    strength = number("ats1", "strength").quantity(Unit.PERCENT)
    text = msg("%(title)s: one drop of %(strength)s in the fellow eye, and no patch.", title=schedule.title, strength=strength)
    lost = number("ats4", "fellow_lost")
    seen = (msg("at the end the fellow eye was two lines worse in %(lost)s child of each arm (ATS4)", lost=int(lost.value)),)
    return Finding(schedule.rule, text, schedule.status, schedule.sources, working=(*particulars(schedule), *(seen if "ats4" in schedule.sources else ())))


def ends_by(schedule: Row, start_on: date) -> date:
    """The last day on which the review may be: the trial itself ran no longer."""
    longest = schedule.longest
    assert longest is not None
    return month_on(start_on, int(longest.value)) if longest.unit == "months" else start_on + timedelta(weeks=longest.value)
