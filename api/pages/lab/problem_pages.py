"""One page for each kind of problem that the interface answers with; open to everybody."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from api.problems import PROBLEMS


@require_safe
def problem(request: HttpRequest, code: str) -> HttpResponse:
    """What it means and what to do about it."""
    if code not in PROBLEMS:
        raise Http404(f"no problem is called {code}")
    return render(request, "lab/problem.html", {"row": PROBLEMS[code]})


@require_safe
def problems(request: HttpRequest) -> HttpResponse:
    """All of them."""
    return render(request, "lab/problems.html", {"rows": PROBLEMS.values()})
