"""What was worn, as a caregiver, a nursery or a paper sheet says. Every tap is an entry; a correction names the entry it replaces, and both stay."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from sqlmodel import Session

from schedules.adherence import WearEntry, counted
from schedules.regimen import LONGEST_WEEKS, Regimen, in_force
from service.clock import local_today
from service.errors import NotFoundError
from service.facts import Child, NurseryLink, Staff, Subscription
from service.store import children, trail, wear
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.vocabulary import Phase

DAYS_BACK = 7
PAPER_DAYS_BACK = 7 * LONGEST_WEEKS  # a sheet can come back as late as the longest plan ends
MINUTES_OF_A_DAY = 24 * 60


WERE_THEY_ON = msg("Were the glasses or the lens on? Please choose “Yes” or “No”.")


class How(StrEnum):
    ALL = "all"
    SOME = "some"
    NONE = "none"
    CORRECTION_ONLY = "correction-only"  # glasses or lens worn or not, on a day without a patch


class NotWornReason(StrEnum):
    REFUSED = "refused"
    ILL = "ill"
    SKIN = "skin"
    FORGOT = "forgot"
    LOST_PATCH = "lost-patch"
    LOST_CORRECTION = "lost-correction"
    TRAVELLING = "travelling"
    OTHER = "other"


class RecorderKind(StrEnum):
    LINK = "link"
    NURSERY = "nursery"
    STAFF = "staff"  # called by their id alone, as everywhere in the trail


@dataclass(frozen=True)
class Recorder:
    """Who notes wear, as the trail names them; the days they may note; whether they see, and may change, what others noted; `one_a_day`: a new entry
    always takes the place of their own.
    """

    who: str
    days_back: int
    sees_others: bool = True
    one_a_day: bool = False

    def mine(self, entries: Iterable[WearEntry]) -> list[WearEntry]:
        """Those that are theirs to see."""
        return [e for e in entries if self.sees_others or e.recorded_by == self.who]


def recorder_of(who: str) -> tuple[RecorderKind, str]:
    """What kind of recorder made an entry, and the id of that link or member of staff."""
    kind, _, recorder_id = who.rpartition(":")
    return RecorderKind(kind or RecorderKind.STAFF), recorder_id


def caregiver(subscription: Subscription) -> Recorder:
    return Recorder(f"{RecorderKind.LINK}:{subscription.public_id}", DAYS_BACK, sees_others=subscription.sees_others)


def nursery(link: NurseryLink) -> Recorder:
    """Today alone; each place has one entry a day of its own, beside what the homes noted."""
    return Recorder(f"{RecorderKind.NURSERY}:{link.public_id}", 0, sees_others=False, one_a_day=True)


def from_paper(staff: Staff) -> Recorder:
    return Recorder(staff.public_id, PAPER_DAYS_BACK)


class AddOrCorrectError(Exception):
    """Something stands for this day already: is this more, or instead?"""


class TakenBackError(Exception):
    """The very same tap was taken already, and what it made was taken back since: an old page was sent again."""


@dataclass(frozen=True)
class Said:
    """One tap. `minutes` of all of it are those that were shown, where they are known.

    `more` is None where nothing stands yet; else True to add to it, False to replace it.
    """

    on: date
    how: How
    minutes: int | None
    reason: NotWornReason | None
    correction_worn: bool | None
    client_key: str
    more: bool | None = None
    said_at: datetime | None = None  # by a device that had to wait for a network


def open_days(today: date, days_back: int = DAYS_BACK) -> tuple[date, ...]:
    """The days that can still be logged, the newest first."""
    return tuple(today - timedelta(days=n) for n in range(days_back + 1))


def say(session: Session, by: Recorder, child: Child, revisions: Sequence[Regimen], said: Said, now: datetime) -> WearEntry:
    """The same `client_key` again gives the entry the first one made.

    Raises `ClinicalInputError` in a family's words, `AddOrCorrectError` when something stands for that day, `TakenBackError` for an old page.
    """
    regimen = regimen_of(revisions, said.on, open_days(local_today(now, child.time_zone), by.days_back))
    minutes = _minutes(said, regimen.minutes_on(said.on))
    if said.correction_worn is None and said.how is not How.NONE:  # hours count only with the glasses or the lens on: never taken for granted
        raise ClinicalInputError("correction_worn", WERE_THEY_ON)
    children.facts_changed(session, child.id)
    entries = wear.entries(session, child.id, said.on, said.on + timedelta(days=1))
    standing = counted(entries)
    earlier = wear.entry_of_key(session, by.who, said.client_key)
    if earlier is not None:
        if any(e.key == earlier.key for e in standing) or any(e.replaces == earlier.key and not e.withdrawn for e in entries):
            return earlier
        raise TakenBackError
    stands = by.mine(standing)
    more = False if by.one_a_day else said.more
    if stands and more is None:
        raise AddOrCorrectError
    replaced = [] if more else stands
    known = standing if by.sees_others or by.one_a_day else stands  # of what somebody must not see, not even a refusal speaks; no day counts for more than one
    if sum(e.minutes for e in known if e not in replaced) + minutes > MINUTES_OF_A_DAY:
        raise ClinicalInputError("minutes", msg("Together that is more than a day has."))
    replaces = replace_all(session, by, child, replaced, said.client_key, now) if replaced else None
    entry = wear.add_entry(
        session,
        child,
        by.who,
        client_key=said.client_key,
        local_on=said.on,
        minutes=minutes,
        reason=said.reason,
        correction_worn=said.correction_worn,
        replaces=replaces,
        withdrawn=False,
        said_at=said.said_at,
        now=now,
    )
    audit(session, by, child, "log-wear", entry.key, now)
    return entry


def replace_all(session: Session, by: Recorder, child: Child, stands: Sequence[WearEntry], client_key: str, now: datetime) -> str:
    """The new entry replaces the last that stands; the ones before it are withdrawn, so that the new one speaks for the day."""
    *others, last = stands
    for n, other in enumerate(others):
        _withdraw(session, by, child, other, f"{client_key}-{n}", now)
    return last.key


def undo(session: Session, by: Recorder, child: Child, key: str, client_key: str, now: datetime, only: date | None = None) -> date:
    """Withdraws an entry (by a further one) and gives its day; a second undo of the same entry changes nothing.

    `only` is the one day a calendar entry's link may touch; another day's entry does not exist for it, nor another's for a nursery.
    """
    children.facts_changed(session, child.id)
    entry = wear.entry(session, child, key)
    if (only is not None and entry.local_on != only) or not by.mine([entry]):
        raise NotFoundError
    if entry.local_on not in open_days(local_today(now, child.time_zone), by.days_back):
        raise ClinicalInputError("on", msg("That day is closed now. Please tell the clinic what should be different."))
    day = wear.entries(session, child.id, entry.local_on, entry.local_on + timedelta(days=1))
    if any(e.key == key for e in counted(day)):
        _withdraw(session, by, child, entry, client_key, now)
        audit(session, by, child, "undo-wear", key, now)
    return entry.local_on


def _withdraw(session: Session, by: Recorder, child: Child, entry: WearEntry, client_key: str, now: datetime) -> None:
    wear.add_entry(
        session,
        child,
        by.who,
        client_key=client_key,
        local_on=entry.local_on,
        minutes=0,
        reason=None,
        correction_worn=None,
        replaces=entry.key,
        withdrawn=True,
        now=now,
    )


def audit(session: Session, by: Recorder, child: Child, action: str, subject: str, now: datetime) -> None:
    trail.audit(session, child.clinic_id, at=now, who=by.who, action=action, subject=subject)


def regimen_of(revisions: Sequence[Regimen], on: date, days: Sequence[date]) -> Regimen:
    if on > days[0]:
        raise ClinicalInputError("on", msg("That day has not come yet."))
    if on not in days:
        raise ClinicalInputError("on", msg("Days up to a week back can be noted here. Please tell the clinic about earlier ones."))
    regimen = in_force(revisions, on)
    if regimen is None or regimen.phase not in (Phase.OCCLUSION, Phase.REFRACTIVE_ADAPTATION):
        raise ClinicalInputError("on", msg("The plan asked for nothing on that day, so there is nothing to note."))
    return regimen


def _minutes(said: Said, prescribed: int) -> int:
    match said.how:
        case How.ALL if prescribed == 0:
            raise ClinicalInputError("on", msg("No patch was planned on that day."))
        case How.ALL:
            return said.minutes or prescribed
        case How.SOME if said.minutes is None:
            raise ClinicalInputError("minutes", msg("How many minutes was the patch on?"))
        case How.SOME if not 0 < (said.minutes or 0) <= MINUTES_OF_A_DAY:
            raise ClinicalInputError("minutes", msg("A day has 24 hours: please write between 1 and 1440 minutes."))
        case How.SOME:
            return said.minutes or 0
        case How.NONE if said.reason is None:
            raise ClinicalInputError("reason", msg("What got in the way? Choose “something else” if none of these fits."))
        case _:
            return 0
