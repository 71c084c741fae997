"""Which language a link speaks, and that a clinic has checked a translation."""

from dataclasses import replace
from datetime import datetime

from sqlmodel import Session

from schedules.feed_style import Language
from service import catalogues
from service.access import require_administrator
from service.actions import links as actions
from service.errors import ChangedMeanwhileError
from service.facts import Child, Staff, Subscription
from service.store import languages, people, trail
from service.views.languages import offered
from shared.errors import ClinicalInputError
from shared.findings import msg


def choose(session: Session, link: Subscription, child: Child, language: Language, now: datetime) -> None:
    """By a family, among those that its clinic has checked. Raises `ClinicalInputError` naming `language`."""
    if language not in dict(offered(session, people.clinic(session, link.clinic_id))):
        raise ClinicalInputError("language", msg("The clinic has not checked this language yet."))
    actions.set_style(session, link, child, link.public_id, replace(link.style, language=language), now)


def mark_reviewed(session: Session, staff: Staff, language: Language, seen: str, now: datetime) -> None:
    """Raises `NotAllowedError` but for an administrator, `ChangedMeanwhileError` where the texts are not those that were `seen`."""
    require_administrator(staff)
    if seen != catalogues.digest(language):
        raise ChangedMeanwhileError
    languages.add_review(session, staff, language, seen, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="review-catalogue", subject=language, detail={"digest": seen})
