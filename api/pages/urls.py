"""The addresses of the pages."""

from typing import Final

from django.urls import URLPattern, URLResolver, path

from api.pages import problems
from api.pages.views import sign_in, trees

urlpatterns: Final[list[URLPattern | URLResolver]] = [
    path("sign-in", sign_in.sign_in, name="sign-in"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("units", sign_in.units, name="units"),
    path("trees", trees.trees, name="trees"),
    path("trees/<uuid:uid>", trees.tree, name="tree"),
    path("problems/<slug:kind>", problems.explain, name="problem-kind"),
]
