"""Make an account from the terminal, or a new sign-in link for one."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.one_time import make_one_time_link
from boxwort.accounts.people import add_person
from boxwort.roles import Right, Role
from boxwort.terminal import TradeCommand


class Command(TradeCommand):
    """``manage.py add_person robin --role packer --name "Robin Field"``."""

    right = Right.ADD_PERSON
    help = (
        "Make an account for a person and print a link that signs them in once, within 15 minutes. "
        "For somebody who has an account, only a new link is printed."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the name to sign in with, the role, and what the person is called."""
        super().add_arguments(parser)
        parser.add_argument("person", metavar="NAME", help="the name to sign in with")
        parser.add_argument(
            "--role", choices=[role.value for role in Role], help="what they do (default: viewer)"
        )
        parser.add_argument("--name", default="", help="what they are called")
        parser.add_argument(
            "--site", default="http://127.0.0.1:8000", help="address of the site for the link"
        )

    def handle(self, *_: Any, **options: Any) -> None:
        """Make the account if it is new, and print the link."""
        username = options["person"]
        person = User.objects.filter(username=username, is_active=True).first()
        if person is None:
            person = add_person(
                by=self.actor(options),
                username=username,
                role=options["role"] or Role.VIEWER,
                name=options["name"],
            )
            self.say(f"{username} is added as {person.get_role_display().lower()}.")
        elif options["role"] not in {None, person.role}:
            self.say(f"{username} has an account as {person.role}, and keeps that role.")
        self.say(f"Sign in once with {options['site']}{make_one_time_link(person)}")
