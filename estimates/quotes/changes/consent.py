"""What a customer agrees to before signing a change order electronically.

The points are those of ``signing.consent`` (15 U.S.C. § 7001(c)(1)(B) and (C)), said of a change order. A
changed text gets a new version; what was agreed to is stored word for word with the signature.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

VERSION = "change-2026-1"


def consent_lines(paper: Mapping[str, Any]) -> list[str]:
    """Return the sentences of :data:`VERSION` for the change order whose frozen *paper* this is."""
    company = paper["company"]
    reach = " · ".join(part for part in (company["phone"], company["email"]) if part) or company["name"]
    named = {"company": company["name"], "reach": reach, "number": paper["number"]}
    return [
        _(
            "You may sign this change order here instead of on paper. Your electronic signature counts as "
            "much as one on paper."
        ),
        _("This covers change order %(number)s only, nothing you sign later.") % named,
        _(
            "You do not have to. Download the PDF, sign it on paper and hand or send it to %(company)s; "
            "price and terms stay the same."
        )
        % named,
        _(
            "You may ask for a paper copy at any time, and it costs nothing. You may also take this consent "
            "back, or give a new address, by telling %(company)s (%(reach)s); what you have signed by then "
            "stays signed."
        )
        % named,
        _(
            "To read and keep the document you need a web browser and a program that opens PDF files. Save "
            "the signed PDF: it stays ready at this link for 90 days."
        ),
    ]
