"""The addresses of the pages."""

from typing import Final

from django.urls import URLPattern, URLResolver, path

from api.pages import problems
from api.pages.views import (
    calculations,
    checks,
    due,
    home,
    jobs,
    loads,
    merges,
    near,
    orders,
    photos,
    sign_in,
    surveys,
    trees,
    written,
)

urlpatterns: Final[list[URLPattern | URLResolver]] = [
    path("", home.home, name="home"),
    path("sign-in", sign_in.sign_in, name="sign-in"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("units", sign_in.units, name="units"),
    path("trees", trees.trees, name="trees"),
    path("trees/<uuid:uid>", trees.tree, name="tree"),
    path("trees/<uuid:uid>/photos/new", photos.add, name="photo-new"),
    path("photos/<uuid:uid>/withdraw", photos.withdraw, name="photo-withdraw"),
    path("inspections/<uuid:uid>/report", written.report, name="report-new"),
    path("due", due.due, name="due"),
    path("to-be-seen", due.unseen, name="unseen"),
    path("orders", orders.orders, name="orders"),
    path("orders/new", orders.new, name="order-new"),
    path("orders/<uuid:uid>", orders.order, name="order"),
    path("near-works", near.near, name="near"),
    path("calculate", calculations.index, name="calculations"),
    path("calculate/<slug:name>", calculations.calculate, name="calculation-kind"),
    path("loads", loads.loads, name="loads"),
    path("loads/check", loads.check, name="load-check"),
    path("loads/run", loads.run, name="load-run"),
    path("loads/compare", merges.check, name="merge-check"),
    path("loads/merges/<uuid:uid>", merges.merge, name="merge"),
    path("loads/merges/<uuid:uid>/choices", merges.decide, name="merge-decide"),
    path("loads/merges/<uuid:uid>/rows.csv", merges.rows, name="merge-rows"),
    path("loads/<uuid:uid>", loads.load, name="load"),
    path("loads/<uuid:uid>/rows.csv", loads.rows, name="load-rows"),
    path("loads/<uuid:uid>/undo", loads.undo, name="load-undo"),
    path("jobs/<uuid:uid>", jobs.job, name="job"),
    path("jobs/<uuid:uid>/mapping", surveys.mapping, name="survey-mapping"),
    path("jobs/<uuid:uid>/rows.csv", checks.rows, name="check-rows"),
    path("jobs/<uuid:uid>/anyway", jobs.anyway, name="merge-anyway"),
    path("jobs/<uuid:uid>/cancel", jobs.cancel, name="job-cancel"),
    path("problems/<slug:kind>", problems.explain, name="problem-kind"),
]
