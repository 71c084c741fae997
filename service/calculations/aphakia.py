"""The lens of an aphakic eye by itself: power from biometry, near, and the choice from a range."""

from service.calculations.asking import Given, choice, number, text, whole
from service.calculations.naming import named
from service.calculations.sheet import Calculation, Grid, Sheet, Value
from shared.findings import Finding, Message, Param, Quantity, Unit, msg
from shared.lens_words import LensMaterial
from shared.optics.aphakia import contact_lens, segment_advice
from shared.optics.biometry import AGE_LIMIT_MONTHS, CORNEA_LIMITS_DIOPTRES, LENGTH_LIMITS_MM, Biometry, PowerEstimate, by_age, estimates
from shared.optics.lens_choice import base_curve
from shared.optics.lens_range import LensRange, read_millimetres, read_spans
from shared.optics.near import NEAR_LIMITS_DIOPTRES, built_in_near, near_for_distance, near_overcorrection, near_taught
from shared.optics.refraction import SpheroCylinder, Working, less_tears
from shared.vocabulary import OpticalStatus, Status

AGE = whole("age_months", msg("Age, completed months"), "months", 0, AGE_LIMIT_MONTHS)
VERTEX = number("vertex_distance_mm", msg("Vertex distance of the spectacles"), "mm", 0, 30, usual="12")


def _power(given: Given) -> Sheet:
    with named({"sphere": "axial_length_mm"}):
        eye = Biometry(given.number("axial_length_mm"), given.number("cornea_dioptres"), given.whole("age_months"))
        found = estimates(eye, given.number("vertex_distance_mm"))
    first = found[0]
    return Sheet(
        values=(
            Value("at_cornea_dioptres", msg("Distance power at the cornea"), Quantity(first.at_cornea.power, Unit.DIOPTRE)),
            Value("at_spectacles_dioptres", msg("Distance power in spectacles"), Quantity(first.at_spectacles.power, Unit.DIOPTRE)),
        ),
        status=first.finding.status,
        sources=first.finding.sources,
        working=first.finding.working,
        findings=(*(e.finding for e in found), *by_age(first.at_cornea.power, eye.age_months)),
        grids=(
            Grid(
                "methods",
                msg("Every method that speaks for this eye, the default first"),
                (msg("Method"), msg("At the cornea"), msg("In spectacles"), msg("Mean absolute error: from"), msg("to")),
                tuple(map(_row, found)),
            ),
        ),
    )


METHODS = {
    "lens-power-by-regression": msg("regression on length"),
    "lens-power-by-implant-formula": msg("implant formula with no implant"),
    "lens-power-by-vergence": msg("thin lens"),
}


def _row(e: PowerEstimate) -> tuple[Param | None, ...]:
    ends = tuple(Quantity(end, Unit.DIOPTRE) for end in e.band) if e.band else (None, None)
    return (METHODS[e.finding.rule], Quantity(e.at_cornea.power, Unit.DIOPTRE), Quantity(e.at_spectacles.power, Unit.DIOPTRE), *ends)


def _near(given: Given) -> Sheet:
    age, distance = given.whole("age_months"), given.maybe_number("working_distance_cm")
    rule = near_overcorrection(age, OpticalStatus.APHAKIC, built_in_near())
    found = [rule, near_taught(age)]
    found += [near_for_distance(distance)] if distance is not None else []
    found += [] if rule.value and rule.value.value else [segment_advice()]
    return Sheet(
        values=(Value("near_dioptres", msg("Added in the lens"), rule.value),),
        status=rule.status,
        sources=rule.sources,
        findings=tuple(found),
    )


def _choice(given: Given) -> Sheet:
    had = LensRange(
        "typed",
        read_spans(given.text("powers")),
        Status.COMMON_PRACTICE,
        base_curves_mm=read_millimetres(given.text("base_curves_mm"), "base_curves_mm"),
        material=given.maybe_chosen("material", LensMaterial),
    )
    cornea = given.maybe_number("cornea_dioptres")
    fit = None if cornea is None else base_curve(had, cornea, given.whole("age_months"))
    with named({"power": "distance_dioptres", "sphere": "distance_dioptres"}):
        before = _behind(had, fit, cornea, SpheroCylinder(given.number("distance_dioptres")))
        lens = contact_lens(before.exact, given.maybe_number("near_dioptres") or 0.0, had)
    return Sheet(
        values=(
            Value("power_dioptres", msg("Power of the range"), Quantity(lens.power, Unit.DIOPTRE)),
            Value("exact_dioptres", msg("Exact, with near"), Quantity(lens.exact_with_near, Unit.DIOPTRE)),
            Value("residual_dioptres", msg("Left over, exact less chosen"), Quantity(lens.residual, Unit.DIOPTRE)),
        ),
        status=Status.DERIVED,
        working=(*before.steps, *lens.steps),
        findings=() if fit is None else (fit,),
    )


def _behind(had: LensRange, fit: Finding | None, cornea: float | None, needed: SpheroCylinder) -> Working:
    """The power of a rigid lens is what the eye needs less the tears behind it; any other lens has none to speak of."""
    if had.material is not LensMaterial.RIGID_GAS_PERMEABLE:
        return Working(needed, ())
    if cornea is None or fit is None or fit.value is None:
        return Working(needed, (msg("rigid lens: its tear lens is not known without keratometry and base curves, and not taken off; refract over the lens"),))
    return less_tears(needed, fit.value.value, cornea)


_ABOUT_POWER: Message = msg(
    "Where refraction is not possible: distance power of an aphakic eye from its length and its cornea, at the cornea and in spectacles, without near."
)
CALCULATIONS = (
    Calculation(
        "aphakic-power",
        msg("Power of an aphakic eye from biometry"),
        _ABOUT_POWER,
        (
            number("axial_length_mm", msg("Axial length"), "mm", *LENGTH_LIMITS_MM),
            number("cornea_dioptres", msg("Mean keratometry"), "D", *CORNEA_LIMITS_DIOPTRES),
            AGE,
            VERTEX,
        ),
        _power,
        {"axial_length_mm": 18.1, "cornea_dioptres": 46.3, "age_months": 2, "vertex_distance_mm": 12.0},
    ),
    Calculation(
        "near-overcorrection",
        msg("Near overcorrection of an aphakic eye"),
        msg("What is added for near, once, by age; a second view from textbooks; and what a working distance asks for."),
        (AGE, number("working_distance_cm", msg("Working distance"), "cm", 10, 100, needed=False)),
        _near,
        {"age_months": 14, "working_distance_cm": 33.0},
    ),
    Calculation(
        "lens-choice",
        msg("A contact lens from a range"),
        msg("The nearest power that can be had, what remains, and the base curve that the cornea asks for."),
        (
            number("distance_dioptres", msg("Distance power at the cornea"), "D", -40, 50),
            number("near_dioptres", msg("Near, added once"), "D", *NEAR_LIMITS_DIOPTRES, needed=False),
            text("powers", msg("Powers of the range"), hint=msg("“+10 to +20 by 0.5; +20 to +32 by 3; +35”"), longest=300),
            number("cornea_dioptres", msg("Mean keratometry"), "D", *CORNEA_LIMITS_DIOPTRES, needed=False),
            whole("age_months", msg("Age, completed months"), "months", 0, AGE_LIMIT_MONTHS, needed=False, hint=msg("needed with keratometry")),
            choice("material", msg("Material"), LensMaterial, needed=False),
            text("base_curves_mm", msg("Base curves of the range, mm"), needed=False, hint=msg("“7.4; 7.6; 7.8”"), longest=300),
        ),
        _choice,
        {
            "distance_dioptres": 26.4,
            "near_dioptres": 2.0,
            "powers": "+12 to +20 by 0.5; +20 to +32 by 1",
            "cornea_dioptres": 46.3,
            "age_months": 3,
            "material": "rigid-gas-permeable",
            "base_curves_mm": "6.9; 7.1; 7.3",
        },
    ),
)
