"""What forms of every app share: money and percentages as people write them, acts that are done once."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from .keys import KEY_USED

_NUMBER = re.compile(r"-?(\d+|\d{1,3}(,\d{3})+)(\.\d*)?|-?\.\d+")


class _HundredthsField(forms.CharField):
    """A decimal number of at most two decimals, cleaned to whole hundredths (an int) or None when empty."""

    sign = ""
    expected = _("a number")

    def __init__(self, *, least: int = 0, most: int = 10**12, **kwargs: Any) -> None:
        self.least, self.most = least, most
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("inputmode", "decimal")
        self.widget.attrs.setdefault("autocomplete", "off")

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, int):
            return (
                f"{Decimal(value) / 100:.2f}".removesuffix(".00")
                if self.sign == "%"
                else f"{value / 100:.2f}"
            )
        return value

    def clean(self, value: Any) -> int | None:
        text = super().clean(value)
        bare = re.sub(r"[\s\u00a0\u202f$€£%]", "", text or "")
        if not bare:
            if text:
                self._refuse(text)
            return None
        if not _NUMBER.fullmatch(bare):
            self._refuse(text)
        hundredths = Decimal(bare.replace(",", "")) * 100
        if hundredths != hundredths.to_integral_value():
            raise ValidationError(_("Read “%(text)s”: at most two decimals are kept.") % {"text": text})
        if not self.least <= hundredths <= self.most:
            raise ValidationError(
                _("Read “%(text)s”: expected %(expected)s from %(least)s to %(most)s.")
                % {
                    "text": text,
                    "expected": self.expected,
                    "least": self.prepare_value(self.least),
                    "most": self.prepare_value(self.most),
                }
            )
        return int(hundredths)

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.clean(data) != initial)
        except ValidationError:
            return True

    def _refuse(self, text: str) -> None:
        raise ValidationError(
            _("Read “%(text)s”: expected %(expected)s.") % {"text": text, "expected": self.expected}
        )


class MoneyField(_HundredthsField):
    """An amount of money, cleaned to whole cents: ``1,234.50`` gives 123450."""

    expected = _("an amount such as 1,234.50")


class PercentField(_HundredthsField):
    """A percentage, cleaned to basis points: ``8.25`` gives 825."""

    sign = "%"
    expected = _("a percentage such as 8.25")

    def __init__(self, *, least: int = 0, most: int = 10000, **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)


class KeyedForm(forms.Form):
    """A form whose act is done once, however often it is sent: it carries a key made with the page."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)

    def clean(self) -> dict[str, Any] | None:
        if "key" not in self.cleaned_data:
            self.add_error(None, _("This form was not complete. Open the page anew and send it again."))
        return super().clean()

    def act(self) -> dict[str, Any]:
        """Return the cleaned values as the service takes them."""
        return dict(self.cleaned_data)

    def renew_key(self) -> None:
        """Give the form a key of its own, since the one it had has recorded something else."""
        self.data = {**self.data.dict(), "key": str(uuid.uuid4())}  # type: ignore[attr-defined]


def kept(form: forms.BaseForm, service: Callable[..., Any], **act: Any) -> Any:
    """Call *service* and return what it made (True for nothing), or None when it refused.

    What it refuses goes beside the fields of *form*, and nothing typed is lost.
    """
    try:
        made = service(**act)
    except ValidationError as error:
        known = hasattr(error, "error_dict") and all(name in form.fields for name in error.error_dict)
        form.add_error(None, error if known else error.messages)
        if getattr(error, "code", "") == KEY_USED and isinstance(form, KeyedForm):
            form.renew_key()
        return None
    return True if made is None else made
