#!/bin/bash
# Compares pages and notes with reference implementations from npm (see
# tests/package.json) and Debian, tables with Python's csv module, mails
# with its email package, and pictures with Pillow and ExifTool. Ends with "N passed, N failed".
#
#     BUILD=build tests/web/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
export BUILD
cd "$(dirname "$0")" || exit 1

passed=0
failed=0
# compare COMMAND...: one that breaks off before its last line failed once.
compare() {
	local said
	said=$("$@" 2>&1)
	printf '%s\n' "$said"
	if [[ $said =~ ([0-9]+)\ passed,\ ([0-9]+)\ failed$ ]]; then
		passed=$((passed + BASH_REMATCH[1]))
		failed=$((failed + BASH_REMATCH[2]))
	else
		failed=$((failed + 1))
	fi
}

compare node mustache-compare.mjs
compare node commonmark-compare.mjs
compare /usr/bin/python3 csv-compare.py "$BUILD/csv_tool"
compare /usr/bin/python3 picture-compare.py "$BUILD/picture_tool"
compare /usr/bin/python3 mail-compare.py "$BUILD/mail_tool"
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
