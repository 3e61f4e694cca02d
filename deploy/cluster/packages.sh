# shellcheck shell=bash disable=SC2034,SC2154 # names are shared between the files of this folder
# Installs what is missing: Debian packages by apt, Python packages by hash into .venv. A second run finds all there.

DEBIAN_PACKAGES=(postgresql-15 postgresql-15-postgis-3 gdal-bin redis-server python3-venv fonts-dejavu-core
  libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0)

install_debian_packages() { # PACKAGES...
  local missing=() package
  for package in "$@"; do
    [[ $(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null) == installed ]] || missing+=("$package")
  done
  if ((${#missing[@]} == 0)); then
    note "all there"
    return
  fi
  need_space /var 1500
  printf 'missing: %s\n' "${missing[*]}"
  # A stale or unreachable list of one of several sources need not stop the others: the installation decides.
  apt_waiting update || printf 'apt-get update had problems; trying with the lists at hand\n'
  apt_waiting install -y --no-install-recommends "${missing[@]}"
  note "installed ${missing[*]}"
}

# DPkg::Lock::Timeout waits for dpkg's lock but not for that of the package lists, so that one is waited for here.
apt_waiting() {
  local output status deadline=$((SECONDS + 300))
  while true; do
    status=0
    output=$(privileged env DEBIAN_FRONTEND=noninteractive NEEDRESTART_SUSPEND=1 \
      apt-get -q -o DPkg::Lock::Timeout=300 -o Dpkg::Options::=--force-confold "$@" 2>&1) || status=$?
    printf '%s\n' "$output"
    if ((status == 0)) || [[ $output != *"Could not get lock"* ]] || ((SECONDS > deadline)); then
      return "$status"
    fi
    sleep 3
  done
}

privileged() { # sudo asks for a password on the terminal itself
  if as_root; then
    "$@"
  elif command -v sudo >/dev/null; then
    sudo "$@"
  else
    fail "packages are missing and sudo is not installed: have an administrator install them"
  fi
}

lock_sum() { sha256sum "$1" | cut -c1-64; }

runtime_lock="$REPO/deploy/requirements.lock"
dev_lock="$REPO/deploy/requirements-dev.lock"

install_python_packages() { # LOCK: .venv/.installed names the lock files whose packages are in
  local stamp="$VENV/.installed" lock_fd
  exec {lock_fd}<"$REPO/deploy/requirements.lock"
  flock -w 900 "$lock_fd" || fail "another command has been installing Python packages for 15 minutes"
  make_venv
  if grep -qsF "$(lock_sum "$1")" "$stamp"; then
    note "all there"
    return
  fi
  need_space "$REPO" 1200
  rm -f "$stamp"
  "$VENV/bin/python" -m pip install --quiet --no-input --disable-pip-version-check --require-hashes -r "$1"
  write_installed_stamp "$1" >"$stamp"
  note "installed from ${1##*/}"
}

write_installed_stamp() { # LOCK: the lock for development holds the runtime's packages too
  lock_sum "$1"
  if [[ $1 == "$dev_lock" ]]; then lock_sum "$runtime_lock"; fi
}

make_venv() { # anew where its Python is gone or another one (Debian was upgraded, the clone was copied)
  if "$VENV/bin/python" -c 'import sys, pip; sys.exit(sys.version_info[:2] != (3, 11))' 2>/dev/null; then return; fi
  /usr/bin/python3 -c 'import sys; sys.exit(sys.version_info[:2] != (3, 11))' ||
    fail "/usr/bin/python3 is not Python 3.11: this is made for Debian 12"
  rm -rf "$VENV"
  /usr/bin/python3 -m venv "$VENV"
}
