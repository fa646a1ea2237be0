#!/usr/bin/env bash
# Removes the services and the program from the box. As root.
#   systemd/uninstall.sh [--root DIR] [--purge]
#     --root DIR   from a system that does not run (an image, a chroot)
#     --purge      also delete the records, the recorded voices, the options and the user: for good
set -euo pipefail
root="" purge=no
while (($#)); do
    case "$1" in
        --root) root="${2:?uninstall: --root wants a folder}"; root="${root%/}"; shift 2 ;;
        --purge) purge=yes; shift ;;
        *) echo "uninstall: unknown option $1; wanted: --root DIR, --purge" >&2; exit 2 ;;
    esac
done
((EUID == 0)) || { echo "uninstall: wanted: to be run as root" >&2; exit 1; }
inside() { if [[ -n $root ]]; then chroot "$root" "$@"; else "$@"; fi; }

units=(bay-companion.service bay-companion-display.service bay-companion-retention.service bay-companion-retention.timer
    bay-companion-keeping.service bay-companion-keeping.timer
    bay-companion-shipping.service bay-companion-shipping.timer bay-companion-shipping.path
    bay-companion-store-expiring.service bay-companion-store-expiring.timer)
running=no
[[ -z $root && -d /run/systemd/system ]] && running=yes
if [[ $running == yes ]]; then
    systemctl disable --quiet --now bay-companion.service bay-companion-display.service bay-companion-retention.timer bay-companion-keeping.timer || true
    systemctl disable --quiet --now bay-companion-shipping.timer bay-companion-shipping.path bay-companion-store-expiring.timer 2>/dev/null || true
fi
for unit in "${units[@]}"; do
    rm -f "$root/etc/systemd/system/$unit" "$root"/etc/systemd/system/*.wants/"$unit"
done
rm -f "$root/etc/systemd/journald@bay-companion.conf" "$root/etc/udev/rules.d/70-bay-companion-pedal.rules"
rm -f "$root/etc/sysusers.d/bay-companion.conf"
rm -rf "$root/opt/bay-companion"
if [[ $running == yes ]]; then
    systemctl daemon-reload
    udevadm control --reload 2>/dev/null || true
fi
if [[ $purge == yes ]]; then
    rm -rf "$root/var/lib/bay-companion" "$root/etc/bay-companion"
    inside getent passwd bay-companion >/dev/null && inside userdel bay-companion
    echo "uninstall: program, records, voices and options are gone"
else
    echo "uninstall: done. Records and voices stay in /var/lib/bay-companion, options in /etc/bay-companion"
fi
