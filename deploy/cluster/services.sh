# shellcheck shell=bash
# Web server, worker and scheduler: started with a clean environment, restarted when code, packages or settings change.

# Secrets go in by the environment and never by a command line. KEYS left out: DATABASE_OWNER_URL for the services,
# which have no business with the owner's role.
enter_app() { # KEYS...: to be called in a subshell
  local key name
  declare -A values=()
  for key in "$@"; do values[$key]=$(setting "$key"); done
  for name in $(compgen -e); do unset "$name" 2>/dev/null || true; done
  for key in "${!values[@]}"; do export "$key=${values[$key]}"; done
  export PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 LC_ALL=C.UTF-8 HOME="$WORK" PYTHONUNBUFFERED=1
  cd "$APP" || exit
}

service_keys() { setting_keys | grep -vx -e DATABASE_OWNER_URL -e STATE_DIR; }

manage() ( # COMMAND...
  # shellcheck disable=SC2046 # one word a key
  enter_app $(setting_keys)
  exec_as "$SERVICE_USER" "$APP_PYTHON" manage.py "$@"
)

service_stamp() { # what a service was started with: code, packages and the values of all settings
  local key
  {
    printf '%s %s\n' "$APP" "$CODE_STAMP"
    for key in $(service_keys); do printf '%s=%s\n' "$key" "$(setting "$key")"; done
  } | sha256sum | cut -c1-12
}

start_service() { # NAME SECONDS_TO_STOP COMMAND...
  local name=$1 patience=$2 stamp
  shift 2
  stamp=$(service_stamp)
  if running_pid "$name" >/dev/null; then
    if [[ $(running_stamp "$name") == "$stamp" ]]; then
      note "runs already"
      return
    fi
    stop "$name" "$patience"
    note "restarted: code or settings changed"
  fi
  spawn_in_app "$name" "$stamp" "$@"
}

spawn_in_app() { # NAME STAMP COMMAND...
  # shellcheck disable=SC2046
  (enter_app $(service_keys) && spawn "$1" "$2" "$SERVICE_USER" "${@:3}")
}

start_web() {
  local address host port
  address=$(setting LISTEN)
  host=$(listen_host "$address") port=$(listen_port "$address")
  if ! running_pid web >/dev/null && ! is_free_soon "$host" "$port"; then
    fail "$address is taken by another program: set LISTEN in $ENV_FILE to another port"
  fi
  # gunicorn's control socket would lie in a home folder.
  start_service web 40 "$APP_PYTHON" -m gunicorn deploy.wsgi:application --bind "$address" --workers 2 --threads 4 \
    --timeout 120 --graceful-timeout 30 --no-control-socket --access-logfile -
}

is_free_soon() { # HOST PORT: the children of a web server that was killed let go after a second or two
  for _ in {1..50}; do
    answers "$1" "$2" || return 0
    [[ -e $PIDS/web ]] || return 1 # we had none there
    sleep 0.2
  done
  return 1
}

start_worker() {
  start_service worker 60 "$APP_PYTHON" -m celery -A workers worker --loglevel INFO --concurrency 2 \
    --without-gossip --without-mingle
}

start_scheduler() {
  start_service scheduler 20 "$APP_PYTHON" -m celery -A workers beat --loglevel INFO --pidfile= \
    --schedule "$WORK/schedule"
}

http_get() { # PATH: prints the status code, then the answer
  local address host port name line
  address=$(setting LISTEN)
  host=$(listen_host "$address") port=$(listen_port "$address")
  name=$(setting ALLOWED_HOSTS)
  name=${name%%,*}
  exec 3<>"/dev/tcp/$(reach_host "$host")/$port" || return 1
  # The forwarded header keeps the service from redirecting this call to HTTPS where a proxy ends TLS.
  printf 'GET %s HTTP/1.0\r\nHost: %s\r\nX-Forwarded-Proto: https\r\n\r\n' "$1" "${name/#[.*]*/localhost}" >&3
  read -r -t 30 _ line _ <&3 || return 1
  printf '%s\n' "$line"
  timeout 10 cat <&3
}

wait_until_ready() {
  local answer="" deadline=$((SECONDS + 90))
  until [[ $answer == 200* ]]; do
    all_run
    if ((SECONDS > deadline)); then
      printf '%s\n' "$answer"
      tail -n 10 "$LOGS/web.log"
      fail "/health/ready does not say 200 after 90 s"
    fi
    answer=$(http_get /health/ready 2>/dev/null) || sleep 0.2
  done
  wait_for_worker
}

all_run() {
  local name
  for name in web worker scheduler; do
    running_pid "$name" >/dev/null && continue
    tail -n 15 "$LOGS/$name.log"
    fail "$name stopped; its log is $LOGS/$name.log"
  done
}

wait_for_worker() { # until it answers through the broker; once for each worker started
  local pid deadline=$((SECONDS + 60))
  pid=$(running_pid worker)
  [[ $(cat "$PIDS/worker.answered" 2>/dev/null) != "$pid" ]] || return 0
  until ask_worker; do
    all_run
    ((SECONDS < deadline)) || fail "the worker does not answer through the broker after 60 s; its log is $LOGS/worker.log"
  done
  printf '%s' "$pid" >"$PIDS/worker.answered"
}

ask_worker() (
  # shellcheck disable=SC2046
  enter_app $(service_keys)
  exec_as "$SERVICE_USER" "$APP_PYTHON" -m celery -A workers inspect ping --timeout 3
)
