-- Of each reason of a load: the first few rows and what was said of them.
SELECT reason, line, detail FROM (
  SELECT said.reason, v.line, said.detail, row_number() OVER (PARTITION BY said.reason ORDER BY v.line) AS place
  FROM intake_verdict v CROSS JOIN LATERAL unnest(v.reasons, v.details) AS said (reason, detail)
  WHERE v.load_id = %(load)s
) AS numbered
WHERE place <= %(most)s
ORDER BY reason, line
