"""Sites: the places where a tree can stand, planted, vacant or unplantable."""

import uuid

from django.db.models import QuerySet
from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import conditional, fields, paging, params
from api.http.permissions import may_by_method
from api.http.view import View
from api.rest import shapes
from inventory import places
from inventory.models import Site
from inventory.models.site import GROWING_SPACES, OVERHEAD_LINES, STATES
from inventory.models.zone import OCCUPANCIES
from inventory.problems import Missing


class SiteEdit(fields.Body):
    """What of a site may be changed."""

    street = fields.Text(max_length=200, allow_blank=True)
    house_number = fields.Text(max_length=40, allow_blank=True)
    place = fields.Text(max_length=200, allow_blank=True)
    growing_space = fields.Word(choices=GROWING_SPACES)
    strip_width_m = fields.Number(min_value=0, max_value=200, allow_null=True)
    overhead_lines = fields.Word(choices=OVERHEAD_LINES)
    occupancy = fields.Word(choices=OCCUPANCIES, allow_null=True)
    state = fields.Word(choices=STATES)
    why = fields.Text(max_length=500, help_text="The reason, for the history.")


class Sites(View):
    """All sites."""

    permission_classes = [may_by_method(GET="inventory.view")]
    params = {
        "GET": (
            params.text("zone", "Code of the zone.", longest=40),
            params.word("state", "State of the site.", STATES),
            params.UNITS,
            *paging.PAGING,
        )
    }

    @extend_schema(
        operation_id="sites_list", summary="List the sites", responses=shapes.listed(shapes.Site()), tags=["sites"]
    )
    def get(self, request: Request) -> Response:
        """A page of sites; `state=vacant` is the replanting queue."""
        equal = {"zone__code": self.query["zone"], "state": self.query["state"]}
        rows = _sites().filter(**{lookup: value for lookup, value in equal.items() if value})
        page = paging.page(rows, self.query)
        shown = shapes.many(shapes.Site, page.rows, units=self.units)
        return paging.answer(request, shown, page.cursor)


class OneSite(View):
    """One site."""

    permission_classes = [may_by_method(GET="inventory.view", PATCH="inventory.edit")]
    params = {"GET": (params.UNITS,), "PATCH": (params.UNITS,)}
    matched = ("PATCH",)

    @extend_schema(operation_id="sites_read", summary="One site", responses=shapes.Site, tags=["sites"])
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """The site, with its ETag."""
        return self._answer(_site(uid))

    @extend_schema(
        operation_id="sites_edit", summary="Change a site", request=SiteEdit, responses=shapes.Site, tags=["sites"]
    )
    def patch(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Change it."""
        site = _site(uid)
        version = conditional.matched_version(request, site.version)
        changes = self.read(SiteEdit, partial=True)
        why = changes.pop("why", "site edited")
        if changes:
            places.edit_site(self.author, site, changes, version=version, why=why)
        return self._answer(_site(uid))

    def _answer(self, site: Site) -> HttpResponse:
        shown = shapes.Site(site, context={"units": self.units}).data
        return conditional.answer(self.request, site.version, shown)


def _sites() -> QuerySet[Site]:
    return Site.objects.select_related("zone").defer("location_m")


def _site(uid: uuid.UUID) -> Site:
    found = _sites().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no site {uid}")
    return found


urlpatterns = [
    path("sites", Sites.as_view(), name="sites"),
    path("sites/<uuid:uid>", OneSite.as_view(), name="site"),
]
