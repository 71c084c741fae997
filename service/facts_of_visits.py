"""Stored facts of a visit: what was measured, under which conditions, in which version. Nothing here is derived."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

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
from shared.optics.refraction import SpheroCylinder
from shared.sight.acuity import Acuity
from shared.vocabulary import (
    AcuityFamily,
    AcuityMethod,
    CorrectionWorn,
    Deviation,
    FixationPreference,
    Laterality,
    LengthMethod,
    LensMovement,
    Measured,
    ObjectionToCover,
    PressureMethod,
    RedReflex,
    Reliability,
    StereoTest,
    TestedEye,
    YesNo,
)


@dataclass(frozen=True)
class AcuityReading:
    """What one eye, or both together, gave on a test: an acuity, or not testable."""

    acuity: Acuity | None
    not_testable: bool = False
    correction_worn: CorrectionWorn | None = None
    reliability: Reliability | None = None


@dataclass(frozen=True)
class AcuityTest:
    """One test at one visit under one set of conditions. Two tests on a day are two, and two series."""

    method: AcuityMethod | None  # None: nothing was testable, so no test is named
    readings: Mapping[TestedEye, AcuityReading]
    distance_cm: float | None = None
    letters_per_line: int | None = None
    patched_beforehand: bool = False
    cycloplegia: bool = False
    tested_first: TestedEye | None = None

    def acuity(self, eye: Laterality) -> Acuity | None:
        reading = self.readings.get(TestedEye(eye.value))
        return reading.acuity if reading else None

    def series(self, eye: Laterality) -> AcuityMethod | None:
        """The series of this eye's reading: a category seen before a chart was observed, and no line of that chart."""
        acuity = self.acuity(eye)
        return AcuityMethod.OBSERVED if acuity and acuity.family is AcuityFamily.LOW_VISION else self.method

    def usable(self, eye: Laterality) -> bool:
        """Whether a rule may rest on this eye's reading: not on a poor one, nor on one just after the patch came off or under cycloplegia."""
        reading = self.readings.get(TestedEye(eye.value))
        fit = reading is not None and reading.acuity is not None and reading.reliability is not Reliability.POOR
        return fit and not self.patched_beforehand and not self.cycloplegia


@dataclass(frozen=True)
class EyeFindings:
    """One eye at one visit, as measured. Distances in mm (vertex) and cm (working), powers in D."""

    eye: Laterality
    refraction: SpheroCylinder | None = None
    working_distance_cm: float | None = None  # None: the refraction is net; else gross at this distance
    refraction_vertex_distance_mm: float | None = None
    trial_lens_dioptres: float | None = None
    over_refraction: SpheroCylinder | None = None
    over_vertex_distance_mm: float | None = None
    fixation_central: YesNo | None = None
    fixation_steady: YesNo | None = None
    fixation_maintained: YesNo | None = None
    objection_to_cover: ObjectionToCover | None = None
    red_reflex: RedReflex | None = None
    axis_clear: YesNo | None = None
    stitches_in: YesNo | None = None
    pressure_mmhg: float | None = None
    pressure_not_obtained: YesNo | None = None
    pressure_method: PressureMethod | None = None
    pressure_measured: Measured | None = None
    on_steroid: YesNo | None = None
    corneal_thickness_um: float | None = None
    k1_dioptres: float | None = None
    k2_dioptres: float | None = None
    axial_length_mm: float | None = None
    axial_length_method: LengthMethod | None = None
    corneal_diameter_mm: float | None = None
    lens_movement: LensMovement | None = None
    staining_grade: float | None = None
    corneal_vessels: YesNo | None = None
    corneal_oedema: YesNo | None = None
    secondary_membrane: YesNo | None = None
    implant_position: ImplantPosition | None = None
    pupil: Pupil | None = None
    optic_disc: Seen | None = None
    cup_disc_ratio: float | None = None
    fundus: Seen | None = None
    k2_axis: float | None = None
    skin_under_patch: Skin | None = None
    anterior_chamber_mm: float | None = None
    capsule_support: CapsuleSupport | None = None
    endothelial_cells_per_mm2: float | None = None
    near_acuity: str | None = None  # as typed: a series of distance vision never holds it


@dataclass(frozen=True)
class VisitFindings:
    """What belongs to both eyes together; amounts in prism dioptres and seconds of arc."""

    fixation_preference: FixationPreference | None = None
    cover_near: Deviation | None = None
    cover_near_prism_dioptres: float | None = None
    cover_distance: Deviation | None = None
    cover_distance_prism_dioptres: float | None = None
    stereoacuity_arc_seconds: float | None = None
    stereo_test: StereoTest | None = None
    nystagmus_manifest: YesNo | None = None
    nystagmus_latent: YesNo | None = None
    fogging_used: YesNo | None = None
    cycloplegic: Cycloplegic | None = None
    refraction_method: RefractionMethod | None = None
    deviation_kind: DeviationKind | None = None
    deviating_eye: DeviatingEye | None = None
    vertical_deviation: VerticalDeviation | None = None
    vertical_prism_dioptres: float | None = None
    cover_correction: CorrectionWorn | None = None
    movements_full: YesNo | None = None
    head_posture: YesNo | None = None
    convergence_cm: float | None = None
    stereo_seen: StereoSeen | None = None
    sensory_fusion: SensoryFusion | None = None
    double_vision: YesNo | None = None
    remark: str | None = None


@dataclass(frozen=True)
class Examination:
    """What is recorded at a visit."""

    on: date
    tests: tuple[AcuityTest, ...]
    eyes: Mapping[Laterality, EyeFindings]
    together: VisitFindings
    tester: str | None = None  # who examined, where it is known


@dataclass(frozen=True, kw_only=True)
class Visit(Examination):
    """One version of a visit, as it was recorded."""

    public_id: str
    version: int
    reason: str | None  # why this version corrects the one before
    recorded_by: str
    recorded_at: datetime
