"""What stands beside a proposal: what its row says further, the ladder, and what other publications would do."""

from dataclasses import dataclass

from service.actions.regimens import Answer, Facts
from service.i18n import Words
from service.views.shown import FindingShown, finding_shown
from shared.treatment.dose import Proposal
from shared.treatment.ladder import alternatives, ladder
from shared.treatment.protocol_rows import particulars


@dataclass(frozen=True)
class RungShown:
    """`minutes` and `rule` None: no published row there."""

    where: str
    rule: str | None
    minutes: int | None
    chosen: bool


@dataclass(frozen=True)
class AlternativeShown:
    """`minutes` on the days of the pattern; None where the row has no hours."""

    minutes: int | None
    pattern: str
    finding: FindingShown


@dataclass(frozen=True)
class Beside:
    title: str  # of the row
    particulars: tuple[str, ...]
    ladder: tuple[RungShown, ...]
    alternatives: tuple[AlternativeShown, ...]


def beside(facts: Facts, found: Answer, words: Words) -> Beside | None:
    """None where nothing is proposed."""
    if facts is None or not isinstance(found, Proposal):
        return None
    return Beside(
        title=words.text(found.row.title),
        particulars=tuple(map(words.text, particulars(found.row))),
        ladder=tuple(RungShown(words.text(r.where), r.row.rule if r.row else None, r.minutes, r.chosen) for r in ladder(facts, found)),
        alternatives=tuple(AlternativeShown(a.minutes, a.row.pattern, finding_shown(a.finding, words)) for a in alternatives(facts, found)),
    )
