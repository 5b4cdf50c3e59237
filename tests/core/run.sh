#!/bin/bash
# Compares the build line with NetworkX, and cutting plans, forecasts and the statistics of
# findings with SciPy, as Debian packages them for its own Python. Ends with "N passed, N failed".
#
#     BUILD=build tests/core/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
cd "$(dirname "$0")" || exit 1

passed=0
failed=0
# compare SCRIPT TOOL: a script that breaks off before its last line failed once.
compare() {
	local said
	said=$(/usr/bin/python3 "$1" "$BUILD/$2" 2>&1)
	printf '%s\n' "$said"
	if [[ $said =~ ([0-9]+)\ passed,\ ([0-9]+)\ failed$ ]]; then
		passed=$((passed + BASH_REMATCH[1]))
		failed=$((failed + BASH_REMATCH[2]))
	else
		failed=$((failed + 1))
	fi
}

compare line-compare.py line_tool
compare cutting-compare.py cutting_tool
compare forecast-compare.py forecast_tool
compare findings-compare.py findings_tool
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
