-- The staged trees as the file has them, field by field where it is taken.
UPDATE tree t SET
  external_key = CASE WHEN m.set_key THEN m.external_key ELSE t.external_key END,
  species_id = CASE WHEN m.set_species THEN m.species_id ELSE t.species_id END,
  species_text = CASE WHEN m.set_species THEN m.species_text ELSE t.species_text END,
  planted_from = CASE WHEN m.set_planted THEN m.planted_from ELSE t.planted_from END,
  planted_to = CASE WHEN m.set_planted THEN m.planted_to ELSE t.planted_to END,
  state = CASE WHEN m.set_state THEN m.state ELSE t.state END,
  note = CASE WHEN m.set_note THEN m.note ELSE t.note END,
  location = CASE WHEN m.set_place THEN ST_SetSRID(ST_MakePoint(m.lon, m.lat), 4326) ELSE t.location END,
  zone_id = CASE WHEN m.set_place THEN m.zone_id ELSE t.zone_id END
FROM merge_tree m WHERE t.id = m.id;
TRUNCATE merge_tree
