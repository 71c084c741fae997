"""From what was measured to a signed correction. The same working serves the page, the signature and the document."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from hashlib import sha256
from typing import Any

from sqlmodel import Session

from service.access import require_signature
from service.documents import finding_to_json, message_to_json, power_to_json
from service.errors import ChangedSinceSeenError
from service.facts import Child, SignedKind, Staff
from service.facts_of_lenses import EnteredRange
from service.facts_of_visits import EyeFindings, Visit
from service.store import children, signed, trail, visits
from shared.dates import completed_months
from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Quantity, Unit, msg
from shared.lens_words import LensMaterial
from shared.optics.aphakia import LensPower, SpectaclePower, contact_lens, spectacles
from shared.optics.lens_range import BUILT_IN_RANGE, LensRange, shown_millimetres
from shared.optics.near import NearTable, built_in_near, near_overcorrection
from shared.optics.refraction import SpheroCylinder, at_vertex_distance, less_tears, net_of_working_distance, over_refraction_at_cornea
from shared.vocabulary import CorrectionKind, Laterality, NearPlane, OpticalStatus, SpectacleDesign, YesNo

SPECTACLE_STEP_DIOPTRES = 0.25
SIGNED_KIND = {CorrectionKind.SPECTACLES: SignedKind.SPECTACLES, CorrectionKind.CONTACT_LENS: SignedKind.CONTACT_LENS}


class PowerSource(StrEnum):
    """What the power of an eye is worked out from."""

    REFRACTION = "refraction"
    TRIAL_LENS = "trial-lens"
    OVER_LENS = "over-lens"  # glasses over the lens that is worn: the over-refraction alone


@dataclass(frozen=True)
class EyeOrder:
    """`near_dioptres` is added once: in the whole lens, or in a bifocal's segment. Sizes are in mm; those of a contact lens may stay open."""

    source: PowerSource
    near_dioptres: float
    segment_height_mm: float | None = None
    base_curve_mm: float | None = None
    diameter_mm: float | None = None


@dataclass(frozen=True)
class Order:
    """What to work out. `vertex_distance_mm` is where the spectacles will sit; a contact lens needs none, but a range to choose from."""

    kind: CorrectionKind
    vertex_distance_mm: float
    eyes: Mapping[Laterality, EyeOrder]
    design: SpectacleDesign = SpectacleDesign.SINGLE_VISION
    lens_range: LensRange = BUILT_IN_RANGE
    near_table: NearTable | None = field(default_factory=built_in_near)  # what near is proposed by: the clinic's own or built-in one; None: switched off

    @property
    def bifocal(self) -> bool:
        return self.kind is CorrectionKind.SPECTACLES and self.design is SpectacleDesign.BIFOCAL


@dataclass(frozen=True)
class WorkedEye:
    eye: Laterality
    order: EyeOrder
    at_cornea: SpheroCylinder
    near: Finding  # what the rule for this age proposes, beside what was ordered
    lens: LensPower | None
    spectacles: SpectaclePower | None
    steps: tuple[Message, ...]


def chosen_range(ranges: Sequence[EnteredRange], public_id: str) -> LensRange:
    """The chosen one of those in force; the first where none was named, the built-in one where the clinic has none. Raises `ClinicalInputError`."""
    found = next((r.lens_range for r in ranges if r.public_id == public_id), None)
    if public_id and found is None:
        raise ClinicalInputError("lens_range", msg("This range, or this version of it, is no longer in force: choose one of these."))
    return found or (ranges[0].lens_range if ranges else BUILT_IN_RANGE)


def power_sources(f: EyeFindings, kind: CorrectionKind) -> list[PowerSource]:
    """What this eye's findings allow."""
    found = [PowerSource.TRIAL_LENS] if f.over_refraction is not None else []
    found += [PowerSource.REFRACTION] if f.refraction is not None else []
    return found + ([PowerSource.OVER_LENS] if f.over_refraction is not None and kind is CorrectionKind.SPECTACLES else [])


def near_rule(child: Child, visit: Visit, eye: Laterality, near_table: NearTable | None) -> Finding:
    status = child.status(eye, visit.on) or OpticalStatus.PHAKIC
    return near_overcorrection(completed_months(child.born_on, visit.on), status, near_table)


def work_out(child: Child, visit: Visit, order: Order) -> tuple[WorkedEye, ...]:
    """Raises `ClinicalInputError` naming the eye's field."""
    if not order.eyes:
        raise ClinicalInputError("right_source", msg("Please choose at least one eye to correct."))
    return tuple(_work_out_eye(child, visit, order, eye) for eye in Laterality if eye in order.eyes)


def _work_out_eye(child: Child, visit: Visit, order: Order, eye: Laterality) -> WorkedEye:
    _check_eye_is_as_it_was(child, visit, eye)
    wanted = order.eyes[eye]
    needed, steps = at_cornea(visit.eyes[eye], wanted.source, order.kind)
    lens = glasses = None
    if order.kind is CorrectionKind.CONTACT_LENS:
        without_tears, tears = _behind_rigid_lens(needed, visit.eyes[eye], wanted, order.lens_range)
        steps = (*steps, *tears)
        lens = _choose_lens(without_tears, wanted, order.lens_range, eye)
    else:
        if order.bifocal and wanted.near_dioptres <= 0:
            raise ClinicalInputError(f"{eye}_near", msg("A bifocal needs the addition of its segment; an eye without one is ordered as single vision."))
        if order.bifocal and wanted.segment_height_mm is None:
            raise ClinicalInputError(f"{eye}_segment_height_mm", msg("A bifocal needs the height of its segment in mm."))
        glasses = spectacles(needed, order.vertex_distance_mm, wanted.near_dioptres, SPECTACLE_STEP_DIOPTRES, bifocal=order.bifocal)
    more = lens.steps if lens else glasses.steps if glasses else ()
    return WorkedEye(eye, wanted, needed, near_rule(child, visit, eye, order.near_table), lens, glasses, (*steps, *more))


def _behind_rigid_lens(needed: SpheroCylinder, f: EyeFindings, wanted: EyeOrder, lens_range: LensRange) -> tuple[SpheroCylinder, tuple[Message, ...]]:
    """What a rigid lens has to add to its own tears. An over-refraction holds those of its trial lens already; a refraction holds none."""
    if lens_range.material is not LensMaterial.RIGID_GAS_PERMEABLE:
        return needed, ()
    if wanted.source is not PowerSource.REFRACTION:
        return needed, (msg("rigid lens: the tears behind the trial lens are in the over-refraction; with another base curve refract over that lens again"),)
    powers = [k for k in (f.k1_dioptres, f.k2_dioptres) if k is not None]
    if not powers or wanted.base_curve_mm is None:
        return needed, (msg("rigid lens from a refraction: its tear lens is not known without base curve and keratometry; refract over the lens"),)
    lens = less_tears(needed, wanted.base_curve_mm, sum(powers) / len(powers))
    return lens.exact, lens.steps


def _check_eye_is_as_it_was(child: Child, visit: Visit, eye: Laterality) -> None:
    """A power belongs to the eye as it was measured, not to one that is gone or was operated on since."""
    if child.status(eye, date.max) is OpticalStatus.ABSENT:
        raise ClinicalInputError(f"{eye}_source", msg("There is no %(eye)s eye to correct.", eye=eye))
    newest = child.changed_on(eye, date.max)
    if newest is not None and newest > visit.on:
        changed = msg("The %(eye)s eye was operated on %(on)s, after this visit of %(visit)s: refract it again.", eye=eye, on=newest, visit=visit.on)
        raise ClinicalInputError(f"{eye}_source", changed)


def _choose_lens(needed: SpheroCylinder, wanted: EyeOrder, lens_range: LensRange, eye: Laterality) -> LensPower:
    for name, size, had in (("base_curve_mm", wanted.base_curve_mm, lens_range.base_curves_mm), ("diameter_mm", wanted.diameter_mm, lens_range.diameters_mm)):
        if size is not None and size not in had:
            listed = shown_millimetres(had) or msg("none listed")
            refused = msg("“%(range)s” has no %(size)s mm; it has: %(had)s.", range=lens_range.name, size=f"{size:g}", had=listed)
            raise ClinicalInputError(f"{eye}_{name}", refused)
    try:
        return contact_lens(needed, wanted.near_dioptres, lens_range)
    except ClinicalInputError as outside:
        raise ClinicalInputError(f"{eye}_source", outside.message) from outside


def at_cornea(f: EyeFindings, source: PowerSource, kind: CorrectionKind) -> tuple[SpheroCylinder, tuple[Message, ...]]:
    """The power an eye needs at the cornea (D), with its working. Raises `ClinicalInputError` without such a measurement."""
    if source not in power_sources(f, kind):
        raise ClinicalInputError(f"{f.eye}_source", msg("This visit has no such measurement for this eye."))
    if source is PowerSource.OVER_LENS and f.over_refraction is not None:
        over = at_vertex_distance(f.over_refraction, f.over_vertex_distance_mm or 0.0, 0.0)
        return over.exact, (msg("glasses over the lens that is worn: the over-refraction alone"), *over.steps)
    if source is PowerSource.TRIAL_LENS and f.over_refraction is not None and f.trial_lens_dioptres is not None:
        over = over_refraction_at_cornea(SpheroCylinder(f.trial_lens_dioptres), f.over_refraction, f.over_vertex_distance_mm or 0.0)
        return over.exact, over.steps
    assert f.refraction is not None
    return refraction_at_cornea(f, f.refraction)


def refraction_at_cornea(f: EyeFindings, refraction: SpheroCylinder) -> tuple[SpheroCylinder, tuple[Message, ...]]:
    """The net refraction of these findings at the cornea, and the steps to it."""
    net: SpheroCylinder = refraction
    steps: tuple[Message, ...] = ()
    if f.working_distance_cm is not None:
        net = net_of_working_distance(refraction, f.working_distance_cm)
        taken_off = Quantity(net.sphere - refraction.sphere, Unit.DIOPTRE)
        steps = (
            msg(
                "gross refraction; %(taken)s for the working distance of %(distance)s",
                taken=taken_off,
                distance=Quantity(f.working_distance_cm, Unit.CENTIMETRE),
            ),
        )
    moved = at_vertex_distance(net, f.refraction_vertex_distance_mm or 0.0, 0.0)
    return moved.exact, (*steps, *moved.steps)


def provisional_eyes(all_visits: Sequence[Visit], visit: Visit) -> tuple[Laterality, ...]:
    """The eyes whose stitches were last seen in, up to this visit: their refraction will change when those come out."""
    found = []
    for eye in Laterality:
        seen = [v.eyes[eye].stitches_in for v in all_visits if v.on <= visit.on and v.eyes[eye].stitches_in is not None]
        if seen and seen[-1] is YesNo.YES:
            found.append(eye)
    return tuple(found)


def digest(visit: Visit, order: Order, worked: Sequence[WorkedEye], provisional: Sequence[Laterality]) -> str:
    """Stands for what a signer saw: the visit's version, the order, every power worked out from them, and which are provisional."""
    eyes = [(w.eye, w.order, w.at_cornea, w.lens, w.spectacles, w.eye in provisional) for w in worked]
    seen = (visit.public_id, visit.version, order.kind, order.design, order.vertex_distance_mm, order.lens_range, eyes)
    return sha256(repr(seen).encode()).hexdigest()[:16]


def sign(session: Session, staff: Staff, child: Child, visit: Visit, order: Order, seen: str, now: datetime) -> str:
    """The signed document's public id; `seen` is the digest of what the signer was shown.

    Raises `NotAllowedError` for a role that may not sign this kind of correction, `ChangedSinceSeenError` where anything has changed since.
    """
    require_signature(session, staff, SIGNED_KIND[order.kind])
    worked = work_out(child, visit, order)
    provisional = provisional_eyes(visits.visits(session, child), visit)
    if digest(visit, order, worked, provisional) != seen:
        raise ChangedSinceSeenError("kind", msg("This has changed since it was shown; please look at the powers below and sign again."))
    glasses = order.kind is CorrectionKind.SPECTACLES
    content = {
        "visit": visit.public_id,
        "visit_version": visit.version,
        "vertex_distance_mm": order.vertex_distance_mm if glasses else 0.0,
        "design": order.design if glasses else None,
        "eyes": {w.eye.value: _eye_content(w, order.lens_range, w.eye in provisional) for w in worked},
    }
    public_id = signed.add_correction(session, child, staff, visit.public_id, order.kind, content, now)
    children.facts_changed(session, child.id)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="sign-correction", subject=public_id)
    return public_id


def _eye_content(w: WorkedEye, lens_range: LensRange, provisional: bool) -> dict[str, Any]:
    plane = NearPlane.LENS if w.lens else NearPlane.SPECTACLES
    content: dict[str, Any] = {
        "source": w.order.source,
        "at_cornea": power_to_json(w.at_cornea),
        "near_dioptres": w.order.near_dioptres,
        "near_plane": plane,
        "near_rule": finding_to_json(w.near),
        "provisional": provisional,
        "working": [message_to_json(m) for m in w.steps],
    }
    if w.lens:
        content |= {"power": w.lens.power, "exact": w.lens.exact_with_near, "residual": w.lens.residual, "lens_range": lens_range.name}
        content |= {"material": lens_range.material, "wear_schedule": lens_range.wear_schedule}
        content |= {"base_curve_mm": w.order.base_curve_mm, "diameter_mm": w.order.diameter_mm}
    if w.spectacles:
        content |= {"power": power_to_json(w.spectacles.rounded), "exact": power_to_json(w.spectacles.exact)}
        content |= {"addition": w.spectacles.addition, "segment_height_mm": w.order.segment_height_mm}
    return content
