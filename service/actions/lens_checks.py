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
from shared.findings import msg
from shared.lens_words import LensMaterial
from shared.optics.lens_range import CURVE_LIMITS_MM, DIAMETER_LIMITS_MM
from shared.optics.made_lens import Checked, check_contact_lens, check_segment, check_spectacle_lens
from shared.optics.refraction import CYLINDER_LIMIT, SPHERE_LIMITS, SpheroCylinder
from shared.vocabulary import CorrectionKind, Laterality

# what may be measured: field -> (lowest, highest, unit); the first is needed where anything of an eye is given
MEASURED = {
    CorrectionKind.SPECTACLES: {
        "sphere": (*SPHERE_LIMITS, "D"),
        "cylinder": (-CYLINDER_LIMIT, CYLINDER_LIMIT, "D"),
        "axis": (0.0, 180.0, "degrees"),
        "addition": (0.0, 6.0, "D"),
        "segment_height_mm": (5.0, 40.0, "mm"),
        "prism": (0.0, 20.0, "prism dioptres"),
    },
    CorrectionKind.CONTACT_LENS: {"power": (*SPHERE_LIMITS, "D"), "base_curve_mm": (*CURVE_LIMITS_MM, "mm"), "diameter_mm": (*DIAMETER_LIMITS_MM, "mm")},
}


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
    _check_given(document, measured)
    for eye in document.eyes:
        if eye in measured:
            check_eye(document, eye, measured[eye])
    lenses.add_check(session, child, document.public_id, staff, measured, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="check-made-lens", subject=document.public_id)


def _check_given(document: SignedCorrection, measured: Measurements) -> None:
    fields = MEASURED[document.kind]
    needed = next(iter(fields))
    if not measured:
        raise ClinicalInputError(f"{document.eyes[0]}_{needed}", msg("Please give what was measured, for at least one eye."))
    for eye, values in measured.items():
        if eye not in document.eyes:
            raise ClinicalInputError(f"{eye}_{needed}", msg("This correction was not signed for the %(eye)s eye.", eye=Laterality(eye)))
        for name in values:
            if name not in fields:
                raise ClinicalInputError(f"{eye}_{name}", msg("This is not measured of %(kind)s.", kind=document.kind))
        if needed not in values:
            raise ClinicalInputError(f"{eye}_{needed}", msg("The power is needed: nothing else is judged without it."))
