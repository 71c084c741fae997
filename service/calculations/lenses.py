"""Lenses as they are fitted and made: keratometry, rigid lenses, prism, magnification, the made-up lens against its order."""

from service.calculations.asking import Given, choice, number
from service.calculations.naming import named
from service.calculations.refraction import asked_lens, lens, lens_values
from service.calculations.sheet import Calculation, Grid, Sheet, Value
from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.lens_words import LensMaterial
from shared.optics import prism
from shared.optics.aphakia import spectacle_magnification
from shared.optics.lens_range import CURVE_LIMITS_MM, DIAMETER_LIMITS_MM
from shared.optics.made_lens import Checked, check_contact_lens, check_segment, check_spectacle_lens
from shared.optics.magnification import image_beside, power_factor
from shared.optics.refraction import SpheroCylinder, keratometric_power, keratometric_radius, vertex_distance
from shared.optics.rigid_lens import CORNEA_LIMITS_DIOPTRES, Cornea, over_rigid_lens, tears_by_rule
from shared.sources import number as published
from shared.vocabulary import Laterality, Status

_LOW, _HIGH = CORNEA_LIMITS_DIOPTRES
_SHEET = "contact-lens-formula-sheet"


def _keratometry(given: Given) -> Sheet:
    radius, power = given.maybe_number("radius_mm"), given.maybe_number("power_dioptres")
    if (radius is None) is (power is None):
        raise ClinicalInputError("radius_mm", msg("Please give the radius or the power, one of the two."))
    return Sheet(
        values=(
            Value("power_dioptres", msg("Power"), Quantity(keratometric_power(radius) if radius is not None else power or 0.0, Unit.DIOPTRE)),
            Value("radius_mm", msg("Radius"), Quantity(keratometric_radius(power) if power is not None else radius or 0.0, Unit.MILLIMETRE)),
        ),
        working=(msg("power = 337.5 / radius in mm: keratometric index 1.3375"),),
        status=published("contact-lens-formula-sheet", "keratometric").status,
        sources=(_SHEET,),
    )


def _cornea(given: Given) -> Cornea:
    return Cornea(given.number("flat_dioptres"), given.maybe_number("steep_dioptres"), given.maybe_number("steep_axis"))


def _rigid(given: Given) -> Sheet:
    over, base, cornea = lens(given, "over_"), given.number("base_curve_mm"), _cornea(given)
    mm = vertex_distance(over, given.maybe_number("over_vertex_distance_mm"), "over_vertex_distance_mm")
    ordered = given.maybe_number("ordered_base_curve_mm")
    with named({"sphere": "over_sphere", "cylinder": "over_cylinder", "from_vertex_distance_mm": "over_vertex_distance_mm"}):
        found = over_rigid_lens(given.number("trial_dioptres"), base, cornea, over, mm, base if ordered is None else ordered)
    return Sheet(
        values=(
            *lens_values("tears", msg("Tears behind the trial lens"), found.tears),
            Value("tears_by_rule", msg("Tears by the rule of thumb"), tears_by_rule(base, cornea)),
            *lens_values("needed_at_cornea", msg("Needed at the cornea without a lens"), found.needed_at_cornea),
            *lens_values("lens", msg("Lens to order"), found.lens),
            Value("lens_spherical_equivalent", msg("Lens to order: spherical equivalent"), Quantity(found.lens.spherical_equivalent, Unit.DIOPTRE)),
        ),
        working=found.steps,
        status=Status.DERIVED,
        sources=(_SHEET,),
        cautions=(msg("The rule of thumb, 0.05 mm for 0.25 D, understates the tears on a steep cornea; the exact form is used."),),
    )


def _prism(given: Given) -> Sheet:
    found = prism.by_decentration(lens(given), given.chosen("eye", Laterality), given.maybe_number("in_mm") or 0.0, given.maybe_number("up_mm") or 0.0)
    return Sheet(
        values=(
            Value("horizontal_prism_dioptres", msg("Horizontal"), Quantity(abs(found.horizontal), Unit.PRISM_DIOPTRE)),
            Value("horizontal_base", msg("Horizontal base"), found.horizontal_base),
            Value("vertical_prism_dioptres", msg("Vertical"), Quantity(abs(found.vertical), Unit.PRISM_DIOPTRE)),
            Value("vertical_base", msg("Vertical base"), found.vertical_base),
        ),
        working=found.steps,
        status=prism.STATUS,
    )


def _magnified(given: Given) -> Sheet:
    mm, other = given.number("vertex_distance_mm"), SpheroCylinder(given.maybe_number("other_sphere") or 0.0)
    with named({"sphere": "other_sphere"}):
        power_factor(other, mm)  # a refusal of the other lens names it
    found = image_beside(lens(given), other, mm)
    return Sheet(values=(Value("larger_percent", msg("Larger than the other eye's"), found.value),), findings=(found, spectacle_magnification()))


def _made(given: Given) -> Sheet:
    ordered_lens, measured_lens = lens(given, "ordered_"), lens(given, "measured_")
    with named({"sphere": "measured_sphere"}):  # written with the order's sign of cylinder it may be no lens
        checks = check_spectacle_lens(ordered_lens, measured_lens, given.maybe_number("prism"))
    ordered, measured = given.maybe_number("ordered_addition"), given.maybe_number("measured_addition")
    if (ordered is None) is not (measured is None):
        raise ClinicalInputError(
            "measured_addition" if measured is None else "ordered_addition", msg("The addition as ordered and as measured belong together.")
        )
    if ordered is not None and measured is not None:
        checks += check_segment(ordered, measured, given.maybe_number("ordered_segment_height_mm"), given.maybe_number("measured_segment_height_mm"))
    return _judged(checks)


def _made_contact_lens(given: Given) -> Sheet:
    sizes = tuple((what, given.maybe_number(f"ordered_{what}_mm"), given.maybe_number(f"measured_{what}_mm")) for what in ("base_curve", "diameter"))
    material = given.chosen("material", LensMaterial)
    return _judged(check_contact_lens(given.number("ordered_power"), given.number("measured_power"), material, sizes))


def _judged(checks: tuple[Checked, ...]) -> Sheet:
    within, outside = msg("within the tolerance"), msg("outside the tolerance")
    rows = tuple((c.what, c.ordered, c.measured, c.tolerance, within if c.within else outside, c.status) for c in checks)
    columns = (msg("Property"), msg("Ordered"), msg("Measured"), msg("Tolerance, ±"), msg("Answer"), msg("Known as"))
    return Sheet(
        values=(Value("answer", msg("All together"), within if all(c.within for c in checks) else outside),),
        status=Status.weakest(*(c.status for c in checks)),
        sources=tuple(dict.fromkeys(c.source for c in checks)),
        grids=(Grid("properties", msg("Each property"), columns, rows),),
    )


CALCULATIONS = (
    Calculation(
        "keratometry",
        msg("Corneal radius and power"),
        msg("A corneal radius in mm as power in D, or the other way, by the keratometric index."),
        (
            number("radius_mm", msg("Radius"), "mm", 4, 20, needed=False),
            number("power_dioptres", msg("Power"), "D", 15, 85, needed=False),
        ),
        _keratometry,
        {"radius_mm": 7.5},
    ),
    Calculation(
        "rigid-lens",
        msg("Rigid lens and its tears"),
        msg("From a rigid trial lens, the cornea and the refraction over it: what the eye needs, and the lens of another base curve that gives it."),
        (
            number("trial_dioptres", msg("Power of the trial lens"), "D", -40, 50),
            number("base_curve_mm", msg("Base curve of the trial lens"), "mm", *CURVE_LIMITS_MM),
            number("flat_dioptres", msg("Cornea, flatter meridian"), "D", _LOW, _HIGH),
            number("steep_dioptres", msg("Cornea, steeper meridian"), "D", _LOW, _HIGH, needed=False),
            number("steep_axis", msg("Axis of the steeper meridian"), "°", 0, 180, needed=False),
            *asked_lens("over_", msg("Over-refraction")),
            number("over_vertex_distance_mm", msg("Vertex distance"), "mm", 0, 30, needed=False, hint=msg("Needed beyond ±4 D.")),
            number(
                "ordered_base_curve_mm", msg("Base curve to order"), "mm", *CURVE_LIMITS_MM, needed=False, hint=msg("As the trial lens where nothing is said.")
            ),
        ),
        _rigid,
        {
            "trial_dioptres": 20.0,
            "base_curve_mm": 7.5,
            "flat_dioptres": 44.0,
            "steep_dioptres": 46.0,
            "steep_axis": 90.0,
            "over_sphere": 2.0,
            "over_vertex_distance_mm": 12.0,
            "ordered_base_curve_mm": 7.4,
        },
    ),
    Calculation(
        "prism",
        msg("Prism by decentration"),
        msg("What a lens does that is looked through beside its optical centre: horizontal and vertical prism with its base."),
        (
            *asked_lens(),
            choice("eye", msg("Eye"), Laterality),
            number("in_mm", msg("Optical centre lies in by"), "mm", -30, 30, needed=False, hint=msg("Toward the nose from the pupil; out is negative.")),
            number("up_mm", msg("Optical centre lies up by"), "mm", -30, 30, needed=False, hint=msg("Down is negative.")),
        ),
        _prism,
        {"sphere": 20.0, "eye": "right", "in_mm": 2.0, "up_mm": 0.0},
    ),
    Calculation(
        "spectacle-magnification",
        msg("Magnification by spectacles"),
        msg("How much larger one eye's image is than the other's by the power of the lenses, both at one vertex distance: textbook arithmetic."),
        (
            *asked_lens(),
            number("other_sphere", msg("The other eye's lens, spherical equivalent"), "D", -40, 50, needed=False),
            number("vertex_distance_mm", msg("Vertex distance"), "mm", 0, 30),
        ),
        _magnified,
        {"sphere": 20.0, "other_sphere": 0.0, "vertex_distance_mm": 12.0},
    ),
    Calculation(
        "made-up-lens",
        msg("A made-up spectacle lens against its order"),
        msg("Power, cylinder, axis, prism and segment against the standard's tolerances."),
        (
            *asked_lens("ordered_", msg("Ordered")),
            *asked_lens("measured_", msg("Measured")),
            number("prism", msg("Prism, none being ordered"), "prism dioptres", 0, 20, needed=False),
            number("ordered_addition", msg("Ordered: addition"), "D", 0, 10, needed=False),
            number("measured_addition", msg("Measured: addition"), "D", 0, 10, needed=False),
            number("ordered_segment_height_mm", msg("Ordered: segment height"), "mm", 0, 60, needed=False),
            number("measured_segment_height_mm", msg("Measured: segment height"), "mm", 0, 60, needed=False),
        ),
        _made,
        {"ordered_sphere": 15.0, "measured_sphere": 15.25},
    ),
    Calculation(
        "made-up-contact-lens",
        msg("A made-up contact lens against its order"),
        msg("Back vertex power, base curve and diameter against the standard's tolerances."),
        (
            choice("material", msg("Material"), LensMaterial),
            number("ordered_power", msg("Ordered: back vertex power"), "D", -40, 60),
            number("measured_power", msg("Measured: back vertex power"), "D", -40, 60),
            number("ordered_base_curve_mm", msg("Ordered: base curve"), "mm", *CURVE_LIMITS_MM, needed=False),
            number("measured_base_curve_mm", msg("Measured: base curve"), "mm", *CURVE_LIMITS_MM, needed=False),
            number("ordered_diameter_mm", msg("Ordered: diameter"), "mm", *DIAMETER_LIMITS_MM, needed=False),
            number("measured_diameter_mm", msg("Measured: diameter"), "mm", *DIAMETER_LIMITS_MM, needed=False),
        ),
        _made_contact_lens,
        {"material": "rigid-gas-permeable", "ordered_power": 20.0, "measured_power": 20.25},
    ),
)
