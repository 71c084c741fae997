"""What a review is worked out from: one child's course up to a day."""

from dataclasses import dataclass
from datetime import date, timedelta

from shared.course.limits import ReviewLimits
from shared.examination_words import Skin
from shared.findings import Finding
from shared.growing.growth_course import Course
from shared.optics.ledger import Lens
from shared.sight.acuity import Acuity
from shared.vocabulary import AcuityMethod, Aetiology, Laterality, Phase, RedReflex, YesNo

UNSET = ReviewLimits()


@dataclass(frozen=True)
class Reading:
    """One acuity of one eye; a poor one (`reliable` False) triggers no rule alone."""

    on: date
    acuity: Acuity
    reliable: bool


@dataclass(frozen=True)
class NearInForce:
    """What the corrections in force add for near in one eye, each in D."""

    eye: Laterality
    lens_dioptres: float
    spectacles_dioptres: float


@dataclass(frozen=True)
class ChangedEye:
    """An operation after which something was not signed yet; `eye` is None for both, or the squint as a whole."""

    eye: Laterality | None
    since_on: date
    wants_correction: bool
    wants_regimen: bool


@dataclass(frozen=True)
class OperatedEye:
    """An eye whose own lens was removed on `operated_on`: its newest pressure (mmHg) and its newest look along the axis; None where never."""

    eye: Laterality
    operated_on: date
    pressure_on: date | None = None
    pressure_mmhg: float | None = None
    pressure_tried_on: date | None = None  # the last attempt that obtained none
    on_steroid: bool = False
    axis_on: date | None = None
    red_reflex: RedReflex | None = None
    axis_clear: YesNo | None = None
    membrane: YesNo | None = None
    length_on: date | None = None


@dataclass(frozen=True)
class LensWorn:
    """An over-refraction over the lens worn (spherical equivalent, net, D) and what that lens adds for near (D)."""

    eye: Laterality
    on: date
    over_dioptres: float
    near_dioptres: float


@dataclass(frozen=True)
class ReviewFacts:
    """One child's course up to `today`. Readings are of one test, oldest first; shares are of prescribed time, None where nothing was prescribed."""

    today: date
    aetiology: Aetiology
    method: AcuityMethod | None
    amblyopic: tuple[Reading, ...]
    fellow: tuple[Reading, ...]
    phase: Phase | None
    minutes_per_day: int
    weeks_on_dose: float
    review_on: date | None
    ended_unreviewed: bool
    known_days_share: float | None
    received_share_of_known: float | None
    adaptation_weeks: float | None
    operated_eyes: tuple[OperatedEye, ...] = ()
    fellow_any: tuple[Reading, ...] = ()  # the fellow eye by every test, for a fall that no single test shows
    dose_published: bool = True
    covers_amblyopic_unsaid: bool = False
    baseline_from: date | None = None  # squint surgery began the comparison anew
    booked_on: date | None = None  # the next review that is booked
    not_brought_on: date | None = None  # the last visit to which the child was not brought, where none has been held since
    changed_eyes: tuple[ChangedEye, ...] = ()
    unsaid_pair: tuple[Acuity, Acuity] | None = None  # right and left by one test, while no eye is recorded as the amblyopic one
    uncorrected_aphakic: tuple[Laterality, ...] = ()  # aphakic eyes without any correction in force
    stopped_on: date | None = None  # the plan was stopped, and nothing was signed since
    lens_eyes: tuple[Laterality, ...] = ()  # aphakic eyes with a signed contact lens in force
    lenses: tuple[Lens, ...] = ()
    over_refractions: tuple[float, float] | None = None  # right, left: over the lenses worn at the newest visit, spherical equivalents in D
    near: tuple[NearInForce, ...] = ()
    examined: bool = True  # any visit is on record
    double_vision_on: date | None = None  # the newest visit, where double vision was said there
    new_deviation_on: date | None = None  # a visit that found a deviation of the eyes where the one before found none
    skin: Skin | None = None  # under the patch, at the newest visit that looked
    refracted_on: date | None = None  # the newest refraction or over-refraction of the amblyopic eye
    lenses_worn: tuple[LensWorn, ...] = ()
    without_correction_share: float | None = None  # of the time with the patch on
    born_on: date | None = None
    limits: ReviewLimits = UNSET
    courses: tuple[Course, ...] = ()  # aphakic eyes as they grow
    days: tuple[Finding, ...] = ()  # what does not fit into the family's days
    grace_days: int = 0  # so long the plan goes on past a review that slips

    @property
    def ends_on(self) -> date | None:
        return None if self.review_on is None else self.review_on + timedelta(days=self.grace_days)
