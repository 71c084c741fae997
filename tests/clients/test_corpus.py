"""Every calendar of the corpus, read by every client as it stands and with its events reversed: the same instants, titles and alarms.

`pytest tests/clients -q` prints the matrix.
"""

import re
from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager, nullcontext
from datetime import date
from pathlib import Path

import icalendar
import pytest

from schedules.feed import reconcile
from tests.clients.readers import READERS, Reader
from tests.clients.subscribing import Subscriber, served
from tests.clients.thunderbird import Thunderbird, subscribed
from tests.corpus import CORPUS, TWO_HOURS, Given, expected, golden, reversed_events
from tests.feeds import NAMESPACE, NOW, SECOND, day, occlusion, plan, publish

BODIES = {f"c{n}{order}": turn(golden(case)) for n, case in enumerate(CORPUS) for order, turn in (("", bytes), ("r", reversed_events))}
EXPECTED = {f"c{n}{order}": expected(case()) for n, case in enumerate(CORPUS) for order in ("", "r")}


@pytest.mark.parametrize("reader", [pytest.param(r, id=r.name, marks=[pytest.mark.long] if r.long else []) for r in READERS])
def test_every_client_reads_what_was_meant(reader: Reader, tmp_path: Path, record_property) -> None:
    found = reader.read(BODIES, tmp_path)
    for name, events in EXPECTED.items():
        case = CORPUS[int(re.sub(r"\D", "", name))].__name__
        assert sorted(found[name]) == sorted(map(reader.told, events)), (reader.name, case)
    record_property("reader", (reader.name, reader.alarms, len(BODIES), sum(map(len, EXPECTED.values()))))


def test_the_order_of_the_events_is_really_turned() -> None:
    for case in CORPUS:
        there, back = golden(case), reversed_events(golden(case))
        uids = [[line for line in body.splitlines() if line.startswith(b"UID")] for body in (there, back)]
        assert uids[0] == uids[1][::-1]
        assert sorted(there.splitlines()) == sorted(back.splitlines())


@pytest.mark.parametrize(
    ("subscribing", "same_events_newer"),
    [
        pytest.param(lambda folder, feeds: nullcontext(Subscriber(folder, feeds)), 0, id="vdirsyncer"),  # it names an event after its content
        pytest.param(subscribed, 8, id="Thunderbird", marks=pytest.mark.long),  # on the ninth day the plan now ends
    ],
)
def test_after_a_new_signature_a_subscriber_changes_the_days_that_differ_and_no_others(
    subscribing: Callable[..., AbstractContextManager[Subscriber | Thunderbird]], same_events_newer: int, tmp_path: Path
) -> None:
    before = plan([TWO_HOURS])
    promises = publish(before)
    after = plan([TWO_HOURS, occlusion(2, 6, 14, (6, 90))])
    bodies = {"plan": Given(before, promises, "time").body()}
    with served(bodies) as address, subscribing(tmp_path, {"plan": f"{address}/plan/plan.ics"}) as subscriber:
        subscriber.sync()
        first = subscriber.stored()
        newer, _ = reconcile(after, promises, now=NOW + SECOND, namespace=NAMESPACE, subscription="Q7v1")
        bodies["plan"] = Given(after, newer, "time").body()
        subscriber.sync()
        second = subscriber.stored()
    gone, come = first.items() - second.items(), second.items() - first.items()
    assert days_of(come) == {day(n) for n in range(6, 15)}
    assert days_of(gone) == {day(n) for n in range(6, 21)}
    assert len(dict(gone).keys() & dict(come).keys()) == same_events_newer


def days_of(files: Iterable[tuple[str, bytes]]) -> set[date]:
    """A day that differs is another name or another content."""
    return {e.decoded("dtstart") for _, body in files for e in icalendar.Calendar.from_ical(body).events}
