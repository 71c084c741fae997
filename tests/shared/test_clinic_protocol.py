"""A clinic's own protocol: for whom it is, what it gives, and what it cannot be."""

from dataclasses import replace

import pytest

from shared.errors import ClinicalInputError
from shared.sight.acuity import read_acuity
from shared.sight.severity import Severity
from shared.treatment.clinic_protocol import ClinicProtocol
from shared.treatment.dose import OcclusionFacts
from shared.treatment.protocol_words import BandSet, Pattern
from shared.vocabulary import Aetiology, OpticalStatus

LATE = ClinicProtocol("Late cataract", "Head orthoptist", "Ward book, page 3", Aetiology.DEPRIVATION, 12, 60, None, None, 180, None, Pattern.DAILY, 6)
INFANT = OcclusionFacts(20, Aetiology.DEPRIVATION, OpticalStatus.APHAKIC, OpticalStatus.PHAKIC, 9)
CHILD = OcclusionFacts(60, Aetiology.STRABISMIC, OpticalStatus.PHAKIC, OpticalStatus.PHAKIC, None, read_acuity("20/100"), read_acuity("20/20"))
SEVERE = replace(LATE, aetiology=None, from_month=36, below_month=84, band_set=BandSet.ATS2A, severity=Severity.SEVERE)


@pytest.mark.parametrize(("months", "inside"), [(11, False), (12, True), (59, True), (60, False)])
def test_it_is_for_its_ages(months: int, inside: bool) -> None:
    assert LATE.takes(replace(INFANT, age_months=months)) is inside


def test_it_is_for_its_cause_or_for_any_and_never_covers_an_only_eye() -> None:
    assert not LATE.takes(replace(INFANT, aetiology=Aetiology.AMETROPIC))
    assert replace(LATE, aetiology=None).takes(replace(INFANT, aetiology=Aetiology.AMETROPIC))
    for eye in ("amblyopic_eye_status", "fellow_eye_status"):
        assert not LATE.takes(replace(INFANT, **{eye: OpticalStatus.ABSENT}))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("typed", "inside"), [("20/80", False), ("20/100", True), ("20/400", True), ("20/500", False), ("CF", False), ("2 cpd", False), (None, False)]
)
def test_a_severity_is_the_trials_and_asks_for_a_line_of_the_chart(typed: str | None, inside: bool) -> None:
    assert SEVERE.takes(replace(CHILD, amblyopic_acuity=read_acuity(typed) if typed else None)) is inside
    moderate = replace(SEVERE, band_set=BandSet.ATS1, severity=Severity.MODERATE)
    assert moderate.takes(CHILD), "20/100 is moderate in ATS1"


def test_it_gives_its_minutes_or_its_share_of_the_waking_hours() -> None:
    assert LATE.minutes_a_day(INFANT)[0] == 180
    share = replace(LATE, minutes=None, waking_percent=25)
    assert share.minutes_a_day(replace(INFANT, waking_hours=12.0))[0] == 180
    with pytest.raises(ClinicalInputError) as refused:
        share.minutes_a_day(replace(INFANT, age_months=150))
    assert refused.value.field == "age_months", "no equation for that age: ask the family"


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("name", {"name": " "}),
        ("author", {"author": ""}),
        ("reference", {"reference": ""}),
        ("below_month", {"from_month": 60}),
        ("below_month", {"from_month": -1}),
        ("below_month", {"below_month": 1201}),
        ("severity", {"severity": Severity.SEVERE}),
        ("severity", {"band_set": BandSet.ATS2A}),
        ("minutes", {"minutes": None}),
        ("minutes", {"waking_percent": 50}),
        ("minutes", {"minutes": 0}),
        ("minutes", {"minutes": 961}),
        ("waking_percent", {"minutes": None, "waking_percent": 0}),
        ("waking_percent", {"minutes": None, "waking_percent": 101}),
        ("review_weeks", {"review_weeks": 0}),
        ("review_weeks", {"review_weeks": 27}),
    ],
)
def test_what_cannot_be_is_named(field: str, changed: dict[str, object]) -> None:
    with pytest.raises(ClinicalInputError) as refused:
        replace(LATE, **changed)  # type: ignore[arg-type]
    assert refused.value.field == field
