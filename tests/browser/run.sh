#!/bin/bash
# Pages in a real browser: accessibility, HTML, sizes, and whole journeys.
# Ends with "N passed, N failed". CHROMIUM names another browser binary.
#
#     BUILD=build tests/browser/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
export BUILD
cd "$(dirname "$0")" || exit 1
# shellcheck source=tests/support/scripts.sh
. ../support/scripts.sh
run_scripts pages.mjs journeys.mjs findings.mjs notes.mjs news.mjs
