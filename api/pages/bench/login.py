"""Signing in: for staff alone, and not by guessing."""

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.models import User
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views.decorators.debug import sensitive_post_parameters

from api.neighbourhood import neighbourhood
from api.pages import lock, lock_out, once
from api.pages.fields import RENDERER

_TOO_MANY = 429


class StaffLogin(AuthenticationForm):
    """Name and password of a member of staff."""

    default_renderer = RENDERER
    use_required_attribute = False

    def confirm_login_allowed(self, user: User) -> None:
        """Refuse whoever is not staff, in words that tell a stranger nothing."""
        super().confirm_login_allowed(user)
        if not user.is_staff:
            raise self.get_invalid_login_error()


class SignIn(LoginView):
    """The door to the bench; opening it also sweeps out old answers."""

    template_name = "pages/bench/login.html"
    authentication_form = StaffLogin
    redirect_authenticated_user = False
    http_method_names = ("get", "head", "options", "post")  # Django's own takes PUT for a post too

    @method_decorator(sensitive_post_parameters("password"))
    def post(self, request: HttpRequest, *args: str, **kwargs: str) -> HttpResponse:
        """Look whether the door is shut before any password is tried."""
        if lock_out.is_shut(name=self._name, address=self._address, at=timezone.now()):
            context = self.get_context_data(form=self.authentication_form(request), shut=True)
            response = self.render_to_response(context, status=_TOO_MANY)
            response.headers["Retry-After"] = str(int(lock_out.WINDOW.total_seconds()))
            return response
        return super().post(request, *args, **kwargs)

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Sign in; that opens a session that had locked itself too."""
        lock_out.forget(name=self._name, address=self._address)
        once.sweep(now=timezone.now())
        answer = super().form_valid(form)
        self.request.session.cycle_key()  # also where the same person was signed in already
        lock.touch(self.request.session, at=timezone.now())
        return answer

    def form_invalid(self, form: AuthenticationForm) -> HttpResponse:
        """Count it."""
        lock_out.count_wrong(name=self._name, address=self._address, at=timezone.now())
        return super().form_invalid(form)

    @property
    def _name(self) -> str:
        return self.request.POST.get("username", "")

    @property
    def _address(self) -> str:
        return neighbourhood(self.request)
