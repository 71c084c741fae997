"""Settings from the environment. Secrets refuse their default values outside the demo."""

from pathlib import Path
from typing import ClassVar, Self

from pydantic import model_validator

from service.message_settings import MessageSettings
from service.messages.web_push import new_private_key

ROOT = Path(__file__).resolve().parent.parent
DEMO_SECRET = "demo-only-secret"


class Settings(MessageSettings):
    """`PUBLIC_URL` is what families' calendars are given, so outside the demo it must be https."""

    host: str = "127.0.0.1"
    port: int = 8000
    public_url: str = ""
    database_url: str = f"sqlite:///{ROOT / '.demo' / 'occlusion-dose.db'}"
    secret_key: str = DEMO_SECRET
    feed_budget_per_hour: int = 120
    demo: ClassVar[bool] = False  # not a setting: no environment can switch the checks below off

    @model_validator(mode="after")
    def _outside_the_demo(self) -> Self:
        if self.demo:
            self.vapid_private_key, self.vapid_contact = self.vapid_private_key or new_private_key(), self.vapid_contact or "demo@harrowmere.example"
            self.public_url = self.public_url or f"http://{'localhost' if self.host in ('0.0.0.0', '127.0.0.1') else self.host}:{self.port}"
        elif not self.public_url.startswith("https://"):
            raise ValueError("PUBLIC_URL must be set and start with https:// (families' secret addresses must never travel in clear text)")
        elif self.secret_key == DEMO_SECRET or len(self.secret_key) < 32:
            raise ValueError(
                "SECRET_KEY must be set to at least 32 characters of your own (try: python3 -c 'import secrets; print(secrets.token_urlsafe(48))')"
            )
        self.public_url = self.public_url.rstrip("/")
        self.check_messages()
        return self

    @property
    def secure_cookies(self) -> bool:
        return self.public_url.startswith("https://")


class DemoSettings(Settings):
    """For `python -m service demo` and the tests of it alone."""

    demo: ClassVar[bool] = True
