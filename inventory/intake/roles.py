"""What a column of a city's file can be: the roles, their units, and the words by which headings name them."""

from dataclasses import dataclass

CM = {"cm": 1.0, "mm": 0.1, "m": 100.0, "in": 2.54, "ft": 30.48}
METRES = {"m": 1.0, "cm": 0.01, "ft": 0.3048, "in": 0.0254}
# Days as written in some order; bare years; a spreadsheet's number of days; seconds or milliseconds since 1970.
DATES = ("ymd", "dmy", "mdy", "year", "serial", "epoch", "epoch_ms")
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
        ("num arbre", "cod arbol", "cod albero", "numero arbol", "numero albero", "boom id", "baum id", "tree ref",
         "asset ref", "asset number", "tag", "tag number", "tree tag", "codi", "identifiant", "kenmerk",
         "inventarisnummer", "lfd nr", "cle", "arbre id", "etiqueta", "cartellino", "tree id", "treeid", "tree no",
         "tree number", "idbase", "id", "key", "objectid", "baumnummer", "baumnr", "baum nr", "boomnummer",
         "numero arbre", "id arbre", "id arbol", "id albero", "inventory id", "asset id", "fid", "gid",
         "objectnummer", "objekt id", "unique id", "plant id", "kennung", "codice", "matricule", "inventarnummer",),
    ),
    "latitude": Role(
        "degrees north",
        ("latitude", "lat", "breitengrad", "latitud", "latitudine", "breite", "breedtegraad", "y lat", "geo lat",),
    ),
    "longitude": Role(
        "degrees east",
        ("longitude", "long", "lon", "lng", "langengrad", "longitud", "longitudine", "lange", "lengtegraad", "x lon",
         "geo lon",),
    ),
    "northing": Role(
        "metres or feet north, in the file's coordinate reference system",
        ("y", "northing", "north", "hochwert", "nordwert", "nord", "y coord", "coord y", "ycoord", "y coordinate",
         "point y", "coordy", "coorx y", "y wert", "nord ing", "y coordinaat", "coordonnee y", "utm n",),
    ),
    "easting": Role(
        "metres or feet east, in the file's coordinate reference system",
        ("x", "easting", "east", "rechtswert", "ostwert", "ost", "x coord", "coord x", "xcoord", "x coordinate",
         "point x", "coordx", "x wert", "x coordinaat", "coordonnee x", "utm e",),
    ),
    "point": Role(
        "both coordinates in one cell",
        ("geo point", "geo point 2d", "the geom", "geom", "geometry", "coordinates", "location", "coordonnees",
         "wkt", "point", "koordinaten", "coordenadas", "coordinate", "geometrie", "shape",),
        formats=ORDERS,
    ),
    "species": Role(
        "the botanical name, alone or with the common name",
        ("species latin", "baumart botanisch", "art botanisch", "art latein", "baumart latein", "nom arbre latin",
         "essence latin", "espece latin", "specie botanica", "especie latin", "nom cientific", "scientific nm",
         "taxon latin", "soort latijn", "soort wetenschappelijk", "botanische naam", "taxonomie",
         "denominazione botanica", "botanische bezeichnung", "species", "botanic", "botanical", "botanical name",
         "scientific", "scientific name", "latin", "latin name", "spc latin", "taxon", "nom scientifique",
         "botanischer name", "soortnaam", "nom latin", "wetenschappelijke naam", "nombre cientifico",
         "nome scientifico", "espece", "baumart", "boomsoort", "gattung art", "essence", "especie", "specie",
         "latijnse naam", "baumart lat", "art bot", "taxon name", "nom botanique", "latijn",),
        unless=("id", "code", "count", "no"),
    ),
    "genus": Role(
        "the genus alone",
        ("gatt", "gattung botanisch", "genre botanique", "genre latin", "genus", "genre", "gattung", "geslacht",
         "genero", "genere", "genus name",),
    ),
    "epithet": Role(
        "the specific epithet alone",
        ("artname", "art epithet", "species epithet", "nom espece", "epithet", "espece", "species", "art", "soort",
         "especie", "specie", "species name",),
    ),
    "code": Role(
        "the city's own code of the species: learned from the names beside it, or from a table of codes",
        ("species code", "spcode", "sp code", "spp code", "species id", "taxon code", "botanical code", "code espece",
         "code essence", "code taxon", "code vegetal", "code veget", "soort code", "soort kort", "boomsoort code",
         "art code", "baumart code", "baumart kurz", "baumart nr", "artschlussel", "codigo especie", "cod especie",
         "codice specie", "cod specie"),
    ),
    "cultivar": Role(
        "the cultivar",
        ("cultivar variety", "kultivar", "var cult", "cultivar", "variety", "variete", "sorte", "cultivar name",
         "variedad", "varieta", "cultivar naam",),
    ),
    "common": Role(
        "the everyday name",
        ("english name", "name english", "baumart deu", "name deutsch", "gebrauchlicher name", "nom usuel",
         "essence francais", "libelle essence", "nombre castellano", "nome italiano", "nederlandse soortnaam",
         "vernacular", "tree name", "denominazione comune", "deutsche bezeichnung", "nom commun francais", "common",
         "common name", "spc common", "libelle francais", "nom commun", "deutscher name", "nom francais",
         "nombre comun", "nome comune", "nederlandse naam", "baumart deutsch", "vernacular name", "nom vernaculaire",
         "baumart dt", "art deutsch", "volksnaam", "nome volgare", "nombre vulgar", "soortnaam nl",),
    ),
    "dbh": Role(
        "diameter of the stem at breast height",
        ("dhp", "diametre hauteur poitrine", "diameter at breast height", "diameter breast", "stamm durchmesser",
         "stamm diameter", "stem diam", "diameter trunk", "diametro normal", "diametro altura pecho",
         "diametro pecho", "diametre arbre", "diameter stam", "diametro a petto d uomo", "stammstarke", "stamdikte",
         "d130", "d1 30", "dbh cm", "dbh", "diameter", "diameter breast height", "trunk diameter", "tree dbh",
         "diametre", "durchmesser", "diam", "stammdurchmesser", "diametro", "stamdiameter", "bhd",
         "brusthohendurchmesser", "stem diameter", "dap", "diametre tronc", "diametro tronco", "diametro fusto",
         "stammdm", "dbh in", "boomdiameter", "diametre du tronc",),
        tuple(CM), unless=NOT_STEM,
    ),
    "dbh_class": Role(
        "class of stem diameters, kept as an interval: ranges, or numbers of classes of ten units",
        ("dbh category", "classe diametre", "rango diametro", "classe di diametro", "clase de diametro",
         "diameter category", "size class", "diameter class", "dbh class", "dbh range", "diametre classe",
         "durchmesserklasse", "diameterklasse", "stamdiameterklasse", "clase diametro", "classe diametro",
         "classe de diametre", "clase diametrica",),
        tuple(CM), CLASSES, unless=NOT_STEM,
    ),
    "girth": Role(
        "girth of the stem at breast height",
        ("stamm umfang", "umfang stamm", "circonference arbre", "circonference fut", "perimetre", "perimetro fuste",
         "circonferenza fusto", "circonferenza tronco", "omtrek stam", "stem girth", "perimeter", "cbh", "cap",
         "stammumfang in 1 m", "girth", "circumference", "circonference", "stammumfang", "umfang", "stamomtrek",
         "omtrek", "circ", "stu", "perimetro", "circonferenza", "circunferencia", "trunk circumference",
         "tour de tronc", "stammumf", "gbh", "circonference tronc", "perimetro tronco", "stammumfg",),
        tuple(CM), unless=NOT_STEM,
    ),
    "radius": Role(
        "radius of the stem at breast height",
        ("stem radius", "trunk radius", "stammradius", "rayon tronc", "stamstraal", "radio tronco", "raggio tronco",),
        tuple(CM), unless=NOT_STEM,
    ),
    "girth_class": Role(
        "class of stem girths, kept as an interval of diameters",
        ("girth class", "girth range", "classe circonference", "classe de circonference", "umfangsklasse",
         "stammumfangsklasse", "omtrekklasse", "stamomtrekklasse", "clase perimetro", "clase de perimetro",
         "classe circonferenza", "classe di circonferenza", "circumference class", "perimetro clase",),
        tuple(CM), CLASSES, unless=NOT_STEM,
    ),
    "height": Role(
        "height of the tree",
        ("height total", "hauteur arbre", "altura arbol", "altura total", "altezza albero", "altezza pianta",
         "altezza totale", "hoogte boom", "baum hohe", "hohe baum", "gesamthohe", "hauteur totale arbre", "h tot",
         "wuchshohe", "height", "tree height", "hauteur", "hohe", "hoehe", "baumhohe", "boomhoogte", "hoogte",
         "altura", "altezza", "baumhoehe", "haut", "alt", "total height", "hauteur totale",),
        tuple(METRES), unless=("base", "dbh", "breast", "sign", "pole", "raised", "clearance", "above", "first"),
    ),
    "height_class": Role(
        "class of heights, kept as an interval: ranges, or numbers of classes of ten units",
        ("classe hauteur", "height category", "hohenstufe", "rango altura", "hauteur classes", "clase de altura",
         "fascia altezza", "classe di altezza", "height class", "height range", "height range id", "hauteur classe",
         "hohenklasse", "hoogteklasse", "boomhoogteklasse", "clase altura", "classe altezza", "classe de hauteur",
         "boomhoogteklasse actueel",),
        tuple(METRES), CLASSES,
    ),
    "crown": Role(
        "width of the crown",
        ("kronen durchmesser", "kronen diameter", "envergure", "largeur houppier", "diametre de la couronne",
         "diametro de copa", "diametro della chioma", "anchura copa", "kroon diameter", "diameter kroon",
         "kronen breite", "diameter crown", "diameter copa", "diameter chioma", "diameter couronne",
         "diameter houppier", "ampiezza chioma", "average crown", "crown", "crown width", "crown diameter", "spread",
         "canopy", "kronendurchmesser", "kroondiameter", "canopy width", "kronenbreite", "diametre couronne",
         "diametre houppier", "diametro copa", "diametro chioma", "kronendurch", "crown spread", "kroonbreedte",
         "largeur couronne", "ancho copa",),
        tuple(METRES), unless=("base", "radius", "condition", "class", "light", "raise", "ratio", "live"),
    ),
    "crown_radius": Role(
        "radius of the crown",
        ("radius crown", "kronen radius", "crown radius", "canopy radius", "kronenradius", "rayon couronne",
         "kroonstraal", "radio copa", "raggio chioma", "rayon houppier",),
        tuple(METRES),
    ),
    "crown_base": Role(
        "height at which the crown begins",
        ("crown base", "crn base", "crown base height", "height to crown", "kronenansatz", "kroonaanzet",
         "base couronne", "hauteur fut", "base copa", "inserzione chioma", "base de la couronne", "canopy base",
         "kronenansatzhohe", "height to live crown", "stem height", "takvrije stam",),
        tuple(METRES),
    ),
    "planted": Role(
        "when it was planted",
        ("planted on", "year of planting", "date of planting", "gepflanzt", "gepflanzt am", "pflanzung", "baujahr",
         "annee de plant", "plante le", "ano plantado", "fecha de plantado", "piantato", "messa a dimora",
         "anno messa a dimora", "jaar van aanplant", "aanplant", "aanplantjaar", "jaar aanplant", "data plantacio",
         "kiemjahr", "fecha siembra", "anno di impianto", "data di impianto", "planted", "plant date",
         "date planted", "planting date", "year planted", "plantation", "planting year", "date plantation",
         "annee plantation", "pflanzjahr", "plantjaar", "fecha plantacion", "pflanzdatum", "plant year",
         "plantdatum", "ano plantacion", "anno impianto", "data impianto", "date de plantation",
         "annee de plantation", "anno piantumazione", "aanlegjaar", "standalter seit", "date planted on",
         "fecha de plantacion",),
        formats=DATES, unless=("by", "removed", "removal", "abattage", "felled", "fallung", "tala", "area", "type"),
    ),
    "planted_year": Role("the year of planting beside a column of days: where they disagree it is not known"),
    "measured": Role(
        "when it was measured",
        ("date of survey", "date of inspection", "date surveyed", "inspection", "last inspection", "erfasst am",
         "kontrolldatum", "datum kontrolle", "letzte kontrolle", "aufgenommen am", "date de releve",
         "dernier releve", "date controle", "date visite", "fecha revision", "fecha de inventario",
         "ultima revision", "data controllo", "ultimo controllo", "data di rilievo", "datum opname",
         "datum inspectie", "inspectie datum", "laatste inspectie", "date diagnostic", "creation date",
         "date updated", "edited", "fecha inspeccion", "collected on", "date collected", "measured",
         "inventory date", "date inventoried", "date inven", "survey date", "created at", "yearinv", "surveyed",
         "date releve", "date mesure", "date modified", "inspection date", "last inspected", "aufnahmedatum",
         "opnamedatum", "inspectiedatum", "fecha inventario", "data rilievo", "date inventaire", "erfassungsdatum",
         "last updated", "survey year", "inspected",),
        formats=DATES,
        unless=("planted", "pflanz", "plantation", "aanplant", "impianto", "plantacion", "removed", "birth"),
    ),
    "address": Role(
        "house number and street",
        ("domicilio", "locatie adres", "addr", "address", "full address", "qaddress", "adresse", "adres",
         "direccion", "indirizzo", "anschrift", "street address",),
    ),
    "street": Role(
        "the street",
        ("nom voirie", "libelle voie", "adresse rue", "via pubblica", "via publica", "strassenbezeichnung",
         "toponimo", "denominazione via", "lage", "indirizzo via", "weg", "street nm", "voirie",
         "nombre via", "street", "street name", "on street", "road", "lieu adresse", "rue", "voie", "strasse",
         "straat", "nom rue", "calle", "via", "strassenname", "straatnaam", "onstreet", "nom voie", "strassen",
         "road name", "nombre calle", "nome via", "nom de rue",),
    ),
    "street_part": Role(
        "a part of the street's name in a column of its own: direction, kind of street, suffix",
        ("street direction", "street type", "street suffix", "street prefix", "st dir", "st type", "type voie",),
        several=True,
    ),
    "number": Role(
        "the house number",
        ("numero voie", "numero rue", "num voie", "haus nummer", "huis nummer", "nr", "building number",
         "numero portal", "portal", "civico", "n civico", "numero de calle", "calle altura", "no civique",
         "house num", "house number", "civic number", "numero", "hausnummer", "huisnummer",
         "number", "hausnr", "street number", "address", "address number", "numero civico", "house no",),
    ),
    "place": Role(
        "where it stands, in the city's words",
        ("location", "land use", "situation", "situacion", "ubicacion arbol", "implantation", "inplanting",
         "type of site", "position", "support", "curb location", "standortart", "tipo di ubicazione", "posizione",
         "typologie", "site info", "site", "site type", "located in", "domanialite", "park", "place", "plant area",
         "curb loc", "standort", "planting site", "type emplacement", "emplacement", "standplaats", "ubicacion",
         "location type", "growing space", "parkway type", "side", "side type", "ubicazione", "baumumfeld",),
        several=True, unless=("width", "size", "id", "order"),
    ),
    "strip_width": Role(
        "width of the growing space; of two sides the smaller one",
        ("ancho acera", "tree lawn width", "boomspiegel breedte", "breite baumscheibe", "strip size", "plot size",
         "strip width", "site width", "planting strip", "pit size", "parkway", "parkway width", "parkway size",
         "plant area", "largeur fosse", "baumscheibe breite",),
        tuple(METRES), unless=("type",),
    ),
    "state": Role(
        "alive, dead, stump or vacant",
        ("tree state", "alive", "presence", "levend", "status", "condition status", "state", "etat", "zustand",
         "estado", "stato", "toestand", "tree status",),
    ),
    "condition": Role(
        "how well it is, in the city's words: kept with the tree; dead and stump are told from it",
        ("zustandsstufe", "vitalitatsstufe", "baumzustand", "gesundheitszustand", "zustandsbewertung",
         "etat general", "etat phytosanitaire", "estado general", "estado fitosanitario", "estado vegetativo",
         "condizioni", "condizione vegetativa", "condizioni vegetative", "stato fitosanitario", "gezondheid",
         "conditie boom", "toestand boom", "sante", "salute", "vigor vegetativo", "vigueur arbre", "condition",
         "health", "tree condition", "vitality", "vitalitat", "zustand", "etat", "etat sanitaire", "estado",
         "conditie", "vitaliteit", "stato", "vigueur", "vigour", "vigor", "condizione", "salud", "tree health",
         "stato vegetativo", "estado sanitario", "schadstufe", "condition rating",),
        several=True,
    ),
    "age": Role(
        "age in years or stage of life, in the city's words: kept with the tree",
        ("age", "age class", "life stage", "maturity", "stage", "tree age", "alter", "altersklasse", "altersstufe",
         "standalter", "baumalter", "entwicklungsstufe", "age arbre", "classe age", "classe d age",
         "stade de developpement", "stade developpement", "stade", "edad", "clase edad", "clase de edad", "eta",
         "classe eta", "classe di eta", "fase di sviluppo", "leeftijd", "leeftijdsklasse", "levensfase",
         "ontwikkelingsfase", "altersphase", "estado de desarrollo", "fase desarrollo", "stadio di sviluppo",),
        several=True, unless=("expectancy", "remaining", "erwartung", "restant"),
    ),
    "recommendation": Role(
        "the work that the city's surveyor recommends: kept with the tree",
        ("work recommended", "work type", "required work", "action", "proposed work", "task", "pflegemassnahme",
         "pflegemassnahmen", "empfehlung", "travaux a faire", "preconisations", "intervention prevue",
         "type intervention", "actuacion", "actuacion propuesta", "trabajo recomendado", "tratamiento", "interventi",
         "intervento consigliato", "lavori", "lavori previsti", "maatregelen", "voorgestelde maatregel", "advies",
         "prescription", "recomendaciones", "management", "recommended", "recommendation", "recommended maintenance",
         "maintenance", "work", "massnahme", "massnahmen", "maatregel", "intervention", "preconisation",
         "recomendacion", "intervento", "travaux", "work required", "maintenance need", "pruning", "treatment",),
        several=True,
    ),
    "note": Role(
        "remarks, kept with the tree",
        ("nota", "notas", "note libere", "anmerkung", "anmerkungen", "info", "aantekening", "hinweis", "note",
         "notes", "remarks", "comments", "remarques", "bemerkung", "opmerking", "observations", "comment",
         "bemerkungen", "opmerkingen", "observaciones", "osservazioni", "remarque", "commentaire",),
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
    **dict.fromkeys(("dbh", "dbh_class", "girth", "girth_class", "radius"), CM),
    **dict.fromkeys(("height", "height_class", "crown", "crown_radius", "crown_base", "strip_width"), METRES),
}
