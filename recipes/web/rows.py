"""Rows of a form that are added, moved and removed by its buttons, with or without JavaScript.

Which rows there are, and their order, is what the hidden boxes ``row`` say; the boxes of row 3 are
named ``row-3-item`` and so on.
"""

from __future__ import annotations

from collections.abc import Mapping

from django.http import QueryDict
from django.utils.datastructures import MultiValueDict

from boxwort.web.keys import FIELD

Texts = MultiValueDict[str, str]
#: A page numbers its rows from 1; a longer number is none of its own.
_ROW_DIGITS = 6
#: Boxes that belong to one showing of the page, and are no part of what is typed.
OF_THE_PAGE = ("csrfmiddlewaretoken", FIELD, "act", "seen")


def sent_texts(sent: QueryDict) -> Texts:
    """Return the boxes of a request, without what belongs to the page.

    A null character is no text, and PostgreSQL keeps none.
    """
    return MultiValueDict(
        {
            name: [text.replace("\r\n", "\n").replace("\0", "") for text in values]
            for name, values in sent.lists()
            if name not in OF_THE_PAGE
        }
    )


def row_texts(texts: Texts, number: str) -> dict[str, str]:
    """Return the boxes of one row."""
    start = f"row-{number}-"
    return {
        name.removeprefix(start): values[-1]
        for name, values in texts.lists()
        if name.startswith(start) and values
    }


def put_row(texts: Texts, row: Mapping[str, str]) -> None:
    """Add a row at the end."""
    rows = texts.getlist("row")
    number = str(max((int(each[:_ROW_DIGITS]) for each in rows if each.isdecimal()), default=0) + 1)
    texts.setlist("row", [*rows, number])
    for name, text in row.items():
        texts.setlist(f"row-{number}-{name}", [text])


def with_rows(texts: Texts, act: str, blank: Mapping[str, str]) -> Texts:
    """Return the boxes after a row was added, moved up or down, or removed ("up-3")."""
    rows = texts.getlist("row")
    if act == "add":
        put_row(texts, blank)
        return texts
    what, _, number = act.partition("-")
    if number not in rows:
        return texts
    place = rows.index(number)
    if what == "remove":
        rows.remove(number)
        for name in row_texts(texts, number):
            del texts[f"row-{number}-{name}"]
    elif what in ("up", "down"):
        other = max(0, place - 1) if what == "up" else min(len(rows) - 1, place + 1)
        rows[place], rows[other] = rows[other], rows[place]
    texts.setlist("row", rows)
    return texts
