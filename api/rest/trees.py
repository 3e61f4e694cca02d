"""Trees: list, add, read, edit."""

import uuid
from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import OpenApiExample, OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import conditional, fields, paging, params
from api.http.idempotency import idempotent
from api.http.permissions import PUBLIC, may_by_method
from api.http.view import View
from api.rest import scope, shapes
from api.rest.measurements import SizeBody, size_of
from inventory import calendar, facts, search, services
from inventory.models import Site, Species, Tree
from inventory.models.site import GROWING_SPACES, OVERHEAD_LINES
from inventory.models.tree import STATES
from inventory.models.zone import OCCUPANCIES
from inventory.problems import FieldProblem, Invalid, Missing, NotAllowed

# Codes of assessments.Priority.risk; `none` was never rated and is not low.
RISKS = {"none": 0, "low": 1, "moderate": 2, "high": 3, "extreme": 4}


class TreeEdit(fields.Body):
    """What of a tree may be changed at a desk. Sizes change by measurements, removal by work orders."""

    tag = fields.Text(max_length=40, allow_null=True, required=False)
    species_id = fields.Whole(allow_null=True, required=False, help_text="Key of the species catalogue.")
    species_text = fields.Text(max_length=200, allow_blank=True, required=False)
    planted_from = fields.Day(allow_null=True, required=False, help_text="First day on which it may have been planted.")
    planted_to = fields.Day(allow_null=True, required=False, help_text="Last such day; both or neither.")
    state = fields.Word(choices=("alive", "dead"), required=False)
    note = fields.Text(allow_blank=True, required=False)
    why = fields.Text(max_length=500, required=False, help_text="The reason, for the history.")


class NewSite(fields.Body):
    """A site made together with its tree."""

    street = fields.Text(max_length=200, allow_blank=True, required=False)
    house_number = fields.Text(max_length=40, allow_blank=True, required=False)
    place = fields.Text(max_length=200, allow_blank=True, required=False)
    growing_space = fields.Word(choices=GROWING_SPACES, required=False)
    strip_width_m = fields.Number(min_value=0, max_value=200, allow_null=True, required=False)
    overhead_lines = fields.Word(choices=OVERHEAD_LINES, required=False)
    occupancy = fields.Word(choices=OCCUPANCIES, allow_null=True, required=False)


class TreeBody(TreeEdit):
    """A standing tree as it is added: on a vacant site (`site_uid`), or on a new one at its location."""

    why = None  # type: ignore[assignment]
    location = fields.Geometry(("Point",))
    external_key = fields.Text(max_length=200, allow_null=True, required=False)
    site_uid = fields.Uid(required=False)
    site = NewSite(required=False)
    size = SizeBody(required=False)


class Trees(View):
    """All trees."""

    permission_classes = [may_by_method(GET=PUBLIC, POST="inventory.edit")]
    params = {
        "GET": (
            params.box(),
            params.text("zone", "Code of the zone.", longest=40),
            params.text("species", "Botanical name.", example="Tilia cordata"),
            params.text("genus", "Genus.", example="Tilia"),
            params.word("state", "State of the tree.", STATES),
            params.text("tag", "The tag on the tree.", longest=40),
            params.number(
                "dbh_min_cm", "Smallest diameter (cm); a size class counts where it reaches.", low=0, high=1500
            ),
            params.number("dbh_max_cm", "Largest diameter (cm).", low=0, high=1500),
            params.word("risk", "Risk class; `none` was never rated. For the municipality only.", RISKS),
            params.text("q", "Tag, key, part of a street or of a species name.", longest=100),
            params.UNITS,
            *paging.PAGING,
        ),
        "POST": (params.UNITS,),
    }

    @extend_schema(
        operation_id="trees_list", summary="List the trees", responses=shapes.listed(shapes.Tree()), tags=["trees"]
    )
    def get(self, request: Request) -> Response:
        """A page of the trees that match every filter."""
        page = paging.page(self._matching(), self.query)
        return paging.answer(request, scope.shown(self.person, page.rows, self.units), page.cursor)

    def _matching(self) -> QuerySet[Tree]:
        query = self.query
        wish = search.TreeWish(
            box=query["bbox"],
            zone=query["zone"],
            species=query["species"],
            genus=query["genus"],
            state=query["state"],
            tag=query["tag"],
            dbh_min_cm=query["dbh_min_cm"],
            dbh_max_cm=query["dbh_max_cm"],
            words=query["q"],
        )
        found = search.trees(all_trees(), wish)
        return self._of_risk(found, query["risk"]) if query["risk"] else found

    def _of_risk(self, among: QuerySet[Tree], risk: str) -> QuerySet[Tree]:
        if not self.may("assessments.view"):
            raise NotAllowed("risk: your role does not include assessments.view")
        # A tree without a priority row was added since the last recompute: it was never rated.
        return among.filter(priority__risk=RISKS[risk]) if RISKS[risk] else among.exclude(priority__risk__gt=0)

    @extend_schema(
        operation_id="trees_add",
        summary="Add a tree",
        request=TreeBody,
        responses={201: OpenApiResponse(shapes.Tree)},
        examples=[
            OpenApiExample(
                "A young lime",
                {
                    "location": {"type": "Point", "coordinates": [-29.5012, 45.0034]},
                    "tag": "H-2041",
                    "planted_from": "2025-11-03",
                    "planted_to": "2025-11-14",
                    "site": {"street": "Quay Street", "house_number": "12", "growing_space": "cutout"},
                },
                request_only=True,
            )
        ],
        tags=["trees"],
    )
    @idempotent
    def post(self, request: Request) -> HttpResponse:
        """Add it; its zone follows from its location."""
        given = self.read(TreeBody)
        location, site, site_fields, size = (given.pop(name, None) for name in ("location", "site_uid", "site", "size"))
        check_tree(given)
        if site and site_fields:
            raise Invalid.field("#/site", "give either a site or a site_uid")
        made = facts.check_size(size_of(size), calendar.today(), "#/size") if size else None
        tree = services.add_tree(
            self.author,
            location=location,
            site=_site(site) if site else None,
            site_fields=site_fields,
            tree_fields=given,
            size=made,
        )
        response = answer(self, tree.uid, status=201)
        response["Location"] = f"/api/v1/trees/{tree.uid}"
        return response


class OneTree(View):
    """One tree."""

    permission_classes = [may_by_method(GET=PUBLIC, PATCH="inventory.edit")]
    params = {"GET": (params.UNITS,), "PATCH": (params.UNITS,)}
    matched = ("PATCH",)

    @extend_schema(operation_id="trees_read", summary="One tree", responses=shapes.Tree, tags=["trees"])
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """The tree, with its ETag; the public and contractors without orders for it see less."""
        return answer(self, uid)

    @extend_schema(
        operation_id="trees_edit", summary="Change a tree", request=TreeEdit, responses=shapes.Tree, tags=["trees"]
    )
    def patch(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """Change it."""
        tree = one_tree(uid)
        version = conditional.matched_version(request, tree.version)
        changes = self.read(TreeEdit, partial=True)
        why = changes.pop("why", "tree edited")
        check_tree({"planted_from": tree.planted_from, "planted_to": tree.planted_to} | changes)
        if changes:
            services.edit_tree(self.author, tree, changes, version=version, why=why)
        return answer(self, uid)


def all_trees() -> QuerySet[Tree]:
    """Trees with all that is shown of them, in one query."""
    return Tree.objects.select_related("species", "site", "zone", "intake_load").defer(
        "location_m", "site__location_m", "site__location", "zone__area", "intake_load__mapping", "intake_load__counts"
    )


def one_tree(uid: uuid.UUID) -> Tree:
    """One tree by its uid. Raises Missing."""
    found = all_trees().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no tree {uid}")
    return found


def answer(view: View, uid: uuid.UUID, *, status: int = 200) -> HttpResponse:
    """One tree as whoever asks sees it, with its ETag."""
    tree = one_tree(uid)
    (shown,) = scope.shown(view.person, [tree], view.units)
    return conditional.answer(view.request, tree.version, shown, status=status)


def check_tree(given: dict[str, Any]) -> None:
    """The rules that no single field tells. Raises Invalid."""
    wrong = []
    first, last = given.get("planted_from"), given.get("planted_to")
    if (first is None) != (last is None):
        wrong.append(FieldProblem(f"#/planted_{'from' if first is None else 'to'}", "give both days or neither"))
    if first and last and first > last:
        wrong.append(FieldProblem("#/planted_from", "must not lie after planted_to"))
    if first and first > calendar.today():
        wrong.append(FieldProblem("#/planted_from", f"{first.isoformat()} lies in the future"))
    key = given.get("species_id")
    if key is not None and not Species.objects.filter(pk=key).exists():
        wrong.append(FieldProblem("#/species_id", "there is no such species"))
    if wrong:
        raise Invalid.fields(wrong)


def _site(uid: uuid.UUID) -> Site:
    found = Site.objects.filter(uid=uid).first()
    if found is None:
        raise Invalid.field("#/site_uid", "there is no such site")
    return found


urlpatterns = [
    path("trees", Trees.as_view(), name="trees"),
    path("trees/<uuid:uid>", OneTree.as_view(), name="tree"),
]
