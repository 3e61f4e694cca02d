# shellcheck shell=bash
# The private PostgreSQL cluster: a Unix socket in a private folder and nothing else, passwords (scram) for the two
# roles, the operating system's word (peer) for the superuser. Debian's own cluster is never touched.

PG_MAJOR=15
PG_BIN=/usr/lib/postgresql/$PG_MAJOR/bin

as_postgres() { # COMMAND...
  (
    cd / # the caller's folder may be closed to the user
    export HOME=/
    exec_as postgres "$@"
  )
}

superuser_sql() { as_postgres "$PG_BIN/psql" -X -q -v ON_ERROR_STOP=1 -h "$SOCKETS/postgres" -U postgres "$@"; }

postgres_is_private() { [[ $(url_host "$(setting DATABASE_URL)") == "$SOCKETS/postgres" ]]; }

postgres_up() { # [test]: "test" trades safety after a crash for speed
  make_cluster
  write_postgres_conf "${1:-}"
  start_postgres
  set_up_roles "${1:-}"
  set_up_template
  if [[ ${1:-} != test ]]; then set_up_database; fi
  note "$(postgres_version), socket in $SOCKETS/postgres"
}

postgres_version() { superuser_sql -d postgres -Atc "SELECT 'PostgreSQL ' || split_part(version(), ' ', 2)"; }

make_cluster() { # under a name of its own until it is whole: a killed initdb leaves no half cluster behind
  if [[ -e $PGDATA_DIR/PG_VERSION ]]; then
    [[ $(<"$PGDATA_DIR/PG_VERSION") == "$PG_MAJOR" ]] ||
      fail "$PGDATA_DIR was made by PostgreSQL $(<"$PGDATA_DIR/PG_VERSION"), not $PG_MAJOR: dump it with that version"
    return
  fi
  need_space "$STATE" 500
  local new="$PGDATA_DIR.new"
  rm -rf "$new" "$STATE/prepared"
  make_folder "$new" 700 postgres
  as_postgres "$PG_BIN/initdb" -D "$new" -U postgres --locale=C.UTF-8 -E UTF8 --auth=scram-sha-256 \
    --auth-local=peer --no-sync --no-instructions
  write_access_rules "$new"
  printf "include = 'boleward.conf'\n" >>"$new/postgresql.conf"
  sync -f "$new"
  mv "$new" "$PGDATA_DIR"
}

write_access_rules() { # PGDATA: the superuser by peer (and so with no password to keep), all others by scram
  cat >"$1/pg_hba.conf" <<'RULES'
# TYPE  DATABASE  USER      METHOD
local   all       postgres  peer map=cluster
local   all       all       scram-sha-256
RULES
  printf '# MAP  SYSTEM-USER  PG-USER\ncluster  root  postgres\ncluster  "%s"  postgres\n' \
    "$(as_postgres id -nu)" >"$1/pg_ident.conf"
}

memory_mb() { # of the machine, or of the container where that is less
  local total limit
  total=$(awk '/^MemTotal/ { print int($2 / 1024) }' /proc/meminfo)
  limit=$(cat /sys/fs/cgroup/memory.max 2>/dev/null || true)
  if [[ $limit =~ ^[0-9]+$ ]] && ((limit / 1048576 < total)); then total=$((limit / 1048576)); fi
  printf '%s' "$total"
}

between() { # LOW VALUE HIGH
  if (($2 < $1)); then printf '%s' "$1"; elif (($2 > $3)); then printf '%s' "$3"; else printf '%s' "$2"; fi
}

postgres_conf() { # [test]
  local memory
  memory=$(memory_mb)
  cat <<CONF
# Written by deploy/up at each start; settings of your own belong in postgresql.conf below its last include.
listen_addresses = ''
unix_socket_directories = '$SOCKETS/postgres'
port = 5432
max_connections = 100
password_encryption = 'scram-sha-256'
shared_buffers = $(between 64 $((memory / 8)) "$([[ ${1:-} == test ]] && echo 512 || echo 2048)")MB
effective_cache_size = $(between 128 $((memory / 2)) 16384)MB
maintenance_work_mem = $(between 32 $((memory / 32)) 512)MB
work_mem = $(between 4 $((memory / 512)) 32)MB
# In a container /dev/shm is often 64 MB, and a user's segments there vanish when that user logs out.
dynamic_shared_memory_type = mmap
# Compiling plans costs more than it saves on statements of milliseconds.
jit = off
random_page_cost = 1.1
max_wal_size = 4GB
checkpoint_timeout = 15min
wal_compression = on
timezone = 'UTC'
log_timezone = 'UTC'
log_line_prefix = '%m [%p] %u@%d '
log_checkpoints = off
CONF
  if [[ ${1:-} == test ]]; then
    printf 'fsync = off\nsynchronous_commit = off\nfull_page_writes = off\nwal_level = minimal\nmax_wal_senders = 0\n'
  fi
}

write_postgres_conf() { # [test]
  local conf="$PGDATA_DIR/boleward.conf" wanted
  wanted=$(postgres_conf "${1:-}")
  if [[ -e $conf && $(<"$conf") == "$wanted" ]]; then return; fi
  printf '%s\n' "$wanted" >"$conf"
  if as_root; then chown postgres: "$conf"; fi
  stop_postgres # a changed setting needs a start
}

postgres_pid() { # prints the pid where our server runs: a server's working folder is its data folder
  local pid
  read -r pid 2>/dev/null <"$PGDATA_DIR/postmaster.pid" || return 1
  [[ $pid =~ ^[0-9]+$ && /proc/$pid/cwd -ef $PGDATA_DIR ]] || return 1
  printf '%s' "$pid"
}

start_postgres() {
  local pid log="$LOGS/postgres.log"
  if pid=$(postgres_pid) && is_replaced "$pid"; then stop_postgres; fi
  if pid=$(postgres_pid) && [[ -S $SOCKETS/postgres/.s.PGSQL.5432 ]]; then return; fi
  if [[ -n ${pid:-} ]]; then stop_postgres; fi # its socket was swept away, so nobody can reach it
  clear_after_crash
  rotate_log "$log"
  if ! start_server "$log"; then
    tail -n 15 "$log"
    if postgres_pid >/dev/null; then fail "the server is still recovering after 180 s: wait, then run the command again"; fi
    fail "the server did not start"
  fi
}

# The pid in a lock file that a crash left may be somebody else's by now, and the server would refuse to start. The
# file also guards against processes of the dead server that still write, so they are waited for first.
clear_after_crash() {
  local deadline=$((SECONDS + 30))
  while server_processes_remain; do
    ((SECONDS < deadline)) || fail "processes of an earlier server still use $PGDATA_DIR: end them, then run this again"
    sleep 0.2
  done
  rm -f "$PGDATA_DIR/postmaster.pid" "$SOCKETS/postgres/.s.PGSQL.5432" "$SOCKETS/postgres/.s.PGSQL.5432.lock"
}

server_processes_remain() {
  local process
  for process in /proc/[0-9]*; do
    if [[ $process/cwd -ef $PGDATA_DIR && $(readlink "$process/exe") == "$PG_BIN/postgres"* ]]; then return 0; fi
  done
  return 1
}

start_server() (
  close_other_files
  exec >>"$1" 2>&1
  as_postgres "$PG_BIN/pg_ctl" -D "$PGDATA_DIR" -w -t 180 -s start
)

stop_postgres() {
  postgres_pid >/dev/null || return 0
  as_postgres "$PG_BIN/pg_ctl" -D "$PGDATA_DIR" -w -t 120 -m fast -s stop
}

set_up_roles() { # [test]: passwords go in by the environment, not by a command line that all can read
  OWNER_PASSWORD=$(url_password "$(setting DATABASE_OWNER_URL)") APP_PASSWORD=$(url_password "$(setting DATABASE_URL)") \
    superuser_sql -d postgres -v createdb="$([[ $1 == test ]] && echo CREATEDB || echo NOCREATEDB)" \
    -f - <"$REPO/deploy/cluster/roles.sql"
}

database_exists() { [[ $(superuser_sql -d postgres -Atc "SELECT 1 FROM pg_database WHERE datname = '$1'") == 1 ]]; }

# PostGIS is not a trusted extension, so the superuser makes a template with it, and test databases are copies of it.
set_up_template() {
  if ! database_exists boleward_template; then
    superuser_sql -d postgres -c 'DROP DATABASE IF EXISTS boleward_template_new' \
      -c 'CREATE DATABASE boleward_template_new OWNER owner TEMPLATE template0'
    superuser_sql -d boleward_template_new -f - <"$REPO/deploy/cluster/template.sql"
    superuser_sql -d postgres -c 'ALTER DATABASE boleward_template_new RENAME TO boleward_template'
  fi
  update_extensions boleward_template
}

set_up_database() {
  if ! database_exists boleward; then
    superuser_sql -d postgres -c 'CREATE DATABASE boleward OWNER owner TEMPLATE boleward_template'
  fi
  superuser_sql -d postgres -c 'REVOKE ALL ON DATABASE boleward FROM PUBLIC' \
    -c 'GRANT CONNECT, TEMPORARY ON DATABASE boleward TO app'
  update_extensions boleward
}

update_extensions() { # DATABASE: after Debian brought a newer PostGIS
  superuser_sql -d "$1" -f - >/dev/null <<'SQL'
SELECT format('ALTER EXTENSION %I UPDATE', name)
FROM pg_available_extensions
WHERE installed_version <> default_version
\gexec
SQL
}
