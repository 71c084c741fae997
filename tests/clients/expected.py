"""What any calendar program must find in the demo's feed: its plan as demo_data tells it, 2 h a day until the review."""

from datetime import date, timedelta
from pathlib import Path

from tests.running import NOW

CLIENTS = Path(__file__).parents[2] / ".venv-clients"
TODAY = NOW.date()
REVIEW_ON = TODAY + timedelta(days=5)
DAYS: list[tuple[date, str]] = [(TODAY + timedelta(days=n), "time 2 h") for n in range(-30, 5)] + [(REVIEW_ON, "time: plan ends"), (REVIEW_ON, "visit")]
