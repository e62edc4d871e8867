"""Who may fetch which document. Views get documents here and nowhere else."""

from django.http import Http404
from django.utils.translation import gettext as _

from contracting.staff.models import User

from .models import Audience, DocumentRequest


def document_for_user(user: User, pk: int) -> DocumentRequest:
    """Return the document, without its snapshot.

    Raises:
        Http404: there is none, or it is not for the crew and *user* is an installer; which of the two is
            not told.
    """
    rows = DocumentRequest.objects.defer("snapshot")
    if not user.sees_money:
        rows = rows.filter(audience=Audience.CREW)
    document = rows.filter(pk=pk).first()
    if document is None:
        raise Http404(_("There is no such document."))
    return document
