-- The two roles, made or brought up to date: `owner` owns and migrates, `app` runs the service and owns nothing.
-- psql variable createdb: CREATEDB in the test cluster, where the owner makes the test databases.
\getenv owner_password OWNER_PASSWORD
\getenv app_password APP_PASSWORD
SELECT format('CREATE ROLE %I', name)
FROM (VALUES ('owner'), ('app')) AS role (name)
WHERE NOT EXISTS (SELECT FROM pg_roles WHERE rolname = role.name)
\gexec
ALTER ROLE owner LOGIN NOSUPERUSER NOCREATEROLE :createdb PASSWORD :'owner_password';
ALTER ROLE app LOGIN NOSUPERUSER NOCREATEROLE NOCREATEDB PASSWORD :'app_password';
