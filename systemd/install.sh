#!/usr/bin/env bash
# Installs, or upgrades, the companion as services on a Debian 12 or 13 or Raspberry Pi OS box. As root.
#   systemd/install.sh [--root DIR] [--wheels DIR] [--no-packages] [--back]
#     --root DIR      install into a system that does not run (an image, a chroot)
#     --wheels DIR    take the Python packages from this folder only, without a network
#     --no-packages   leave the Debian packages alone
#     --back          go back to the release before this one, which is still there
# The Python packages are those of systemd/locks, each by its hash. A job that is being done goes on
# by the release that it began with; the companion takes the new one when that job is over.
# Records, voices and /etc/bay-companion/ are never touched by an upgrade.
set -euo pipefail
source_tree="$(cd "$(dirname "$0")/.." && pwd)"
root="" wheels="" packages=yes back=no
while (($#)); do
    case "$1" in
        --root) root="${2:?install: --root wants a folder}"; root="${root%/}"; shift 2 ;;
        --wheels) wheels="$(cd "${2:?install: --wheels wants a folder}" && pwd)"; shift 2 ;;
        --no-packages) packages=no; shift ;;
        --back) back=yes; shift ;;
        *) echo "install: unknown option $1; wanted: --root DIR, --wheels DIR, --no-packages, --back" >&2; exit 2 ;;
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
if [[ $packages == yes && $back == no ]]; then
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

# The packages of this kind of machine and this Python; looked for before anything is changed.
if [[ $back == no ]]; then
    lock="$source_tree/systemd/locks/$(inside uname -m)-$(inside python3 -c 'import sys; print("%d.%d" % sys.version_info[:2])').txt"
    [[ -e $lock ]] || {
        has="$(basename "$lock" .txt)"
        locked="$(cd "$source_tree/systemd/locks" && ls -- *-*.txt | sed 's/\.txt$//; s/-/ with Python /' | paste -sd, | sed 's/,/, /g')"
        echo "install: no packages are locked for ${has/-/ with Python }; wanted: one of $locked" >&2
        echo "install: (Debian 12 has Python 3.11, Debian 13 has 3.13); nothing was changed" >&2
        exit 1
    }
fi

# Each release stands in a folder of its own; "current" is switched over once it is complete.
# They are numbered in the order of their installation, whatever the box's date says.
home=/opt/bay-companion
releases="$root$home/releases"
of_link() { [[ ! -L $1 ]] || basename "$(readlink "$1")"; }
before="$(of_link "$root$home/current")"
if [[ $back == yes ]]; then
    release="$(of_link "$root$home/previous")"
    new="$home/releases/$release"
    [[ -n $release && -e $root$new/whole ]] || {
        echo "install: there is no release to go back to; nothing was changed" >&2
        exit 1
    }
    record="$root/var/lib/bay-companion/record.sqlite"
    if [[ -e $record ]] && ! inside "$new/venv/bin/companion" sessions --record "${record#"$root"}" >/dev/null; then
        echo "install: release $release cannot read the record as it is now; nothing was changed" >&2
        exit 1
    fi
    echo "install: back to release $release"
else
last="$(find "$releases" -mindepth 1 -maxdepth 1 -type d -regex '.*/[0-9]+' -printf '%f\n' 2>/dev/null | sort -n | tail -n 1 || true)"
release="$(printf '%06d' $((10#${last:-0} + 1)))"
new="$home/releases/$release"
echo "install: release $release"
install -d -m 0755 "$root$new/source" "$root$new/docs"
(cd "$source_tree" && tar --exclude=__pycache__ -cf - pyproject.toml README.md LICENSE CHANGELOG.md DEVELOPERS.md companion grammars) |
    tar -xf - --no-same-owner -C "$root$new/source"
cp "$source_tree"/docs/*.md "$root$new/docs/"
install -d -m 0755 "$root$new/units"
install -m 0644 "$source_tree"/systemd/bay-companion*.{service,timer,path} "$root$new/units/"
install -m 0755 "$source_tree/systemd/keep.sh" "$source_tree/systemd/restart_idle.sh" "$root$new/"
clean_up() {
    [[ -e $root$new/whole ]] && return
    rm -rf "$root$new" "$root$home/wheels"
    echo "install: not finished; what was installed before is as it was" >&2
}
trap clean_up EXIT
inside python3 -m venv "$new/venv"
from=()
if [[ -n $wheels ]]; then
    install -d "$root$home/wheels"
    cp "$wheels"/* "$root$home/wheels/"
    from=(--isolated --no-index --find-links "$home/wheels")
fi
pip() { inside "$new/venv/bin/python" -m pip "$1" --quiet --disable-pip-version-check "${@:2}"; }
cp "$lock" "$root$new/locked.txt"
cp "$source_tree/systemd/locks/sources.txt" "$root$new/locked-sources.txt"
pip install --no-cache-dir "${from[@]}" --no-deps --require-hashes --only-binary=:all: -r "$new/locked.txt"
# What builds these is among the packages that are there now, so that nothing else is fetched.
pip install --no-cache-dir "${from[@]}" --no-deps --require-hashes --no-build-isolation -r "$new/locked-sources.txt"
pip install --no-cache-dir --no-index --no-deps --no-build-isolation "$new/source"
inside "$new/venv/bin/companion" --version
rm -rf "$root$home/wheels" "$root$new/source"
touch "$root$new/whole"
fi
points_to() {
    ln -sfn "releases/$2" "$root$home/$1.new"
    mv -T "$root$home/$1.new" "$root$home/$1"
}
points_to current "$release"
[[ -z $before || $before == "$release" ]] || points_to previous "$before"

units="$root/etc/systemd/system"
install -d -m 0755 "$units" "$root/etc/systemd" "$root/etc/udev/rules.d" "$root/etc/sysusers.d" "$root/etc/bay-companion"
# Those of the release that is current; one of before they were kept with it takes those of now.
unit_files="$root$new/units"
[[ -d $unit_files ]] || unit_files="$source_tree/systemd"
install -m 0644 "$unit_files"/bay-companion*.service "$unit_files"/bay-companion*.timer "$units/"
# A release of before has none of these.
find "$unit_files" -maxdepth 1 -name 'bay-companion*.path' -exec install -m 0644 {} "$units/" \;
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

enabled=(bay-companion.service bay-companion-display.service bay-companion-retention.timer bay-companion-keeping.timer)
if runs_systemd; then
    systemctl daemon-reload
    # A container has no udev to tell.
    { udevadm control --reload && udevadm trigger --subsystem-match=input; } 2>/dev/null || true
    systemctl enable --quiet "${enabled[@]}"
    # All but the companion itself, which may be in the middle of a job.
    systemctl restart "${enabled[@]:1}"
    systemctl start --no-block bay-companion.service
    "$home/current/restart_idle.sh"
elif command -v systemctl >/dev/null; then
    systemctl --root="${root:-/}" --quiet enable "${enabled[@]}"
else
    for unit in "${enabled[@]}"; do
        wanted_by="$(sed -n 's/^WantedBy=//p' "$units/$unit")"
        install -d "$units/$wanted_by.wants"
        ln -sfn "/etc/systemd/system/$unit" "$units/$wanted_by.wants/$unit"
    done
fi

# The release before this one stays, to go back to, and any that something still runs by; others go.
in_use() { grep -qsF "$home/releases/$1/" /proc/[0-9]*/cmdline; }
keep="$(of_link "$root$home/previous")"
while IFS= read -r old; do
    [[ $old == "$release" || $old == "$keep" ]] || in_use "$old" || rm -rf "${releases:?}/$old"
done < <(find "$releases" -mindepth 1 -maxdepth 1 -type d -printf '%f\n')
echo "install: done. Options: /etc/bay-companion/companion.env. Logs: journalctl --namespace=bay-companion"
