"""What is said where readings do not fit together."""

from __future__ import annotations

MISFIT = "Those readings do not fit together. We read them again."
KEEPS_MISFITTING = "Those readings keep misfitting. Check what they are read from."
