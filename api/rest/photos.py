"""Photos of trees: added as a form, listed, shown, withdrawn."""

import uuid
from typing import Any, Final

from django.http import HttpResponse
from django.urls import path, reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from api.http import fields, paging, params
from api.http.kinds import TooLarge
from api.http.permissions import SIGNED_IN, may, may_by_method
from api.http.view import View
from api.rest import scope
from api.rest.shapes import listed
from assessments.works import subjects
from inventory import queries as inventory
from inventory.attachments import queries, services
from inventory.attachments.services import MOST_BYTES, Photo
from inventory.models import Attachment
from inventory.models.attachment import ABOUT

TAGS = ["photos"]
_FORM_BYTES: Final = 64 * 1024
"""What a form may hold beside its file."""


class PhotoBody(fields.Body):
    """A photo as a form sends it."""

    file = serializers.FileField(help_text="JPEG, PNG or WebP; known by its bytes, kept as JPEG without metadata.")
    uid = serializers.UUIDField(required=False, help_text="Made by the client; the same photo again is the same one.")
    about = fields.Word(choices=ABOUT, required=False, help_text="What it shows; the tree unless said otherwise.")
    about_uid = serializers.UUIDField(required=False, help_text="Of what it shows, which may arrive later.")
    caption = fields.Text(max_length=300, required=False, allow_blank=True)
    taken_at = fields.Instant(required=False, help_text="Wins over the camera's clock.")
    keep_location = serializers.BooleanField(
        required=False, help_text="Keep where the camera says it stood. Dropped unless asked for."
    )

    def validate(self, given: Any) -> Any:
        """A thing that is not the tree is named by its uid."""
        if given.get("about", "tree") != "tree" and "about_uid" not in given:
            raise serializers.ValidationError({"about_uid": ["say which one"]})
        return given


class PhotoShown(serializers.Serializer[Any]):
    """A photo. `picture` and `small` are addresses of JPEGs."""

    uid = serializers.UUIDField()
    about = serializers.ChoiceField(choices=ABOUT)
    about_uid = serializers.UUIDField()
    caption = serializers.CharField()
    taken_at = serializers.DateTimeField(allow_null=True)
    longitude = serializers.FloatField(source="location.x", allow_null=True, default=None)
    latitude = serializers.FloatField(source="location.y", allow_null=True, default=None)
    width_px = serializers.IntegerField()
    height_px = serializers.IntegerField()
    added_by = serializers.CharField(source="added_by.name", allow_null=True, default=None)
    received_at = serializers.DateTimeField()
    picture = serializers.SerializerMethodField()
    small = serializers.SerializerMethodField()

    def get_picture(self, row: Attachment) -> str:
        """The address of the picture."""
        return reverse("api:photo-picture", args=[row.uid])

    def get_small(self, row: Attachment) -> str:
        """The address of a small one."""
        return f"{self.get_picture(row)}?size=small"


class OfTree(View):
    """The photos of a tree."""

    permission_classes = [may_by_method(GET=SIGNED_IN, POST="photos.add")]
    params = {"GET": (paging.LIMIT, paging.after(int))}

    @extend_schema(
        operation_id="photos_of_tree", summary="The photos of a tree", responses=listed(PhotoShown()), tags=TAGS
    )
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """The newest first. A contractor sees those of the trees in its orders."""
        tree = inventory.tree(uid)
        scope.require_full(self.person, tree)
        rows = queries.photos_of(tree)
        if self.query["after"] is not None:
            rows = rows.filter(pk__lt=self.query["after"][0])
        page = paging.cut(list(rows[: self.query["limit"] + 1]), self.query["limit"], lambda row: paging.encode(row.pk))
        return paging.answer(request, PhotoShown(page.rows, many=True).data, page.cursor)


class Add(OfTree):
    """The photos of a tree, and one more: as a form, because a picture is no JSON."""

    parser_classes = [MultiPartParser]

    @extend_schema(
        operation_id="photos_add",
        summary="Add a photo",
        description="What the file tells of its maker is dropped; where it was taken too, unless asked for. The same"
        " uid with the same file gives the same answer for ever; with other content 409.",
        request={"multipart/form-data": PhotoBody},
        responses={200: PhotoShown, 201: PhotoShown},
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """Add it: 201; the same one again: 200."""
        declared = request.headers.get("Content-Length", "")
        if declared.isdecimal() and int(declared) > MOST_BYTES + _FORM_BYTES:
            raise TooLarge(f"a photo may hold {MOST_BYTES:,} bytes at most")
        tree = inventory.tree(uid)
        scope.require_full(self.person, tree)
        given = self.read(PhotoBody)
        about, file = given.get("about", "tree"), given.pop("file")
        subjects.require_of_tree(about, given.get("about_uid", tree.uid), tree)
        if file.size > MOST_BYTES:
            raise TooLarge(f"a photo may hold {MOST_BYTES:,} bytes at most")
        row, new = services.add(self.author, tree, Photo(file.read(), **given))
        return Response(PhotoShown(row).data, status=201 if new else 200)


class One(View):
    """One photo."""

    permission_classes = [may(SIGNED_IN)]

    @extend_schema(operation_id="photos_read", summary="One photo", responses=PhotoShown, tags=TAGS)
    def get(self, request: Request, uid: uuid.UUID) -> Response:
        """What is known of it."""
        row = queries.photo(uid)
        scope.require_full(self.person, row.tree)
        return Response(PhotoShown(row).data)


class Picture(View):
    """The picture of one photo."""

    permission_classes = [may(SIGNED_IN)]
    params = {"GET": (params.word("size", "How large.", ("large", "small"), default="large"),)}

    @extend_schema(
        operation_id="photos_picture",
        summary="The picture of a photo",
        responses={(200, "image/jpeg"): OpenApiTypes.BINARY},
        tags=TAGS,
    )
    def get(self, request: Request, uid: uuid.UUID) -> HttpResponse:
        """A JPEG that never changes."""
        row = queries.photo(uid)
        scope.require_full(self.person, row.tree)
        content = queries.picture(row, small=self.query["size"] == "small")
        headers = {"Cache-Control": "private, max-age=3600", "Content-Disposition": f'inline; filename="{row.uid}.jpg"'}
        return HttpResponse(content, content_type="image/jpeg", headers=headers)


class WithdrawalBody(fields.Body):
    """Why a photo is withdrawn."""

    why = fields.Text(max_length=300)


class Withdrawal(View):
    """Withdraws a photo."""

    permission_classes = [may("photos.withdraw")]

    @extend_schema(
        operation_id="photos_withdraw",
        summary="Withdraw a photo",
        request=WithdrawalBody,
        responses=PhotoShown,
        tags=TAGS,
    )
    def post(self, request: Request, uid: uuid.UUID) -> Response:
        """No longer shown, and left out of new reports; the history keeps that it was there, and why it went."""
        return Response(PhotoShown(services.withdraw(self.author, uid, self.read(WithdrawalBody)["why"])).data)


urlpatterns = [
    path("trees/<uuid:uid>/photos", Add.as_view(), name="photos"),
    path("photos/<uuid:uid>", One.as_view(), name="photo"),
    path("photos/<uuid:uid>/picture.jpg", Picture.as_view(), name="photo-picture"),
    path("photos/<uuid:uid>/withdraw", Withdrawal.as_view(), name="photo-withdraw"),
]
