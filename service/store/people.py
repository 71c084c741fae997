"""Clinics, staff, their sessions, tokens and rights."""

from collections.abc import Collection
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from sqlalchemy import delete, func
from sqlmodel import Session, col, select

from service.errors import NotFoundError
from service.facts import Clinic, Role, SignedKind, Staff, TokenGiven
from service.store.records import ApiToken, Installation, SignInAttempt, SignRight, StaffRow, StaffSession
from service.store.records import Clinic as ClinicTable
from service.tokens import new_public_id, token_hash

HANDLE = 12


def installation_namespace(session: Session) -> UUID:
    """The name space of every UID this installation ever publishes."""
    row = session.get(Installation, 1)
    if row is None:
        raise NotFoundError("the database has not been migrated")
    return row.namespace


def add_installation(session: Session) -> None:
    if session.get(Installation, 1) is None:
        session.add(Installation(id=1, namespace=uuid4()))


def add_clinic(session: Session, *, name: str, town: str, phone: str, out_of_hours: str, time_zone: str, locale: str, demo: bool) -> int:
    row = ClinicTable(public_id=new_public_id(), name=name, town=town, phone=phone, out_of_hours=out_of_hours, time_zone=time_zone, locale=locale, demo=demo)
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def clinic(session: Session, clinic_id: int) -> Clinic:
    row = session.get_one(ClinicTable, clinic_id)
    return Clinic(clinic_id, row.name, row.town, row.phone, row.out_of_hours, row.time_zone, row.locale, row.not_brought_pathway, row.demo)


def clinics(session: Session, name: str | None) -> list[int]:
    """The clinics of a name, or every one."""
    found = select(ClinicTable.id).where(ClinicTable.name == name) if name else select(ClinicTable.id)
    return [clinic_id for clinic_id in session.exec(found) if clinic_id is not None]


def holds_only_demo_data(session: Session) -> bool:
    """True for an empty database too: nothing real would be lost."""
    return not session.exec(select(ClinicTable.id).where(col(ClinicTable.demo).is_(False))).first()


def add_staff(session: Session, clinic_id: int, *, name: str, role: Role, sign_in_name: str, password_hash: str) -> Staff:
    row = StaffRow(clinic_id=clinic_id, public_id=new_public_id(), name=name, role=role, sign_in_name=sign_in_name, password_hash=password_hash)
    session.add(row)
    session.flush()
    return _staff(row)


def sign_in_name_taken(session: Session, sign_in_name: str) -> bool:
    """In this clinic or another, active or not."""
    return session.exec(select(StaffRow.id).where(StaffRow.sign_in_name == sign_in_name)).first() is not None


def examiners(session: Session, clinic_id: int) -> list[str]:
    """The names of the clinic's active staff who examine children."""
    rows = session.exec(select(StaffRow).where(StaffRow.clinic_id == clinic_id, col(StaffRow.active)).order_by(StaffRow.name)).all()
    return [staff.name for staff in map(_staff, rows) if staff.examines]


def _staff(row: StaffRow) -> Staff:
    assert row.id is not None
    return Staff(row.id, row.public_id, row.clinic_id, row.name, Role(row.role))


def credentials(session: Session, sign_in_name: str) -> tuple[Staff, str] | None:
    """The person and the stored password hash behind a sign-in name."""
    row = session.exec(select(StaffRow).where(StaffRow.sign_in_name == sign_in_name, col(StaffRow.active))).first()
    return (_staff(row), row.password_hash) if row else None


def open_staff_session(session: Session, staff: Staff, token: str, now: datetime, lasts: timedelta) -> None:
    session.add(StaffSession(clinic_id=staff.clinic_id, staff_id=staff.id, token_hash=token_hash(token), started_at=now, expires_at=now + lasts))


def end_staff_session(session: Session, token: str, now: datetime) -> None:
    row = session.exec(select(StaffSession).where(StaffSession.token_hash == token_hash(token))).first()
    if row and row.ended_at is None:
        row.ended_at = now


def staff_of_session(session: Session, token: str, now: datetime) -> Staff | None:
    row = session.exec(
        select(StaffRow)
        .join(StaffSession, col(StaffSession.staff_id) == col(StaffRow.id))
        .where(StaffSession.token_hash == token_hash(token), col(StaffSession.ended_at).is_(None), StaffSession.expires_at > now, col(StaffRow.active))
    ).first()
    return _staff(row) if row else None


def add_api_token(session: Session, staff: Staff, token: str, label: str, now: datetime) -> None:
    session.add(ApiToken(clinic_id=staff.clinic_id, staff_id=staff.id, token_hash=token_hash(token), label=label, created_at=now))


def staff_of_api_token(session: Session, token: str) -> Staff | None:
    row = session.exec(
        select(StaffRow)
        .join(ApiToken, col(ApiToken.staff_id) == col(StaffRow.id))
        .where(ApiToken.token_hash == token_hash(token), col(ApiToken.revoked_at).is_(None), col(StaffRow.active))
    ).first()
    return _staff(row) if row else None


def api_tokens(session: Session, staff: Staff) -> list[TokenGiven]:
    """A person's own tokens, the newest first; a handle is the head of the hash, which is no secret."""
    rows = session.exec(select(ApiToken).where(ApiToken.staff_id == staff.id).order_by(col(ApiToken.id).desc())).all()
    return [TokenGiven(r.token_hash[:HANDLE], r.label, r.created_at, r.revoked_at) for r in rows]


def revoke_api_token(session: Session, staff: Staff, handle: str, now: datetime) -> None:
    """Raises `NotFoundError` for an unknown handle and for somebody else's token alike."""
    rows = session.exec(select(ApiToken).where(ApiToken.staff_id == staff.id)).all()
    row = next((r for r in rows if r.token_hash[:HANDLE] == handle), None)
    if row is None:
        raise NotFoundError
    row.revoked_at = row.revoked_at or now


def count_attempts(session: Session, subject: str, since: datetime) -> int:
    return session.exec(select(func.count()).select_from(SignInAttempt).where(SignInAttempt.subject == subject, SignInAttempt.at > since)).one()


def add_attempt(session: Session, subject: str, now: datetime) -> None:
    session.add(SignInAttempt(subject=subject, at=now))


def forget_attempts(session: Session, subject: str, at: datetime) -> None:
    """Those of one moment: the attempt that turned out to be no guess."""
    for row in session.exec(select(SignInAttempt).where(SignInAttempt.subject == subject, SignInAttempt.at == at)).all():
        session.delete(row)


def forget_old(session: Session, attempts_before: datetime, sessions_before: datetime) -> None:
    """Attempts that no limit counts any more, and sessions long over."""
    session.exec(delete(SignInAttempt).where(col(SignInAttempt.at) < attempts_before))
    session.exec(delete(StaffSession).where(col(StaffSession.expires_at) < sessions_before))


def grant(session: Session, clinic_id: int, role: Role, kind: SignedKind) -> None:
    session.add(SignRight(clinic_id=clinic_id, role=role, kind=kind))


def may_sign(session: Session, staff: Staff, kind: SignedKind) -> bool:
    return (
        session.exec(select(SignRight.id).where(SignRight.clinic_id == staff.clinic_id, SignRight.role == staff.role, SignRight.kind == kind)).first()
        is not None
    )


def sign_rights(session: Session, clinic_id: int) -> frozenset[tuple[Role, SignedKind]]:
    rows = session.exec(select(SignRight).where(SignRight.clinic_id == clinic_id)).all()
    return frozenset((Role(r.role), SignedKind(r.kind)) for r in rows)


def set_sign_rights(session: Session, clinic_id: int, rights: Collection[tuple[Role, SignedKind]]) -> None:
    """These and no others."""
    for row in session.exec(select(SignRight).where(SignRight.clinic_id == clinic_id)).all():
        session.delete(row)
    session.flush()
    for role, kind in sorted(rights):
        grant(session, clinic_id, role, kind)
    session.flush()


def set_pathway(session: Session, clinic_id: int, text: str) -> None:
    session.get_one(ClinicTable, clinic_id).not_brought_pathway = text
    session.flush()


def lock_clinic(session: Session, clinic_id: int) -> None:
    """Writers of one clinic's settings take turns."""
    session.exec(select(ClinicTable).where(ClinicTable.id == clinic_id).with_for_update().execution_options(populate_existing=True)).one()


def any_clinic(session: Session) -> bool:
    return session.exec(select(ClinicTable.id)).first() is not None
