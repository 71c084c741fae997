"""The occlusion dose by itself."""

from service.calculations.asking import Given, choice, number, text, tick, whole
from service.calculations.sheet import Calculation, Grid, Sheet, Value
from shared.findings import Message, Quantity, Unit, msg
from shared.sight.acuity import Acuity, read_acuity
from shared.treatment.dose import NoPublishedDose, OcclusionFacts
from shared.treatment.ladder import Rung, alternatives, ladder
from shared.treatment.occlusion import propose
from shared.treatment.protocol_rows import particulars
from shared.treatment.taper import taper
from shared.treatment.waking import waking
from shared.vocabulary import Aetiology, OpticalStatus


def _acuity(given: Given, name: str) -> Acuity | None:
    return read_acuity(given.text(name), name) if given.text(name) else None


def _facts(given: Given) -> OcclusionFacts:
    return OcclusionFacts(
        rules_off=given.rules_off,
        age_months=given.whole("age_months"),
        aetiology=given.chosen("aetiology", Aetiology),
        amblyopic_eye_status=given.chosen("amblyopic_eye_status", OpticalStatus),
        fellow_eye_status=given.chosen("fellow_eye_status", OpticalStatus),
        age_at_surgery_months=given.maybe_whole("age_at_surgery_months"),
        amblyopic_acuity=_acuity(given, "amblyopic_acuity"),
        fellow_acuity=_acuity(given, "fellow_acuity"),
        refractive_adaptation_weeks=given.maybe_number("refractive_adaptation_weeks"),
        glasses_needed=not given.ticked("no_glasses"),
        waking_hours=given.maybe_number("waking_hours"),
        weeks_premature=given.maybe_whole("weeks_premature") or 0,
    )


def _propose(given: Given) -> Sheet:
    facts = _facts(given)
    found = propose(facts)
    if isinstance(found, NoPublishedDose):
        return Sheet(values=(Value("minutes_per_day", msg("Minutes a day"), None),), refusal=found.reason, sources=found.sources)
    return Sheet(
        values=(
            Value("minutes_per_day", msg("Minutes a day"), Quantity(found.minutes_per_day, Unit.MINUTES)),
            Value("hours_per_day", msg("Hours a day"), Quantity(found.minutes_per_day / 60, Unit.HOURS)),
            Value("phase", msg("Phase"), found.phase),
            Value("review_in_weeks", msg("Review in"), Quantity(found.review_in_weeks, Unit.WEEKS)),
            Value("review_status", msg("The interval is known as"), found.review.status),
        ),
        working=particulars(found.row),
        findings=(found.finding, *(a.finding for a in alternatives(facts, found))),
        cautions=found.cautions,
        grids=(_ladder(ladder(facts, found)),),
    )


def _ladder(rungs: tuple[Rung, ...]) -> Grid:
    rows = tuple((r.where, None if r.minutes is None else Quantity(r.minutes, Unit.MINUTES), r.row.rule if r.row else None, _yes(r.chosen)) for r in rungs)
    return Grid("ladder", msg("The ladder"), (msg("Where"), msg("Minutes a day"), msg("Rule"), msg("This child")), rows)


def _yes(chosen: bool) -> Message | None:
    return msg("yes") if chosen else None


def _waking(given: Given) -> Sheet:
    found = waking(given.whole("age_months"), given.maybe_number("waking_hours"))
    least, most = (found.range.least, found.range.most) if found.range else (None, None)
    return Sheet(
        values=(
            Value("waking_hours", msg("Waking hours a day"), Quantity(found.hours, Unit.HOURS)),
            Value("sleep_hours", msg("Sleep, naps included"), Quantity(24 - found.hours, Unit.HOURS)),
            Value("range_least_hours", msg("Recommended, at least"), None if least is None else Quantity(least, Unit.HOURS)),
            Value("range_most_hours", msg("Recommended, at most"), None if most is None else Quantity(most, Unit.HOURS)),
        ),
        working=(found.how,),
        status=found.status,
        sources=(*found.sources, "aasm-2016"),
        cautions=(found.caution,) if found.caution else (),
    )


def _taper(given: Given) -> Sheet:
    found = taper(given.number("hours_per_day"), given.whole("age_months"))
    if isinstance(found, NoPublishedDose):
        return Sheet(values=(Value("step_hours", msg("Down to, hours a day"), None),), refusal=found.reason, sources=found.sources)
    return Sheet(
        values=(
            Value("step_hours", msg("Down to, hours a day"), found.step),
            Value("recurrence_abrupt_percent", msg("Lost ground after an abrupt stop"), found.lost_abrupt),
            Value("recurrence_tapered_percent", msg("Lost ground after the step"), found.lost_tapered),
            Value("watched_weeks", msg("Watched for"), found.watched),
        ),
        working=found.working,
        status=found.row.status,
        sources=found.row.sources,
    )


CALCULATIONS = (
    Calculation(
        "occlusion",
        msg("Published occlusion dose"),
        msg("The starting dose that a publication gives for a child like this, or the reason why none does."),
        (
            whole("age_months", msg("Age, completed months"), "months", 0, 1200),
            choice("aetiology", msg("Cause"), Aetiology),
            choice("amblyopic_eye_status", msg("Amblyopic eye"), OpticalStatus),
            choice("fellow_eye_status", msg("Fellow eye"), OpticalStatus),
            whole("age_at_surgery_months", msg("Age at surgery, completed months"), "months", 0, 1200, needed=False),
            text("amblyopic_acuity", msg("Amblyopic eye sees"), needed=False),
            text("fellow_acuity", msg("Fellow eye sees"), needed=False),
            number("refractive_adaptation_weeks", msg("Glasses worn for"), "weeks", 0, 5000, needed=False),
            tick("no_glasses", msg("No glasses are needed")),
            number("waking_hours", msg("Waking hours a day"), "h", 4, 20, needed=False),
            whole("weeks_premature", msg("Born before 40 weeks by"), "weeks", 0, 18, needed=False),
        ),
        _propose,
        {
            "age_months": 5,
            "aetiology": "deprivation",
            "amblyopic_eye_status": "aphakic",
            "fellow_eye_status": "phakic",
            "age_at_surgery_months": 2,
        },
    ),
    Calculation(
        "waking-hours",
        msg("Waking hours"),
        msg("As the family says, or by the published sleep equation; beside either the range that a consensus recommends."),
        (
            whole("age_months", msg("Age, completed months"), "months", 0, 227),
            number("waking_hours", msg("Waking hours as the family says"), "h", 4, 20, needed=False),
        ),
        _waking,
        {"age_months": 8},
    ),
    Calculation(
        "taper",
        msg("Less before stopping"),
        msg("The step down that a trial compared with an abrupt stop, and what was lost within a year after each."),
        (number("hours_per_day", msg("Hours a day until now"), "h", 0, 24), whole("age_months", msg("Age, completed months"), "months", 0, 1200)),
        _taper,
        {"hours_per_day": 6.0, "age_months": 72},
    ),
)
