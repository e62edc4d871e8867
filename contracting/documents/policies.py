"""Who may fetch which document. Views get documents here and nowhere else."""

from django.http import Http404
from django.utils.translation import gettext as _

from contracting.staff.models import User

from .models import Audience, DocumentRequest
from .registry import renderer


def document_for_user(user: User, pk: int) -> DocumentRequest:
    """Return the document, without its snapshot.

    Raises:
        Http404: there is none, or *user* is an installer and it is not for the crew, or of a job that they
            are not on; which of these is not told.
    """
    rows = DocumentRequest.objects.defer("snapshot")
    if not user.sees_money:
        rows = rows.filter(audience=Audience.CREW)
    document = rows.filter(pk=pk).first()
    is_hidden = (
        document is not None and not user.sees_money and not renderer(document.kind).crew_may(user, pk)
    )
    if document is None or is_hidden:
        raise Http404(_("There is no such document."))
    return document
