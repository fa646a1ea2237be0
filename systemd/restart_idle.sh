#!/usr/bin/env bash
# Restarts the companion, so that it begins anew by the release that is current, unless a job is
# being done: then it goes on, and begins anew when that job is over.
set -euo pipefail
here="$(dirname "$(readlink -f "$0")")"
if "$here/venv/bin/python" -m companion.record.going_on "${RECORD:-/var/lib/bay-companion/record.sqlite}"; then
    echo "restart_idle: a job is going on; the companion begins anew when it is over"
else
    systemctl try-restart bay-companion.service
fi
