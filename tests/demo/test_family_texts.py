"""Every text that families are shown is in every translation. Which those are is found by showing them, not by a list.

With `WRITE_TEXTS=1` what is missing is added to the catalogues, for somebody to translate.
"""

import os
import re
import sqlite3
from collections.abc import Set
from contextlib import closing
from datetime import datetime
from enum import Enum
from fnmatch import fnmatch
from gettext import NullTranslations
from types import ModuleType

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from demo_data.build import STORIES
from schedules.reminders import CHOSEN
from service import catalogues, i18n
from service.app import create_app
from service.clock import StoppedClock
from service.db import open_engine, reading
from service.facts_of_messages import ChannelName
from service.facts_of_tellings import About
from service.pages import calendars, family, family_language, family_more, family_patches, family_routine, family_tell, home_sheet, reminders
from service.settings import ROOT, DemoSettings
from service.store import links
from shared.vocabulary import Laterality
from tests import translations
from tests.demo.conftest import TOKENS

PAGES: tuple[ModuleType, ...] = (family, family_language, family_more, family_patches, family_routine, family_tell, calendars, home_sheet, reminders)
VARIANTS = ("?noted=yes", "?noted=undone", "/tell?none=yes", "/signs?told=yes", "/sheet?pictures=yes", "/reminders?noted=yes", "/routine?noted=yes")
MISTAKES = ({}, {"how": "some", "minutes": "x", "on": "2026-13-01"}, {"how": "none", "on": "2026-03-30"}, {"how": "all", "on": "2036-04-30"})
# Whose every text is a family's: not all of them fall to the demo's families on its two days.
FAMILY_ALONE = (
    *(f"schedules/{name}.py" for name in ("day", "care_at_home", "care_visits", "feed_*", "household", "household_changes")),
    *(f"schedules/{name}.py" for name in ("local_time", "planner", "reminders", "routine")),
    *(f"service/actions/{name}.py" for name in ("contacts", "feed", "households", "languages", "links", "tellings", "timers", "wear")),
    *(
        "service/facts_of_teaching.py",
        "service/forms.py",
        "service/calendar_form.py",
        "service/*_typed.py",
        "service/reminder_form.py",
        "service/messages/*.py",
        "service/answers_to_errors.py",
    ),
    *(f"service/pages/{name}.py" for name in ("calendars", "family*", "home_sheet", "kept", "reminders")),
    "service/labels_of_calendars.py",
    *(f"service/views/{name}.py" for name in ("cautions", "family*", "home_sheet", "household_words", "teaching", "tellings", "week_planned")),
)
LABELLED: tuple[type[Enum], ...] = (About, ChannelName, Laterality)


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


def addresses(method: str) -> list[str]:
    return [r.path for module in PAGES for r in module.router.routes if r.path.startswith("/family/") and method in r.methods]


def walk(browser: TestClient, engine: Engine) -> int:
    """Every page, feed and answer to a mistake of every family's link; gives how many families there were."""
    families = 0
    for story in STORIES:
        feed, token = TOKENS.link(story)
        page = browser.get(f"/family/{token}")
        if page.status_code == 404:
            continue  # a family without a link
        families += 1
        with reading(engine) as session:
            assert links.subscription_of_page(session, token).revoked_at is None
        assert browser.get(f"/feed/{feed}/plan.ics").status_code == 200
        for address in [*(a.replace("{token}", token) for a in addresses("GET")), *(f"/family/{token}{v}" for v in VARIANTS)]:
            assert browser.get(address).status_code == 200, address
        form_token = re.search(r'name="form_token" value="([^"]+)"', browser.get(f"/family/{token}/reminders").text)
        assert form_token
        for address in addresses("POST"):
            for mistake in MISTAKES:
                for deed in ("add-email", "add-number"):
                    data = {"form_token": form_token[1], "email": "x", "number": "x", **mistake}
                    assert browser.post(address.replace("{token}", token).replace("{deed}", deed), data=data).status_code < 500
    return families


@pytest.fixture(scope="session")
def wanted(built: tuple[Engine, datetime], tmp_path_factory: pytest.TempPathFactory) -> Set[str]:
    """Found on a copy of the demo: the walk leaves traces."""
    source, now = built
    copy = tmp_path_factory.mktemp("walked") / "demo.db"
    with closing(sqlite3.connect(str(source.url.database))) as old, closing(sqlite3.connect(copy)) as new:
        old.backup(new)
    engine = open_engine(f"sqlite:///{copy}")
    asked = Asked()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(catalogues, "compiled", lambda language: asked)
        i18n.words.cache_clear()
        app = create_app(DemoSettings(database_url=str(engine.url), public_url="http://demo.test"), engine, StoppedClock(now))
        assert walk(TestClient(app, base_url="http://demo.test"), engine) >= 5
        speak = i18n.words("en")
        for member in [*(m for kind in LABELLED for m in kind), *CHOSEN]:
            speak.label(member)
        for minutes in (1, 45, 60, 150):
            speak.hours(minutes)
    i18n.words.cache_clear()
    files = family_files()
    return asked.texts | {text for text, said_in in translations.files_of_texts().items() if said_in & files}


def family_files() -> Set[str]:
    pending = [p.relative_to(ROOT / "templates").as_posix() for room in ("caregiver", "messages") for p in (ROOT / "templates" / room).glob("*.html")]
    templates: set[str] = set()
    while pending:
        name = pending.pop()
        if name not in templates and name != "caregiver/nursery.html":  # a nursery is spoken to in its clinic's language
            templates.add(name)
            pending += re.findall(r'"((?:partials|caregiver|messages)/[a-z_]+\.html)"', (ROOT / "templates" / name).read_text())
    said_in = {file for files in translations.files_of_texts().values() for file in files}
    modules = {file for file in said_in if any(fnmatch(file, pattern) for pattern in FAMILY_ALONE)}
    return modules | {f"templates/{name}" for name in templates}


@pytest.mark.parametrize("language", catalogues.TRANSLATED)
def test_every_text_that_families_are_shown_is_translated(wanted: Set[str], language: str) -> None:
    if os.environ.get("WRITE_TEXTS"):
        translations.rewrite(language, wanted)
    known = {t.source for t in catalogues.texts(language) if t.translated}
    assert sorted(wanted - known) == []


@pytest.mark.parametrize("language", catalogues.TRANSLATED)
def test_a_translation_has_the_places_and_plurals_of_its_source(language: str) -> None:
    """By the checkers of Babel: a place that is missing would be shown, or break the page."""
    assert list(translations.faults(language)) == []
