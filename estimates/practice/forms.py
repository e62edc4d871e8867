"""The forms of the company's practice: every figure with what holds now, what the default is and who set it.

A field shows what holds. Emptied, it goes back to the default. Only what was changed since the page was
opened is stored, so two people may change different figures at the same time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from estimates.pricelists.measures import from_millionths, to_millionths
from estimates.takeoff.labour import TRADE_STEPS, Factor, Rate
from estimates.takeoff.practice import Practice, Setting, is_fraction, is_yes_or_no, setting_groups
from estimates.takeoff.units import Measure

from .fields import (
    FactorField,
    MinutesField,
    OutputField,
    PartField,
    SettingField,
    TypedField,
    WholeField,
    YesNoField,
    measure_text,
    part_text,
    yes_no_text,
)
from .models import FactorValue, KeptValue, PracticeValue, RateValue
from .selectors import newest, practice_with

Kept = TypeVar("Kept", PracticeValue, RateValue, FactorValue)
# The other system's unit, so that everybody can read a default.
_ALSO = {"in": "mm", "ft": "m", "in/ft": "mm/m", "sq ft": "sq m", "sq ft/min": "sq m/min"}


@dataclass(frozen=True)
class Line:
    """One figure on the page. *own*: the row that counts, where the company has set it; *refused*: why the
    takeoff no longer takes it; *also*: the default in the other system's unit."""

    key: str
    label: str
    fields: list[forms.BoundField]
    default: Any
    default_source: str
    own: KeptValue | None
    refused: str = ""
    also: Measure | None = None


class KeptForm(forms.Form, Generic[Kept]):
    """A page of figures of one kind, each in one or several fields named after its key."""

    model: type[Kept]
    parts: tuple[str, ...] = ("",)

    seen = forms.IntegerField(
        widget=forms.HiddenInput,
        min_value=0,
        error_messages={"required": _("The page was not sent whole. Open it again.")},
    )

    def __init__(self, data: QueryDict | None = None) -> None:
        current = newest(self.model)
        self.newest = max((row.pk for row in current.values()), default=0)
        typed = data.copy() if data is not None else None
        seen = typed.get("seen", "") if typed is not None else ""
        is_old = seen.isdecimal() and len(seen) < 19 and int(seen) < self.newest
        # What the page said when it was opened; what was typed is compared with that.
        self.base: dict[str, Kept] = newest(self.model, int(seen)) if is_old else current
        if typed is not None and (key := typed.get("reset")):
            for name in self.names_of(key):
                typed[name] = ""
        super().__init__(typed)
        self.fields["seen"].initial = self.newest
        self.practice, self.refusals = self._practice()
        self.add_fields()

    def names_of(self, key: str) -> tuple[str, ...]:
        """Return the names of the fields of one figure."""
        return tuple(f"{key}-{part}" if part else key for part in self.parts)

    def rows(self) -> list[Kept]:
        """Return what is to be stored: the figures that were changed, those put back without a value."""
        return [row for key in self.keys() if self._was_sent(key) and (row := self.changed(key)) is not None]

    def refuse(self, error: ValidationError) -> None:
        """Lay what a service refused beside the fields it speaks of."""
        for key, messages in error.message_dict.items():
            self.add_error(self.error_field(key), messages)

    def over_theirs(self, error: ValidationError) -> KeptForm[Kept]:
        """Return the form for a second try: what was left alone shows what others have made of it since."""
        typed = QueryDict(mutable=True)
        typed.update(self.data)
        fresh = type(self)()
        mine = {row.key for row in self.rows()}
        for key in self.keys():
            if key not in mine:
                for name in self.names_of(key):
                    typed[name] = fresh[name].value() or ""
        typed["seen"] = str(fresh.newest)
        typed.pop("reset", None)
        again = type(self)(typed)
        if again.is_valid():
            again.refuse(error)
        return again

    def _was_sent(self, key: str) -> bool:
        return all(name in self.data for name in self.names_of(key))

    def own(self, key: str) -> Kept | None:
        """Return the row that counts, None where the default holds."""
        row = self.base.get(key)
        return None if row is None or row.is_default else row

    def refused(self, key: str) -> str:
        """Return why the takeoff does not take what is stored, empty where it does."""
        return self.refusals[key].reason.render(gettext) if key in self.refusals else ""

    # What each kind of figure says for itself.
    def _practice(self) -> tuple[Practice, Mapping[str, Any]]:
        raise NotImplementedError

    def keys(self) -> tuple[str, ...]:
        """Return the keys of all figures of the page."""
        raise NotImplementedError

    def add_fields(self) -> None:
        raise NotImplementedError

    def changed(self, key: str) -> Kept | None:
        """Return the row to be stored for one figure, None where it was left as it was."""
        raise NotImplementedError

    def error_field(self, key: str) -> str:
        """Return the field beside which a refusal stands."""
        return key


class PracticeForm(KeptForm[PracticeValue]):
    model = PracticeValue
    parts = ("", "source")

    def _practice(self) -> tuple[Practice, Mapping[str, Any]]:
        return practice_with(self.base, {}, {})

    def keys(self) -> tuple[str, ...]:
        return tuple(name for _title, names in setting_groups() for name in names)

    def add_fields(self) -> None:
        default = Practice()
        for name in self.keys():
            setting = default.named(name)
            label = setting.label.render(gettext)
            self.fields[name] = setting_field(name, setting, label, self.practice.named(name).value)
            own = self.own(name)
            self.fields[f"{name}-source"] = forms.CharField(
                label=_("What says so"),
                required=False,
                max_length=200,
                initial=own.source if own else "",
                widget=forms.TextInput(
                    attrs={"autocomplete": "off", "aria-label": f"{label}: {_('What says so')}"}
                ),
            )

    def changed(self, key: str) -> PracticeValue | None:
        typed: Measure | None = self.cleaned_data.get(key)
        source: str = self.cleaned_data.get(f"{key}-source", "")
        if typed == Practice().named(key).value and not source:
            typed = None
        own = self.own(key)
        if typed is None:
            return PracticeValue(key=key) if own else None
        if own and (typed, source) == (from_millionths(own.value_millionths or 0, own.unit), own.source):
            return None
        return PracticeValue(key=key, value_millionths=to_millionths(typed), unit=typed.unit, source=source)

    def groups(self) -> Iterator[tuple[str, list[Line]]]:
        """Yield each subject with its settings."""
        default = Practice()
        for title, names in setting_groups():
            yield title.render(gettext), [self._line(name, default.named(name)) for name in names]

    def _line(self, name: str, setting: Setting) -> Line:
        also = setting.value.unit in _ALSO and setting.value.value != 0
        return Line(
            name,
            setting.label.render(gettext),
            [self[part] for part in self.names_of(name)],
            setting_text(name, setting.value),
            setting.source.render(gettext),
            self.own(name),
            self.refused(name),
            setting.value.in_unit(_ALSO[setting.value.unit]) if also else None,
        )


def setting_field(name: str, setting: Setting, label: str, value: Measure) -> forms.Field:
    """Return the field in which a setting is typed."""
    if is_yes_or_no(name):
        return YesNoField(label=label, initial=value)
    if is_fraction(name):
        return PartField(label=label, initial=value)
    return SettingField(label=label, initial=value, unit=setting.value.unit)


def setting_text(name: str, value: Measure) -> str:
    """Return the value of a setting the way its field shows it."""
    if is_yes_or_no(name):
        return yes_no_text(value)
    return part_text(value) if is_fraction(name) else measure_text(value)


class RateForm(KeptForm[RateValue]):
    model = RateValue
    parts = ("optimistic", "likely", "pessimistic", "setup", "minimum", "crew")
    titles = (_("Best"), _("Likely"), _("Worst"), _("Set-up"), _("At least"), _("Crew"))

    def _practice(self) -> tuple[Practice, Mapping[str, Any]]:
        return practice_with({}, self.base, {})

    def keys(self) -> tuple[str, ...]:
        return tuple(Practice().rates)

    def add_fields(self) -> None:
        for key, default in Practice().rates.items():
            label = default.label.render(gettext)
            values = rate_parts(self.practice.rates[key])
            for name, title, value in zip(self.names_of(key), self.titles, values, strict=True):
                field = _rate_field(name, default.unit, initial=value, label=f"{label}: {title}")
                field.widget.attrs["aria-label"] = f"{label}: {title}"
                self.fields[name] = field

    def error_field(self, key: str) -> str:
        return f"{key}-likely"

    def changed(self, key: str) -> RateValue | None:
        default = rate_parts(Practice().rates[key])
        given = [self.cleaned_data.get(name) for name in self.names_of(key)]
        typed = tuple(usual if one is None else one for one, usual in zip(given, default, strict=True))
        own = self.own(key)
        if typed == default:
            return RateValue(key=key) if own else None
        row = rate_row(key, typed)
        figures = ("optimistic_millionths", "likely_millionths", "pessimistic_millionths", "unit")
        times = ("setup_minutes", "minimum_minutes", "crew")
        is_same = own and all(getattr(own, name) == getattr(row, name) for name in (*figures, *times))
        return None if is_same else row

    def steps(self) -> Iterator[tuple[str, list[Line]]]:
        """Yield each trade step with its rates."""
        rates = Practice().rates
        for step, title in TRADE_STEPS.items():
            lines = [self._line(rate) for rate in rates.values() if rate.step == step]
            if lines:
                yield title.render(gettext), lines

    def _line(self, rate: Rate) -> Line:
        return Line(
            rate.key,
            rate.label.render(gettext),
            [self[name] for name in self.names_of(rate.key)],
            rate,
            rate.source.render(gettext),
            self.own(rate.key),
            self.refused(rate.key),
        )


def rate_parts(rate: Rate) -> tuple[Any, ...]:
    """Return a rate as its fields hold it: three measures, whole minutes twice, and the crew."""
    outputs = (Measure(one, rate.unit) for one in (rate.optimistic, rate.likely, rate.pessimistic))
    return (*outputs, round(rate.setup_h * 60), round(rate.minimum_h * 60), rate.crew)


def rate_row(key: str, parts: tuple[Any, ...]) -> RateValue:
    """Return the row of what was typed, its three outputs in the unit of the likely one."""
    optimistic, likely, pessimistic, setup, minimum, crew = parts
    return RateValue(
        key=key,
        optimistic_millionths=round(optimistic.to(likely.unit) * 1_000_000),
        likely_millionths=to_millionths(likely),
        pessimistic_millionths=round(pessimistic.to(likely.unit) * 1_000_000),
        unit=likely.unit,
        setup_minutes=setup,
        minimum_minutes=minimum,
        crew=crew,
    )


def _rate_field(name: str, unit: str, **kwargs: Any) -> TypedField:
    match name.rpartition("-")[2]:
        case "setup" | "minimum":
            return MinutesField(**kwargs)
        case "crew":
            return WholeField(**kwargs)
    return OutputField(unit=unit, **kwargs)


class FactorForm(KeptForm[FactorValue]):
    model = FactorValue

    def _practice(self) -> tuple[Practice, Mapping[str, Any]]:
        return practice_with({}, {}, self.base)

    def keys(self) -> tuple[str, ...]:
        return tuple(Practice().factors)

    def add_fields(self) -> None:
        for key, factor in self.practice.factors.items():
            self.fields[key] = FactorField(label=factor.label.render(gettext), initial=factor.multiplier)

    def changed(self, key: str) -> FactorValue | None:
        typed = self.cleaned_data.get(key)
        own = self.own(key)
        if typed is None or typed == Practice().factors[key].multiplier:
            return FactorValue(key=key) if own else None
        millionths = int(typed * 1_000_000)
        if own and own.multiplier_millionths == millionths:
            return None
        return FactorValue(key=key, multiplier_millionths=millionths)

    def lines(self) -> Iterator[Line]:
        """Yield every factor."""
        for factor in Practice().factors.values():
            yield self._line(factor)

    def _line(self, factor: Factor) -> Line:
        return Line(
            factor.key,
            factor.label.render(gettext),
            [self[factor.key]],
            f"{factor.multiplier.normalize():f}",
            factor.source.render(gettext) if factor.source else "",
            self.own(factor.key),
            self.refused(factor.key),
        )
