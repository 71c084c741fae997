"""Entering a clinic's own table for near. What holds on past days is never changed."""

from datetime import date, datetime

from sqlmodel import Session

from service.access import require_range_keeper
from service.actions import versions
from service.errors import ChangedMeanwhileError
from service.facts import Staff
from service.store import near_tables
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.optics.near import NearRow, NearTable, built_in_near
from shared.vocabulary import Status


def table_of(near_rows: tuple[NearRow, ...], author: str) -> NearTable:
    """Without rows the built-in one. Raises `ClinicalInputError` naming `near_rows` or `author`."""
    if near_rows and not author:
        raise ClinicalInputError("author", msg("Please say whose table this is, or where it was taken from."))
    return NearTable(near_rows, Status.COMMON_PRACTICE, author=author) if near_rows else built_in_near()


def enter(session: Session, staff: Staff, near_table: NearTable, seen: int, from_on: date, today: date, now: datetime) -> str:
    """The version after the one that was `seen` (0: none). Raises `ClinicalInputError` naming `from_on`, `ChangedMeanwhileError` where there is one already."""
    require_range_keeper(staff)
    versions.check_from(from_on, today)
    if max((v.number for v in near_tables.versions(session, staff.clinic_id)), default=0) != seen:
        raise ChangedMeanwhileError
    public_id = near_tables.add(session, staff, near_table, seen + 1, from_on, now)
    return versions.audit(session, staff, "near-table", public_id, near_table.author, seen + 1, now)
