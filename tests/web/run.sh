#!/bin/bash
# Checks that the table of routes is whole. Compares pages and notes with reference implementations from npm (see
# tests/package.json) and Debian, tables with Python's csv module, mails
# with its email package, and pictures with Pillow and ExifTool. Ends with "N passed, N failed".
#
#     BUILD=build tests/web/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
export BUILD
cd "$(dirname "$0")" || exit 1
# shellcheck source=tests/support/scripts.sh
. ../support/scripts.sh
run_test routes.mjs node routes.mjs --check
run_test mustache-compare.mjs node mustache-compare.mjs
run_test commonmark-compare.mjs node commonmark-compare.mjs
for name in csv picture mail; do
	run_test "$name-compare.py" /usr/bin/python3 "$name-compare.py" "$BUILD/${name}_tool"
done
end_tests
