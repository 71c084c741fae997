"""The project's own dose-response model by itself."""

from service.calculations.asking import Given, choice, number
from service.calculations.response_tables import HOURS, SHOWN_SHARE, in_hours, outlook_grid
from service.calculations.sheet import Calculation, Sheet, Value
from shared.course.expected_response import Dose, expected_response, published_doses
from shared.course.response import Course, Observed
from shared.course.response_index import response_index
from shared.findings import Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.vocabulary import AcuityMethod, Aetiology, Status


def _expected(given: Given) -> Sheet:
    method, gain = given.chosen("method", AcuityMethod), given.maybe_number("gain_logmar")
    least = 0.0 if gain is None else given.number("least_hours")
    most = given.maybe_number("most_hours")
    observed = () if gain is None else (Observed(gain, least, least if most is None else most),)
    course = Course(given.chosen("aetiology", Aetiology), method.family, given.number("age_years"), given.number("deficit_logmar"), observed)
    own = given.maybe_number("hours_a_day")
    doses = () if own is None else (Dose(msg("%(hours)s a day, as given", hours=Quantity(own, Unit.HOURS)), own, own),)
    found = expected_response(course, method, (*doses, *published_doses()))
    line, slow = found.now.hours_to_next_line(), round_half_up(found.now.slow(), SHOWN_SHARE) * 100
    return Sheet(
        values=(
            Value("slow_percent", msg("Chance to be slower than 90 of 100 children"), Quantity(slow, Unit.PERCENT)),
            *(Value(f"hours_to_next_line_{name}", label, in_hours(getattr(line, name))) for name, label in HOURS.items()),
        ),
        status=Status.MEMORY,
        sources=found.findings[0].sources,
        findings=found.findings,
        grids=(outlook_grid(found),),
    )


def _index(given: Given) -> Sheet:
    found = response_index(given.number("received_hours"), given.number("gain_logmar"))
    return Sheet(values=(Value("hours_per_line", msg("Hours for each 0.1 logMAR"), found.value),), findings=(found,))


CALCULATIONS = (
    Calculation(
        "response-index",
        msg("Hours for each line gained"),
        msg("The published index of a course: hours really received for each 0.1 logMAR gained."),
        (
            number("received_hours", msg("Hours received"), "h", 0, 20000),
            number("gain_logmar", msg("Gained"), "logMAR", -3, 3),
        ),
        _index,
        {"received_hours": 350.0, "gain_logmar": 0.3},
    ),
    Calculation(
        "expected-response",
        msg("Expected response to patching (own model)"),
        msg("This project's own model on published points, partly from memory: a range for children like this one, no promise and no dose."),
        (
            choice("aetiology", msg("Cause"), Aetiology),
            choice("method", msg("Test"), AcuityMethod),
            number("age_years", msg("Age when the patch began"), "years", 0, 100),
            number("deficit_logmar", msg("Amblyopic minus fellow eye then"), "logMAR", -3, 3),
            number("gain_logmar", msg("Gained since then"), "logMAR", -3, 3, needed=False),
            number("least_hours", msg("Hours received since then, at least"), "h", 0, 40000, needed=False),
            number("most_hours", msg("Hours received since then, at most"), "h", 0, 40000, needed=False),
            number("hours_a_day", msg("Hours a day from now on"), "h", 0, 24, needed=False),
        ),
        _expected,
        {
            "aetiology": "anisometropic",
            "method": "crowded-hotv",
            "age_years": 5.2,
            "deficit_logmar": 0.5,
            "gain_logmar": 0.1,
            "least_hours": 90.0,
            "most_hours": 130.0,
            "hours_a_day": 1.5,
        },
    ),
)
