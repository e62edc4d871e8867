"""Addresses under /changes/: the office's."""

from django.urls import path

from ..signing import office_views as signing
from . import office_views as views
from .signing import CHANGE

CHANGES = {"signable": CHANGE}

app_name = "changes"
urlpatterns = [
    path("of/<int:quote>/", views.orders, name="orders"),
    path("of/<int:quote>/new/", views.new, name="new"),
    path("<int:pk>/", views.order, name="order"),
    path("<int:pk>/write/", views.write, name="write"),
    path("<int:pk>/measure/", views.measure, name="measure"),
    path("<int:pk>/issue/", views.issue, name="issue"),
    path("<int:pk>/discard/", views.discard, name="discard"),
    path("<int:pk>/sign/", views.sign, name="sign"),
    path("<int:pk>/declined/", views.declined, name="declined"),
    path("<int:pk>/withdraw/", views.withdraw, name="withdraw"),
    path("<int:pk>/revise/", views.revise, name="revise"),
    path("<int:pk>/paper/", views.paper_again, name="paper-again"),
    path("<int:pk>/signed/", signing.signed_again, CHANGES, name="signed-again"),
    path("<int:pk>/links/", signing.link_new, CHANGES, name="link-new"),
    path("<int:pk>/links/<int:link>/revoke/", signing.link_revoke, CHANGES, name="link-revoke"),
]
