"""The words of the trade, one name each. Values are what is stored and what the API speaks."""

from enum import StrEnum


class Laterality(StrEnum):
    """The child's own right or left."""

    RIGHT = "right"
    LEFT = "left"

    @property
    def other(self) -> "Laterality":
        return Laterality.LEFT if self is Laterality.RIGHT else Laterality.RIGHT


class TestedEye(StrEnum):
    """What looked at a test: one eye, or both together."""

    RIGHT = "right"
    LEFT = "left"
    BOTH = "both"


class AmblyopicEye(StrEnum):
    """Which eye is amblyopic; there may be none (bilateral aphakia), or it is not known yet."""

    RIGHT = "right"
    LEFT = "left"
    NONE = "none"
    NOT_YET_KNOWN = "not-yet-known"

    @property
    def laterality(self) -> Laterality | None:
        return Laterality(self.value) if self in (AmblyopicEye.RIGHT, AmblyopicEye.LEFT) else None


class Aetiology(StrEnum):
    """The cause, which is not the optical status."""

    DEPRIVATION = "deprivation"
    ANISOMETROPIC = "anisometropic"
    STRABISMIC = "strabismic"
    COMBINED = "combined"
    AMETROPIC = "ametropic"


class OpticalStatus(StrEnum):
    PHAKIC = "phakic"
    APHAKIC = "aphakic"
    PSEUDOPHAKIC = "pseudophakic"
    ABSENT = "absent"  # no eye, or a prosthesis in its place

    @property
    def operated(self) -> bool:
        """Whether the eye's own lens was removed: its pressure is watched for life."""
        return self in (OpticalStatus.APHAKIC, OpticalStatus.PSEUDOPHAKIC)


class AcuityFamily(StrEnum):
    """Families are never subtracted from one another."""

    OPTOTYPE = "optotype"
    GRATING = "grating"
    LOW_VISION = "low-vision"


class AcuityMethod(StrEnum):
    """The test used; a change of test starts a new series."""

    GRATING_CARDS = "grating-cards"
    CROWDED_PICTURES = "crowded-pictures"
    CROWDED_HOTV = "crowded-hotv"
    CROWDED_LETTERS = "crowded-letters"
    LOGMAR_CHART = "logmar-chart"
    SNELLEN_CHART = "snellen-chart"
    OBSERVED = "observed"

    @property
    def family(self) -> AcuityFamily:
        if self is AcuityMethod.GRATING_CARDS:
            return AcuityFamily.GRATING
        return AcuityFamily.LOW_VISION if self is AcuityMethod.OBSERVED else AcuityFamily.OPTOTYPE


class Reliability(StrEnum):
    GOOD = "good"
    FAIR = "fair"
    POOR = "poor"


class CorrectionWorn(StrEnum):
    """What stood before the eye while it was measured."""

    NONE = "none"
    SPECTACLES = "spectacles"
    CONTACT_LENS = "contact-lens"
    CONTACT_LENS_AND_SPECTACLES = "contact-lens-and-spectacles"
    TRIAL_LENSES = "trial-lenses"


class FixationPreference(StrEnum):
    """What the child prefers to look with, before a chart can be read."""

    ALTERNATES = "alternates"
    PREFERS_RIGHT_HOLDS_LEFT = "prefers-right-holds-left"
    PREFERS_LEFT_HOLDS_RIGHT = "prefers-left-holds-right"
    RIGHT_ONLY = "right-only"
    LEFT_ONLY = "left-only"
    NOT_TESTABLE = "not-testable"


class YesNo(StrEnum):
    """A finding that was looked for; not looked for is no value at all."""

    YES = "yes"
    NO = "no"


class ObjectionToCover(StrEnum):
    NONE = "none"
    SOME = "some"
    STRONG = "strong"


class RedReflex(StrEnum):
    CLEAR = "clear"
    REDUCED = "reduced"
    ABSENT = "absent"
    WHITE = "white"


class PressureMethod(StrEnum):
    REBOUND = "rebound"
    APPLANATION = "applanation"
    PALPATION = "palpation"


class Measured(StrEnum):
    AWAKE = "awake"
    ANAESTHETISED = "anaesthetised"


class LengthMethod(StrEnum):
    CONTACT = "contact"
    IMMERSION = "immersion"
    OPTICAL = "optical"


class LensMovement(StrEnum):
    NONE = "none"
    GOOD = "good"
    EXCESSIVE = "excessive"


class Deviation(StrEnum):
    """What the cover test showed."""

    NONE = "none"
    ESO = "eso"
    EXO = "exo"
    HYPER_RIGHT = "hyper-right"
    HYPER_LEFT = "hyper-left"


class StereoTest(StrEnum):
    """Tests of stereopsis by their kind: thresholds of two kinds are not compared."""

    RANDOM_DOTS_WITH_GLASSES = "random-dots-with-glasses"
    RANDOM_DOTS_WITHOUT_GLASSES = "random-dots-without-glasses"
    CONTOUR_PLATES = "contour-plates"
    REAL_DEPTH_PLATES = "real-depth-plates"
    OTHER = "other"


class CorrectionKind(StrEnum):
    SPECTACLES = "spectacles"
    CONTACT_LENS = "contact-lens"


class SpectacleDesign(StrEnum):
    SINGLE_VISION = "single-vision"
    BIFOCAL = "bifocal"


class Operation(StrEnum):
    """A day of surgery, by what it leaves behind."""

    CATARACT_REMOVED = "cataract-removed"
    CATARACT_REMOVED_LENS_IMPLANTED = "cataract-removed-lens-implanted"
    SECONDARY_LENS = "secondary-lens"
    IMPLANT_REMOVED = "implant-removed"
    EYE_REMOVED = "eye-removed"
    SQUINT_SURGERY = "squint-surgery"
    MEMBRANE_CLEARED = "membrane-cleared"
    GLAUCOMA_SURGERY = "glaucoma-surgery"
    LID_SURGERY = "lid-surgery"
    OTHER = "other"

    @property
    def from_status(self) -> OpticalStatus | None:
        """What the eye must be beforehand; None: anything that is there."""
        return _BEFORE.get(self)

    @property
    def to_status(self) -> OpticalStatus | None:
        """What the eye is afterwards; None: its optics stay as they are."""
        return _AFTER.get(self)


_BEFORE = {
    Operation.CATARACT_REMOVED: OpticalStatus.PHAKIC,
    Operation.CATARACT_REMOVED_LENS_IMPLANTED: OpticalStatus.PHAKIC,
    Operation.SECONDARY_LENS: OpticalStatus.APHAKIC,
    Operation.IMPLANT_REMOVED: OpticalStatus.PSEUDOPHAKIC,
}
_AFTER = {
    Operation.CATARACT_REMOVED: OpticalStatus.APHAKIC,
    Operation.CATARACT_REMOVED_LENS_IMPLANTED: OpticalStatus.PSEUDOPHAKIC,
    Operation.SECONDARY_LENS: OpticalStatus.PSEUDOPHAKIC,
    Operation.IMPLANT_REMOVED: OpticalStatus.APHAKIC,
    Operation.EYE_REMOVED: OpticalStatus.ABSENT,
}


class BookingKind(StrEnum):
    REVIEW = "review"
    ANAESTHETIC = "anaesthetic"


class BookingState(StrEnum):
    """What has become of a booked visit; whether it was kept is seen from the visits."""

    BOOKED = "booked"
    NOT_BROUGHT = "not-brought"
    CANCELLED = "cancelled"


class NearPlane(StrEnum):
    """Where an overcorrection for near is added, once."""

    LENS = "lens"
    SPECTACLES = "spectacles"


class Phase(StrEnum):
    """A phase of a regimen."""

    REFRACTIVE_ADAPTATION = "refractive-adaptation"
    OCCLUSION = "occlusion"
    ATROPINE = "atropine"
    PAUSE = "pause"
    STOP = "stop"


class MissingCorrectionRule(StrEnum):
    """What the family does on a day when the lens or the glasses are missing; chosen by the signer beforehand."""

    HOLD_AND_RING = "hold-and-ring"
    GO_ON = "go-on"


class Status(StrEnum):
    """How a published number is known, from the strongest to the weakest."""

    READ = "read"
    DERIVED = "derived"
    READ_SECONDHAND = "read-secondhand"
    COMMON_PRACTICE = "common-practice"
    MEMORY = "memory"

    @staticmethod
    def weakest(*statuses: "Status") -> "Status":
        """A value made of several shows its weakest."""
        order = list(Status)
        return max(statuses, key=order.index)
