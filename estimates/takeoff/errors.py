"""What can be wrong with a measurement or a setting, as data and as a sentence."""

from __future__ import annotations

from typing import Any

from .phrases import Phrase, gettext_noop, phrase


class DomainError(ValueError):
    """A rule of the trade or of the input was broken.

    Attributes:
        reason: the sentence for people: what was read, what was expected, what to do.
        place: where in the input, as a path such as ``rooms[0].walls[2].length`` (may be empty).
        rule: a short stable name for programs and tests, such as ``length.inches-overflow``.
        facts: the values that the sentence speaks of, for tests and logs.

    Instances pickle, since Celery sends them between processes.
    """

    def __init__(self, reason: Phrase, *, rule: str, place: str = "", **facts: Any) -> None:
        super().__init__(reason)
        self.reason = reason
        self.rule = rule
        self.place = place
        self.facts = facts

    def at(self, place: str) -> DomainError:
        """Return the same error one level further out: *place* is put before the present place."""
        joined = (
            f"{place}.{self.place}" if self.place and not self.place.startswith("[") else place + self.place
        )
        moved = type(self)(self.reason, rule=self.rule, place=joined, **self.facts)
        moved.__cause__ = self
        return moved

    def of(self, name: str) -> DomainError:
        """Return the same error with what it is about, such as a room's name, before its sentence."""
        told = phrase(gettext_noop("{name}: {what}"), name=name, what=self.reason)
        renamed = type(self)(told, rule=self.rule, place=self.place, **self.facts)
        renamed.__cause__ = self
        return renamed

    def __str__(self) -> str:
        return f"{self.place}: {self.reason}" if self.place else str(self.reason)

    def __reduce__(self) -> tuple[Any, ...]:
        return (_rebuild, (type(self), self.reason, self.rule, self.place, self.facts))


def _rebuild(
    kind: type[DomainError], reason: Phrase, rule: str, place: str, facts: dict[str, Any]
) -> DomainError:
    return kind(reason, rule=rule, place=place, **facts)
