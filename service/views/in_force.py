"""Which signed corrections still hold for an eye, and what follows: the newest of their kind, and none from before an operation on it."""

from datetime import date
from enum import StrEnum

from service.facts import Child, SignedCorrection
from service.facts_of_lenses import LedgerLens
from service.views.case import Case
from shared.course.review_facts import ChangedEye, NearInForce
from shared.vocabulary import CorrectionKind, Laterality, Operation, OpticalStatus, Phase


class Standing(StrEnum):
    """What a signed correction is for an eye today."""

    IN_FORCE = "in-force"
    SUPERSEDED = "superseded"
    BARRED = "barred"


def barred(child: Child, document: SignedCorrection, eye: Laterality, today: date) -> bool:
    """Measured before the eye's optics were last changed."""
    changed = child.changed_on(eye, today)
    return changed is not None and document.visit_on < changed


def newest_correction(c: Case, kind: CorrectionKind, eye: Laterality) -> SignedCorrection | None:
    return next((d for d in reversed(c.corrections) if d.kind is kind and eye in d.eyes), None)


def standing(c: Case, document: SignedCorrection, eye: Laterality) -> Standing:
    if barred(c.child, document, eye, c.today):
        return Standing.BARRED
    newest = newest_correction(c, document.kind, eye)
    return Standing.IN_FORCE if newest and newest.public_id == document.public_id else Standing.SUPERSEDED


def correction_in_force(c: Case, kind: CorrectionKind, eye: Laterality) -> SignedCorrection | None:
    """The newest of its kind for an eye, unless that one is barred."""
    newest = newest_correction(c, kind, eye)
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


def lens_documents(c: Case) -> dict[Laterality, SignedCorrection]:
    """The contact lens in force of each eye that has one."""
    found = {eye: correction_in_force(c, CorrectionKind.CONTACT_LENS, eye) for eye in Laterality}
    return {eye: document for eye, document in found.items() if document}


def lens_eyes(c: Case) -> tuple[Laterality, ...]:
    """Aphakic eyes with a contact lens in force."""
    return tuple(eye for eye in lens_documents(c) if c.child.status(eye, c.today) is OpticalStatus.APHAKIC)


def uncorrected(c: Case, eye: Laterality) -> bool:
    """Neither a lens nor spectacles hold for it."""
    return not any(correction_in_force(c, kind, eye) for kind in CorrectionKind)


def uncorrected_aphakic(c: Case) -> tuple[Laterality, ...]:
    return tuple(eye for eye in Laterality if c.child.status(eye, c.today) is OpticalStatus.APHAKIC and uncorrected(c, eye))


def lens_standing(c: Case, lens: LedgerLens) -> Standing:
    """As the document stands from which it was ordered."""
    return standing(c, next(d for d in c.corrections if d.public_id == lens.made.correction_id), lens.made.eye)


def near_in_force(c: Case) -> tuple[NearInForce, ...]:
    found = []
    for eye in Laterality:
        lens, glasses = (correction_in_force(c, kind, eye) for kind in (CorrectionKind.CONTACT_LENS, CorrectionKind.SPECTACLES))
        if lens and glasses:
            found.append(NearInForce(eye, lens.near_dioptres(eye), glasses.near_dioptres(eye)))
    return tuple(found)


def over_refractions(c: Case) -> tuple[float, float] | None:
    """Over the lenses worn at the newest visit, spherical equivalents in D; None unless both eyes have one."""
    newest = c.visits[-1] if c.visits else None
    powers = [newest.eyes[eye].over_refraction for eye in Laterality] if newest else []
    right, left = powers or (None, None)
    return (right.spherical_equivalent, left.spherical_equivalent) if right and left else None


def stopped_on(c: Case) -> date | None:
    """The first day of a stop after which nothing was signed."""
    return c.newest.regimen.start_on if c.newest and c.newest.regimen.phase is Phase.STOP else None


def changed_eyes(c: Case) -> tuple[ChangedEye, ...]:
    """Operations after which something has still to be signed."""
    found = []
    for operation in c.operations:
        eye, after = operation.eye, operation.operation.to_status
        optical = eye is not None and after is not None and after.operated and c.child.changed_on(eye, c.today) == operation.on
        unsigned = optical and eye is not None and uncorrected(c, eye)
        paused = c.newest is not None and c.newest.content.get("operation") == operation.public_id
        if unsigned or paused:
            found.append(ChangedEye(eye, operation.on, unsigned, paused))
    return tuple(found)


def baseline_from(c: Case) -> date | None:
    """The day on which acuities began to be compared anew: that of the last squint surgery."""
    return max((o.on for o in c.operations if o.operation is Operation.SQUINT_SURGERY), default=None)
