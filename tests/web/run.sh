#!/bin/bash
# Compares pages and notes with reference implementations from npm (see
# tests/package.json) and Debian. Ends with "N passed, N failed".
#
#     BUILD=build tests/web/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
export BUILD
cd "$(dirname "$0")" || exit 1

passed=0
failed=0
for script in mustache-compare.mjs commonmark-compare.mjs; do
	said=$(node "$script" 2>&1)
	printf '%s\n' "$said"
	if [[ $said =~ ([0-9]+)\ passed,\ ([0-9]+)\ failed$ ]]; then
		passed=$((passed + BASH_REMATCH[1]))
		failed=$((failed + BASH_REMATCH[2]))
	else
		failed=$((failed + 1))
	fi
done
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
