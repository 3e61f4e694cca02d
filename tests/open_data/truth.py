"""What each column of the real inventories is: role and unit or form, by SOURCES.md and by eye; all others are nothing.

`MISSED` holds what the survey is known to get wrong, so that a change of either kind is seen.
"""

TRUTH: dict[str, str] = {
    "amsterdam_ijburg_trees.csv": """
        OBJECTNUMMER key; Soortnaam_NL common; Soortnaam_WTS species; Boomhoogte height_class m; Plantjaar planted year;
        LNG longitude; LAT latitude""",
    "amsterdam_wallengebied_trees.csv": """
        OBJECTNUMMER key; Soortnaam_NL common; Soortnaam_WTS species; Boomhoogte height_class m; Plantjaar planted year;
        LNG longitude; LAT latitude""",
    "artesia_ca_trees.geojson": """
        INVENTORYI key; ADDRESS number; STREET street; SIDE place; SPECIESID code; BOTANICALN species; species common;
        DBH dbh_class in; height height_class ft; RECOMMENDE recommendation; PARKWAY strip_width ft;
        DATEMODIFI measured mdy; ACTUALDBH dbh in; geometry point lon_lat""",
    "bell_gardens_ca_trees_epsg2229.geojson": """
        INVENTORYI key; ADDRESS number; STREET street; SIDE place; BOTANICALN species; species common; DBH dbh_class in;
        height height_class ft; MAINTENANC recommendation; PARKWAY strip_width ft; DATE measured ymd;
        geometry point lon_lat""",
    "caen_trees_lambert93.geojson": "CODE_VEGET code; NOM_RUE street; geometry point lon_lat",
    "cornell_campus_trees_2019.csv": """
        longitude longitude; latitude latitude; treeid key; botanic species; common common; yearinv measured year;
        dbh dbh in""",
    "cornell_campus_trees_2022.csv": """
        longitude longitude; latitude latitude; treeid key; botanic species; common common; yearinv measured year;
        dbh dbh in""",
    "malibu_ca_trees.geojson": """
        Exact_Heig height ft; Condition condition; Botanical_ species; species common; geometry point lon_lat""",
    "melbourne_fitzroy_gardens_1200.csv": """
        Latitude latitude; Longitude longitude; Genus genus; Date.Planted planted dmy; Year.Planted planted_year;
        Diameter.Breast.Height dbh cm; Located.in place""",
    "nyc_2015_census_10189_noheader.csv": """
        column 1 measured mdy; column 2 key; column 4 point lon_lat; column 5 dbh in; column 7 place; column 8 state;
        column 9 condition; column 10 species; column 11 common; column 26 address""",
    "nyc_2015_census_500.csv": """
        created_at measured mdy; tree_id key; tree_dbh dbh in; curb_loc place; status state; health condition;
        spc_latin species; spc_common common; address address; latitude latitude; longitude longitude""",
    "paris_les_arbres_2948.csv": """
        IDBASE key; DOMANIALITE place; COMPLEMENT ADRESSE number; LIEU / ADRESSE street; LIBELLE FRANCAIS common;
        GENRE genus; ESPECE epithet; VARIETE OUCULTIVAR cultivar; CIRCONFERENCE (cm) girth cm; HAUTEUR (m) height m;
        STADE DE DEVELOPPEMENT age; geo_point_2d point lat_lon""",
    "pasadena_ca_trees_1013.geojson": """
        OBJECTID key; Common_Name common; Genus genus; Species epithet; House_Number number;
        Street_Direction street_part; Street_Name street; Street_Type street_part; Trunk_Diameter dbh in;
        Longitude longitude; Latitude latitude""",
    "portland_street_trees_676.csv": """
        the_geom point lon_lat; objectid key; date_inven measured ymd; species code; dbh dbh in; condition condition;
        site_type place; site_width strip_width ft; address address; scientific species; common common""",
    "san_francisco_mangled_first1000.csv": """
        TreeID key; qSpecies species; qAddress address; DBH dbh in; PlotSize strip_width ft; Latitude latitude;
        Longitude longitude""",
    "san_francisco_street_trees_10000.csv": """
        tree_id key; species species; address address; site_info place; date planted ymd; dbh dbh in;
        plot_size strip_width ft; latitude latitude; longitude longitude""",
    "vancouver_street_trees_5000.csv": """
        std_street street; species_name epithet; date_planted planted ymd; diameter dbh in; genus_name genus;
        civic_number number; plant_area strip_width ft; tree_id key; common_name common;
        height_range_id height_class ft; cultivar_name cultivar; latitude latitude; longitude longitude""",
    "walnut_ca_trees.geojson": """
        Address number; Street street; SideType place; species common; BotanicalN species; DBH dbh_class in;
        height height_class ft; lat latitude; lon longitude""",
}
# File -> columns that the survey takes for something else.
MISSED: dict[str, set[str]] = {}
