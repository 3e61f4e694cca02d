"""Photos: what is kept of a file, what is refused, and that a photo sent twice is one photo."""

import io
import struct
import uuid
import zlib
from datetime import UTC, datetime
from typing import Any

import pytest
from django.apps import apps
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import ExifTags, Image

from inventory.attachments import images, queries, services
from inventory.attachments.services import Photo
from inventory.history import SERVICE
from inventory.models import Event, Tree
from inventory.problems import Conflict, Invalid, Missing
from tests.support import build


def photo_bytes(
    size: tuple[int, int] = (800, 600), form: str = "JPEG", exif: Image.Exif | None = None, **told: Any
) -> bytes:
    image = Image.new("RGB", size, (90, 140, 60))
    image.paste((200, 60, 40), (0, 0, size[0] // 4, size[1] // 4))  # a red corner tells which way is up
    out = io.BytesIO()
    image.save(out, form, **({"exif": exif} if exif else {}), **told)
    return out.getvalue()


def camera(orientation: int = 1) -> Image.Exif:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    exif[ExifTags.Base.Make] = "Maker that must not be told"
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2026:05:04 10:11:12"
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSLatitudeRef], gps[ExifTags.GPS.GPSLatitude] = "N", (45.0, 30.0, 36.0)
    gps[ExifTags.GPS.GPSLongitudeRef], gps[ExifTags.GPS.GPSLongitude] = "W", (29.0, 15.0, 0.0)
    return exif


@pytest.fixture
def tree(city: Any) -> Tree:
    return build.tree()


def test_a_photo_is_kept_without_what_its_file_tells_of_its_maker() -> None:
    picture = images.read(photo_bytes(exif=camera()))
    assert b"Maker" not in picture.content
    kept = Image.open(io.BytesIO(picture.content))
    assert not dict(kept.getexif())
    assert set(kept.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_the_cameras_clock_and_place_are_read() -> None:
    picture = images.read(photo_bytes(exif=camera()))
    assert picture.taken_at == datetime(2026, 5, 4, 10, 11, 12, tzinfo=UTC)
    # 29 degrees 15 minutes west, 45 degrees 30 minutes 36 seconds north.
    assert picture.place == pytest.approx((-29.25, 45.51))


@pytest.mark.parametrize(("orientation", "red"), [(1, (0.1, 0.1)), (3, (0.9, 0.9)), (6, (0.9, 0.1)), (8, (0.1, 0.9))])
def test_a_turned_photo_is_kept_upright(orientation: int, red: tuple[float, float]) -> None:
    """The EXIF standard (CIPA DC-008) says where the first row and column of each orientation lie."""
    picture = images.read(photo_bytes(exif=camera(orientation)))
    kept = Image.open(io.BytesIO(picture.content))
    assert kept.size == ((600, 800) if orientation in (6, 8) else (800, 600))
    r, g, _b = kept.getpixel((int(kept.width * red[0]), int(kept.height * red[1])))
    assert r > 150 > g


def test_a_large_photo_is_made_smaller_in_proportion() -> None:
    picture = images.read(photo_bytes((6000, 3000)))
    assert (picture.width_px, picture.height_px) == (2560, 1280)
    assert max(Image.open(io.BytesIO(picture.small)).size) == 480


def test_a_picture_for_paper_is_no_larger_than_paper_shows_and_always_the_same() -> None:
    kept = images.read(photo_bytes((3000, 2000))).content
    shrunk = images.shrunk(kept, 1000)
    assert Image.open(io.BytesIO(shrunk)).size == (1000, 667)
    assert shrunk == images.shrunk(kept, 1000)
    small = images.read(photo_bytes((300, 200))).content
    assert Image.open(io.BytesIO(images.shrunk(small, 1000))).size == (300, 200)


def test_what_is_transparent_lies_on_white() -> None:
    out = io.BytesIO()
    Image.new("RGBA", (50, 50), (0, 0, 0, 0)).save(out, "PNG")
    kept = Image.open(io.BytesIO(images.read(out.getvalue()).content))
    assert kept.getpixel((25, 25)) == (255, 255, 255)


def _bomb() -> bytes:
    """A PNG of a few hundred bytes that says it is 50,000 pixels wide and high."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", 50_000, 50_000, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(64))) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    "content",
    [b"", b"GIF89a", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"%PDF-1.7", photo_bytes()[:400], _bomb()],
    ids=["nothing", "gif", "svg", "pdf", "cut short", "bomb"],
)
def test_what_is_no_whole_picture_is_refused(content: bytes) -> None:
    with pytest.raises(Invalid) as refused:
        images.read(content)
    assert refused.value.errors[0].pointer == "#/file"


# The library only warns of damaged metadata; the picture itself may be whole.
@pytest.mark.filterwarnings("ignore::UserWarning:PIL")
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_damaged_photo_is_refused_or_read_but_never_breaks(data: st.DataObject) -> None:
    content = bytearray(photo_bytes((64, 48), data.draw(st.sampled_from(["JPEG", "PNG", "WEBP"])), exif=camera()))
    for _ in range(data.draw(st.integers(1, 8))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    try:
        picture = images.read(bytes(content))
    except Invalid:
        return
    assert Image.open(io.BytesIO(picture.content)).format == "JPEG"


def test_the_same_photo_twice_is_one(tree: Tree) -> None:
    photo = Photo(photo_bytes(), caption="Cavity, south side")
    first, new = services.add(SERVICE, tree, photo)
    again, newer = services.add(SERVICE, tree, photo)
    assert (new, newer, again.pk) == (True, False, first.pk)
    assert Event.objects.filter(kind="photo.added").count() == 1


def test_a_uid_with_another_picture_is_a_contradiction(tree: Tree) -> None:
    uid = uuid.uuid4()
    services.add(SERVICE, tree, Photo(photo_bytes(), uid=uid))
    with pytest.raises(Conflict) as refused:
        services.add(SERVICE, tree, Photo(photo_bytes((700, 700)), uid=uid))
    assert [error.pointer for error in refused.value.errors] == ["#/file"]


def test_the_place_is_kept_only_where_asked(tree: Tree) -> None:
    without, _ = services.add(SERVICE, tree, Photo(photo_bytes(exif=camera())))
    kept, _ = services.add(SERVICE, tree, Photo(photo_bytes(exif=camera()), keep_location=True))
    assert without.location is None
    assert kept.location.coords == pytest.approx((-29.25, 45.51))


def test_a_withdrawn_photo_is_shown_no_more_and_stays_in_the_history(tree: Tree) -> None:
    made, _ = services.add(SERVICE, tree, Photo(photo_bytes()))
    services.withdraw(SERVICE, made.uid, "shows a passer-by")
    assert not queries.photos_of(tree).exists()
    with pytest.raises(Missing, match="withdrawn"):
        queries.photo(made.uid)
    past = apps.get_model("inventory", "AttachmentPast").objects.filter(uid=made.uid)
    assert past.count() == 2
    with pytest.raises(Conflict):
        services.withdraw(SERVICE, made.uid, "again")


def test_a_lost_or_changed_file_is_said_and_not_shown(tree: Tree) -> None:
    made, _ = services.add(SERVICE, tree, Photo(photo_bytes()))
    assert queries.picture(made)[:2] == b"\xff\xd8"
    name = f"photos/{made.kept_sha256[:2]}/{made.kept_sha256}"
    default_storage.delete(name)
    with pytest.raises(Missing, match="there is no file"):
        queries.picture(made)
    default_storage.save(name, ContentFile(b"something else"))
    with pytest.raises(Missing, match="damaged"):
        queries.picture(made)
