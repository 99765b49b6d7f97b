from urllib.parse import parse_qs, urlsplit

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from boxwort.accounts.models import History, User
from boxwort.accounts.people import add_person, change_password
from boxwort.accounts.queries import house_user
from boxwort.accounts.tokens import make_token, token_row
from boxwort.errors import Refusal

pytestmark = pytest.mark.django_db


def test_a_person_added_from_the_terminal_signs_in_by_the_link(client, capsys):
    call_command("add_person", "robin", role="packer", name="Robin Field")
    printed = capsys.readouterr().out
    link = printed.split("Sign in once with http://127.0.0.1:8000")[1].strip()
    assert "robin is added as packer." in printed
    (token,) = parse_qs(urlsplit(link).query)["token"]
    client.post("/sign-in/once/", {"token": token})
    assert client.session["_auth_user_id"] == str(User.objects.get(username="robin").pk)
    assert not User.objects.get(username="robin").has_usable_password()
    assert History.objects.filter(action="add person").exists()


def test_somebody_who_has_an_account_gets_a_new_link_and_keeps_the_role(capsys):
    add_person(by=house_user(), username="robin", role="packer")
    call_command("add_person", "robin", role="owner")
    assert "robin has an account as packer, and keeps that role." in capsys.readouterr().out
    assert User.objects.get(username="robin").role == "packer"


@pytest.mark.parametrize(
    ("username", "role", "code"),
    [("robin", "captain", "role-not-known"), ("no spaces here", "packer", "username-unusable")],
)
def test_a_bad_name_or_role_is_refused(username, role, code):
    with pytest.raises(Refusal) as refused:
        add_person(by=house_user(), username=username, role=role)
    assert refused.value.code == code
    assert not User.objects.exclude(pk=house_user().pk).exists()


def test_a_command_done_by_nobody_known_says_so():
    with pytest.raises(CommandError, match="Nobody active is called sam"):
        call_command("add_person", "robin", username="sam")


def test_a_changed_password_takes_the_token_away():
    person = add_person(by=house_user(), username="robin", role="packer")
    make_token(by=person)
    change_password(by=person, password="oats and a short evening")
    assert token_row(person) is None
