"""Which trees: the filters of the tree lists, the same for the interface and the pages."""

from dataclasses import dataclass

from django.contrib.gis.geos import Polygon
from django.db.models import Q, QuerySet

from inventory.models import Tree
from inventory.models.fields import WGS84

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class TreeWish:
    """What is looked for; None leaves a filter out. Sizes in cm; the box is west, south, east, north (degrees)."""

    box: Box | None = None
    zone: str | None = None  # its code
    species: str | None = None  # the botanical name
    genus: str | None = None
    state: str | None = None
    tag: str | None = None
    dbh_min_cm: float | None = None
    dbh_max_cm: float | None = None
    words: str | None = None


def trees(among: QuerySet[Tree], wish: TreeWish) -> QuerySet[Tree]:
    """Keep the trees that match every filter given."""
    equal = {
        "zone__code": wish.zone,
        "species__botanical_name__iexact": wish.species,
        "species__genus__iexact": wish.genus,
        "state": wish.state,
        "tag": wish.tag,
    }
    found = among.filter(**{lookup: value for lookup, value in equal.items() if value})
    if wish.box:
        found = found.filter(_inside(wish.box))
    if wish.words:
        found = found.filter(_mentions(wish.words))
    return _sized(found, wish)


def _inside(box: Box) -> Q:
    """Points inside a box or on its edge; a box whose west lies east of its east crosses the antimeridian."""
    west, south, east, north = box
    if west <= east:
        return Q(location__intersects=_polygon(box))
    return _inside((west, south, 180.0, north)) | _inside((-180.0, south, east, north))


def _polygon(box: Box) -> Polygon:
    polygon = Polygon.from_bbox(box)
    polygon.srid = WGS84
    return polygon


def _mentions(words: str) -> Q:
    return (
        Q(tag__iexact=words)
        | Q(external_key=words)
        | Q(site__street__icontains=words)
        | Q(species__botanical_name__icontains=words)
        | Q(species__common_en__icontains=words)
    )


def _sized(among: QuerySet[Tree], wish: TreeWish) -> QuerySet[Tree]:
    """By diameter; a tree whose diameter is known as a class only counts where the class reaches into the range."""
    if wish.dbh_min_cm is not None:
        among = among.filter(Q(dbh_cm__gte=wish.dbh_min_cm) | Q(dbh_cm=None, dbh_high_cm__gte=wish.dbh_min_cm))
    if wish.dbh_max_cm is not None:
        among = among.filter(Q(dbh_cm__lte=wish.dbh_max_cm) | Q(dbh_cm=None, dbh_low_cm__lte=wish.dbh_max_cm))
    return among
