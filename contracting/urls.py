"""The addresses of the site."""

from django.urls import URLPattern, URLResolver, include, path

from contracting.health import health
from contracting.staff.views import home

urlpatterns: list[URLPattern | URLResolver] = [
    path("", home, name="home"),
    path("health/", health, name="health"),
    path("", include("contracting.staff.urls")),
    path("customers/", include("contracting.customers.urls")),
    path("documents/", include("contracting.documents.urls")),
    path("rooms/", include("estimates.rooms.urls")),
    path("prices/", include("estimates.pricelists.urls")),
    path("offcuts/", include("estimates.stock.urls")),
    path("practice/", include("estimates.practice.urls")),
    path("estimates/", include("estimates.quotes.urls")),
    path("changes/", include("estimates.quotes.changes.urls")),
    path("q/c/", include("estimates.quotes.changes.private_urls")),
    path("q/", include("estimates.quotes.signing.urls")),
    path("jobs/", include("jobs.work.urls")),
    path("jobs/", include("jobs.inspections.urls")),
    path("jobs/", include("jobs.punchlist.urls")),
    path("invoices/", include("jobs.billing.urls")),
    path("margins/", include("jobs.margins.urls")),
    path("", include("jobs.schedule.urls")),
    path("crew/", include("jobs.crew.urls")),
    path("", include("jobs.warranty.urls")),
    path("", include("jobs.photos.urls")),
]

handler400 = "contracting.refusals.bad_request"
