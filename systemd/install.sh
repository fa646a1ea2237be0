#!/usr/bin/env bash
# Installs, or upgrades, the companion as services on a Debian 12 or Raspberry Pi OS box. As root.
#   systemd/install.sh [--root DIR] [--wheels DIR] [--no-packages]
#     --root DIR      install into a system that does not run (an image, a chroot)
#     --wheels DIR    take the Python packages from this folder only, without a network
#     --no-packages   leave the Debian packages alone
# Records, voices and /etc/bay-companion/ are never touched by an upgrade.
set -euo pipefail
source_tree="$(cd "$(dirname "$0")/.." && pwd)"
root="" wheels="" packages=yes
while (($#)); do
    case "$1" in
        --root) root="${2:?install: --root wants a folder}"; root="${root%/}"; shift 2 ;;
        --wheels) wheels="$(cd "${2:?install: --wheels wants a folder}" && pwd)"; shift 2 ;;
        --no-packages) packages=no; shift ;;
        *) echo "install: unknown option $1; wanted: --root DIR, --wheels DIR, --no-packages" >&2; exit 2 ;;
    esac
done
((EUID == 0)) || { echo "install: wanted: to be run as root" >&2; exit 1; }
[[ -z $root || -x $root/bin/sh || -x $root/usr/bin/sh ]] || {
    echo "install: $root holds no system; wanted: the folder of one" >&2
    exit 1
}

# Runs a command of the system that is installed into.
inside() { if [[ -n $root ]]; then chroot "$root" "$@"; else "$@"; fi; }
runs_systemd() { [[ -z $root && -d /run/systemd/system ]]; }

debian=(python3 python3-venv libportaudio2 libespeak-ng1 espeak-ng fonts-liberation)
if [[ $packages == yes ]]; then
    missing=()
    for package in "${debian[@]}"; do
        inside dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' ||
            missing+=("$package")
    done
    if ((${#missing[@]})); then
        echo "install: Debian packages: ${missing[*]}"
        inside apt-get update -qq
        inside env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
    fi
fi

# Each release stands in a folder of its own; "current" is switched over once it is complete.
release="$(date -u +%Y%m%d-%H%M%S)"
home=/opt/bay-companion
new="$home/releases/$release"
echo "install: release $release"
install -d -m 0755 "$root$new/source" "$root$new/docs"
(cd "$source_tree" && tar --exclude=__pycache__ -cf - pyproject.toml README.md LICENSE CHANGELOG.md DEVELOPERS.md companion grammars) |
    tar -xf - --no-same-owner -C "$root$new/source"
cp "$source_tree"/docs/*.md "$root$new/docs/"
clean_up() {
    [[ -e $root$new/whole ]] && return
    rm -rf "$root$new" "$root$home/wheels"
    echo "install: not finished; what was installed before is as it was" >&2
}
trap clean_up EXIT
inside python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
    echo "install: its Python is too old; wanted: Python 3.11 or later" >&2
    exit 1
}
inside python3 -m venv "$new/venv"
from=()
if [[ -n $wheels ]]; then
    install -d "$root$home/wheels"
    cp "$wheels"/* "$root$home/wheels/"
    from=(--isolated --no-index --find-links "$home/wheels")
fi
inside "$new/venv/bin/python" -m pip install --quiet --disable-pip-version-check --no-cache-dir "${from[@]}" "$new/source[ears]"
inside "$new/venv/bin/companion" --version
rm -rf "$root$home/wheels" "$root$new/source"
touch "$root$new/whole"
ln -sfn "releases/$release" "$root$home/current.new"
mv -T "$root$home/current.new" "$root$home/current"

units="$root/etc/systemd/system"
install -d -m 0755 "$units" "$root/etc/systemd" "$root/etc/udev/rules.d" "$root/etc/sysusers.d" "$root/etc/bay-companion"
install -m 0644 "$source_tree"/systemd/bay-companion*.service "$source_tree"/systemd/bay-companion*.timer "$units/"
install -m 0644 "$source_tree/systemd/journald@bay-companion.conf" "$root/etc/systemd/"
install -m 0644 "$source_tree/systemd/70-bay-companion-pedal.rules" "$root/etc/udev/rules.d/"
install -m 0644 "$source_tree/systemd/bay-companion.sysusers" "$root/etc/sysusers.d/bay-companion.conf"
[[ -e $root/etc/bay-companion/companion.env ]] ||
    install -m 0644 "$source_tree/systemd/companion.env" "$root/etc/bay-companion/"
[[ -e $root/etc/bay-companion/settings.yaml ]] ||
    inside env XDG_CONFIG_HOME=/etc XDG_DATA_HOME=/var/lib "$home/current/venv/bin/companion" settings --init
"$source_tree/systemd/carry_over.sh" "$root/etc/bay-companion/companion.env" "$root/etc/bay-companion/settings.yaml"

if inside sh -c 'command -v systemd-sysusers' >/dev/null; then
    inside systemd-sysusers /etc/sysusers.d/bay-companion.conf
else
    inside getent passwd bay-companion >/dev/null ||
        inside useradd --system --home-dir /var/lib/bay-companion --no-create-home --shell /usr/sbin/nologin --groups audio bay-companion
fi
inside install -d -m 0750 -o bay-companion -g bay-companion /var/lib/bay-companion

enabled=(bay-companion.service bay-companion-display.service bay-companion-retention.timer)
if runs_systemd; then
    systemctl daemon-reload
    # A container has no udev to tell.
    { udevadm control --reload && udevadm trigger --subsystem-match=input; } 2>/dev/null || true
    systemctl enable --quiet "${enabled[@]}"
    systemctl restart "${enabled[@]}"
elif command -v systemctl >/dev/null; then
    systemctl --root="${root:-/}" --quiet enable "${enabled[@]}"
else
    for unit in "${enabled[@]}"; do
        wanted_by="$(sed -n 's/^WantedBy=//p' "$units/$unit")"
        install -d "$units/$wanted_by.wants"
        ln -sfn "/etc/systemd/system/$unit" "$units/$wanted_by.wants/$unit"
    done
fi

# The previous release is kept to go back to; older ones are removed.
find "$root$home/releases" -mindepth 1 -maxdepth 1 -type d | sort | head -n -2 | xargs -r rm -rf
echo "install: done. Options: /etc/bay-companion/companion.env. Logs: journalctl --namespace=bay-companion"
