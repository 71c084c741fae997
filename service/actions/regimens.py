"""Proposal, plan and signature of a regimen."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import Any

from sqlmodel import Session

from schedules.regimen import Regimen
from schedules.reminders import ReminderKind
from service.access import require_signature
from service.actions.reminders import announce
from service.clock import local_today
from service.documents import finding_to_json, message_to_json
from service.errors import ChangedSinceSeenError
from service.facts import Child, SignedKind, Staff
from service.facts_of_protocols import EnteredProtocol
from service.store import children, clinic_protocols, signed, trail
from shared.dates import completed_months
from shared.errors import ClinicalInputError
from shared.findings import Message, msg
from shared.rounding import round_half_up
from shared.treatment.dose import DatedDose, NoPublishedDose, OcclusionFacts, Proposal
from shared.treatment.grace import GraceLimit, longest_grace
from shared.treatment.occlusion import dated_doses, propose
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, MissingCorrectionRule, OpticalStatus, Phase, Status

Facts = OcclusionFacts | None  # None: no eye is known to be amblyopic


@dataclass(frozen=True)
class Draft:
    """What the signer chose. `own_minutes` None: the proposal's dose. Reasons are "" where none was needed."""

    phase: Phase
    start_on: date
    review_on: date | None
    covered_eye: Laterality | None
    own_minutes: int | None
    own_reason: str
    covered_reason: str
    covered_confirmed: bool
    missing_correction: MissingCorrectionRule
    decision: str = ""
    cautions_read: bool = False
    own_pattern: Pattern = Pattern.DAILY
    own_weekdays: tuple[int, ...] = ()  # in place of a pattern
    grace_days: int = 0
    turn_days: int = 0  # the eyes alternate: days with a patch on the covered eye before one on the other
    protocol_id: str = ""  # of the clinic's own, in place of the proposed dose and of one's own


@dataclass(frozen=True)
class NotEnoughKnown:
    """A fact is missing or cannot be: the rules were not asked, which is not the same as an answer of theirs."""

    reason: Message


Answer = Proposal | NoPublishedDose | NotEnoughKnown


@dataclass(frozen=True)
class Offered:
    """A protocol of the clinic that is for this child: minutes on a day of its pattern, and how they came about. None where waking hours are not known."""

    entered: EnteredProtocol
    minutes: int | None
    working: Message


@dataclass(frozen=True)
class Worked:
    """A plan with every date's minutes worked out; `digest` stands for what the signer saw."""

    draft: Draft
    proposal: Answer
    regimen: Regimen
    protocol: Offered | None

    @property
    def digest(self) -> str:
        r, p = self.regimen, self.proposal
        proposed = (p.rule, p.minutes_per_day) if isinstance(p, Proposal) else None
        protocol = self.protocol.entered.public_id if self.protocol else None
        seen = (
            r.number,
            proposed,
            protocol,
            r.phase,
            r.start_on,
            r.review_on,
            r.covered_eye,
            r.missing_correction,
            r.grace_days,
            r.turn_days,
            [(d.from_on, d.minutes, d.pattern, d.weekdays) for d in r.doses],
        )
        return sha256(repr(seen).encode()).hexdigest()[:16]


def whole_minutes(hours: float) -> int:
    return int(round_half_up(hours * 60))


def answer(facts: Facts) -> Answer:
    """The rules' answer, or why they could not be asked."""
    if facts is None:
        return NoPublishedDose(msg("No eye is recorded as amblyopic, and every published dose is for one that is."), ())
    try:
        return propose(facts)
    except ClinicalInputError as e:
        return NotEnoughKnown(e.message)


def offered(facts: Facts, entered: Sequence[EnteredProtocol]) -> tuple[Offered, ...]:
    """Those of the clinic's protocols that are for the child."""
    return () if facts is None else tuple(_offered(facts, e) for e in entered if e.protocol.takes(facts))


def _offered(facts: OcclusionFacts, entered: EnteredProtocol) -> Offered:
    try:
        return Offered(entered, *entered.protocol.minutes_a_day(facts))
    except ClinicalInputError as e:
        return Offered(entered, None, e.message)


def work_out(child: Child, facts: Facts, draft: Draft, number: int, today: date, entered: Sequence[EnteredProtocol] = ()) -> Worked:
    """`entered` are the clinic's protocols in force. Raises `ClinicalInputError` naming the field."""
    if draft.start_on < today:
        raise ClinicalInputError("start_on", msg("%(on)s has passed; a plan starts today or later, so that past days stay as they were.", on=draft.start_on))
    proposal = answer(facts)
    if draft.protocol_id and draft.own_minutes is not None:
        raise ClinicalInputError("own_minutes", msg("Choose one: the clinic's protocol, or a dose of your own."))
    chosen = next((o for o in offered(facts, entered) if o.entered.public_id == draft.protocol_id), None)
    if draft.protocol_id and (chosen is None or chosen.minutes is None):
        raise ClinicalInputError("dose", msg("This protocol of the clinic is not in force or not for this child: choose another dose."))
    regimen = _regimen(child, facts, draft, proposal, number, chosen)
    if draft.grace_days > (limit := grace_limit(child, facts, regimen)).days:
        refused = msg(
            "%(days)s days past the review are more than the %(most)s of this plan: %(reason)s.", most=limit.days, days=draft.grace_days, reason=limit.reason
        )
        raise ClinicalInputError("grace_days", refused)
    return Worked(draft, proposal, regimen, chosen)


def grace_limit(child: Child, facts: Facts, regimen: Regimen) -> GraceLimit:
    """How far the plan may go on past its review, by the most minutes of any of its days and the age at its start."""
    most = max((dose.minutes for dose in regimen.doses), default=0)
    return longest_grace(most, completed_months(child.born_on, regimen.start_on), facts.waking_hours if facts else None)


def _regimen(child: Child, facts: Facts, draft: Draft, proposal: Answer, number: int, chosen: Offered | None) -> Regimen:
    doses: tuple[DatedDose, ...] = ()
    departs = draft.phase is Phase.REFRACTIVE_ADAPTATION and isinstance(proposal, Proposal) and proposal.phase is Phase.OCCLUSION
    if departs and not draft.own_reason:
        raise ClinicalInputError("own_reason", msg("A patch is proposed and this plan has none: please say why; it is kept beside the proposal."))
    if draft.phase is Phase.OCCLUSION:
        _check_covered_eye(child, draft)
        if chosen is not None and chosen.minutes is not None:
            doses = (DatedDose(draft.start_on, chosen.minutes, chosen.entered.protocol.pattern),)
        elif draft.own_minutes is not None:
            if draft.own_minutes == 0:
                raise ClinicalInputError("own_minutes", msg("An occlusion of no time is none: choose refractive adaptation, a pause or a stop."))
            if not draft.own_reason:
                raise ClinicalInputError("own_reason", msg("A dose of your own needs a reason; it is kept beside the proposal."))
            doses = (DatedDose(draft.start_on, draft.own_minutes, draft.own_pattern, draft.own_weekdays),)
        elif not isinstance(proposal, Proposal) or proposal.phase is not Phase.OCCLUSION:
            raise ClinicalInputError("own_minutes", msg("No occlusion dose is proposed here: sign one of your own with a reason."))
        elif draft.review_on is None or draft.review_on <= draft.start_on:
            raise ClinicalInputError("review_on", msg("The review comes after the start."))
        else:
            assert facts is not None
            doses = dated_doses(facts, child.born_on, draft.start_on, draft.review_on + timedelta(days=draft.grace_days))
    return Regimen(
        number=number,
        phase=draft.phase,
        start_on=draft.start_on,
        review_on=draft.review_on,
        covered_eye=draft.covered_eye if draft.phase is Phase.OCCLUSION else None,
        doses=doses,
        missing_correction=draft.missing_correction,
        grace_days=draft.grace_days,
        turn_days=draft.turn_days,
    )


def covering_needs_reason(child: Child, draft: Draft) -> bool:
    """Covering the amblyopic or an operated eye, if only in turn with the other, is unusual: it wants a reason and a second confirmation."""
    if draft.covered_eye is None:
        return False
    eyes = (draft.covered_eye, draft.covered_eye.other) if draft.turn_days else (draft.covered_eye,)
    statuses = [child.status(eye, draft.start_on) for eye in eyes]
    return child.amblyopic_eye.laterality in eyes or any(status is not None and status.operated for status in statuses)


def _check_covered_eye(child: Child, draft: Draft) -> None:
    if draft.covered_eye is None:
        raise ClinicalInputError("covered_eye", msg("Which eye is covered?"))
    if child.status(draft.covered_eye, draft.start_on) is OpticalStatus.ABSENT:
        raise ClinicalInputError("covered_eye", msg("There is no %(eye)s eye to cover.", eye=draft.covered_eye))
    if child.status(draft.covered_eye.other, draft.start_on) is OpticalStatus.ABSENT:
        raise ClinicalInputError("covered_eye", msg("The %(eye)s eye is the only one this child has: it is not covered.", eye=draft.covered_eye))
    if covering_needs_reason(child, draft):
        if not draft.covered_reason:
            raise ClinicalInputError("covered_reason", msg("This covers the amblyopic or operated eye: please say why."))
        if not draft.covered_confirmed:
            raise ClinicalInputError("covered_confirmed", msg("This covers the amblyopic or operated eye: please confirm it."))


def sign(session: Session, staff: Staff, child: Child, facts_of: Callable[[], Facts], draft: Draft, seen: str, now: datetime) -> str:
    """The revision's public id; `seen` is the digest of what the signer was shown, `facts_of` reads the facts once nobody else can change them.

    Raises `NotAllowedError` for a role that may not sign, `ChangedSinceSeenError`, or `ClinicalInputError` naming the field.
    """
    require_signature(session, staff, SignedKind.OCCLUSION)
    children.facts_changed(session, child.id)
    today = local_today(now, child.time_zone)
    entered = clinic_protocols.in_force(session, child.clinic_id, today)
    worked = work_out(child, facts_of(), draft, signed.next_number(session, child), today, entered)
    if worked.digest != seen:
        raise ChangedSinceSeenError("start_on", msg("The plan has changed since it was shown; please look at the dates below and sign again."))
    if not draft.cautions_read:
        raise ClinicalInputError("cautions_read", msg("Please confirm that you have read the cautions."))
    return store(session, staff, child, worked.regimen, _content(worked), now)


def store(session: Session, staff: Staff, child: Child, regimen: Regimen, content: Mapping[str, Any], now: datetime) -> str:
    """A signed revision with its audit row and the families' messages; its public id. Whoever calls has checked the right to sign."""
    public_id = signed.add_regimen(session, child, staff, regimen, content, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="sign-regimen", subject=public_id, detail={"phase": regimen.phase})
    kind = {Phase.PAUSE: ReminderKind.PLAN_PAUSED, Phase.STOP: ReminderKind.PLAN_STOPPED}.get(regimen.phase, ReminderKind.PLAN_CHANGED)
    announce(session, child, kind, public_id, {"about_on": regimen.start_on.isoformat()}, now)
    return public_id


def _content(worked: Worked) -> dict[str, Any]:
    draft, proposal = worked.draft, worked.proposal
    content: dict[str, Any] = {"decision": draft.decision, "own_reason": draft.own_reason, "covered_reason": draft.covered_reason}
    if isinstance(proposal, NotEnoughKnown):
        content["not_enough_known"] = message_to_json(proposal.reason)
    elif isinstance(proposal, NoPublishedDose):
        content["no_published_dose"] = message_to_json(proposal.reason)
    else:
        content["proposal"] = {
            "minutes_per_day": proposal.minutes_per_day,
            "phase": proposal.phase,
            "rule": proposal.rule,
            "finding": finding_to_json(proposal.finding),
            "cautions": [message_to_json(c) for c in proposal.cautions],
        }
    if draft.own_minutes is not None:
        content["own_minutes"] = draft.own_minutes
    if worked.protocol is not None:
        protocol = worked.protocol.entered
        content["clinic_protocol"] = {
            "id": protocol.public_id,
            "name": protocol.protocol.name,
            "number": protocol.number,
            "author": protocol.protocol.author,
            "reference": protocol.protocol.reference,
            "near_work": protocol.protocol.near_work,
            "working": message_to_json(worked.protocol.working),
            "status": Status.COMMON_PRACTICE,
        }
    return content
