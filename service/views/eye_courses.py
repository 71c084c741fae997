"""Each aphakic eye of a child as the forecast of its growth sees it, and the ledger with the days that follow from it."""

from datetime import date

from service.actions.corrections import provisional_eyes
from service.facts import SignedCorrection
from service.facts_of_lenses import LedgerLens
from service.facts_of_visits import EyeFindings, Visit
from service.views.case import Case
from service.views.in_force import Standing, correction_in_force, lens_standing
from service.views.measurements_page import equivalent_at_cornea
from shared.errors import ClinicalInputError
from shared.growing.growth_course import Course, RefractedOn
from shared.lens_words import LensState
from shared.optics.ledger import Lens, spare_valid_until
from shared.optics.planes import PlaneRefraction, RefractionPlane
from shared.vocabulary import CorrectionKind, Laterality, OpticalStatus

USUAL_VERTEX_MM = 12.0  # where a refraction was worked out from a trial lens alone (common practice)


def courses(c: Case) -> tuple[Course, ...]:
    """The eyes that are aphakic today, with what was measured since they became so; nothing that stitches will still change."""
    aphakic = [eye for eye in Laterality if c.child.status(eye, c.today) is OpticalStatus.APHAKIC]
    return tuple(course for eye in aphakic if (course := _course(c, eye, len(aphakic) == len(Laterality))) is not None)


def _course(c: Case, eye: Laterality, bilateral: bool) -> Course | None:
    operated_on, since = c.child.surgery_on(eye, c.today), c.child.changed_on(eye, c.today)
    if operated_on is None or since is None:
        return None
    seen = [v for v in c.visits if v.on >= since]
    return Course(
        side=eye,
        born_on=c.child.born_on,
        operated_on=operated_on,
        bilateral=bilateral,
        refractions=tuple(r for v in seen if (r := _refracted(c, v, eye)) is not None),
        lengths=tuple((v.on, mm) for v in seen if (mm := v.eyes[eye].axial_length_mm) is not None),
        worn_dioptres=_worn(c, eye),
    )


def _refracted(c: Case, v: Visit, eye: Laterality) -> RefractedOn | None:
    power = equivalent_at_cornea(v.eyes[eye])
    if power is None or eye in provisional_eyes(c.visits, v):
        return None
    try:
        refraction = PlaneRefraction(power, RefractionPlane.CORNEA, _vertex_mm(v.eyes[eye]))
        refraction.at(RefractionPlane.SPECTACLES)
    except ClinicalInputError:  # a power that no pair of spectacles has: nothing is published for such an eye
        return None
    return RefractedOn(v.on, refraction)


def _vertex_mm(f: EyeFindings) -> float:
    return f.refraction_vertex_distance_mm or f.over_vertex_distance_mm or USUAL_VERTEX_MM


def distance_power(document: SignedCorrection, eye: Laterality) -> float:
    """What a signed lens gives for distance at the cornea, in D: the power needed less what the chosen lens leaves over. Tears and near are in neither."""
    signed = document.content["eyes"][eye]
    needed = signed["at_cornea"]
    return float(needed["sphere"] + needed["cylinder"] / 2 - signed["residual"])


def _worn(c: Case, eye: Laterality) -> float | None:
    """Of the lens in force, unless the ledger says that another one, or none, is in use."""
    document = correction_in_force(c, CorrectionKind.CONTACT_LENS, eye)
    kept = [lens for lens in c.ledger if lens.made.eye is eye]
    in_use = any(lens.last.state is LensState.IN_USE and document and lens.made.correction_id == document.public_id for lens in kept)
    return distance_power(document, eye) if document and (in_use or not kept) else None


def power_out_on(c: Case, document: SignedCorrection, eye: Laterality, known: tuple[Course, ...]) -> date | None:
    """The day on which a lens of this document is expected to be off by the clinic's limit; None where nothing is forecast, or it stays within."""
    course = next((course for course in known if course.side is eye), None)
    if course is None or not course.refractions:
        return None
    try:
        return course.lens_out_on(course.refractions[-1], c.rules.limits.lens_off_dioptres, distance_power(document, eye)).likely
    except ClinicalInputError:  # outside the published ages
        return None


def trusted_until(c: Case, lens: LedgerLens, known: tuple[Course, ...]) -> date:
    """The day on which its power is expected to be off by the clinic's limit; a fixed time from its order where there is no forecast."""
    document = next(d for d in c.corrections if d.public_id == lens.made.correction_id)
    return spare_valid_until(lens.entries[0].on, power_out_on(c, document, lens.made.eye, known))


def ledger(c: Case) -> tuple[Lens, ...]:
    """The lenses as the rules see them."""
    known = courses(c)
    return tuple(_as_ruled(c, lens, known) for lens in c.ledger)


def _as_ruled(c: Case, lens: LedgerLens, known: tuple[Course, ...]) -> Lens:
    stands = lens_standing(c, lens)
    return Lens(lens.made.eye, lens.made.power, lens.last.state, trusted_until(c, lens, known), stands is Standing.SUPERSEDED, stands is Standing.BARRED)
