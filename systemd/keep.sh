#!/usr/bin/env bash
# Seals the record and copies it, once a day; the newest copies stay, a week of them.
#   BACKUP_FOLDER   where seals and copies go; on another disk where there is one
# Recorded voices are not copied: they would outlive the time that was agreed for them. While a
# companion holds the record it is copied as it stands, and sealed when the companion begins anew.
set -euo pipefail
companion="$(dirname "$(readlink -f "$0")")/venv/bin/companion"
folder="${BACKUP_FOLDER:-/var/lib/bay-companion/copies}"
record="${RECORD:-/var/lib/bay-companion/record.sqlite}"
kept="${COPIES_KEPT:-7}"
[[ -e $record ]] || { echo "keep: there is no record yet"; exit 0; }
mkdir -p -m 0750 "$folder"
# Numbered in the order of their making: the box's date may be wrong.
last="$(find "$folder" -maxdepth 1 -name 'record-*.sqlite' -printf '%f\n' | sort | tail -n 1)"
number="${last#record-}" number="${number%.sqlite}"
newest="$folder/record-${number:-none}"
next="$folder/record-$(printf '%06d' $((10#${number:-0} + 1)))"
# A copy from the future, of a clock that ran ahead for a while, is none of today's.
done_today() { [[ -n $(find "$1" -mmin -1200 ! -newermt '1 hour' 2>/dev/null) ]]; }
if ! done_today "$newest.sqlite"; then
    "$companion" backup "$next.sqlite" --without-clips --record "$record"
    newest="$next"
    find "$folder" -maxdepth 1 -name 'record-*.sqlite' -printf '%p\n' | sort | head -n "-$kept" | xargs -r rm -f
fi
# Seals are small and stay: each is what a later record is held against.
[[ -e $newest.seal ]] || "$companion" seal --record "$record" --out "$newest.seal"
