"""Stored facts as values: what the store hands out and views and actions work with. Nothing here is derived."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from schedules.regimen import Regimen
from shared.acuity import Acuity
from shared.refraction import SpheroCylinder
from shared.vocabulary import (
    AcuityFamily,
    AcuityMethod,
    Aetiology,
    AmblyopicEye,
    CorrectionKind,
    CorrectionWorn,
    Deviation,
    FixationPreference,
    Laterality,
    LengthMethod,
    LensMovement,
    Measured,
    ObjectionToCover,
    OpticalStatus,
    PressureMethod,
    RedReflex,
    Reliability,
    StereoTest,
    TestedEye,
    YesNo,
)


class Role(StrEnum):
    ADMINISTRATOR = "administrator"
    ORTHOPTIST = "orthoptist"
    OPTOMETRIST = "optometrist"
    CLINICIAN = "clinician"
    RECEPTION = "reception"


class SignedKind(StrEnum):
    """What needs a signature; who may give it is a row per clinic."""

    SPECTACLES = "spectacles"
    CONTACT_LENS = "contact-lens"
    OCCLUSION = "occlusion"
    OPERATION = "operation"


@dataclass(frozen=True)
class Clinic:
    id: int
    name: str
    town: str
    phone: str
    out_of_hours: str
    time_zone: str
    locale: str
    not_brought_pathway: str


@dataclass(frozen=True)
class Staff:
    id: int
    public_id: str
    clinic_id: int
    name: str
    role: Role

    @property
    def examines(self) -> bool:
        return self.role in (Role.ORTHOPTIST, Role.OPTOMETRIST, Role.CLINICIAN)


@dataclass(frozen=True)
class TokenGiven:
    """A token of one's own for the API, without its secret; `handle` names it."""

    handle: str
    label: str
    created_at: datetime
    revoked_at: datetime | None


@dataclass(frozen=True)
class EyeStatus:
    """From `since_on` (birth or the day of surgery) the eye has this status."""

    eye: Laterality
    status: OpticalStatus
    since_on: date


@dataclass(frozen=True)
class Child:
    id: int
    public_id: str
    clinic_id: int
    reference: str
    short_name: str
    born_on: date
    weeks_premature: int
    aetiology: Aetiology
    amblyopic_eye: AmblyopicEye
    zones: tuple[tuple[date, str], ...]  # (from, IANA zone), ascending
    statuses: tuple[EyeStatus, ...]  # ascending by date
    version: int
    facts_version: int

    @property
    def time_zone(self) -> str:
        return self.zones[-1][1]

    def zone_on(self, day: date) -> str:
        """The zone in force that day; the first one before any was set."""
        return next((zone for since, zone in reversed(self.zones) if since <= day), self.zones[0][1])

    def status(self, eye: Laterality, day: date) -> OpticalStatus | None:
        """The eye's status on a day, None where none was recorded for it."""
        return next((s.status for s in reversed(self.statuses) if s.eye is eye and s.since_on <= day), None)

    def changed_on(self, eye: Laterality, day: date) -> date | None:
        """The last day up to a day on which the eye's status changed; None while it is as it was at birth."""
        return next((s.since_on for s in reversed(self.statuses) if s.eye is eye and self.born_on < s.since_on <= day), None)

    def surgery_on(self, eye: Laterality, day: date) -> date | None:
        """The first surgery of the eye up to a day."""
        return next((s.since_on for s in self.statuses if s.eye is eye and s.status.operated and s.since_on <= day), None)


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


@dataclass(frozen=True)
class SignedCorrection:
    public_id: str
    kind: CorrectionKind
    visit_on: date
    content: Mapping[str, Any]
    signed_by: str
    signed_at: datetime

    @property
    def eyes(self) -> tuple[Laterality, ...]:
        return tuple(eye for eye in Laterality if eye in self.content["eyes"])

    def near_dioptres(self, eye: Laterality) -> float:
        """What it adds for near in an eye, in the whole lens or in a segment."""
        return float(self.content["eyes"][eye]["near_dioptres"]) if eye in self.eyes else 0.0


@dataclass(frozen=True)
class SignedRegimen:
    public_id: str
    regimen: Regimen
    content: Mapping[str, Any]
    signer_id: int
    signed_by: str
    signed_at: datetime


@dataclass(frozen=True)
class Subscription:
    """One person's links to one child's plan."""

    id: int
    public_id: str
    clinic_id: int
    child_id: int
    caregiver: str
    label: str
    alarm_minutes: int | None
    created_at: datetime
    revoked_at: datetime | None
    fetched_at: datetime | None
    fetched_by: str | None


@dataclass(frozen=True)
class FeedState:
    """The stored bytes of a feed and what they were made from."""

    made_from: str
    body: bytes
    changed_at: datetime
