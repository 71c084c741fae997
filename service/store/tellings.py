"""What families told the clinic. Only ever added to; a step is taken once."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlmodel import Session, col, select

from service.errors import ChangedMeanwhileError, NotFoundError
from service.facts import Child, Staff, Subscription
from service.facts_of_tellings import About, Step, Telling
from service.store.keyset import page_ids
from service.store.records import ChildRow, StaffRow, SubscriptionRow, TellingRow, TellingStepRow
from service.tokens import new_public_id
from shared.vocabulary import Laterality


def add(
    session: Session,
    child: Child,
    by: Subscription,
    *,
    client_key: str,
    about: About,
    eye: Laterality | None,
    text: str,
    said_at: datetime | None,
    now: datetime,
) -> str:
    """Its public id; the same key again gives that of the first."""
    earlier = session.exec(select(TellingRow).where(TellingRow.subscription_id == by.id, TellingRow.client_key == client_key)).first()
    if earlier is not None:
        return earlier.public_id
    row = TellingRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        subscription_id=by.id,
        client_key=client_key,
        about=about,
        eye=eye,
        text=text,
        said_at=said_at,
        told_at=now,
    )
    session.add(row)
    session.flush()
    return row.public_id


def take_step(session: Session, staff: Staff, public_id: str, step: Step, now: datetime, *, answer: str = "", note: str = "") -> None:
    """Of somebody else who took it first nothing changes.

    Raises `NotFoundError` for what is not this clinic's, `ChangedMeanwhileError` where somebody else has closed it.
    """
    found = session.exec(select(TellingRow).where(TellingRow.clinic_id == staff.clinic_id, TellingRow.public_id == public_id).with_for_update()).first()
    if found is None or found.id is None:
        raise NotFoundError
    known = session.exec(select(TellingStepRow).where(TellingStepRow.telling_id == found.id, TellingStepRow.step == step)).first()
    if known is not None:
        if step is Step.CLOSED and (known.made_by, known.answer, known.note) != (staff.id, answer, note):
            raise ChangedMeanwhileError
    else:
        session.add(TellingStepRow(clinic_id=staff.clinic_id, telling_id=found.id, step=step, answer=answer, note=note, made_by=staff.id, made_at=now))
        session.flush()


def open_of_clinic(session: Session, clinic_id: int) -> list[Telling]:
    """What nobody has closed: what cannot wait first, then the oldest."""
    closed = select(TellingStepRow.telling_id).where(TellingStepRow.clinic_id == clinic_id, TellingStepRow.step == Step.CLOSED)
    found = _read(session, TellingRow.clinic_id == clinic_id, col(TellingRow.id).not_in(closed))
    return sorted(found, key=lambda t: (t.weight, t.told_at))


def of_child(session: Session, child: Child) -> list[Telling]:
    """The newest first."""
    return _read(session, TellingRow.child_id == child.id)[::-1]


def of_link(session: Session, by: Subscription) -> list[Telling]:
    """The newest first."""
    return _read(session, TellingRow.subscription_id == by.id)[::-1]


def one(session: Session, clinic_id: int, public_id: str) -> Telling:
    found = _read(session, TellingRow.clinic_id == clinic_id, TellingRow.public_id == public_id)
    if not found:
        raise NotFoundError
    return found[0]


def behind(session: Session, clinic_id: int, after: str | None, limit: int) -> list[Telling]:
    """One page of all that was ever told, oldest first; `after` is a public id."""
    return _read(session, col(TellingRow.id).in_(page_ids(session, TellingRow, TellingRow.clinic_id == clinic_id, after, limit)))


def _read(session: Session, *which: Any) -> list[Telling]:
    rows = session.exec(
        select(TellingRow, ChildRow, SubscriptionRow)
        .join(ChildRow, col(ChildRow.id) == col(TellingRow.child_id))
        .join(SubscriptionRow, col(SubscriptionRow.id) == col(TellingRow.subscription_id))
        .where(*which)
        .order_by(col(TellingRow.id))
    ).all()
    steps = _steps(session, [row.id for row, _, _ in rows if row.id is not None])
    return [_telling(row, child, link, steps) for row, child, link in rows]


def _steps(session: Session, ids: Sequence[int]) -> dict[tuple[int, str], tuple[TellingStepRow, str]]:
    made = select(TellingStepRow, StaffRow).join(StaffRow, col(StaffRow.id) == col(TellingStepRow.made_by)).where(col(TellingStepRow.telling_id).in_(ids))
    return {(step.telling_id, step.step): (step, who.name) for step, who in session.exec(made).all()}


def _telling(row: TellingRow, child: ChildRow, link: SubscriptionRow, steps: dict[tuple[int, str], tuple[TellingStepRow, str]]) -> Telling:
    assert row.id is not None
    taken, taken_by = steps.get((row.id, Step.TAKEN), (None, ""))
    closed, closed_by = steps.get((row.id, Step.CLOSED), (None, ""))
    return Telling(
        public_id=row.public_id,
        child_public_id=child.public_id,
        child_name=child.short_name,
        subscription_id=row.subscription_id,
        caregiver=link.caregiver,
        about=About(row.about),
        eye=Laterality(row.eye) if row.eye else None,
        text=row.text,
        told_at=row.told_at,
        taken_by=taken_by,
        taken_at=taken.made_at if taken else None,
        closed_by=closed_by,
        closed_at=closed.made_at if closed else None,
        answer=closed.answer if closed else "",
        note=closed.note if closed else "",
    )
