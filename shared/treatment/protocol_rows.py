"""The published rules, each a row. Nothing here is typed twice: every number comes from `published/`, and a row shows its weakest one."""

from dataclasses import replace

from shared.dates import MONTHS_A_YEAR
from shared.findings import Message, Unit, msg
from shared.sight.bands import ATS2A_SEVERE, ATS2B_MODERATE
from shared.sources import Published, number
from shared.treatment.protocol import Basis, Row, Use
from shared.vocabulary import Aetiology, Phase, Status

DEPRIVATION = frozenset({Aetiology.DEPRIVATION})
TRIALS = frozenset({Aetiology.ANISOMETROPIC, Aetiology.STRABISMIC, Aetiology.COMBINED})
AMETROPIC = frozenset({Aetiology.AMETROPIC})

CORRECTION = msg("the correction in force is signed and worn")
_OPERATED_YOUNG = msg("one eye operated at 1 to under 7 months, the other phakic")
_OPTOTYPES = msg("acuity of both eyes by letters or pictures, with one test")
_GLASSES = msg(
    "glasses worn for %(weeks)s, or two visits without gain, where glasses are needed", weeks=number("ats5", "spectacles_first").quantity(Unit.WEEKS)
)
_RECHECKED = msg("retest, refraction and correction really worn, clear axis, pressure and wear looked at first")
WATCH = msg("watch for recurrence for a year after stopping")
TRIAL_FIRST = (CORRECTION, _GLASSES, _OPTOTYPES)


def months(years: Published) -> float:
    """Years as months of age."""
    return years.value * MONTHS_A_YEAR


def past(years: Published) -> float:
    """The first month after the last year that is still meant: 17 years go on until the eighteenth birthday."""
    return (years.value + 1) * MONTHS_A_YEAR


def _infant_rows() -> tuple[Row, ...]:
    """The Infant Aphakia Treatment Study: its rule in two parts."""
    per_month, until = number("iats-patching", "hours_per_month_of_age"), number("iats-patching", "until_month")
    share, last = number("iats-patching", "waking_share_after"), number("iats-patching", "until_year")
    reviews = ((0.0, number("postoperative-visits", "weeks_first_year")), (float(MONTHS_A_YEAR), number("postoperative-visits", "weeks_later")))
    by_month = Row(
        rule="infant-by-completed-month",
        title=msg("Infant rule until eight months"),
        use=Use.START,
        phase=Phase.OCCLUSION,
        aetiologies=DEPRIVATION,
        from_month=1,
        below_month=until.value,
        sources=("iats-patching", "iats-design"),
        status=Status.weakest(per_month.status, until.status),
        amount=per_month,
        basis=Basis.PER_MONTH_OF_AGE,
        first=(CORRECTION, _OPERATED_YOUNG),
        reviews=reviews,
        stop=msg("the protocol ended at five years"),
    )
    half = replace(
        by_month,
        rule="infant-half-of-waking-hours",
        title=msg("Infant rule from eight months to five years"),
        from_month=until.value,
        below_month=months(last),
        status=Status.weakest(share.status, last.status),
        amount=share,
        basis=Basis.SHARE_OF_WAKING,
        beside=("galland-2012", "aasm-2016"),
    )
    return by_month, half


def _glasses_rows() -> tuple[Row, ...]:
    visits, bilateral = number("motas-design", "adaptation_visits"), number("ats7", "visit")
    first = Row(
        rule="refractive-adaptation-first",
        title=msg("Glasses first"),
        use=Use.START,
        phase=Phase.REFRACTIVE_ADAPTATION,
        aetiologies=TRIALS,
        from_month=months(number("ats5", "youngest")),
        below_month=past(number("ats3", "oldest")),
        sources=("ats5", "motas-design"),
        status=Status.weakest(number("ats5", "spectacles_first").status, visits.status),
        first=(CORRECTION,),
        reviews=((0, visits),),
        beside=("eupatch",),
    )
    both = Row(
        rule="bilateral-glasses-alone",
        title=msg("Bilateral ametropia: glasses, no patch"),
        use=Use.START,
        phase=Phase.REFRACTIVE_ADAPTATION,
        aetiologies=AMETROPIC,
        from_month=months(number("ats7", "youngest")),
        below_month=months(number("ats7", "below_age")),
        sources=("ats7",),
        status=bilateral.status,
        first=(CORRECTION,),
        reviews=((0, bilateral),),
    )
    return first, both


def _trial_rows() -> tuple[Row, ...]:
    """Two hours and six hours: under seven years by the band's own trial, later by the table of Chen and Cotter inside what ATS3 gave."""
    moderate_visit, severe_visit = number("ats5", "visit"), number("ats1-course", "visit")
    two, six = number("ats2b", "hours"), number("ats2a", "hours")
    moderate = Row(
        rule="moderate-two-hours",
        title=msg("Moderate amblyopia, under seven years"),
        use=Use.START,
        phase=Phase.OCCLUSION,
        aetiologies=TRIALS,
        from_month=months(number("ats5", "youngest")),
        below_month=months(number("ats2b", "below_age")),
        sources=("ats2b", "chen-cotter-2016"),
        status=Status.weakest(two.status, number("chen-cotter-2016", "start_moderate").status),
        band=ATS2B_MODERATE,
        amount=two,
        near_work=number("ats2b", "near_work"),
        first=TRIAL_FIRST,
        reviews=((0, moderate_visit),),
        next_step="step-up-six-hours",
        stop=WATCH,
        ceiling=number("ats15", "hours_up_to"),
        beside=("ats5", "wallace-2013", "pedig-entry"),
    )
    severe = replace(
        moderate,
        rule="severe-six-hours",
        title=msg("Severe amblyopia, under seven years"),
        below_month=months(number("ats2a", "below_age")),
        sources=("ats2a", "chen-cotter-2016"),
        status=Status.weakest(six.status, number("chen-cotter-2016", "start_severe").status),
        band=ATS2A_SEVERE,
        amount=six,
        near_work=number("ats2a", "near_work"),
        reviews=((0, severe_visit),),
        next_step=None,
        before_stopping="taper-two-hours",
    )
    return moderate, severe, *_older(moderate, severe)


def _older(moderate: Row, severe: Row) -> tuple[Row, ...]:
    """The same starts at 7 to 12 and at 13 to 17 years: no near work, next step or trial of their own was read."""
    seven, thirteen, end = months(number("ats3", "youngest")), months(number("ats3", "teenagers_from")), past(number("ats3", "oldest"))
    sources, most = ("chen-cotter-2016", "ats3"), number("ats3", "hours_to")
    beside = ("holmes-2011", *moderate.beside)
    two, six = (replace(start, sources=sources, near_work=None, ceiling=most, next_step=None, beside=beside) for start in (moderate, severe))
    return (
        replace(two, rule="moderate-two-hours-at-7-to-12", title=msg("Moderate amblyopia, 7 to 12 years"), from_month=seven, below_month=thirteen),
        replace(six, rule="severe-six-hours-at-7-to-12", title=msg("Severe amblyopia, 7 to 12 years"), from_month=seven, below_month=thirteen),
        replace(two, rule="moderate-two-hours-at-13-to-17", title=msg("Moderate amblyopia, 13 to 17 years"), from_month=thirteen, below_month=end),
        replace(six, rule="severe-six-hours-at-13-to-17", title=msg("Severe amblyopia, 13 to 17 years"), from_month=thirteen, below_month=end),
    )


def _later_rows() -> tuple[Row, ...]:
    """What follows a start: more after a plateau, less before the end."""
    up, review, down = number("ats15", "hours_up_to"), number("ats15", "weeks"), number("ats2c", "step_hours")
    step_up = Row(
        rule="step-up-six-hours",
        title=msg("Up to six hours after a plateau at two"),
        use=Use.STEP_UP,
        phase=Phase.OCCLUSION,
        aetiologies=TRIALS,
        from_month=months(number("ats15", "youngest")),
        below_month=months(number("ats15", "below_age")),
        sources=("ats15",),
        status=Status.weakest(up.status, review.status),
        amount=up,
        first=(
            _RECHECKED,
            msg(
                "at least %(weeks)s on two hours, no gain between two visits at least %(apart)s apart",
                weeks=number("ats15", "weeks_on_dose").quantity(Unit.WEEKS),
                apart=number("ats15", "weeks_between_visits").quantity(Unit.WEEKS),
            ),
        ),
        reviews=((0, review),),
        before_stopping="taper-two-hours",
        ceiling=up,
    )
    taper = Row(
        rule="taper-two-hours",
        title=msg("Down to two hours before stopping from six or more"),
        use=Use.TAPER,
        phase=Phase.OCCLUSION,
        aetiologies=TRIALS,
        from_month=months(number("ats5", "youngest")),
        below_month=months(number("ats2c", "below_age")),
        sources=("ats2c",),
        status=down.status,
        amount=down,
        first=(msg("six hours a day or more until now, and stable at its best over two visits"),),
        stop=WATCH,
        remark=msg("How long the step lasts was not found published."),
    )
    return step_up, taper


ROWS = (*_infant_rows(), *_glasses_rows(), *_trial_rows(), *_later_rows())
_BY_RULE = {row.rule: row for row in ROWS}


def row(rule: str) -> Row:
    """Raises KeyError for a rule that has no row."""
    return _BY_RULE[rule]


def start(aetiology: Aetiology, agemonths: int, line: float | None = None) -> Row | None:
    """The row an occlusion starts by, from the age in completed months and the amblyopic eye's line of the chart in logMAR; None where there is none."""
    fitting = (r for r in ROWS if r.use is Use.START and r.phase is Phase.OCCLUSION and r.takes(aetiology, agemonths, line))
    return next(fitting, None)


def particulars(r: Row) -> tuple[Message, ...]:
    """What a row says beside its amount, in the order of a course: what holds first, near work, the next step, the way out, the most hours of the trials."""
    said = [msg("First: %(what)s.", what=one) for one in r.first]
    if r.near_work:
        said.append(msg("Near work with the patch on: %(hours)s a day at least.", hours=r.near_work.quantity(Unit.HOURS)))
    if r.next_step:
        said.append(msg("After a plateau: %(what)s.", what=row(r.next_step).title))
    if r.before_stopping:
        said.append(msg("Before stopping: %(what)s.", what=row(r.before_stopping).title))
    if r.stop:
        said.append(msg("The end: %(what)s.", what=r.stop))
    if r.ceiling:
        said.append(msg("The most that its trials gave: %(hours)s a day.", hours=r.ceiling.quantity(Unit.HOURS)))
    return tuple(said)
