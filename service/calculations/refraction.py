"""Lenses by themselves."""

from service.calculations.asking import Given, number
from service.calculations.sheet import Calculation, Sheet, Value
from shared.findings import Message, Quantity, Unit, msg
from shared.refraction import SpheroCylinder, at_vertex_distance, rounded
from shared.vocabulary import Status

LENS = (
    number("sphere", msg("Sphere"), "D", -40, 50),
    number("cylinder", msg("Cylinder"), "D", -15, 15, needed=False),
    number("axis", msg("Axis"), "°", 0, 180, needed=False),
)


def lens(given: Given, prefix: str = "") -> SpheroCylinder:
    """The lens asked for by `LENS`. Raises `ClinicalInputError` naming sphere, cylinder or axis."""
    return SpheroCylinder(given.number(f"{prefix}sphere"), given.maybe_number(f"{prefix}cylinder") or 0.0, given.maybe_number(f"{prefix}axis"))


def lens_values(name: str, label: Message, rx: SpheroCylinder) -> tuple[Value, ...]:
    """A lens as three values, in D and degrees, after `name`."""
    return (
        Value(f"{name}_sphere", msg("%(what)s: sphere", what=label), Quantity(rx.sphere, Unit.DIOPTRE)),
        Value(f"{name}_cylinder", msg("%(what)s: cylinder", what=label), Quantity(rx.cylinder, Unit.DIOPTRE)),
        Value(f"{name}_axis", msg("%(what)s: axis", what=label), None if rx.axis is None else Quantity(rx.axis, Unit.DEGREES)),
    )


def _moved(given: Given) -> Sheet:
    moved = at_vertex_distance(lens(given), given.number("from_vertex_distance_mm"), given.number("to_vertex_distance_mm"))
    step = given.maybe_number("step")
    return Sheet(
        values=(
            *lens_values("exact", msg("Exact"), moved.exact),
            *lens_values("rounded", msg("Rounded"), rounded(moved.exact, 0.25 if step is None else step)),
        ),
        working=moved.steps,
        status=Status.DERIVED,
    )


CALCULATIONS = (
    Calculation(
        "effective-power",
        msg("Move a lens to another distance"),
        msg("The lens that does the same at another vertex distance, each principal meridian by itself; 0 mm is the cornea."),
        (
            *LENS,
            number("from_vertex_distance_mm", msg("From"), "mm", 0, 30),
            number("to_vertex_distance_mm", msg("To"), "mm", 0, 30),
            number("step", msg("Rounded to steps of"), "D", 0, 5, needed=False, hint=msg("0.25 D where nothing is said; ties go toward more plus")),
        ),
        _moved,
        {"sphere": 12.0, "cylinder": 2.0, "axis": 90.0, "from_vertex_distance_mm": 12.0, "to_vertex_distance_mm": 0.0, "step": 0.25},
    ),
)
