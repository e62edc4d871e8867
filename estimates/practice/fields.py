"""How settings are written on the page and read back."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from estimates.pricelists.measures import read_measure, written
from estimates.takeoff.errors import DomainError
from estimates.takeoff.units import Measure

# More than this of anything is a slip of the keyboard; it also keeps the millionths within the database.
MOST = Decimal(1_000_000)
# Hours are planned day by day, so a rate of next to nothing would plan years.
LEAST_AN_HOUR = Decimal("0.1")
_NUMBER = re.compile(r"\d+(?:\.\d*)?|\.\d+")


class TypedField(forms.CharField):
    """A short text that is read as something else; empty is None."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=40, **kwargs)
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        return self.read(text) if text else None

    def read(self, text: str) -> Any:
        """Return what *text* says; raises ValidationError with what was read and what was expected."""
        raise NotImplementedError


class SettingField(TypedField):
    """A number with its unit, cleaned to a Measure; a bare number is in the usual unit."""

    def __init__(self, *, unit: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.unit = unit

    def read(self, text: str) -> Measure:
        if not self.unit and not _NUMBER.fullmatch(text):
            raise ValidationError(_("Read “%(text)s”: expected a number.") % {"text": text})
        try:
            found = read_measure(text, self.unit, zero=True)
        except DomainError as error:
            raise ValidationError(error.reason.render(gettext), code=error.rule) from error
        if found.value > MOST:
            raise ValidationError(_("Read “%(text)s”: more than anybody means.") % {"text": text})
        return found

    def prepare_value(self, value: Any) -> Any:
        return measure_text(value) if isinstance(value, Measure) else value


class PartField(TypedField):
    """A part of a whole, written as a percentage and cleaned to a fraction without unit."""

    def read(self, text: str) -> Measure:
        bare = text.removesuffix("%").strip()
        if not _NUMBER.fullmatch(bare) or Decimal(bare) > MOST:
            raise ValidationError(_("Read “%(text)s”: expected a percentage such as 5 %%.") % {"text": text})
        return Measure((Decimal(bare) / 100).quantize(Decimal("0.000001")).normalize(), "")

    def prepare_value(self, value: Any) -> Any:
        return part_text(value) if isinstance(value, Measure) else value


class YesNoField(forms.TypedChoiceField):
    """Yes or no, cleaned to one or nothing."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            required=False,
            choices=[("", _("as the default")), ("1", _("yes")), ("0", _("no"))],
            coerce=lambda text: Measure(Decimal(text), ""),
            empty_value=None,
            **kwargs,
        )

    def prepare_value(self, value: Any) -> Any:
        return str(value.value) if isinstance(value, Measure) else value


class MinutesField(SettingField):
    """A time in whole minutes, typed in minutes or hours; cleaned to an int."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(unit="min", **kwargs)

    def read(self, text: str) -> Any:
        minutes = super().read(text).to("min")
        if minutes != minutes.to_integral_value() or minutes > 10_000:
            raise ValidationError(
                _("Read “%(text)s”: expected whole minutes, such as 30 min.") % {"text": text}
            )
        return int(minutes)

    def prepare_value(self, value: Any) -> Any:
        return f"{value} min" if isinstance(value, int) else value


class OutputField(SettingField):
    """What is done in an hour: a bare number is in the usual unit, and is shown without it."""

    def read(self, text: str) -> Measure:
        found = super().read(text)
        # Nothing at all is refused by the takeoff with its own sentence.
        if 0 < found.value < LEAST_AN_HOUR:
            raise ValidationError(
                _("Read “%(text)s”: less than anybody gets done in an hour; expected at least 0.1.")
                % {"text": text}
            )
        return found

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, Measure) and value.unit == self.unit:
            return f"{value.value:f}"
        return super().prepare_value(value)


class FactorField(TypedField):
    """What hours are multiplied by, cleaned to a Decimal."""

    def read(self, text: str) -> Decimal:
        if not _NUMBER.fullmatch(text) or Decimal(text) > 10:
            raise ValidationError(
                _("Read “%(text)s”: expected a factor such as 1.25, which is a quarter more hours.")
                % {"text": text}
            )
        return Decimal(text).quantize(Decimal("0.000001")).normalize()

    def prepare_value(self, value: Any) -> Any:
        return f"{value:f}" if isinstance(value, Decimal) else value


class WholeField(TypedField):
    """A small whole number, cleaned to an int."""

    def read(self, text: str) -> int:
        if not re.fullmatch(r"[0-9]{1,3}", text):
            raise ValidationError(_("Read “%(text)s”: expected a whole number such as 2.") % {"text": text})
        return int(text)


def measure_text(measure: Measure) -> str:
    """Return a measure as it is written by hand, and as :class:`SettingField` reads it: ``34 1/2 in``."""
    top, slash, below = measure.unit.partition("/")
    sixteenths = measure.value * 16
    if top != "in" or sixteenths != sixteenths.to_integral_value() or measure.value % 1 == 0:
        return written(measure)
    whole, rest = divmod(int(sixteenths), 16)
    under = 16
    while rest % 2 == 0:
        rest, under = rest // 2, under // 2
    return f"{f'{whole} ' if whole else ''}{rest}/{under} {top}{slash}{below}"


def part_text(measure: Measure) -> str:
    """Return a fraction as :class:`PartField` reads it: ``5 %``."""
    return f"{(measure.value * 100).normalize():f} %"


def yes_no_text(measure: Measure) -> str:
    """Return a choice in words."""
    return gettext("yes") if measure.value else gettext("no")
