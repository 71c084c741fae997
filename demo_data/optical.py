"""Three children of glasses first: moderate and severe anisometropia, and one still in refractive adaptation."""

from dataclasses import replace
from datetime import timedelta

from demo_data.noted import FAITHFUL, STEADY, UNEVEN
from demo_data.story import LEFT, RIGHT, Scene, Story, measured
from schedules.day import ClockDay, NamedWindow, Stay, Weekday, Window
from service.facts_of_visits import EyeFindings, VisitFindings
from shared.dates import month_on
from shared.optics.refraction import SpheroCylinder
from shared.vocabulary import AcuityMethod, Aetiology, AmblyopicEye, CorrectionWorn, Deviation, FixationPreference, LengthMethod, Phase, RedReflex, YesNo

HOTV = AcuityMethod.CROWDED_HOTV
HEALTHY = EyeFindings(
    RIGHT,
    red_reflex=RedReflex.CLEAR,
    axis_clear=YesNo.YES,
    fixation_central=YesNo.YES,
    fixation_steady=YesNo.YES,
    fixation_maintained=YesNo.YES,
)
GROSS = replace(HEALTHY, working_distance_cm=67.0, refraction_vertex_distance_mm=12.0)
BOTH_HEALTHY = (HEALTHY, replace(HEALTHY, eye=LEFT))
STRAIGHT = VisitFindings(cover_near=Deviation.NONE, cover_distance=Deviation.NONE, nystagmus_manifest=YesNo.NO)


def _free_day(weekday: Weekday) -> ClockDay:
    dinner = NamedWindow(18 * 60, 18 * 60 + 45, "dinner and bath")
    return ClockDay(weekday, 7 * 60, 20 * 60, 3, 30, 30, unwelcome=(dinner,), preferred=(Window(10 * 60, 12 * 60),))


def _school_day(weekday: Weekday) -> ClockDay:
    return replace(_free_day(weekday), nursery=(Stay(8 * 60 + 30, 15 * 60, patches=False),), preferred=(Window(15 * 60 + 30, 18 * 60),))


def moderate(scene: Scene) -> Story:
    """Glasses first, then two hours a day; seen today, a few days before the plan ends."""
    today = scene.today
    start, patching = today - timedelta(weeks=30), today - timedelta(weeks=10)
    s = scene.register(start, "HM-1007", "Milo", month_on(today, -62), Aetiology.ANISOMETROPIC, AmblyopicEye.LEFT)
    at_start = s.examine(
        start,
        measured(HOTV, "6/7.5", "6/38", CorrectionWorn.TRIAL_LENSES),
        eyes=(
            replace(GROSS, refraction=SpheroCylinder(2.25)),
            replace(GROSS, eye=LEFT, refraction=SpheroCylinder(6.25, -1.0, 180)),
        ),
        together=STRAIGHT,
    )
    s.glasses(start, at_start)
    midway, middle = start + timedelta(weeks=10), patching + timedelta(weeks=5)
    s.sign(start, midway, Phase.REFRACTIVE_ADAPTATION)
    s.link(start, "Father, phone", "milo.father@family.example")
    s.examine(midway, measured(HOTV, "6/7.5", "6/30"))
    s.sign(midway, patching, Phase.REFRACTIVE_ADAPTATION)
    s.examine(patching, measured(HOTV, "6/7.5", "6/24"), eyes=BOTH_HEALTHY, together=replace(STRAIGHT, stereoacuity_arc_seconds=400))
    s.sign(patching, middle)
    s.says(patching, STEADY)
    s.tells_of_days(patching, [_school_day(weekday) if weekday < Weekday.SATURDAY else _free_day(weekday) for weekday in Weekday])
    s.examine(middle, measured(HOTV, "6/6", "6/15"), eyes=BOTH_HEALTHY, together=replace(STRAIGHT, stereoacuity_arc_seconds=200))
    s.sign(middle, today + timedelta(days=5))
    s.examine(today, measured(HOTV, "6/6", "6/12"), eyes=BOTH_HEALTHY, together=replace(STRAIGHT, stereoacuity_arc_seconds=100))
    return s


def severe(scene: Scene) -> Story:
    """More than five dioptres between the eyes; six hours a day, seen once since, the review two days away."""
    today = scene.today
    start, patching = today - timedelta(weeks=27), today - timedelta(weeks=10)
    s = scene.register(start, "HM-1019", "Tessa", month_on(today, -73), Aetiology.ANISOMETROPIC, AmblyopicEye.RIGHT)
    at_start = s.examine(
        start,
        measured(HOTV, "6/60", "6/6", CorrectionWorn.TRIAL_LENSES),
        eyes=(
            replace(
                GROSS,
                refraction=SpheroCylinder(8.5, -1.5, 10),
                k1_dioptres=42.5,
                k2_dioptres=43.75,
                axial_length_mm=20.4,
                axial_length_method=LengthMethod.OPTICAL,
            ),
            replace(
                GROSS,
                eye=LEFT,
                refraction=SpheroCylinder(2.5),
                k1_dioptres=42.75,
                k2_dioptres=43.25,
                axial_length_mm=22.5,
                axial_length_method=LengthMethod.OPTICAL,
            ),
        ),
        together=STRAIGHT,
    )
    s.glasses(start, at_start, vertex_distance_mm=11.0)
    s.sign(start, patching, Phase.REFRACTIVE_ADAPTATION)
    s.link(start, "Grandmother, phone", "tessa.grandmother@family.example", refused=True)
    s.examine(
        patching,
        measured(HOTV, "6/48", "6/6"),
        eyes=(
            replace(GROSS, refraction=SpheroCylinder(8.25, -1.5, 10)),
            replace(GROSS, eye=LEFT, refraction=SpheroCylinder(2.5)),
        ),
        together=replace(STRAIGHT, stereoacuity_arc_seconds=800),
    )
    middle = patching + timedelta(weeks=5)
    s.sign(patching, middle)
    s.says(patching, UNEVEN)
    s.examine(middle, measured(HOTV, "6/38", "6/6"), eyes=BOTH_HEALTHY, together=replace(STRAIGHT, stereoacuity_arc_seconds=400))
    s.sign(middle, today + timedelta(days=2))
    return s


def adapting(scene: Scene) -> Story:
    """New glasses six weeks ago, which straighten the eyes in part; no patch yet."""
    today = scene.today
    start = today - timedelta(weeks=6)
    s = scene.register(start, "HM-1033", "Ari", month_on(today, -48), Aetiology.STRABISMIC, AmblyopicEye.RIGHT)
    at_start = s.examine(
        start,
        measured(AcuityMethod.CROWDED_PICTURES, "0.525 logMAR", "0.175 logMAR", CorrectionWorn.TRIAL_LENSES),
        eyes=(
            replace(GROSS, refraction=SpheroCylinder(4.5), fixation_maintained=YesNo.NO),
            replace(GROSS, eye=LEFT, refraction=SpheroCylinder(4.0)),
        ),
        together=VisitFindings(
            fixation_preference=FixationPreference.PREFERS_LEFT_HOLDS_RIGHT,
            cover_near=Deviation.ESO,
            cover_near_prism_dioptres=18,
            cover_distance=Deviation.ESO,
            cover_distance_prism_dioptres=10,
            nystagmus_manifest=YesNo.NO,
        ),
    )
    s.glasses(start, at_start)
    s.sign(start, today + timedelta(days=1), Phase.REFRACTIVE_ADAPTATION)
    s.link(start, "Mother, phone")
    s.says(start, FAITHFUL)  # of the glasses
    return s
