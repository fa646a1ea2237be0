#!/usr/bin/env bash
# A whole job by voice: a simulated technician in a simulated bay speaks the answers, a real
# recogniser hears them, the companion speaks its prompts into a sound file, and leaves a report.
# No microphone, no loudspeaker, no car. Leaves everything in out/first_job/.
set -euo pipefail
cd "$(dirname "$0")/.."
demo_scripts/set_up.sh run
out=out/first_job
rm -rf "$out"
mkdir -p "$out"
started=$SECONDS
.venv/bin/companion rehearse --spoken --harder --seed "${SEED:-4}" --speaker "${SPEAKER:-slt}" \
    --record "$out/record.sqlite" --report "$out/report.html" --voice-file "$out/prompts.flac"
.venv/bin/companion verify --record "$out/record.sqlite"
echo
echo "Report:          $out/report.html"
echo "Spoken prompts:  $out/prompts.flac"
echo "Record:          $out/record.sqlite"
echo "Took $((SECONDS - started)) s"
