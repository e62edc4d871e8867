"""What can keep a document from being made, said in a sentence for people."""

from django.utils.translation import gettext as _


class DocumentError(Exception):
    """The document cannot be made as things stand; ``str(error)`` is the sentence to show."""


class LibraryMissing(DocumentError):
    """A system library that lays out pages is not installed on this machine."""

    def __init__(self, detail: str) -> None:
        super().__init__(
            _("PDFs cannot be made on this machine yet: install the Debian packages {packages}.").format(
                packages=PANGO_PACKAGES
            )
        )
        self.detail = detail


PANGO_PACKAGES = "libpango-1.0-0 libpangoft2-1.0-0 fonts-dejavu-core"
