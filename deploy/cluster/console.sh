# shellcheck shell=bash
# What the deploy commands print: one line a step with the seconds since the start, and on failure which step,
# why (the end of its log) and what to do.

CONSOLE_START=${EPOCHREALTIME/[.,]/}
STEP_LOGS=""
STEP_NOTE=/dev/null
STEP_NAME=""
STEP_STATUS=0

open_console() { # NAME: makes the private folder in which each step keeps its log
  STEP_LOGS=$(mktemp -d "/tmp/boleward-$1.XXXXXX")
  STEP_NOTE="$STEP_LOGS/note"
  trap 'interrupted' INT TERM HUP
}

close_console() { # the step logs are of interest only after a failure
  if [[ -n "$STEP_LOGS" ]]; then rm -rf "$STEP_LOGS"; fi
}

interrupted() {
  printf '\ninterrupted%s; run the command again, it goes on from where it stopped\n' "${STEP_NAME:+ during \"$STEP_NAME\"}" >&2
  if [[ -z $STEP_NAME ]]; then close_console; fi
  exit 130
}

seconds_since() { # MICROSECONDS: prints seconds with one decimal
  local tenths=$(((${EPOCHREALTIME/[.,]/} - $1) / 100000))
  printf '%d.%d' $((tenths / 10)) $((tenths % 10))
}

say() { printf '%7s s  %s\n' "$(seconds_since "$CONSOLE_START")" "$*"; }

note() { printf '%s' "$*" >"$STEP_NOTE"; }

fail() { # MESSAGE: why a step cannot go on (last line of its log, so it is shown), or why a command cannot start
  printf '%s\n' "$*" >&2
  exit 1
}

# Sets STEP_STATUS and must be called plainly: in `if run_step` or `run_step ||` bash would switch errexit off for
# everything inside the step, and a step that broke in its middle would pass.
run_step() { # NAME COMMAND...: the log is $STEP_LOGS/NAME.log
  STEP_NAME=$1
  shift
  local began=${EPOCHREALTIME/[.,]/} log="$STEP_LOGS/${STEP_NAME// /-}.log"
  : >"$STEP_NOTE"
  printf '%7s s  %-24s ' "$(seconds_since "$CONSOLE_START")" "$STEP_NAME"
  set +e
  (
    set -e
    "$@"
  ) </dev/null >"$log" 2>&1
  STEP_STATUS=$?
  set -e
  if ((STEP_STATUS == 0)); then
    printf 'ok    %5s s  %s\n' "$(seconds_since "$began")" "$(<"$STEP_NOTE")"
  else
    printf 'FAILED after %s s\n' "$(seconds_since "$began")"
  fi
  STEP_NAME=""
}

explain_failure() { # NAME HINT
  local log="$STEP_LOGS/${1// /-}.log"
  printf '\nThe step "%s" failed. The end of its log:\n' "$1" >&2
  tail -n 20 "$log" | cut -c1-300 | sed 's/^/    /' >&2
  printf 'What to do: %s\nWhole log:  %s\n' "$2" "$log" >&2
}

step() { # NAME HINT COMMAND...: stops the whole command where the step fails
  local name=$1 hint=$2
  shift 2
  run_step "$name" "$@"
  if ((STEP_STATUS != 0)); then
    explain_failure "$name" "$hint"
    exit 1
  fi
}
