"""What an administrator settles for the whole clinic: who may sign what, and the clinic's own pathway text."""

from collections.abc import Collection
from datetime import datetime
from hashlib import sha256

from sqlmodel import Session

from service.access import require_administrator
from service.errors import ChangedMeanwhileError
from service.facts import Role, SignedKind, Staff
from service.store import people, trail
from shared.errors import ClinicalInputError
from shared.findings import msg

SIGNERS = tuple(role for role in Role if role is not Role.RECEPTION)  # reception signs nothing, whatever a clinic may wish
PATHWAY_LONGEST = 2000
Rights = frozenset[tuple[Role, SignedKind]]


def digest(rights: Rights, pathway: str) -> str:
    """Stands for what the administrator saw before changing it."""
    return sha256(repr((sorted(rights), pathway)).encode()).hexdigest()[:16]


def settle(session: Session, staff: Staff, rights: Collection[tuple[Role, SignedKind]], pathway: str, seen: str, now: datetime) -> None:
    """Raises `NotAllowedError`, `ChangedMeanwhileError`, `ClinicalInputError` where a kind of document would be left without a signer."""
    require_administrator(staff)
    people.lock_clinic(session, staff.clinic_id)
    before, text = people.sign_rights(session, staff.clinic_id), people.clinic(session, staff.clinic_id).not_brought_pathway
    if digest(before, text) != seen:
        raise ChangedMeanwhileError
    wanted = frozenset((role, kind) for role, kind in rights if role in SIGNERS)
    for kind in SignedKind:
        if not any(k is kind for _, k in wanted):
            raise ClinicalInputError(f"orthoptist_{kind}", msg("Nobody could sign %(kind)s; please leave at least one role.", kind=kind))
    people.set_sign_rights(session, staff.clinic_id, wanted)
    people.set_pathway(session, staff.clinic_id, pathway)
    detail = {"given": sorted(f"{r} {k}" for r, k in wanted - before), "taken": sorted(f"{r} {k}" for r, k in before - wanted), "pathway": pathway != text}
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="settle-clinic", subject=staff.public_id, detail=detail)
