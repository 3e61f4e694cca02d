-- Attributes a tracked write to the act set by history.acting(); refuses it where none is set.
-- Replaces the library's function of this name: that one needs UPDATE on the context table and lets
-- unattributed writes pass with NULL.
CREATE OR REPLACE FUNCTION _pgh_attach_context() RETURNS uuid
LANGUAGE plpgsql VOLATILE AS $$
DECLARE
  act uuid := nullif(current_setting('pghistory.context_id', true), '')::uuid;
BEGIN
  IF act IS NULL THEN
    RAISE EXCEPTION 'a tracked row was written outside history.acting()'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  INSERT INTO pghistory_context (id, metadata, created_at, updated_at)
  VALUES (act, current_setting('pghistory.context_metadata')::jsonb, now(), now())
  ON CONFLICT (id) DO NOTHING;
  RETURN act;
END $$;
