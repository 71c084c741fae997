"""A made-up lens against its order: ANSI Z80.1-2015 as read; either sign of cylinder; contact lenses by numbers from memory."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.lens_words import LensMaterial
from shared.optics.made_lens import check_contact_lens, check_segment, check_spectacle_lens
from shared.optics.refraction import SpheroCylinder
from shared.vocabulary import Status


@pytest.mark.parametrize(
    ("ordered", "measured", "passes"),
    [
        # ANSI Z80.1-2015 as read: 2 % beyond 6.50 D, so +15.00 D may be off by 0.30 D; 0.13 D up to 6.50 D
        (15.0, 15.32, False),
        (15.0, 15.28, True),
        (20.0, 20.40, True),
        (20.0, 20.41, False),
        (6.5, 6.63, True),
        (6.5, 6.64, False),
    ],
)
def test_power_against_the_standard(ordered: float, measured: float, passes: bool) -> None:
    assert check_spectacle_lens(SpheroCylinder(ordered), SpheroCylinder(measured))[0].within is passes


@pytest.mark.parametrize(
    ("cylinder", "allowed"), [(-0.25, 14), (-0.5, 7), (-0.75, 5), (-1.5, 3), (-2.0, 2)]
)  # ANSI Z80.1-2015 as read: degrees by the size of the cylinder
def test_axis_by_the_size_of_the_cylinder(cylinder: float, allowed: int) -> None:
    ordered = SpheroCylinder(2.0, cylinder, 178)
    for off, passes in ((allowed, True), (allowed + 1, False)):
        axis = check_spectacle_lens(ordered, SpheroCylinder(2.0, cylinder, 178 + off - 180))[-1]
        assert axis.within is passes, "178 and 1 degrees lie 3 degrees apart"


def test_the_sign_of_the_cylinder_changes_nothing() -> None:
    ordered, measured = SpheroCylinder(3.0, 2.5, 90), SpheroCylinder(3.1, 2.6, 91)
    same = check_spectacle_lens(ordered, measured)
    assert check_spectacle_lens(ordered, measured.transposed()) == same and [c.within for c in same] == [False, True, True], "5.70 D for 5.50 D is too much"


def test_segment_and_contact_lens() -> None:
    # ANSI as read: addition 0.12 D up to 4.00 D, segment height 1.0 mm
    assert [c.within for c in check_segment(2.5, 2.62, 15, 16.1)] == [True, False]
    soft = check_contact_lens(29.0, 30.0, LensMaterial.SILICONE_ELASTOMER, [("base_curve", 7.5, 7.8)])
    rigid = check_contact_lens(29.0, 30.0, LensMaterial.RIGID_GAS_PERMEABLE)
    # ISO 18369-2 from memory: above 20 D soft 1.00, rigid 0.50 D; base curve of a soft lens 0.20 mm
    assert [c.within for c in soft] == [True, False] and not rigid[0].within and rigid[0].status is Status.MEMORY


quarters = st.integers(-80, 80).map(lambda n: n / 4)
lenses = st.builds(SpheroCylinder, quarters, st.integers(-16, 16).map(lambda n: n / 4), st.integers(1, 180))


@given(lenses, lenses)
def test_a_lens_is_judged_alike_however_order_and_focimeter_write_it(ordered: SpheroCylinder, measured: SpheroCylinder) -> None:
    """Transposition is the same lens (textbook arithmetic)."""
    verdicts = {tuple(c.within for c in check_spectacle_lens(o, m)) for o in (ordered, ordered.transposed()) for m in (measured, measured.transposed())}
    assert len(verdicts) == 1


@given(lenses)
def test_a_lens_made_as_ordered_passes(ordered: SpheroCylinder) -> None:
    assert all(c.within for c in check_spectacle_lens(ordered, ordered.transposed(), 0.0))


@pytest.mark.parametrize(
    ("power", "prism", "passes"),
    [
        # ANSI Z80.1-2015 as read: 0.33 prism dioptres, or the reference point 1.0 mm off
        (2.0, 0.33, True),
        (2.0, 0.34, False),  # 1.7 mm
        # Prentice's rule (from memory): +20 D 1.0 mm off is 2 prism dioptres
        (20.0, 2.0, True),
        (20.0, 2.1, False),
        (0.0, 0.34, False),
    ],
)
def test_prism_that_was_not_ordered(power: float, prism: float, passes: bool) -> None:
    row = check_spectacle_lens(SpheroCylinder(power), SpheroCylinder(power), prism)[-1]
    assert row.within is passes
    assert (row.status is Status.MEMORY) is (prism > 0.33 and power > 0), "Prentice's rule is from memory, and says so"
