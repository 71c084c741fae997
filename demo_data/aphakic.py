"""Two infants whose lenses were removed in the first weeks of life: one eye, and both.

Keratometry and lengths lie near those of the infants of the Infant Aphakia Treatment Study, and each trial lens with what was refracted over it near the
power such an eye needs.
"""

from dataclasses import replace
from datetime import date, timedelta

from demo_data.noted import STEADY
from demo_data.story import LEFT, RIGHT, Scene, Story, measured
from service.facts import Role
from service.facts_of_teaching import Level, Skill
from service.facts_of_visits import AcuityTest, EyeFindings, VisitFindings
from shared.dates import month_on
from shared.optics.refraction import SpheroCylinder
from shared.vocabulary import (
    AcuityMethod,
    Aetiology,
    AmblyopicEye,
    BookingKind,
    CorrectionWorn,
    FixationPreference,
    Laterality,
    LengthMethod,
    LensMovement,
    Measured,
    ObjectionToCover,
    Operation,
    PressureMethod,
    RedReflex,
    YesNo,
)

YES, NO = YesNo.YES, YesNo.NO
NONE, LENS = CorrectionWorn.NONE, CorrectionWorn.CONTACT_LENS
NEAR_DIOPTRES = 2.0  # what the rule says before two years of age

FOUND = EyeFindings(RIGHT, red_reflex=RedReflex.WHITE, axis_clear=NO)
ASLEEP = EyeFindings(
    RIGHT, pressure_method=PressureMethod.APPLANATION, pressure_measured=Measured.ANAESTHETISED, on_steroid=NO, axial_length_method=LengthMethod.IMMERSION
)
AWAKE = EyeFindings(
    RIGHT,
    red_reflex=RedReflex.CLEAR,
    axis_clear=YES,
    fixation_central=YES,
    fixation_steady=YES,
    pressure_method=PressureMethod.REBOUND,
    pressure_measured=Measured.AWAKE,
    on_steroid=NO,
)
LENS_WORN = replace(
    AWAKE,
    stitches_in=NO,
    trial_lens_dioptres=29.0,
    over_vertex_distance_mm=12.0,
    lens_movement=LensMovement.GOOD,
    staining_grade=0.0,
    corneal_vessels=NO,
    corneal_oedema=NO,
)
TAUGHT = {Skill.CLEAN: Level.ALONE, Skill.TAKE_OUT: Level.ALONE, Skill.PUT_IN: Level.WATCHED}


def asleep(eye: Laterality, mmhg: float, k1: float, k2: float, length_mm: float, diameter_mm: float) -> EyeFindings:
    """Measured under the anaesthetic of an operation."""
    return replace(ASLEEP, eye=eye, pressure_mmhg=mmhg, k1_dioptres=k1, k2_dioptres=k2, axial_length_mm=length_mm, corneal_diameter_mm=diameter_mm)


def cards(right: str, left: str, worn: tuple[CorrectionWorn, CorrectionWorn], distance_cm: float) -> AcuityTest:
    """In cycles/degree: each stripe width of a set of cards at 38 cm in the first half year of life, at 55 cm from then on."""
    return measured(AcuityMethod.GRATING_CARDS, f"{right} cpd", f"{left} cpd", worn, distance_cm=distance_cm)


def infant(scene: Scene) -> Story:
    """Left lens removed at seven weeks; a contact lens since; the dose rises with each completed month."""
    today = scene.today
    born_on = month_on(today, -6) - timedelta(days=12)
    surgery_on = born_on + timedelta(weeks=7)
    first_on, second_on, third_on = surgery_on + timedelta(weeks=2), month_on(born_on, 4), today - timedelta(weeks=2)
    found_on = surgery_on - timedelta(days=5)
    s = scene.register(found_on, "HM-1041", "Juno", born_on, Aetiology.DEPRIVATION, AmblyopicEye.LEFT)
    s.examine(found_on, eyes=(replace(FOUND, red_reflex=RedReflex.CLEAR, axis_clear=YES), replace(FOUND, eye=LEFT, fixation_central=NO)), by=Role.CLINICIAN)
    s.examine(surgery_on, eyes=(asleep(RIGHT, 11, 44.25, 45.25, 18.0, 10.5), asleep(LEFT, 12, 46.0, 47.75, 17.2, 10.0)), by=Role.CLINICIAN)
    s.operate(surgery_on, Operation.CATARACT_REMOVED, LEFT)
    s.surgeons_sheet(surgery_on, LEFT)
    at_first = s.examine(
        first_on,
        cards("1.1", "0.6", (NONE, LENS), 38.0),
        eyes=(
            replace(AWAKE, fixation_maintained=YES, objection_to_cover=ObjectionToCover.STRONG, pressure_mmhg=14),
            replace(LENS_WORN, eye=LEFT, stitches_in=YES, fixation_maintained=NO, over_refraction=SpheroCylinder(1.5), pressure_mmhg=15, on_steroid=YES),
        ),
        together=VisitFindings(fixation_preference=FixationPreference.RIGHT_ONLY, nystagmus_manifest=NO),
    )
    s.lenses(first_on, at_first, {LEFT: NEAR_DIOPTRES})
    s.sign(first_on, second_on)
    s.link(first_on, "Mother, phone", "juno.mother@family.example", taught=TAUGHT)
    s.says(first_on, STEADY)
    s.examine(
        second_on,
        cards("2.2", "1.1", (NONE, LENS), 38.0),
        eyes=(
            replace(AWAKE, fixation_maintained=YES, objection_to_cover=ObjectionToCover.SOME, pressure_mmhg=13),
            replace(LENS_WORN, eye=LEFT, fixation_maintained=NO, over_refraction=SpheroCylinder(0.25), pressure_mmhg=14),
        ),
        together=VisitFindings(fixation_preference=FixationPreference.PREFERS_RIGHT_HOLDS_LEFT, nystagmus_manifest=NO),
    )
    s.sign(second_on, third_on)
    asleep_on = third_on - timedelta(days=6)
    s.examine(asleep_on, eyes=(asleep(RIGHT, 12, 43.25, 44.25, 19.8, 11.25), asleep(LEFT, 13, 45.0, 46.25, 18.4, 10.75)), by=Role.CLINICIAN)
    at_third = s.examine(
        third_on,
        cards("4.8", "2.4", (NONE, LENS), 55.0),
        eyes=(
            replace(
                AWAKE,
                fixation_maintained=YES,
                objection_to_cover=ObjectionToCover.SOME,
                pressure_mmhg=14,
                refraction=SpheroCylinder(3.75),
                working_distance_cm=67.0,
                refraction_vertex_distance_mm=12,
            ),
            replace(LENS_WORN, eye=LEFT, fixation_maintained=YES, over_refraction=SpheroCylinder(-2.0), pressure_mmhg=16, corneal_thickness_um=615),
        ),
        together=VisitFindings(fixation_preference=FixationPreference.PREFERS_RIGHT_HOLDS_LEFT, nystagmus_manifest=NO, nystagmus_latent=NO),
    )
    s.lenses(third_on, at_third, {LEFT: NEAR_DIOPTRES})
    s.worn_overnight(third_on, LEFT, out_every_days=7, replace_every_days=180)
    s.sign(third_on, third_on + timedelta(weeks=4))
    s.patches(third_on, left=24, a_day=1)
    s.plan_implant(third_on, LEFT, month_on(born_on, 48))
    return s


def both_eyes(scene: Scene) -> Story:
    """Both lenses removed, two weeks apart; two contact lenses, no amblyopic eye, so no published dose and no patch."""
    today = scene.today
    born_on = month_on(today, -8) - timedelta(days=5)
    right_on, left_on = born_on + timedelta(weeks=6), born_on + timedelta(weeks=8)
    first_on, last_on = left_on + timedelta(weeks=2), today - timedelta(days=9)
    found_on = right_on - timedelta(days=6)
    s = scene.register(found_on, "HM-1088", "Odile", born_on, Aetiology.DEPRIVATION, AmblyopicEye.NONE)
    s.examine(found_on, eyes=(FOUND, replace(FOUND, eye=LEFT)), by=Role.CLINICIAN)
    s.operate(right_on, Operation.CATARACT_REMOVED, RIGHT)
    operated = replace(asleep(RIGHT, 12, 46.0, 47.5, 17.4, 10.25), on_steroid=YES)
    s.examine(left_on, eyes=(operated, asleep(LEFT, 11, 45.75, 47.5, 17.2, 10.0)), by=Role.CLINICIAN)
    s.operate(left_on, Operation.CATARACT_REMOVED, LEFT)
    both = dict.fromkeys(Laterality, NEAR_DIOPTRES)
    s.lenses(first_on, _both_lenses_worn(s, first_on, ("0.6", "0.44"), 38.0, (1.0, 2.0), (14, 15), fresh=YES), both)
    _both_lenses_worn(s, month_on(born_on, 4), ("1.1", "1.1"), 38.0, (0.25, 1.0), (13, 14))
    half_year_on = month_on(born_on, 6)
    asleep_on = half_year_on - timedelta(days=8)
    s.examine(asleep_on, eyes=(asleep(RIGHT, 13, 44.75, 45.75, 18.2, 11.0), asleep(LEFT, 14, 44.5, 45.5, 18.1, 10.75)), by=Role.CLINICIAN)
    s.lenses(half_year_on, _both_lenses_worn(s, half_year_on, ("2.4", "1.6"), 55.0, (-1.0, -0.25), (15, 16)), both)
    s.lenses(last_on, _both_lenses_worn(s, last_on, ("3.2", "3.2"), 55.0, (-2.0, -1.25), (15, 17)), both)
    s.book(last_on, BookingKind.REVIEW, today + timedelta(weeks=4))
    s.book(last_on, BookingKind.ANAESTHETIC, today + timedelta(weeks=7), "pressure, axial length and corneal diameter of both eyes")
    return s


def _both_lenses_worn(
    s: Story, on: date, printed: tuple[str, str], distance_cm: float, over: tuple[float, float], mmhg: tuple[float, float], fresh: YesNo = NO
) -> str:
    """`fresh`: soon after the operations, with stitches in and on steroid."""
    right, left = (
        replace(
            LENS_WORN,
            eye=eye,
            fixation_maintained=YES,
            objection_to_cover=ObjectionToCover.NONE,
            over_refraction=SpheroCylinder(power),
            pressure_mmhg=pressure,
            stitches_in=fresh,
            on_steroid=fresh,
        )
        for eye, power, pressure in zip(Laterality, over, mmhg, strict=True)
    )
    alternates = VisitFindings(fixation_preference=FixationPreference.ALTERNATES, nystagmus_manifest=NO, nystagmus_latent=NO)
    return s.examine(on, cards(*printed, (LENS, LENS), distance_cm), eyes=(right, left), together=alternates)
