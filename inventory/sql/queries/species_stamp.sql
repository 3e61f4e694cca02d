-- A sum that differs once any name of the species tables does.
SELECT
  (SELECT concat(count(*), ' ', coalesce(sum(hashtextextended(concat(id, ' ', botanical_name), 0)), 0)) FROM species),
  (SELECT concat(count(*), ' ', coalesce(sum(hashtextextended(concat_ws(' ', id, species_id, kind, name), 0)), 0))
   FROM species_name)
