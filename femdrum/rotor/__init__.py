"""The rest of the drum: clamp and retention, seats, unbalance and its correction, bearings, whirl, burst. Knows no field."""
