#!/usr/bin/env bash
# Moves what an older release kept elsewhere into the settings file: the days that recorded voices
# are kept, once CLIP_DAYS in companion.env. What the settings file says already stays as it is.
#   systemd/carry_over.sh COMPANION_ENV SETTINGS_YAML
set -euo pipefail
options="${1:?carry_over: wanted: the file of options}" settings="${2:?carry_over: wanted: the settings file}"
line="$(grep -E '^[[:space:]]*(export[[:space:]]+)?CLIP_DAYS=' "$options" | tail -n 1 || true)"
[[ -n $line ]] || exit 0
days="$(sed -E "s/^[^=]*=[[:space:]]*//; s/[[:space:]]*(#.*)?\$//; s/^[\"'](.*)[\"']\$/\1/" <<<"$line")"
if grep -Eq '^keep_sound_days[[:space:]]*:' "$settings"; then
    echo "install: recorded voices are kept as keep_sound_days in $settings says; CLIP_DAYS=$days is gone"
elif [[ $days =~ ^[1-9][0-9]{0,3}$ ]] && ((days <= 3650)); then
    [[ -z $(tail -c 1 "$settings") ]] || echo >>"$settings"
    echo "keep_sound_days: $days" >>"$settings"
    echo "install: CLIP_DAYS=$days of $options stands as keep_sound_days in $settings now"
else
    echo "install: CLIP_DAYS=$days in $options was no number of days from 1 to 3650; set keep_sound_days in $settings" >&2
    exit 0
fi
sed -i -E '/^[[:space:]]*(export[[:space:]]+)?CLIP_DAYS=/d; /^# Recorded voices are deleted after so many days;/d' "$options"
