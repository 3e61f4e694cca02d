"""What a column of a city's file can be: the roles, their units, and the words by which headings name them."""

import re
import unicodedata
from dataclasses import dataclass

CM = {"cm": 1.0, "mm": 0.1, "m": 100.0, "in": 2.54, "ft": 30.48}
METRES = {"m": 1.0, "cm": 0.01, "ft": 0.3048, "in": 0.0254}
DATES = ("ymd", "dmy", "mdy", "year")
ORDERS = ("lat_lon", "lon_lat")


@dataclass(frozen=True)
class Role:
    """A role: its meaning, its units (to the SI unit in storage), and heading words in six languages."""

    meaning: str
    words: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    formats: tuple[str, ...] = ()
    several: bool = False


ROLES: dict[str, Role] = {
    "key": Role(
        "the city's own number of the tree",
        ("tree id", "treeid", "tree no", "tree number", "idbase", "id", "key", "objectid", "baumnummer",
         "boomnummer", "numero arbre", "id arbol", "inventory id", "asset id", "fid"),
    ),
    "latitude": Role("degrees north", ("latitude", "lat", "breitengrad", "latitud", "latitudine")),
    "longitude": Role("degrees east", ("longitude", "long", "lon", "lng", "langengrad", "longitud", "longitudine")),
    "point": Role(
        "both coordinates in one cell",
        ("geo point", "geo point 2d", "the geom", "geom", "geometry", "coordinates", "location", "coordonnees",
         "wkt", "point"),
        formats=ORDERS,
    ),
    "species": Role(
        "the botanical name, alone or with the common name",
        ("species", "botanic", "botanical", "botanical name", "scientific", "scientific name", "latin",
         "latin name", "spc latin", "taxon", "nom scientifique", "botanischer name", "soortnaam",
         "wetenschappelijke naam", "nombre cientifico", "nome scientifico", "espece"),
    ),
    "genus": Role("the genus alone", ("genus", "genre", "gattung", "geslacht", "genero", "genere")),
    "epithet": Role(
        "the specific epithet alone", ("epithet", "espece", "species", "art", "soort", "especie", "specie")
    ),
    "cultivar": Role("the cultivar", ("cultivar", "variety", "variete", "sorte", "cultivar name", "variedad")),
    "common": Role(
        "the everyday name",
        ("common", "common name", "spc common", "libelle francais", "nom commun", "deutscher name",
         "nombre comun", "nome comune", "nederlandse naam"),
    ),
    "dbh": Role(
        "diameter of the stem at breast height",
        ("dbh", "diameter", "diameter breast height", "trunk diameter", "tree dbh", "diametre", "durchmesser",
         "stammdurchmesser", "diametro", "stamdiameter"),
        tuple(CM),
    ),
    "girth": Role(
        "girth of the stem at breast height",
        ("girth", "circumference", "circonference", "stammumfang", "umfang", "stamomtrek", "omtrek",
         "perimetro", "circonferenza", "circunferencia"),
        tuple(CM),
    ),
    "height": Role(
        "height of the tree",
        ("height", "tree height", "hauteur", "hohe", "baumhohe", "boomhoogte", "hoogte", "altura", "altezza"),
        tuple(METRES),
    ),
    "crown": Role(
        "width of the crown",
        ("crown", "crown width", "crown diameter", "spread", "canopy", "kronendurchmesser", "kroondiameter"),
        tuple(METRES),
    ),
    "planted": Role(
        "when it was planted",
        ("planted", "plant date", "date planted", "planting date", "year planted", "plantation",
         "date plantation", "annee plantation", "pflanzjahr", "plantjaar", "fecha plantacion"),
        formats=DATES,
    ),
    "measured": Role(
        "when it was measured",
        ("measured", "inventory date", "date inventoried", "date inven", "survey date", "created at",
         "yearinv", "surveyed", "date releve", "date mesure"),
        formats=DATES,
    ),
    "address": Role("house number and street", ("address", "full address", "qaddress", "adresse", "adres")),
    "street": Role(
        "the street",
        ("street", "street name", "on street", "road", "lieu adresse", "rue", "voie", "strasse", "straat",
         "calle", "via"),
    ),
    "number": Role(
        "the house number", ("house number", "civic number", "numero", "hausnummer", "huisnummer", "number")
    ),
    "place": Role(
        "where it stands, in the city's words",
        ("site info", "site", "site type", "located in", "domanialite", "park", "place", "plant area",
         "curb loc", "standort", "planting site"),
        several=True,
    ),
    "strip_width": Role(
        "width of the growing space; of two sides the smaller one",
        ("plot size", "strip width", "site width", "planting strip", "pit size"),
        tuple(METRES),
    ),
    "state": Role("alive, dead, stump or vacant", ("status", "condition status", "state", "etat", "zustand")),
    "note": Role(
        "remarks, kept with the tree",
        ("note", "notes", "remarks", "comments", "remarques", "bemerkung", "opmerking", "observations"),
        several=True,
    ),
    "ignored": Role("not taken over", several=True),
}  # fmt: skip


def told() -> str:
    """Every role with its meaning, units and forms, a line each: for the help of the command."""
    more = {name: ", ".join(role.units or role.formats) for name, role in ROLES.items()}
    lines = (f"    {name:12} {role.meaning}{f' [{more[name]}]' if more[name] else ''}" for name, role in ROLES.items())
    return "\n".join(lines)


SIZES = {"dbh": CM, "girth": CM, "height": METRES, "crown": METRES, "strip_width": METRES}

_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")
_UNITS = {
    "cm": "cm", "mm": "mm", "m": "m", "in": "in", "inch": "in", "inches": "in", "ft": "ft", "feet": "ft",
    "foot": "ft", "metres": "m", "meters": "m", "metre": "m",
}  # fmt: skip


def heading_words(heading: str) -> str:
    """A heading as plain lower-case words.

    >>> heading_words("CIRCONFERENCE (cm)"), heading_words("siteOrder_2")
    ('circonference cm', 'site order 2')
    """
    parted = _CAMEL.sub(" ", heading)
    plain = unicodedata.normalize("NFKD", parted)
    letters = "".join(sign for sign in plain if not unicodedata.combining(sign)).casefold()
    return " ".join(re.findall(r"[a-z0-9]+", letters))


def named(role: str, heading: str) -> float:
    """How well a heading names a role: 1 in exactly its words, less for more words around them, 0 not at all."""
    words = heading_words(heading).split()
    # "height m" names a height in full; "located in" is no unit.
    telling = [word for word in words if word not in _UNITS] or words
    return max(_phrase(role, words), _phrase(role, telling))


def _phrase(role: str, words: list[str]) -> float:
    best = 0.0
    for phrase in ROLES[role].words:
        size = len(phrase.split())
        if any(" ".join(words[at : at + size]) == phrase for at in range(len(words) - size + 1)):
            best = max(best, 0.4 + 0.6 * size / len(words))
    return best


def unit_in(heading: str) -> str:
    """The unit that a heading names, or empty.

    >>> unit_in("HAUTEUR (m)"), unit_in("dbh")
    ('m', '')
    """
    words = heading_words(heading).split()
    found = [_UNITS[word] for word in words[1:] if word in _UNITS]
    return found[-1] if found else ""
