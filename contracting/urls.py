"""The addresses of the site."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("contracting.staff.urls")),
    path("customers/", include("contracting.customers.urls")),
    path("documents/", include("contracting.documents.urls")),
    path("rooms/", include("estimates.rooms.urls")),
    path("prices/", include("estimates.pricelists.urls")),
    path("estimates/", include("estimates.quotes.urls")),
    path("jobs/", include("jobs.work.urls")),
]
