"""Which signed corrections and which lenses still hold for an eye: the newest of their kind, and none from before an operation on it."""

from datetime import date

from service.clock import local_today
from service.facts import Child, SignedCorrection
from service.facts_of_care import LedgerLens
from service.views.case import Case
from shared.ledger import Lens, spare_valid_until
from shared.review_facts import ChangedEye, NearInForce
from shared.vocabulary import CorrectionKind, Laterality, OpticalStatus, Phase


def barred(child: Child, document: SignedCorrection, eye: Laterality, today: date) -> bool:
    """Measured before the eye's optics were last changed."""
    changed = child.changed_on(eye, today)
    return changed is not None and document.visit_on < changed


def correction_in_force(c: Case, kind: CorrectionKind, eye: Laterality) -> SignedCorrection | None:
    newest = next((d for d in reversed(c.corrections) if d.kind is kind and eye in d.eyes), None)
    return newest if newest and not barred(c.child, newest, eye, c.today) else None


def documents_in_force(c: Case) -> list[tuple[SignedCorrection, tuple[Laterality, ...]]]:
    """Each document with the eyes for which it holds, newest first."""
    held: dict[str, tuple[SignedCorrection, list[Laterality]]] = {}
    for kind in CorrectionKind:
        for eye in Laterality:
            document = correction_in_force(c, kind, eye)
            if document:
                held.setdefault(document.public_id, (document, []))[1].append(eye)
    return [(document, tuple(eyes)) for document, eyes in sorted(held.values(), key=lambda h: h[0].signed_at, reverse=True)]


def near_in_force(c: Case) -> tuple[NearInForce, ...]:
    found = []
    for eye in Laterality:
        lens, glasses = (correction_in_force(c, kind, eye) for kind in (CorrectionKind.CONTACT_LENS, CorrectionKind.SPECTACLES))
        if lens and glasses:
            found.append(NearInForce(eye, lens.near_dioptres(eye), glasses.near_dioptres(eye)))
    return tuple(found)


def lens_eyes(c: Case) -> tuple[Laterality, ...]:
    """Aphakic eyes with a contact lens in force."""
    aphakic = [eye for eye in Laterality if c.child.status(eye, c.today) is OpticalStatus.APHAKIC]
    return tuple(eye for eye in aphakic if correction_in_force(c, CorrectionKind.CONTACT_LENS, eye))


def lens_barred(child: Child, lens: LedgerLens, today: date) -> bool:
    """Ordered before the eye's optics were last changed."""
    changed = child.changed_on(lens.eye, today)
    return changed is not None and lens.entries[0].on < changed


def ledger_lens(c: Case, lens: LedgerLens) -> Lens:
    """A lens as the rules see it."""
    first, last = lens.entries[0], lens.last
    return Lens(lens.eye, lens.power, last.state, last.on, spare_valid_until(first.on), lens_barred(c.child, lens, c.today))


def changed_eyes(c: Case) -> tuple[ChangedEye, ...]:
    """Operations after which something has still to be signed."""
    found = []
    newest = c.newest
    for operation in c.operations:
        paused = newest is not None and newest.regimen.phase is Phase.PAUSE and newest.content.get("operation") == operation.public_id
        eyes = (operation.eye,) if operation.eye else tuple(Laterality)
        for eye in eyes:
            after = operation.operation.to_status
            optical = after is not None and after.operated and c.child.changed_on(eye, c.today) == operation.on
            unsigned = optical and not any(correction_in_force(c, kind, eye) for kind in CorrectionKind)
            if unsigned or (paused and eye is eyes[0]):
                found.append(ChangedEye(eye, operation.on, unsigned, paused and eye is eyes[0]))
    return tuple(found)


def over_refractions(c: Case) -> tuple[float, float] | None:
    """Over the lenses worn at the newest visit, spherical equivalents in D; None unless both eyes have one."""
    newest = c.visits[-1] if c.visits else None
    powers = [newest.eyes[eye].over_refraction for eye in Laterality] if newest else []
    right, left = powers or (None, None)
    return (right.spherical_equivalent, left.spherical_equivalent) if right and left else None


def stopped_on(c: Case) -> date | None:
    newest = c.newest
    return local_today(newest.signed_at, c.child.time_zone) if newest and newest.regimen.phase is Phase.STOP else None
