"""How one person wants a child's calendar on one device: what stands in it, what it is called, and when it reminds."""

from dataclasses import dataclass
from enum import StrEnum

from schedules.care_words import CareItem, CareKind
from shared.errors import ClinicalInputError
from shared.findings import msg

LAST_MINUTE_OF_A_DAY = 24 * 60 - 1
EARLIEST_REMINDER_MINUTES = 120  # common practice: two hours before a session nobody acts on a reminder
LONGEST_LABEL, LONGEST_WORD = 30, 20


class Shown(StrEnum):
    """A day's minutes as one item for the whole day, as its sessions, or as both."""

    ALL_DAY = "all-day"
    SESSIONS = "sessions"
    BOTH = "both"


class Colour(StrEnum):
    """Names of CSS, as COLOR takes them (RFC 7986 section 5.9, from memory)."""

    TEAL = "teal"
    NAVY = "navy"
    PURPLE = "purple"
    MAROON = "maroon"
    OLIVE = "olive"

    @property
    def code(self) -> str:
        return _CODES[self]


_CODES = {Colour.TEAL: "#008080", Colour.NAVY: "#000080", Colour.PURPLE: "#800080", Colour.MAROON: "#800000", Colour.OLIVE: "#808000"}


class Language(StrEnum):
    """In which a family's pages, calendars and messages can be had."""

    ENGLISH = "en"
    SPANISH = "es"
    ARABIC = "ar"


class CareGroup(StrEnum):
    """What of the care beside patching a calendar may show, as a family would choose it."""

    VISITS = "visits"
    CHECKS = "checks"
    DROPS = "drops"
    LENS = "lens"
    CORRECTION = "correction"
    PATCHES = "patches"


_GROUPS = {
    CareGroup.VISITS: {CareKind.VISIT},
    CareGroup.DROPS: {CareKind.DROPS, CareKind.SHIELD},
    CareGroup.LENS: {CareKind.LENS_OUT, CareKind.LENS_CLEAN, CareKind.LENS_REPLACE},
    CareGroup.CORRECTION: {CareKind.CORRECTION_ON},
    CareGroup.PATCHES: {CareKind.PATCH_STOCK},
}
USUAL_CARE = frozenset({CareGroup.VISITS, CareGroup.DROPS})


def group_of(kind: CareKind) -> CareGroup:
    """What the clinic does and nobody has booked yet is a check."""
    return next((group for group, kinds in _GROUPS.items() if kind in kinds), CareGroup.CHECKS)


@dataclass(frozen=True)
class FeedStyle:
    """`label` is what patching is called, `word` tells two children of one family apart and may be empty: both are seen by others.

    `alarm_minutes` count from the local midnight that begins a day and are for its all-day items, `session_alarm_minutes` before each session;
    None: no alarm. Raises `ClinicalInputError` naming the field.
    """

    label: str
    word: str = ""
    shown: Shown = Shown.ALL_DAY
    alarm_minutes: int | None = None
    session_alarm_minutes: int | None = None
    care: frozenset[CareGroup] = USUAL_CARE
    done_shown: bool = False
    colour: Colour = Colour.TEAL
    language: Language = Language.ENGLISH

    def __post_init__(self) -> None:
        for field, text, longest in (("label", self.label, LONGEST_LABEL), ("word", self.word, LONGEST_WORD)):
            if len(text) > longest:
                raise ClinicalInputError(field, msg("At most %(longest)s characters; this has %(length)s.", longest=longest, length=len(text)))
        if not self.label.strip():
            raise ClinicalInputError("label", msg("Please fill this in."))
        for field, minutes, most in (
            ("alarm_minutes", self.alarm_minutes, LAST_MINUTE_OF_A_DAY),
            ("session_alarm_minutes", self.session_alarm_minutes, EARLIEST_REMINDER_MINUTES),
        ):
            if minutes is not None and minutes not in range(most + 1):
                raise ClinicalInputError(field, msg("%(minutes)s minutes cannot be; 0 to %(most)s would.", minutes=str(minutes), most=most))

    @property
    def name(self) -> str:
        return self.titled(self.label)

    def titled(self, title: str) -> str:
        return f"{self.word}: {title}" if self.word else title

    def shows(self, item: CareItem) -> bool:
        """Of what was met before its day nothing is left to do; what was met later stays, so that a past day never changes."""
        return group_of(item.kind) in self.care and (item.met_on is None or item.met_on >= item.on)
