#!/usr/bin/env bash
# Sets up .venv and the Debian packages that a make target needs. Quick when nothing changed.
#   tools/setup.sh run     what the product and the demo need
#   tools/setup.sh test    the same and what the tests need
#   tools/setup.sh bench   the same and what the benchmarks compare with
set -euo pipefail
cd "$(dirname "$0")/.."
kind=${1:?usage: tools/setup.sh run|test|bench}
python=${PYTHON:-python3}

say() { printf 'setup: %s\n' "$*" >&2; }

command -v "$python" >/dev/null || { say "no $python; install Python 3.11 or newer"; exit 1; }
"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
  say "$("$python" --version) is too old; set PYTHON to a Python 3.11 or newer"; exit 1; }

# Debian packages: fonts for the simulated monitor; a browser without windows for the page tests; a second text
# recogniser to hold ours against; two hosts on one machine for the tests of the local network;
# a database server, which tests start themselves; ffprobe to time scans against; venv for
# Debian's own Python.
packages=(fonts-dejavu-core fonts-liberation fonts-freefont-ttf)
[ "$kind" = run ] || packages+=(
  chromium-headless-shell fonts-terminus-otb fonts-hack fonts-inconsolata fonts-unifont
  tesseract-ocr tesseract-ocr-eng iproute2 postgresql)
[ "$kind" = bench ] && packages+=(ffmpeg)
"$python" -c 'import ensurepip' 2>/dev/null || packages+=(python3-venv)

# Debian's database server makes and starts a cluster of its own when it is installed, unless it is
# told not to; nobody here needs one.
own_server_only() {
  case " $* " in *" postgresql "*) ;; *) return 0 ;; esac
  local conf=/etc/postgresql-common/createcluster.conf
  apt-get install -y -qq --no-install-recommends postgresql-common \
    && { grep -qs '^create_main_cluster' "$conf" \
      || pg_conftool "$conf" set create_main_cluster false; }
}

if command -v dpkg-query >/dev/null; then
  missing=()
  for package in "${packages[@]}"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' \
      || missing+=("$package")
  done
  if [ ${#missing[@]} -gt 0 ]; then
    if [ "$(id -u)" = 0 ]; then
      say "installing Debian packages: ${missing[*]}"
      export DEBIAN_FRONTEND=noninteractive
      { apt-get update -qq && own_server_only "${missing[@]}" \
        && apt-get install -y -qq --no-install-recommends "${missing[@]}"; } \
        >.setup.log 2>&1 || { tail -n 20 .setup.log >&2; say "apt-get failed; see .setup.log"; exit 1; }
    else
      say "Debian packages are missing; run: sudo apt-get install -y --no-install-recommends ${missing[*]}"
      exit 1
    fi
  fi
fi

extra="[fast]"; [ "$kind" = run ] || extra="[dev]"
stamp=.venv/.asfound-$kind
want=$(cat pyproject.toml constraints.txt tools/setup.sh | sha256sum | cut -d' ' -f1)
if [ "$(cat "$stamp" 2>/dev/null || true)" != "$want" ]; then
  [ -x .venv/bin/python ] || "$python" -m venv .venv
  say "installing Python packages into .venv (a few minutes the first time)"
  # Python compiles what is used when it is first used: most of what is installed never is.
  .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-compile \
    --constraint constraints.txt --editable ".$extra"
  printf '%s\n' "$want" >"$stamp"
fi
