-- The other names of the catalogue's file; a row that is the same already is not touched.
INSERT INTO species_name (species_id, name, language, kind)
SELECT s.id, g.name, g.language, g.kind
FROM unnest(%(botanical_name)s::text[], %(name)s::text[], %(language)s::text[], %(kind)s::text[])
  AS g (botanical_name, name, language, kind)
JOIN species s ON s.botanical_name = g.botanical_name
ON CONFLICT (name, language) DO UPDATE SET species_id = excluded.species_id, kind = excluded.kind
WHERE (species_name.species_id, species_name.kind) IS DISTINCT FROM (excluded.species_id, excluded.kind)
