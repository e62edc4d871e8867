"""Everything a customer is handed is in the customer's language, whoever of the office issues it."""

import re

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone, translation

from contracting.customers.models import Customer
from contracting.documents.rendering import render_html
from estimates.quotes.models import Estimate
from estimates.quotes.services import quote_issue
from jobs.warranty.services import record_issue
from tests.estimates.quotes.changes import factories as changes
from tests.estimates.quotes.factories import AT, estimate_of, ready
from tests.estimates.quotes.signing import factories as signing
from tests.jobs.billing import factories as billing
from tests.jobs.warranty.factories import inspected_job

pytestmark = pytest.mark.django_db


def in_spanish(site):
    Customer.objects.filter(pk=site.customer_id).update(language="es")


def test_a_quote_of_measured_rooms_is_spanish_on_paper_and_by_link_and_english_for_the_crew(client):
    estimate = ready(detail="line")
    in_spanish(estimate.site)
    estimate.refresh_from_db()

    quote = quote_issue(estimate=estimate, by=estimate.created_by, at=signing.now())
    page = client.get(reverse("signing:quote", args=[signing.sent(quote)[1]])).content.decode()

    html = render_html("quote", quote.snapshot["paper"])
    assert '<html lang="es">' in html
    assert "Cotización" in html
    assert "Impermeabilización" in html
    assert "<td>Piso" in html  # a usual name of a surface is a word of the catalogue
    assert re.search(r">\s*Piso\b", page)
    assert not re.search(r">\s*Floor\b", page)
    assert set(quote.snapshot["work"]["translated"]) == {"en"}


def test_what_keeps_a_quote_back_is_told_in_the_language_of_who_issues_it():
    estimate = estimate_of(0)
    in_spanish(estimate.site)
    estimate.refresh_from_db()

    with translation.override("en"), pytest.raises(ValidationError, match="nothing to quote yet"):
        quote_issue(estimate=estimate, by=estimate.created_by, at=AT)


def test_the_customer_reads_and_signs_in_spanish(client):
    quote = signing.small()
    in_spanish(quote.site)
    estimate = Estimate.objects.get(pk=quote.estimate_id)
    again = quote_issue(estimate=estimate, by=quote.issued_by, at=signing.now())
    _link, token = signing.sent(again)

    page = client.get(reverse("signing:quote", args=[token])).content.decode()

    assert again.revision == quote.revision + 1
    assert '<html lang="es">' in page
    assert "Cotización" in page


def test_change_order_and_invoice_follow_the_customer():
    job = billing.job()
    in_spanish(job.site)
    job.refresh_from_db()
    order = changes.issued(job.quote, changes.line())
    invoice = billing.invoice(job)

    assert "Orden de cambio" in render_html("change-order", order.snapshot["paper"])
    assert "Factura" in render_html("invoice", invoice.snapshot)


def test_a_warranty_record_promises_in_spanish(office_manager):
    job = inspected_job()
    in_spanish(job.site)

    content = record_issue(job=job, by=office_manager, at=timezone.now()).snapshot

    html = render_html("warranty-record", content)
    assert '<html lang="es">' in html
    assert "Garantizamos nuestra mano de obra" in html
    assert "Zona húmeda:" not in html
    assert "Deje secar la regadera" in html
    assert "We warrant" not in html


def test_the_database_knows_the_languages():
    customer = ready().site.customer
    with pytest.raises(IntegrityError, match="customer_language_known"), transaction.atomic():
        Customer.objects.filter(pk=customer.pk).update(language="de")
