"""What a job is, declared so that services can ask for it without importing its task."""

from __future__ import annotations

from dataclasses import dataclass

_DECLARED: dict[str, JobKind] = {}


@dataclass(frozen=True, kw_only=True)
class JobKind:
    """A kind of background work; declaring one is enough to make its title known.

    Attributes
    ----------
    name: the name the task is registered under ("planning.rebalance").
    title: what a person reads on the page of jobs.
    attempts: how many times it is tried before it is marked failed.
    page, page_title: the name and the title of the page on which what it made is read; "": none.
    """

    name: str
    title: str
    attempts: int = 3
    page: str = ""
    page_title: str = ""

    def __post_init__(self) -> None:
        """Remember the kind, and refuse a name that another kind already has."""
        if _DECLARED.setdefault(self.name, self) != self:
            msg = f"Two kinds of job are named {self.name}."
            raise ValueError(msg)


def title_of(name: str) -> str:
    """Return what a person reads for a kind of job, or its name where no kind declares it."""
    kind = _DECLARED.get(name)
    return kind.title if kind else name


def page_of(name: str) -> tuple[str, str]:
    """Return the name and the title of the page that a kind of job leads to, or nothing twice."""
    kind = _DECLARED.get(name)
    return (kind.page, kind.page_title) if kind else ("", "")
