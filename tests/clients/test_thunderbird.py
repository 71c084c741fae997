"""The feed subscribed to in Thunderbird: the days arrive as the service serves them, and a second refresh changes nothing."""

from datetime import timedelta
from pathlib import Path

import pytest

from tests.clients.expected import DAYS
from tests.clients.thunderbird import subscribed
from tests.running import Demo


@pytest.mark.long
def test_a_subscriber_gets_every_day_once_all_day_long_and_a_second_refresh_changes_nothing(demo: Demo, tmp_path: Path) -> None:
    with subscribed(tmp_path, {"plan": demo.feed}) as program:
        first = program.stored()
        days = [(f"{on:%Y%m%d}", f"{on + timedelta(days=1):%Y%m%d}", title) for on, title in DAYS]
        assert sorted((start, end, title) for start, end, title, _ in program.events()["plan"]) == days
        assert len(first) == len(DAYS)
        program.sync()
        assert program.stored() == first
