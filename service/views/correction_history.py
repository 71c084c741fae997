"""Every signed correction of a child, eye by eye: what holds, what a newer one superseded, what is barred and why."""

from dataclasses import dataclass

from service.facts import Child, SignedCorrection
from service.i18n import Words
from service.views.case import Case
from service.views.in_force import Standing, newest_correction, standing
from service.views.shown import SignedEyeShown, signed_eyes
from shared.findings import msg
from shared.vocabulary import Laterality


@dataclass(frozen=True)
class StandingShown:
    standing: Standing
    text: str


@dataclass(frozen=True)
class HistoryLine:
    document: SignedCorrection
    eye: SignedEyeShown
    standing: StandingShown


@dataclass(frozen=True)
class HistoryPage:
    child: Child
    oldest_first: bool
    eyes: tuple[tuple[str, tuple[HistoryLine, ...]], ...]


def view(c: Case, oldest_first: bool, words: Words) -> HistoryPage:
    documents = c.corrections if oldest_first else list(reversed(c.corrections))
    return HistoryPage(
        child=c.child,
        oldest_first=oldest_first,
        eyes=tuple((words.label(eye), tuple(_line(c, d, eye, words) for d in documents if eye in d.eyes)) for eye in Laterality),
    )


def _line(c: Case, document: SignedCorrection, eye: Laterality, words: Words) -> HistoryLine:
    [shown] = signed_eyes(document.content, words, [eye])
    return HistoryLine(document, shown, standing_shown(c, document, eye, words))


def standing_shown(c: Case, document: SignedCorrection, eye: Laterality, words: Words) -> StandingShown:
    """In words, with the reason."""
    found = standing(c, document, eye)
    newest, changed = newest_correction(c, document.kind, eye), c.child.changed_on(eye, c.today)
    if found is Standing.BARRED and changed:
        text = words.text(msg("barred: the eye was operated on %(on)s, after the visit of %(visit)s", on=changed, visit=document.visit_on))
    elif found is Standing.SUPERSEDED and newest:
        text = words.gettext("superseded, the newest is of %(on)s") % {"on": words.day_of(newest.signed_at, c.child.time_zone)}
    else:
        text = words.gettext("in force")
    return StandingShown(found, text)
