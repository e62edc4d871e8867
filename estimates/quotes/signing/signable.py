"""What a customer can sign by a private link. Each kind of paper is described once, as a :class:`Signable`.

Services, selectors, policies, pages and templates of ``signing`` are the same for every kind. A quote's
description stands in ``signing.quotes`` and a change order's in ``changes.signing``: its rows, its addresses,
its words, and what an answer does.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from django.db.models import QuerySet

from contracting.documents.models import DocumentRequest
from contracting.money import money_text
from contracting.staff.models import User

from .models import PrivateLink, Signature, Visit

Frozen = Mapping[str, Any]
# A sentence that is translated when it is printed, with ``%(name)s`` for what :func:`values_of` returns.
Sentence = Any


class Paper(Protocol):
    """A quote or a change order, as far as signing reads it; *snapshot* ``["paper"]`` is what is shown."""

    @property
    def status(self) -> str: ...
    @property
    def snapshot(self) -> Any: ...
    @property
    def valid_until(self) -> datetime.date | None: ...
    @property
    def answered_on(self) -> datetime.date | None: ...
    @property
    def document(self) -> DocumentRequest | None: ...
    def get_absolute_url(self) -> str: ...


class Accept(Protocol):
    """Accepts the link's paper and makes what follows; within a transaction."""

    def __call__(self, *, link: Any, name: str, at: datetime.datetime) -> Any: ...


class Decline(Protocol):
    """Records that the customer says no to the link's paper; within a transaction."""

    def __call__(self, *, link: Any, reason: str, at: datetime.datetime) -> object: ...


@dataclass(frozen=True)
class Signable:
    """One kind of paper.

    Attributes:
        name: the foreign key to the paper in links and signatures, and the name of its page's address.
        beside: a row that is read with the paper.
        namespace, office: the names of the customer's addresses and of the office's.
        file: what its PDF is called at the link.
        page: the template of the customer's page; it extends ``signing/paper.html``.
        printed: the template of its PDF; *signed_kind* is the kind of document with the signature in it.
        consent_version: of the sentences in *consent*; a changed sentence asks for a new one.
        words: what pages and refusals call it; the same keys for every kind.
        context, filename: of its PDF, from the frozen paper.
        customer: for whom a link is made if nothing else is said.
        trail: the address of the list that it stands in, and its own number and title.
    """

    name: str
    beside: str
    namespace: str
    office: str
    file: str
    page: str
    printed: str
    signed_kind: str
    link_model: type[PrivateLink]
    visit_model: type[Visit]
    signature_model: type[Signature]
    consent_version: str
    consent: Sequence[Sentence]
    words: Mapping[str, Sentence]
    context: Callable[[Frozen], dict[str, Any]]
    filename: Callable[[Frozen], str]
    paper_for: Callable[[User, int], Any]
    customer: Callable[[Any], str]
    trail: Callable[[Any], tuple[str, str]]
    accept: Accept
    decline: Decline

    @property
    def links(self) -> QuerySet[Any]:
        return self.link_model._default_manager.all()

    @property
    def visits(self) -> QuerySet[Any]:
        return self.visit_model._default_manager.all()

    @property
    def signatures(self) -> QuerySet[Any]:
        return self.signature_model._default_manager.all()

    def consent_lines(self, frozen: Frozen) -> list[str]:
        """Return what the customer of the *frozen* paper agrees to before signing."""
        return [str(sentence % values_of(frozen)) for sentence in self.consent]

    def say(self, word: str, frozen: Frozen, **more: str) -> str:
        """Return one of the words with its values put in."""
        return str(self.words[word] % (values_of(frozen) | more))

    def said(self, frozen: Frozen) -> dict[str, str]:
        """Return all words that need nothing but the paper, for templates."""
        values = values_of(frozen)
        return {word: str(sentence % values) for word, sentence in self.words.items() if word not in ASKING}

    def address(self, page: str = "") -> str:
        """Return the name of a customer's address; the paper's own without *page*."""
        return f"{self.namespace}:{page or self.name}"

    @property
    def addresses(self) -> dict[str, str]:
        """The names of all addresses, for templates."""
        customer = {"sign": "sign", "decline": "decline", "signed": "signed-paper"}
        office = {"new": "link-new", "revoke": "link-revoke", "again": "signed-again"}
        return {
            "page": self.address(),
            "pdf": self.address(f"{self.name}-paper"),
            **{page: self.address(name) for page, name in customer.items()},
            **{page: f"{self.office}:{name}" for page, name in office.items()},
        }


# Words that want more than the paper: a day that was typed, the address of a link.
ASKING = frozenset({"not_then", "letter"})


def values_of(frozen: Frozen) -> dict[str, Any]:
    """Return what a sentence may name of a *frozen* paper."""
    company = frozen["company"]
    reach = " · ".join(part for part in (company["phone"], company["email"]) if part) or company["name"]
    amounts = {"total": frozen["total_cents"], "after": frozen.get("after_cents", 0)}
    return {
        "company": company["name"],
        "reach": reach,
        "number": frozen["number"],
        "revision": frozen.get("revision"),
        "title": frozen.get("what") or frozen["title"],
        **{name: money_text(cents, frozen["currency"]) for name, cents in amounts.items()},
    }
