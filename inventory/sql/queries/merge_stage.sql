-- Where a merge puts a block of what it changes, before one UPDATE writes it.
CREATE TEMPORARY TABLE IF NOT EXISTS merge_tree (
  id bigint PRIMARY KEY, set_key boolean, external_key text, set_species boolean, species_id bigint, species_text text,
  set_planted boolean, planted_from date, planted_to date, set_state boolean, state text, set_note boolean, note text,
  set_place boolean, lon float8, lat float8, zone_id bigint
) ON COMMIT DROP;
CREATE TEMPORARY TABLE IF NOT EXISTS merge_site (
  id bigint PRIMARY KEY, set_key boolean, external_key text, set_place boolean, was_lon float8, was_lat float8,
  lon float8, lat float8, zone_id bigint, set_street boolean, street text, set_number boolean, house_number text,
  set_where boolean, place text, set_space boolean, growing_space text, set_strip boolean, strip_width_m float8
) ON COMMIT DROP;
TRUNCATE merge_tree, merge_site
