-- The taxa of the catalogue's file; a row that is the same already is not touched.
INSERT INTO species (
  botanical_name, rank, genus, family, common_en, mature_height_m, mature_crown_m, max_dbh_cm,
  walls_off_decay, root_tolerance, palm, evergreen
)
SELECT * FROM unnest(
  %(botanical_name)s::text[], %(rank)s::text[], %(genus)s::text[], %(family)s::text[], %(common_en)s::text[],
  %(mature_height_m)s::float8[], %(mature_crown_m)s::float8[], %(max_dbh_cm)s::float8[],
  %(walls_off_decay)s::text[], %(root_tolerance)s::text[], %(palm)s::bool[], %(evergreen)s::bool[]
)
ON CONFLICT (botanical_name) DO UPDATE SET
  rank = excluded.rank, genus = excluded.genus, family = excluded.family, common_en = excluded.common_en,
  mature_height_m = excluded.mature_height_m, mature_crown_m = excluded.mature_crown_m,
  max_dbh_cm = excluded.max_dbh_cm, walls_off_decay = excluded.walls_off_decay,
  root_tolerance = excluded.root_tolerance, palm = excluded.palm, evergreen = excluded.evergreen
WHERE (
  species.rank, species.genus, species.family, species.common_en, species.mature_height_m,
  species.mature_crown_m, species.max_dbh_cm, species.walls_off_decay, species.root_tolerance,
  species.palm, species.evergreen
) IS DISTINCT FROM (
  excluded.rank, excluded.genus, excluded.family, excluded.common_en, excluded.mature_height_m,
  excluded.mature_crown_m, excluded.max_dbh_cm, excluded.walls_off_decay, excluded.root_tolerance,
  excluded.palm, excluded.evergreen
)
