"""A signed correction as it was signed, with its working, and the made-up lenses that were checked against it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.actions.corrections import PowerSource
from service.actions.lens_checks import check_eye
from service.documents import message_from_json, power_from_json
from service.facts import Child, SignedCorrection
from service.facts_of_lenses import LensCheck
from service.i18n import Words
from service.views.case import Case
from service.views.correction_history import StandingShown, standing_shown
from service.views.correction_page import SOURCE_NAMES
from service.views.shown import SignedEyeShown, SourceShown, age_shown, power_shown, signed_eyes, sources_shown
from shared.findings import Quantity, Unit
from shared.lens_words import LensMaterial, WearSchedule
from shared.optics.made_lens import Checked
from shared.vocabulary import CorrectionKind, Laterality, NearPlane, SpectacleDesign, Status

Facts = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class EyeDocument:
    side: Laterality
    shown: SignedEyeShown
    standing: StandingShown
    facts: Facts
    near_rule: str
    near_status: Status
    near_sources: tuple[SourceShown, ...]


@dataclass(frozen=True)
class CheckRow:
    what: str
    ordered: str
    measured: str
    tolerance: str
    within: bool
    status: Status


@dataclass(frozen=True)
class CheckedEye:
    eye: str
    within: bool
    rows: tuple[CheckRow, ...]
    assumed_rigid: bool


@dataclass(frozen=True)
class CheckShown:
    check: LensCheck
    eyes: tuple[CheckedEye, ...]
    sources: tuple[SourceShown, ...]


@dataclass(frozen=True)
class DocumentPage:
    child: Child
    age: str  # on the day of the visit
    document: SignedCorrection
    lens: bool
    bifocal: bool
    facts: Facts
    eyes: tuple[EyeDocument, ...]
    checks: tuple[CheckShown, ...]  # the newest first


def view(c: Case, document: SignedCorrection, checks: Sequence[LensCheck], words: Words) -> DocumentPage:
    lens = document.kind is CorrectionKind.CONTACT_LENS
    return DocumentPage(
        child=c.child,
        age=age_shown(c.child.born_on, document.visit_on, words),
        document=document,
        lens=lens,
        bifocal=document.content.get("design") == SpectacleDesign.BIFOCAL,
        facts=() if lens else _glasses(document.content, words),
        eyes=tuple(_eye(c, document, eye, words) for eye in document.eyes),
        checks=tuple(_check(document, check, words) for check in reversed(checks)),
    )


def _glasses(content: Mapping[str, Any], words: Words) -> Facts:
    design = words.label(SpectacleDesign(content.get("design") or SpectacleDesign.SINGLE_VISION))
    distance = words.quantity(Quantity(content["vertex_distance_mm"], Unit.MILLIMETRE))
    return ((words.gettext("Design"), design), (words.gettext("Vertex distance"), distance))


def _eye(c: Case, document: SignedCorrection, eye: Laterality, words: Words) -> EyeDocument:
    content = document.content["eyes"][eye]
    [shown] = signed_eyes(document.content, words, [eye])
    rule = content["near_rule"]
    facts = [
        (words.gettext("Exact value"), shown.exact),
        (words.gettext("At the cornea, for distance"), power_shown(power_from_json(content["at_cornea"]), words)),
        (words.gettext("For near"), f"{shown.near} {words.label(NearPlane(content['near_plane']))}"),
        (words.gettext("Worked out from"), words.text(SOURCE_NAMES[PowerSource(content["source"])])),
    ]
    return EyeDocument(
        side=eye,
        shown=shown,
        standing=standing_shown(c, document, eye, words),
        facts=(*facts, *(_lens(content, words) if document.kind is CorrectionKind.CONTACT_LENS else ())),
        near_rule=words.text(message_from_json(rule["message"])),
        near_status=Status(rule["status"]),
        near_sources=sources_shown(rule["sources"]),
    )


def _lens(content: Mapping[str, Any], words: Words) -> Facts:
    """What was not stated says so: older documents knew only the range's name."""
    material, wear = content.get("material"), content.get("wear_schedule")
    sizes = [content.get(name) for name in ("base_curve_mm", "diameter_mm")]
    curve, diameter = (words.quantity(Quantity(mm, Unit.MILLIMETRE)) if mm else words.gettext("left open") for mm in sizes)
    not_stated = words.gettext("not stated")
    return (
        (words.gettext("Left over after rounding"), words.dioptres(content["residual"])),
        (words.gettext("Lens range"), words.gettext(content["lens_range"])),
        (words.gettext("Base curve"), curve),
        (words.gettext("Diameter"), diameter),
        (words.gettext("Material"), words.label(LensMaterial(material)) if material else not_stated),
        (words.gettext("Wear"), words.label(WearSchedule(wear)) if wear else not_stated),
    )


def _check(document: SignedCorrection, check: LensCheck, words: Words) -> CheckShown:
    checked = {eye: check_eye(document, eye, check.measured[eye]) for eye in document.eyes if eye in check.measured}
    keys = sorted({row.source for rows in checked.values() for row in rows})
    lens = document.kind is CorrectionKind.CONTACT_LENS
    return CheckShown(
        check=check,
        eyes=tuple(
            CheckedEye(
                words.label(eye),
                all(row.within for row in rows),
                tuple(_row(row, words) for row in rows),
                lens and not document.content["eyes"][eye].get("material"),
            )
            for eye, rows in checked.items()
        ),
        sources=sources_shown(keys),
    )


def _row(row: Checked, words: Words) -> CheckRow:
    return CheckRow(
        words.text(row.what),
        words.quantity(row.ordered),
        words.quantity(row.measured),
        "± " + words.quantity(row.tolerance).lstrip("+"),
        row.within,
        row.status,
    )
