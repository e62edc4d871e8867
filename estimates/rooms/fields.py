"""A length in the database and on a form: what was typed stands beside the exact value.

A model declares ``height = LengthField(_("height"))`` and gets two columns, ``height_typed`` (the text, as
the measurer wrote it) and ``height_units`` (whole ten-thousandths of a millimetre, since SQLite would keep
a decimal as a float). ``room.height`` reads and writes both at once as a :class:`Length`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, overload

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext

from estimates.takeoff.lengths import (
    LengthError,
    exact_text,
    format_length,
    from_units,
    parse_length,
    to_units,
)
from estimates.takeoff.units import System

if TYPE_CHECKING:
    from django_stubs_ext import StrPromise


@dataclass(frozen=True)
class Length:
    """A length as typed and as read, in millimetres on the grid of 0.0001 mm."""

    typed: str
    mm: Decimal

    @classmethod
    def read(cls, text: str, system: System, *, allow_zero: bool = False) -> Length:
        """Read *text* as :func:`~estimates.takeoff.lengths.parse_length` does; raises LengthError."""
        return cls(text.strip(), parse_length(text, system, allow_zero=allow_zero))

    @classmethod
    def of(cls, mm: Decimal, system: System) -> Length:
        """Return the length of *mm* as somebody on a site in *system* would have typed it."""
        return cls(exact_text(mm, system), mm)

    @property
    def units(self) -> int:
        return to_units(self.mm)

    def shown(self, system: System) -> str:
        return format_length(self.mm, system)


class LengthField:
    """Two columns of a model that hold one length (not a field itself, so migrations see plain columns).

    Args:
        verbose_name: what forms and messages call it.
        null: whether the length may be missing; then the attribute is None.
        zero: the length starts as 0 (an offset nobody typed).
    """

    def __init__(self, verbose_name: str | StrPromise, *, null: bool = False, zero: bool = False) -> None:
        self.verbose_name = verbose_name
        self.null = null
        self.zero = zero
        self.name = ""

    def contribute_to_class(self, cls: type[models.Model], name: str) -> None:
        self.name = name
        typed = models.CharField(self.verbose_name, max_length=40, blank=True, default="")
        typed.contribute_to_class(cls, f"{name}_typed")
        units: models.PositiveBigIntegerField[Any, Any]
        if self.zero:
            units = models.PositiveBigIntegerField(self.verbose_name, default=0, editable=False)
        else:
            units = models.PositiveBigIntegerField(
                self.verbose_name, null=self.null, blank=self.null, editable=False
            )
        units.contribute_to_class(cls, f"{name}_units")
        setattr(cls, name, self)

    @overload
    def __get__(self, instance: None, owner: type[models.Model]) -> LengthField: ...
    @overload
    def __get__(self, instance: models.Model, owner: type[models.Model]) -> Length | None: ...
    def __get__(
        self, instance: models.Model | None, owner: type[models.Model]
    ) -> LengthField | Length | None:
        if instance is None:
            return self
        units = getattr(instance, f"{self.name}_units")
        return None if units is None else Length(getattr(instance, f"{self.name}_typed"), from_units(units))

    def __set__(self, instance: models.Model, value: Length | None) -> None:
        setattr(instance, f"{self.name}_typed", "" if value is None else value.typed)
        units = None if value is None else value.units
        setattr(instance, f"{self.name}_units", 0 if units is None and self.zero else units)


class LengthFormField(forms.CharField):
    """A text that is read as a length in the site's units; cleans to :class:`Length` or None.

    *system* is set by the form, which knows the site.
    """

    def __init__(self, *, allow_zero: bool = False, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self.allow_zero = allow_zero
        self.system = System.INCH
        self.widget.attrs.update({"autocomplete": "off", "class": "length", "size": "9"})

    def clean(self, value: Any) -> Length | None:
        text = super().clean(value)
        if not text:
            return None
        return read_or_refuse(lambda: Length.read(text, self.system, allow_zero=self.allow_zero))

    def prepare_value(self, value: Any) -> Any:
        return value.typed if isinstance(value, Length) else value


def read_or_refuse(read: Callable[[], Length]) -> Length:
    """Call *read* and turn the core's refusal into a form's, in the reader's language."""
    try:
        return read()
    except LengthError as error:
        raise ValidationError(error.reason.render(gettext), code=error.rule) from error
