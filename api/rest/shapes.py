"""What the interface shows of the inventory's nouns; SI always, inches and feet beside it where asked for."""

from collections.abc import Iterable
from functools import cache
from typing import Any, ClassVar, Final

from rest_framework import serializers

from api.http.fields import Geometry
from inventory.models.measurement import METHODS
from inventory.models.site import GROWING_SPACES, OVERHEAD_LINES
from inventory.models.site import STATES as SITE_STATES
from inventory.models.species import RANKS
from inventory.models.support import KINDS
from inventory.models.tree import STATES as TREE_STATES
from inventory.models.zone import OCCUPANCIES
from inventory.people.models import UNITS as SYSTEMS
from inventory.rules import FOOT_M, INCH_CM


class Choice(serializers.ChoiceField):
    """One of a few words, shown."""

    def __init__(self, words: Iterable[str], **options: Any) -> None:
        super().__init__(choices=list(words), **options)


class Real(serializers.FloatField):
    """A number that may be unknown."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"allow_null": True} | options)


class _US(serializers.FloatField):
    """A length in US customary units beside its SI twin; two decimals."""

    step: ClassVar[float]

    def __init__(self, source: str) -> None:
        super().__init__(source=source, allow_null=True, required=False)

    def to_representation(self, value: float) -> float:  # type: ignore[override]
        """Convert."""
        return round(value / self.step, 2)


class Inches(_US):
    """From centimetres."""

    step = INCH_CM


class Feet(_US):
    """From metres."""

    step = FOOT_M


class Measured(serializers.Serializer[Any]):
    """Base of what carries lengths: says its units, and shows US values only where the context asks for them."""

    units = serializers.SerializerMethodField()

    def get_units(self, row: Any) -> str:
        """The units shown: `si`, or `us` for both."""
        return str(self.context.get("units", "si"))

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Without the US fields unless asked for (the document, which has no context, shows all)."""
        fields = super().get_fields()
        if self.context.get("units", "us") == "us":
            return fields
        return {name: one for name, one in fields.items() if not isinstance(one, _US)}


class Species(serializers.Serializer[Any]):
    """A taxon of the catalogue."""

    id = serializers.IntegerField()
    botanical_name = serializers.CharField()
    rank = Choice(RANKS)
    genus = serializers.CharField()
    family = serializers.CharField()
    common_en = serializers.CharField(allow_blank=True)


class SpeciesName(serializers.Serializer[Any]):
    """Another name of a taxon."""

    name = serializers.CharField()
    language = serializers.CharField()
    kind = serializers.CharField()


class SpeciesFull(Species):
    """A taxon with its other names and sizes (m, cm)."""

    names = SpeciesName(many=True)
    mature_height_m = Real()
    mature_crown_m = Real()
    max_dbh_cm = Real()


class ZoneShown(serializers.Serializer[Any]):
    """A district or maintenance area."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    name = serializers.CharField()
    occupancy = Choice(OCCUPANCIES, allow_null=True)
    area = Geometry(("MultiPolygon",))
    version = serializers.IntegerField()


class Site(Measured):
    """A place where a tree can stand."""

    uid = serializers.UUIDField()
    external_key = serializers.CharField(allow_null=True)
    location = Geometry(("Point",))
    zone = serializers.CharField(source="zone.code", default=None, allow_null=True)
    street = serializers.CharField(allow_blank=True)
    house_number = serializers.CharField(allow_blank=True)
    place = serializers.CharField(allow_blank=True)
    growing_space = Choice(GROWING_SPACES)
    strip_width_m = Real()
    strip_width_ft = Feet("strip_width_m")
    overhead_lines = Choice(OVERHEAD_LINES)
    occupancy = Choice(OCCUPANCIES, allow_null=True)
    state = Choice(SITE_STATES)
    version = serializers.IntegerField()


class TreeSite(serializers.Serializer[Any]):
    """The site of a tree, in short."""

    uid = serializers.UUIDField()
    street = serializers.CharField(allow_blank=True)
    house_number = serializers.CharField(allow_blank=True)
    place = serializers.CharField(allow_blank=True)


class TreeSpecies(serializers.Serializer[Any]):
    """The species of a tree, in short."""

    id = serializers.IntegerField()
    botanical_name = serializers.CharField()
    common_en = serializers.CharField(allow_blank=True)


STAFF_ONLY: Final = ("species_text", "external_key", "site", "removal_reason", "note", "source", "version")


class Tree(Measured):
    """A tree. The public sees no notes, keys, sites or sources."""

    uid = serializers.UUIDField()
    tag = serializers.CharField(allow_null=True)
    species = TreeSpecies(allow_null=True)
    location = Geometry(("Point",))
    zone = serializers.CharField(source="zone.code", default=None, allow_null=True)
    planted_from = serializers.DateField(allow_null=True)
    planted_to = serializers.DateField(allow_null=True)
    state = Choice(TREE_STATES)
    removed_on = serializers.DateField(allow_null=True)
    dbh_cm = Real()
    dbh_low_cm = Real()
    dbh_high_cm = Real()
    height_m = Real()
    crown_m = Real()
    dbh_in = Inches("dbh_cm")
    dbh_low_in = Inches("dbh_low_cm")
    dbh_high_in = Inches("dbh_high_cm")
    height_ft = Feet("height_m")
    crown_ft = Feet("crown_m")
    species_text = serializers.CharField(allow_blank=True, required=False)
    external_key = serializers.CharField(allow_null=True, required=False)
    site = TreeSite(allow_null=True, required=False)
    removal_reason = serializers.CharField(allow_blank=True, required=False)
    note = serializers.CharField(allow_blank=True, required=False)
    source = serializers.CharField(  # type: ignore[assignment]
        source="intake_load.file_name", default=None, allow_null=True, help_text="The file it was loaded from."
    )
    version = serializers.IntegerField(required=False)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Without what only the municipality sees, unless the context says `full`."""
        fields = super().get_fields()
        if self.context.get("full", True):
            return fields
        return {name: one for name, one in fields.items() if name not in STAFF_ONLY}


class Measurement(Measured):
    """How large a tree was on a day. `dbh_cm` is over bark at `dbh_height_m`; of several stems the quadratic sum."""

    uid = serializers.UUIDField()
    measured_on = serializers.DateField()
    measured_by = serializers.CharField(source="measured_by.name", default=None, allow_null=True)
    method = Choice(METHODS)
    stems_cm = serializers.ListField(child=serializers.FloatField(), allow_null=True)
    dbh_cm = Real()
    dbh_low_cm = Real()
    dbh_high_cm = Real()
    dbh_height_m = Real()
    height_m = Real()
    height_low_m = Real()
    height_high_m = Real()
    crown_m = Real()
    crown_base_m = Real()
    dbh_in = Inches("dbh_cm")
    dbh_low_in = Inches("dbh_low_cm")
    dbh_high_in = Inches("dbh_high_cm")
    dbh_height_ft = Feet("dbh_height_m")
    height_ft = Feet("height_m")
    crown_ft = Feet("crown_m")
    crown_base_ft = Feet("crown_base_m")
    note = serializers.CharField(allow_blank=True)
    received_at = serializers.DateTimeField()


class Support(Measured):
    """A cable, brace rod, prop or guy."""

    uid = serializers.UUIDField()
    kind = Choice(KINDS)
    height_m = Real()
    height_ft = Feet("height_m")
    installed_on = serializers.DateField()
    removed_on = serializers.DateField(allow_null=True)
    note = serializers.CharField(allow_blank=True)


class Me(serializers.Serializer[Any]):
    """Who is signed in."""

    name = serializers.CharField()
    email = serializers.EmailField()
    qualification = serializers.CharField(allow_blank=True)
    units = Choice(SYSTEMS)
    roles = serializers.ListField(child=serializers.CharField())


def many(shape: type[serializers.Serializer[Any]], rows: Iterable[Any], **context: Any) -> list[dict[str, Any]]:
    """Each row in a shape."""
    one = shape(context=context)
    return [one.to_representation(row) for row in rows]


def listed(shape: serializers.Serializer[Any]) -> serializers.Serializer[Any]:
    """The shape of a page of a list, for the document."""
    return _page_of(type(shape))()


@cache
def _page_of(shape: type[serializers.Serializer[Any]]) -> type[serializers.Serializer[Any]]:
    members = {
        "items": shape(many=True),
        "next": serializers.URLField(allow_null=True, help_text="The next page; null on the last one."),
    }
    return type(f"{shape.__name__}Page", (serializers.Serializer,), members)
