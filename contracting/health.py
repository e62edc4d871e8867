"""Whether this process can serve: asked by the health checks of the deployment."""

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from contracting.staff.policies import everyone_allowed


@require_safe
@everyone_allowed
@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """Answer 200 when the database answers; otherwise the usual 500."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("ok", content_type="text/plain")
