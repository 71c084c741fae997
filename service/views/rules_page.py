"""Every rule with its state in this clinic, and the limits that reviews are held against."""

from dataclasses import dataclass

from service.facts_of_care import ClinicRules
from service.i18n import Words
from service.views.shown import SourceShown, sources_shown
from shared.rules import RULES, RuleGroup


@dataclass(frozen=True)
class RuleShown:
    name: str
    title: str
    sources: tuple[SourceShown, ...]
    off: bool


@dataclass(frozen=True)
class RulesPage:
    groups: tuple[tuple[str, tuple[RuleShown, ...]], ...]
    versions: tuple[ClinicRules, ...]  # the newest first


def view(versions: list[ClinicRules], words: Words) -> RulesPage:
    off = versions[0].limits.rules_off if versions else frozenset()
    groups = tuple(
        (words.label(group), tuple(RuleShown(r.name, words.text(r.title), sources_shown(r.sources), r.name in off) for r in RULES.values() if r.group is group))
        for group in RuleGroup
    )
    return RulesPage(groups, tuple(versions))
