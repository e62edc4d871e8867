"""What the first page shows. An app adds its own part in ``AppConfig.ready``.

This way the first page can speak of quotes and jobs, which import this layer and are not imported by it::

    from contracting.staff import home
    home.register(home.Part(roles=OFFICE, order=20, section=quotes_waiting))
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from .models import Role, User


@dataclass(frozen=True)
class Item:
    """One thing to do: where it leads, what it is, and a word on it (a date, a number of rooms)."""

    title: str
    url: str
    detail: str = ""
    when: str = ""


@dataclass(frozen=True)
class Figure:
    """One number of the company with its unit, such as ("quoted this month", "$ 12,400")."""

    label: str
    value: str
    url: str = ""


@dataclass(frozen=True)
class Section:
    """A list of things to do under one heading, or numbers.

    Attributes:
        items: what to do, the most pressing first; at most about eight.
        empty: what to do when there is none, as a sentence.
        more: label and address of the whole list.
        first_step: label and address of the button that starts something new.
        note: a word on what the figures are, beside the heading.
    """

    heading: str
    items: Sequence[Item] = ()
    figures: Sequence[Figure] = ()
    empty: str = ""
    more: tuple[str, str] | None = None
    first_step: tuple[str, str] | None = None
    note: str = ""


@dataclass(frozen=True)
class Part:
    """A section of the first page: for whom, in what place, and how it is read.

    *section* may run queries; it may return None when there is nothing worth showing.
    """

    roles: frozenset[Role]
    order: int
    section: Callable[[User], Section | None] = field(compare=False)


_parts: list[Part] = []


def register(part: Part) -> None:
    """Add a part to the first page of the roles it is for."""
    _parts.append(part)


def sections_for(user: User) -> list[Section]:
    """Return what *user*'s first page shows, in order."""
    parts = sorted((part for part in _parts if user.role in part.roles), key=lambda part: part.order)
    return [section for part in parts if (section := part.section(user)) is not None]
