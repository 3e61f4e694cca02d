"""What invented cities of six languages call their columns and write in them: plain headings, and held-out ones.

`PLAIN` are headings in full. `HELD` are abbreviations, odd orders and slips that were written down before the intake
was tuned and that no table of the intake was made from: how many of them are understood is measured, not tuned.
"""

Words = dict[str, tuple[str, ...]]
PLAIN: dict[str, Words] = {
    "en": {
        "key": ("tree_id", "Tree No"), "species": ("Botanical Name",), "common": ("Common Name",),
        "dbh": ("DBH", "Trunk Diameter"), "girth": ("Girth",), "height": ("Height",), "crown": ("Crown Spread",),
        "planted": ("Date Planted",), "measured": ("Survey Date",), "street": ("Street",),
        "number": ("House Number",), "condition": ("Condition",), "recommendation": ("Recommended Work",),
        "latitude": ("Latitude",), "longitude": ("Longitude",),
    },
    "de": {
        "key": ("Baumnummer",), "species": ("Botanischer Name",), "common": ("Deutscher Name",),
        "dbh": ("Stammdurchmesser", "BHD"), "girth": ("Stammumfang",), "height": ("Baumhöhe",),
        "crown": ("Kronendurchmesser",), "planted": ("Pflanzjahr",), "measured": ("Aufnahmedatum",),
        "street": ("Straße",), "number": ("Hausnummer",), "condition": ("Vitalität",),
        "recommendation": ("Maßnahme",), "latitude": ("Breitengrad",), "longitude": ("Längengrad",),
    },
    "fr": {
        "key": ("id_arbre",), "species": ("Nom scientifique",), "common": ("Nom français",),
        "dbh": ("Diamètre du tronc",), "girth": ("Circonférence",), "height": ("Hauteur",),
        "crown": ("Diamètre couronne",), "planted": ("Date de plantation",), "measured": ("Date relevé",),
        "street": ("Rue",), "number": ("Numéro",), "condition": ("État sanitaire",),
        "recommendation": ("Préconisation",), "latitude": ("Latitude",), "longitude": ("Longitude",),
    },
    "es": {
        "key": ("id_arbol",), "species": ("Nombre científico",), "common": ("Nombre común",),
        "dbh": ("Diámetro",), "girth": ("Perímetro",), "height": ("Altura",), "crown": ("Diámetro copa",),
        "planted": ("Fecha plantación",), "measured": ("Fecha inventario",), "street": ("Calle",),
        "number": ("Número",), "condition": ("Estado sanitario",), "recommendation": ("Recomendación",),
        "latitude": ("Latitud",), "longitude": ("Longitud",),
    },
    "it": {
        "key": ("id albero",), "species": ("Nome scientifico",), "common": ("Nome comune",),
        "dbh": ("Diametro fusto",), "girth": ("Circonferenza",), "height": ("Altezza",),
        "crown": ("Diametro chioma",), "planted": ("Data impianto",), "measured": ("Data rilievo",),
        "street": ("Via",), "number": ("Numero civico",), "condition": ("Condizione",),
        "recommendation": ("Intervento",), "latitude": ("Latitudine",), "longitude": ("Longitudine",),
    },
    "nl": {
        "key": ("Boomnummer",), "species": ("Wetenschappelijke naam",), "common": ("Nederlandse naam",),
        "dbh": ("Stamdiameter",), "girth": ("Stamomtrek",), "height": ("Boomhoogte",),
        "crown": ("Kroondiameter",), "planted": ("Plantjaar",), "measured": ("Opnamedatum",),
        "street": ("Straat",), "number": ("Huisnummer",), "condition": ("Conditie",),
        "recommendation": ("Maatregel",), "latitude": ("Breedtegraad",), "longitude": ("Lengtegraad",),
    },
}  # fmt: skip
HELD: dict[str, Words] = {
    "en": {
        "key": ("TreeNr", "asset_ref"), "species": ("Latin_Nm", "Scientif_Name"),
        "common": ("Comon Name", "vernacular"), "dbh": ("TrnkDiam", "Diametr", "stem_dia"),
        "girth": ("Stem Girth at 1.3 m", "Trunk Circumf"), "height": ("Hght", "Tree Ht", "Heigth"),
        "crown": ("CrwnSprd", "Canopy Diam"), "planted": ("Plntd_On", "Yr_Planted"),
        "measured": ("Insp_Dt", "Date of Survey"), "street": ("StrName", "Road_Nm"),
        "number": ("HouseNo", "Bldg_Num"), "condition": ("Conditn", "Cond"),
        "recommendation": ("Recommend.", "Work Req"), "latitude": ("Lattitude", "y_lat"),
        "longitude": ("Longtitude", "x_lon"),
    },
    "de": {
        "key": ("Baum-Nr.", "lfd_Baumnr"), "species": ("Bot. Name", "BaumartLatein"),
        "common": ("dt. Name", "Baumart_deu"), "dbh": ("Stammdurchm.", "Stamm-Ø"),
        "girth": ("StammU", "St.-Umfang"), "height": ("Höhe ca.", "BaumH"), "crown": ("Kronen-Ø", "KronDurchm"),
        "planted": ("Pflanzj.", "gepflanzt am"), "measured": ("erfasst am", "Datum_Kontrolle"),
        "street": ("Str.", "Strassenbez"), "number": ("Haus-Nr.", "HsNr"),
        "condition": ("Vital.stufe", "Baumzustand"), "recommendation": ("Massn.", "Pflegemaßnahmen"),
        "latitude": ("geogr. Breite",), "longitude": ("geogr. Länge",),
    },
    "fr": {
        "key": ("N° arbre", "num_arb"), "species": ("nom_sci", "Nom latin (espèce)"),
        "common": ("nom_fr", "Libellé essence"), "dbh": ("diam_tronc", "Ø tronc"),
        "girth": ("circonf", "Circ. à 1m"), "height": ("haut_arbre", "Ht totale"),
        "crown": ("diam_houpp", "envergure"), "planted": ("dt_plant", "An. plantation"),
        "measured": ("date_rel", "dernier relevé"), "street": ("nom_voirie", "Libellé voie"),
        "number": ("num_voie", "N° rue"), "condition": ("etat_sanit", "Vigueur arbre"),
        "recommendation": ("Préco travaux", "interv_prevue"), "latitude": ("lat_wgs84",), "longitude": ("lon_wgs84",),
    },
    "es": {
        "key": ("Nº árbol", "cod_arbol"), "species": ("nom_cientif", "Especie (latín)"),
        "common": ("nom_comun", "Nombre vulg."), "dbh": ("diam_tronco", "Diam. normal"),
        "girth": ("perim_tronco", "Circunf."), "height": ("alt_arbol", "Alt. total"), "crown": ("diam_copa", "Ø copa"),
        "planted": ("f_plantacion", "Año plant."), "measured": ("f_invent", "Últ. revisión"),
        "street": ("nom_calle", "Vía pública"), "number": ("nº", "num_portal"),
        "condition": ("est_sanit", "Estado fitosan."), "recommendation": ("Actuación prop.", "trabajo_rec"),
        "latitude": ("latit",), "longitude": ("longit",),
    },
    "it": {
        "key": ("cod_albero", "N. pianta"), "species": ("nome_scient", "Specie botanica"),
        "common": ("nome_com", "nome italiano"), "dbh": ("diam_fusto", "Diam. tronco"),
        "girth": ("circ_fusto", "Circonf."), "height": ("alt_pianta", "H (m)"), "crown": ("diam_chioma", "Ø chioma"),
        "planted": ("anno_imp", "messa a dimora"), "measured": ("dt_rilievo", "ultimo controllo"),
        "street": ("nome_via", "denom. via"), "number": ("n_civ", "Civico"),
        "condition": ("stato_veg", "Condiz. vegetativa"), "recommendation": ("Interv. consigliato", "lavori_prev"),
        "latitude": ("latitud.",), "longitude": ("longitud.",),
    },
    "nl": {
        "key": ("boomnr", "Boom-ID"), "species": ("Wetensch. naam", "Latijn_naam"), "common": ("NL naam", "Ned_naam"),
        "dbh": ("stamdiam", "Diam. stam"), "girth": ("omtrek_stam", "stamomtr"), "height": ("hoogte_boom", "boomh"),
        "crown": ("kroondiam", "Kroonbr."), "planted": ("plantjr", "Jaar van aanplant"),
        "measured": ("datum_opname", "Insp.datum"), "street": ("straatnm", "Straatnaam/plein"),
        "number": ("huisnr", "nr"), "condition": ("cond_boom", "Vitaliteitsklasse"),
        "recommendation": ("maatr", "Voorgest. maatregel"), "latitude": ("breedtegr",), "longitude": ("lengtegr",),
    },
}  # fmt: skip
# Good, fair, poor, dead; and prune, remove, inspect, nothing.
CONDITIONS = {
    "en": ("Good", "Fair", "Poor", "Dead"), "de": ("vital", "geschwächt", "stark geschädigt", "abgestorben"),
    "fr": ("Bon", "Moyen", "Mauvais", "Mort"), "es": ("Bueno", "Regular", "Malo", "Muerto"),
    "it": ("Buono", "Discreto", "Scadente", "Morto"), "nl": ("Goed", "Redelijk", "Slecht", "Dood"),
}  # fmt: skip
WORKS = {
    "en": ("Crown lift", "Fell", "Monitor annually", ""),
    "de": ("Lichtraumprofil schneiden", "Fällung", "Kontrolle", ""),
    "fr": ("Taille douce", "Abattage", "Surveillance", ""), "es": ("Poda de limpieza", "Tala", "Vigilancia", ""),
    "it": ("Potatura di rimonda", "Abbattimento", "Monitoraggio", ""),
    "nl": ("Opkronen", "Vellen", "Jaarlijkse controle", ""),
}  # fmt: skip
STREETS = {
    "en": ("Mill Lane", "Station Road", "Beacon Street", "The Green"),
    "de": ("Lindenstraße", "Am Markt", "Mühlenweg", "Hafengasse"),
    "fr": ("Rue du Moulin", "Avenue de la Gare", "Place du Marché", "Quai Nord"),
    "es": ("Calle Mayor", "Avenida del Puerto", "Plaza Nueva", "Paseo del Río"),
    "it": ("Via Roma", "Corso Italia", "Piazza Nuova", "Viale dei Tigli"),
    "nl": ("Molenweg", "Stationsstraat", "Lindelaan", "Grote Markt"),
}  # fmt: skip
MONTHS = {
    "en": "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec", "de": "Jan Feb Mär Apr Mai Jun Jul Aug Sep Okt Nov Dez",
    "fr": "janv févr mars avr mai juin juil août sept oct nov déc",
    "es": "ene feb mar abr may jun jul ago sep oct nov dic", "it": "gen feb mar apr mag giu lug ago set ott nov dic",
    "nl": "jan feb mrt apr mei jun jul aug sep okt nov dec",
}  # fmt: skip
TREES = (
    ("Tilia cordata", "Small-leaved lime", "Winterlinde", "Tilleul à petites feuilles", "Tilo", "Tiglio",
     "Winterlinde"),
    ("Acer platanoides", "Norway maple", "Spitzahorn", "Érable plane", "Arce real", "Acero riccio", "Noorse esdoorn"),
    ("Quercus robur", "English oak", "Stieleiche", "Chêne pédonculé", "Roble", "Farnia", "Zomereik"),
    ("Platanus × hispanica", "London plane", "Platane", "Platane", "Plátano", "Platano", "Gewone plataan"),
    ("Aesculus hippocastanum", "Horse chestnut", "Rosskastanie", "Marronnier", "Castaño de Indias", "Ippocastano",
     "Paardenkastanje"),
    ("Betula pendula", "Silver birch", "Hängebirke", "Bouleau", "Abedul", "Betulla", "Ruwe berk"),
    ("Fraxinus excelsior", "Ash", "Esche", "Frêne", "Fresno", "Frassino", "Es"),
    ("Carpinus betulus", "Hornbeam", "Hainbuche", "Charme", "Carpe", "Carpino", "Haagbeuk"),
    ("Prunus avium", "Wild cherry", "Vogelkirsche", "Merisier", "Cerezo", "Ciliegio", "Zoete kers"),
    ("Robinia pseudoacacia", "Robinia", "Robinie", "Robinier", "Robinia", "Robinia", "Robinia"),
    ("Ginkgo biloba", "Ginkgo", "Ginkgo", "Ginkgo", "Ginkgo", "Ginkgo", "Ginkgo"),
    ("Fagus sylvatica", "Beech", "Rotbuche", "Hêtre", "Haya", "Faggio", "Beuk"),
)  # fmt: skip
LANGUAGES = ("en", "de", "fr", "es", "it", "nl")
