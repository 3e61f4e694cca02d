"""The start page: the work that is due today, for the role of the reader."""

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect, render

from api.pages.access import page


@page()
def home(request: HttpRequest) -> HttpResponseBase:
    """Show what waits for this person; the public goes to the list of trees."""
    if not request.user.is_authenticated:
        return redirect("sign-in")
    return render(request, "home.html", {})
