"""What screens read about jobs."""

import datetime

from django.db.models import Prefetch, Q, QuerySet

from contracting.staff.models import Role, User

from .models import CrewMember, Job, Stage

OPEN_STAGES = tuple(stage for stage in Stage if stage not in {Stage.COMPLETE, Stage.CANCELLED})


def jobs_of(user: User) -> QuerySet[Job]:
    """Return the jobs *user* may see."""
    if user.sees_money:
        return Job.objects.all()
    return Job.objects.filter(crew_members__person=user)


def jobs_matching(user: User, *, text: str = "", stage: str = "") -> QuerySet[Job]:
    """Return the list of jobs, newest first; *text* in title, customer or number; *stage* or ``open``."""
    found = jobs_of(user).select_related("site").defer("crew_notes")
    if stage == "open":
        found = found.filter(stage__in=OPEN_STAGES)
    elif stage in Stage.values:
        found = found.filter(stage=stage)
    if text:
        match = Q(title__icontains=text) | Q(customer_name__icontains=text)
        found = found.filter(match | Q(number=int(text)) if text.isdecimal() and len(text) < 10 else match)
    people = CrewMember.objects.select_related("person")
    return found.prefetch_related(Prefetch("crew_members", queryset=people)).order_by("-number")


def jobs_next(user: User, *, today: datetime.date, limit: int = 8) -> QuerySet[Job]:
    """Return the open jobs that come first: by start, those without one last."""
    return (
        jobs_of(user)
        .filter(stage__in=OPEN_STAGES)
        .select_related("site")
        .order_by("starts_on", "number")[:limit]
    )


def installers() -> QuerySet[User]:
    """Return who can be put on a crew, by name."""
    return User.objects.filter(is_active=True, role=Role.INSTALLER).order_by("first_name", "username")
