"""Acuity in every notation of the trade. The arithmetic is compared with the `logmar` package 0.1.0, which is someone else's."""

import logmar as other
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit
from shared.sight.acuity import BEST_LOGMAR, FEET, METRES, WORST_LOGMAR, Acuity, change_between, interocular_difference, read_acuity
from shared.vocabulary import AcuityFamily
from tests.shared.messages import check

possible = st.floats(BEST_LOGMAR, WORST_LOGMAR).map(lambda value: f"{value:.6f}")


@pytest.mark.parametrize(
    ("typed", "family", "logmar"),
    [
        ("20/40", AcuityFamily.OPTOTYPE, 0.30103),
        (" 6 / 12 ", AcuityFamily.OPTOTYPE, 0.30103),
        ("6/9.5", AcuityFamily.OPTOTYPE, 0.19957),
        ("6/9,5", AcuityFamily.OPTOTYPE, 0.19957),
        ("3/60", AcuityFamily.OPTOTYPE, 1.30103),
        ("0.5 decimal", AcuityFamily.OPTOTYPE, 0.30103),
        ("0,5 Dec", AcuityFamily.OPTOTYPE, 0.30103),
        ("0.3 logMAR", AcuityFamily.OPTOTYPE, 0.3),
        ("-0.1 logmar", AcuityFamily.OPTOTYPE, -0.1),
        ("\u22120,1 LogMAR", AcuityFamily.OPTOTYPE, -0.1),
        ("30 cpd", AcuityFamily.GRATING, 0.0),
        ("3 cycles/degree", AcuityFamily.GRATING, 1.0),
        ("3 cycles per degree", AcuityFamily.GRATING, 1.0),
        ("3c/deg", AcuityFamily.GRATING, 1.0),
        ("HM", AcuityFamily.LOW_VISION, 2.28),
        ("counting  fingers", AcuityFamily.LOW_VISION, 1.98),
        ("LP", AcuityFamily.LOW_VISION, None),
        ("no light perception", AcuityFamily.LOW_VISION, None),
        ("none", AcuityFamily.LOW_VISION, None),
    ],
)
def test_what_is_read(typed: str, family: AcuityFamily, logmar: float | None) -> None:
    read = read_acuity(typed)
    assert (read.family, read.typed) == (family, " ".join(typed.split()))
    assert read.logmar == (None if logmar is None else pytest.approx(logmar, abs=5e-6))
    assert (read.cycles_per_degree is not None) is (family is AcuityFamily.GRATING)
    assert (read.decimal is None) is (read.nominal_logmar is None) is (logmar is None)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("0.1", "may be decimal or logMAR"),
        ("1", "may be decimal or logMAR"),
        ("-0,1", "may be decimal or logMAR"),
        ("20/0", "no line of a chart"),
        ("6/-12", "no line of a chart"),
        ("7/12", "the test distance is"),
        ("0/12", "the test distance is"),
        ("600/12", "the test distance is"),
        ("20/40-2", "give the letters a line of this test"),
        ("6/9 + 1", "give the letters a line of this test"),
        ("0.3 logMAR -2", "give the letters a line of this test"),
        ("4.7 cpd -2", "belong to a line of letters"),
        ("70 letters +1", "belong to a line of letters"),
        ("20/40-123", "is not an acuity that is known here"),
        ("20/40-2-1", "is not an acuity that is known here"),
        ("0.3 -2", "is not an acuity that is known here"),
        ("0 decimal", "more than nothing"),
        ("-1 decimal", "more than nothing"),
        ("0 cpd", "more than nothing"),
        ("3.1 logMAR", "an acuity lies between"),
        ("-0.6 logMAR", "an acuity lies between"),
        ("20/6", "an acuity lies between"),
        ("20/30000", "an acuity lies between"),
        ("100 cpd", "an acuity lies between"),
        ("0.000999 decimal", "an acuity lies between"),
        ("", "is not an acuity that is known here"),
        ("good", "is not an acuity that is known here"),
        ("20/forty", "is not an acuity that is known here"),
        ("0.3 lines", "is not an acuity that is known here"),
        ("20//40", "is not an acuity that is known here"),
        ("nan logMAR", "is not an acuity that is known here"),
        ("1e1 cpd", "is not an acuity that is known here"),
        ("9" * 400 + " cpd", "is not an acuity that is known here"),  # no float holds it
        ("9" * 5000 + "/12", "is not an acuity that is known here"),  # nor does Python read it as a whole number
        ("20/0." + "0" * 330 + "1", "is not an acuity that is known here"),
    ],
)
def test_what_is_refused_in_words(typed: str, words: str) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        read_acuity(typed, "left_acuity")
    assert refused.value.field == "left_acuity"
    assert words in refused.value.message.text
    assert refused.value.message.params["typed"] == typed
    check(refused.value.message)


def test_the_limits_themselves_are_possible() -> None:
    assert read_acuity("3 logMAR").logmar == WORST_LOGMAR
    assert read_acuity("-0.5 logMAR").logmar == BEST_LOGMAR


@given(st.text(alphabet="0123456789./+-, cpdeglomarhf", max_size=30) | st.from_regex(r"[0-9]{1,400}(/[0-9.]{1,400}| cpd| decimal| logmar)", fullmatch=True))
def test_nothing_typed_is_worse_than_a_refusal(typed: str) -> None:
    try:
        read = read_acuity(typed)
    except ClinicalInputError as refused:
        check(refused.message)
    else:
        assert read.logmar is None or BEST_LOGMAR <= read.logmar <= WORST_LOGMAR


@given(st.sampled_from([20, 6, 5, 4, 3, 2, 1]), st.integers(3, 800))
def test_snellen_agrees_with_the_other_package(distance: int, letter: int) -> None:
    typed = f"{distance}/{letter}"
    logmar = other.snellen_to_logmar(typed)
    if not BEST_LOGMAR <= logmar <= WORST_LOGMAR:
        with pytest.raises(ClinicalInputError):
            read_acuity(typed)
    else:
        read = read_acuity(typed)
        assert read.logmar == pytest.approx(logmar, abs=1e-12)
        assert read.decimal == pytest.approx(other.snellen_to_decimal(typed), rel=1e-12)


@given(st.integers(1, 3000))
def test_decimal_agrees_with_the_other_package(thousandths: int) -> None:
    assert read_acuity(f"{thousandths / 1000:.3f} decimal").logmar == pytest.approx(other.decimal_to_logmar(thousandths / 1000), abs=1e-12)


@pytest.mark.parametrize("tenths", range(-1, 11))
def test_whole_lines_as_fractions_agree_with_the_other_package(tenths: int) -> None:
    """It rounds to whole feet where a chart has a line of its own: 20/159 for 20/160."""
    ours = read_acuity(f"{tenths / 10} logMAR").snellen_feet
    assert ours is not None
    assert float(ours[3:]) == pytest.approx(float(other.logmar_to_snellen(tenths / 10)[3:]), rel=0.02)


@pytest.mark.parametrize(
    ("typed", "feet", "metres"),
    [
        ("0.3 logMAR", "20/40", "6/12"),
        ("0.2 logMAR", "20/32", "6/9.5"),
        ("0.5 logMAR", "20/63", "6/19"),
        ("-0.1 logMAR", "20/16", "6/4.8"),
        ("1 logMAR", "20/200", "6/60"),
        ("0.9 logMAR", "20/160", "6/48"),
        ("0.8 logMAR", "20/125", "6/38"),
        ("6/9", "20/30", "6/9"),
        ("6/18", "20/60", "6/18"),
        ("20/70", "20/70", "6/21"),
        ("0.25 logMAR", "20/36", "6/11"),
        ("-0.3 logMAR", "20/10", "6/3"),
        ("15 cpd", "20/40", "6/12"),
        ("CF", None, None),
        ("none", None, None),
    ],
)
def test_shown_as_a_charts_line_where_there_is_one(typed: str, feet: str | None, metres: str | None) -> None:
    read = read_acuity(typed)
    assert (read.snellen_feet, read.snellen_metres) == (feet, metres)


def test_a_printed_line_is_shown_as_itself() -> None:
    assert [line for line in FEET if read_acuity(f"20/{line:g}").snellen_feet != f"20/{line:g}"] == []
    assert [line for line in METRES if read_acuity(f"6/{line:g}").snellen_metres != f"6/{line:g}"] == []


@given(possible)
def test_a_shown_fraction_is_the_same_acuity_within_its_rounding(logmar: str) -> None:
    read = read_acuity(f"{logmar} logMAR")
    for shown in (read.snellen_feet, read.snellen_metres):
        assert shown is not None
        assert other.snellen_to_logmar(shown) == pytest.approx(read.logmar, abs=0.022)  # half a foot in ten


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("20/16", -0.1),
        ("20/25", 0.1),
        ("20/30", 0.2),
        ("20/70", 0.5),
        ("6/9", 0.2),
        ("20/63", 0.5),
        ("20/400", 1.3),
        ("0.35 logMAR", 0.4),
        ("0.349 logMAR", 0.3),
    ],
)
def test_bands_and_lines_are_counted_in_chart_steps(typed: str, line: float) -> None:
    assert read_acuity(typed).nominal_logmar == line


def test_from_20_16_to_20_25_are_two_lines_though_the_angle_says_less() -> None:
    better, worse = read_acuity("20/16"), read_acuity("20/25")
    assert worse.nominal_logmar is not None and better.nominal_logmar is not None
    assert worse.nominal_logmar - better.nominal_logmar == 0.2
    assert change_between(better, worse).value == pytest.approx(0.1938, abs=1e-4)


@pytest.mark.parametrize(
    ("amblyopic", "fellow", "difference"),
    [
        ("20/80", "20/20", Quantity(0.60206, Unit.LOGMAR_CHANGE)),
        ("0.5 decimal", "0.3 logMAR", Quantity(0.00103, Unit.LOGMAR_CHANGE)),
        ("20/20", "20/40", Quantity(-0.30103, Unit.LOGMAR_CHANGE)),
        ("3 cpd", "12 cpd", Quantity(2.0, Unit.OCTAVES)),
        ("12 cpd", "6 cpd", Quantity(-1.0, Unit.OCTAVES)),
    ],
)
def test_the_difference_is_positive_where_the_amblyopic_eye_is_worse(amblyopic: str, fellow: str, difference: Quantity) -> None:
    found = interocular_difference(read_acuity(amblyopic), read_acuity(fellow))
    assert (found.value, found.unit) == (pytest.approx(difference.value, abs=5e-6), difference.unit)
    change = change_between(read_acuity(fellow), read_acuity(amblyopic))
    assert change == found  # from the fellow eye's value to the amblyopic eye's: worse again


@pytest.mark.parametrize(
    ("one", "other_one", "words"),
    [
        ("20/40", "15 cpd", "different kinds of test"),
        ("15 cpd", "20/40", "different kinds of test"),
        ("20/40", "CF", "is a category, not a measurement"),
        ("3 cpd", "LP", "is a category, not a measurement"),
        ("CF", "HM", "categories"),
        ("LP", "none", "categories"),
    ],
)
def test_what_is_never_subtracted(one: str, other_one: str, words: str) -> None:
    for difference, field in ((interocular_difference, "interocular_difference"), (change_between, "change")):
        with pytest.raises(ClinicalInputError) as refused:
            difference(read_acuity(one), read_acuity(other_one))
        assert refused.value.field == field
        assert words in refused.value.message.text
        assert set(refused.value.message.params.values()) == {one, other_one}
        check(refused.value.message)


@given(st.floats(1, 60))
def test_an_octave_is_a_doubling(cpd: float) -> None:
    one, more = (Acuity("", AcuityFamily.GRATING, 0.5, value) for value in (cpd, cpd * 2))
    assert interocular_difference(one, more).value == pytest.approx(1)
    assert change_between(more, one).value == pytest.approx(1)
