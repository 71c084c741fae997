"""A made-up lens against the signed correction it was ordered by. The order is never changed by it."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from service.access import require_recorder
from service.documents import power_from_json
from service.facts import Child, SignedCorrection, Staff
from service.facts_of_lenses import Measurements
from service.store import lenses, trail
from shared.errors import ClinicalInputError
from shared.lens_words import LensMaterial
from shared.made_lens import Checked, check_contact_lens, check_segment, check_spectacle_lens
from shared.refraction import SpheroCylinder
from shared.vocabulary import CorrectionKind, Laterality


def check_eye(document: SignedCorrection, eye: Laterality, measured: Mapping[str, float]) -> tuple[Checked, ...]:
    """Row by row, by what was measured. Raises `ClinicalInputError` naming the eye's field."""
    ordered = document.content["eyes"][eye]
    if document.kind is CorrectionKind.CONTACT_LENS:
        sizes = [(name, ordered.get(f"{name}_mm"), measured.get(f"{name}_mm")) for name in ("base_curve", "diameter")]
        return check_contact_lens(ordered["power"], measured["power"], judged_as(document, eye), sizes)
    try:
        made = SpheroCylinder(measured["sphere"], measured.get("cylinder", 0.0), measured.get("axis"))
    except ClinicalInputError as impossible:
        raise ClinicalInputError(f"{eye}_{impossible.field}", impossible.message) from impossible
    rows = check_spectacle_lens(power_from_json(ordered["power"]), made, measured.get("prism"))
    if ordered.get("addition") and "addition" in measured:
        rows += check_segment(ordered["addition"], measured["addition"], ordered["segment_height_mm"], measured.get("segment_height_mm"))
    return rows


def judged_as(document: SignedCorrection, eye: Laterality) -> LensMaterial:
    """The material of the order; where it states none, rigid, whose tolerances are the stricter."""
    return LensMaterial(document.content["eyes"][eye].get("material") or LensMaterial.RIGID_GAS_PERMEABLE)


def record(session: Session, staff: Staff, child: Child, document: SignedCorrection, measured: Measurements, now: datetime) -> None:
    """Raises `ClinicalInputError` naming the eye's field, `NotAllowedError` for a role that does not examine."""
    require_recorder(staff)
    for eye in document.eyes:
        if eye in measured:
            check_eye(document, eye, measured[eye])
    lenses.add_check(session, child, document.public_id, staff, measured, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="check-made-lens", subject=document.public_id)
