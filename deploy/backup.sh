#!/bin/bash
# Writes a dated copy of Fairlead's data while it serves, and takes away copies
# older than 30 days, but never the newest ones: it tidies only after a copy
# that succeeded. Run by fairlead-backup.service.
#
#     fairlead-backup DATA COPIES
set -euo pipefail

data=$1
copies=$2
days_kept=30

fairlead backup --data "$data" "$copies/fairlead-$(date +%Y-%m-%dT%H%M%S).db"
find "$copies" -maxdepth 1 -name 'fairlead-*.db' -mtime "+$days_kept" -delete
