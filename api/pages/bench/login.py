"""Signing in: for staff alone."""

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.models import User
from django.contrib.auth.views import LoginView
from django.http import HttpResponse
from django.utils import timezone

from api.pages import once
from api.pages.fields import PageRenderer


class StaffLogin(AuthenticationForm):
    """Name and password of a member of staff."""

    default_renderer = PageRenderer
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

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Sign in."""
        once.sweep(now=timezone.now())
        return super().form_valid(form)
