"""`python -m service clinic` and `python -m service staff`: what has to be there before anybody can sign in."""

import argparse
import getpass
import sys

from sqlalchemy import Engine

from service.actions import staff
from service.clock import SystemClock
from service.db import writing
from service.facts import Role
from service.i18n import words
from service.migrate import is_current
from service.store import people
from shared.errors import ClinicalInputError


def add_arguments(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    clinic = commands.add_parser("clinic", help="begin a clinic, with its administrator")
    for name, explained in (
        ("--name", "the clinic's name, as families read it"),
        ("--town", "where it is"),
        ("--phone", "the number families ring"),
        ("--out-of-hours", "what families do outside clinic hours, in a sentence they read"),
        ("--time-zone", "for example Europe/Lisbon"),
        ("--administrator", "the administrator's name"),
    ):
        clinic.add_argument(name, required=True, help=explained)
    colleague = commands.add_parser("staff", help="add a colleague to a clinic")
    colleague.add_argument("--name", required=True)
    colleague.add_argument("--role", required=True, type=Role, choices=list(Role))
    colleague.add_argument("--clinic", help="the clinic's name, where there is more than one")
    for parser in (clinic, colleague):
        parser.add_argument("--sign-in", required=True, help="the name to sign in with; the password is asked for, or read from standard input")


def run(engine: Engine, given: argparse.Namespace) -> int:
    if not is_current(engine):
        print("database: not up to date; run `python -m service migrate` first", file=sys.stderr)
        return 2
    try:
        with writing(engine) as session:
            now = SystemClock().now()
            if given.command == "clinic":
                clinic = staff.ClinicGiven(given.name, given.town, given.phone, given.out_of_hours, given.time_zone)
                staff.begin(session, clinic, staff.Colleague(given.administrator, Role.ADMINISTRATOR, given.sign_in, _password()), now)
            else:
                found = people.clinics(session, given.clinic)
                if len(found) != 1:
                    print(f"staff: {'no clinic' if not found else 'more than one clinic'}; name one with --clinic", file=sys.stderr)
                    return 2
                staff.add(session, found[0], staff.Colleague(given.name, given.role, given.sign_in, _password()), now)
    except ClinicalInputError as e:
        told = words("en").text(e.message)
        print(f"{given.command}: {told}", file=sys.stderr)
        return 2
    print(f"{given.command}: done; {given.sign_in} can sign in")
    return 0


def _password() -> str:
    return getpass.getpass("password: ") if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
