"""Prism by decentration, against the slope of the lens's own surface and the textbook's single case."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.optics.prism import by_decentration
from shared.optics.refraction import SpheroCylinder
from shared.vocabulary import Laterality
from tests.shared.messages import check

RIGHT, LEFT = Laterality
eyes = st.sampled_from(Laterality)
lenses = st.builds(SpheroCylinder, st.floats(-30, 40), st.floats(-8, 8), st.floats(0.5, 180))
shifts = st.floats(-15, 15)


def wavefront(rx: SpheroCylinder, across: float, up: float) -> float:
    """The wavefront that a thin lens makes, in micrometres at mm from its centre: half of power times distance squared, the cylinder's across its axis."""
    axis = math.radians(rx.axis or 0.0)
    beside = up * math.cos(axis) - across * math.sin(axis)
    return (rx.sphere * (across**2 + up**2) + rx.cylinder * beside**2) / 2


@given(lenses, eyes, shifts, shifts)
def test_prism_is_the_slope_of_the_wavefront(rx: SpheroCylinder, eye: Laterality, in_mm: float, up_mm: float) -> None:
    """Another road: light is turned toward the centre by the wavefront's slope; a prism dioptre is 1 cm in 1 m, ten micrometres a mm."""
    nasal = 1 if eye is RIGHT else -1
    across, small = nasal * in_mm, 0.01
    sideways = (wavefront(rx, across + small, up_mm) - wavefront(rx, across - small, up_mm)) / (2 * small) / 10
    upward = (wavefront(rx, across, up_mm + small) - wavefront(rx, across, up_mm - small)) / (2 * small) / 10
    found = by_decentration(rx, eye, in_mm, up_mm)
    assert found.horizontal == pytest.approx(nasal * sideways, abs=1e-6)
    assert found.vertical == pytest.approx(upward, abs=1e-6)
    check(found.steps)


@pytest.mark.parametrize(
    ("rx", "eye", "in_mm", "up_mm", "horizontal", "vertical"),
    [
        ((20.0, 0.0, None), RIGHT, 2.0, 0.0, (4.0, "base in"), (0.0, "none")),  # 2 mm off in +20 D are 4 prism dioptres (textbook)
        ((20.0, 0.0, None), LEFT, 2.0, 0.0, (4.0, "base in"), (0.0, "none")),
        ((-5.0, 0.0, None), LEFT, 2.0, -3.0, (-1.0, "base out"), (1.5, "base up")),
        ((0.0, 4.0, 180.0), RIGHT, 5.0, 0.0, (0.0, "none"), (0.0, "none")),  # along the axis a cylinder has no power
        ((0.0, 4.0, 90.0), RIGHT, 5.0, 0.0, (2.0, "base in"), (0.0, "none")),
        # plus cylinder at 45: power along 135, from the examiner's upper left to the lower right; a shift in of the right eye is one to the right
        ((0.0, 4.0, 45.0), RIGHT, 10.0, 0.0, (2.0, "base in"), (-2.0, "base down")),
        ((0.0, 4.0, 45.0), LEFT, 10.0, 0.0, (2.0, "base in"), (2.0, "base up")),
    ],
)
def test_amount_and_base(rx: tuple, eye: Laterality, in_mm: float, up_mm: float, horizontal: tuple[float, str], vertical: tuple[float, str]) -> None:
    found = by_decentration(SpheroCylinder(*rx), eye, in_mm, up_mm)
    assert (found.horizontal, found.horizontal_base.text) == (pytest.approx(horizontal[0]), horizontal[1])
    assert (found.vertical, found.vertical_base.text) == (pytest.approx(vertical[0]), vertical[1])


@given(lenses, eyes, shifts, shifts)
def test_writing_the_lens_the_other_way_changes_nothing(rx: SpheroCylinder, eye: Laterality, in_mm: float, up_mm: float) -> None:
    try:
        other = by_decentration(rx.transposed(), eye, in_mm, up_mm)
    except ClinicalInputError:
        return  # the transposed sphere lies beyond any lens
    found = by_decentration(rx, eye, in_mm, up_mm)
    assert (found.horizontal, found.vertical) == (pytest.approx(other.horizontal, abs=1e-9), pytest.approx(other.vertical, abs=1e-9))


@pytest.mark.parametrize(("field", "in_mm", "up_mm"), [("in_mm", 31.0, 0.0), ("in_mm", math.nan, 0.0), ("up_mm", 0.0, -31.0), ("up_mm", 0.0, math.inf)])
def test_a_shift_that_cannot_be_is_refused_by_name(field: str, in_mm: float, up_mm: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        by_decentration(SpheroCylinder(10.0), RIGHT, in_mm, up_mm)
    assert refused.value.field == field
    check(refused.value.message)
