"""A clinic's texts for families, and what caregivers have learnt. Only ever added to."""

from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select

from service.facts import Child, Staff, Subscription
from service.facts_of_teaching import EnteredTexts, FamilyTexts, Learnt, Level, Skill, Topic
from service.store import versions as rows
from service.store.keyset import page_ids
from service.store.records import FamilyTextsRow, LearntRow, StaffRow, SubscriptionRow
from service.tokens import new_public_id


def add_texts(session: Session, staff: Staff, texts: FamilyTexts, number: int, now: datetime) -> str:
    """Version `number`. Raises `ChangedMeanwhileError` where somebody else has entered it."""
    row = FamilyTextsRow(
        clinic_id=staff.clinic_id,
        public_id=new_public_id(),
        number=number,
        content={topic.value: list(steps) for topic, steps in texts.steps.items()},
        entered_by=staff.id,
        entered_at=now,
    )
    return rows.add(session, row)


def texts(session: Session, clinic_id: int) -> list[EnteredTexts]:
    """Every version, the oldest first."""
    return [_entered(*found) for found in rows.of_clinic(session, FamilyTextsRow, clinic_id, "number")]


def texts_behind(session: Session, clinic_id: int, after: str | None, limit: int) -> list[EnteredTexts]:
    """One page of versions in the order they were entered; `after` is a public id."""
    return [_entered(*found) for found in rows.behind(session, FamilyTextsRow, clinic_id, after, limit)]


def _entered(r: FamilyTextsRow, who: str) -> EnteredTexts:
    content = {Topic(topic): tuple(steps) for topic, steps in r.content.items()}
    return EnteredTexts(r.public_id, r.number, FamilyTexts(content), who, r.entered_at)


def add_learnt(session: Session, staff: Staff, child: Child, link: Subscription, skill: Skill, level: Level, on: date, now: datetime) -> str:
    row = LearntRow(
        clinic_id=child.clinic_id,
        public_id=new_public_id(),
        child_id=child.id,
        subscription_id=link.id,
        skill=skill,
        level=level,
        on=on,
        recorded_by=staff.id,
        recorded_at=now,
    )
    session.add(row)
    session.flush()
    return row.public_id


def learnt(session: Session, child_id: int) -> list[Learnt]:
    """All that was recorded, the oldest first."""
    return _read(session, LearntRow.child_id == child_id)


def learnt_behind(session: Session, child: Child, after: str | None, limit: int) -> list[Learnt]:
    """One page in the order they were recorded; `after` is a public id."""
    return _read(session, col(LearntRow.id).in_(page_ids(session, LearntRow, LearntRow.child_id == child.id, after, limit)))


def _read(session: Session, which: Any) -> list[Learnt]:
    found = session.exec(
        select(LearntRow, StaffRow, SubscriptionRow)
        .join(StaffRow, col(StaffRow.id) == col(LearntRow.recorded_by))
        .join(SubscriptionRow, col(SubscriptionRow.id) == col(LearntRow.subscription_id))
        .where(which)
        .order_by(col(LearntRow.id))
    ).all()
    return [Learnt(r.public_id, r.subscription_id, link.caregiver, Skill(r.skill), Level(r.level), r.on, who.name, r.recorded_at) for r, who, link in found]


def levels(session: Session, link: Subscription) -> dict[Skill, Level]:
    """How far one caregiver has come; a skill of which nothing was recorded is not in it."""
    return {one.skill: one.level for one in learnt(session, link.child_id) if one.subscription_id == link.id}
