"""Lenses by themselves."""

from service.calculations.asking import Ask, Given, number
from service.calculations.naming import named
from service.calculations.sheet import Calculation, Sheet, Value
from shared.findings import Message, Quantity, Unit, msg
from shared.optics.refraction import SpheroCylinder, at_vertex_distance, from_power_vector, over_refraction_at_cornea, rounded, vertex_distance
from shared.vocabulary import Status


def asked_lens(prefix: str = "", of: Message | None = None) -> tuple[Ask, ...]:
    """Sphere, cylinder and axis of one lens, their names after `prefix`, their labels after what the lens is."""
    sphere, cylinder, axis = msg("Sphere"), msg("Cylinder"), msg("Axis")
    if of is not None:
        sphere, cylinder, axis = (msg("%(lens)s: sphere", lens=of), msg("%(lens)s: cylinder", lens=of), msg("%(lens)s: axis", lens=of))
    return (
        number(f"{prefix}sphere", sphere, "D", -40, 50),
        number(f"{prefix}cylinder", cylinder, "D", -15, 15, needed=False),
        number(f"{prefix}axis", axis, "°", 0, 180, needed=False),
    )


def lens(given: Given, prefix: str = "") -> SpheroCylinder:
    """The lens asked for by `asked_lens`. Raises `ClinicalInputError` naming its sphere, cylinder or axis."""
    with named({name: f"{prefix}{name}" for name in ("sphere", "cylinder", "axis")}):
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


def _transposed(given: Given) -> Sheet:
    rx = lens(given)
    return Sheet(values=(*lens_values("transposed", msg("Transposed"), rx.transposed()), *vector_values(rx)), status=Status.DERIVED)


def vector_values(rx: SpheroCylinder) -> tuple[Value, ...]:
    """Spherical equivalent and power vector of a lens, in D."""
    m, j0, j45 = (Quantity(part, Unit.DIOPTRE) for part in rx.power_vector())
    return (Value("spherical_equivalent", msg("Spherical equivalent, M"), m), Value("j0", msg("J0"), j0), Value("j45", msg("J45"), j45))


def _crossed(given: Given) -> Sheet:
    one, other = lens(given, "one_"), lens(given, "other_")
    with named({"sphere": "other_sphere", "cylinder": "other_cylinder"}):
        both = one.plus(other)
        transposed = both.transposed()
    steps = tuple(_vector_step(rx) for rx in (one, other, both))
    values = (*lens_values("together", msg("Together"), both), *lens_values("transposed", msg("Together, plus cylinder"), transposed), *vector_values(both))
    return Sheet(values=values, working=steps, status=Status.MEMORY)


def _from_vector(given: Given) -> Sheet:
    with named({"sphere": "m", "cylinder": "j0"}):
        rx = from_power_vector(given.number("m"), given.number("j0"), given.number("j45"))
    return Sheet(values=lens_values("lens", msg("Lens"), rx), status=Status.MEMORY)


def _vector_step(rx: SpheroCylinder) -> Message:
    m, j0, j45 = (Quantity(part, Unit.DIOPTRE) for part in rx.power_vector())
    return msg("power vector M %(m)s, J0 %(j0)s, J45 %(j45)s", m=m, j0=j0, j45=j45)


def _over(given: Given) -> Sheet:
    trial, over = lens(given, "trial_"), lens(given, "over_")
    mm = vertex_distance(over, given.maybe_number("over_vertex_distance_mm"), "over_vertex_distance_mm")
    with named({"sphere": "over_sphere", "cylinder": "over_cylinder", "from_vertex_distance_mm": "over_vertex_distance_mm"}):
        worked = over_refraction_at_cornea(trial, over, mm)
    near = given.maybe_number("near_dioptres") or 0.0
    distance = worked.exact.spherical_equivalent
    return Sheet(
        values=(
            *lens_values("at_cornea", msg("At the cornea"), worked.exact),
            Value("spherical_equivalent", msg("Spherical equivalent"), Quantity(distance, Unit.DIOPTRE)),
            Value("with_near", msg("With near, added once"), Quantity(distance + near, Unit.DIOPTRE)),
        ),
        working=worked.steps,
        status=Status.DERIVED,
    )


CALCULATIONS = (
    Calculation(
        "transposition",
        msg("Transpose a lens"),
        msg("The same lens with the cylinder's sign turned, its spherical equivalent and its power vector."),
        asked_lens(),
        _transposed,
        {"sphere": 2.0, "cylinder": 1.0, "axis": 90.0},
    ),
    Calculation(
        "power-vector",
        msg("A lens from its power vector"),
        msg("Sphere, minus cylinder and axis from spherical equivalent M and the two crossed cylinders J0 and J45."),
        (
            number("m", msg("Spherical equivalent, M"), "D", -50, 50),
            number("j0", msg("J0"), "D", -15, 15),
            number("j45", msg("J45"), "D", -15, 15),
        ),
        _from_vector,
        {"m": -0.75, "j0": 0.0, "j45": -0.75},
    ),
    Calculation(
        "crossed-cylinders",
        msg("Add two lenses"),
        msg("Two lenses at one plane, also with their axes crossed at any angle: their power vectors add."),
        (*asked_lens("one_", msg("First lens")), *asked_lens("other_", msg("Second lens"))),
        _crossed,
        {"one_sphere": 1.75, "one_cylinder": 0.5, "one_axis": 45.0, "other_sphere": -2.25, "other_cylinder": -1.0, "other_axis": 135.0},
    ),
    Calculation(
        "over-refraction",
        msg("Over-refraction of a contact lens"),
        msg("The trial lens and the refraction over it as one power at the cornea; near is added once, last."),
        (
            *asked_lens("trial_", msg("Trial lens")),
            *asked_lens("over_", msg("Over-refraction")),
            number("over_vertex_distance_mm", msg("Vertex distance"), "mm", 0, 30, needed=False, hint=msg("Needed beyond ±4 D.")),
            number("near_dioptres", msg("Added for near"), "D", 0, 5, needed=False),
        ),
        _over,
        {"trial_sphere": 29.0, "over_sphere": 2.5, "over_cylinder": -1.0, "over_axis": 180.0, "over_vertex_distance_mm": 12.0, "near_dioptres": 2.0},
    ),
    Calculation(
        "effective-power",
        msg("Move a lens to another distance"),
        msg("The lens that does the same at another vertex distance, each principal meridian by itself; 0 mm is the cornea."),
        (
            *asked_lens(),
            number("from_vertex_distance_mm", msg("From"), "mm", 0, 30),
            number("to_vertex_distance_mm", msg("To"), "mm", 0, 30),
            number("step", msg("Rounded to steps of"), "D", 0, 5, needed=False, hint=msg("0.25 D where nothing is said; ties go toward more plus")),
        ),
        _moved,
        {"sphere": 12.0, "cylinder": 2.0, "axis": 90.0, "from_vertex_distance_mm": 12.0, "to_vertex_distance_mm": 0.0, "step": 0.25},
    ),
)
