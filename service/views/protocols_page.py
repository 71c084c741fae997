"""The clinic's own protocols: what holds today, what will, and what held before."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from service.facts_of_protocols import EnteredProtocol
from service.i18n import Words
from shared.findings import Quantity, Unit, msg
from shared.treatment.clinic_protocol import ClinicProtocol


@dataclass(frozen=True)
class VersionShown:
    entered: EnteredProtocol
    state: str
    children: str
    dose: str
    review: str


@dataclass(frozen=True)
class ProtocolShown:
    name: str
    newest: EnteredProtocol  # what may be changed
    versions: tuple[VersionShown, ...]  # the newest first


def view(entered: Sequence[EnteredProtocol], today: date, words: Words) -> tuple[ProtocolShown, ...]:
    return tuple(_protocol(list(versions), today, words) for _, versions in groupby(entered, lambda p: p.protocol.name))


def _protocol(versions: Sequence[EnteredProtocol], today: date, words: Words) -> ProtocolShown:
    holding = next((v for v in reversed(versions) if v.from_on <= today), None)
    newest = max(versions, key=lambda v: v.number)
    shown = tuple(
        VersionShown(
            entered=v,
            state=_state(v, v is holding, today, words),
            children=children_shown(v.protocol, words),
            dose=dose_words(v.protocol, words),
            review=words.quantity(Quantity(v.protocol.review_weeks, Unit.WEEKS)),
        )
        for v in reversed(versions)
    )
    return ProtocolShown(newest.protocol.name, newest, shown)


def _state(v: EnteredProtocol, holds: bool, today: date, words: Words) -> str:
    if holds:
        return words.gettext("ended") if v.ended else words.gettext("in force")
    if v.from_on > today:
        return words.gettext("ends then") if v.ended else words.gettext("begins then")
    return words.gettext("superseded")


def children_shown(p: ClinicProtocol, words: Words) -> str:
    """For whom it is: cause, ages, and the severity in its trial's words."""
    cause = words.label(p.aetiology) if p.aetiology else words.gettext("any cause")
    ages = msg(
        "%(cause)s, from %(first)s to under %(end)s",
        cause=cause,
        first=Quantity(p.from_month, Unit.MONTHS),
        end=Quantity(p.below_month, Unit.MONTHS),
    )
    if p.band_set is None or p.severity is None:
        return words.text(ages)
    return words.text(msg("%(ages)s; %(severity)s as in %(trial)s", ages=ages, severity=p.severity, trial=p.band_set))


def dose_words(p: ClinicProtocol, words: Words) -> str:
    amount = (
        msg("%(hours)s a day", hours=words.hours(p.minutes))
        if p.minutes is not None
        else msg("%(share)s of the waking hours", share=Quantity(p.waking_percent or 0, Unit.PERCENT))
    )
    return words.text(msg("%(amount)s, %(days)s", amount=amount, days=p.pattern))
