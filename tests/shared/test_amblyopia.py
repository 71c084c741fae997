"""Named sets of criteria, bands and definitions of resolution, side by side. Compared in chart steps: 20/16 against 20/25 is two lines."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ClinicalInputError
from shared.optics.refraction import SpheroCylinder
from shared.sight.acuity import read_acuity
from shared.sight.amblyopia import Eyes, Judged, Verdict, criteria, resolution
from shared.sight.severity import Severity, severity
from shared.vocabulary import Status
from tests.shared.messages import check

LINES = ["20/16", "20/20", "20/25", "20/32", "20/40", "20/50", "20/63", "20/80", "20/100", "20/125", "20/160", "20/200", "20/400", "20/500"]
chart_lines = st.sampled_from(LINES)


def met(found: tuple[Judged, ...]) -> set[str]:
    for one in found:
        check(one.finding)
    return {one.finding.rule for one in found if one.verdict is Verdict.MET}


def eyes(amblyopic: str, fellow: str, **more: object) -> Eyes:
    return Eyes(read_acuity(amblyopic), read_acuity(fellow), **more)  # type: ignore[arg-type]


WALLACE, EUPATCH, ENTRY, ONE, BOTH, ATS7 = (
    f"criteria-{n}" for n in ("wallace-2013", "eupatch", "usual-trial-entry", "ppp-unilateral", "ppp-bilateral", "ats7-bilateral")
)


@pytest.mark.parametrize(
    ("amblyopic", "fellow", "months", "sets"),
    [
        ("20/25", "20/20", 60, {WALLACE}),  # interocular difference of 0.1 (Wallace 2013)
        ("20/25", "20/16", 60, {WALLACE, ONE}),  # two lines in chart steps, 0.194 in logMAR (practice pattern: 2 lines)
        ("20/40", "20/20", 60, {WALLACE, EUPATCH, ENTRY, ONE}),  # three lines, 0.30
        ("20/100", "20/50", 60, {WALLACE, EUPATCH, ONE, BOTH}),  # the trials asked for 20/40 in the fellow eye
        ("20/50", "20/50", 60, {BOTH}),  # both worse than 20/30 from five years on
        ("20/50", "20/40", 54, {WALLACE}),  # at four: worse than 20/40, which the better eye is not
        ("20/50", "20/50", 54, {BOTH}),
        ("20/50", "20/50", 47, set()),  # to three years: worse than 20/50
        ("20/63", "20/63", 47, {BOTH}),
        ("20/40", "20/40", 60, {BOTH}),
        ("20/32", "20/32", 60, set()),  # 20/32 is the chart's line for 20/30
        ("20/20", "20/40", 60, set()),
    ],
)
def test_the_sets_disagree_where_their_papers_do(amblyopic: str, fellow: str, months: int, sets: set[str]) -> None:
    assert met(criteria(eyes(amblyopic, fellow, age_months=months))) == sets


def test_gratings_are_judged_by_octaves_alone() -> None:
    """Two octaves, four cards (practice pattern, second-hand)."""
    assert met(criteria(eyes("3.0 cpd", "12.0 cpd"))) == {ONE}
    assert met(criteria(eyes("3.1 cpd", "12.0 cpd"))) == set()
    verdicts = [one.verdict for one in criteria(eyes("3.0 cpd", "12.0 cpd", age_months=60))]
    assert verdicts.count(Verdict.NOT_JUDGED) == 5


def test_without_an_age_no_set_that_goes_by_age_is_judged() -> None:
    [bilateral] = [one for one in criteria(eyes("20/100", "20/100")) if one.finding.rule == BOTH]
    assert bilateral.verdict is Verdict.NOT_JUDGED


@pytest.mark.parametrize(
    ("binocular", "right", "left", "holds"),
    [
        ("20/40", (4.0, 0.0), (4.0, 0.0), True),
        ("20/400", (0.0, 2.0), (5.0, -2.0), True),
        ("20/32", (4.0, 0.0), (4.0, 0.0), False),
        ("20/500", (4.0, 0.0), (4.0, 0.0), False),
        ("20/40", (4.0, 0.0), (3.75, 0.0), False),
        ("20/40", (3.75, 1.75), (4.0, 0.0), True),  # 4.625 by the spherical equivalent
        ("20/40", (0.0, -2.0), (-1.0, 2.0), True),
        ("20/40", (-4.0, 0.0), (-4.0, 0.0), False),
    ],
)
def test_bilateral_refractive_amblyopia_by_the_trial_of_spectacles(binocular: str, right: tuple[float, float], left: tuple[float, float], holds: bool) -> None:
    """ATS7 as read: 20/40 to 20/400 together, and in each eye 4.00 D of hypermetropia and/or 2.00 D of astigmatism."""
    first, second = (SpheroCylinder(sphere, cylinder, 90.0) for sphere, cylinder in (right, left))
    found = criteria(eyes("20/50", "20/50", binocular=read_acuity(binocular), amblyopic_refraction=first, fellow_refraction=second))
    assert (ATS7 in met(found)) is holds


@given(chart_lines, chart_lines, st.integers(0, 200))
def test_a_wider_criterion_never_misses_what_a_narrower_one_finds(amblyopic: str, fellow: str, months: int) -> None:
    found = met(criteria(eyes(amblyopic, fellow, age_months=months)))
    assert ENTRY not in found or EUPATCH in found
    assert EUPATCH not in found or ONE in found
    assert ONE not in found or WALLACE in found


def band_of(typed: str, rule: str) -> Severity:
    found = {one.finding.rule: one for one in severity(read_acuity(typed))}
    for one in found.values():
        check(one.finding)
    return found[rule].severity


@pytest.mark.parametrize(
    ("rule", "moderate", "severe"),
    [
        ("band-ats1", ("20/40", "20/100"), None),
        ("band-ats2a", None, ("20/100", "20/400")),
        ("band-ats2b", ("20/40", "20/80"), None),
        ("band-ats4", ("20/40", "20/80"), None),
        ("band-weekend-atropine", ("20/40", "20/100"), ("20/125", "20/400")),
        ("band-two-hour-run-in", ("20/50", "20/80"), ("20/100", "20/400")),
        ("band-wang-2021", None, ("20/100", "20/500")),
    ],
)
def test_every_line_falls_into_the_bands_that_were_published(rule: str, moderate: tuple[str, str] | None, severe: tuple[str, str] | None) -> None:
    """The edges as the papers print them, in lines of the chart."""
    for typed in LINES:
        expected = Severity.OUTSIDE
        for name, edges in ((Severity.MODERATE, moderate), (Severity.SEVERE, severe)):
            if edges and LINES.index(edges[0]) <= LINES.index(typed) <= LINES.index(edges[1]):
                expected = name
        assert band_of(typed, rule) is expected, typed


def test_bands_are_of_letters() -> None:
    for typed in ("3 cpd", "CF"):
        with pytest.raises(ClinicalInputError) as refused:
            severity(read_acuity(typed))
        assert refused.value.field == "amblyopic_acuity"
        check(refused.value.message)


COTTER, ATS4, RUN_IN, EU, RESPONDER = (f"resolution-{n}" for n in ("cotter-2006", "ats4", "two-hour-run-in", "eupatch", "ats3-responder"))


@pytest.mark.parametrize(
    ("amblyopic", "fellow", "start", "sets"),
    [
        ("20/25", "20/20", "20/80", {COTTER, ATS4, RUN_IN, EU, RESPONDER}),
        ("20/32", "20/20", "20/40", {EU}),  # two lines apart: EuPatch alone
        ("20/25", "20/16", "20/32", {ATS4, EU}),  # 20/25 is enough for ATS4, two lines are too many for the run-in
        ("20/40", "20/40", "20/50", {COTTER, ATS4, EU}),  # no worse than the fellow eye, and worse than 20/25
        ("20/50", "20/40", "20/80", {COTTER, EU, RESPONDER}),
        ("20/100", "20/20", "20/160", {RESPONDER}),
    ],
)
def test_definitions_of_success_disagree_where_their_papers_do(amblyopic: str, fellow: str, start: str, sets: set[str]) -> None:
    """Cotter 2006, ATS4, two-hour run-in, EuPatch and ATS3 as read."""
    assert met(resolution(read_acuity(amblyopic), read_acuity(fellow), read_acuity(start))) == sets


def test_a_responder_is_not_judged_without_its_start() -> None:
    [responder] = [one for one in resolution(read_acuity("20/25"), read_acuity("20/20")) if one.finding.rule == RESPONDER]
    assert responder.verdict is Verdict.NOT_JUDGED


@given(chart_lines, chart_lines)
def test_the_stricter_definition_is_inside_the_wider(amblyopic: str, fellow: str) -> None:
    found = met(resolution(read_acuity(amblyopic), read_acuity(fellow)))
    assert RUN_IN not in found or {COTTER, ATS4} <= found
    assert COTTER not in found or EU in found


def test_what_has_no_difference_is_refused_by_name() -> None:
    for amblyopic, fellow in (("3 cpd", "20/40"), ("CF", "20/40"), ("CF", "HM"), ("LP", "none")):
        for ask in (lambda a=amblyopic, f=fellow: criteria(eyes(a, f)), lambda a=amblyopic, f=fellow: resolution(read_acuity(a), read_acuity(f))):
            with pytest.raises(ClinicalInputError) as refused:
                ask()
            assert refused.value.field == "fellow_acuity"
            check(refused.value.message)
    with pytest.raises(ClinicalInputError) as refused:
        resolution(read_acuity("3 cpd"), read_acuity("6 cpd"))
    assert refused.value.field == "amblyopic_acuity"


def test_each_set_says_how_well_it_is_known() -> None:
    statuses = {one.finding.rule: one.finding.status for one in criteria(eyes("20/80", "20/20", age_months=60))}
    assert statuses == {
        WALLACE: Status.READ,
        EUPATCH: Status.READ,
        ENTRY: Status.MEMORY,
        ONE: Status.READ_SECONDHAND,
        BOTH: Status.READ_SECONDHAND,
        ATS7: Status.READ,
    }
