"""Which kinds of document there are. An app registers its own in ``AppConfig.ready``.

This way the apps know this one, and this one knows none of them.
"""

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from contracting.staff.models import User

Snapshot = Mapping[str, Any]


# Tagged for screen readers.
ACCESSIBLE = "pdf/ua-1"
# ISO 19005-3, level A: tagged as well, made to be read in decades, and able to carry other files.
ARCHIVAL = "pdf/a-3a"


@dataclass(frozen=True)
class Attached:
    """A file inside the PDF.

    Attributes:
        made_at: stands in the file, so it has to come from the snapshot for the bytes to be the same again.
        relationship: what it is to the pages, by ISO 19005-3: ``Data`` is what they were made from.
    """

    name: str
    content: bytes
    description: str
    made_at: datetime.datetime
    relationship: str = "Data"


@dataclass(frozen=True)
class Renderer:
    """How one kind of document becomes pages.

    Attributes:
        kind: the stable name, such as ``quote``.
        template: the template of the pages; it extends ``documents/paper.html``.
        context: snapshot -> what the template is given. Reads the snapshot and nothing else: no database
            and no clock, so that the same snapshot gives the same bytes.
        filename: snapshot -> the name a person sees, ending in ``.pdf``; no money in it.
        variant: the kind of PDF.
        attachments: snapshot -> the files inside the PDF.
        stored: hash -> the bytes of a picture that the pages name as ``stored:`` and that hash. Named by what
            they are, they cannot change, so the same snapshot still gives the same pages.
        finish: (PDF, snapshot) -> the PDF that is stored; runs in the worker, after the pages are written,
            and may raise :class:`~contracting.documents.errors.DocumentError`. A signature, for instance.
        crew_may: (installer, number of a document) -> whether they may have it. Asked of documents for the
            crew alone, whose audience says that somebody of the crew may, and not who.
    """

    kind: str
    template: str
    context: Callable[[Snapshot], dict[str, Any]]
    filename: Callable[[Snapshot], str]
    variant: str = ACCESSIBLE
    attachments: Callable[[Snapshot], Sequence[Attached]] = lambda snapshot: ()
    stored: Callable[[str], bytes] | None = None
    finish: Callable[[bytes, Snapshot], bytes] = lambda pdf, snapshot: pdf
    crew_may: Callable[["User", int], bool] = lambda user, pk: True


_renderers: dict[str, Renderer] = {}


def register(
    kind: str,
    *,
    template: str,
    context: Callable[[Snapshot], dict[str, Any]],
    filename: Callable[[Snapshot], str],
    **more: Any,
) -> None:
    """Make *kind* known; *more* are the further attributes of :class:`Renderer`.

    The snapshot may carry ``language`` and ``time_zone``; they rule the rendering.
    """
    _renderers[kind] = Renderer(kind, template, context, filename, **more)


def renderer(kind: str) -> Renderer:
    """Return the renderer of *kind*.

    Raises:
        KeyError: nobody registered it, which is a fault of the program and not of its user.
    """
    return _renderers[kind]
