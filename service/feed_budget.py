"""How often one feed may be fetched in an hour: a budget per token, never per address (calendars of many families share one)."""

from collections import OrderedDict
from datetime import datetime, timedelta

_HOUR = timedelta(hours=1)
_MOST_KEYS = 50_000


class FeedBudget:
    def __init__(self, per_hour: int) -> None:
        self._per_hour = per_hour
        self._windows: OrderedDict[str, tuple[datetime, int]] = OrderedDict()

    def seconds_to_wait(self, key: str, now: datetime) -> int:
        """0 when the fetch may go on (and it is counted), else the seconds until the next may."""
        started, count = self._windows.get(key, (now, 0))
        if now - started >= _HOUR:
            started, count = now, 0
        if count >= self._per_hour:
            return int((started + _HOUR - now).total_seconds()) + 1
        self._windows[key] = (started, count + 1)
        self._windows.move_to_end(key)
        while len(self._windows) > _MOST_KEYS:
            self._windows.popitem(last=False)
        return 0
