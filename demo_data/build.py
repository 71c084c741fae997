"""Builds the demo: an empty database in, the clinic with its families out."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import Engine

from demo_data import aphakic, clinic, optical, turns
from demo_data.story import Scene, Story
from service.db import writing
from service.facts import Role
from service.store import people
from service.tokens import signature

STORIES: dict[str, Callable[[Scene], Story]] = {
    "infant": aphakic.infant,
    "both-eyes": aphakic.both_eyes,
    "moderate": optical.moderate,
    "severe": optical.severe,
    "adapting": optical.adapting,
    "cards-to-pictures": turns.cards_to_pictures,
    "not-worn": turns.not_worn,
    "fellow-eye": turns.fellow_eye,
}
SHOWN = "moderate"  # the family whose addresses `make demo` prints


@dataclass(frozen=True)
class DemoTokens:
    """Secrets worked out from the demo's own key, so that `--keep` can print them again."""

    secret_key: str

    def link(self, story: str) -> tuple[str, str]:
        return f"odf_{self._of('feed', story)}", f"odp_{self._of('page', story)}"

    def api(self) -> str:
        return f"oda_{self._of('api', 'orthoptist')}"

    def _of(self, kind: str, name: str) -> str:
        return signature(self.secret_key, kind, name) + signature(self.secret_key, name, kind)


def build(engine: Engine, today: date, now: datetime, tokens: DemoTokens, told: Callable[[str], None] = lambda _: None) -> None:
    """`told` hears each story's name as it begins: building takes some seconds."""
    with writing(engine) as session:
        people_of = clinic.add(session)
        clinic.enter_lenses(session, people_of, today - timedelta(weeks=104))
        people.add_api_token(session, people_of.staff[Role.ORTHOPTIST], tokens.api(), "demo", now)
    for name, story in STORIES.items():
        told(name)
        with writing(engine) as session:
            story(Scene(session, people_of, today, tokens.link(name))).evenings_before(today)
