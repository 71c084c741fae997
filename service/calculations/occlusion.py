"""The occlusion dose by itself."""

from service.calculations.asking import Given, choice, number, text, tick, whole
from service.calculations.sheet import Calculation, Sheet, Value
from shared.acuity import Acuity, read_acuity
from shared.dose import NoPublishedDose, OcclusionFacts, Proposal
from shared.findings import Quantity, Unit, msg
from shared.occlusion import propose
from shared.vocabulary import Aetiology, OpticalStatus


def _acuity(given: Given, name: str) -> Acuity | None:
    return read_acuity(given.text(name), name) if given.text(name) else None


def _propose(given: Given) -> Sheet:
    return _laid_out(
        propose(
            OcclusionFacts(
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
        )
    )


def _laid_out(found: Proposal | NoPublishedDose) -> Sheet:
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
        findings=(found.finding,),
        cautions=found.cautions,
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
)
