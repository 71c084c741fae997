"""Stored facts about lenses: the ranges and near tables of a clinic, each lens of a child with what became of it, and made-up lenses as measured."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from shared.lens_words import LensState, PowerPlane
from shared.optics.lens_range import LensRange
from shared.optics.near import NearTable
from shared.vocabulary import Laterality


@dataclass(frozen=True)
class EnteredRange:
    """One version of a clinic's own lens range, which holds from a date on; `ended`: from then on there is no such range."""

    public_id: str
    number: int
    lens_range: LensRange
    from_on: date
    ended: bool
    entered_by: str
    entered_at: datetime


@dataclass(frozen=True)
class EnteredNearTable:
    """One version of a clinic's own table for near, which holds from a date on; the built-in one again where it has no author."""

    public_id: str
    number: int
    near_table: NearTable
    from_on: date
    entered_by: str
    entered_at: datetime


@dataclass(frozen=True)
class LensEntry:
    state: LensState
    on: date
    note: str
    recorded_by: str
    recorded_at: datetime


@dataclass(frozen=True)
class NewLens:
    """A lens as it is ordered: label power in D at its plane, sizes in mm."""

    correction_id: str
    eye: Laterality
    power: float
    power_plane: PowerPlane
    base_curve_mm: float | None
    diameter_mm: float | None


@dataclass(frozen=True)
class LedgerLens:
    """A lens with its entries, oldest first: the first is its order."""

    public_id: str
    made: NewLens
    entries: tuple[LensEntry, ...]

    @property
    def last(self) -> LensEntry:
        return self.entries[-1]


Measurements = Mapping[str, Mapping[str, float]]  # eye -> what was measured -> D, degrees, mm or prism dioptres


@dataclass(frozen=True)
class LensCheck:
    """Made-up lenses as they were measured against a signed correction."""

    measured: Measurements
    recorded_by: str
    recorded_at: datetime
