"""Pieces that several pages show: a finding with its sources, an age, a power."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from schedules.day import Weekday, named
from schedules.regimen import Regimen
from service.actions.wear import NotWornReason
from service.documents import message_from_json, power_from_json
from service.i18n import Words
from shared.dates import completed_months
from shared.findings import Finding, Quantity, Unit, msg
from shared.optics.refraction import SpheroCylinder
from shared.sources import source
from shared.treatment.dose import DatedDose
from shared.vocabulary import Laterality, Phase

NOT_WORN = {
    NotWornReason.REFUSED: msg("did not want it"),
    NotWornReason.ILL: msg("was ill"),
    NotWornReason.SKIN: msg("sore skin"),
    NotWornReason.FORGOT: msg("forgot"),
    NotWornReason.LOST_PATCH: msg("patch lost or used up"),
    NotWornReason.LOST_CORRECTION: msg("lens or glasses lost or broken"),
    NotWornReason.TRAVELLING: msg("travelling"),
    NotWornReason.OTHER: msg("something else"),
}


@dataclass(frozen=True)
class SourceShown:
    key: str
    citation: str
    url: str | None


@dataclass(frozen=True)
class FindingShown:
    rule: str
    value: float | None  # in `unit`, for a program
    unit: str | None
    message: str
    weight: str
    weight_label: str
    status: str
    status_label: str
    sources: tuple[SourceShown, ...]
    working: tuple[str, ...]
    family: str  # what to say to the family, or ""


def sources_shown(keys: Iterable[str]) -> tuple[SourceShown, ...]:
    return tuple(SourceShown(s.key, s.citation, s.url) for s in map(source, keys))


def finding_shown(f: Finding, words: Words) -> FindingShown:
    return FindingShown(
        f.rule,
        f.value.value if f.value else None,
        f.value.unit if f.value else None,
        words.text(f.message),
        f.weight,
        words.label(f.weight),
        f.status,
        words.label(f.status),
        sources_shown(f.sources),
        tuple(map(words.text, f.working)),
        words.text(f.family) if f.family else "",
    )


def shown_unless_off(f: Finding, rules_off: frozenset[str], words: Words) -> FindingShown | None:
    """None where the clinic has switched its rule off."""
    return None if f.rule in rules_off else finding_shown(f, words)


def age_shown(born_on: date, on: date, words: Words) -> str:
    """Months below two years, then years and months."""
    months = completed_months(born_on, on)
    if months < 24:
        return words.quantity(Quantity(months, Unit.MONTHS))
    return words.gettext("%(years)s y %(months)s m") % {"years": months // 12, "months": months % 12}


def power_shown(p: SpheroCylinder, words: Words) -> str:
    """`+14.00 D sphere`, or `+14.00 / −1.25 × 90`, each power with its sign."""
    if not p.cylinder:
        return words.gettext("%(power)s sphere") % {"power": words.dioptres(p.sphere)}
    axis = words.quantity(Quantity(p.axis or 0, Unit.DEGREES))
    return f"{words.dioptres(p.sphere)} / {words.dioptres(p.cylinder)} × {axis}"


@dataclass(frozen=True)
class SignedEyeShown:
    """One eye of a signed correction, ready to print."""

    eye: str
    power: str
    exact: str
    near: str
    segment: str  # a bifocal's addition and height; "" for single vision and for lenses
    provisional: bool
    working: tuple[str, ...]


def signed_eyes(content: Mapping[str, Any], words: Words, eyes: Iterable[Laterality]) -> tuple[SignedEyeShown, ...]:
    return tuple(
        SignedEyeShown(
            eye=words.label(eye),
            power=_power(content["eyes"][eye]["power"], words),
            exact=_power(content["eyes"][eye]["exact"], words),
            near=words.dioptres(content["eyes"][eye]["near_dioptres"]),
            segment=_segment(content["eyes"][eye], words),
            provisional=bool(content["eyes"][eye].get("provisional")),
            working=tuple(words.text(message_from_json(m)) for m in content["eyes"][eye]["working"]),
        )
        for eye in eyes
    )


def _power(value: Any, words: Words) -> str:
    return power_shown(power_from_json(value), words) if isinstance(value, dict) else words.dioptres(value)


def _segment(content: Mapping[str, Any], words: Words) -> str:
    if not content.get("addition"):
        return ""
    height = Quantity(content["segment_height_mm"], Unit.MILLIMETRE)
    return words.text(msg("addition %(near)s, segment height %(height)s", near=Quantity(content["addition"], Unit.DIOPTRE), height=height))


def regimen_summary(r: Regimen, words: Words) -> str:
    """A revision in a few words: its phase, or its hours in their order and the eye they cover."""
    if r.drops:
        return words.text(msg("atropine, one drop in the %(eye)s eye %(days)s", eye=r.drops.eye, days=r.drops.pattern))
    if r.phase is not Phase.OCCLUSION or not r.covered_eye:
        return words.label(r.phase)
    doses = words.gettext(", then ").join(amount_shown(d, words) for d in r.doses)
    if r.turn_days:
        return words.text(msg("%(doses)s a day, both eyes in turn: %(turns)s", doses=doses, turns=turns_shown(r, words)))
    return words.text(msg("%(doses)s a day, %(eye)s eye covered", doses=doses, eye=words.label(r.covered_eye)))


def turns_shown(r: Regimen, words: Words) -> str:
    """Of alternating eyes: how many days with a patch each is covered in its turn."""
    assert r.covered_eye is not None
    eyes = {"eye": r.covered_eye, "other": r.covered_eye.other}
    if r.turn_days == 1:
        return words.text(msg("one day the %(eye)s eye covered, the next the %(other)s eye", **eyes))
    return words.text(msg("%(days)s days the %(eye)s eye covered, then one day the %(other)s eye", days=r.turn_days, **eyes))


def amount_shown(d: DatedDose, words: Words) -> str:
    """Hours, and on which days where it is not every day."""
    hours = words.hours(d.minutes)
    return hours if d.is_daily else words.text(msg("%(hours)s (%(days)s)", hours=hours, days=days_shown(d, words)))


def days_shown(d: DatedDose, words: Words) -> str:
    """On which days a dose falls."""
    if d.weekdays:
        return words.text(msg("on %(days)s", days=", ".join(words.param(named(Weekday(day))) for day in d.weekdays)))
    return words.label(d.pattern)


def dose_shown(d: DatedDose, words: Words) -> str:
    hours = words.hours(d.minutes)
    if d.is_daily:
        return words.text(msg("%(time)s a day", time=hours))
    return words.text(msg("%(time)s a day, %(days)s", time=hours, days=days_shown(d, words)))
