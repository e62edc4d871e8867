"""Addresses under /estimates/."""

from django.urls import path

from . import estimate_views, quote_views, room_panel
from .signing import office_views as signing
from .signing.quotes import QUOTE

QUOTES = {"signable": QUOTE}

app_name = "quotes"
urlpatterns = [
    path("", estimate_views.estimates, name="estimates"),
    path("new/", estimate_views.estimate_where, name="estimate-where"),
    path("new/<int:site>/", estimate_views.estimate_new, name="estimate-new"),
    path("<int:pk>/", estimate_views.estimate, name="estimate"),
    path("<int:pk>/rooms/", estimate_views.estimate_rooms, name="estimate-rooms"),
    path("<int:pk>/rooms/<int:room>/", room_panel.room_takeoff, name="room-takeoff"),
    path("<int:pk>/rooms/<int:room>/in/", estimate_views.room_in, name="room-in"),
    path("<int:pk>/rooms/<int:room>/out/", estimate_views.room_out, name="room-out"),
    path("<int:pk>/materials/", estimate_views.estimate_materials, name="estimate-materials"),
    path("<int:pk>/lines/", estimate_views.estimate_lines, name="estimate-lines"),
    path("<int:pk>/texts/", estimate_views.estimate_texts, name="estimate-texts"),
    path("<int:pk>/by-hand/", estimate_views.by_hand, name="by-hand"),
    path("<int:pk>/changes/", estimate_views.estimate_changes, name="estimate-changes"),
    path("<int:pk>/issue/", quote_views.issue, name="issue"),
    path("quotes/", quote_views.quotes, name="quotes"),
    path("quotes/<int:pk>/", quote_views.quote, name="quote"),
    path("quotes/<int:pk>/decline/", quote_views.decline, name="decline"),
    path("quotes/<int:pk>/withdraw/", quote_views.withdraw, name="withdraw"),
    path("quotes/<int:pk>/paper/", quote_views.paper_again, name="paper-again"),
    path("quotes/<int:pk>/links/", signing.link_new, QUOTES, name="link-new"),
    path("quotes/<int:pk>/links/<int:link>/revoke/", signing.link_revoke, QUOTES, name="link-revoke"),
    path("quotes/<int:pk>/signed/", signing.signed_again, QUOTES, name="signed-again"),
]
