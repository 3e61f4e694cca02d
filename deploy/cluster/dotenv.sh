# shellcheck shell=bash
# Reads and writes .env as data (it is never sourced: a line of it must not run as root), and answers for a setting
# in the order that deploy/env.py uses: the environment, .env, env.defaults.

dotenv_get() { # FILE KEY: prints the value; status 1 where the key is absent
  local line value="" found=1
  [[ -r $1 ]] || return 1
  while IFS= read -r line || [[ -n $line ]]; do
    if [[ $line =~ ^[[:space:]]*(export[[:space:]]+)?$2[[:space:]]*=(.*)$ ]]; then
      value=${BASH_REMATCH[2]}
      found=0
    fi
  done <"$1"
  ((found == 0)) || return 1
  unquote "$value"
}

unquote() { # VALUE: without quotes, or without a trailing comment where there are none
  local value=$1
  value="${value#"${value%%[![:space:]]*}"}"
  if [[ $value =~ ^\"([^\"]*)\" || $value =~ ^\'([^\']*)\' ]]; then
    value=${BASH_REMATCH[1]}
  else
    value=${value%%[[:space:]]#*}
    value="${value%"${value##*[![:space:]]}"}"
  fi
  printf '%s' "$value"
}

dotenv_keys() { # FILE
  [[ -r $1 ]] || return 0
  sed -nE 's/^[[:space:]]*(export[[:space:]]+)?([A-Z][A-Z0-9_]*)[[:space:]]*=.*/\2/p' "$1"
}

setting() { # KEY: the value in force, empty where there is none
  if [[ -v $1 ]]; then
    printf '%s' "${!1}"
  else
    dotenv_get "$ENV_FILE" "$1" || dotenv_get "$REPO/deploy/env.defaults" "$1" || true
  fi
}

setting_keys() { { dotenv_keys "$REPO/deploy/env.defaults" && dotenv_keys "$ENV_FILE"; } | sort -u; }

random_hex() { od -An -vtx1 -N"$1" /dev/urandom | tr -d ' \n'; }

# The file is written once; a later run adds only keys that are missing, so what an operator changed stays.
write_env() {
  local known state sockets database redis added=0
  umask 077
  check_env_owner
  state=$(setting STATE_DIR)
  state=${state:-$(default_state)}
  sockets=$(socket_folder "$state/run")
  database="boleward?host=$sockets/postgres"
  redis="unix://:$(random_hex 24)@$sockets/redis/redis.sock?db=0"
  known=$(mktemp "$ENV_FILE.XXXXXX")
  if [[ -e $ENV_FILE ]]; then cat "$ENV_FILE" >"$known"; else env_heading >"$known"; fi
  end_last_line "$known"
  add_missing "$known" STATE_DIR "$state"
  add_missing "$known" DATA_DIR "$state/files"
  add_missing "$known" SECRET_KEY "$(random_hex 32)"
  add_missing "$known" DATABASE_URL "postgres://app:$(random_hex 24)@/$database"
  # An outside database has an owner that only its operator knows: nothing is made up for it.
  if [[ $(url_host "$(dotenv_get "$known" DATABASE_URL)") == "$sockets/postgres" || -v DATABASE_OWNER_URL ]]; then
    add_missing "$known" DATABASE_OWNER_URL "postgres://owner:$(random_hex 24)@/$database"
  fi
  add_missing "$known" REDIS_URL "$redis"
  add_missing "$known" DEMO_PASSWORD "$(random_hex 8)"
  add_missing "$known" LISTEN "$(free_address)"
  add_from_environment "$known"
  if ((added > 0)); then
    chmod 600 "$known"
    mv "$known" "$ENV_FILE"
    note "$added keys written to ${ENV_FILE##*/}"
  else
    rm "$known"
    chmod 600 "$ENV_FILE"
    note "kept"
  fi
}

env_heading() {
  printf '# Written once by deploy/up; later runs keep what is here and add only what is missing.\n'
  printf '# Holds secrets: mode 600, not in git. Every variable is explained in deploy/env.defaults.\n'
}

end_last_line() { [[ -z $(tail -c1 "$1") ]] || printf '\n' >>"$1"; }

add_missing() { # FILE KEY VALUE: a value from the environment goes before the one we would choose
  local value=$3
  dotenv_get "$1" "$2" >/dev/null && return 0
  if [[ -n ${!2:-} ]]; then value=${!2}; fi
  if [[ $value =~ [^A-Za-z0-9/._:@?=%\&+,-] ]]; then value="'$value'"; fi
  printf '%s=%s\n' "$2" "$value" >>"$1"
  added=$((added + 1))
}

# `CITY_NAME=... deploy/up` once must be enough: manage.py and the next start read the file.
add_from_environment() { # FILE
  local key
  for key in $(dotenv_keys "$REPO/deploy/env.defaults"); do
    [[ -v $key ]] || continue
    add_missing "$1" "$key" "${!key}"
    [[ $(dotenv_get "$1" "$key") == "${!key}" ]] ||
      printf '%s is another one in the environment than in %s: used for this run only\n' "$key" "$ENV_FILE"
  done
}

check_env_owner() {
  [[ -e $ENV_FILE ]] || return 0
  local owner
  owner=$(stat -c %u "$ENV_FILE")
  ((owner == EUID)) || fail "$ENV_FILE belongs to $(id -nu "$owner" 2>/dev/null || printf '%s' "$owner"):" \
    "this clone is run by that user; run the command as that user, or use a clone of your own"
}

url_host() { # URL: the ?host= of a database URL, else the host in its address
  if [[ $1 =~ [?\&]host=([^\&]*) ]]; then
    printf '%s' "${BASH_REMATCH[1]}"
  elif [[ $1 =~ ^[a-z+]+://([^@/]*@)?([^:/?]*) ]]; then
    printf '%s' "${BASH_REMATCH[2]}"
  fi
}

url_password() { if [[ $1 =~ ^[a-z+]+://[^:@/]*:([^@/]*)@ ]]; then printf '%s' "${BASH_REMATCH[1]}"; fi; }

# A second clone on the machine, or another service, may have the usual port.
free_address() {
  local host port
  host=$(listen_host "$(setting LISTEN)")
  port=$(listen_port "$(setting LISTEN)")
  for _ in {1..100}; do
    answers "$host" "$port" || break
    port=$((port + 1))
  done
  if [[ $host == *:* ]]; then host="[$host]"; fi
  printf '%s:%s' "$host" "$port"
}

listen_port() { printf '%s' "${1##*:}"; }

listen_host() { # ADDRESS: without the port and the brackets of IPv6
  local host=${1%:*}
  host=${host#[}
  printf '%s' "${host%]}"
}

reach_host() { # HOST: where to call a server that listens on HOST
  case $1 in
    0.0.0.0 | '') printf '127.0.0.1' ;;
    ::) printf '::1' ;;
    *) printf '%s' "$1" ;;
  esac
}

answers() { # HOST PORT: does somebody listen there
  (exec 3<>"/dev/tcp/$(reach_host "$1")/$2") 2>/dev/null
}
