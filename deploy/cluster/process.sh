# shellcheck shell=bash
# Starts and stops our own processes. A pid file holds the pid, the start time and the boot it belongs to, so a pid
# that the system gave to somebody else since is never taken for ours.

process_identity() { # PID: start time and boot id; status 1 where there is no such process or it is a zombie
  local line fields
  { line=$(<"/proc/$1/stat"); } 2>/dev/null || return 1
  # The name in brackets may itself hold brackets and spaces: count from the last bracket on.
  read -ra fields <<<"${line##*) }"
  [[ ${fields[0]} != [ZX] ]] || return 1
  printf '%s %s' "${fields[19]}" "$(</proc/sys/kernel/random/boot_id)"
}

running_pid() { # NAME: prints the pid where the process that we started still runs
  local pid start boot rest
  read -r pid start boot rest 2>/dev/null <"$PIDS/$1" || return 1
  [[ $pid =~ ^[0-9]+$ && "$(process_identity "$pid")" == "$start $boot" ]] || return 1
  printf '%s' "$pid"
}

running_stamp() { # NAME: what it was started with
  local stamp
  read -r _ _ _ stamp 2>/dev/null <"$PIDS/$1" || return 1
  printf '%s' "$stamp"
}

spawn() { # NAME STAMP USER COMMAND...: in a session of its own; output is added to the log
  local name=$1 stamp=$2 user=$3 pid
  shift 3
  rotate_log "$LOGS/$name.log"
  (
    close_other_files
    exec </dev/null >>"$LOGS/$name.log" 2>&1
    exec_as "$user" setsid -- "$@"
  ) &
  pid=$!
  printf '%s %s %s\n' "$pid" "$(process_identity "$pid")" "$stamp" >"$PIDS/$name"
}

# A server must hold neither our lock nor a pipe that whoever called us waits on.
close_other_files() {
  local fd
  for fd in "/proc/$BASHPID/fd"/*; do
    fd=${fd##*/}
    if ((fd > 2 && fd != 255)); then eval "exec $fd>&-"; fi
  done
}

rotate_log() { # one older log is kept
  if [[ -f $1 && $(stat -c %s "$1") -gt 20000000 ]]; then mv "$1" "$1.1"; fi
}

stop() { # NAME SECONDS: asks, waits, and only then kills the whole session
  local pid deadline
  pid=$(running_pid "$1") || {
    rm -f "$PIDS/$1"
    return 0
  }
  kill -TERM "$pid"
  deadline=$((SECONDS + $2))
  while running_pid "$1" >/dev/null; do
    if ((SECONDS >= deadline)); then
      printf '%s did not stop within %s s: killed\n' "$1" "$2"
      kill -KILL -- "-$pid" 2>/dev/null || true
    fi
    sleep 0.1
  done
  rm -f "$PIDS/$1"
}

is_replaced() { # PID: was its program file replaced by an upgrade since it started
  [[ $(readlink "/proc/$1/exe" 2>/dev/null) == *' (deleted)' ]]
}
