"""A log of tests as a file that a browser saves."""

from django.http import Http404, HttpResponse

from api.test_logs import CSV, PDF, Log


def file_of(log: Log, form: str) -> HttpResponse:
    """The log as ``csv`` or ``pdf``; anything else is not there."""
    match form:
        case "csv":
            response = HttpResponse(log.as_csv(), content_type=f"{CSV}; charset=utf-8")
        case "pdf":
            response = HttpResponse(log.as_pdf(), content_type=PDF)
        case _:
            raise Http404(f"no log is made as {form}")
    response.headers["Content-Disposition"] = f'attachment; filename="{log.name}.{form}"'
    return response
