"""Each kind of paper says all that the one set of pages asks of it."""

import pytest
from django.template.loader import get_template
from django.urls import reverse

from contracting.documents import registry
from estimates.quotes.changes.signing import CHANGE
from estimates.quotes.signing.quotes import QUOTE


def test_every_kind_has_the_same_words():
    assert set(QUOTE.words) == set(CHANGE.words)


@pytest.mark.parametrize("signable", [QUOTE, CHANGE], ids=lambda one: one.name)
def test_what_a_kind_names_is_there(signable):
    taking = {"revoke": [1, 2], "new": [1], "again": [1]}
    for page, name in signable.addresses.items():
        assert reverse(name, args=taking.get(page, ["token"]))
    get_template(signable.page)
    get_template(signable.printed)
    assert registry.renderer(signable.signed_kind).template == "signing/signed_paper.html"
    assert {signable.name, "link"} <= {field.name for field in signable.signature_model._meta.fields}
    assert signable.name in {field.name for field in signable.link_model._meta.fields}
