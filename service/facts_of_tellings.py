"""What families tell the clinic between visits, and what became of it."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from shared.vocabulary import Laterality


class About(StrEnum):
    """What a family tells of. `SIGNS` are those for which it calls the same day."""

    SIGNS = "signs"
    LENS_LOST = "lens-lost"
    LENS_BROKEN = "lens-broken"
    GLASSES = "glasses"
    SKIN = "skin"
    PATCHES = "patches"
    REFUSES = "refuses"
    DOUBLE = "double-vision"
    QUESTION = "question"

    @property
    def of_a_lens(self) -> bool:
        return self in (About.LENS_LOST, About.LENS_BROKEN)


URGENT = frozenset({About.SIGNS, About.DOUBLE})
SOON = frozenset({About.LENS_LOST, About.LENS_BROKEN, About.GLASSES, About.SKIN})


class Step(StrEnum):
    TAKEN = "taken"
    CLOSED = "closed"


@dataclass(frozen=True)
class Telling:
    """`answer` is for the family, `note` for the staff alone; neither is known before it is closed."""

    public_id: str
    child_public_id: str
    child_name: str
    subscription_id: int
    caregiver: str
    about: About
    eye: Laterality | None
    text: str
    told_at: datetime
    taken_by: str = ""
    taken_at: datetime | None = None
    closed_by: str = ""
    closed_at: datetime | None = None
    answer: str = ""
    note: str = ""

    @property
    def weight(self) -> int:
        """0 first: what cannot wait, then what waits no day, then the rest."""
        return 0 if self.about in URGENT else 1 if self.about in SOON else 2
