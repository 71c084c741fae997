"""Stored facts about care beside patching: a clinic's care sets, and what was said of one child's care."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from schedules.care_facts import PatchStock, SheetLine
from schedules.care_sets import CareSet
from shared.lens_words import WearSchedule
from shared.vocabulary import Laterality


@dataclass(frozen=True)
class EnteredCareSet:
    """One version of a clinic's care set, which holds from its date on."""

    public_id: str
    number: int
    care_set: CareSet
    from_on: date
    entered_by: str
    entered_at: datetime


@dataclass(frozen=True)
class LineEnded:
    """A line of the surgeon's sheet that ends earlier, or never begins."""

    line: int
    end_on: date


@dataclass(frozen=True)
class SecondaryLensPlanned:
    """From which day an implant is to be planned for an eye; None: no day any more."""

    eye: Laterality
    on: date | None


@dataclass(frozen=True)
class LensWear:
    """How the lens of one document is worn in an eye, as it is labelled."""

    correction_id: str
    eye: Laterality
    wear_schedule: WearSchedule
    out_every_days: int | None = None
    replace_every_days: int | None = None


Said = SheetLine | LineEnded | PatchStock | SecondaryLensPlanned | LensWear


@dataclass(frozen=True)
class CareEntry:
    """`number` rises with each entry of a child and is a sheet line's own."""

    public_id: str
    number: int
    said: Said
    recorded_by: str  # the name of a member of staff, or what the clinic calls the caregiver
    by_family: bool
    recorded_at: datetime


@dataclass(frozen=True)
class CareRecord:
    """All that was said of one child's care, oldest first; of two that speak of one thing the later holds."""

    entries: Sequence[CareEntry] = ()

    @property
    def next_number(self) -> int:
        return len(self.entries) + 1

    @property
    def sheet(self) -> tuple[SheetLine, ...]:
        """The surgeon's sheet as it stands: each line until its end, or until the earlier one said since."""
        ended = {e.said.line: e.said.end_on for e in self.entries if isinstance(e.said, LineEnded)}
        lines = [(e.said, ended.get(e.number, e.said.end_on)) for e in self.entries if isinstance(e.said, SheetLine)]
        return tuple(replace(line, end_on=end_on) for line, end_on in lines if end_on > line.start_on)

    @property
    def stock(self) -> PatchStock | None:
        return next((e.said for e in reversed(self.entries) if isinstance(e.said, PatchStock)), None)

    @property
    def secondary_lenses(self) -> dict[Laterality, date]:
        said = {e.said.eye: e.said.on for e in self.entries if isinstance(e.said, SecondaryLensPlanned)}
        return {eye: on for eye, on in said.items() if on is not None}

    def lens_wear(self, correction_id: str, eye: Laterality) -> LensWear | None:
        worn = (e.said for e in reversed(self.entries) if isinstance(e.said, LensWear))
        return next((w for w in worn if w.correction_id == correction_id and w.eye is eye), None)
