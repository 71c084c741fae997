"""Which signed corrections hold for an eye, and what follows from them."""

from datetime import date

from service.facts import SignedCorrection
from service.views.case import Case
from shared.review_facts import NearInForce
from shared.vocabulary import CorrectionKind, Laterality, Phase


def correction_in_force(c: Case, kind: CorrectionKind, eye: Laterality) -> SignedCorrection | None:
    """The newest of its kind for an eye."""
    return next((d for d in reversed(c.corrections) if d.kind is kind and eye in d.eyes), None)


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


def over_refractions(c: Case) -> tuple[float, float] | None:
    """Over the lenses worn at the newest visit, spherical equivalents in D; None unless both eyes have one."""
    newest = c.visits[-1] if c.visits else None
    powers = [newest.eyes[eye].over_refraction for eye in Laterality] if newest else []
    right, left = powers or (None, None)
    return (right.spherical_equivalent, left.spherical_equivalent) if right and left else None


def stopped_on(c: Case) -> date | None:
    """The first day of a stop after which nothing was signed."""
    return c.newest.regimen.start_on if c.newest and c.newest.regimen.phase is Phase.STOP else None
