# shellcheck shell=bash
# The private Redis, cache and broker in one: a Unix socket in a private folder, a password, no TCP.

redis_is_private() { [[ $(setting REDIS_URL) == unix://*"@$SOCKETS/redis/redis.sock"* ]]; }

redis_conf() {
  cat <<CONF
port 0
unixsocket $SOCKETS/redis/redis.sock
unixsocketperm 700
requirepass $(url_password "$(setting REDIS_URL)")
dir "$REDIS_DIR"
# Messages of the broker survive a restart; one second of them may be lost, and the job rows make up for that.
appendonly yes
appendfsync everysec
save ""
# Only keys with a life (the cache) give way; the broker's have none.
maxmemory $(between 64 $(($(memory_mb) / 16)) 512)mb
maxmemory-policy volatile-lru
CONF
}

redis_up() {
  local wanted conf="$REDIS_DIR/redis.conf"
  wanted=$(redis_conf)
  if [[ ! -e $conf || $(<"$conf") != "$wanted" ]]; then
    stop redis 30
    (umask 077 && printf '%s\n' "$wanted" >"$conf")
    if as_root; then chown "$SERVICE_USER:" "$conf"; fi
  fi
  start_redis "$conf"
  note "socket in $SOCKETS/redis"
}

start_redis() { # CONF
  local pid
  if pid=$(running_pid redis) && { is_replaced "$pid" || ! redis_answers; }; then stop redis 30; fi
  if running_pid redis >/dev/null; then return; fi
  spawn redis - "$SERVICE_USER" /usr/bin/redis-server "$1"
  for _ in {1..600}; do # a long append-only file takes its time to load
    if redis_answers; then return; fi
    running_pid redis >/dev/null || break
    sleep 0.1
  done
  tail -n 15 "$LOGS/redis.log"
  fail "Redis did not start"
}

redis_answers() {
  local reply
  reply=$(REDISCLI_AUTH=$(url_password "$(setting REDIS_URL)") \
    timeout 5 /usr/bin/redis-cli -s "$SOCKETS/redis/redis.sock" ping 2>&1) || return 1
  [[ $reply == PONG ]]
}
