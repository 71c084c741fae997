"""Groups of findings as a form asks for them and as a visit shows them."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from service.asked import EYE_GROUPS, Asked, Group, asked
from service.facts_of_visits import EyeFindings, VisitFindings
from service.i18n import Words
from shared.findings import msg


@dataclass(frozen=True)
class FieldAsked:
    name: str
    label: str
    unit: str
    options: tuple[tuple[str, str], ...]  # empty for a number or a text
    text: bool


@dataclass(frozen=True)
class GroupAsked:
    heading: str
    fields: tuple[FieldAsked, ...]
    open: bool


def group(words: Words, g: Group, prefix: str, filled: Collection[str]) -> GroupAsked:
    """`filled` are the names of fields that hold something: their group stands open."""
    fields = tuple(FieldAsked(prefix + a.name, words.text(a.label), words.gettext(a.unit), _options(words, a), a.longest > 0) for a in g.asked)
    return GroupAsked(words.text(g.heading), fields, any(f.name in filled for f in fields))


def _options(words: Words, a: Asked) -> tuple[tuple[str, str], ...]:
    if a.choices is None:
        return ()
    return (("", words.gettext("not noted")), *((member.value, words.label(member)) for member in a.choices))


def noted(words: Words, findings: EyeFindings | VisitFindings, groups: tuple[Group, ...]) -> dict[str, str]:
    """Label and value of each finding that was noted."""
    found = ((a, getattr(findings, a.name)) for a in asked(groups))
    return {words.text(a.label): shown(words, a, value) for a, value in found if value is not None}


def joined(words: Words, findings: EyeFindings, names: Collection[str]) -> str:
    """Those of these findings that were noted, in one line: of several each with its label, of one alone its value."""
    found = noted(words, findings, (Group(msg(""), tuple(a for a in asked(EYE_GROUPS) if a.name in names)),))
    return "; ".join(found.values() if len(names) == 1 else (f"{label}: {value}" for label, value in found.items()))


def shown(words: Words, a: Asked, value: Any) -> str:
    """Powers and lengths with two places, as the trade writes them; counts as they were typed."""
    if a.choices:
        return words.label(value)
    if a.longest:
        return str(value)
    return f"{value:.2f}" + f" {words.gettext(a.unit)}" if a.unit in ("D", "mm") else f"{value:g} {words.gettext(a.unit)}".strip()
