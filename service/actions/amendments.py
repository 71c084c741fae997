"""Short signed changes to what is going on: a pause, a stop, a treatment break, a telephone extension."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from sqlmodel import Session

from schedules.regimen import Regimen, in_force
from service.access import require_signature
from service.actions.regimens import store
from service.clock import local_today
from service.errors import NotAllowedError
from service.facts import Child, Role, SignedKind, SignedRegimen, Staff
from service.store import children, signed
from shared.dates import completed_months
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.treatment.dose import DatedDose
from shared.vocabulary import MissingCorrectionRule, Phase

# How far a plan may be carried on without seeing the child (common practice): less for an infant, whose dose and eye change fastest.
LONGEST_EXTENSION = timedelta(days=14)
LONGEST_EXTENSION_INFANT = timedelta(days=7)
INFANT_MONTHS = 12
_CARRIED = ("proposal", "own_minutes", "clinic_protocol", "own_reason", "covered_reason")  # what the new revision still rests on


def decide(session: Session, staff: Staff, child: Child, phase: Phase, review_on: date | None, reason: str, now: datetime) -> str:
    """A pause or a stop, from today; reaches pages and feeds by the new revision and families by the outbox. Returns the revision's public id.

    Raises `NotAllowedError` for a role that may not sign occlusion, `ClinicalInputError` naming the field.
    """
    require_signature(session, staff, SignedKind.OCCLUSION)
    children.facts_changed(session, child.id)
    return _without_patch(session, staff, child, phase, review_on, {"decision": phase, "reason": reason}, now)


def suspend(session: Session, staff: Staff, child: Child, review_on: date, content: Mapping[str, Any], now: datetime) -> str:
    """A pause that another signed step brings with it; whoever calls has the right to that step and the child's lock."""
    return _without_patch(session, staff, child, Phase.PAUSE, review_on, {"decision": Phase.PAUSE, **content}, now)


def _without_patch(session: Session, staff: Staff, child: Child, phase: Phase, review_on: date | None, content: Mapping[str, Any], now: datetime) -> str:
    regimen = Regimen(
        number=signed.next_number(session, child),
        phase=phase,
        start_on=local_today(now, child.time_zone),
        review_on=review_on,
        covered_eye=None,
        doses=(),
        missing_correction=MissingCorrectionRule.HOLD_AND_RING,
    )
    return store(session, staff, child, regimen, content, now)


def take_break(session: Session, staff: Staff, child: Child, from_on: date, until_on: date, reason: str, now: datetime) -> str:
    """No patch on the half-open days from `from_on` to `until_on`, then the same dose again until the same review: one new revision.

    Raises `NotAllowedError` for a role that may not sign occlusion, `ClinicalInputError` naming the field.
    """
    require_signature(session, staff, SignedKind.OCCLUSION)
    children.facts_changed(session, child.id)
    if from_on < local_today(now, child.time_zone):
        raise ClinicalInputError("from_on", msg("%(on)s has passed; a break begins today or later, so that past days stay as they were.", on=from_on))
    base = _running(signed.regimens(session, child), from_on, "from_on")
    r = base.regimen
    if r.phase is not Phase.OCCLUSION or r.review_on is None:
        raise ClinicalInputError("from_on", msg("No patch is signed for %(on)s, so there is nothing to break off.", on=from_on))
    if not from_on < until_on < r.review_on:
        raise ClinicalInputError(
            "until_on",
            msg("A break ends after %(from_on)s and before the review, %(review_on)s. For a longer one sign a pause.", from_on=from_on, review_on=r.review_on),
        )
    later = [d for d in r.doses if d.from_on > until_on]
    held = r.dose_on(until_on)
    assert held is not None
    regimen = Regimen(
        number=signed.next_number(session, child),
        phase=r.phase,
        start_on=from_on,
        review_on=r.review_on,
        covered_eye=r.covered_eye,
        doses=(DatedDose(from_on, 0), replace(held, from_on=until_on), *later),
        missing_correction=r.missing_correction,
        grace_days=r.grace_days,
        turn_days=r.turn_days,
    )
    content = {**_carried(base), "decision": "break", "reason": reason, "break": [from_on.isoformat(), until_on.isoformat()]}
    return store(session, staff, child, regimen, content, now)


@dataclass(frozen=True)
class Extension:
    """What a telephone extension carries on: the last day's dose from `start_on`, its review no later than `last_on`."""

    base: SignedRegimen
    dose: DatedDose | None  # None: glasses alone
    start_on: date
    last_on: date


def extension(child: Child, found: Sequence[SignedRegimen], today: date) -> Extension:
    """The one extension the newest revision allows. Raises `ClinicalInputError` where there is none."""
    base = found[-1] if found else None
    r = base.regimen if base else None
    if base is None or r is None or r.ends_on is None or r.phase not in (Phase.OCCLUSION, Phase.REFRACTIVE_ADAPTATION):
        raise ClinicalInputError("extend_to", msg("There is no plan with an end that could be carried on."))
    if "extension_of" in base.content:
        raise ClinicalInputError("extend_to", msg("This plan was already extended once, until %(on)s: see the child.", on=r.ends_on))
    longest = LONGEST_EXTENSION_INFANT if completed_months(child.born_on, today) < INFANT_MONTHS else LONGEST_EXTENSION
    longest -= timedelta(days=r.grace_days)
    if longest <= timedelta(0):
        raise ClinicalInputError("extend_to", msg("The days past the review that were signed are as many as may go by unseen: see the child."))
    if today - r.ends_on > longest:
        raise ClinicalInputError("extend_to", msg("The plan ended on %(on)s, too long ago to carry it on unseen.", on=r.ends_on))
    start_on = max(today, r.ends_on)
    return Extension(base, r.dose_on(r.ends_on - timedelta(days=1)), start_on, start_on + longest)


def extend(session: Session, staff: Staff, child: Child, review_on: date, reason: str, now: datetime) -> str:
    """By telephone, because the review slipped: the last day's dose goes on for a little while, once. Returns the revision's public id.

    Raises `NotAllowedError` for reception and for a role that may not sign occlusion, `ClinicalInputError` naming the field.
    """
    if staff.role is Role.RECEPTION:
        raise NotAllowedError
    require_signature(session, staff, SignedKind.OCCLUSION)
    children.facts_changed(session, child.id)
    carried = extension(child, signed.regimens(session, child), local_today(now, child.time_zone))
    r, start_on = carried.base.regimen, carried.start_on
    if not start_on < review_on <= carried.last_on:
        refused = msg("An extension ends between %(first)s and %(last)s.", first=start_on + timedelta(days=1), last=carried.last_on)
        raise ClinicalInputError("extend_to", refused)
    regimen = Regimen(
        number=signed.next_number(session, child),
        phase=r.phase,
        start_on=start_on,
        review_on=review_on,
        covered_eye=r.covered_eye,
        doses=(replace(carried.dose, from_on=start_on),) if carried.dose else (),
        missing_correction=r.missing_correction,
        turn_days=r.turn_days,
    )
    content = {**_carried(carried.base), "decision": "extension", "reason": reason, "extension_of": carried.base.public_id}
    return store(session, staff, child, regimen, content, now)


def _running(found: list[SignedRegimen], on: date, field: str) -> SignedRegimen:
    """The revision of a day, where no other was signed after it. Raises `ClinicalInputError`."""
    regimen = in_force([s.regimen for s in found], on)
    base = next((s for s in found if s.regimen is regimen), None)
    if base is None:
        raise ClinicalInputError(field, msg("No plan is in force on %(on)s.", on=on))
    if base is not found[-1]:
        newest = found[-1].regimen
        raise ClinicalInputError(field, msg("Revision %(n)s, from %(on)s, is signed already and comes after it.", n=newest.number, on=newest.start_on))
    return base


def _carried(base: SignedRegimen) -> dict[str, Any]:
    return {name: base.content[name] for name in _CARRIED if name in base.content}
