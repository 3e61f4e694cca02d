"""The addresses of the pages."""

from typing import Final

from django.urls import URLPattern, URLResolver, path

from api.pages import problems
from api.pages.views import due, home, near, orders, sign_in, trees

urlpatterns: Final[list[URLPattern | URLResolver]] = [
    path("", home.home, name="home"),
    path("sign-in", sign_in.sign_in, name="sign-in"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("units", sign_in.units, name="units"),
    path("trees", trees.trees, name="trees"),
    path("trees/<uuid:uid>", trees.tree, name="tree"),
    path("due", due.due, name="due"),
    path("to-be-seen", due.unseen, name="unseen"),
    path("orders", orders.orders, name="orders"),
    path("orders/new", orders.new, name="order-new"),
    path("orders/<uuid:uid>", orders.order, name="order"),
    path("near-works", near.near, name="near"),
    path("problems/<slug:kind>", problems.explain, name="problem-kind"),
]
