-- What every database of the service starts from: the extensions, and a public schema in which only the owner creates.
CREATE EXTENSION postgis;
CREATE EXTENSION pg_trgm;
CREATE EXTENSION btree_gist;
ALTER SCHEMA public OWNER TO owner;
REVOKE CREATE ON SCHEMA public FROM PUBLIC;
