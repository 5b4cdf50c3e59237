#!/bin/bash
# Writes a dated copy of Fairlead's data while it serves, checks it, and takes away
# copies older than 30 days, but never the newest ones: it tidies only after a copy
# that succeeded and is sound. What became of it stands on the page of the admins.
# Run by fairlead-backup.service.
#
#     fairlead-backup DATA COPIES
set -euo pipefail

data=$1
copies=$2
days_kept=30

fairlead backup --data "$data" "$copies/fairlead-$(date +%Y-%m-%dT%H%M%S).db"
# With their digests, and what copies that were cut short have left.
find "$copies" -maxdepth 1 \( -name 'fairlead-*.db' -o -name 'fairlead-*.db.b2' -o -name 'fairlead-*.part' \) \
	-mtime "+$days_kept" -delete
