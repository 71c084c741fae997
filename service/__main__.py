"""Command line: `python -m service demo | serve | worker | migrate | clinic | staff | push-key | doctor | rules-diff | response-check`."""

import argparse
import logging
import signal
import sys
import threading
from datetime import date

import uvicorn
from pydantic import ValidationError
from sqlalchemy import Engine

from service import command_response, command_staff, jobs
from service.app import create_app
from service.clock import Clock, SystemClock
from service.db import open_engine
from service.messages.configured import channels
from service.messages.web_push import new_private_key
from service.migrate import is_current, migrate
from service.settings import DemoSettings, Settings


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m service", description="Occlusion Dose: the service and its tools.")
    commands = parser.add_subparsers(dest="command", required=True)
    demo = commands.add_parser("demo", help="the invented clinic, on the embedded database")
    demo.add_argument("--today", type=date.fromisoformat, help="the day on which the demo takes place (year-month-day)")
    demo.add_argument("--keep", action="store_true", help="keep what was entered at the last start")
    serve = commands.add_parser("serve", help="the service, for a clinic")
    serve.add_argument("--with-worker", action="store_true", help="run the worker's clock in this process (single-box installation)")
    commands.add_parser("worker", help="the worker's clock, in a process of its own")
    commands.add_parser("migrate", help="bring the database up to date")
    commands.add_parser("push-key", help="a new key that signs pushes to families' devices (VAPID_PRIVATE_KEY)")
    commands.add_parser("doctor", help="check settings and database, and say what to mend")
    diff = commands.add_parser("rules-diff", help="what the rules answer differently from what was written down, child by child")
    diff.add_argument("--write", action="store_true", help="write the answers down anew; README's Changes then wants a line that names them")
    commands.add_parser("response-check", help="the own dose-response model beside published group means")
    command_staff.add_arguments(commands)
    given = parser.parse_args()
    logging.basicConfig(level=logging.INFO, stream=sys.stderr, format="%(asctime)s %(levelname)s %(name)s %(message)s")
    for chatty in ("apscheduler", "alembic"):
        logging.getLogger(chatty).setLevel(logging.WARNING)
    without_settings = {"rules-diff": lambda: _rules_diff(given.write), "response-check": command_response.run, "push-key": _push_key}
    if given.command in without_settings:
        return without_settings[given.command]()
    try:
        if given.command == "demo":
            return _demo(given.today, given.keep)
        settings = Settings()
    except ValidationError as e:
        print(f"settings: {'; '.join(error['msg'] for error in e.errors())}", file=sys.stderr)
        return 2
    engine = open_engine(settings.database_url)
    match given.command:
        case "serve":
            return _serve(settings, engine, SystemClock(), ticking=given.with_worker)
        case "worker":
            return _worker(settings, engine)
        case "migrate":
            migrate(engine)
            print("database: up to date")
            return 0
        case "clinic" | "staff":
            return command_staff.run(engine, given)
        case _:
            return _doctor(settings, engine)


def _push_key() -> int:
    print(new_private_key())
    return 0


def _rules_diff(write: bool) -> int:
    from service import rules_diff

    found = rules_diff.moved()
    print("\n".join([*found, f"{len(found)} of {rules_diff.CHILDREN} answers moved"]))
    if write:
        rules_diff.write()
        print(f"written down; name them in README's Changes: answers {rules_diff.digest()}")
        return 0
    return 1 if found else 0


def _demo(today: date | None, keep: bool) -> int:
    from service import demo

    settings = DemoSettings()
    try:
        engine, clock, tokens = demo.prepare(settings, today, keep)
    except demo.NotADemoDatabaseError as e:
        print(f"demo: {e}", file=sys.stderr)
        return 2
    demo.print_addresses(settings, tokens)
    return _serve(settings, engine, clock, ticking=True)


def _serve(settings: Settings, engine: Engine, clock: Clock, *, ticking: bool) -> int:
    if not is_current(engine):
        print("database: not up to date; run `python -m service migrate` first", file=sys.stderr)
        return 2
    app = create_app(settings, engine, clock, ticking=ticking)
    # No access log: addresses hold secrets. Our own line per request names the route's template.
    uvicorn.run(app, host=settings.host, port=settings.port, access_log=False, log_config=None, server_header=False, proxy_headers=True)
    return 0


def _worker(settings: Settings, engine: Engine) -> int:
    scheduler = jobs.start(engine, settings, SystemClock())
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    jobs.tick(engine, settings, SystemClock())
    stop.wait()
    scheduler.shutdown()
    return 0


def _doctor(settings: Settings, engine: Engine) -> int:
    current = is_current(engine)
    print(f"settings: PUBLIC_URL {settings.public_url}, listening on {settings.host}:{settings.port}")
    print(f"database: {engine.url.render_as_string(hide_password=True)}: {'up to date' if current else 'not up to date; run `python -m service migrate`'}")
    print(f"messages: {', '.join(channels(settings)) or 'no channel is set up; families are reached by calendar and page alone'}")
    return 0 if current else 1


if __name__ == "__main__":
    sys.exit(main())
