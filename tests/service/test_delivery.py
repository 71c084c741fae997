"""What is due is sent once, when it is still wanted, and to whom it is for; whatever fails holds up nothing else."""

import re
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.feed_style import FeedStyle
from schedules.reminders import ReminderKind, Wishes
from service.actions import amendments, delivery, links
from service.actions.delivery import MOST_ATTEMPTS, Post, deliver_due
from service.actions.links import NewLink
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.facts_of_messages import ChannelName
from service.messages.channel import GoneError, PermanentFailureError, TemporaryFailureError
from service.settings import Settings
from service.store import contacts, outbox
from service.store import links as link_store
from shared.vocabulary import Phase
from tests.people import NOW, TODAY, TestClinic, register, schoolchild
from tests.service.messages import Recorder, add_contact, post, standing
from tests.service.pages import note
from tests.service.signing import sign_two_hours

MORNING, EVENING = NOW.replace(hour=8), NOW.replace(hour=19)  # in Lisbon, in winter: the usual hour of the day, and of the evening's question
HOME, WORK = "home@family.example", "work@family.example"


@pytest.fixture
def child(engine: Engine, clinic: TestClinic) -> Child:
    child = register(engine, clinic, schoolchild(), NOW - timedelta(days=20))
    sign_two_hours(engine, clinic, child, TODAY - timedelta(days=14), TODAY + timedelta(days=14))
    return child


@pytest.fixture
def link(engine: Engine, clinic: TestClinic, child: Child) -> NewLink:
    with writing(engine) as session:
        return links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver="Mother", style=FeedStyle("time"), now=NOW - timedelta(days=1))


@pytest.fixture
def mail() -> Recorder:
    return Recorder()


@pytest.fixture
def sending(engine: Engine, settings: Settings, clock: StoppedClock, mail: Recorder) -> Post:
    return post(engine, settings, clock, mail)


@pytest.fixture
def at(sending: Post, clock: StoppedClock) -> Callable[[datetime], int]:
    """Lets the worker's clock strike at a moment."""

    def strike(moment: datetime) -> int:
        clock.at = moment
        return deliver_due(sending)

    return strike


def pause(engine: Engine, clinic: TestClinic, child: Child, now: datetime, phase: Phase = Phase.PAUSE) -> None:
    with writing(engine) as session:
        amendments.decide(session, clinic.staff[Role.ORTHOPTIST], child, phase, TODAY + timedelta(days=14) if phase is Phase.PAUSE else None, "test", now)


def test_each_reminder_comes_once_at_its_hour_and_names_nobody(engine: Engine, link: NewLink, mail: Recorder, at) -> None:
    add_contact(engine, link, NOW)
    assert at(MORNING - timedelta(seconds=1)) == 0
    assert [at(MORNING), at(MORNING), at(EVENING), at(EVENING + timedelta(hours=1))] == [1, 0, 1, 0]
    assert mail.texts() == ["time: 2 h today.", "time: nothing is noted for today yet. Two taps are enough."]
    for m in mail.sent:
        said = " ".join((m.subject, m.title, m.text, m.html)).replace("https://clinic.example", "").casefold()
        assert not any(word in said for word in ("sam", "eye", "patch", "left", "right", "amblyop", "clinic", "lens"))
    assert len({m.key for m in mail.sent}) == 2 and all(re.fullmatch(r"[\w-]{32}", m.key) for m in mail.sent)


def test_what_was_noted_is_not_asked_for_and_what_was_taken_back_is(
    engine: Engine, link: NewLink, child: Child, visitor: TestClient, mail: Recorder, at
) -> None:
    add_contact(engine, link, NOW)
    at(MORNING)
    page = f"/family/{link.page_token}"
    assert note(visitor, page, how="all").status_code == 303
    assert at(EVENING) == 0 and standing(engine, child)[1:2] == [("evening", "cancelled")]
    undo = re.search(r'name="entry" value="([\w-]+)"', visitor.get(page).text)
    form = re.search(r'name="form_token" value="(\w+)"', visitor.get(page).text)
    assert undo and form
    visitor.post(f"{page}/undo", data={"entry": undo[1], "on": TODAY.isoformat(), "form_token": form[1]})
    assert at(EVENING + timedelta(minutes=5)) == 1, "taken back: it is unknown again"


def test_two_taps_from_a_reminder_note_the_whole_day(engine: Engine, link: NewLink, visitor: TestClient, mail: Recorder, at) -> None:
    add_contact(engine, link, NOW)
    at(MORNING)
    address = mail.sent[0].link.removeprefix("https://clinic.example")
    assert re.fullmatch(rf"/day/{link.subscription.public_id}/{TODAY}/\w{{32}}", address)
    assert link.feed_token not in mail.sent[0].html and link.page_token not in mail.sent[0].html
    assert note(visitor, address, how="all").status_code == 303
    assert at(EVENING) == 0


def test_a_pause_is_told_everywhere_at_once_and_a_new_plan_where_reminders_are_wanted(
    engine: Engine, clinic: TestClinic, link: NewLink, child: Child, mail: Recorder, at
) -> None:
    add_contact(engine, link, NOW, HOME)
    work = add_contact(engine, link, NOW, WORK)
    with writing(engine) as session:
        contacts.turn(session, link.subscription, work.public_id, NOW)
    pause(engine, clinic, child, NOW)
    at(NOW)
    assert {m.to.address for m in mail.sent if "pause from" in m.text} == {HOME, WORK}
    mail.sent.clear()
    sign_two_hours(engine, clinic, child, TODAY, TODAY + timedelta(days=14))
    at(NOW + timedelta(minutes=1))
    assert {m.to.address for m in mail.sent if "new plan" in m.text} == {HOME}


def test_a_notice_that_is_not_true_any_more_is_not_sent(engine: Engine, clinic: TestClinic, link: NewLink, child: Child, mail: Recorder, at) -> None:
    add_contact(engine, link, NOW)
    pause(engine, clinic, child, NOW)
    sign_two_hours(engine, clinic, child, TODAY, TODAY + timedelta(days=14))
    at(NOW)
    assert [t for t in mail.texts() if "plan" in t or "pause" in t] == [
        "time: there is a new plan from 2 Mar 2026 on. A calendar may be a day late; the page is right."
    ]


def test_at_night_a_notice_waits_for_the_morning_and_counts_no_attempt(
    engine: Engine, clinic: TestClinic, link: NewLink, child: Child, mail: Recorder, at
) -> None:
    add_contact(engine, link, NOW)
    night = NOW.replace(hour=22)
    pause(engine, clinic, child, night)
    assert at(night) == 0
    assert at(night + timedelta(hours=8, minutes=59)) == 0 and at(night + timedelta(hours=9)) == 1
    with reading(engine) as session:
        assert next(d for d in outbox.of_child(session, child, NOW + timedelta(days=2), 9) if d.kind is ReminderKind.PLAN_PAUSED).attempts == 1


def test_a_stop_withdraws_what_was_planned(engine: Engine, clinic: TestClinic, link: NewLink, child: Child, mail: Recorder, at) -> None:
    add_contact(engine, link, NOW)
    at(MORNING)
    pause(engine, clinic, child, NOW, Phase.STOP)
    at(EVENING)
    assert mail.texts() == ["time: 2 h today.", "time: the plan ended on 2 Mar 2026. Leave it off. The page says more."]


def test_nobody_to_tell_is_a_line_for_the_clinic(engine: Engine, clinic: TestClinic, link: NewLink, child: Child) -> None:
    pause(engine, clinic, child, NOW)
    assert standing(engine, child)[-1] == ("plan-paused", "unreached")


def test_a_closed_link_is_sent_nothing(engine: Engine, clinic: TestClinic, link: NewLink, child: Child, mail: Recorder, at) -> None:
    add_contact(engine, link, NOW)
    at(MORNING)
    pause(engine, clinic, child, MORNING)
    with writing(engine) as session:
        links.revoke(session, clinic.staff[Role.ORTHOPTIST], child, link.subscription.public_id, NOW)
    assert at(EVENING) == 0 and ("plan-paused", "cancelled") in standing(engine, child)


def test_what_fails_for_a_while_is_tried_again_ever_later_and_holds_up_no_other(engine: Engine, link: NewLink, mail: Recorder, at) -> None:
    for address in (HOME, WORK):
        add_contact(engine, link, NOW, address)
    mail.failures[HOME] = [TemporaryFailureError("no-connection"), OSError("not even one of ours"), TemporaryFailureError("no-connection")]
    assert at(MORNING) == 1 and [m.to.address for m in mail.sent] == [WORK]
    minutes = [m for m in range(1, 10) if at(MORNING + timedelta(minutes=m)) or len(mail.sent) > 1]
    assert minutes[0] == 7, "after one minute, two more, four more"


def test_it_is_given_up_after_a_stated_number_of_attempts(engine: Engine, link: NewLink, child: Child, mail: Recorder, at) -> None:
    add_contact(engine, link, NOW)
    mail.failures[HOME] = [TemporaryFailureError("no-connection")] * MOST_ATTEMPTS
    for minutes in range(300):
        at(MORNING + timedelta(minutes=minutes))
    assert mail.failures[HOME] == [] and mail.sent == []
    assert standing(engine, child)[0] == ("session", "dead")


def test_a_refused_address_gets_no_reminder_more_but_what_is_essential(
    engine: Engine, clinic: TestClinic, link: NewLink, child: Child, mail: Recorder, at
) -> None:
    contact = add_contact(engine, link, NOW)
    mail.failures[HOME] = [PermanentFailureError("address-refused", of_address=True)]
    at(MORNING)
    assert standing(engine, child)[0] == ("session", "dead") and at(EVENING) == 0
    with reading(engine) as session:
        assert contacts.by_id(session, contact.id).bounced_at == MORNING
    pause(engine, clinic, child, EVENING)
    assert at(EVENING) == 1
    with reading(engine) as session:
        assert contacts.by_id(session, contact.id).bounced_at is None, "it was taken: the address is right again"


def test_a_device_that_is_gone_goes_alone(engine: Engine, link: NewLink, settings: Settings, clock: StoppedClock) -> None:
    push = Recorder(ChannelName.WEB_PUSH, failures={"https://one": [GoneError("device-gone")]})
    for endpoint in ("https://one", "https://two"):
        add_contact(engine, link, NOW, endpoint, ChannelName.WEB_PUSH)
    clock.at = MORNING
    assert deliver_due(post(engine, settings, clock, push)) == 1
    with reading(engine) as session:
        assert [c.address for c in contacts.of(session, link.subscription.id)] == ["https://two"]


def test_a_message_that_cannot_even_be_written_holds_up_no_other(engine: Engine, link: NewLink, child: Child, mail: Recorder, at, monkeypatch) -> None:
    for address in (HOME, WORK):
        add_contact(engine, link, NOW, address)
    real = delivery.compose

    def broken(*given, **named):
        if given[4].address == HOME:
            raise RuntimeError("a bug")
        return real(*given, **named)

    monkeypatch.setattr(delivery, "compose", broken)
    assert at(MORNING) == 1 and [m.to.address for m in mail.sent] == [WORK]
    for minutes in range(300):
        at(MORNING + timedelta(minutes=minutes))
    assert standing(engine, child)[0] == ("session", "dead")
    with reading(engine) as session:
        assert [d.error for d in outbox.of_child(session, child, NOW + timedelta(days=2), 9) if d.error] == ["cannot-be-prepared"]


def test_two_who_claim_share_what_is_due_and_a_lease_that_ends_gives_it_back(engine: Engine, link: NewLink, child: Child) -> None:
    for n in range(6):
        add_contact(engine, link, NOW, f"{n}@family.example")
    with writing(engine) as session:
        delivery.reminders.plan(session, link.subscription, child, MORNING)

    def claim(who: str, now: datetime) -> list[int]:
        with writing(engine) as session:
            return [d.id for d in outbox.claim(session, who, now, now + timedelta(minutes=3), 4)]

    first, second = claim("one", MORNING), claim("two", MORNING)
    assert (len(first), len(second), len({*first, *second})) == (4, 2, 6)
    assert claim("three", MORNING + timedelta(minutes=2)) == []
    assert sorted(claim("four", MORNING + timedelta(minutes=3))) == sorted([*first, *second])[:4]
    with writing(engine) as session:
        outbox.settle(session, first[0], "one", outbox.DeliveryState.SENT, sent_at=NOW)
        assert outbox.renewed(session, first[0], "four") is not None, "whose lease has ended marks nothing"


def test_wishes_move_what_is_planned(engine: Engine, link: NewLink, child: Child, mail: Recorder, at) -> None:
    add_contact(engine, link, NOW)
    at(MORNING)
    with writing(engine) as session:
        link_store.save_wishes(session, child, link.subscription.public_id, Wishes(evening_minutes=20 * 60))
    assert at(EVENING) == 0 and at(EVENING + timedelta(hours=1)) == 1


def test_late_is_what_waits_past_its_time(engine: Engine, clinic: TestClinic, link: NewLink, at) -> None:
    add_contact(engine, link, NOW)
    at(MORNING - timedelta(hours=2))
    with reading(engine) as session:
        assert outbox.late_since(session, clinic.clinic_id, MORNING) is None
        assert outbox.late_since(session, clinic.clinic_id, MORNING + timedelta(minutes=5)) == MORNING
