#!/bin/bash
# Compares the build line with NetworkX, and cutting plans, forecasts and the statistics of
# findings with SciPy, as Debian packages them for its own Python. Ends with "N passed, N failed".
#
#     BUILD=build tests/core/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
cd "$(dirname "$0")" || exit 1
# shellcheck source=tests/support/scripts.sh
. ../support/scripts.sh
for name in line cutting forecast findings; do
	run_test "$name-compare.py" /usr/bin/python3 "$name-compare.py" "$BUILD/${name}_tool"
done
end_tests
