"""Templates to pages: one environment a language, strict about missing names."""

import re
from enum import Enum
from functools import cache, partial
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape
from starlette.responses import HTMLResponse

from schedules import feed_style
from schedules.care_words import CareKind
from service.facts_of_teaching import Skill
from service.i18n import LANGUAGES, Words
from service.settings import ROOT, Settings
from shared import lens_words
from shared import vocabulary as v
from shared.course.care_schedule import RefractionSchedule
from shared.findings import Message, Param, safety
from shared.sight import severity
from shared.treatment import protocol_words

_PLACE = re.compile(r"(%\(\w+\)s|\{\w+\})")
STATIC = Path(__file__).parent / "static"


class Renderer:
    """Context of every page: `w` (words), `static(path)`, `demo`, and what the page's own view gives as `page`."""

    def __init__(self, settings: Settings) -> None:
        self._demo = settings.demo
        self._environment = cache(self._make)

    def _make(self, words: Words) -> Environment:
        env = Environment(
            loader=FileSystemLoader(ROOT / "templates"),
            autoescape=True,
            undefined=StrictUndefined,
            extensions=["jinja2.ext.i18n"],
            trim_blocks=True,
            lstrip_blocks=True,
        )
        env.install_gettext_callables(words.catalogue.gettext, words.catalogue.ngettext, newstyle=True)  # type: ignore[attr-defined]  # added by the extension
        env.filters["by_places"] = _PLACE.split
        env.filters["sentence"] = lambda text: text[:1].upper() + text[1:]  # `capitalize` would make HOTV hotv
        env.globals.update(w=words, static=static_address, demo=self._demo, labelled=partial(labelled, words))
        env.globals.update(safety=partial(safely, words), by_clinic=partial(by_clinic, words), languages=LANGUAGES)
        return env

    def text(self, words: Words, template: str, context: dict[str, Any]) -> str:
        return self._environment(words).get_template(template).render(context)

    def page(self, words: Words, template: str, context: dict[str, Any], status: int = 200) -> HTMLResponse:
        return HTMLResponse(self.text(words, template, context), status)


def safely(words: Words, said: str | Message, **params: Param) -> Markup:
    """Safety wording: beside a translation that the clinic has not checked stands the clinic's own language."""
    message = safety(said, **params) if isinstance(said, str) else said
    if not (words.draft and message.safety):
        return escape(words.alone(message))
    own = words.clinic
    beside = Markup('<span class="beside" lang="{}" dir="{}">{}</span>').format(own.language, own.direction, own.alone(message))
    return Markup("<span>{}</span> {}").format(words.alone(message), beside)


def by_clinic(words: Words, text: str) -> Markup:
    """What a clinic wrote itself, in its own language whatever the page's."""
    return Markup('<bdi lang="{}">{}</bdi>').format(words.clinic.language, text)


@cache
def static_address(path: str) -> str:
    """The address of a static file, changing with its content so that it can be cached for long."""
    return f"/static/{path}?v={(STATIC / path).stat().st_mtime_ns:x}"


_CHOICES: dict[str, type[Enum]] = {
    "aetiology": v.Aetiology,
    "amblyopic_eye": v.AmblyopicEye,
    "optical_status": v.OpticalStatus,
    "fixation_preference": v.FixationPreference,
    "acuity_method": v.AcuityMethod,
    "correction_worn": v.CorrectionWorn,
    "tested_eye": v.TestedEye,
    "correction_kind": v.CorrectionKind,
    "spectacle_design": v.SpectacleDesign,
    "operation": v.Operation,
    "booking_kind": v.BookingKind,
    "reliability": v.Reliability,
    "lens_material": lens_words.LensMaterial,
    "power_plane": lens_words.PowerPlane,
    "wear_schedule": lens_words.WearSchedule,
    "missing_correction": v.MissingCorrectionRule,
    "own_pattern": protocol_words.Pattern,
    "band_set": protocol_words.BandSet,
    "severity": severity.Severity,
    "care_kind": CareKind,
    "refraction_schedule": RefractionSchedule,
    "eye": v.Laterality,
    "skill": Skill,
    "calendar_shown": feed_style.Shown,
    "calendar_care": feed_style.CareGroup,
    "calendar_colour": feed_style.Colour,
    "calendar_language": feed_style.Language,
}


def labelled(words: Words, name: str) -> list[tuple[str, str]]:
    """(value, label) of every member of a vocabulary, for a choice."""
    return [(member.value, words.label(member)) for member in _CHOICES[name]]
