"""Thunderbird under Xvfb, over the same corpus as the other clients: instants, titles and alarms; and after a new signature the days that differ."""

import pytest

from schedules.feed import reconcile
from tests.clients.subscribing import served
from tests.clients.test_corpus import BODIES, EXPECTED
from tests.clients.thunderbird import Stored, Thunderbird
from tests.corpus import TWO_HOURS, Given
from tests.feeds import NAMESPACE, NOW, SECOND, day, occlusion, plan, publish

pytestmark = pytest.mark.long


def test_it_reads_what_was_meant_and_a_second_look_changes_nothing(tmp_path, record_property) -> None:
    events = sum(map(len, EXPECTED.values()))
    with served(BODIES) as address:
        program = Thunderbird(tmp_path, {name: f"{address}/{name}/plan.ics" for name in BODIES})
        first = program.start_until(lambda stored: len(stored) >= events)
        again = program.start_until(lambda stored: len(stored) >= events)
    for name, meant in EXPECTED.items():
        assert sorted(s.event for s in first if s.calendar == name) == sorted(meant), name
    assert rows(again) == rows(first)
    record_property("reader", ("Thunderbird under Xvfb", "minutes", len(BODIES), events))


def test_after_a_new_signature_the_days_that_differ_change_and_no_others(tmp_path) -> None:
    before = plan([TWO_HOURS])
    promises = publish(before)
    after = plan([TWO_HOURS, occlusion(2, 6, 14, (6, 90))])
    newer, _ = reconcile(after, promises, now=NOW + SECOND, namespace=NAMESPACE, subscription="Q7v1")
    bodies = {"plan": Given(before, promises, "time").body()}
    with served(bodies) as address:
        program = Thunderbird(tmp_path, {"plan": f"{address}/plan/plan.ics"})
        first = program.start_until(lambda stored: len(stored) == len(before))
        bodies["plan"] = Given(after, newer, "time").body()
        second = program.start_until(lambda stored: len(stored) == len(after))
    gone, come = rows(first) - rows(second), rows(second) - rows(first)
    assert {start for _, _, start, _, _ in come} == {str(day(n)) for n in range(6, 15)}
    assert {start for _, _, start, _, _ in gone} == {str(day(n)) for n in range(6, 21)}
    kept = {uid for _, uid, _, _, _ in gone} & {uid for _, uid, _, _, _ in come}
    assert len(kept) == 8, "a day that changed is the same event, newer"


def rows(stored: list[Stored]) -> set[tuple[str, str, str, str, int]]:
    return {(s.calendar, s.uid, s.event.start, s.event.title, s.modified) for s in stored}
