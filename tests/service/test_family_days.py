"""A family's own page of its days: tried before they are saved, journeys told and taken back, turns seen."""

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.actions import links
from service.clock import StoppedClock
from service.facts import Child, Role
from service.views.planned import planned_day
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import forms_of, note, send, submit
from tests.service.signing import sign_two_hours
from tests.service.test_households import ALL_WEEK, DAY, day, issue, known, page_of, spans, tell


@pytest.fixture
def signed(engine: Engine, clinic: TestClinic, sam: Child) -> Child:
    sign_two_hours(engine, clinic, sam, TODAY, day(60))
    return sam


@pytest.fixture
def aunt(engine: Engine, clinic: TestClinic, signed: Child) -> links.NewLink:
    return issue(engine, clinic, signed, "Aunt")


def take_back(visitor: TestClient, address: str, key: str) -> Any:
    form = next(f for f in forms_of(visitor.get(address).text) if f.values.get("remove") == key)
    return send(visitor, form, address, step="remove")


def test_a_family_tries_its_days_before_it_saves_them(visitor: TestClient, engine: Engine, clock: StoppedClock, signed: Child, aunt: links.NewLink) -> None:
    mine = f"/family/{aunt.page_token}/routine"
    tried = submit(visitor, mine, "wake", step="try", **ALL_WEEK, **DAY)
    assert tried.status_code == 200 and "Tried, not saved" in tried.text and "14:30–16:30" in tried.text and 'value="13:00-14:30"' in tried.text
    assert known(engine, signed, clock).told is None
    refused = submit(visitor, mine, "wake", step="try", **ALL_WEEK, **DAY | {"sleep": "6:00"})
    assert refused.status_code == 422 and "comes before waking" in refused.text and "Tried, not saved" not in refused.text
    shown = next(f for f in forms_of(tried.text) if "wake" in f.values)
    assert send(visitor, shown, mine, step="days").status_code == 303, "what was tried is what is saved"
    assert spans(known(engine, signed, clock), TODAY) == [("14:30", 120)]


def test_a_family_tells_of_a_journey_and_of_holidays_and_takes_them_back(
    visitor: TestClient, engine: Engine, clock: StoppedClock, signed: Child, aunt: links.NewLink
) -> None:
    mine = f"/family/{aunt.page_token}/routine"
    submit(visitor, mine, "wake", step="days", **ALL_WEEK, **DAY)
    before = [planned_day(known(engine, signed, clock), day(n)) for n in range(20)]
    there = {"journey_from_on": day(5), "journey_until_on": day(6)}
    assert submit(visitor, mine, "journey_zone", step="journey", **there, journey_zone="Mars/Base").status_code == 422
    assert submit(visitor, mine, "journey_zone", step="journey", **there, journey_zone="Asia/Tokyo").status_code == 303
    submit(visitor, mine, "wake", step="days", **ALL_WEEK, **DAY | {"naps": "", "from_on": day(8), "until_on": day(9)})
    after = [planned_day(known(engine, signed, clock), day(n)) for n in range(20)]
    assert [n for n in range(20) if before[n] != after[n]] == [5, 6, 8, 9] and {p.minutes for p in after} == {120}
    for key in (f"journey:{day(5)}:", f"holiday:{day(8)}:"):
        assert take_back(visitor, mine, key).status_code == 303
    assert [planned_day(known(engine, signed, clock), day(n)) for n in range(20)] == before


def test_one_home_sees_whose_turn_it_is_and_takes_back_nothing_of_the_other(
    signed_in, visitor: TestClient, engine: Engine, clinic: TestClinic, signed: Child, aunt: links.NewLink
) -> None:
    other = issue(engine, clinic, signed, "Grandfather")
    one, two = aunt.subscription.public_id, other.subscription.public_id
    mine, theirs = (f"/family/{link.page_token}/routine" for link in (aunt, other))
    browser = signed_in(Role.ORTHOPTIST)
    tell(browser, page_of(signed))
    assert "Who has your child" not in visitor.get(mine).text
    submit(browser, page_of(signed), "anchor_on", step="rotation", **{f"with_{n}": one if n < 4 else two for n in range(7)})
    submit(browser, page_of(signed), "swap_on", step="swap", swap_on=day(1), swap_with=two)
    for address in (mine, theirs):
        page = visitor.get(address).text
        assert "Who has your child" in page and "Aunt, Aunt, Aunt, Aunt, Grandfather" in page and "with Grandfather" in page
    submit(visitor, theirs, "wake", step="days", **ALL_WEEK, **DAY | {"from_on": day(8), "until_on": day(9)})
    submit(visitor, theirs, "wake", step="days", **ALL_WEEK, **DAY | {"from_on": day(10)})
    keys = [f"holiday:{day(8)}:{two}", f"week:{day(10)}:{two}"]
    own = [f.values["remove"] for f in forms_of(visitor.get(theirs).text) if "remove" in f.values]
    assert own == [keys[1], keys[0]] and not any("remove" in f.values for f in forms_of(visitor.get(mine).text))
    forged = next(f for f in forms_of(visitor.get(mine).text) if "off_words" in f.values)
    for key in (*keys, f"swap:{day(1)}:", f"rotation:{TODAY}:"):
        assert send(visitor, forged, mine, step="remove", remove=key).status_code == 403
    assert take_back(visitor, theirs, keys[1]).status_code == 303


def test_weeks_in_which_the_glasses_were_noted_as_off_are_no_weeks_of_glasses(
    signed_in, visitor: TestClient, engine: Engine, clinic: TestClinic, clock: StoppedClock, sam: Child
) -> None:
    link = issue(engine, clinic, sam, "Aunt")
    browser, address = signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/occlusion"
    looked = submit(browser, address, step="look", phase="refractive-adaptation", own_reason="new glasses", review_on=day(60))
    assert send(browser, next(f for f in forms_of(looked.text) if "seen" in f.values), address, step="sign", cautions_read="on").status_code == 303
    for n in range(9):
        clock.at = NOW + timedelta(days=n)
        answer = note(visitor, f"/family/{link.page_token}", how="correction-only", correction_worn="no" if n < 7 else "yes")
        assert answer.status_code == 303
    clock.at = NOW + timedelta(days=21)
    assert known(engine, sam, clock).weeks_of_glasses == 2, "three weeks since, one of them without"
    assert next(f for f in forms_of(signed_in(Role.ORTHOPTIST).get(address).text) if "adaptation_weeks" in f.values).values["adaptation_weeks"] == "2"
