"""What publications would do instead: rows that are never the answer and stand beside it."""

from dataclasses import replace

from shared.findings import Unit, msg
from shared.sight.bands import ATS2A_SEVERE, RUN_IN_SEVERE
from shared.sources import number
from shared.treatment.protocol import Basis, Row, Use
from shared.treatment.protocol_rows import CORRECTION, TRIAL_FIRST, TRIALS, WATCH, months, past, row
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Phase, Status


def _infant_every_other_day() -> Row:
    alternate, last = number("iats-patching", "alternate_share"), number("iats-patching", "until_year")
    return replace(
        row("infant-half-of-waking-hours"),
        rule="infant-alternate-days",
        title=msg("The infant rule's alternative from eight months on"),
        use=Use.ALTERNATIVE,
        status=Status.weakest(alternate.status, last.status),
        amount=alternate,
        pattern=Pattern.ALTERNATE_DAYS,
        remark=msg("Instead of half of the waking hours each day; from memory, the papers read give only the half."),
    )


def _severe_alternatives() -> tuple[Row, ...]:
    """What trials did in severe amblyopia that is never the answer here: it stands beside it."""
    share, per_year = number("ats2a", "full_time_share"), number("full-time-review", "weeks_per_year")
    full_time = Row(
        rule="severe-full-time",
        title=msg("The full-time arm of the trial in severe amblyopia"),
        use=Use.ALTERNATIVE,
        phase=Phase.OCCLUSION,
        aetiologies=TRIALS,
        from_month=months(number("ats5", "youngest")),
        below_month=months(number("ats2a", "below_age")),
        sources=("ats2a", "full-time-review"),
        status=Status.weakest(share.status, per_year.status),
        band=ATS2A_SEVERE,
        amount=share,
        basis=Basis.SHARE_OF_WAKING,
        near_work=number("ats2a", "near_work"),
        first=TRIAL_FIRST,
        reviews=((0, per_year),),
        before_stopping="taper-two-hours",
        remark=msg(
            "It gained %(full)s against %(six)s with six hours, and the covered eye is at more risk. Review by the week per year of age.",
            full=number("ats2a", "gain_full_time").quantity(Unit.LINES),
            six=number("ats2a", "gain").quantity(Unit.LINES),
        ),
    )
    run_in = number("two-hour-run-in", "severe_lines")
    two_hours = Row(
        rule="severe-two-hours",
        title=msg("Two hours in severe amblyopia"),
        use=Use.ALTERNATIVE,
        phase=Phase.OCCLUSION,
        aetiologies=TRIALS,
        from_month=months(number("ats15", "youngest")),
        below_month=months(number("ats15", "below_age")),
        sources=("two-hour-run-in", "chen-cotter-2016"),
        status=Status.weakest(run_in.status, number("two-hour-run-in", "hours").status),
        band=RUN_IN_SEVERE,
        amount=number("two-hour-run-in", "hours"),
        first=TRIAL_FIRST,
        reviews=((0, number("ats15", "weeks_between_visits")),),
        next_step="step-up-six-hours",
        stop=WATCH,
        remark=msg("Works in some: children never patched before gained %(lines)s on average.", lines=run_in.quantity(Unit.LINES)),
    )
    return two_hours, full_time


def _early_patching() -> Row:
    """The trial that did not wait for glasses to do their work."""
    hours, review = number("eupatch", "hours"), number("eupatch", "review")
    return Row(
        rule="ten-hours-on-six-days",
        title=msg("Three weeks of glasses, then ten hours on six days a week"),
        use=Use.ALTERNATIVE,
        phase=Phase.OCCLUSION,
        aetiologies=TRIALS,
        from_month=months(number("eupatch", "youngest")),
        below_month=past(number("eupatch", "oldest")),
        sources=("eupatch",),
        status=Status.weakest(hours.status, review.status, number("eupatch", "successful_early").status),
        amount=hours,
        pattern=Pattern.SIX_DAYS_A_WEEK,
        first=(
            CORRECTION,
            msg("glasses for %(weeks)s", weeks=number("eupatch", "early").quantity(Unit.WEEKS)),
            msg("an interocular difference of %(least)s or more", least=number("eupatch", "amblyopia_from").quantity(Unit.LOGMAR_CHANGE)),
        ),
        reviews=((0, review),),
        longest=number("eupatch", "weeks"),
        before_stopping="taper-two-hours",
        remark=msg(
            "Against longer glasses: %(early_share)s were successful after %(early)s of them, %(late_share)s after %(late)s (read second-hand).",
            early_share=number("eupatch", "successful_early").quantity(Unit.PERCENT),
            early=number("eupatch", "early").quantity(Unit.WEEKS),
            late_share=number("eupatch", "successful_late").quantity(Unit.PERCENT),
            late=number("eupatch", "late").quantity(Unit.WEEKS),
        ),
    )


_TWO_HOURS, FULL_TIME = _severe_alternatives()
ALTERNATIVES = (_infant_every_other_day(), _TWO_HOURS, FULL_TIME, _early_patching())
