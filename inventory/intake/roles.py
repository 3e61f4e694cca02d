"""What a column of a city's file can be: the roles, their units, and the words by which headings name them."""

import re
import unicodedata
from dataclasses import dataclass

CM = {"cm": 1.0, "mm": 0.1, "m": 100.0, "in": 2.54, "ft": 30.48}
METRES = {"m": 1.0, "cm": 0.01, "ft": 0.3048, "in": 0.0254}
DATES = ("ymd", "dmy", "mdy", "year")
ORDERS = ("lat_lon", "lon_lat")
# How a class is written: its two ends, or the number of a class of ten units (3 is 30 to 40).
CLASSES = ("range", "tens")


@dataclass(frozen=True)
class Role:
    """A role: its meaning, its units (to the SI unit in storage), and heading words in six languages."""

    meaning: str
    words: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    formats: tuple[str, ...] = ()
    several: bool = False
    # Words beside which a heading names something else: a crown's diameter is not a stem's.
    unless: tuple[str, ...] = ()


NOT_STEM = ("crown", "canopy", "kronen", "krone", "couronne", "houppier", "copa", "chioma", "kroon", "stump", "souche",
            "pit", "well", "plot", "site", "root", "grate", "spread", "id")  # fmt: skip
ROLES: dict[str, Role] = {
    "key": Role(
        "the city's own number of the tree",
        ("tree id", "treeid", "tree no", "tree number", "idbase", "id", "key", "objectid", "baumnummer", "baumnr",
         "baum nr", "boomnummer", "numero arbre", "id arbre", "id arbol", "id albero", "inventory id", "asset id",
         "fid", "gid",
         "objectnummer", "objekt id", "unique id", "plant id", "kennung", "codice", "matricule", "inventarnummer"),
    ),
    "latitude": Role("degrees north", ("latitude", "lat", "breitengrad", "latitud", "latitudine", "breite",
                                       "breedtegraad", "y lat", "geo lat")),
    "longitude": Role("degrees east", ("longitude", "long", "lon", "lng", "langengrad", "longitud", "longitudine",
                                       "lange", "lengtegraad", "x lon", "geo lon")),
    "northing": Role(
        "metres or feet north, in the file's coordinate reference system",
        ("y", "northing", "north", "hochwert", "nordwert", "nord", "y coord", "coord y", "ycoord", "y coordinate",
         "point y",
         "coordy", "coorx y", "y wert", "nord ing", "y coordinaat", "coordonnee y", "utm n"),
    ),
    "easting": Role(
        "metres or feet east, in the file's coordinate reference system",
        ("x", "easting", "east", "rechtswert", "ostwert", "ost", "x coord", "coord x", "xcoord", "x coordinate",
         "point x",
         "coordx", "x wert", "x coordinaat", "coordonnee x", "utm e"),
    ),
    "point": Role(
        "both coordinates in one cell",
        ("geo point", "geo point 2d", "the geom", "geom", "geometry", "coordinates", "location", "coordonnees",
         "wkt", "point", "koordinaten", "coordenadas", "coordinate", "geometrie", "shape"),
        formats=ORDERS,
    ),
    "species": Role(
        "the botanical name, alone or with the common name",
        ("species", "botanic", "botanical", "botanical name", "scientific", "scientific name", "latin",
         "latin name", "spc latin", "taxon", "nom scientifique", "botanischer name", "soortnaam", "nom latin",
         "wetenschappelijke naam", "nombre cientifico", "nome scientifico", "espece", "baumart", "boomsoort",
         "gattung art", "essence", "especie", "specie", "latijnse naam", "baumart lat", "art bot", "taxon name",
         "nom botanique", "latijn"),
        unless=("id", "code", "count", "no"),
    ),
    "genus": Role("the genus alone", ("genus", "genre", "gattung", "geslacht", "genero", "genere", "genus name")),
    "epithet": Role(
        "the specific epithet alone", ("epithet", "espece", "species", "art", "soort", "especie", "specie",
        "species name")
    ),
    "cultivar": Role(
        "the cultivar", ("cultivar", "variety", "variete", "sorte", "cultivar name", "variedad", "varieta",
        "cultivar naam")
    ),
    "common": Role(
        "the everyday name",
        ("common", "common name", "spc common", "libelle francais", "nom commun", "deutscher name", "nom francais",
         "nombre comun", "nome comune", "nederlandse naam", "baumart deutsch", "vernacular name", "nom vernaculaire",
         "baumart dt", "art deutsch", "volksnaam", "nome volgare", "nombre vulgar", "soortnaam nl"),
    ),
    "dbh": Role(
        "diameter of the stem at breast height",
        ("dbh", "diameter", "diameter breast height", "trunk diameter", "tree dbh", "diametre", "durchmesser", "diam",
         "stammdurchmesser", "diametro", "stamdiameter", "bhd", "brusthohendurchmesser", "stem diameter", "dap",
         "diametre tronc", "diametro tronco", "diametro fusto", "stammdm", "dbh in", "boomdiameter",
         "diametre du tronc"),
        tuple(CM), unless=NOT_STEM,
    ),
    "dbh_class": Role(
        "class of stem diameters, kept as an interval: ranges, or numbers of classes of ten units",
        ("diameter class", "dbh class", "dbh range", "diametre classe", "durchmesserklasse", "diameterklasse",
         "stamdiameterklasse", "clase diametro", "classe diametro", "classe de diametre", "clase diametrica"),
        tuple(CM), CLASSES, unless=NOT_STEM,
    ),
    "girth": Role(
        "girth of the stem at breast height",
        ("girth", "circumference", "circonference", "stammumfang", "umfang", "stamomtrek", "omtrek", "circ", "stu",
         "perimetro", "circonferenza", "circunferencia", "trunk circumference", "tour de tronc", "stammumf", "gbh",
         "circonference tronc", "perimetro tronco", "stammumfg"),
        tuple(CM), unless=NOT_STEM,
    ),
    "radius": Role(
        "radius of the stem at breast height",
        ("stem radius", "trunk radius", "stammradius", "rayon tronc", "stamstraal", "radio tronco", "raggio tronco"),
        tuple(CM), unless=NOT_STEM,
    ),
    "height": Role(
        "height of the tree",
        ("height", "tree height", "hauteur", "hohe", "hoehe", "baumhohe", "boomhoogte", "hoogte", "altura", "altezza",
         "baumhoehe", "haut", "alt", "total height", "hauteur totale"),
        tuple(METRES), unless=("base", "dbh", "breast", "sign", "pole", "raised", "clearance", "above", "first"),
    ),
    "height_class": Role(
        "class of heights, kept as an interval: ranges, or numbers of classes of ten units",
        ("height class", "height range", "height range id", "hauteur classe", "hohenklasse", "hoogteklasse",
         "boomhoogteklasse", "clase altura", "classe altezza", "classe de hauteur", "boomhoogteklasse actueel"),
        tuple(METRES), CLASSES,
    ),
    "crown": Role(
        "width of the crown",
        ("crown", "crown width", "crown diameter", "spread", "canopy", "kronendurchmesser", "kroondiameter",
         "canopy width",
         "kronenbreite", "diametre couronne", "diametre houppier", "diametro copa", "diametro chioma", "kronendurch",
         "crown spread", "kroonbreedte", "largeur couronne", "ancho copa"),
        tuple(METRES), unless=("base", "radius", "condition", "class", "light", "raise"),
    ),
    "crown_radius": Role(
        "radius of the crown",
        ("crown radius", "canopy radius", "kronenradius", "rayon couronne", "kroonstraal", "radio copa",
         "raggio chioma", "rayon houppier"),
        tuple(METRES),
    ),
    "crown_base": Role(
        "height at which the crown begins",
        ("crown base", "crn base", "crown base height", "height to crown", "kronenansatz", "kroonaanzet",
         "base couronne", "hauteur fut", "base copa", "inserzione chioma", "base de la couronne", "canopy base",
         "kronenansatzhohe",
         "height to live crown", "stem height", "takvrije stam"),
        tuple(METRES),
    ),
    "planted": Role(
        "when it was planted",
        ("planted", "plant date", "date planted", "planting date", "year planted", "plantation", "planting year",
         "date plantation", "annee plantation", "pflanzjahr", "plantjaar", "fecha plantacion", "pflanzdatum",
         "plant year", "plantdatum", "ano plantacion", "anno impianto", "data impianto", "date de plantation",
         "annee de plantation", "anno piantumazione", "aanlegjaar", "standalter seit", "date planted on",
         "fecha de plantacion"),
        formats=DATES,
    ),
    "measured": Role(
        "when it was measured",
        ("measured", "inventory date", "date inventoried", "date inven", "survey date", "created at",
         "yearinv", "surveyed", "date releve", "date mesure", "date modified", "inspection date", "last inspected",
         "aufnahmedatum", "opnamedatum", "inspectiedatum", "fecha inventario", "data rilievo", "date inventaire",
         "erfassungsdatum", "last updated", "survey year", "inspected"),
        formats=DATES,
    ),
    "address": Role("house number and street", ("address", "full address", "qaddress", "adresse", "adres", "direccion",
                                                "indirizzo", "anschrift", "street address")),
    "street": Role(
        "the street",
        ("street", "street name", "on street", "road", "lieu adresse", "rue", "voie", "strasse", "straat", "nom rue",
         "calle", "via", "strassenname", "straatnaam", "onstreet", "nom voie", "strassen", "road name", "nombre calle",
         "nome via", "nom de rue"),
    ),
    "street_part": Role(
        "a part of the street's name in a column of its own: direction, kind of street, suffix",
        ("street direction", "street type", "street suffix", "street prefix", "st dir", "st type", "type voie"),
        several=True,
    ),
    "number": Role(
        "the house number",
        ("house number", "civic number", "numero", "hausnummer", "huisnummer", "number", "hausnr", "street number",
         "address", "address number", "numero civico", "house no"),
    ),
    "place": Role(
        "where it stands, in the city's words",
        ("site info", "site", "site type", "located in", "domanialite", "park", "place", "plant area",
         "curb loc", "standort", "planting site", "type emplacement", "emplacement", "standplaats", "ubicacion",
         "location type", "growing space", "parkway type", "side", "side type", "ubicazione", "baumumfeld"),
        several=True, unless=("width", "size", "id", "order"),
    ),
    "strip_width": Role(
        "width of the growing space; of two sides the smaller one",
        ("plot size", "strip width", "site width", "planting strip", "pit size", "parkway", "parkway width",
         "parkway size", "plant area", "largeur fosse", "baumscheibe breite"),
        tuple(METRES), unless=("type",),
    ),
    "state": Role(
        "alive, dead, stump or vacant",
        ("status", "condition status", "state", "etat", "zustand", "estado", "stato", "toestand", "tree status"),
    ),
    "condition": Role(
        "how well it is, in the city's words: kept with the tree; dead and stump are told from it",
        ("condition", "health", "tree condition", "vitality", "vitalitat", "zustand", "etat", "etat sanitaire",
         "estado", "conditie", "vitaliteit", "stato", "vigueur", "vigour", "vigor", "condizione", "salud",
         "tree health", "stato vegetativo", "estado sanitario", "schadstufe", "condition rating"),
        several=True,
    ),
    "recommendation": Role(
        "the work that the city's surveyor recommends: kept with the tree",
        ("recommended", "recommendation", "recommended maintenance", "maintenance", "work", "massnahme",
         "massnahmen", "maatregel", "intervention", "preconisation", "recomendacion", "intervento", "travaux",
         "work required", "maintenance need", "pruning", "treatment"),
        several=True,
    ),
    "note": Role(
        "remarks, kept with the tree",
        ("note", "notes", "remarks", "comments", "remarques", "bemerkung", "opmerking", "observations", "comment",
         "bemerkungen", "opmerkingen", "observaciones", "osservazioni", "remarque", "commentaire"),
        several=True,
    ),
    "ignored": Role("not taken over", several=True),
}  # fmt: skip


def told() -> str:
    """Every role with its meaning, units and forms, a line each: for the help of the command."""
    more = {name: ", ".join(role.units or role.formats) for name, role in ROLES.items()}
    lines = (f"    {name:12} {role.meaning}{f' [{more[name]}]' if more[name] else ''}" for name, role in ROLES.items())
    return "\n".join(lines)


SIZES = {
    **dict.fromkeys(("dbh", "dbh_class", "girth", "radius"), CM),
    **dict.fromkeys(("height", "height_class", "crown", "crown_radius", "crown_base", "strip_width"), METRES),
}

# Shapefiles cut field names off after so many letters.
CUT_OFF = 10
_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")
_UNITS = {
    "cm": "cm", "mm": "mm", "m": "m", "in": "in", "inch": "in", "inches": "in", "ft": "ft", "feet": "ft",
    "foot": "ft", "metres": "m", "meters": "m", "metre": "m", "zoll": "in", "pouces": "in", "duim": "in",
    "pulgadas": "in", "pollici": "in", "pieds": "ft", "fuss": "ft", "voet": "ft", "pies": "ft", "piedi": "ft",
    "meter": "m", "metros": "m", "metri": "m", "centimetres": "cm", "centimeters": "cm", "zentimeter": "cm",
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
    if not set(words).isdisjoint(ROLES[role].unless):
        return 0.0
    return max((_likeness(phrase, words) for phrase in ROLES[role].words), default=0.0)


def _likeness(phrase: str, words: list[str]) -> float:
    """1 for exactly this phrase, less within more words, for its beginning (headings are cut off) or in a compound."""
    size, whole = len(phrase.split()), "".join(words)
    if any(" ".join(words[at : at + size]) == phrase for at in range(len(words) - size + 1)):
        return 0.4 + 0.6 * size / len(words)
    closed = phrase.replace(" ", "")
    if whole == closed or (len(whole) >= CUT_OFF - 2 and closed.startswith(whole)):
        return 0.9
    last = words[-1] if words else ""
    # "Exact_Heig": field names of ten letters end in the middle of a word.
    if CUT_OFF - 1 <= len(whole) <= CUT_OFF and len(last) >= 4 and size == 1 and phrase.startswith(last):
        return 0.4 + 0.6 / len(words)
    if size == 1 and (len(phrase) >= 5 or phrase in ("dbh", "bhd")) and any(_compound(word, phrase) for word in words):
        return 0.6
    return 0.0


def _compound(word: str, phrase: str) -> bool:
    return word.endswith(phrase) and len(word) > len(phrase)


def unit_in(heading: str) -> str:
    """The unit that a heading names, or empty.

    >>> unit_in("HAUTEUR (m)"), unit_in("dbh")
    ('m', '')
    """
    words = heading_words(heading).split()
    found = [_UNITS[word] for word in words[1:] if word in _UNITS]
    return found[-1] if found else ""
