"""Callbacks on the first page, and in the history of their job."""

from collections.abc import Iterator

from django.urls import reverse
from django.utils import formats, timezone
from django.utils.translation import gettext as _

from contracting.staff import home
from contracting.staff.models import User
from contracting.staff.policies import CREW
from jobs.work import history
from jobs.work.models import Job

from ..models import Callback, CallbackEvent, CallbackKind
from .selectors import callbacks_waiting


def register() -> None:
    """Show the office every open callback, an installer their visits; tell each in its job's history."""
    home.register(home.Part(roles=CREW, order=27, section=waiting_section))
    history.when_told(told)


def waiting_section(user: User) -> home.Section | None:
    """Return the open callbacks by visit, or None when there is none; one query."""
    waiting = callbacks_waiting(user, timezone.localdate())
    if not waiting:
        return None
    return home.Section(
        heading=_("Callbacks"),
        items=[_entry(callback) for callback in waiting],
        more=(_("All callbacks"), reverse("punchlist:callbacks")),
    )


def _entry(callback: Callback) -> home.Item:
    visit = formats.date_format(callback.visit_on, "SHORT_DATE_FORMAT") if callback.visit_on else ""
    return home.Item(
        title=callback.text,
        url=callback.get_absolute_url(),
        detail=f"{callback.job} · {callback.get_state_display()}",
        when=visit or _("no visit yet"),
    )


def told(job: Job) -> Iterator[history.Told]:
    """Yield what the job's history says of its callbacks."""
    kinds = [CallbackKind.REPORTED, CallbackKind.REOPENED, CallbackKind.RESOLVED]
    events = CallbackEvent.objects.filter(callback__job=job, kind__in=kinds)
    for event in events.select_related("by", "callback").order_by("at"):
        number, what = event.callback.number, event.get_kind_display()
        words = _("Callback %(number)d %(what)s") % {"number": number, "what": what}
        text = event.text or event.callback.text
        yield history.Told(event.at, words, str(event.by), text, event.callback.get_absolute_url())
