#!/bin/bash
# Makes a copy of Fairlead's data while it serves, and brings another machine's folder,
# or a folder here, to hold the newest copies. Each arrives under its name only when it
# is whole: rsync writes beside it and renames. Whatever fails, nothing is taken away.
# Run by fairlead-send.service.
#
#     fairlead-send DATA COPIES DESTINATION
#
# DESTINATION: FOLDER or [USER@]HOST:FOLDER, as rsync takes it.
set -euo pipefail

data=$1
copies=$2
destination=${3:?where to is not said: FAIRLEAD_STANDBY in /etc/fairlead.conf}
kept=10

# Not among the chapter's own copies: those of the night stay what the admins are told of.
fairlead backup --unlisted --data "$data" "$copies/fairlead-$(date -u +%Y-%m-%dT%H%M%SZ).db"
mapfile -t old < <(find "$copies" -maxdepth 1 -name 'fairlead-*.db' | sort | head -n "-$kept")
for copy in "${old[@]}"; do
	rm -f "$copy" "$copy.b2"
done
find "$copies" -maxdepth 1 -name 'fairlead-*.part' -mmin +60 -delete
rsync --recursive --times --delay-updates --delete --timeout=30 \
	--include='fairlead-*.db' --include='fairlead-*.db.b2' --exclude='*' "$copies/" "$destination/"
