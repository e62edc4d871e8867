"""The progress page in a real browser: it turns ready by itself, with script and without."""

import pytest
from playwright.sync_api import expect

from contracting.documents import services
from contracting.documents.rendering import STAGES, RenderedDocument

from .conftest import SNAPSHOT

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize(("has_script", "width"), [(True, 1360), (True, 390), (False, 390)])
def test_the_page_turns_ready_by_itself(browse, office_manager, has_script, width):
    asked = services.document_request(
        kind="sample", snapshot=SNAPSHOT, subject="Plan", audience="office", by=office_manager
    )
    page = browse(office_manager, width=width, java_script_enabled=has_script)
    refused = []
    page.on("console", lambda message: refused.append(message.text) if message.type == "error" else None)

    page.goto(asked.get_absolute_url())
    expect(page.get_by_text("Waiting for its turn")).to_be_visible()
    document = services.document_claim(pk=asked.pk)
    services.document_progress(document=document, stage=STAGES[1], percent=30)
    expect(page.get_by_text("Laying out the pages")).to_be_visible(timeout=20_000)
    services.document_finish(document=document, rendered=RenderedDocument(b"%PDF-1.7 invented", 3))

    expect(page.get_by_role("link", name="Open the PDF")).to_be_visible(timeout=20_000)
    assert refused == []
    if has_script:
        assert page.evaluate("document.documentElement.scrollWidth") <= width
