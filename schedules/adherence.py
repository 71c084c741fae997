"""Wear as the family reported it, and what it says of the prescription. A day nobody spoke of is unknown, which is not zero."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum

from schedules.regimen import Regimen, prescribed_minutes
from shared.errors import ClinicalInputError
from shared.findings import msg

MINUTES_IN_A_DAY = 24 * 60


@dataclass(frozen=True)
class WearEntry:
    """One thing a caregiver said about one day; never changed afterwards.

    `replaces` is the key of an earlier entry that no longer counts; with `withdrawn` nothing takes its place. `correction_worn` is
    None where nobody was asked; `recorded_by` names who said it. Of a timed entry, `started_at` and `ended_at` are the instants between which it was on,
    `minutes` the whole ones of them. Raises `ClinicalInputError` for minutes no day has.
    """

    key: str
    local_on: date
    minutes: int
    correction_worn: bool | None
    replaces: str | None
    withdrawn: bool
    recorded_at: datetime
    reason: str | None
    recorded_by: str = ""
    started_at: datetime | None = None
    ended_at: datetime | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.minutes <= MINUTES_IN_A_DAY:
            raise ClinicalInputError(
                "minutes", msg("%(minutes)s minutes do not fit in a day. Give 0 to %(most)s minutes.", minutes=self.minutes, most=MINUTES_IN_A_DAY)
            )
        if self.recorded_at.tzinfo is None:
            raise ValueError("recorded_at is naive")
        if self.started_at is not None and (self.ended_at is None or self.minutes != whole_minutes(self.ended_at - self.started_at)):
            raise ValueError("the minutes of a timed entry are the whole ones between its instants")


class HowKnown(StrEnum):
    """Where a day's minutes come from."""

    REPORTED = "reported"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class DayWear:
    """Minutes of one day. Hours with the glasses or the lens off stand apart: the eye saw, but not sharply."""

    local_on: date
    received_minutes: int
    without_correction_minutes: int
    how_known: HowKnown

    @property
    def nothing_worn(self) -> bool:
        """Known, and none: not the same as unknown."""
        return self.how_known is HowKnown.REPORTED and not self.received_minutes and not self.without_correction_minutes


def whole_minutes(span: timedelta) -> int:
    return span // timedelta(minutes=1)


def counted(entries: Iterable[WearEntry]) -> list[WearEntry]:
    """The entries that count: those no later one names, withdrawals left out. What a withdrawn entry had replaced does not come back."""
    entries = list(entries)
    named = {entry.replaces for entry in entries}
    return [entry for entry in entries if not entry.withdrawn and entry.key not in named]


def day_wear(entries: Iterable[WearEntry], day: date) -> DayWear:
    """The day's entries that count, put together; unknown where there is none, known zero where it says 0.

    Times that overlap are one: two who note the same hour have not given two. Where one of them says that the correction was off, it was. Minutes
    without times are added.
    """
    return _sum([entry for entry in counted(entries) if entry.local_on == day], day)


def _sum(counting: Sequence[WearEntry], day: date) -> DayWear:
    untimed, off = [e for e in counting if e.started_at is None], [e for e in counting if e.correction_worn is False]
    timed, timed_off = _together(counting), _together(off)
    without = sum(e.minutes for e in off if e in untimed) + whole_minutes(timed_off)
    received = sum(e.minutes for e in untimed if e not in off) + whole_minutes(timed - timed_off)
    without = min(without, MINUTES_IN_A_DAY)
    return DayWear(day, min(received, MINUTES_IN_A_DAY - without), without, HowKnown.REPORTED if counting else HowKnown.UNKNOWN)


def _together(entries: Iterable[WearEntry]) -> timedelta:
    """How long the patch was on by the timed ones: each moment once."""
    spans = sorted((e.started_at, e.ended_at) for e in entries if e.started_at is not None and e.ended_at is not None)
    length, reached = timedelta(0), datetime.min.replace(tzinfo=UTC)
    for start, end in spans:
        length += max(end - max(start, reached), timedelta(0))
        reached = max(reached, end)
    return length


@dataclass(frozen=True)
class Span:
    """Half-open days: `end_on` is not among them. Raises `ClinicalInputError` where it ends before it begins."""

    first_on: date
    end_on: date

    def __post_init__(self) -> None:
        if self.end_on < self.first_on:
            raise ClinicalInputError("end_on", msg("The span ends on %(end)s, before its first day, %(first)s.", end=self.end_on, first=self.first_on))

    def days(self) -> list[date]:
        return [self.first_on + timedelta(days=n) for n in range((self.end_on - self.first_on).days)]


@dataclass(frozen=True)
class Adherence:
    """Received against prescribed over a span, in whole minutes; the days are those with minutes prescribed.

    `low` takes unknown days as zero, `high` leaves them out of what was prescribed; both are ratios, not capped at 1, and None where
    there is nothing to divide by. Minutes worn on a day without any prescribed count as received: a missed day may be made up for.
    """

    prescribed_minutes: int
    received_minutes: int
    without_correction_minutes: int
    days_prescribed: int
    days_known: int
    days_zero: int
    days_unknown: int
    low: float | None
    high: float | None


def adherence(revisions: Sequence[Regimen], entries: Iterable[WearEntry], span: Span) -> Adherence:
    """Adherence over `span`, from the revisions and entries of one child."""
    by_day: dict[date, list[WearEntry]] = {}
    for entry in counted(entries):
        by_day.setdefault(entry.local_on, []).append(entry)
    days = [(prescribed_minutes(revisions, day), _sum(by_day.get(day, []), day)) for day in span.days()]
    received = sum(wear.received_minutes for _, wear in days)
    prescribed = [(minutes, wear) for minutes, wear in days if minutes]
    known = [(minutes, wear) for minutes, wear in prescribed if wear.how_known is HowKnown.REPORTED]
    all_minutes, known_minutes = (sum(minutes for minutes, _ in part) for part in (prescribed, known))
    return Adherence(
        prescribed_minutes=all_minutes,
        received_minutes=received,
        without_correction_minutes=sum(wear.without_correction_minutes for _, wear in days),
        days_prescribed=len(prescribed),
        days_known=len(known),
        days_zero=sum(wear.nothing_worn for _, wear in known),
        days_unknown=len(prescribed) - len(known),
        low=received / all_minutes if all_minutes else None,
        high=received / known_minutes if known_minutes else None,
    )


def days_not_worn(entries: Iterable[WearEntry], span: Span) -> int:
    """Days of which it was said that the glasses or the lens were off, and nothing else; a day nobody spoke of is none of them."""
    by_day: dict[date, list[WearEntry]] = {}
    for entry in counted(entries):
        by_day.setdefault(entry.local_on, []).append(entry)
    return sum(all(e.correction_worn is False and not e.minutes for e in by_day.get(day, [])) for day in span.days() if day in by_day)
