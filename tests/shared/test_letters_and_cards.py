"""ETDRS letters and grating cards, against values printed elsewhere."""

import math

import pytest

from shared.acuity import read_acuity
from shared.errors import ClinicalInputError
from shared.refraction import keratometric_power


@pytest.mark.parametrize(("letters", "snellen"), [(70, "20/40"), (35, "20/200"), (85, "20/20")])
def test_letters_are_the_lines_that_the_paper_pairs_them_with(letters: int, snellen: str) -> None:
    """20/40 = 70 letters, 20/200 = 35 and 20/20 = 85 (Gregori 2010 and Beck 2003, as read)."""
    acuity = read_acuity(f"{letters} letters")
    assert acuity.snellen_feet == snellen and acuity.nominal_logmar == read_acuity(snellen).nominal_logmar


@pytest.mark.parametrize(("typed", "distance", "cpd"), [("13 c/cm", 55.0, 13.0), ("13 cycles/cm", 84.0, 19.85), ("1.6 c/cm", 38.0, 1.105)])
def test_a_card_is_read_by_its_own_rule_of_55_cm(typed: str, distance: float, cpd: float) -> None:
    """cycles/degree = cycles/cm x distance / 55 (card manual, read second-hand); products by hand."""
    found = read_acuity(typed, distance_cm=distance).cycles_per_degree
    assert found == pytest.approx(cpd, abs=0.006)
    exact = float(typed.split()[0]) * distance * math.tan(math.radians(1))
    assert found == pytest.approx(exact, rel=0.045), "within four per cent of exact trigonometry"


@pytest.mark.parametrize("typed", ["70.5 letters", "101 letters", "-1 letters", "13 c/cm"])
def test_what_cannot_be_read_is_refused(typed: str) -> None:
    with pytest.raises(ClinicalInputError):
        read_acuity(typed)


@pytest.mark.parametrize(("radius", "power"), [(7.5, 45.0), (7.85, 43.0)])
def test_a_corneal_radius_and_its_power(radius: float, power: float) -> None:
    """45.00 D = 7.50 mm and 43.00 D = 7.85 mm (formula sheet, as read)."""
    assert keratometric_power(radius) == pytest.approx(power, abs=0.01)
