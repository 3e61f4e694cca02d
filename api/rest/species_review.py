"""The review of species texts: what waits for a person, and what persons settled."""

from typing import Any

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import fields, paging, params
from api.http.idempotency import idempotent
from api.http.permissions import may, may_by_method
from api.http.view import View
from api.rest.shapes import Species, listed, many
from inventory.intake import review
from inventory.intake.settle import settle, species_named
from inventory.models.species_settlement import OUTCOMES

TAGS = ["species"]


class SuggestionShown(serializers.Serializer[Any]):
    """A taxon that may be meant."""

    botanical_name = serializers.CharField()
    name = serializers.CharField(help_text="The name of it that is like the text.")
    found = serializers.CharField(help_text="How it was found, in words.")
    likeness = serializers.FloatField(help_text="Share of letter triples in common, 0 to 1; 1 for the matcher's own.")


class ExampleTree(serializers.Serializer[Any]):
    """A tree with the text."""

    uid = serializers.UUIDField()
    street = serializers.CharField(source="site.street", default="")
    house_number = serializers.CharField(source="site.house_number", default="")


class TextShown(serializers.Serializer[Any]):
    """A species text that waits for a person."""

    key = serializers.CharField(help_text="The form in which the text is settled: no case, no accents, no signs.")
    text = serializers.CharField(help_text="Its commonest spelling.")
    spellings = serializers.ListField(child=serializers.CharField())
    how = serializers.ChoiceField(source="match.how", choices=review.OPEN)
    matched = serializers.CharField(source="match.botanical_name", allow_null=True)
    trees = serializers.IntegerField()
    without_species = serializers.IntegerField(help_text="Trees of these that have no species now.")
    examples = ExampleTree(many=True)
    suggestions = SuggestionShown(many=True)


class SettlementBody(fields.Body):
    """What a text means."""

    text = fields.Text(max_length=2000, help_text="A spelling of the text, or its key.")
    outcome = fields.Word(
        choices=OUTCOMES,
        help_text="`species`: that taxon; `text`: no species of the catalogue, the text is kept; `no_tree`: no tree"
        " stands there.",
    )
    species = fields.Text(
        max_length=200, allow_null=True, required=False, help_text="The accepted botanical name, for `species`."
    )
    why = fields.Text(max_length=500, allow_blank=True, required=False)


class SettlementShown(serializers.Serializer[Any]):
    """What a person settled about a text."""

    uid = serializers.UUIDField()
    key = serializers.CharField()
    text = serializers.CharField()
    outcome = serializers.ChoiceField(choices=OUTCOMES)
    species = Species(allow_null=True)
    why = serializers.CharField(allow_blank=True)
    settled_by = serializers.CharField(source="settled_by.name", default=None, allow_null=True)
    settled_at = serializers.DateTimeField()


class SettlingShown(serializers.Serializer[Any]):
    """A settlement and what it did."""

    settlement = SettlementShown()
    changed = serializers.IntegerField(help_text="Trees that have another species now.")
    taken_off = serializers.IntegerField(help_text="Trees recorded as none, their sites as vacant.")
    put_back = serializers.IntegerField(help_text="Trees that stand again after being settled as none.")
    kept = serializers.IntegerField(
        help_text="Trees left alone: a person set their species singly, or something is recorded on them."
    )


class Review(View):
    """The species texts that wait for a person."""

    permission_classes = [may("inventory.view")]
    params = {
        "GET": (
            params.word("how", "Only texts matched in this way.", review.OPEN),
            params.text("q", "Words that the text holds.", longest=100),
            paging.LIMIT,
            paging.after(int, int, str),
        )
    }

    @extend_schema(
        operation_id="species_review",
        summary="Species texts to settle",
        description="The distinct species texts of trees for which no name was found, only a genus, or a name with"
        " letters corrected; those without any name and with the most trees first.",
        responses=listed(TextShown()),
        tags=TAGS,
    )
    def get(self, request: Request) -> Response:
        """A page of the queue."""
        after = self.query["after"]
        found = review.queue(
            how=self.query["how"] or "",
            words=self.query["q"] or "",
            after=tuple(after) if after else None,
            limit=self.query["limit"],
        )
        cursor = paging.encode(*found.questions[-1].place) if found.more else None
        return paging.answer(request, many(TextShown, found.questions), cursor)


class Settlements(View):
    """What persons settled."""

    permission_classes = [may_by_method(GET="inventory.view", POST="species.settle")]
    params = {"GET": paging.PAGING}

    @extend_schema(
        operation_id="species_settlements_list",
        summary="What was settled about species texts",
        responses=listed(SettlementShown()),
        tags=TAGS,
    )
    def get(self, request: Request) -> Response:
        """A page of settlements."""
        page = paging.page(review.settlements(), self.query)
        return paging.answer(request, many(SettlementShown, page.rows), page.cursor)

    @extend_schema(
        operation_id="species_settle",
        summary="Settle a species text",
        description="For all trees with this text at once and for all files to come. Settle it anew to take it back:"
        " the history keeps both. A tree whose species a person set singly stays as it is. `409` during a load.",
        request=SettlementBody,
        responses={201: OpenApiResponse(SettlingShown)},
        tags=TAGS,
    )
    @idempotent
    def post(self, request: Request) -> HttpResponse:
        """Settle it."""
        given = self.read(SettlementBody)
        name = given.pop("species", None)
        done = settle(self.author, given.pop("text"), species=species_named(name) if name else None, **given)
        return Response(SettlingShown(done).data, status=201)


urlpatterns = [
    path("species-review", Review.as_view(), name="species-review"),
    path("species-settlements", Settlements.as_view(), name="species-settlements"),
]
