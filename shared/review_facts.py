"""What a review is worked out from: one child's course up to a day."""

from dataclasses import dataclass
from datetime import date

from shared.acuity import Acuity
from shared.ledger import Lens
from shared.vocabulary import AcuityMethod, Aetiology, Laterality, Phase


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
    operated: bool
    pressure_last_on: date | None
    adaptation_weeks: float | None
    pressure_tried_on: date | None = None  # the last attempt at an operated eye's pressure that obtained none
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
