"""JSON texts and the shapes they must have, with every refusal as a sentence and a place."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from functools import cache
from importlib.resources import files
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError, best_match

from .errors import DomainError
from .phrases import Phrase, gettext_noop, phrase


@cache
def schema(name: str) -> Mapping[str, Any]:
    """Return a schema of this package, ``input`` or ``output``."""
    found: Mapping[str, Any] = json.loads(
        (files(__package__) / "schema" / f"{name}.json").read_text(encoding="utf-8")
    )
    return found


def parse(text: str) -> Any:
    """Return the content of a JSON text; decimals are kept exactly.

    Raises:
        DomainError: rules ``document.json`` (with line and column), ``document.key-twice``.
    """
    try:
        return json.loads(
            text,
            parse_float=Decimal,
            parse_constant=_refuse_constant,
            object_pairs_hook=_once,
        )
    except json.JSONDecodeError as error:
        raise DomainError(
            phrase(
                gettext_noop("this is no JSON: {what}, at line {line}, column {column}."),
                what=error.msg,
                line=error.lineno,
                column=error.colno,
            ),
            rule="document.json",
            place=f"line {error.lineno}, column {error.colno}",
        ) from error
    except RecursionError:
        raise DomainError(
            phrase(gettext_noop("this document is nested too deeply to be a takeoff.")), rule="document.json"
        ) from None
    except (InvalidOperation, ValueError) as error:
        if isinstance(error, DomainError):
            raise
        raise DomainError(
            phrase(gettext_noop("this document holds a number that cannot be read.")), rule="document.json"
        ) from error


def _refuse_constant(name: str) -> Any:
    raise DomainError(
        phrase(gettext_noop("this document holds {name}, which is not a number."), name=name),
        rule="document.json",
    )


def _once(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise DomainError(
                phrase(gettext_noop("“{name}” is given twice in one object."), name=name),
                rule="document.key-twice",
            )
        found[name] = value
    return found


@cache
def _validator() -> Draft202012Validator:
    return Draft202012Validator(schema("input"))


def check_shape(content: Any) -> None:
    """Refuse a document that does not fit the input schema (rule ``document.schema``)."""
    error = best_match(_validator().iter_errors(content), key=_depth)
    if error is not None:
        place, reason = _explain(error)
        raise DomainError(reason, rule="document.schema", place=place)


def _depth(error: ValidationError) -> tuple[int, int]:
    """Prefer what stands first in the document and is missing or mistyped over what follows from it."""
    return (-len(error.absolute_path), 1 if error.validator in ("required", "additionalProperties") else 0)


def path_text(path: Iterable[str | int]) -> str:
    """Return a path as people read it.

    >>> path_text(["rooms", 0, "surfaces", 2, "length"])
    'rooms[0].surfaces[2].length'
    """
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text


def _explain(error: Any) -> tuple[str, Phrase]:
    place = path_text(error.absolute_path)
    read = short(error.instance)
    match error.validator:
        case "required":
            missing = next(name for name in error.validator_value if name not in error.instance)
            return place, phrase(gettext_noop("“{name}” is missing here."), name=missing)
        case "additionalProperties":
            known = error.schema.get("properties", {})
            extra = next(name for name in error.instance if name not in known)
            inner = f"{place}.{extra}" if place else extra
            return inner, phrase(
                gettext_noop("there is nothing called “{name}” here; expected one of {known}."),
                name=extra,
                known=", ".join(known),
            )
        case "enum":
            return place, phrase(
                gettext_noop("“{read}” was read; expected one of {known}."),
                read=read,
                known=", ".join(str(value) for value in error.validator_value),
            )
        case "const":
            return place, phrase(
                gettext_noop("“{read}” was read; expected “{known}”."), read=read, known=error.validator_value
            )
        case "type":
            kinds = error.validator_value
            return place, phrase(
                gettext_noop("“{read}” was read; expected {kind}."),
                read=read,
                kind=kinds if isinstance(kinds, str) else " / ".join(kinds),
            )
        case "exclusiveMinimum" | "minimum" | "maximum" | "exclusiveMaximum":
            signs = {"exclusiveMinimum": ">", "minimum": "≥", "maximum": "≤", "exclusiveMaximum": "<"}
            return place, phrase(
                gettext_noop("“{read}” was read; expected a number {sign} {limit}."),
                read=read,
                sign=signs[str(error.validator)],
                limit=str(error.validator_value),
            )
        case "not":
            return place, phrase(gettext_noop("give either “walk” or “walls”, not both."))
    return place, phrase(gettext_noop("“{read}” was read, which does not fit here."), read=read)


def short(value: Any) -> str:
    """Return what was read as a message may show it."""
    text = str(value) if isinstance(value, str | Decimal | int | float) else json.dumps(value, default=str)
    text = " ".join(text.split())
    return text if len(text) <= 60 else text[:60] + "…"
