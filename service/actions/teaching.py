"""What the clinic writes for families, and what it records that somebody has learnt."""

from datetime import date, datetime

from sqlmodel import Session

from service.access import require_administrator, require_recorder
from service.actions import versions
from service.clock import local_today
from service.errors import ChangedMeanwhileError
from service.facts import Child, Staff
from service.facts_of_teaching import FamilyTexts, Level, Skill
from service.store import links, teaching, trail
from shared.errors import ClinicalInputError
from shared.findings import msg


def enter_texts(session: Session, staff: Staff, texts: FamilyTexts, seen: int, now: datetime) -> str:
    """The version after the one that was `seen` (0: none). Raises `ChangedMeanwhileError` where there is one already."""
    require_administrator(staff)
    if len(teaching.texts(session, staff.clinic_id)) != seen:
        raise ChangedMeanwhileError
    return versions.audit(session, staff, "family-texts", teaching.add_texts(session, staff, texts, seen + 1, now), "", seen + 1, now)


def record(session: Session, staff: Staff, child: Child, link_id: str, skill: Skill, level: Level, on: date, now: datetime) -> str:
    """Raises `NotAllowedError` for a role that does not examine, `NotFoundError` for a closed link, `ClinicalInputError` naming `on`."""
    require_recorder(staff)
    if not child.born_on <= on <= local_today(now, child.time_zone):
        raise ClinicalInputError("on", msg("%(on)s lies in the future, or before the child's birth.", on=on))
    link = links.open_subscription(session, child, link_id)
    public_id = teaching.add_learnt(session, staff, child, link, skill, level, on, now)
    trail.audit(session, child.clinic_id, at=now, who=staff.public_id, action="record-learnt", subject=public_id, detail={"skill": skill, "level": int(level)})
    return public_id
