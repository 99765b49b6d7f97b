"""The tree keeps its own rules: names, sizes, empty drawers, plain templates, whole refusals."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[2]
APPS = ("boxwort", "inventory", "recipes", "planning")
SOURCES = [
    file
    for app in APPS
    for file in sorted((HOUSE / app).rglob("*.py"))
    if "migrations" not in file.parts
]
TESTS = sorted((HOUSE / "tests").rglob("*.py"))
TEMPLATES = [file for app in APPS for file in sorted((HOUSE / app).rglob("*.html"))]
STYLES = [file for app in APPS for file in sorted((HOUSE / app).rglob("*.css"))]
LONGEST = 400
DRAWERS = {"utils", "util", "helpers", "common", "misc", "base", "manager", "managers", "lib"}
EMPTY = [HOUSE / app / "__init__.py" for app in APPS] + sorted(HOUSE.glob("boxwort/*/__init__.py"))
NOBODY_IS_SIGNED_IN = {"spend_one_time_link"}
FORBIDDEN_IN_TEMPLATES = {
    "an inline style": re.compile(r"<style|\sstyle=", re.IGNORECASE),
    "an inline script": re.compile(r"<script(?![^>]*\ssrc=)", re.IGNORECASE),
    "an inline handler": re.compile(r"\s(on[a-z]+|hx-on[:a-z-]*)=|javascript:", re.IGNORECASE),
    "a foreign address": re.compile(r"(src|href)=[\"']?(https?:)?//", re.IGNORECASE),
}


def named(file: Path) -> str:
    return str(file.relative_to(HOUSE))


def calls_to(name: str, tree: ast.Module) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name:
            yield node


def services(tree: ast.Module) -> Iterator[ast.FunctionDef]:
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and any(
            isinstance(mark, ast.Name) and mark.id == "service" for mark in node.decorator_list
        ):
            yield node


@pytest.mark.parametrize("file", SOURCES + TESTS + TEMPLATES + STYLES, ids=named)
def test_a_file_is_a_room_and_not_a_hall(file: Path) -> None:
    assert len(file.read_text().splitlines()) <= LONGEST


def test_no_file_is_a_drawer() -> None:
    assert [named(file) for file in SOURCES + TESTS if file.stem in DRAWERS] == []


@pytest.mark.parametrize("file", EMPTY, ids=named)
def test_the_door_of_a_package_is_empty(file: Path) -> None:
    assert file.read_text().strip() == ""


@pytest.mark.parametrize("file", TEMPLATES, ids=named)
def test_a_template_holds_only_markup(file: Path) -> None:
    text = file.read_text()
    assert [what for what, mark in FORBIDDEN_IN_TEMPLATES.items() if mark.search(text)] == []


@pytest.mark.parametrize("file", TEMPLATES, ids=named)
def test_every_form_that_writes_carries_its_security_token(file: Path) -> None:
    text = file.read_text()
    forms = re.findall(r"<form\b[^>]*method=[\"']post[\"'].*?</form>", text, re.DOTALL | re.I)
    assert [form[:80] for form in forms if "{% csrf_token %}" not in form] == []


@pytest.mark.parametrize("file", SOURCES, ids=named)
def test_a_refusal_has_a_code_a_reason_and_a_remedy(file: Path) -> None:
    for call in calls_to("Refusal", ast.parse(file.read_text())):
        assert len(call.args) == 3, f"line {call.lineno}"
        code = call.args[0]
        if isinstance(code, ast.Constant):
            assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)+", str(code.value)), f"line {call.lineno}"


@pytest.mark.parametrize("file", SOURCES, ids=named)
def test_a_service_takes_named_arguments_and_says_by_whom(file: Path) -> None:
    for act in services(ast.parse(file.read_text())):
        arguments = act.args
        assert not arguments.args, f"{act.name} takes positional arguments"
        by = {argument.arg for argument in arguments.kwonlyargs}
        assert "by" in by or act.name in NOBODY_IS_SIGNED_IN, f"{act.name} does not say by whom"
