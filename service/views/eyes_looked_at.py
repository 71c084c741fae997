"""The newest look at what a review asks of the eyes themselves: pressure, axis, refraction, lens, skin, deviation."""

from collections.abc import Callable
from datetime import date

from service.facts_of_visits import EyeFindings, Visit
from service.views import in_force
from service.views.case import Case
from shared.course.review_facts import LensWorn, OperatedEye
from shared.examination_words import Skin
from shared.vocabulary import CorrectionKind, Deviation, Laterality, YesNo


def operated_eyes(c: Case) -> tuple[OperatedEye, ...]:
    """Eyes whose own lens was removed, as they were last looked at since."""
    found = []
    for eye in Laterality:
        status, on = c.child.status(eye, c.today), c.child.surgery_on(eye, c.today)
        if status is None or not status.operated or on is None:
            continue
        pressure = _newest(c, eye, lambda e: e.pressure_mmhg is not None)
        tried = _newest(c, eye, lambda e: e.pressure_not_obtained is YesNo.YES)
        axis = _newest(c, eye, lambda e: any(x is not None for x in (e.red_reflex, e.axis_clear, e.secondary_membrane)))
        length = _newest(c, eye, lambda e: e.axial_length_mm is not None)
        seen = axis.eyes[eye] if axis else EyeFindings(eye)
        found.append(
            OperatedEye(
                eye=eye,
                operated_on=on,
                pressure_on=pressure.on if pressure else None,
                pressure_mmhg=pressure.eyes[eye].pressure_mmhg if pressure else None,
                pressure_tried_on=tried.on if tried else None,
                on_steroid=pressure is not None and pressure.eyes[eye].on_steroid is YesNo.YES,
                axis_on=axis.on if axis else None,
                red_reflex=seen.red_reflex,
                axis_clear=seen.axis_clear,
                membrane=seen.secondary_membrane,
                length_on=length.on if length else None,
            )
        )
    return tuple(found)


def _newest(c: Case, eye: Laterality, holds: Callable[[EyeFindings], bool]) -> Visit | None:
    """The newest visit whose findings of an eye hold something."""
    return next((v for v in reversed(c.visits) if holds(v.eyes[eye])), None)


def refracted_on(c: Case, eye: Laterality) -> date | None:
    """The newest refraction of an eye, or over-refraction over a lens."""
    newest = _newest(c, eye, lambda e: e.refraction is not None or e.over_refraction is not None)
    return newest.on if newest else None


def lenses_worn(c: Case) -> tuple[LensWorn, ...]:
    """Over-refractions of the newest visit over the lens that the document in force names; one over a trial lens says nothing of it."""
    if not c.visits:
        return ()
    found, newest = [], c.visits[-1]
    for eye in Laterality:
        over, document = newest.eyes[eye].over_refraction, in_force.correction_in_force(c, CorrectionKind.CONTACT_LENS, eye)
        if over is None or document is None or newest.eyes[eye].trial_lens_dioptres is not None or document.visit_on >= newest.on:
            continue
        found.append(LensWorn(eye, newest.on, over.spherical_equivalent, document.near_dioptres(eye)))
    return tuple(found)


def double_vision_on(c: Case) -> date | None:
    newest = c.visits[-1] if c.visits else None
    return newest.on if newest and newest.together.double_vision is YesNo.YES else None


def new_deviation_on(c: Case) -> date | None:
    """The newest visit with a cover test, where it found a deviation that the cover test before, at the same distance, had not."""
    for found in (
        [(v.on, v.together.cover_distance) for v in c.visits if v.together.cover_distance is not None],
        [(v.on, v.together.cover_near) for v in c.visits if v.together.cover_near is not None],
    ):
        if len(found) > 1 and found[-1][1] is not Deviation.NONE and found[-2][1] is Deviation.NONE:
            return found[-1][0]
    return None


def skin(c: Case) -> Skin | None:
    """Under the patch, at the newest visit that looked; the worse of both sides."""
    order = list(Skin)
    for visit in reversed(c.visits):
        seen = [s for eye in Laterality if (s := visit.eyes[eye].skin_under_patch) is not None]
        if seen:
            return max(seen, key=order.index)
    return None
