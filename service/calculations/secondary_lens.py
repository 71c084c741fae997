"""Before a secondary lens: published aims by age, what each choice leaves between the eyes, and whether a power is plausible."""

from service.calculations.asking import Given, number, whole
from service.calculations.implant_tables import aims_grid, bands, choices_grid
from service.calculations.sheet import Calculation, Sheet, Value
from shared.findings import Message, Quantity, Unit, msg
from shared.implants.implant import EyeNow, lens_choices, predictions, same_study, wait
from shared.implants.implant_aims import aims, published_results
from shared.implants.implant_band import plausible_power
from shared.implants.srkt import MeasuredEye
from shared.sources import number as published
from shared.vocabulary import Status

LATER_YEARS = (7.0, 10.0)
FELLOW_STAYS = msg("The fellow eye is taken as it is now: its own change is not predicted.")
FELLOW_GROWS = msg("Both eyes are aphakic: the other one is taken to stay so and to grow by the same slope, so a lens is shown as if this eye alone had one.")
NO_ORDER = msg("Published aims and slopes side by side; none is chosen here, and no implant is ordered.")


def _aims(given: Given) -> Sheet:
    months = given.whole("age_months")
    found = aims(months, given.maybe_whole("age_days"))
    return Sheet(
        status=Status.weakest(*(a.status for a in found)),
        sources=tuple(a.source_key for a in found),
        cautions=(NO_ORDER,),
        findings=published_results(months),
        grids=(aims_grid(found),),
    )


def _choices(given: Given) -> Sheet:
    eye = EyeNow(given.number("age_years"), given.whole("surgery_months"), given.number("refraction_dioptres"), given.number("fellow_dioptres"))
    lens_at = given.maybe_number("lens_at_years")
    at_years = eye.age_years if lens_at is None else lens_at
    ages = tuple(sorted({eye.age_years, at_years, *LATER_YEARS}))
    rows = predictions(eye, (wait(), *lens_choices(msg("lens at %(age)s", age=Quantity(at_years, Unit.YEARS)), at_years)), ages)
    return Sheet(
        values=(Value("now_dioptres", msg("Between the eyes now"), Quantity(eye.refraction_dioptres - eye.fellow_dioptres, Unit.DIOPTRE)),),
        working=tuple(same_study(eye, age) for age in ages if age > eye.age_years),
        status=Status.weakest(*(row.status for row in rows)),
        sources=tuple(dict.fromkeys(key for row in rows for key in row.sources)),
        cautions=(FELLOW_STAYS, *bands(rows), NO_ORDER),
        grids=(choices_grid(rows),),
    )


def _plausible(given: Given) -> Sheet:
    eye = MeasuredEye(given.number("axial_length_mm"), given.number("keratometry_dioptres"), given.number("a_constant"))
    found = plausible_power(eye, given.number("refraction_dioptres"), given.whole("age_months"))
    weaker = found.weaker
    return Sheet(
        values=(
            _power("low_dioptres", msg("Plausible from"), found.low),
            _power("high_dioptres", msg("Plausible up to"), found.high),
            _power("for_emmetropia_dioptres", msg("For emmetropia"), found.for_emmetropia),
            _power("by_another_formula_dioptres", msg("For emmetropia by SRK II"), found.by_another_formula),
            _power("weaker_dioptres", msg("Weaker by the published share"), weaker.power if weaker else None),
            _power("weaker_leaves_dioptres", msg("Refraction that it would leave"), weaker.refraction if weaker else None),
        ),
        status=published("retzlaff-1990", "vertex").status,
        sources=("retzlaff-1990", "sanders-1988"),
        findings=found.findings,
    )


def _power(name: str, label: Message, dioptres: float | None) -> Value:
    return Value(name, label, None if dioptres is None else Quantity(dioptres, Unit.DIOPTRE))


CALCULATIONS = (
    Calculation(
        "implant-refraction-by-age",
        msg("Refraction after an implant, by age"),
        msg("What publications aim at on the day of an implant, each with its way of counting age, and how far children strayed from it."),
        (
            whole("age_months", msg("Age, completed months"), "months", 0, 215),
            whole("age_days", msg("Age in days"), "days", 0, 6700, needed=False, hint=msg("needed below 7 months")),
        ),
        _aims,
        {"age_months": 38},
    ),
    Calculation(
        "anisometropia-by-choice",
        msg("Between the eyes, with a lens or waiting"),
        msg("One aphakic eye at 7 and 10 years under each published aim and without a lens. Spherical equivalents at the spectacle plane, 12 mm."),
        (
            number("age_years", msg("Age"), "years", 0, 18),
            whole("surgery_months", msg("Age at the cataract's removal, completed months"), "months", 0, 215),
            number("refraction_dioptres", msg("Aphakic eye in spectacles"), "D", -40, 50),
            number("fellow_dioptres", msg("Fellow eye in spectacles"), "D", -40, 50),
            number("lens_at_years", msg("Lens at the age of"), "years", 0, 18, needed=False, hint=msg("now, where nothing is said")),
        ),
        _choices,
        {"age_years": 3.2, "surgery_months": 4, "refraction_dioptres": 14.0, "fellow_dioptres": 1.0, "lens_at_years": 5.0},
    ),
    Calculation(
        "implant-plausibility",
        msg("Is an implant's power plausible?"),
        msg("SRK/T with the constant you give, as a band as wide as the published error in children. No order for an implant."),
        (
            number("axial_length_mm", msg("Axial length"), "mm", 10, 40),
            number("keratometry_dioptres", msg("Keratometry, mean"), "D", 25, 65),
            number("a_constant", msg("A constant of the implant"), "A", 100, 130),
            number("refraction_dioptres", msg("Refraction aimed at, spectacle plane"), "D", -20, 25),
            whole("age_months", msg("Age, completed months"), "months", 0, 215),
        ),
        _plausible,
        {"axial_length_mm": 20.0, "keratometry_dioptres": 45.0, "a_constant": 118.4, "refraction_dioptres": 4.0, "age_months": 36},
    ),
)
