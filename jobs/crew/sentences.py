"""What a phone did, in a sentence for the office."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from estimates.quotes.templatetags.figures import step_name
from estimates.takeoff.labour import TRADE_STEPS

from .models import LookAt, PhoneAct

KINDS = {
    "cut": gettext_lazy("cut list"),
    "step": gettext_lazy("step of the sequence"),
    "batch": gettext_lazy("batch of bonding agent"),
    "timer": gettext_lazy("timer"),
    "timed-hours": gettext_lazy("hours by the timer"),
    "hours": gettext_lazy("hours"),
    "repeat": gettext_lazy("hours of the day before"),
    "delivery": gettext_lazy("materials"),
    "note": gettext_lazy("note of the day"),
    "progress": gettext_lazy("done so far"),
    "check": gettext_lazy("check"),
    "flood-start": gettext_lazy("flood test started"),
    "flood-end": gettext_lazy("flood test ended"),
    "action": gettext_lazy("what was done about a failed check"),
}
# What a person typed or tapped, in the order in which it is read.
TOLD = ("ref", "minutes", "packs_millionths", "lot_numbers", "reading", "level", "answer", "text", "note")


def why_sentence(row: LookAt) -> str:
    """Say why the office should look."""
    who = {"who": row.act.person, "other": row.other}
    if row.why == LookAt.Why.BOTH:
        return _("%(who)s and %(other)s recorded the same thing; both are kept.") % who
    if row.why == LookAt.Why.CHANGED:
        return _("%(who)s worked without signal on a job that had ended meanwhile.") % who
    if row.why == LookAt.Why.NOT_ON_CREW:
        return _("%(who)s is not on the crew of the job any more.") % who
    return _("An entry of %(who)s was refused.") % who


def act_sentence(act: PhoneAct) -> str:
    """Say what was entered: its kind and what was typed or tapped."""
    kind = str(KINDS.get(act.kind, act.kind))
    told = [act.fields[name] for name in TOLD if act.fields.get(name)]
    if act.fields.get("step") in TRADE_STEPS:
        told.insert(0, step_name(act.fields["step"]))
    return f"{kind}: {', '.join(told)}" if told else kind
