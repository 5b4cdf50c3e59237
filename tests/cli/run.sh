#!/bin/bash
# The program as a shell user meets it: every command, right and wrong use.
# Ends with "N passed, N failed".
#
#     BUILD=build tests/cli/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
export BUILD
cd "$(dirname "$0")" || exit 1
# shellcheck source=tests/support/scripts.sh
. ../support/scripts.sh
run_scripts use.mjs decide.mjs notices.mjs lines.mjs care.mjs copies.mjs serve.mjs standby.mjs mail.mjs seed.mjs
