"""Sign in and out, and the choice of units."""

from typing import Any

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST
from rest_framework.throttling import SimpleRateThrottle

from api.pages.access import reader
from inventory.people.models import UNITS, User


class SignInThrottle(SimpleRateThrottle):
    """Attempts of one address a minute. Its cache key is that of the API's scope `sign-in`: one budget for both."""

    scope = "sign-in"

    def get_cache_key(self, request: Any, view: Any) -> str:
        """Count by address."""
        return self.cache_format % {"scope": self.scope, "ident": self.get_ident(request)}


class SignInForm(AuthenticationForm):
    """The ordinary form, with our words."""

    error_messages = {
        "invalid_login": "This e-mail address and password do not belong together. Capitals matter in the password.",
        "inactive": "This account is closed.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "E-mail address"
        self.fields["username"].widget.attrs.update({"type": "email", "autocomplete": "username"})


class SignIn(LoginView):
    """Sign in with e-mail address and password."""

    template_name = "sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Check the throttle before the password, so that guessing costs time and no hashing."""
        throttle = SignInThrottle()
        if throttle.allow_request(request, self):  # type: ignore[arg-type]
            return super().post(request, *args, **kwargs)
        form = self.get_form()
        wait_s = int(throttle.wait() or 60) + 1
        form.errors["__all__"] = form.error_class([f"Too many attempts. Wait {wait_s} seconds."])
        response = self.render_to_response(self.get_context_data(form=form), status=429)
        response["Retry-After"] = str(wait_s)
        return response


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view()


@require_POST
def units(request: HttpRequest) -> HttpResponseBase:
    """Set the units in which this person reads sizes, and go back."""
    person, wanted = reader(request), request.POST.get("units", "")
    if person is not None and wanted in UNITS:
        User.objects.filter(pk=person.pk).update(units=wanted)
    back = request.POST.get("next", "")
    if not url_has_allowed_host_and_scheme(back, {request.get_host()}, require_https=request.is_secure()):
        back = reverse("home")
    return redirect(back)
