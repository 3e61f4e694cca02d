# shellcheck shell=bash disable=SC2034,SC2154 # names are shared between the files of this folder
# Where things lie and as whom they run. As root the servers run as system users and the data lie under /var/lib
# (no server may run as root, and a home folder is often closed to others); as a user everything is in .data.

# PATH must not decide which programs run.
export PATH=/usr/sbin:/usr/bin:/sbin:/bin LC_ALL=C.UTF-8
# A caller's client settings must not lead to another server or another Python.
unset "${!PG@}" "${!REDISCLI@}" PYTHONPATH PYTHONHOME DJANGO_SETTINGS_MODULE DB_ROLE
umask 022

REPO=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd -P)
VENV="$REPO/.venv"
ENV_FILE=${ENV_FILE:-"$REPO/.env"}
readonly SERVICE_USER=boleward
readonly SOCKET_PATH_LIMIT=107 # bytes in sockaddr_un.sun_path, without its final NUL

as_root() { ((EUID == 0)); }

set_paths() { # STATE_DIR: every other folder follows from it
  STATE=$1
  LOGS="$STATE/log"
  PIDS="$STATE/pid"
  WORK="$STATE/work"
  FILES="$STATE/files"
  PGDATA_DIR="$STATE/postgres"
  REDIS_DIR="$STATE/redis"
  SOCKETS=$(socket_folder "$STATE/run")
}

socket_folder() { # WANTED: prints it, or a short one in /tmp where it is too long or has signs a URL would change
  local longest="$1/postgres/.s.PGSQL.5432.lock"
  if (($(byte_length "$longest") <= SOCKET_PATH_LIMIT)) && [[ $1 =~ ^[A-Za-z0-9/._-]+$ ]]; then
    printf '%s' "$1"
  else
    printf '/tmp/boleward-%s-%s' "$EUID" "$(printf '%s' "$1" | sha256sum | cut -c1-10)"
  fi
}

byte_length() { printf '%s' "$1" | wc -c; }

default_state() { # as root the first /var/lib/boleward[-N] that no other clone has taken
  if ! as_root; then
    printf '%s' "$REPO/.data"
    return
  fi
  local candidate=/var/lib/boleward number=1
  while [[ -e $candidate ]]; do
    number=$((number + 1))
    candidate="/var/lib/boleward-$number"
  done
  printf '%s' "$candidate"
}

make_folder() { # PATH MODE USER: as root given to that user
  # In /tmp another person may have put a link where we want a folder.
  if [[ -L $1 ]]; then fail "$1 is a symbolic link: remove it"; fi
  mkdir -p "$1"
  if as_root; then chown "$3:" "$1"; fi
  [[ -O $1 ]] || as_root || fail "$1 belongs to somebody else: remove it"
  chmod "$2" "$1"
}

make_folders() {
  make_service_user
  make_folder "$STATE" 711 root
  make_folder "$LOGS" 750 root
  make_folder "$PIDS" 755 root
  make_folder "$SOCKETS" 711 root
  make_folder "$SOCKETS/postgres" 750 postgres
  if as_root; then chown "postgres:$SERVICE_USER" "$SOCKETS/postgres"; fi
  make_folder "$SOCKETS/redis" 700 "$SERVICE_USER"
  make_folder "$REDIS_DIR" 700 "$SERVICE_USER"
  make_folder "$WORK" 700 "$SERVICE_USER"
  make_folder "$FILES" 750 "$SERVICE_USER"
  # what root's own `manage.py` wrote there
  if as_root; then find "$FILES" ! -user "$SERVICE_USER" -exec chown -h "$SERVICE_USER:" {} +; fi
}

make_service_user() { # the web server and the workers of a start by root
  as_root || return 0
  getent passwd "$SERVICE_USER" >/dev/null && return 0
  useradd --system --user-group --no-create-home --home-dir /nonexistent --shell /usr/sbin/nologin "$SERVICE_USER"
}

exec_as() { # USER COMMAND...: as root under that user, else as oneself; replaces the shell, so the pid stays
  local user=$1
  shift
  if as_root; then
    exec setpriv --reuid="$user" --regid="$(id -g "$user")" --init-groups -- "$@"
  else
    exec "$@"
  fi
}

run_as() { (exec_as "$@"); }

take_lock() { # two runs at once would trip over each other; a folder can be locked, so no lock file is left behind
  exec {LOCK_FD}<"$REPO/deploy/cluster"
  if ! flock -n "$LOCK_FD"; then
    say "another deploy command is at work in this clone: waiting for it (10 minutes at most)"
    flock -w 600 "$LOCK_FD" || fail "the other command did not end; look for it with: fuser -v '$REPO/deploy/cluster'"
  fi
}

need_space() { # FOLDER MEGABYTES
  local folder=$1 free
  while [[ ! -d $folder ]]; do folder=$(dirname "$folder"); done
  free=$(df -Pm "$folder" | awk 'NR == 2 { print $4 }')
  ((free >= $2)) || fail "only $free MB are free at $folder; $2 MB are needed"
}
