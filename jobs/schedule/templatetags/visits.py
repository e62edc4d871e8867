"""Visits and waits for templates, in the reader's language."""

import datetime

from django import template
from django.utils import formats

from contracting.staff.models import User
from jobs.schedule import words
from jobs.schedule.models import Visit, Wait

register = template.Library()
register.filter("visit_work", words.work_of)
register.filter("visit_hours", words.hours_of)
register.filter("visit_when", words.when_of)
register.filter("visit_name", words.name_of)
register.filter("day_name", words.day_of)


@register.filter
def wait_name(wait: Wait) -> str:
    """Print what is waited for."""
    return words.wait_name(wait.label)


@register.filter
def wait_until(wait: Wait) -> str:
    """Print until when, where the site is."""
    return words.moment_of(wait.ends_at, words.zone_of(wait.visit))


@register.filter
def people_names(visit: Visit) -> str:
    """Print who makes a visit; "" for nobody."""
    return ", ".join(words.person_name(row.person) for row in visit.people.all() if row.left_at is None)


@register.filter
def person_name(person: User) -> str:
    return words.person_name(person)


@register.filter
def short_day(day: datetime.date) -> str:
    """Print the number of a day; of the first of a month its name too."""
    return formats.date_format(day, "MONTH_DAY_FORMAT" if day.day == 1 else "j")
