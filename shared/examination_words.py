"""The words of an eye examination, one name each. Values are what is stored and what the API speaks."""

from enum import StrEnum


class Cycloplegic(StrEnum):
    """The drop under which an eye was refracted; none: it was refracted without."""

    NONE = "none"
    CYCLOPENTOLATE = "cyclopentolate"
    TROPICAMIDE = "tropicamide"
    ATROPINE = "atropine"
    OTHER = "other"


class RefractionMethod(StrEnum):
    RETINOSCOPY = "retinoscopy"
    AUTOREFRACTION = "autorefraction"
    SUBJECTIVE = "subjective"


class StereoSeen(StrEnum):
    """Where no threshold could be given."""

    NONE_SHOWN = "none-shown"
    NOT_TESTABLE = "not-testable"


class DeviationKind(StrEnum):
    """How a deviation shows: always, at times, or only on dissociation."""

    CONSTANT = "constant"
    INTERMITTENT = "intermittent"
    LATENT = "latent"


class DeviatingEye(StrEnum):
    RIGHT = "right"
    LEFT = "left"
    ALTERNATING = "alternating"


class VerticalDeviation(StrEnum):
    """The vertical part of a deviation, named by the higher eye."""

    NONE = "none"
    RIGHT_HIGHER = "right-higher"
    LEFT_HIGHER = "left-higher"


class SensoryFusion(StrEnum):
    """What both eyes make of one picture."""

    FUSES = "fuses"
    SUPPRESSES_RIGHT = "suppresses-right"
    SUPPRESSES_LEFT = "suppresses-left"
    SEES_DOUBLE = "sees-double"
    NOT_TESTABLE = "not-testable"


class Pupil(StrEnum):
    NORMAL = "normal"
    SLUGGISH = "sluggish"
    RELATIVE_AFFERENT_DEFECT = "relative-afferent-defect"
    IRREGULAR = "irregular"


class Seen(StrEnum):
    """Optic disc or fundus, as far as it was looked at."""

    NORMAL = "normal"
    ABNORMAL = "abnormal"
    NO_VIEW = "no-view"


class ImplantPosition(StrEnum):
    CENTRED = "centred"
    DECENTRED = "decentred"
    TILTED = "tilted"


class CapsuleSupport(StrEnum):
    """What the first surgeon left behind to hold a secondary lens."""

    FULL = "full"
    PARTIAL = "partial"
    NONE = "none"


class Skin(StrEnum):
    """Under the patch."""

    CLEAR = "clear"
    RED = "red"
    SORE = "sore"
