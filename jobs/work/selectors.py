"""What screens read about jobs."""

from django.db.models import F, Prefetch, Q, QuerySet

from contracting.staff.models import Role, User

from .models import CrewMember, Job, Stage

OPEN_STAGES = tuple(stage for stage in Stage if stage not in {Stage.COMPLETE, Stage.CANCELLED})
TO_COME = (Stage.ACCEPTED, Stage.SCHEDULED)
UNDER_WAY = tuple(stage for stage in OPEN_STAGES if stage not in TO_COME)


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


def jobs_under_way(user: User, *, limit: int = 8) -> QuerySet[Job]:
    """Return the jobs whose work has begun and is not complete, the longest begun first."""
    return _first(jobs_of(user).filter(stage__in=UNDER_WAY), limit)


def jobs_to_come(user: User, *, limit: int = 8) -> QuerySet[Job]:
    """Return the signed jobs whose work has not begun: by start, those without one last."""
    return _first(jobs_of(user).filter(stage__in=TO_COME), limit)


def _first(jobs: QuerySet[Job], limit: int) -> QuerySet[Job]:
    # SQLite and PostgreSQL disagree on where a missing date stands unless it is said.
    return jobs.select_related("site").order_by(F("starts_on").asc(nulls_last=True), "number")[:limit]


def installers() -> QuerySet[User]:
    """Return who can be put on a crew, by name."""
    return User.objects.filter(is_active=True, role=Role.INSTALLER).order_by("first_name", "username")
