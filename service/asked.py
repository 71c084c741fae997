"""What a visit may ask besides acuity and refraction, as data: the form, the page and the store all walk these lists.

Nothing is obligatory. `name` is the field of `EyeFindings` or `VisitFindings` and the column that keeps it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from shared.examination_words import (
    CapsuleSupport,
    Cycloplegic,
    DeviatingEye,
    DeviationKind,
    ImplantPosition,
    Pupil,
    RefractionMethod,
    Seen,
    SensoryFusion,
    Skin,
    StereoSeen,
    VerticalDeviation,
)
from shared.findings import Message, msg
from shared.vocabulary import CorrectionWorn, Deviation, LengthMethod, LensMovement, Measured, ObjectionToCover, PressureMethod, RedReflex, StereoTest, YesNo


@dataclass(frozen=True)
class Asked:
    """One finding: a number in `unit` between `low` and `high`, one of `choices`, or a line of up to `longest` letters.

    Its label is understood without its group's heading.
    """

    name: str
    label: Message
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    choices: type[StrEnum] | None = None
    longest: int = 0  # of a text; 0: it is none


@dataclass(frozen=True)
class Group:
    heading: Message
    asked: tuple[Asked, ...]


EYE_GROUPS = (
    Group(
        msg("Fixation"),
        (
            Asked("fixation_central", msg("Central fixation"), choices=YesNo),
            Asked("fixation_steady", msg("Steady fixation"), choices=YesNo),
            Asked("fixation_maintained", msg("Maintained fixation"), choices=YesNo),
            Asked("objection_to_cover", msg("Objection to cover of this eye"), choices=ObjectionToCover),
        ),
    ),
    Group(
        msg("Reflex and stitches"),
        (
            Asked("red_reflex", msg("Red reflex"), choices=RedReflex),
            Asked("axis_clear", msg("Visual axis clear"), choices=YesNo),
            Asked("stitches_in", msg("Stitches in"), choices=YesNo),
            Asked("secondary_membrane", msg("Secondary membrane"), choices=YesNo),
            Asked("implant_position", msg("Position of the implant"), choices=ImplantPosition),
        ),
    ),
    Group(
        msg("Pupil, disc and fundus"),
        (
            Asked("pupil", msg("Pupil"), choices=Pupil),
            Asked("optic_disc", msg("Optic disc"), choices=Seen),
            Asked("cup_disc_ratio", msg("Cup to disc ratio"), "", 0, 1),
            Asked("fundus", msg("Fundus"), choices=Seen),
        ),
    ),
    Group(
        msg("Pressure"),
        (
            Asked("pressure_mmhg", msg("Pressure"), "mmHg", 0, 80),
            Asked("pressure_not_obtained", msg("Pressure attempted, not obtained"), choices=YesNo),
            Asked("pressure_method", msg("Pressure by"), choices=PressureMethod),
            Asked("pressure_measured", msg("Pressure taken"), choices=Measured),
            Asked("on_steroid", msg("On steroid"), choices=YesNo),
            Asked("corneal_thickness_um", msg("Corneal thickness"), "µm", 300, 1200),
        ),
    ),
    Group(
        msg("Keratometry and length"),
        (
            Asked("k1_dioptres", msg("K1"), "D", 25, 65),
            Asked("k2_dioptres", msg("K2"), "D", 25, 65),
            Asked("k2_axis", msg("Axis of K2"), "°", 0, 180),
            Asked("axial_length_mm", msg("Axial length"), "mm", 10, 40),
            Asked("axial_length_method", msg("Length by"), choices=LengthMethod),
            Asked("corneal_diameter_mm", msg("Corneal diameter"), "mm", 5, 16),
        ),
    ),
    Group(
        msg("Before an implant"),
        (
            Asked("anterior_chamber_mm", msg("Depth of the anterior chamber"), "mm", 0.5, 7),
            Asked("capsule_support", msg("Support by the capsule"), choices=CapsuleSupport),
            Asked("endothelial_cells_per_mm2", msg("Endothelial cells"), "/mm²", 200, 9000),
        ),
    ),
    Group(
        msg("Lens fit"),
        (
            Asked("lens_movement", msg("Lens movement"), choices=LensMovement),
            Asked("staining_grade", msg("Staining, grade 0 to 4"), "", 0, 4),
            Asked("corneal_vessels", msg("Corneal vessels"), choices=YesNo),
            Asked("corneal_oedema", msg("Corneal oedema"), choices=YesNo),
        ),
    ),
    Group(msg("Near"), (Asked("near_acuity", msg("Near acuity, as measured, with its distance"), longest=40),)),
    Group(msg("Skin"), (Asked("skin_under_patch", msg("Skin under the patch"), choices=Skin),)),
)
VISIT_GROUPS = (
    Group(
        msg("How the refraction was taken"),
        (
            Asked("cycloplegic", msg("Refraction under"), choices=Cycloplegic),
            Asked("refraction_method", msg("Refraction by"), choices=RefractionMethod),
        ),
    ),
    Group(
        msg("Cover test"),
        (
            Asked("cover_near", msg("Cover test, near"), choices=Deviation),
            Asked("cover_near_prism_dioptres", msg("Cover test, near: amount"), "pd", 0, 100),
            Asked("cover_distance", msg("Cover test, distance"), choices=Deviation),
            Asked("cover_distance_prism_dioptres", msg("Cover test, distance: amount"), "pd", 0, 100),
            Asked("deviation_kind", msg("Deviation"), choices=DeviationKind),
            Asked("deviating_eye", msg("Deviating eye"), choices=DeviatingEye),
            Asked("vertical_deviation", msg("Vertical deviation"), choices=VerticalDeviation),
            Asked("vertical_prism_dioptres", msg("Vertical deviation: amount"), "pd", 0, 60),
            Asked("cover_correction", msg("Cover test with"), choices=CorrectionWorn),
        ),
    ),
    Group(
        msg("Movements and posture"),
        (
            Asked("movements_full", msg("Eye movements full"), choices=YesNo),
            Asked("head_posture", msg("Abnormal head posture"), choices=YesNo),
            Asked("convergence_cm", msg("Near point of convergence"), "cm", 0, 60),
        ),
    ),
    Group(
        msg("Both eyes together"),
        (
            Asked("double_vision", msg("Double vision"), choices=YesNo),
            Asked("stereoacuity_arc_seconds", msg("Stereoacuity"), "″", 10, 10000),
            Asked("stereo_seen", msg("Stereoacuity without a threshold"), choices=StereoSeen),
            Asked("stereo_test", msg("Stereoacuity by"), choices=StereoTest),
            Asked("sensory_fusion", msg("Sensory fusion"), choices=SensoryFusion),
            Asked("nystagmus_manifest", msg("Manifest nystagmus"), choices=YesNo),
            Asked("nystagmus_latent", msg("Latent nystagmus"), choices=YesNo),
            Asked("fogging_used", msg("Fogging instead of full cover"), choices=YesNo),
        ),
    ),
    Group(msg("Remark"), (Asked("remark", msg("Remark and conclusion"), longest=1000),)),
)


def asked(groups: tuple[Group, ...]) -> Iterator[Asked]:
    return (a for group in groups for a in group.asked)
