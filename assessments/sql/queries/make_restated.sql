-- Where a recompute puts what it computed, of this session alone. Days since 1970-01-01; the least integer: none.
CREATE TEMP TABLE restated (
  tree_id bigint, risk smallint, harm real, act_by integer, inspect_by integer,
  by_interval integer, by_decay integer, by_establishment integer, by_check integer,
  by_decay_growth integer,
  rule smallint, unseen_weight real, last_seen integer, planted integer
) ON COMMIT DELETE ROWS;
-- The same with dates, in the order of the columns of `priority`.
CREATE TEMP VIEW restated_rows AS
SELECT tree_id, risk, harm::float8 AS harm,
  DATE '1970-01-01' + nullif(act_by, (-2147483648)::int) AS act_by,
  DATE '1970-01-01' + nullif(inspect_by, (-2147483648)::int) AS inspect_by,
  DATE '1970-01-01' + nullif(by_interval, (-2147483648)::int) AS by_interval,
  DATE '1970-01-01' + nullif(by_decay, (-2147483648)::int) AS by_decay,
  DATE '1970-01-01' + nullif(by_establishment, (-2147483648)::int) AS by_establishment,
  DATE '1970-01-01' + nullif(by_check, (-2147483648)::int) AS by_check,
  DATE '1970-01-01' + nullif(by_decay_growth, (-2147483648)::int) AS by_decay_growth,
  rule, unseen_weight::float8 AS unseen_weight,
  DATE '1970-01-01' + nullif(last_seen, (-2147483648)::int) AS last_seen,
  DATE '1970-01-01' + nullif(planted, (-2147483648)::int) AS planted
FROM restated
