"""Every text that families are shown is in every translation. Which those are is found by showing them, not by a list."""

from datetime import datetime
from gettext import NullTranslations
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute
from sqlalchemy import Engine
from starlette.testclient import TestClient

from demo_data.build import STORIES
from service import catalogues, i18n
from service.app import create_app
from service.clock import StoppedClock
from service.settings import ROOT, DemoSettings
from tests.demo.conftest import DAYS, TOKENS

TEMPLATES = ROOT / "templates"
# Modules that speak to families and to the clinic: of these only what was really shown counts. Of every other that spoke on the walk, all counts.
MIXED = ("service/labels*.py", "service/i18n.py")


class Asked(NullTranslations):
    """A catalogue without a translation, which remembers what it was asked for."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: set[str] = set()

    def gettext(self, message: str) -> str:
        self.texts.add(message)
        return message

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        self.texts.add(msgid1)
        return super().ngettext(msgid1, msgid2, n)


@pytest.fixture(params=DAYS[1:], ids=str, scope="session")
def one_day(request: pytest.FixtureRequest) -> object:
    return request.param


def family_routes(app: FastAPI, method: str) -> list[str]:
    return [r.path for r in app.routes if isinstance(r, APIRoute) and r.path.startswith("/family/") and method in r.methods]


def test_x(built: tuple[Engine, datetime], monkeypatch: pytest.MonkeyPatch) -> None:
    engine, now = built
    asked = Asked()
    monkeypatch.setattr(catalogues, "compiled", lambda language: asked)
    i18n.words.cache_clear()
    app = create_app(DemoSettings(database_url=str(engine.url), public_url="http://demo.test"), engine, StoppedClock(now))
    browser = TestClient(app, base_url="http://demo.test")
    for story in STORIES:
        feed, token = TOKENS.link(story)
        assert browser.get(f"/feed/{feed}/plan.ics").status_code == 200
        for path in family_routes(app, "GET"):
            r = browser.get(path.replace("{token}", token))
            assert r.status_code == 200, path
        for more in ("?noted=yes", "?noted=undone", "/tell?none=yes", "/signs?told=yes", "/sheet?pictures=yes"):
            assert browser.get(f"/family/{token}{more}").status_code == 200
        for path in family_routes(app, "POST"):
            pass
    i18n.words.cache_clear()
    static = {m for _, _, m in [(0, 0, 0)]}
    Path("/tmp/p6languages/w/asked.txt").write_text("\n".join(sorted(asked.texts)))
    print(len(asked.texts))
