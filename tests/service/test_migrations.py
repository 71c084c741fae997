"""Data already in a database survives every migration."""

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from sqlalchemy import Engine

from schedules.reminders import Wishes
from service.db import open_engine, reading
from service.migrate import MIGRATIONS
from service.store import links
from tests.people import NOW


def migrate_to(engine: Engine, revision: str) -> None:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)


def with_clinic(database_url: str, revision: str) -> Engine:
    """A database of that revision with one clinic in it, which was there from the first."""
    engine = open_engine(database_url)
    migrate_to(engine, "0001")
    with engine.begin() as c:
        c.execute(
            sa.text(
                "INSERT INTO clinic (id, public_id, name, town, phone, out_of_hours, time_zone, locale, demo)"
                " VALUES (1, 'c', 'n', 't', 'p', 'o', 'UTC', 'en', false)"
            )
        )
    migrate_to(engine, revision)
    return engine


def test_acuities_recorded_before_there_were_tests_become_tests_in_their_order(database_url: str) -> None:
    engine = with_clinic(database_url, "0001")
    now = "2026-01-05 09:00:00+00:00" if engine.dialect.name == "postgresql" else "2026-01-05 09:00:00.000000"
    with engine.begin() as c:
        for statement in (
            "INSERT INTO staff (id, clinic_id, public_id, name, role, sign_in_name, password_hash, active)"
            " VALUES (1, 1, 's', 'n', 'orthoptist', 'o', 'h', true)",
            "INSERT INTO child (id, clinic_id, public_id, reference, short_name, born_on, weeks_premature, aetiology,"
            " amblyopic_eye, registered_at, version, facts_version)"
            f" VALUES (1, 1, 'k', 'r', 's', '2025-01-01', 0, 'strabismic', 'left', '{now}', 1, 1)",
            "INSERT INTO visit (id, clinic_id, public_id, child_id, \"on\", version) VALUES (1, 1, 'v', 1, '2026-01-05', 1)",
            f"INSERT INTO visit_version (id, clinic_id, visit_id, version, recorded_by, recorded_at) VALUES (1, 1, 1, 1, 1, '{now}')",
            "INSERT INTO eye_finding (clinic_id, visit_version_id, eye, acuity, acuity_method, not_testable, correction_worn, reliability, pressure_mmhg)"
            " VALUES (1, 1, 'right', '6/6', 'crowded-hotv', false, 'spectacles', 'good', 14)",
            "INSERT INTO eye_finding (clinic_id, visit_version_id, eye, acuity_method, not_testable) VALUES (1, 1, 'left', 'crowded-hotv', true)",
        ):
            c.execute(sa.text(statement))
    migrate_to(engine, "head")
    with engine.connect() as c:
        read = c.execute(
            sa.text(
                "SELECT t.ordinal, t.method, r.eye, r.acuity, r.not_testable, r.correction_worn, r.reliability FROM acuity_test t"
                " JOIN acuity_reading r ON r.acuity_test_id = t.id ORDER BY r.eye DESC"
            )
        ).all()
        assert [tuple(row) for row in read] == [
            (0, "crowded-hotv", "right", "6/6", False, "spectacles", "good"),
            (0, "crowded-hotv", "left", None, True, None, None),
        ]
        assert c.execute(sa.text("SELECT pressure_mmhg FROM eye_finding WHERE eye = 'right'")).scalar() == 14
        assert str(c.execute(sa.text('SELECT "on" FROM visit_version')).scalar()) == "2026-01-05", "a version has the date of its visit"
    engine.dispose()


def test_whoever_might_sign_corrections_signs_both_kinds_and_nothing_else(database_url: str) -> None:
    engine = with_clinic(database_url, "0003")
    with engine.begin() as c:
        c.execute(sa.text("INSERT INTO sign_right (clinic_id, role, kind) VALUES (1, 'optometrist', 'correction'), (1, 'orthoptist', 'occlusion')"))
    migrate_to(engine, "0004")
    with engine.connect() as c:
        rights = {tuple(row) for row in c.execute(sa.text("SELECT role, kind FROM sign_right"))}
    assert rights == {("optometrist", "spectacles"), ("optometrist", "contact-lens"), ("orthoptist", "occlusion")}
    engine.dispose()


def test_clinicians_sign_operations_and_a_clinic_begins_without_a_pathway_of_its_own(database_url: str) -> None:
    engine = with_clinic(database_url, "0004")
    with engine.begin() as c:
        c.execute(sa.text("INSERT INTO sign_right (clinic_id, role, kind) VALUES (1, 'orthoptist', 'occlusion')"))
    migrate_to(engine, "0009")
    with engine.connect() as c:
        assert {tuple(r) for r in c.execute(sa.text("SELECT role, kind FROM sign_right"))} == {("orthoptist", "occlusion"), ("clinician", "operation")}
        assert c.execute(sa.text("SELECT not_brought_pathway FROM clinic")).scalar() == ""
    engine.dispose()


def test_clinicians_sign_drops_and_a_dose_signed_before_there_were_patterns_is_one_for_every_day(database_url: str) -> None:
    engine = with_clinic(database_url, "0004")
    migrate_to(engine, "0009")
    now = "2026-01-05 09:00:00+00:00" if engine.dialect.name == "postgresql" else "2026-01-05 09:00:00.000000"
    with engine.begin() as c:
        for statement in (
            "INSERT INTO staff (id, clinic_id, public_id, name, role, sign_in_name, password_hash, active)"
            " VALUES (1, 1, 's', 'n', 'orthoptist', 'o', 'h', true)",
            "INSERT INTO child (id, clinic_id, public_id, reference, short_name, born_on, weeks_premature, aetiology,"
            " amblyopic_eye, registered_at, version, facts_version)"
            f" VALUES (1, 1, 'k', 'r', 's', '2025-01-01', 0, 'strabismic', 'left', '{now}', 1, 1)",
            "INSERT INTO regimen (id, clinic_id, public_id, child_id, number, phase, start_on, review_on, covered_eye, missing_correction, doses,"
            " content, signed_by, signed_at) VALUES (1, 1, 'p', 1, 1, 'occlusion', '2026-01-05', '2026-02-05', 'right', 'go-on',"
            f" '[[\"2026-01-05\", 120], [\"2026-01-20\", 0]]', '{{}}', 1, '{now}')",
        ):
            c.exec_driver_sql(statement)
    migrate_to(engine, "head")
    with engine.connect() as c:
        assert ("clinician", "atropine") in {tuple(r) for r in c.execute(sa.text("SELECT role, kind FROM sign_right"))}
        doses = c.execute(sa.select(sa.table("regimen", sa.column("doses", sa.JSON)).c.doses)).scalar_one()
    assert doses == [["2026-01-05", 120, "daily", []], ["2026-01-20", 0, "daily", []]]
    engine.dispose()


def test_what_a_link_noted_names_its_link_afterwards(database_url: str) -> None:
    engine = with_clinic(database_url, "0013")
    now = "2026-01-05 09:00:00+00:00" if engine.dialect.name == "postgresql" else "2026-01-05 09:00:00.000000"
    entry = "INSERT INTO wear_entry (clinic_id, public_id, child_id, subscription_id, client_key, local_on, minutes, withdrawn, recorded_at) VALUES"
    with engine.begin() as c:
        for statement in (
            "INSERT INTO child (id, clinic_id, public_id, reference, short_name, born_on, weeks_premature, aetiology,"
            " amblyopic_eye, registered_at, version, facts_version)"
            f" VALUES (1, 1, 'k', 'r', 's', '2025-01-01', 0, 'strabismic', 'left', '{now}', 1, 1)",
            *(
                "INSERT INTO subscription (id, clinic_id, public_id, child_id, caregiver, label, feed_token_hash, page_token_hash, created_at,"
                f" feed_changed_at, feed_made_from, feed_body) VALUES ({n}, 1, 'link-{n}', 1, 'c', 'time', 'f{n}', 'p{n}', '{now}', '{now}', '', '')"
                for n in (1, 2)
            ),
            *(f"{entry} (1, 'e{n}', 1, {n}, 'same', '2026-01-05', 30, false, '{now}')" for n in (1, 2)),
        ):
            c.execute(sa.text(statement))
    migrate_to(engine, "head")
    with engine.connect() as c:
        shown = c.execute(sa.text("SELECT DISTINCT shown, colour, alarm_minutes FROM subscription")).all()
        read = c.execute(sa.text("SELECT public_id, recorded_by, minutes FROM wear_entry ORDER BY public_id")).all()
    assert [tuple(row) for row in read] == [("e1", "link:link-1", 30), ("e2", "link:link-2", 30)]
    assert [tuple(row) for row in shown] == [("all-day", "teal", None)], "a calendar goes on as it was"
    engine.dispose()


def test_a_message_announced_before_there_were_channels_is_known_as_never_sent(database_url: str) -> None:
    engine = with_clinic(database_url, "0017")
    now = "2026-01-05 09:00:00+00:00" if engine.dialect.name == "postgresql" else "2026-01-05 09:00:00.000000"
    with engine.begin() as c:
        for statement in (
            "INSERT INTO child (id, clinic_id, public_id, reference, short_name, born_on, weeks_premature, aetiology,"
            " amblyopic_eye, registered_at, version, facts_version)"
            f" VALUES (1, 1, 'k', 'r', 's', '2025-01-01', 0, 'strabismic', 'left', '{now}', 1, 1)",
            "INSERT INTO subscription (id, clinic_id, public_id, child_id, caregiver, label, word, shown, care, done_shown, colour, language,"
            " feed_token_hash, page_token_hash, created_at, feed_changed_at, feed_made_from, feed_body)"
            f" VALUES (1, 1, 'link-1', 1, 'c', 'time', '', 'all-day', '[]', false, 'teal', 'en', 'f', 'p', '{now}', '{now}', '', '')",
            "INSERT INTO outbox (id, clinic_id, child_id, subscription_id, kind, dedupe_key, due_at, expires_at, state)"
            f" VALUES (7, 1, 1, 1, 'plan-paused', 'plan-paused|revision-1|link-1', '{now}', '{now}', 'pending')",
        ):
            c.execute(sa.text(statement))
    migrate_to(engine, "head")
    with reading(engine) as session:
        assert links.subscription_by_id(session, 1).wishes == Wishes()
        assert links.stale_reminders(session, NOW, 9) == [], "nobody has an address yet"
    with engine.connect() as c:
        assert tuple(c.execute(sa.text("SELECT id, state, about, attempts FROM outbox")).one()) == (7, "unreached", "revision-1", 0)
    engine.dispose()
