"""What a new company does before its first quote, shown on the first page until it is done.

An app adds its own step in ``AppConfig.ready``, as it adds its parts to the first page::

    first_steps.register(FirstStep(order=30, title=_("…"), why=_("…"), url_name="…", done=…))
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy, ngettext

from . import home, selectors
from .models import LabourCost, Role, User
from .policies import OFFICE, OWNER


@dataclass(frozen=True)
class FirstStep:
    """One thing to set up.

    Attributes:
        why: what it is good for, since nobody fills in a form for its own sake.
        roles: who may do it; nobody else is told.
        done: whether it is done; one cheap query.
    """

    order: int
    title: str | Promise
    why: str | Promise
    url_name: str
    done: Callable[[], bool] = field(compare=False)
    roles: frozenset[Role] = OFFICE


_steps: list[FirstStep] = []


def register(step: FirstStep) -> None:
    """Add a step to what a new company does first."""
    _steps.append(step)


def section(user: User) -> home.Section | None:
    """Return the steps that *user* may take and nobody has, or None when all is set up."""
    left = [
        step
        for step in sorted(_steps, key=lambda step: step.order)
        if user.role in step.roles and not step.done()
    ]
    if not left:
        return None
    return home.Section(
        heading=ngettext("First: %(count)s step", "First: %(count)s steps", len(left)) % {"count": len(left)},
        items=[
            home.Item(title=str(step.title), url=reverse(step.url_name), detail=str(step.why))
            for step in left
        ],
    )


def register_own() -> None:
    """Ask for the company's name and the cost of an hour, and show the list above everything else."""
    home.register(home.Part(roles=OFFICE, order=0, section=section))
    register(
        FirstStep(
            order=10,
            title=gettext_lazy("Company’s name and address"),
            why=gettext_lazy("They stand at the head of every quote, with your logo and colour."),
            url_name="staff:company-edit",
            done=lambda: bool(selectors.company_profile().name),
            roles=OWNER,
        )
    )
    register(
        FirstStep(
            order=20,
            title=gettext_lazy("What an hour of work costs you"),
            why=gettext_lazy("Pay and burden; without it no hour of a quote has a cost."),
            url_name="staff:labour-cost-new",
            done=LabourCost.objects.exists,
        )
    )
