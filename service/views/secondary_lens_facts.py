"""What is on record of an aphakic eye before a secondary lens: each item with its date, and its refraction at the spectacle plane."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial

from service.facts_of_visits import EyeFindings, Visit
from service.i18n import Words
from service.views.asked_page import joined
from service.views.case import Case
from service.views.measurements_page import equivalent_at_cornea, mean_keratometry
from service.views.shown import power_shown
from shared.course.anaesthetic import Standing
from shared.course.secondary_lens import Item, Needed, item_standing, needed
from shared.dates import age_years, completed_months
from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.implants.implant import EyeNow, at_spectacle_plane
from shared.vocabulary import AcuityFamily, CorrectionKind, Laterality, OpticalStatus

# The findings of a visit that make an item, and those that only say how it was taken.
FIELDS: dict[Item, tuple[tuple[str, ...], tuple[str, ...]]] = {
    Item.AXIAL_LENGTH: (("axial_length_mm",), ("axial_length_method",)),
    Item.KERATOMETRY: (("k1_dioptres", "k2_dioptres", "k2_axis"), ()),
    Item.ANTERIOR_CHAMBER: (("anterior_chamber_mm",), ()),
    Item.CAPSULE: (("capsule_support",), ()),
    Item.ENDOTHELIUM: (("endothelial_cells_per_mm2",), ()),
    Item.CORNEAL_DIAMETER: (("corneal_diameter_mm",), ()),
    Item.PRESSURE: (("pressure_mmhg",), ("pressure_method", "pressure_measured")),
}


@dataclass(frozen=True)
class Held:
    """One item as the record holds it."""

    item: Item
    fellow: bool
    value: str
    on: date | None
    standing: Standing


def held(c: Case, eye: Laterality, words: Words) -> tuple[Held, ...]:
    return tuple(_held(c, eye.other if n.fellow else eye, n, words) for n in needed(c.child.born_on, c.today))


def _held(c: Case, eye: Laterality, wanted: Needed, words: Words) -> Held:
    value, on = _READERS[wanted.item](c, eye, words)
    return Held(wanted.item, wanted.fellow, value, on, item_standing(wanted.item, on, c.child.born_on, c.today))


def _findings(item: Item, c: Case, eye: Laterality, words: Words) -> tuple[str, date | None]:
    values, how = FIELDS[item]
    last = _last(c, eye, lambda f: any(getattr(f, name) is not None for name in values))
    if last is None:
        return "", None
    return ", ".join(filter(None, (joined(words, last.eyes[eye], names) for names in (values, how)))), last.on


def _refraction(c: Case, eye: Laterality, words: Words) -> tuple[str, date | None]:
    last = refracted(c, eye)
    if last is None:
        return "", None
    f = last.eyes[eye]
    if f.refraction is None:
        over = msg("trial lens %(lens)s with its over-refraction", lens=Quantity(f.trial_lens_dioptres or 0.0, Unit.DIOPTRE))
        return words.text(over), last.on
    at = words.quantity(Quantity(f.refraction_vertex_distance_mm, Unit.MILLIMETRE)) if f.refraction_vertex_distance_mm is not None else "–"
    return words.text(msg("%(power)s at %(at)s", power=power_shown(f.refraction, words), at=at)), last.on


def _lens_powers(c: Case, eye: Laterality, words: Words) -> tuple[str, date | None]:
    found = [d for d in c.corrections if d.kind is CorrectionKind.CONTACT_LENS and eye in d.eyes]
    powers = [f"{words.dioptres(d.content['eyes'][eye]['power'])} ({words.date(d.visit_on)})" for d in found]
    return ", ".join(powers), found[-1].visit_on if found else None


def _acuity(c: Case, eye: Laterality, words: Words) -> tuple[str, date | None]:
    for visit in reversed(c.visits):
        for test in reversed(visit.tests):
            acuity = test.acuity(eye)
            if acuity is not None and test.usable(eye):
                method = words.label(test.method) if test.method and acuity.family is not AcuityFamily.LOW_VISION else ""
                return ", ".join(filter(None, (acuity.typed, method))), visit.on
    return "", None


_READERS: dict[Item, Callable[[Case, Laterality, Words], tuple[str, date | None]]] = {
    **{item: partial(_findings, item) for item in FIELDS},
    Item.REFRACTION: _refraction,
    Item.LENS_POWERS: _lens_powers,
    Item.ACUITY: _acuity,
}


def _last(c: Case, eye: Laterality, has: Callable[[EyeFindings], bool]) -> Visit | None:
    """The last visit since the eye's optics were last changed that has it."""
    since = c.child.changed_on(eye, c.today)
    return next((v for v in reversed(c.visits) if has(v.eyes[eye]) and (since is None or v.on >= since)), None)


def refracted(c: Case, eye: Laterality) -> Visit | None:
    """The last visit whose findings give a refraction of the eye as it is now."""
    return _last(c, eye, lambda f: equivalent_at_cornea(f) is not None)


def biometry(c: Case, eye: Laterality) -> tuple[float | None, float | None]:
    """Axial length in mm and mean keratometry in D, each the last one."""
    length, power = (_last(c, eye, has) for has in (lambda f: f.axial_length_mm is not None, lambda f: mean_keratometry(f) is not None))
    return length.eyes[eye].axial_length_mm if length else None, mean_keratometry(power.eyes[eye]) if power else None


def eye_now(c: Case, eye: Laterality) -> tuple[EyeNow, date]:
    """The eye as it was last refracted, and when. Raises `ClinicalInputError` in words where something is not on record."""
    own, other, surgery_on = refracted(c, eye), refracted(c, eye.other), c.child.surgery_on(eye, c.today)
    if own is None or surgery_on is None:
        raise ClinicalInputError("refraction_dioptres", msg("No prediction: this eye has not been refracted since its lens was removed."))
    if other is None or c.child.status(eye.other, c.today) is OpticalStatus.ABSENT:
        raise ClinicalInputError("fellow_dioptres", msg("No prediction: the fellow eye has no refraction on record to compare with."))
    power, fellow = (at_spectacle_plane(equivalent_at_cornea(v.eyes[side]) or 0.0) for v, side in ((own, eye), (other, eye.other)))
    months = completed_months(c.child.born_on, surgery_on)
    fellow_aphakic = c.child.status(eye.other, c.today) is OpticalStatus.APHAKIC
    return EyeNow(age_years(c.child.born_on, own.on), months, power, fellow, fellow_aphakic), own.on
