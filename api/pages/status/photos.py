"""The photos that the shop chose for the owner: behind the link, and nowhere else."""

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from api import file_answers
from api.links import cylinders_of, open_link
from api.middleware import unlisted
from api.models import StatusLink
from api.pages.status.page import no_link
from cylinders.queries.stored_files import for_owner


@require_safe
@unlisted
def photo(request: HttpRequest, token: str, number: int) -> HttpResponse:
    """One photo of the cylinders behind ``token``; any other is not found, whatever it is."""
    link = open_link(token, at=timezone.now())
    if not isinstance(link, StatusLink):
        return no_link(request, link)
    shown = (one for cylinder in cylinders_of(link) for one in for_owner(cylinder))
    found = next((one for one in shown if one.pk == number), None)
    if found is None:
        raise Http404("no such photo behind this link")
    return file_answers.answer(found)
