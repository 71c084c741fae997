"""From what was measured to a signed correction. The same working serves the page, the signature and the document."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from hashlib import sha256
from typing import Any

from sqlmodel import Session

from service.access import require_signature
from service.documents import finding_to_json, message_to_json, power_to_json
from service.facts import Child, EyeFindings, SignedKind, Staff, Visit
from service.store import children, signed, trail
from shared.aphakia import BUILT_IN_RANGE, LensPower, SpectaclePower, contact_lens, near_overcorrection, spectacles
from shared.dates import completed_months
from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Quantity, Unit, msg
from shared.refraction import SpheroCylinder, at_vertex_distance, net_of_working_distance, over_refraction_at_cornea
from shared.vocabulary import CorrectionKind, Laterality, NearPlane, OpticalStatus

SPECTACLE_STEP_DIOPTRES = 0.25


class PowerSource(StrEnum):
    """What the power of an eye is worked out from."""

    REFRACTION = "refraction"
    TRIAL_LENS = "trial-lens"


@dataclass(frozen=True)
class EyeOrder:
    source: PowerSource
    near_dioptres: float


@dataclass(frozen=True)
class Order:
    """What to work out. `vertex_distance_mm` is where the spectacles will sit; a contact lens needs none."""

    kind: CorrectionKind
    vertex_distance_mm: float
    eyes: Mapping[Laterality, EyeOrder]


@dataclass(frozen=True)
class WorkedEye:
    eye: Laterality
    order: EyeOrder
    at_cornea: SpheroCylinder
    near: Finding  # what the rule for this age proposes, beside what was ordered
    lens: LensPower | None
    spectacles: SpectaclePower | None
    steps: tuple[Message, ...]


def power_sources(f: EyeFindings) -> list[PowerSource]:
    """What this eye's findings allow."""
    found = [PowerSource.TRIAL_LENS] if f.over_refraction is not None else []
    return found + ([PowerSource.REFRACTION] if f.refraction is not None else [])


def near_rule(child: Child, visit: Visit, eye: Laterality) -> Finding:
    status = child.status(eye, visit.on) or OpticalStatus.PHAKIC
    return near_overcorrection(completed_months(child.born_on, visit.on), status)


def work_out(child: Child, visit: Visit, order: Order) -> tuple[WorkedEye, ...]:
    """Raises `ClinicalInputError` naming the eye's field."""
    if not order.eyes:
        raise ClinicalInputError("right_source", msg("Please choose at least one eye to correct."))
    return tuple(_work_out_eye(child, visit, order, eye) for eye in Laterality if eye in order.eyes)


def _work_out_eye(child: Child, visit: Visit, order: Order, eye: Laterality) -> WorkedEye:
    wanted = order.eyes[eye]
    at_cornea, steps = _at_cornea(visit.eyes[eye], wanted.source)
    lens = glasses = None
    if order.kind is CorrectionKind.CONTACT_LENS:
        lens = contact_lens(at_cornea, wanted.near_dioptres, BUILT_IN_RANGE)
    else:
        glasses = spectacles(at_cornea, order.vertex_distance_mm, wanted.near_dioptres, SPECTACLE_STEP_DIOPTRES)
    more = lens.steps if lens else glasses.steps if glasses else ()
    return WorkedEye(eye, wanted, at_cornea, near_rule(child, visit, eye), lens, glasses, (*steps, *more))


def _at_cornea(f: EyeFindings, source: PowerSource) -> tuple[SpheroCylinder, tuple[Message, ...]]:
    if source not in power_sources(f):
        raise ClinicalInputError(f"{f.eye}_source", msg("This visit has no such measurement for this eye."))
    if source is PowerSource.TRIAL_LENS and f.over_refraction is not None and f.trial_lens_dioptres is not None:
        over = over_refraction_at_cornea(SpheroCylinder(f.trial_lens_dioptres), f.over_refraction, f.over_vertex_distance_mm or 0.0)
        return over.exact, over.steps
    assert f.refraction is not None
    net: SpheroCylinder = f.refraction
    steps: tuple[Message, ...] = ()
    if f.working_distance_cm is not None:
        net = net_of_working_distance(f.refraction, f.working_distance_cm)
        taken_off = Quantity(net.sphere - f.refraction.sphere, Unit.DIOPTRE)
        steps = (
            msg(
                "gross refraction; %(taken)s for the working distance of %(distance)s",
                taken=taken_off,
                distance=Quantity(f.working_distance_cm, Unit.CENTIMETRE),
            ),
        )
    at_cornea = at_vertex_distance(net, f.refraction_vertex_distance_mm or 0.0, 0.0)
    return at_cornea.exact, (*steps, *at_cornea.steps)


def digest(visit: Visit, order: Order, worked: Sequence[WorkedEye]) -> str:
    """Stands for what a signer saw: the visit's version, the order, and every power worked out from them."""
    seen = (visit.public_id, visit.version, order.kind, order.vertex_distance_mm, [(w.eye, w.order, w.at_cornea, w.lens, w.spectacles) for w in worked])
    return sha256(repr(seen).encode()).hexdigest()[:16]


def sign(session: Session, staff: Staff, child: Child, visit: Visit, order: Order, seen: str, now: datetime) -> str:
    """The signed document's public id; `seen` is the digest of what the signer was shown.

    Raises `NotAllowedError` for a role that may not sign corrections, `ClinicalInputError` where anything has changed since.
    """
    require_signature(session, staff, SignedKind.CORRECTION)
    worked = work_out(child, visit, order)
    if digest(visit, order, worked) != seen:
        raise ClinicalInputError("kind", msg("This has changed since it was shown; please look at the powers below and sign again."))
    content = {
        "visit": visit.public_id,
        "visit_version": visit.version,
        "vertex_distance_mm": order.vertex_distance_mm if order.kind is CorrectionKind.SPECTACLES else 0.0,
        "eyes": {w.eye.value: _eye_content(w) for w in worked},
    }
    public_id = signed.add_correction(session, child, staff, visit.public_id, order.kind, content, now)
    children.facts_changed(session, child.id)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="sign-correction", subject=public_id)
    return public_id


def _eye_content(w: WorkedEye) -> dict[str, Any]:
    plane = NearPlane.LENS if w.lens else NearPlane.SPECTACLES
    content: dict[str, Any] = {
        "source": w.order.source,
        "at_cornea": power_to_json(w.at_cornea),
        "near_dioptres": w.order.near_dioptres,
        "near_plane": plane,
        "near_rule": finding_to_json(w.near),
        "working": [message_to_json(m) for m in w.steps],
    }
    if w.lens:
        content |= {"power": w.lens.power, "exact": w.lens.exact_with_near, "residual": w.lens.residual, "lens_range": BUILT_IN_RANGE.name}
    if w.spectacles:
        content |= {"power": power_to_json(w.spectacles.rounded), "exact": power_to_json(w.spectacles.exact)}
    return content
