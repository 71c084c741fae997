"""Growth of an aphakic eye by itself, by ages: its refraction, its lens, its length."""

from collections.abc import Callable

from service.calculations.aphakia import VERTEX
from service.calculations.asking import Answer, Given, choice, number, tick
from service.calculations.naming import named
from service.calculations.sheet import Calculation, Grid, Sheet, Value
from shared.course.limits import ReviewLimits
from shared.dates import DAYS_PER_YEAR, MONTHS_A_YEAR
from shared.errors import ClinicalInputError
from shared.findings import Param, Quantity, Unit, msg
from shared.growing.axial_length import cataract_course, doubling_course, ends_of_growth, group_of_age, infant_course
from shared.growing.growth import Forecast, GrowingEye, Refracted, by_months, by_years, forecast, last_year
from shared.growing.outgrown import CHANGE_LIMITS_DIOPTRES, OutAfter, lens_out_after, trials_habit
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.vocabulary import Status

MONTHS_AT_MOST = 126.0  # 10.5 years
STEPS = 8
DAYS_PER_MONTH = DAYS_PER_YEAR / MONTHS_A_YEAR
REFRACT = msg("A forecast decides nothing: refract.")
CORNEA, SPECTACLES = RefractionPlane.CORNEA, RefractionPlane.SPECTACLES
START = (
    number("power_dioptres", msg("Refraction, spherical equivalent"), "D", -20, 50),
    choice("plane", msg("Measured or worked out at"), RefractionPlane, usual="spectacles"),
    VERTEX,
    number("age_months", msg("Age at this refraction"), "months", 0, MONTHS_AT_MOST),
    tick("operated_later", msg("Operated on after six months of age")),
    tick("bilateral", msg("Both eyes are aphakic")),
)
EXAMPLE: dict[str, Answer] = {
    "power_dioptres": 22.0,
    "plane": "spectacles",
    "vertex_distance_mm": 12.0,
    "age_months": 4.0,
    "operated_later": False,
    "bilateral": False,
}


def _start(given: Given) -> tuple[GrowingEye, Refracted]:
    power = PlaneRefraction(given.number("power_dioptres"), given.chosen("plane", RefractionPlane), given.number("vertex_distance_mm"))
    return GrowingEye(given.ticked("operated_later"), given.ticked("bilateral")), Refracted(given.number("age_months") / 12, power)


def _growth(given: Given) -> Sheet:
    with named({"sphere": "power_dioptres", "years": "age_months"}):
        eye, start = _start(given)
        forecast(eye, start, start.years)
    last = given.number("later_age_months") / 12
    with named({"sphere": "power_dioptres", "years": "later_age_months"}):
        found = [forecast(eye, start, start.years + max(0.0, last - start.years) * n / STEPS) for n in range(STEPS)] + [forecast(eye, start, last)]
        rows = tuple(map(_row, found))
    end = found[-1]
    bands = {"spectacles": end.band(SPECTACLES), "cornea": end.band(CORNEA)}
    planes = {"spectacles": msg("In spectacles"), "cornea": msg("At the cornea")}
    names = {"low": msg("from"), "likely": msg("likely"), "high": msg("to")}
    return Sheet(
        values=(
            *(
                Value(f"{plane}_{name}_dioptres", msg("%(plane)s, %(end)s", plane=planes[plane], end=label), Quantity(getattr(band, name), Unit.DIOPTRE))
                for plane, band in bands.items()
                for name, label in names.items()
            ),
            Value("spectacles_by_trial_dioptres", msg("In spectacles, by a trial's falls, one eye aphakic"), _beside(lambda: _by_years(start, last))),
            Value("cornea_by_months_dioptres", msg("At the cornea, by monthly falls"), _beside(lambda: _by_months(start, last))),
        ),
        status=end.status,
        sources=(*end.sources, "iats-refraction-2021", "moore-1989") if "moore-1989" not in end.sources else (*end.sources, "iats-refraction-2021"),
        working=end.working,
        cautions=(REFRACT,),
        grids=(
            Grid(
                "course",
                msg("Nineteen of twenty eyes lie between; both ends moved to the cornea by themselves"),
                (
                    msg("Age, months"),
                    msg("In spectacles"),
                    msg("from"),
                    msg("to"),
                    msg("At the cornea"),
                    msg("from"),
                    msg("to"),
                ),
                rows,
            ),
        ),
    )


def _row(f: Forecast) -> tuple[Param | None, ...]:
    bands = (f.band(SPECTACLES), f.band(CORNEA))
    return (f"{f.years * 12:.1f}", *(Quantity(end, Unit.DIOPTRE) for band in bands for end in (band.likely, band.low, band.high)))


def _by_years(start: Refracted, last: float) -> float:
    return by_years(start.refraction.at(SPECTACLES), start.years, last)


def _by_months(start: Refracted, last: float) -> float:
    return by_months(start.refraction.at(CORNEA), start.years * 12, last * 12)


def _beside(course: Callable[[], float]) -> Quantity | None:
    """A second published course; None where it is silent at these ages."""
    try:
        return Quantity(course(), Unit.DIOPTRE)
    except ClinicalInputError:
        return None


def _outgrown(given: Given) -> Sheet:
    limit, worn = given.number("limit_dioptres"), given.maybe_number("worn_dioptres")
    with named({"sphere": "power_dioptres", "years": "age_months"}):
        eye, start = _start(given)
        chosen = lens_out_after(eye, start, limit, worn)
        rows = tuple((Quantity(each, Unit.DIOPTRE), *_ages(start, lens_out_after(eye, start, each, worn))) for each in (1.0, 2.0, 3.0))
        known = forecast(eye, start, last_year())
    labels = {
        "earliest": msg("Out at the earliest, an eye growing fast"),
        "likely": msg("Out as is likely"),
        "latest": msg("Out at the latest, an eye growing slowly"),
    }
    return Sheet(
        values=tuple(Value(f"{name}_age_months", labels[name], age) for name, age in zip(labels, _ages(start, chosen), strict=True)),
        refusal=None if chosen.likely is not None else msg("Not within the published ages, up to 10.5 years."),
        status=known.status,
        sources=known.sources,
        working=(
            msg("fast and slowly: one standard deviation of the rate, between which two of three eyes lie"),
            msg("the refraction's own error is left out: the lens was chosen by it"),
            *known.working,
        ),
        cautions=(REFRACT,),
        findings=(trials_habit(),),
        grids=(Grid("limits", msg("Age in months at which it is out by"), (msg("Out by"), msg("earliest"), msg("likely"), msg("latest")), rows),),
    )


def _ages(start: Refracted, found: OutAfter) -> tuple[Quantity | None, ...]:
    days = (found.earliest, found.likely, found.latest)
    return tuple(None if n is None else Quantity(start.years * 12 + n / DAYS_PER_MONTH, Unit.MONTHS) for n in days)


def _length(given: Given) -> Sheet:
    years, girl = given.number("age_months") / 12, given.ticked("girl")
    courses = {
        "doubling": (msg("normal eyes, by doublings of age"), "boston-length", lambda: doubling_course(years)),
        "infant": (msg("normal girls") if girl else msg("normal boys"), "mutti-2018", lambda: infant_course(years, girl=girl)),
        "group": (msg("normal eyes, group of this age (from memory)"), "gordon-donzis-1985", lambda: group_of_age(years)),
        "cataract": (msg("eyes with cataract, at surgery"), "trivedi-wilson-2007", lambda: (cataract_course(years), None)),
    }
    found = {name: (label, key, _pair(course)) for name, (label, key, course) in courses.items()}
    spoken = {name: f for name, f in found.items() if f[2][0] is not None}
    measured, median = given.maybe_number("axial_length_mm"), found["doubling"][2][0]
    return Sheet(
        values=(
            *(Value(f"{name}_length_mm", msg("Length: %(of)s", of=label), pair[0]) for name, (label, _, pair) in found.items()),
            Value("off_mm", msg("Measured, less the normal median"), Quantity(measured - median.value, Unit.MILLIMETRE) if measured and median else None),
        ),
        status=Status.MEMORY if "group" in spoken else Status.READ,
        sources=tuple(key for _, key, _ in spoken.values()),
        findings=ends_of_growth(),
        grids=(
            Grid(
                "courses",
                msg("Published courses at this age"),
                (msg("Eyes"), msg("Length"), msg("Keratometry")),
                tuple((label, *pair) for label, _, pair in spoken.values()),
            ),
        ),
    )


def _pair(course: Callable[[], tuple[float, float | None]]) -> tuple[Quantity | None, Quantity | None]:
    try:
        length, cornea = course()
    except ClinicalInputError:  # silent at this age
        return None, None
    return Quantity(length, Unit.MILLIMETRE), None if cornea is None else Quantity(cornea, Unit.DIOPTRE)


CALCULATIONS = (
    Calculation(
        "aphakic-growth",
        msg("Forecast of an aphakic refraction"),
        msg("Where a refraction is going and how far eyes differ, in spectacles and at the cornea, up to 10.5 years of age."),
        (*START, number("later_age_months", msg("Age to look at"), "months", 0, MONTHS_AT_MOST)),
        _growth,
        EXAMPLE | {"later_age_months": 24.0},
    ),
    Calculation(
        "lens-outgrown",
        msg("When a lens is outgrown"),
        msg("The age at which a lens that was right, or one of a given power, is out by a chosen amount at the cornea."),
        (
            *START,
            number("limit_dioptres", msg("Out by"), "D", *CHANGE_LIMITS_DIOPTRES, usual=f"{ReviewLimits().lens_off_dioptres:g}"),
            number("worn_dioptres", msg("Distance power worn, without near"), "D", -40, 60, needed=False),
        ),
        _outgrown,
        EXAMPLE | {"limit_dioptres": 1.5},
    ),
    Calculation(
        "axial-length",
        msg("Axial length by age"),
        msg("Published courses of length and keratometry at an age, normal and with cataract."),
        (
            number("age_months", msg("Age"), "months", 0, 180),
            tick("girl", msg("A girl")),
            number("axial_length_mm", msg("Axial length"), "mm", 14, 30, needed=False),
        ),
        _length,
        {"age_months": 12.0, "girl": False, "axial_length_mm": 20.1},
    ),
)
