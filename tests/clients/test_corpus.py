"""Every calendar of the corpus, read by every client as it stands and with its events reversed: the same instants, titles and alarms.

`pytest tests/clients -q` prints the matrix.
"""

import re
from collections.abc import Iterable
from datetime import date
from pathlib import Path

import icalendar
import pytest

from schedules.feed import reconcile
from tests.clients.readers import READERS, Reader
from tests.clients.subscribing import Subscriber, served
from tests.corpus import CORPUS, TWO_HOURS, Given, expected, golden, reversed_events
from tests.feeds import NAMESPACE, NOW, SECOND, day, occlusion, plan, publish

BODIES = {f"c{n}{order}": turn(golden(case)) for n, case in enumerate(CORPUS) for order, turn in (("", bytes), ("r", reversed_events))}
EXPECTED = {f"c{n}{order}": expected(case()) for n, case in enumerate(CORPUS) for order in ("", "r")}


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
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


def test_after_a_new_signature_a_subscriber_changes_the_days_that_differ_and_no_others(tmp_path: Path) -> None:
    before = plan([TWO_HOURS])
    promises = publish(before)
    after = plan([TWO_HOURS, occlusion(2, 6, 14, (6, 90))])
    bodies = {"plan": Given(before, promises, "time").body()}
    with served(bodies) as address:
        subscriber = Subscriber(tmp_path, {"plan": f"{address}/plan/plan.ics"})
        subscriber.sync()
        first = subscriber.stored()
        newer, _ = reconcile(after, promises, now=NOW + SECOND, namespace=NAMESPACE, subscription="Q7v1")
        bodies["plan"] = Given(after, newer, "time").body()
        subscriber.sync()
        second = subscriber.stored()
    assert days_of(second.items() - first.items()) == {day(n) for n in range(6, 15)}
    assert days_of(first.items() - second.items()) == {day(n) for n in range(6, 21)}


def days_of(files: Iterable[tuple[str, bytes]]) -> set[date]:
    """It names a file after its content, so a day that differs is a new file."""
    return {e.decoded("dtstart") for _, body in files for e in icalendar.Calendar.from_ical(body).events}
