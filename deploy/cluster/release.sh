# shellcheck shell=bash disable=SC2034,SC2154 # names are shared between the files of this folder
# What the services run from. A user's services run in the clone. After a start by root they are the service user,
# who cannot read a closed home such as /root, so the code and its packages are copied to where that user can; a
# `git pull` then changes nothing under a running service.

APP="$REPO"
APP_PYTHON="$VENV/bin/python"
CODE=(inventory assessments api workers deploy manage.py pyproject.toml)

set_release() { # after the Python packages are in
  CODE_STAMP=$(code_stamp)
  as_root || return 0
  PACKAGES="$STATE/packages/$(lock_sum "$runtime_lock" | cut -c1-12)"
  APP="$STATE/release/$CODE_STAMP"
  APP_PYTHON="$PACKAGES/bin/python"
}

code_stamp() { # of the contents, so it needs neither git nor a commit
  (
    cd "$REPO" || exit
    find "${CODE[@]}" \( -name __pycache__ -o -name node_modules \) -prune -o -type f -print0 |
      LC_ALL=C sort -z | xargs -0 sha256sum | sha256sum | cut -c1-12
  )
}

copy_release() {
  need_space "$STATE" 1000
  copy_once "$PACKAGES" copy_packages
  copy_once "$APP" copy_code
  # collectstatic writes there as the service user
  make_folder "$APP/.data" 755 "$SERVICE_USER"
  note "$APP"
}

copy_once() { # TARGET COMMAND: whole or not at all
  if [[ -d $1 ]]; then return; fi
  mkdir -p "$(dirname "$1")"
  rm -rf "$1.new"
  mkdir "$1.new"
  "$2" "$1.new"
  chown -R root:root "$1.new"
  chmod -R u=rwX,go=rX "$1.new" # whatever umask the clone was made under
  mv "$1.new" "$1"
}

copy_packages() { cp -a --reflink=auto "$VENV/." "$1"; }

copy_code() {
  (cd "$REPO" && tar -c --exclude=__pycache__ --exclude=node_modules "${CODE[@]}") | tar -x -C "$1"
  "$APP_PYTHON" -m compileall -q "$1" >/dev/null # the service user may not write byte code there
}

remove_old_releases() { # when nothing runs from them any more
  local folder
  as_root || return 0
  for folder in "$STATE/release"/* "$STATE/packages"/*; do
    if [[ $folder != "$APP" && $folder != "$PACKAGES" ]]; then rm -rf "$folder"; fi
  done
}
