#!/usr/bin/env bash
# Sets up what the companion needs on Debian 12 or Raspberry Pi OS; may be run again at any time.
#   demo_scripts/set_up.sh [run|dev]     run: to do jobs; dev: also to run the tests and checks
# Installs Debian packages (as root, or with sudo) and a virtual environment in .venv.
set -euo pipefail
cd "$(dirname "$0")/.."
kind="${1:-run}"

packages=(python3 python3-venv libatomic1 libportaudio2 libespeak-ng1 espeak-ng flite)
# For the tests: a browser, what its driver is linked to and the display is drawn with; disks that fail; a store.
[[ $kind == dev ]] && packages+=(pulseaudio pulseaudio-utils libasound2-plugins chromium libatomic1 fonts-liberation fiu-utils git postgresql)
missing=()
for package in "${packages[@]}"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' || missing+=("$package")
done
if ((${#missing[@]})); then
    echo "set_up: installing Debian packages: ${missing[*]}"
    as_root=()
    if ((EUID != 0)); then
        command -v sudo >/dev/null || { echo "set_up: not root and no sudo; wanted: apt-get install ${missing[*]}" >&2; exit 1; }
        as_root=(sudo)
    fi
    "${as_root[@]}" apt-get update -qq
    DEBIAN_FRONTEND=noninteractive "${as_root[@]}" apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
fi

# The first that runs and is new enough: a name on the path may be there and still not run. 3.12 is
# among the last: the word recogniser's package is built from its source there.
python=""
for name in python3.11 python3.13 python3 python3.12; do
    if "$name" -c 'import ensurepip, sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
        python="$name"
        break
    fi
done
[[ -n $python ]] || {
    echo "set_up: no Python that is new enough; wanted: Python 3.11 or later" >&2
    exit 1
}
if [[ ! -x .venv/bin/python ]]; then
    if [[ $("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])') == 3.12 ]] && ! command -v cc >/dev/null; then
        echo "set_up: for Python 3.12 nobody has built the package pocketsphinx, and there is no C compiler to build it; wanted: Python 3.11 or 3.13, or apt-get install build-essential python3-dev" >&2
        exit 1
    fi
    echo "set_up: making the virtual environment .venv"
    "$python" -m venv .venv
fi

extra=""
[[ $kind == dev ]] && extra="[dev]"
stamp=".venv/.set_up_$kind"
if [[ ! -f $stamp || pyproject.toml -nt $stamp ]]; then
    echo "set_up: installing the companion and the packages it stands on into .venv"
    .venv/bin/python -m pip install --quiet --disable-pip-version-check --editable ".$extra"
    touch "$stamp"
fi
