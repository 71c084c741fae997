"""What every later page stands on: tables, transactions, words, headers."""

import asyncio
import re
from datetime import date, datetime, timedelta
from pathlib import Path

import jinja2
import pytest
import sqlalchemy as sa
from fastapi import FastAPI
from jinja2 import nodes
from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError, StatementError
from sqlmodel import Session, SQLModel, select
from starlette.testclient import TestClient
from starlette.types import Message

from schedules.feed_style import FeedStyle
from service import jobs
from service.app import create_app
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Role, SignedKind
from service.i18n import words
from service.labels import LABELS
from service.settings import Settings
from service.store import children, people, records, trail
from shared import vocabulary
from tests.people import NOW, TestClinic, add_clinic, infant, register
from tests.service.pages import submit
from tests.service.signing import sign_two_hours

TEMPLATES = Path(__file__).parents[2] / "templates"
OLDER_THAN_ANY_CLINIC = {"clinic", "installation", "sign_in_attempt"}


def test_every_row_carries_its_clinic() -> None:
    without = {t.name for t in SQLModel.metadata.tables.values() if "clinic_id" not in t.columns}
    assert without == OLDER_THAN_ANY_CLINIC


def test_the_migrations_build_what_the_tables_say(engine: Engine) -> None:
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection, opts={"compare_type": True}), SQLModel.metadata) == []


def test_a_row_of_no_clinic_and_a_value_out_of_range_are_refused_by_the_database(engine: Engine, clinic: TestClinic) -> None:
    child = register(engine, clinic, infant())
    with pytest.raises(IntegrityError), writing(engine) as session:
        trail.audit(session, 999, at=NOW, who="x", action="x", subject="x")
    with pytest.raises(IntegrityError), writing(engine) as session:
        session.execute(sa.update(records.ChildRow).where(records.ChildRow.id == child.id).values(weeks_premature=40))
    with pytest.raises(IntegrityError), writing(engine) as session:
        session.execute(sa.update(records.ChildRow).where(records.ChildRow.id == child.id).values(aetiology="x"))


def test_a_naive_instant_is_refused_and_an_aware_one_comes_back_in_utc(engine: Engine, clinic: TestClinic) -> None:
    with pytest.raises((StatementError, ValueError)), writing(engine) as session:
        trail.audit(session, clinic.clinic_id, at=datetime(2026, 3, 2, 9, 0), who="x", action="x", subject="x")  # noqa: DTZ001  # the point of the test
    with writing(engine) as session:
        trail.audit(session, clinic.clinic_id, at=NOW, who="x", action="x", subject="x")
    with reading(engine) as session:
        assert session.exec(select(records.AuditRow)).one().at == NOW


def test_a_block_that_raises_leaves_nothing(engine: Engine, clinic: TestClinic) -> None:
    with pytest.raises(RuntimeError), writing(engine) as session:
        trail.audit(session, clinic.clinic_id, at=NOW, who="x", action="x", subject="x")
        raise RuntimeError
    with reading(engine) as session:
        assert session.exec(select(records.AuditRow)).all() == []


def test_it_is_committed_before_the_answer_leaves(app: FastAPI, signed_in, engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    """A save that fails must not have said "saved": with every commit failing, no page may answer with success."""
    browser = signed_in(Role.ORTHOPTIST)
    browser.get("/children/new")

    def fail(self: Session) -> None:
        raise sa.exc.OperationalError("COMMIT", {}, Exception("disk full"))

    from tests.service.test_children import TYPED

    commit = sa.orm.SessionTransaction.commit
    monkeypatch.setattr(sa.orm.SessionTransaction, "commit", lambda self, _to_root=False: commit(self, _to_root) if self.nested else fail(None))
    quiet = TestClient(app, base_url=str(browser.base_url), cookies=dict(browser.cookies), raise_server_exceptions=False, follow_redirects=False)
    answer = submit(quiet, "/children/new", **TYPED)
    assert answer.status_code == 500 and "may not be saved" in answer.text
    monkeypatch.undo()
    with reading(engine) as session:
        assert session.exec(select(records.ChildRow)).all() == []


def test_what_a_change_caused_is_written_with_it(engine: Engine, clinic: TestClinic) -> None:
    child = register(engine, clinic, infant())
    sign_two_hours(engine, clinic, child, NOW.date(), NOW.date() + timedelta(days=7))
    with reading(engine) as session:
        actions = [a.action for a in session.exec(select(records.AuditRow)).all()]
    assert actions == ["register-child", "sign-regimen"]


def test_the_workers_tick_renders_every_open_feed(engine: Engine, clinic: TestClinic, settings: Settings, clock: StoppedClock) -> None:
    from service.actions import links
    from service.store import links as link_store

    child = register(engine, clinic, infant())
    with writing(engine) as session:
        link = links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver="x", style=FeedStyle("time"), now=NOW)
    jobs.tick(engine, settings, clock)
    with reading(engine) as session:
        assert link_store.feed_state(session, link.subscription.id).body.startswith(b"BEGIN:VCALENDAR")


def test_health_and_headers(visitor: TestClient, clinic: TestClinic) -> None:
    answer = visitor.get("/healthz")
    assert answer.status_code == 200
    assert answer.headers["content-security-policy"].startswith("default-src 'self'")
    assert answer.headers["strict-transport-security"] and answer.headers["x-request-id"]
    assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]


@pytest.mark.parametrize(
    ("address", "headers", "status"),
    [
        ("/children/%00", {}, 400),
        ("/?after=%00", {}, 400),
        ("/feed/x/plan.ics", {"If-Modified-Since": "Mon, 02 Mar 99999999999 09:00:00 GMT"}, 404),
    ],
)
def test_a_strange_address_or_header_is_no_bug_of_ours(signed_in, address: str, headers: dict[str, str], status: int) -> None:
    assert signed_in(Role.ORTHOPTIST).get(address, headers=headers).status_code == status


def test_an_unreadable_origin_is_refused(visitor: TestClient) -> None:
    assert visitor.post("/sign-in", data={}, headers={"Origin": "http://["}).status_code == 403


def test_no_environment_turns_the_demo_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DEMO", "1")
    with pytest.raises(ValueError, match="must be set"):
        Settings()


def test_a_bug_is_a_500_with_a_number_and_no_trace(settings: Settings, engine: Engine, clock: StoppedClock) -> None:
    app = create_app(settings, engine, clock)

    def broken() -> None:
        raise ZeroDivisionError("the secret cause")

    app.add_api_route("/broken", broken)
    answer = TestClient(app, base_url=settings.public_url, raise_server_exceptions=False).get("/broken")
    assert answer.status_code == 500 and "secret cause" not in answer.text and answer.headers["x-request-id"] in answer.text


def test_a_phone_that_hangs_up_meanwhile_is_no_bug_of_ours(app: FastAPI, caplog: pytest.LogCaptureFixture) -> None:
    headers = [(b"host", b"clinic.example"), (b"content-type", b"application/x-www-form-urlencoded")]
    scope = {"type": "http", "method": "POST", "path": "/family/x/wear", "query_string": b"", "headers": headers, "scheme": "https"}
    sent: list[Message] = []

    async def hung_up() -> Message:
        return {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        sent.append(message)

    with caplog.at_level("INFO"):
        asyncio.run(app(scope, hung_up, send))
    assert sent == [] and " 499 " in caplog.text and "ERROR" not in caplog.text


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"public_url": "http://clinic.example", "secret_key": "k" * 40},
        {"public_url": "https://clinic.example"},
        {"public_url": "https://clinic.example", "secret_key": "short"},
    ],
)
def test_outside_the_demo_settings_refuse_what_is_not_safe(given: dict[str, str]) -> None:
    with pytest.raises(ValueError, match="must be set"):
        Settings(**given)


def test_every_text_of_a_template_is_a_message() -> None:
    """Text between tags must come from gettext: a bare string can never be translated."""
    environment = jinja2.Environment(extensions=["jinja2.ext.i18n"])
    bare = []
    for path in sorted(TEMPLATES.rglob("*.html")):
        for data in environment.parse(path.read_text()).find_all(nodes.TemplateData):
            # a template's text may begin or end inside a tag: cut both, then every whole tag, then entities and comments
            text = re.sub(r"<!--.*?-->|^[^<>]*>|<[^<>]*>|<[^<>]*$|&\w+;", " ", data.data, flags=re.DOTALL)
            attributes = re.findall(r'(?:title|placeholder|aria-label|alt)="([^"{]*[A-Za-z]{2,}[^"{]*)"', data.data)
            if re.search(r"[A-Za-z]{2,}", text if "<" in data.data or ">" in data.data else "") or attributes:
                bare.append(f"{path.relative_to(TEMPLATES)}: {text.strip()[:60]!r} {attributes}")
    assert bare == []


def test_every_word_of_the_vocabulary_has_a_label_of_its_own() -> None:
    enums = [e for e in vars(vocabulary).values() if isinstance(e, type) and issubclass(e, vocabulary.StrEnum) and e is not vocabulary.StrEnum]
    assert [member for e in enums for member in e if e is not vocabulary.AcuityFamily and member not in LABELS.get(e, {})] == []
    speak = words("en")
    assert speak.label(vocabulary.Phase.OCCLUSION) != speak.label(SignedKind.OCCLUSION), "equal values of two vocabularies keep their own words"


def test_facts_of_two_clinics_never_meet(engine: Engine) -> None:
    one, two = add_clinic(engine, "left"), add_clinic(engine, "right", "Asia/Tokyo")
    child = register(engine, one, infant())
    with reading(engine) as session:
        assert [c.public_id for c in children.children(session, one.clinic_id, "", 10)] == [child.public_id]
        assert children.children(session, two.clinic_id, "", 10) == []
        assert people.clinic(session, two.clinic_id).time_zone == "Asia/Tokyo"
    assert child.zone_on(date(2026, 1, 1)) == "Europe/Lisbon"
