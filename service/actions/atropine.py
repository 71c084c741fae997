"""Drops of atropine as a regimen: a published schedule, the eye said in full, signed by whom the clinic lets prescribe."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from typing import Any

from sqlmodel import Session

from schedules.regimen import Drops, Regimen
from service.access import require_signature
from service.actions.regimens import store
from service.clock import local_today
from service.documents import finding_to_json, message_to_json
from service.errors import ChangedSinceSeenError
from service.facts import Child, SignedKind, Staff
from service.store import children, signed
from shared.errors import ClinicalInputError
from shared.findings import Message, msg
from shared.treatment.atropine import CAUTIONS, ends_by, finding, schedules, second_look
from shared.treatment.dose import NoPublishedDose, OcclusionFacts
from shared.treatment.grace import DROPS_DAYS
from shared.treatment.protocol import Row
from shared.vocabulary import Laterality, MissingCorrectionRule, Phase

Facts = OcclusionFacts | None  # None: no eye is known to be amblyopic


@dataclass(frozen=True)
class DropDraft:
    """What the prescriber chose: `rule` names a published schedule. `reason` and `confirmed` answer a second look, where there is one."""

    rule: str
    start_on: date
    review_on: date
    drop_eye: Laterality | None
    reason: str
    confirmed: bool
    grace_days: int = 0
    cautions_read: bool = False


@dataclass(frozen=True)
class DropPlan:
    """The regimen as it would be signed; `digest` stands for what the prescriber saw."""

    draft: DropDraft
    schedule: Row
    asked: Message | None
    regimen: Regimen

    @property
    def digest(self) -> str:
        r = self.regimen
        return sha256(repr((r.number, self.schedule.rule, r.start_on, r.review_on, r.grace_days, r.drops, self.asked)).encode()).hexdigest()[:16]


def offered(facts: Facts) -> tuple[Row, ...] | NoPublishedDose:
    """The published schedules for the child, or why there are none."""
    if facts is None:
        return NoPublishedDose(msg("No eye is recorded as amblyopic, and every published schedule is for one that is."))
    return schedules(facts)


def work_out(child: Child, facts: Facts, draft: DropDraft, number: int, today: date) -> DropPlan:
    """Raises `ClinicalInputError` naming the field."""
    found = offered(facts)
    if isinstance(found, NoPublishedDose):
        raise ClinicalInputError("rule", found.reason)
    schedule = next((row for row in found if row.rule == draft.rule), None)
    if schedule is None:
        raise ClinicalInputError("rule", msg("Please choose one of the published schedules for this child."))
    assert facts is not None
    if draft.start_on < today:
        raise ClinicalInputError("start_on", msg("%(on)s has passed; a plan starts today or later, so that past days stay as they were.", on=draft.start_on))
    last = ends_by(schedule, draft.start_on)
    if draft.review_on > last:
        raise ClinicalInputError("review_on", msg("The trial of this schedule ran no longer: choose a review on %(last)s or earlier.", last=last))
    most = min(DROPS_DAYS, (last - draft.review_on).days)
    if draft.grace_days > most:
        refused = msg("Drops go on unseen for a week at most, and no longer than the trial of this schedule ran: up to %(most)s days here.", most=most)
        raise ClinicalInputError("grace_days", refused)
    asked = second_look(facts)
    _check_eye(child, draft)
    if asked is not None and not draft.reason:
        raise ClinicalInputError("reason", msg("%(asked)s Please say why the drop is right all the same.", asked=asked))
    if asked is not None and not draft.confirmed:
        raise ClinicalInputError("confirmed", msg("%(asked)s Please confirm it.", asked=asked))
    regimen = Regimen(
        number=number,
        phase=Phase.ATROPINE,
        start_on=draft.start_on,
        review_on=draft.review_on,
        covered_eye=None,
        doses=(),
        missing_correction=MissingCorrectionRule.HOLD_AND_RING,
        drops=Drops(draft.drop_eye, schedule.pattern) if draft.drop_eye else None,
        grace_days=draft.grace_days,
    )
    return DropPlan(draft, schedule, asked, regimen)


def _check_eye(child: Child, draft: DropDraft) -> None:
    """The published drop goes into the fellow eye and nowhere else; it is said all the same, in full."""
    amblyopic = child.amblyopic_eye.laterality
    if draft.drop_eye is None:
        raise ClinicalInputError("drop_eye", msg("Which eye has the drop?"))
    if amblyopic is None or draft.drop_eye is amblyopic:
        refused = msg("The %(eye)s eye is the amblyopic one: every published schedule puts the drop into the other.", eye=draft.drop_eye)
        raise ClinicalInputError("drop_eye", refused)


def sign(session: Session, staff: Staff, child: Child, facts_of: Callable[[], Facts], draft: DropDraft, seen: str, now: datetime) -> str:
    """The revision's public id; `seen` is the digest of what the prescriber was shown.

    Raises `NotAllowedError` for a role that may not sign atropine, `ChangedSinceSeenError`, or `ClinicalInputError` naming the field.
    """
    require_signature(session, staff, SignedKind.ATROPINE)
    children.facts_changed(session, child.id)
    found = work_out(child, facts_of(), draft, signed.next_number(session, child), local_today(now, child.time_zone))
    if found.digest != seen:
        raise ChangedSinceSeenError("start_on", msg("The plan has changed since it was shown; please look at the dates below and sign again."))
    if not draft.cautions_read:
        raise ClinicalInputError("cautions_read", msg("Please confirm that you have read the cautions."))
    return store(session, staff, child, found.regimen, _content(found), now)


def _content(found: DropPlan) -> dict[str, Any]:
    content: dict[str, Any] = {"schedule": finding_to_json(finding(found.schedule)), "cautions": [message_to_json(c) for c in CAUTIONS]}
    if found.asked is not None:
        content |= {"asked": message_to_json(found.asked), "reason": found.draft.reason}
    return content
