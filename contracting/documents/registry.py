"""Which kinds of document there are. An app registers its own in ``AppConfig.ready``.

This way the apps know this one, and this one knows none of them.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

Snapshot = Mapping[str, Any]


@dataclass(frozen=True)
class Renderer:
    """How one kind of document becomes pages.

    Attributes:
        kind: the stable name, such as ``quote``.
        template: the template of the pages; it extends ``documents/paper.html``.
        context: snapshot -> what the template is given. Reads the snapshot and nothing else: no database
            and no clock, so that the same snapshot gives the same bytes.
        filename: snapshot -> the name a person sees, ending in ``.pdf``; no money in it.
    """

    kind: str
    template: str
    context: Callable[[Snapshot], dict[str, Any]]
    filename: Callable[[Snapshot], str]


_renderers: dict[str, Renderer] = {}


def register(
    kind: str,
    *,
    template: str,
    context: Callable[[Snapshot], dict[str, Any]],
    filename: Callable[[Snapshot], str],
) -> None:
    """Make *kind* known. The snapshot may carry ``language`` and ``time_zone``; they rule the rendering."""
    _renderers[kind] = Renderer(kind, template, context, filename)


def renderer(kind: str) -> Renderer:
    """Return the renderer of *kind*.

    Raises:
        KeyError: nobody registered it, which is a fault of the program and not of its user.
    """
    return _renderers[kind]
