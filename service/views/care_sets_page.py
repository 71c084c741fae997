"""The clinic's care sets: what holds today, what will, what held before, and what is built in."""

from dataclasses import dataclass
from datetime import date

from schedules.care_sets import BUILT_IN_CARE_SET, CareSet
from schedules.care_words import CareKind
from service.facts_of_home_care import EnteredCareSet
from service.i18n import Words
from shared.findings import msg


@dataclass(frozen=True)
class CareSetShown:
    lines: tuple[str, ...]
    own_words: tuple[tuple[str, str], ...]  # the kind, the clinic's words for it


@dataclass(frozen=True)
class VersionShown:
    entered: EnteredCareSet
    state: str
    care_set: CareSetShown


@dataclass(frozen=True)
class CareSetsPage:
    versions: tuple[VersionShown, ...]  # the newest first
    built_in: CareSetShown
    built_in_used: bool


def view(entered: list[EnteredCareSet], today: date, words: Words) -> CareSetsPage:
    holds = max((e for e in entered if e.from_on <= today), key=lambda e: (e.from_on, e.number), default=None)
    shown = tuple(VersionShown(e, _state(e, e is holds, today, words), _shown(e.care_set, words)) for e in reversed(entered))
    return CareSetsPage(shown, _shown(BUILT_IN_CARE_SET, words), holds is None)


def _state(e: EnteredCareSet, holds: bool, today: date, words: Words) -> str:
    if holds:
        return words.gettext("in force")
    return words.gettext("begins then") if e.from_on > today else words.gettext("superseded")


def _shown(s: CareSet, words: Words) -> CareSetShown:
    schedules = words.gettext("; then ").join(words.label(schedule) for schedule in s.refraction_schedules) or words.gettext("none")
    lines = [
        msg("first glasses or lens within %(days)s days after surgery", days=s.first_correction_days),
        msg("stitches looked at from %(first)s to %(last)s days after surgery", first=s.stitches_from_days, last=s.stitches_until_days),
        msg(
            "refraction by the first of these that is for the child: %(schedules)s; else every %(months)s months",
            schedules=schedules,
            months=s.refraction_months,
        ),
        msg("spare lens ordered %(days)s days ahead", days=s.spare_order_days),
        msg("patches ordered %(days)s days ahead", days=s.patch_order_days),
        msg("visits brought forward by up to %(days)s days to make one trip", days=s.together_days),
    ]
    if s.kinds_off:
        lines.append(msg("not asked for: %(kinds)s", kinds=", ".join(words.label(kind) for kind in CareKind if kind in s.kinds_off)))
    return CareSetShown(tuple(map(words.text, lines)), tuple((words.label(kind), s.words[kind]) for kind in CareKind if kind in s.words))
