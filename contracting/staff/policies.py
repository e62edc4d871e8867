"""Who may open an address: every view carries exactly one of the marks below.

A view without a mark is refused by ``contracting.staff.middleware.PolicyMiddleware`` and named by a system
check, so that forgetting a mark closes a door and never opens one. Which *object* somebody may see is
decided by how it is fetched (each app's own ``policies``); here stands only which *role* may knock.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django_htmx.middleware import HtmxDetails

from .models import Role, User

View = TypeVar("View", bound=Callable[..., HttpResponseBase])

OFFICE = frozenset({Role.OWNER, Role.OFFICE})
OWNER = frozenset({Role.OWNER})
CREW = frozenset({Role.OWNER, Role.OFFICE, Role.INSTALLER})
MARK = "allowed_roles"


class StaffRequest(HttpRequest):
    """A request that has passed a mark: somebody who works here has signed in."""

    user: User
    htmx: HtmxDetails


def office_required(view: View) -> View:
    """Let the owner and the office in; an installer is told 403 in calm words."""
    return _allow(view, OFFICE)


def owner_required(view: View) -> View:
    """Let only the owner in."""
    return _allow(view, OWNER)


def crew_allowed(view: View) -> View:
    """Let anybody who has signed in come in: owner, office and installers."""
    return _allow(view, CREW)


def everyone_allowed(view: View) -> View:
    """Let in whoever comes, signed in or not: the sign-in page, a customer's private link."""
    setattr(view, MARK, None)
    return login_not_required(view)


def is_marked(view: Callable[..., Any]) -> bool:
    """Return whether *view* says who may open it."""
    return hasattr(view, MARK)


def _allow(view: View, roles: frozenset[Role]) -> View:
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        # LoginRequiredMiddleware has sent strangers to the sign-in page already; without it they stop here.
        if getattr(request.user, "role", None) not in roles:
            raise PermissionDenied
        return view(request, *args, **kwargs)

    setattr(guarded, MARK, roles)
    return cast("View", guarded)
