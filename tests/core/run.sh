#!/bin/bash
# Compares the build line with NetworkX, as Debian packages it for its own
# Python. Ends with "N passed, N failed".
#
#     BUILD=build tests/core/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
exec /usr/bin/python3 "$(dirname "$0")/line-compare.py" "$BUILD/line_tool"
