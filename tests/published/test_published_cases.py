"""Worked cases of others, one file a source. An expected value never stands in a table that the code reads; where one comes near, `why` says what is checked.

A file gives `source`, `status`, `function`, `tolerance` and `why` once for all of its cases; a case may give its own.
"""

import tomllib
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta
from itertools import takewhile
from pathlib import Path
from typing import Any

import pytest

from schedules.day import ClockDay, Weekday, Window
from schedules.household import Household
from schedules.planner import plan_day
from schedules.routine import Routine, Week
from shared.course.care_schedule import LensSurgery, RefractionSchedule, refraction_dates
from shared.course.prompts import Reading, ReviewFacts
from shared.course.response_index import response_index
from shared.course.review import findings, settle
from shared.dates import completed_months, month_on
from shared.findings import msg
from shared.growing.axial_length import cataract_course, doubling_course, infant_course
from shared.growing.growth import GrowingEye, Refracted, by_years, forecast
from shared.growing.log_growth import shifted, spread
from shared.implants.implant import Choice, EyeNow, predicted
from shared.implants.implant_aims import aims
from shared.implants.srkt import MeasuredEye, implant_power, other_power, refraction_with
from shared.optics.aphakia import contact_lens
from shared.optics.biometry import Biometry, by_implant_formula, by_regression, by_vergence, moore_power, rigid_power
from shared.optics.lens_range import BUILT_IN_RANGE
from shared.optics.made_lens import check_spectacle_lens
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.optics.prism import by_decentration
from shared.optics.refraction import SpheroCylinder, at_vertex_distance, keratometric_power, keratometric_radius, over_refraction_at_cornea, tear_lens
from shared.sight.acuity import interocular_difference, read_acuity
from shared.sight.acuity_norms import AgeNorm, against_norm
from shared.sight.amblyopia import Eyes, Verdict, criteria, resolution
from shared.sight.low_vision import LowVisionTable
from shared.sight.outcome import proportional_improvement, residual_amblyopia
from shared.sight.severity import severity
from shared.sources import number
from shared.treatment.alternative_rows import ALTERNATIVES
from shared.treatment.dose import DatedDose, NoPublishedDose, OcclusionFacts
from shared.treatment.occlusion import dated_doses, propose
from shared.treatment.waking import waking
from shared.vocabulary import AcuityMethod, Aetiology, Laterality, OpticalStatus, Phase, Status

Values = dict[str, Any]
TODAY = date(2026, 3, 2)


def effective_power(from_mm: float, to_mm: float, **lens: float) -> Values:
    return _lens(at_vertex_distance(SpheroCylinder(**lens), from_mm, to_mm).exact)


def crossed(first: list[float], second: list[float]) -> Values:
    return _lens(SpheroCylinder(*first).plus(SpheroCylinder(*second)))


def _lens(rx: SpheroCylinder) -> Values:
    return {"sphere": rx.sphere, "cylinder": rx.cylinder, "axis": rx.axis, "other_meridian": rx.sphere + rx.cylinder}


def contact_lens_from_trial(trial: float, over_refraction: list[float], vertex_mm: float, near: float) -> Values:
    at_cornea = over_refraction_at_cornea(SpheroCylinder(trial), SpheroCylinder(*over_refraction), vertex_mm).exact
    return vars(contact_lens(at_cornea, near, BUILT_IN_RANGE))


def tears(base_curve_mm: float, cornea_mm: float | None = None, cornea_dioptres: float | None = None) -> Values:
    return vars(tear_lens(base_curve_mm, keratometric_power(cornea_mm) if cornea_mm else cornea_dioptres or 0.0))


def keratometry(radius_mm: float | None = None, power: float | None = None) -> Values:
    return {"power": keratometric_power(radius_mm)} if radius_mm else {"radius_mm": keratometric_radius(power or 0.0)}


def prism(sphere: float, in_mm: float, up_mm: float) -> Values:
    found = by_decentration(SpheroCylinder(sphere), Laterality.RIGHT, in_mm, up_mm)
    return {"horizontal": found.horizontal, "vertical": found.vertical}


def made_lens(ordered: float, measured: float) -> Values:
    return {checked.what.text: checked.within for checked in check_spectacle_lens(SpheroCylinder(ordered), SpheroCylinder(measured))}


def age_norm(typed: str, norm: str, age_months: int) -> Values:
    found = against_norm(read_acuity(typed), AgeNorm(norm), age_months)
    return {"rule": found.rule, "beyond": found.value.value if found.value else None}


def amblyopia(amblyopic: str, fellow: str) -> Values:
    """True for each set of criteria that is met, and for each definition of resolution where the test has them."""
    one, other = read_acuity(amblyopic), read_acuity(fellow)
    sets = criteria(Eyes(one, other)) + (() if one.cycles_per_degree else resolution(one, other))
    return {judged.finding.rule: judged.verdict is Verdict.MET for judged in sets}


def bands(typed: str) -> Values:
    return {band.finding.rule: band.severity.value for band in severity(read_acuity(typed))}


def acuity(typed: str, low_vision: str = "lange-2009") -> Values:
    a = read_acuity(typed, low_vision=LowVisionTable(low_vision))
    assert a.logmar is not None
    return {
        "logmar": a.logmar,
        "nominal_logmar": a.nominal_logmar,
        "decimal": a.decimal,
        "minimum_angle": 10**a.logmar,
        "snellen_feet": a.snellen_feet,
    }


def difference(amblyopic: str, fellow: str) -> Values:
    return vars(interocular_difference(read_acuity(amblyopic), read_acuity(fellow)))


def dose(amblyopic: str | None = None, weeks_of_glasses: float = 20, **facts: Any) -> Values:
    """Operated on one eye at two months, or with `amblyopic` an anisometropic child of five whose other eye has 20/20, after glasses."""
    if amblyopic is None:
        child = OcclusionFacts(**{"age_at_surgery_months": 2} | facts, aetiology=Aetiology.DEPRIVATION, **_statuses(OpticalStatus.APHAKIC))
    else:
        eyes = {"amblyopic_acuity": read_acuity(amblyopic), "fellow_acuity": read_acuity("20/20")}
        child = OcclusionFacts(60, Aetiology.ANISOMETROPIC, **_statuses(OpticalStatus.PHAKIC), **eyes, refractive_adaptation_weeks=weeks_of_glasses)
    found = propose(child)
    if isinstance(found, NoPublishedDose):
        return {"dose": "none"}
    return {"rule": found.rule, "minutes_per_day": found.minutes_per_day, "minutes_a_week": 7 * found.minutes_per_day, "phase": found.phase}


def waking_hours(age_months: int) -> Values:
    found = waking(age_months)
    assert found.range is not None
    return {"hours": found.hours, "least": found.range.least, "most": found.range.most}


def course(rule: str, weeks: int) -> Values:
    """The hours of a row over so many weeks, day by day of its pattern."""
    row = next(r for r in ALTERNATIVES if r.rule == rule)
    hours = row.hours(60, None)
    assert hours is not None
    daily = DatedDose(TODAY, int(hours * 60), row.pattern)
    return {"hours": sum(daily.minutes_on(TODAY + timedelta(days=n)) for n in range(7 * weeks)) / 60}


def _statuses(amblyopic: OpticalStatus) -> dict[str, OpticalStatus]:
    return {"amblyopic_eye_status": amblyopic, "fellow_eye_status": OpticalStatus.PHAKIC}


def outcome(amblyopic_start: float, amblyopic_end: float, fellow_end: float) -> Values:
    return {
        "proportional_improvement": proportional_improvement(amblyopic_start, amblyopic_end, fellow_end),
        "residual": residual_amblyopia(amblyopic_end, fellow_end),
    }


def review(minutes_per_day: int = 120, weeks_on_dose: float = 6, **typed: list[str]) -> Values:
    """Readings six weeks apart, the last of them today, all with HOTV; an anisometropic child of five, patch worn. True for each prompt that fires."""
    eyes = {eye: _readings(typed.get(eye, [])) for eye in ("amblyopic", "fellow")}
    facts = ReviewFacts(
        today=TODAY,
        aetiology=Aetiology.ANISOMETROPIC,
        method=AcuityMethod.CROWDED_HOTV,
        **eyes,
        phase=Phase.OCCLUSION,
        minutes_per_day=minutes_per_day,
        weeks_on_dose=weeks_on_dose,
        review_on=TODAY + timedelta(weeks=8),
        ended_unreviewed=False,
        known_days_share=0.9,
        received_share_of_known=0.9,
        adaptation_weeks=20,
        refracted_on=TODAY,
        born_on=TODAY.replace(year=TODAY.year - 5),
    )
    fired = {p.rule: p.message.text for p in findings(facts)}
    settled = settle(facts)
    return {
        **dict.fromkeys(fired, True),
        "within_a_retest": "within" in fired.get("amblyopic-change", ""),
        "settled": settled.rule,
        "settled_hours_a_week": 7 * settled.value.value if settled.value else None,
        "settled_by_ats2c": "ats2c" in settled.sources,
    }


def implant(axial_length_mm: float, keratometry_dioptres: float, a_constant: float, refraction: float = 0.0, implant: float | None = None) -> Values:
    eye = MeasuredEye(axial_length_mm, keratometry_dioptres, a_constant)
    power = implant_power(eye, refraction)
    return {"power": power, "back": refraction_with(eye, power), "without_implant": refraction_with(eye, implant or 0.0), "srk_two": other_power(eye)}


def growth(refraction: float, from_years: float, to_years: float) -> Values:
    slope, sd = number("mcclatchey-parks-1997", "rate").value, number("mcclatchey-parks-1997", "spread").value
    later = shifted(refraction, from_years, to_years, slope)
    at_cornea = at_vertex_distance(SpheroCylinder(later), 12, 0).exact.sphere
    return {"refraction": later, "sd": spread(from_years, to_years, sd), "at_cornea": at_cornea}


def implant_aims(years: int, until: float = 7.0) -> Values:
    """Operated on at four months, the lens in the middle of the year; the fellow eye at +1.00 D."""
    by_source = {a.source_key: a for a in aims(years * 12 + 6)}
    rule = by_source["enyedi-1998"]
    at = years + 0.5 if until > years + 0.5 else until
    last = predicted(EyeNow(at, 4, 15.0, 1.0), Choice(msg("lens"), at, rule), until).refraction
    return {key: a.dioptres for key, a in by_source.items()} | {"hyperopic_at_seven": last > 0, "at_last_look": last}


def _readings(typed: list[str]) -> tuple[Reading, ...]:
    return tuple(Reading(TODAY - timedelta(weeks=6 * n), read_acuity(one), True) for n, one in reversed(list(enumerate(reversed(typed)))))


def aphakic_power(**eye: Any) -> Values:
    methods = {"regression": by_regression, "implant_formula": by_implant_formula, "vergence": by_vergence}
    found = {name: method(Biometry(**eye), 12) for name, method in methods.items()}
    return {name: e.at_cornea.power for name, e in found.items()} | {f"{name}_spectacles": e.at_spectacles.power for name, e in found.items()}


def power_by_age(age_months: float) -> Values:
    return {"moore": moore_power(age_months), "rigid": rigid_power(age_months) if age_months > 1 else None}


def aphakic_growth(power: float, from_years: float, to_years: float) -> Values:
    start = PlaneRefraction(power, RefractionPlane.SPECTACLES, 12)
    found = forecast(GrowingEye(operated_later=False, bilateral=False), Refracted(from_years, start), to_years)
    cornea = found.band(RefractionPlane.CORNEA).likely
    return {"likely": found.likely.power, "growth_sd": found.growth_sd, "cornea": cornea, "by_years": by_years(start, from_years, to_years)}


def axial_length(age_years: float, *, girl: bool | None = None) -> Values:
    doubling, cornea = doubling_course(age_years)
    infant, infant_cornea = infant_course(age_years, girl=girl) if girl is not None else (None, None)
    return {
        "doubling": doubling,
        "doubling_cornea": cornea,
        "cataract": cataract_course(age_years),
        "infant": infant,
        "infant_cornea": infant_cornea,
    }


def length_growth(from_years: float, to_years: float) -> Values:
    return {"doubling": doubling_course(to_years)[0] - doubling_course(from_years)[0]}


def hours_per_line(hours: float, gain: float) -> Values:
    value = response_index(hours, gain).value
    return {} if value is None else {"hours": value.value}


def refractions(schedule: str, operated_at_months: int, before_on: date, born_on: date = date(2012, 3, 5)) -> Values:
    """A child with one operated eye and an implant: the dates of its refractions, and its age at each in completed months."""
    surgery = LensSurgery(born_on, month_on(born_on, operated_at_months), OpticalStatus.PSEUDOPHAKIC, fellow_operated=False)
    dates = list(takewhile(before_on.__gt__, refraction_dates(RefractionSchedule(schedule), surgery)))
    return {"dates": " ".join(map(str, dates)), "ages": " ".join(str(completed_months(born_on, on)) for on in dates)}


def planned_week(age_months: int, by_clock: bool = False) -> Values:
    """The week after a month is completed, of a child operated on one eye at one month, awake from 06:30 to 19:30 with naps at 09:30 and 13:30."""
    naps = (Window(570, 630), Window(810, 870))
    week = Week(TODAY, tuple(ClockDay(day, 390, 1170, 4, 20, naps=naps) for day in Weekday), by_clock)
    house = Household(month_on(TODAY, -age_months), "Europe/Lisbon", Routine((week,)))
    awake = week.days[0].waking_minutes / 60
    child = OcclusionFacts(age_months, Aetiology.DEPRIVATION, **_statuses(OpticalStatus.APHAKIC), age_at_surgery_months=1, waking_hours=awake)
    [step] = dated_doses(child, house.born_on, TODAY, TODAY + timedelta(weeks=1))
    return {"minutes": sum(plan_day(step.minutes, house.resolve(TODAY + timedelta(days=n))).minutes for n in range(7))}


FUNCTIONS: dict[str, Callable[..., Values]] = {
    "effective_power": effective_power,
    "crossed": crossed,
    "contact_lens_from_trial": contact_lens_from_trial,
    "tears": tears,
    "keratometry": keratometry,
    "prism": prism,
    "made_lens": made_lens,
    "age_norm": age_norm,
    "amblyopia": amblyopia,
    "bands": bands,
    "acuity": acuity,
    "interocular_difference": difference,
    "dose": dose,
    "waking": waking_hours,
    "course": course,
    "outcome": outcome,
    "hours_per_line": hours_per_line,
    "review": review,
    "aphakic_power": aphakic_power,
    "power_by_age": power_by_age,
    "aphakic_growth": aphakic_growth,
    "axial_length": axial_length,
    "length_growth": length_growth,
    "implant": implant,
    "growth": growth,
    "implant_aims": implant_aims,
    "refractions": refractions,
    "planned_week": planned_week,
}
KEYS = {"function", "input", "expected", "tolerance", "why", "source", "status"}


def cases() -> list[Any]:
    found = []
    for path in sorted(Path(__file__).parent.glob("*.toml")):
        file = tomllib.loads(path.read_text("utf-8"))
        shared_by_all = {key: value for key, value in file.items() if key != "case"}
        for case in file["case"]:
            values = " ".join(f"{value}" for value in case["input"].values())
            found.append(pytest.param(shared_by_all | case, id=f"{path.stem} {values}"))
    return found


CASES = cases()


@pytest.mark.parametrize("case", CASES)
def test_case(case: Values) -> None:
    got = FUNCTIONS[case["function"]](**case["input"])
    for name, expected in case["expected"].items():
        value = got.get(name, False if isinstance(expected, bool) else None)  # a prompt that did not fire
        if isinstance(expected, bool | str):
            assert value == expected, case["source"]
        else:
            assert value == pytest.approx(expected, abs=case["tolerance"], rel=0), case["source"]


def test_every_case_says_where_it_is_from_and_most_were_read() -> None:
    each = [case.values[0] for case in CASES]
    assert [sorted(set(case) ^ KEYS) for case in each if set(case) != KEYS] == []
    statuses = Counter(Status(case["status"]) for case in each)
    sources = Counter(case["source"] for case in each if case["status"] == Status.READ)
    print(f"{len(each)} worked cases, {statuses[Status.READ]} of them read, in {len(sources)} sources; {dict(statuses)}")  # noqa: T201
    assert set(statuses) <= {Status.READ, Status.READ_SECONDHAND, Status.DERIVED}  # what is from memory checks nothing
    assert statuses[Status.READ] > len(each) / 2
