#!/bin/bash
# What the real server does when it is ended in the midst of its work, and when the
# machine fails it, in short.
# Ends with "N passed, N failed".
#
#     BUILD=build tests/fault/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
export BUILD
cd "$(dirname "$0")" || exit 1
# shellcheck source=tests/support/scripts.sh
. ../support/scripts.sh
run_scripts crash.mjs machine.mjs locked.mjs
