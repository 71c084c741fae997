"""What an administrator sets for the reviews of the whole clinic, with the reason."""

from datetime import datetime

from sqlmodel import Session

from service.access import require_administrator
from service.facts import Staff
from service.store import clinic_rules, trail
from shared.course.limits import ReviewLimits
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.rules import RULES


def settle(session: Session, staff: Staff, limits: ReviewLimits, reason: str, seen: int, now: datetime) -> None:
    """`seen` is the number of the version that was looked at. Raises `NotAllowedError`, `ChangedMeanwhileError`, `ClinicalInputError` naming the field."""
    require_administrator(staff)
    before = clinic_rules.newest(session, staff.clinic_id).limits
    unknown = sorted(limits.rules_off - RULES.keys())
    if unknown:
        raise ClinicalInputError("rules_off", msg("“%(rule)s” is not a rule.", rule=unknown[0]))
    if limits == before:
        raise ClinicalInputError("reason", msg("Nothing was changed."))
    if not reason:
        raise ClinicalInputError("reason", msg("Please say who decided this, and why; it is kept."))
    clinic_rules.add(session, staff, limits, seen + 1, reason, now)
    detail = {"off": sorted(limits.rules_off - before.rules_off), "on": sorted(before.rules_off - limits.rules_off), "reason": reason}
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="settle-rules", subject=staff.public_id, detail=detail)
