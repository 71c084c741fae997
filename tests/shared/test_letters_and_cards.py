"""ETDRS letters, letters beyond a line, grating cards and low vision, against values printed elsewhere and two packages of others."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from visualacuity import parse_visit

from shared.errors import ClinicalInputError
from shared.optics.refraction import keratometric_power
from shared.sight.acuity import read_acuity
from shared.sight.gratings import CardRule, cycles_per_degree
from shared.sight.low_vision import LowVisionTable
from tests.shared.messages import check


@pytest.mark.parametrize(("letters", "snellen"), [(70, "20/40"), (35, "20/200"), (85, "20/20")])
def test_letters_are_the_lines_that_the_paper_pairs_them_with(letters: int, snellen: str) -> None:
    """20/40 = 70 letters, 20/200 = 35 and 20/20 = 85 (Gregori 2010 and Beck 2003, as read)."""
    acuity = read_acuity(f"{letters} letters")
    assert acuity.snellen_feet == snellen and acuity.nominal_logmar == read_acuity(snellen).nominal_logmar


def other_package(typed: str) -> tuple[float, float]:
    """logMAR of the line, and with its letters, as the `visualacuity` package 0.1.0a9 reads them."""
    [note] = parse_visit({"Visual Acuity Right Eye": typed}).values()
    return note.log_mar_base, note.log_mar_base_plus_letters


CHART_LINES = ["20/16", "20/32", "20/63", "20/160", "6/4.8", "6/6", "6/7.5", "6/9.5", "6/12", "6/15", "6/24", "6/30", "6/38", "6/48"]


@pytest.mark.parametrize("line", CHART_LINES)
@pytest.mark.parametrize("beyond", ["-4", "-2", " -1", "+1", " + 2", "+4"])
def test_letters_beyond_a_line_agree_with_the_other_package(line: str, beyond: str) -> None:
    """It gives a line of a logMAR chart its nominal step, we the fraction itself: up to 0.005 apart, and the letters are worth the same."""
    ours, [base, theirs] = read_acuity(line + beyond, letters_per_line=5).logmar, other_package(line + beyond.replace(" ", ""))
    assert ours == pytest.approx(theirs, abs=0.005)
    assert ours - read_acuity(line).logmar == pytest.approx(theirs - base, abs=1e-9)


@given(st.sampled_from(["20/25", "20/40", "20/50"]), st.integers(-4, 4).filter(bool))
def test_between_lines_that_are_not_a_step_apart_the_other_package_is_near(line: str, letters: int) -> None:
    """It shares out the way to the next line of its own list, which in feet is 0.07 to 0.125 logMAR off: at most half a letter a letter."""
    typed = f"{line}{letters:+d}"
    theirs = other_package(typed)[1]
    assert read_acuity(typed, letters_per_line=5).logmar == pytest.approx(theirs, abs=0.01 * abs(letters) + 0.001)


@given(st.sampled_from(["20/40", "6/9", "0.5 decimal", "0.3 logMAR", "1 decimal"]), st.integers(2, 10), st.data())
def test_a_letter_is_worth_its_share_of_a_line(line: str, a_line: int, data: st.DataObject) -> None:
    letters = data.draw(st.integers(1, a_line - 1))
    base, missed, more = (read_acuity(f"{line}{beyond}", letters_per_line=a_line) for beyond in ("", f"-{letters}", f" \u002b{letters}"))
    assert base.logmar is not None and missed.logmar is not None and more.logmar is not None
    assert missed.logmar > base.logmar > more.logmar
    assert missed.logmar - base.logmar == pytest.approx(0.1 * letters / a_line, abs=1e-12)
    assert (missed.logmar + more.logmar) / 2 == pytest.approx(base.logmar, abs=1e-12)


def test_a_letter_of_a_four_letter_chart_is_worth_more() -> None:
    """0.02 with five letters a line, 0.025 with four (ETDRS/Bailey-Lovie, as read)."""
    assert read_acuity("0.3 logMAR -2", letters_per_line=5).logmar == pytest.approx(0.34, abs=1e-12)
    assert read_acuity("0.3 logMAR \u22122", letters_per_line=4).logmar == pytest.approx(0.35, abs=1e-12)


@pytest.mark.parametrize(("typed", "a_line"), [("20/40-5", 5), ("20/40+0", 5), ("20/40-1", 1), ("20/40-2", 0), ("20/40-2", 11), ("20/40-99", 10)])
def test_a_whole_line_of_letters_is_another_line(typed: str, a_line: int) -> None:
    with pytest.raises(ClinicalInputError, match="another line") as refused:
        read_acuity(typed, "left_acuity", letters_per_line=a_line)
    assert refused.value.field == "left_acuity"
    check(refused.value.message)


@pytest.mark.parametrize(("typed", "distance", "cpd"), [("13 c/cm", 55.0, 13.0), ("13 cycles/cm", 84.0, 19.85), ("1.6 c/cm", 38.0, 1.105)])
def test_a_card_is_read_by_its_own_rule_of_55_cm(typed: str, distance: float, cpd: float) -> None:
    """cycles/degree = cycles/cm x distance / 55 (card manual, read second-hand); products by hand."""
    assert read_acuity(typed, distance_cm=distance).cycles_per_degree == pytest.approx(cpd, abs=0.006)


@given(st.floats(0.2, 40), st.floats(10, 200))
def test_exact_trigonometry_counts_the_cycles_in_one_degree(cards: float, distance: float) -> None:
    """One degree covers distance x tan(1 degree) cm of the card; the two conventions are four per cent apart at every distance."""
    exact = cycles_per_degree(cards, distance, CardRule.EXACT)
    assert exact == pytest.approx(cards * distance * math.tan(math.radians(1)), rel=1e-12)
    assert cycles_per_degree(cards, distance) / exact == pytest.approx(57.29 / 55, abs=1e-4)


def test_the_rule_of_a_card_is_chosen_by_name() -> None:
    assert read_acuity("4.8 c/cm", distance_cm=55.0, card_rule=CardRule.EXACT).cycles_per_degree == pytest.approx(4.608, abs=0.001)


@pytest.mark.parametrize(
    ("cards", "distance", "field"),
    [(0.0, 55.0, "cycles_per_cm"), (-1.0, 55.0, "cycles_per_cm"), (math.nan, 55.0, "cycles_per_cm"), (math.inf, 55.0, "cycles_per_cm")]
    + [(4.8, distance, "distance_cm") for distance in (0.0, 9.9, 1000.1, math.nan, math.inf)],
)
def test_a_card_that_cannot_be_is_refused(cards: float, distance: float, field: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        cycles_per_degree(cards, distance)
    assert refused.value.field == field
    check(refused.value.message)


def test_an_impossible_distance_is_refused_at_the_acuity() -> None:
    with pytest.raises(ClinicalInputError, match="test distance") as refused:
        read_acuity("4.8 c/cm", "right_acuity", math.nan)
    assert refused.value.field == "right_acuity"


@pytest.mark.parametrize("typed", ["70.5 letters", "101 letters", "-1 letters", "13 c/cm"])
def test_what_cannot_be_read_is_refused(typed: str) -> None:
    with pytest.raises(ClinicalInputError):
        read_acuity(typed)


@pytest.mark.parametrize(("typed", "table", "logmar"), [("CF", "lange-2009", 1.98), ("CF", "schulze-bonsel-2006", 1.85), ("HM", "schulze-bonsel-2006", 2.30)])
def test_papers_differ_in_what_counting_fingers_is_worth(typed: str, table: str, logmar: float) -> None:
    """1.98 (Lange 2009) and 1.85 (Schulze-Bonsel 2006, as its successor quotes it); .005 decimal is 2.30 by hand."""
    assert read_acuity(typed, low_vision=LowVisionTable(table)).logmar == pytest.approx(logmar, abs=0.005)


@pytest.mark.parametrize("table", LowVisionTable)
def test_no_table_measures_light_perception(table: LowVisionTable) -> None:
    assert read_acuity("LP", low_vision=table).logmar is None
    assert read_acuity("none", low_vision=table).logmar is None


@pytest.mark.parametrize(("radius", "power"), [(7.5, 45.0), (7.85, 43.0)])
def test_a_corneal_radius_and_its_power(radius: float, power: float) -> None:
    """45.00 D = 7.50 mm and 43.00 D = 7.85 mm (formula sheet, as read)."""
    assert keratometric_power(radius) == pytest.approx(power, abs=0.01)
