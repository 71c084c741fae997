"""Three children at a turn: from cards to pictures, a patch that stays in the drawer, and a covered eye that loses sight."""

from dataclasses import replace
from datetime import timedelta

from demo_data.noted import FAITHFUL, HARD
from demo_data.optical import BOTH_HEALTHY, GROSS, HEALTHY, HOTV, STRAIGHT
from demo_data.story import LEFT, Scene, Story, measured
from schedules.feed_style import FeedStyle, Language
from service.facts_of_tellings import About
from service.facts_of_visits import VisitFindings
from shared.dates import month_on
from shared.optics.refraction import SpheroCylinder
from shared.vocabulary import AcuityMethod, Aetiology, AmblyopicEye, CorrectionWorn, Deviation, FixationPreference, Phase, Reliability, YesNo

CARDS, PICTURES = AcuityMethod.GRATING_CARDS, AcuityMethod.CROWDED_PICTURES


def eso(near: float, distance: float) -> VisitFindings:
    """Both in prism dioptres, with the glasses on."""
    return VisitFindings(
        cover_near=Deviation.ESO,
        cover_near_prism_dioptres=near,
        cover_distance=Deviation.ESO,
        cover_distance_prism_dioptres=distance,
        nystagmus_manifest=YesNo.NO,
        nystagmus_latent=YesNo.NO,
    )


def cards_to_pictures(scene: Scene) -> Story:
    """Grating cards before three years of age; then crowded pictures, both on the day on which the patch begins."""
    today = scene.today
    start, patching, last_on = today - timedelta(weeks=30), today - timedelta(weeks=12), today - timedelta(weeks=1)
    s = scene.register(start, "HM-1052", "Kezia", month_on(today, -40), Aetiology.STRABISMIC, AmblyopicEye.LEFT)
    amblyopic, fellow = replace(HEALTHY, eye=LEFT, fixation_maintained=YesNo.NO), HEALTHY
    at_start = s.examine(
        start,
        measured(CARDS, "9.8 cpd", "4.8 cpd", CorrectionWorn.TRIAL_LENSES, distance_cm=55.0, reliability=Reliability.FAIR),
        eyes=(
            replace(GROSS, refraction=SpheroCylinder(4.75)),
            replace(GROSS, eye=LEFT, refraction=SpheroCylinder(5.25, -0.5, 170), fixation_maintained=YesNo.NO),
        ),
        together=replace(eso(30, 25), fixation_preference=FixationPreference.RIGHT_ONLY),
    )
    s.glasses(start, at_start)
    s.sign(start, patching, Phase.REFRACTIVE_ADAPTATION)
    s.link(start, "Both parents, tablet", style=FeedStyle("tiempo", language=Language.SPANISH))
    s.examine(
        patching,
        measured(CARDS, "13 cpd", "6.5 cpd", distance_cm=55.0),
        measured(PICTURES, "0.200 logMAR", "0.600 logMAR", distance_cm=300.0),
        eyes=(
            fellow,
            amblyopic,
        ),
        together=replace(eso(20, 16), fixation_preference=FixationPreference.PREFERS_RIGHT_HOLDS_LEFT),
    )
    middle = patching + timedelta(weeks=5)
    s.sign(patching, middle)
    s.says(patching, FAITHFUL)
    s.examine(
        middle,
        measured(PICTURES, "0.175 logMAR", "0.425 logMAR", distance_cm=300.0),
        eyes=(
            fellow,
            amblyopic,
        ),
        together=replace(eso(14, 12), fixation_preference=FixationPreference.PREFERS_RIGHT_HOLDS_LEFT, stereoacuity_arc_seconds=3000),
    )
    s.sign(middle, last_on)
    s.examine(
        last_on,
        measured(PICTURES, "0.125 logMAR", "0.325 logMAR", distance_cm=300.0),
        eyes=(
            fellow,
            replace(amblyopic, fixation_maintained=YesNo.YES),
        ),
        together=replace(eso(12, 8), fixation_preference=FixationPreference.ALTERNATES, stereoacuity_arc_seconds=800),
    )
    s.sign(last_on, today + timedelta(weeks=5))
    return s


def not_worn(scene: Scene) -> Story:
    """Two hours a day signed seven weeks ago; the household notes little of it and why, and sight stands where it was."""
    today = scene.today
    start, patching = today - timedelta(weeks=25), today - timedelta(weeks=7)
    s = scene.register(start, "HM-1064", "Bram", month_on(today, -58), Aetiology.COMBINED, AmblyopicEye.RIGHT)
    at_start = s.examine(
        start,
        measured(HOTV, "6/30", "6/7.5", CorrectionWorn.TRIAL_LENSES),
        eyes=(
            replace(GROSS, refraction=SpheroCylinder(6.0, -1.0, 180), fixation_maintained=YesNo.NO),
            replace(GROSS, eye=LEFT, refraction=SpheroCylinder(3.25)),
        ),
        together=replace(eso(10, 6), fixation_preference=FixationPreference.PREFERS_LEFT_HOLDS_RIGHT),
    )
    s.glasses(start, at_start)
    s.sign(start, patching, Phase.REFRACTIVE_ADAPTATION)
    s.link(start, "Mother, phone")
    s.examine(patching, measured(HOTV, "6/24", "6/7.5"), eyes=BOTH_HEALTHY, together=eso(8, 4))
    s.sign(patching, today + timedelta(weeks=1))
    s.says(patching, HARD)
    s.tells(
        patching + timedelta(days=3),
        About.QUESTION,
        "She cries when the patch goes on. Is less better than nothing?",
        "Begin with ten minutes and a game she likes.",
    )
    s.tells(today - timedelta(days=1), About.SKIN, "Red under the edge of the patch since yesterday.")
    s.examine(today, measured(HOTV, "6/24", "6/7.5"), eyes=BOTH_HEALTHY, together=replace(eso(8, 4), stereoacuity_arc_seconds=800))
    return s


def fellow_eye(scene: Scene) -> Story:
    """Six hours a day, faithfully worn: the amblyopic eye gains, and today the covered one reads two lines less than ten weeks ago."""
    today = scene.today
    start, patching, middle = today - timedelta(weeks=27), today - timedelta(weeks=10), today - timedelta(weeks=5)
    s = scene.register(start, "HM-1076", "Runar", month_on(today, -52), Aetiology.ANISOMETROPIC, AmblyopicEye.LEFT, interpreter_for="Arabic")
    at_start = s.examine(
        start,
        measured(HOTV, "6/7.5", "6/48", CorrectionWorn.TRIAL_LENSES),
        eyes=(
            replace(GROSS, refraction=SpheroCylinder(2.0)),
            replace(GROSS, eye=LEFT, refraction=SpheroCylinder(6.25, -0.75, 15)),
        ),
        together=STRAIGHT,
    )
    s.glasses(start, at_start)
    s.sign(start, patching, Phase.REFRACTIVE_ADAPTATION)
    s.link(start, "Father, phone", style=FeedStyle("الوقت", language=Language.ARABIC))
    s.examine(patching, measured(HOTV, "6/6", "6/38"), eyes=BOTH_HEALTHY, together=replace(STRAIGHT, stereoacuity_arc_seconds=800))
    s.sign(patching, middle)
    s.says(patching, FAITHFUL)
    s.examine(middle, measured(HOTV, "6/6", "6/30"), eyes=BOTH_HEALTHY, together=replace(STRAIGHT, stereoacuity_arc_seconds=400))
    s.sign(middle, today + timedelta(days=6))
    s.examine(
        today,
        measured(HOTV, "6/9.5", "6/19"),
        eyes=(replace(GROSS, refraction=SpheroCylinder(2.0)), replace(GROSS, eye=LEFT, refraction=SpheroCylinder(6.25, -0.75, 15))),
        together=replace(STRAIGHT, stereoacuity_arc_seconds=400),
    )
    return s
