"""What care items are worked out from: one child's eyes, lenses, surgery and papers, each with its date."""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import date

from schedules.care_sets import MOST_LETTERS
from schedules.care_words import CareKind
from schedules.regimen import Regimen
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.lens_words import WearSchedule
from shared.optics.ledger import Lens
from shared.vocabulary import Laterality, OpticalStatus

MOST_TIMES_A_DAY = 24
LONGEST_DAYS_IN = 31  # common practice: no lens stays in for more than a month
LONGEST_DAYS_USED = 2 * 366
MOST_PATCHES = 10_000
MOST_PATCHES_A_DAY = 6


@dataclass(frozen=True)
class EyeStatus:
    """What an eye is from a day on."""

    eye: Laterality
    from_on: date
    status: OpticalStatus


@dataclass(frozen=True)
class WornLens:
    """A contact lens from the day it is first worn until `ended_on`, the next lens of the eye, or a change of the eye.

    `wear_schedule` is None where nobody has said it: then nothing is said of taking the lens out. `out_every_days` is the labelled limit of
    a lens worn overnight, `replace_every_days` how long one lens is used where that is labelled. `power_until_on` is when the eye is
    expected to have grown out of its power. Raises `ClinicalInputError` naming what cannot be.
    """

    eye: Laterality
    from_on: date
    wear_schedule: WearSchedule | None
    out_every_days: int | None = None
    replace_every_days: int | None = None
    power_until_on: date | None = None
    ended_on: date | None = None

    def __post_init__(self) -> None:
        overnight = self.wear_schedule is WearSchedule.OVERNIGHT
        if overnight and self.out_every_days is None:
            raise ClinicalInputError("out_every_days", msg("A lens worn overnight comes out within its labelled limit. Give the days."))
        if not overnight and self.out_every_days is not None:
            raise ClinicalInputError("out_every_days", msg("A lens that is not worn overnight comes out every day. Leave the days empty."))
        if self.wear_schedule is WearSchedule.DAILY_DISPOSABLE and self.replace_every_days is not None:
            raise ClinicalInputError("replace_every_days", msg("This lens is new every day. Leave the days empty."))
        _within("out_every_days", self.out_every_days, LONGEST_DAYS_IN)
        _within("replace_every_days", self.replace_every_days, LONGEST_DAYS_USED)
        if self.power_until_on is not None and self.power_until_on < self.from_on:
            raise ClinicalInputError(
                "power_until_on", msg("The power ends on %(until)s, before the lens is worn, %(first)s.", until=self.power_until_on, first=self.from_on)
            )


@dataclass(frozen=True)
class StitchedEye:
    """An eye operated on a day, with stitches left in the wound."""

    eye: Laterality
    on: date


@dataclass(frozen=True)
class CareDone:
    """A check that was made: refraction, pressure (obtained), stitches. Raises `ClinicalInputError` naming `kind` for any other."""

    kind: CareKind
    eye: Laterality
    on: date

    def __post_init__(self) -> None:
        if self.kind not in (CareKind.REFRACTION_CHECK, CareKind.PRESSURE_CHECK, CareKind.STITCH_CHECK):
            raise ClinicalInputError("kind", msg("Only checks of refraction, pressure and stitches are noted as done here."))


@dataclass(frozen=True)
class SheetLine:
    """A line of the surgeon's sheet: so many times a day on the half-open days from `start_on` to `end_on`, in the sheet's own words.

    `number` is the line's own for ever. Raises `ClinicalInputError` naming what cannot be.
    """

    number: int
    kind: CareKind
    eye: Laterality | None
    start_on: date
    end_on: date
    times_a_day: int
    words: str

    def __post_init__(self) -> None:
        if self.kind not in (CareKind.DROPS, CareKind.SHIELD):
            raise ClinicalInputError("kind", msg("The surgeon's sheet is for drops and the shield."))
        if self.end_on <= self.start_on:
            raise ClinicalInputError("end_on", msg("The end, %(end)s, must come after the start, %(start)s.", end=self.end_on, start=self.start_on))
        _within("times_a_day", self.times_a_day, MOST_TIMES_A_DAY)
        if not self.words.strip() or len(self.words) > MOST_LETTERS:
            raise ClinicalInputError("words", msg("Give the sheet's words, in at most %(most)s letters.", most=MOST_LETTERS))


@dataclass(frozen=True)
class BookedVisit:
    """A visit that stands in the book; `number` is its own for ever, wherever it is moved."""

    number: int
    on: date


@dataclass(frozen=True)
class PatchStock:
    """Patches left in the morning of a day, and how many a patching day takes. Raises `ClinicalInputError` naming what cannot be."""

    counted_on: date
    patches_left: int
    patches_a_day: int

    def __post_init__(self) -> None:
        if not 0 <= self.patches_left <= MOST_PATCHES:
            raise ClinicalInputError("patches_left", msg("%(count)s patches cannot be. Give 0 to %(most)s.", count=self.patches_left, most=MOST_PATCHES))
        _within("patches_a_day", self.patches_a_day, MOST_PATCHES_A_DAY)


@dataclass(frozen=True)
class LensLedger:
    """An eye's lenses as its ledger holds them since its newest entry."""

    eye: Laterality
    newest_on: date
    lenses: tuple[Lens, ...]


@dataclass(frozen=True)
class SecondaryLens:
    """The day from which the clinic wants to plan an implant for an eye that has none."""

    eye: Laterality
    on: date


@dataclass(frozen=True)
class CareFacts:
    """One child's. Glasses are worn from each of their dates until the next, or until an eye changes.

    Raises `ClinicalInputError` naming the field where two facts stand in one place, or one lies before birth.
    """

    born_on: date
    statuses: tuple[EyeStatus, ...] = ()
    lenses: tuple[WornLens, ...] = ()
    glasses_from_on: tuple[date, ...] = ()
    stitched: tuple[StitchedEye, ...] = ()
    done: tuple[CareDone, ...] = ()
    sheet: tuple[SheetLine, ...] = ()
    booked: tuple[BookedVisit, ...] = ()
    revisions: tuple[Regimen, ...] = ()
    stock: PatchStock | None = None
    ledgers: tuple[LensLedger, ...] = ()
    secondary_lenses: tuple[SecondaryLens, ...] = ()

    def __post_init__(self) -> None:
        _once("statuses", ((s.eye, s.from_on) for s in self.statuses))
        _once("lenses", ((lens.eye, lens.from_on) for lens in self.lenses))
        _once("glasses_from_on", self.glasses_from_on)
        _once("stitched", ((s.eye, s.on) for s in self.stitched))
        _once("sheet", (line.number for line in self.sheet))
        _once("booked", (visit.number for visit in self.booked))
        _once("ledgers", (ledger.eye for ledger in self.ledgers))
        _once("secondary_lenses", (s.eye for s in self.secondary_lenses))
        dated = {
            "statuses": [s.from_on for s in self.statuses],
            "lenses": [lens.from_on for lens in self.lenses],
            "glasses_from_on": list(self.glasses_from_on),
            "stitched": [s.on for s in self.stitched],
            "done": [d.on for d in self.done],
        }
        for field, dates in dated.items():
            if any(on < self.born_on for on in dates):
                raise ClinicalInputError(field, msg("%(on)s lies before the date of birth, %(born_on)s.", on=min(dates), born_on=self.born_on))

    def changes(self, eye: Laterality) -> tuple[EyeStatus, ...]:
        """The eye's statuses by date, without those that say again what it was."""
        found: list[EyeStatus] = []
        for change in sorted((s for s in self.statuses if s.eye is eye), key=lambda s: s.from_on):
            if not found or found[-1].status is not change.status:
                found.append(change)
        return tuple(found)

    def status_on(self, eye: Laterality, day: date) -> OpticalStatus | None:
        """What the eye is on a day; None before anything was said of it."""
        return next((c.status for c in reversed(self.changes(eye)) if c.from_on <= day), None)

    def first_operated(self, eye: Laterality) -> EyeStatus | None:
        """When the eye's own lens was removed."""
        return next((c for c in self.changes(eye) if c.status.operated), None)

    def changed_after(self, day: date, *eyes: Laterality) -> date | None:
        """The first change of one of the eyes after a day: what rested on the eye as it was ends there."""
        return min((c.from_on for eye in eyes for c in self.changes(eye) if c.from_on > day), default=None)

    def lens_ends_on(self, lens: WornLens) -> date | None:
        """The day a lens is no longer worn: it was taken out for good or lost, another one is worn, or the eye has changed."""
        after = [other.from_on for other in self.lenses if other.eye is lens.eye and other.from_on > lens.from_on]
        ends = (self.changed_after(lens.from_on, lens.eye), lens.ended_on)
        return min([*after, *(on for on in ends if on)], default=None)

    def glasses_end_on(self, from_on: date) -> date | None:
        """The day glasses are no longer the ones to wear."""
        after = [other for other in self.glasses_from_on if other > from_on]
        changed_on = self.changed_after(from_on, *Laterality)
        return min([*after, *([changed_on] if changed_on else [])], default=None)

    def wears_lens_on(self, eye: Laterality, day: date) -> bool:
        """Whether a lens of the eye is worn on a day."""
        return any(lens.eye is eye and lens.from_on <= day and ((end := self.lens_ends_on(lens)) is None or day < end) for lens in self.lenses)

    def done_on(self, kind: CareKind, eye: Laterality) -> tuple[date, ...]:
        """When a check of an eye was made."""
        return tuple(d.on for d in self.done if d.kind is kind and d.eye is eye)


def _within(field: str, value: int | None, most: int) -> None:
    if value is not None and not 1 <= value <= most:
        raise ClinicalInputError(field, msg("%(value)s cannot be. Give 1 to %(most)s.", value=value, most=most))


def _once(field: str, places: Iterable[Hashable]) -> None:
    found = list(places)
    if len(set(found)) < len(found):
        raise ClinicalInputError(field, msg("Two of them stand in one place; each is given once."))
