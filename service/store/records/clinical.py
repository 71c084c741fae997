"""Children, visits and signed documents."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field

from service.store.records.base import ClinicRow, between, json_column, one_of


class ChildRow(ClinicRow, table=True):
    __tablename__ = "child"
    __table_args__ = (
        UniqueConstraint("clinic_id", "reference"),
        one_of("aetiology", "deprivation", "anisometropic", "strabismic", "combined", "ametropic"),
        one_of("amblyopic_eye", "right", "left", "none", "not-yet-known"),
        between("weeks_premature", 0, 18),
    )
    public_id: str = Field(unique=True)
    reference: str
    short_name: str
    born_on: date
    weeks_premature: int
    aetiology: str
    amblyopic_eye: str
    registered_at: datetime
    spoken_language: str = ""
    interpreter_needed: bool = False
    version: int = 1
    facts_version: int = 1  # rises with every fact that a plan is derived from; a cache made under another number is stale


class ChildZone(ClinicRow, table=True):
    """The household's time zone from a date on, so that past days keep theirs."""

    __tablename__ = "child_zone"
    __table_args__ = (UniqueConstraint("child_id", "from_on"),)
    child_id: int = Field(foreign_key="child.id")
    from_on: date
    time_zone: str


class EyeStatusRow(ClinicRow, table=True):
    """The optical status of one eye from a date on: the date of surgery, or of birth."""

    __tablename__ = "eye_status"
    __table_args__ = (
        UniqueConstraint("child_id", "eye", "since_on"),
        one_of("eye", "right", "left"),
        one_of("status", "phakic", "aphakic", "pseudophakic", "absent"),
    )
    child_id: int = Field(foreign_key="child.id", index=True)
    eye: str
    status: str
    since_on: date
    recorded_at: datetime


class VisitRow(ClinicRow, table=True):
    """`on` is the date of its newest version."""

    __tablename__ = "visit"
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    on: date
    version: int = 1


class VisitVersion(ClinicRow, table=True):
    """What was recorded, as it stood: a correction is a new version with a reason, the old one stays."""

    __tablename__ = "visit_version"
    __table_args__ = (UniqueConstraint("visit_id", "version"),)
    visit_id: int = Field(foreign_key="visit.id")
    version: int
    on: date
    reason: str | None
    tester: str | None = None
    fixation_preference: str | None
    cover_near: str | None = None
    cover_near_prism_dioptres: float | None = None
    cover_distance: str | None = None
    cover_distance_prism_dioptres: float | None = None
    stereoacuity_arc_seconds: float | None = None
    stereo_test: str | None = None
    nystagmus_manifest: str | None = None
    nystagmus_latent: str | None = None
    fogging_used: str | None = None
    cycloplegic: str | None = None
    refraction_method: str | None = None
    deviation_kind: str | None = None
    deviating_eye: str | None = None
    vertical_deviation: str | None = None
    vertical_prism_dioptres: float | None = None
    cover_correction: str | None = None
    movements_full: str | None = None
    head_posture: str | None = None
    convergence_cm: float | None = None
    stereo_seen: str | None = None
    sensory_fusion: str | None = None
    double_vision: str | None = None
    remark: str | None = None
    recorded_by: int = Field(foreign_key="staff.id")
    recorded_at: datetime


class AcuityTestRow(ClinicRow, table=True):
    __tablename__ = "acuity_test"
    __table_args__ = (
        UniqueConstraint("visit_version_id", "ordinal"),
        between("distance_cm", 10, 1000),
        between("letters_per_line", 1, 10),
        one_of("tested_first", "right", "left", "both"),
    )
    visit_version_id: int = Field(foreign_key="visit_version.id", index=True)
    ordinal: int
    method: str | None
    distance_cm: float | None = None
    letters_per_line: int | None = None
    patched_beforehand: bool = False
    cycloplegia: bool = False
    tested_first: str | None = None


class AcuityReadingRow(ClinicRow, table=True):
    __tablename__ = "acuity_reading"
    __table_args__ = (UniqueConstraint("acuity_test_id", "eye"), one_of("eye", "right", "left", "both"))
    acuity_test_id: int = Field(foreign_key="acuity_test.id", index=True)
    eye: str
    acuity: str | None
    not_testable: bool = False
    correction_worn: str | None = None
    reliability: str | None = None


class EyeFindingRow(ClinicRow, table=True):
    __tablename__ = "eye_finding"
    __table_args__ = (
        UniqueConstraint("visit_version_id", "eye"),
        one_of("eye", "right", "left"),
        between("refraction_sphere", -40, 50),
        between("refraction_cylinder", -15, 15),
        between("refraction_axis", 0, 180),
        between("refraction_vertex_distance_mm", 0, 30),
        between("over_vertex_distance_mm", 0, 30),
        between("working_distance_cm", 20, 200),
        between("k1_dioptres", 25, 65),
        between("k2_dioptres", 25, 65),
        between("axial_length_mm", 10, 40),
        between("pressure_mmhg", 0, 80),
    )
    visit_version_id: int = Field(foreign_key="visit_version.id", index=True)
    eye: str
    refraction_sphere: float | None = None
    refraction_cylinder: float | None = None
    refraction_axis: float | None = None
    working_distance_cm: float | None = None
    refraction_vertex_distance_mm: float | None = None
    trial_lens_dioptres: float | None = None
    over_sphere: float | None = None
    over_cylinder: float | None = None
    over_axis: float | None = None
    over_vertex_distance_mm: float | None = None
    fixation_central: str | None = None
    fixation_steady: str | None = None
    fixation_maintained: str | None = None
    objection_to_cover: str | None = None
    red_reflex: str | None = None
    axis_clear: str | None = None
    stitches_in: str | None = None
    pressure_mmhg: float | None = None
    pressure_not_obtained: str | None = None
    pressure_method: str | None = None
    pressure_measured: str | None = None
    on_steroid: str | None = None
    corneal_thickness_um: float | None = None
    k1_dioptres: float | None = None
    k2_dioptres: float | None = None
    axial_length_mm: float | None = None
    axial_length_method: str | None = None
    corneal_diameter_mm: float | None = None
    lens_movement: str | None = None
    staining_grade: float | None = None
    corneal_vessels: str | None = None
    corneal_oedema: str | None = None
    secondary_membrane: str | None = None
    implant_position: str | None = None
    pupil: str | None = None
    optic_disc: str | None = None
    cup_disc_ratio: float | None = None
    fundus: str | None = None
    k2_axis: float | None = None
    skin_under_patch: str | None = None
    anterior_chamber_mm: float | None = None
    capsule_support: str | None = None
    endothelial_cells_per_mm2: float | None = None
    near_acuity: str | None = None


class CorrectionRow(ClinicRow, table=True):
    """A signed correction: written once, never changed."""

    __tablename__ = "correction"
    __table_args__ = (one_of("kind", "spectacles", "contact-lens"),)
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    visit_id: int = Field(foreign_key="visit.id")
    kind: str
    content: dict[str, Any] = json_column()
    signed_by: int = Field(foreign_key="staff.id")
    signed_at: datetime


class RegimenRow(ClinicRow, table=True):
    """A signed revision: written once, superseded by a higher number, never changed."""

    __tablename__ = "regimen"
    __table_args__ = (
        UniqueConstraint("child_id", "number"),
        one_of("phase", "refractive-adaptation", "occlusion", "atropine", "pause", "stop"),
        one_of("drop_eye", "right", "left"),
        CheckConstraint("review_on IS NULL OR review_on > start_on", name="review_after_start"),
    )
    public_id: str = Field(unique=True)
    child_id: int = Field(foreign_key="child.id", index=True)
    number: int
    phase: str
    start_on: date
    review_on: date | None
    covered_eye: str | None
    missing_correction: str
    doses: list[list[Any]] = json_column()  # date, minutes, pattern and weekdays of each
    drop_eye: str | None = None
    drop_pattern: str | None = None
    grace_days: int = 0  # past the review, where the visit slips
    turn_days: int = 0  # of alternating eyes: days on the covered one before one on the other
    content: dict[str, Any] = json_column()  # what was proposed, what was changed and why, what was acknowledged
    signed_by: int = Field(foreign_key="staff.id")
    signed_at: datetime
