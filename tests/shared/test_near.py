"""What is added for near: the built-in table, a clinic's own, what is taught, and plain arithmetic."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit
from shared.optics.near import NearRow, NearTable, built_in_near, near_for_distance, near_overcorrection, near_taught, read_near_rows
from shared.vocabulary import OpticalStatus, Status
from tests.shared.messages import check

OWN = NearTable((NearRow(0, 2.5), NearRow(12, 1.5), NearRow(30, 0.0)), Status.COMMON_PRACTICE, author="the clinic's protocol of 2026")


@pytest.mark.parametrize(
    ("age_months", "status", "dioptres"),
    [
        (0, OpticalStatus.APHAKIC, 2.0),
        (23, OpticalStatus.APHAKIC, 2.0),
        (24, OpticalStatus.APHAKIC, 0.0),
        (60, OpticalStatus.APHAKIC, 0.0),
        (5, OpticalStatus.PSEUDOPHAKIC, 0.0),
        (5, OpticalStatus.PHAKIC, 0.0),
    ],
)
def test_near_overcorrection_is_for_aphakic_eyes_under_two(age_months: int, status: OpticalStatus, dioptres: float) -> None:
    found = near_overcorrection(age_months, status, built_in_near())
    assert found.value == Quantity(dioptres, Unit.DIOPTRE)
    # its two years are from memory, and it says so at every age
    assert found.status is (Status.MEMORY if status is OpticalStatus.APHAKIC else Status.COMMON_PRACTICE)
    check(found)


@pytest.mark.parametrize(("age_months", "dioptres"), [(0, 2.5), (11, 2.5), (12, 1.5), (29, 1.5), (30, 0.0), (80, 0.0)])
def test_a_clinics_own_table_stands_in_for_the_built_in_one(age_months: int, dioptres: float) -> None:
    found = near_overcorrection(age_months, OpticalStatus.APHAKIC, OWN)
    assert (found.value, found.status, found.sources) == (Quantity(dioptres, Unit.DIOPTRE), Status.COMMON_PRACTICE, ())
    assert found.working[0].params["author"] == "the clinic's protocol of 2026"
    check(found)


def test_a_table_whose_last_row_adds_something_names_no_end() -> None:
    found = near_overcorrection(50, OpticalStatus.APHAKIC, NearTable((NearRow(0, 3.0),), Status.COMMON_PRACTICE, author="a"))
    assert found.value == Quantity(3.0, Unit.DIOPTRE)
    assert "until" not in found.message.params
    check(found)


@pytest.mark.parametrize(
    "rows", [(), ((1, 2.0),), ((0, 2.0), (0, 1.0)), ((0, 2.0), (24, 0.0), (12, 1.0)), ((0, -0.5),), ((0, 4.5),), ((0, float("nan")),), ((0, 1.0), (217, 0.0))]
)
def test_a_table_that_cannot_be_is_refused(rows: tuple[tuple[int, float], ...]) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        NearTable(tuple(NearRow(*row) for row in rows), Status.COMMON_PRACTICE)
    assert refused.value.field == "near_rows"


def test_rows_are_read_as_they_are_typed() -> None:
    assert read_near_rows(" 0: 2.5; 12:1,5;30: 0 ") == OWN.rows
    assert OWN.typed == "0: 2.5; 12: 1.5; 30: 0"
    for typed in ("12", "a: 2", "0: b", "0.5: 2"):
        with pytest.raises(ClinicalInputError) as refused:
            read_near_rows(typed)
        assert refused.value.field == "near_rows"


@given(st.lists(st.tuples(st.integers(1, 216), st.sampled_from([0, 0.25, 1, 2.5, 4])), max_size=11, unique_by=lambda row: row[0]))
def test_what_is_shown_is_read_again_as_the_same(more: list[tuple[int, float]]) -> None:
    rows = tuple(NearRow(month, float(dioptres)) for month, dioptres in [(0, 1.0), *sorted(more)])
    assert read_near_rows(NearTable(rows, Status.COMMON_PRACTICE).typed) == rows


@pytest.mark.parametrize(("age_months", "least", "most"), [(0, 2.0, 3.0), (11, 2.0, 3.0), (12, 1.0, 1.5), (23, 1.0, 1.5), (24, 2.5, 3.0)])
def test_what_is_taught_is_from_memory_and_says_so(age_months: int, least: float, most: float) -> None:
    found = near_taught(age_months)
    assert [found.message.params[end] for end in ("least", "most")] == [Quantity(least, Unit.DIOPTRE), Quantity(most, Unit.DIOPTRE)]
    assert found.status is Status.MEMORY
    check(found)


def test_before_birth_nothing_is_added() -> None:
    for refused in (lambda: near_taught(-1), lambda: built_in_near().at(-1)):
        with pytest.raises(ClinicalInputError) as error:
            refused()
        assert error.value.field == "age_months"


@pytest.mark.parametrize("cm", [9.9, 100.1, float("nan"), float("inf"), -33.0])
def test_a_working_distance_that_cannot_be_is_refused(cm: float) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        near_for_distance(cm)
    assert refused.value.field == "working_distance_cm"


def test_near_for_a_distance_is_one_over_metres() -> None:
    found = near_for_distance(40)
    assert (found.value, found.status) == (Quantity(2.5, Unit.DIOPTRE), Status.DERIVED)
    check(found)
